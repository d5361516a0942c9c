"""daydrip-hospital(7) as a batch engine would run it: the scripts of the page, each task with the number that the engine would give it; and
parts of a hospital of 120 patients, put one behind the other, against the whole."""
import pathlib
import re
import subprocess
import sys
import tempfile

from common import ROOT, clean
from examples import Place
from pages import files_of

sys.path.insert(0, str(ROOT / "tests" / "bench"))
import make_ward  # noqa: E402

AT = "2026-11-25 19:00"
PATIENTS = 120
TASKS = 8
JOINED = (("schedule",), ("totals", "--by", "hour"), ("check",), ("maintenance",))


def check_script(run, path, variables):
    """What holds of each: an engine reads its lines until the first command, the shell has nothing to say, and nothing is asked that the
    page does not set."""
    lines = path.read_text().splitlines()
    asked = [i for i, line in enumerate(lines) if line.startswith("#SBATCH")]
    commands = [i for i, line in enumerate(lines) if line and not line.startswith("#")]
    run.hold(f"{path.name}: its form", lines[0] == "#!/bin/sh" and asked and max(asked) < min(commands), lines[:8])
    run.hold(f"{path.name}: options", all(re.fullmatch(r"#SBATCH --[a-z-]+=\S+", lines[i]) for i in asked), [lines[i] for i in asked])
    for shell in ("sh", "bash"):
        done = subprocess.run([shell, "-n", path], capture_output=True, text=True)
        run.hold(f"{path.name}: {shell} -n", done.returncode == 0 and not done.stderr, done.stderr)
    named = set(re.findall(r"\$\{?([A-Z][A-Z_]+)", path.read_text()))
    run.hold(f"{path.name}: variables", named == variables, named)


def check_slurm(run, place, batch):
    tasks = re.search(r"--array=1-(\d+)", (batch / "parts.slurm").read_text())
    run.hold("the array's tasks", tasks and int(tasks.group(1)) == TASKS and f"seq {TASKS})" in (batch / "join.slurm").read_text(), tasks)
    check_script(run, batch / "parts.slurm", {"PLAN", "AT", "SLURM_ARRAY_TASK_ID", "SLURM_ARRAY_TASK_COUNT"})
    check_script(run, batch / "join.slurm", set())
    whole = place.sh(f"daydrip schedule hospital --at '{AT}' --format csv", batch)
    for task in [*range(2, TASKS + 1), 1]:  # an engine runs them in any order
        said = place.sh(f"PLAN=hospital AT='{AT}' SLURM_ARRAY_TASK_ID={task} SLURM_ARRAY_TASK_COUNT={TASKS} sh parts.slurm", batch)
        run.hold(f"task {task}", place.status == 0 and not said, f"exit {place.status}: {said}")
    place.sh("sh join.slurm", batch)
    run.hold("join.slurm", place.status == 0 and whole and (batch / "joined.csv").read_text() == whole, "the parts are not the whole")
    (batch / "part-3.csv").unlink()
    (batch / "joined.csv").unlink()
    place.sh("sh join.slurm", batch)
    run.hold("join.slurm without part 3", place.status != 0 and not (batch / "joined.csv").exists(), "it does not fail")


def check_parts(run, place, batch):
    """More parts than patients too: some are empty then."""
    for words in JOINED:
        line = f"daydrip {' '.join(words)} hospital --at '{AT}' --format csv"
        whole = place.sh(line, batch)
        run.hold(f"{words[0]}: the whole", whole.count("\n") > PATIENTS, whole[:200])
        run.hold(f"{words[0]} --jobs 3", place.sh(f"{line} --jobs 3", batch) == whole, "not the same bytes")
        for parts in (1, 3, 16, PATIENTS + 7):
            if parts > PATIENTS and words[0] != "schedule":
                continue
            joined = place.sh(f"for k in $(seq {parts}); do {line} --shard $k/{parts}; done", batch)
            run.hold(f"{words[0]} in {parts} parts", joined == whole, "not the same bytes")


def check(run):
    with tempfile.TemporaryDirectory() as folder:
        place = Place(run, folder)
        for name, text in files_of(run, "daydrip-hospital.7").items():
            (place.work / name).parent.mkdir(exist_ok=True)
            (place.work / name).write_text(text)
        batch = place.work / "batch"
        make_ward.make(str(batch / "hospital"), PATIENTS, AT[:10])
        check_slurm(run, place, batch)
        check_parts(run, place, batch)
