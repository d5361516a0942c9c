#!/usr/bin/python3
"""What fails is said, and nothing is left half done: run.py BINARY FAILING [--all] [--few] [VERB ...].

FAILING is the library that makes one call fail (failing.c). Every verb is run on a small plan, and again and again, with the first, the
second, ... disk call or allocation failing, until none is left to fail; of allocations behind the 40th only some. It must come to one of two ends: it did all that it does otherwise,
or it says what failed, leaves with 4, and every file is as it was. The same with the program killed, or interrupted, at each disk call.
--all: each allocation; --few: for builds that are slow. Ends with `N passed, N failed`.
"""
import concurrent.futures
import itertools
import os
import pathlib
import pty
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY, FAILING = (str(pathlib.Path(p).resolve()) for p in sys.argv[1:3])
ALL, FEW = "--all" in sys.argv, "--few" in sys.argv
AT = ("--at", "2026-11-25 19:00")
SANITIZER = re.compile(r"Sanitizer|runtime error")
TEMPORARY = re.compile(r"\.[A-Za-z0-9]{6}$")
REASONS = ("Input/output error", "No space left on device", "No locks available")


class Row:
    """A command, and the files that it may change. Words: {dir} is the folder it works in, with the plan in {dir}/plan."""
    def __init__(self, *words, status=0, plan="larkfield", old=None, whole=None, folder=None):
        self.words, self.status, self.plan, self.old, self.whole, self.folder = words, status, plan, old, whole, folder
        self.writes = old or whole or folder or words[0] == "chart" or "--output" in words
        self.few = words[0] in ("schedule", "chart", "carry") or "--split" in words
        self.name = " ".join([words[0], *[w for w in words if w.startswith("--")][:2]])


# `old`: a file that is there before; `whole`: a folder of which, when the program was killed, some files may be there, but not ward.csv;
# `folder`: one of which each file is whole, whichever are there.
ROWS = [
    Row("schedule", "{dir}/plan", "--format", "csv", *AT),
    Row("totals", "{dir}/plan", *AT, plan="steps"),
    Row("report", "{dir}/plan", "--output", "{dir}/page.txt", "--working", *AT, old="page.txt"),
    Row("due", "{dir}/plan", "--format", "csv", "--output", "{dir}/due.csv", *AT, plan="steps"),
    Row("gather", "{dir}/plan", *AT, plan="steps"),
    Row("label", "{dir}/plan", "--output", "{dir}/labels.txt", *AT, old="labels.txt", plan="steps"),
    Row("check", "{dir}/plan", *AT, status=1),
    Row("rules", "{dir}/plan", *AT, plan="steps"),
    Row("fluids", "{dir}/plan", plan="steps"),
    Row("maintenance", "{dir}/plan", *AT, plan="steps"),
    Row("rate", "--volume", "500mL", "--over", "8h"),
    Row("rate", "--rate", "50mL/h", "--weight", "8kg", "--fluid", "glucose-10"),
    Row("regimen", "burn", "--source", "Michigan", "--weight", "14kg", "--area", "20%", "--coefficient", "3", "--maintenance", "daily",
        "--output", "{dir}/burn.txt", plan="steps"),
    Row("regimen", "dka-child", "--source", "BSPED 2009", "--weight", "30kg", "--age", "9years", "--percent", "5", "--course", "after-bolus",
        "--format", "csv", plan="steps"),
    Row("regimen", "burn", "--as-orders", "--source", "WCH 2010", "--weight", "12kg", "--area", "40%", "--coefficient", "4", "--maintenance",
        "daily", "--patient", "p", "--line", "l", "--fluid", "hartmann", "--maintenance-fluid", "glucose-5-nacl-0.9", "--start", "08:00", plan="steps"),
    Row("schema", "--output", "{dir}/schema.json", plan="steps"),
    Row("explain", "bay1-bed2", "main", "left", "--plan", "{dir}/plan", *AT),
    Row("bag", "bay1-bed2", "main", "(01)09521234000013", "--plan", "{dir}/plan", *AT, status=None),
    Row("compare", str(ROOT / "tests/golden/larkfield.record.csv"), "{dir}/plan", *AT, status=1),
    Row("compare", "{dir}/plan/orders.csv", "{dir}/plan", "--format", "csv", "--output", "{dir}/held.csv", *AT, old="held.csv", plan="steps"),
    Row("remind", "{dir}/plan", "--output", "{dir}/ward.ics", *AT, old="ward.ics", plan="steps"),
    Row("remind", "{dir}/plan", "--split", "{dir}/events", *AT, plan="steps", folder="events"),
    Row("chart", "p1", "main", "rate", "80 mL/h", "--plan", "{dir}/plan", "--at", "2021-11-25 07:40", plan="charted"),
    Row("chart", "p1", "main", "started", "--plan", "{dir}/plan", "--at", "2021-11-25 07:10", plan="uncharted"),
    Row("carry", "--plan", "{dir}/plan", "--to", "{dir}/next", "--at", "2026-11-26 07:00", whole="next"),
    Row("new", "{dir}/next", "--timezone", "Europe/London", "--begins", "2026-11-25 07:00", whole="next", plan="steps"),
    Row("new", "{dir}/next", "--demo", whole="next", plan="steps"),
]

passed = failed = 0


told = {}


def fault(row, how, at, what):
    global failed
    failed += 1
    told[row.name, how] = told.get((row.name, how), 0) + 1
    if told[row.name, how] <= 4:
        print(f"{row.name}: {how} {at}: {what}")


# A plan of the past: nothing can be charted that has not come yet.
PAST = {
    "ward.csv": "setting,value\nward,Larkfield\ntimezone,Europe/London\nbegins,2021-11-25 07:00\n",
    "patients.csv": "patient,age,weight,allergies\np1,60 years,70 kg,none\n",
    "lines.csv": "patient,line,kind\np1,arm,peripheral\n",
    "orders.csv": "patient,order,fluid,line,rate,bag\np1,main,nacl-0.9,arm,60 mL/h,500 mL\n",
    "chart.csv": "entry,patient,time,entered,event,order,due,line,what,value,by,strikes,note\n"
                 "e1,p1,2021-11-25 07:00,2021-11-25 07:00,started,main,,,,,,,\n",
}


def prepared(row, folder):
    plan = pathlib.Path(folder) / "plan"
    if row.plan.endswith("charted"):
        plan.mkdir()
        for name, text in PAST.items():
            if name != "chart.csv" or row.plan == "charted":
                (plan / name).write_text(text)
    else:
        shutil.copytree(ROOT / "plans" / row.plan, plan)
    if row.old:
        (pathlib.Path(folder) / row.old).write_text("what was there before\n")


# Identifiers by chance, and when it was written down.
CHANCE = re.compile(rb"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f-]{21}|(?<=,)(20[2-9][0-9]-[0-9-]{5} [0-9:]{5}(:[0-9]{2})?([+-][0-9:]{5})?)(?=,(rate|started))")


def state(folder):
    return {str(p.relative_to(folder)): CHANCE.sub(b"?", p.read_bytes()) for p in sorted(pathlib.Path(folder).rglob("*")) if p.is_file()}


def run(row, how="", at=0):
    """Its exit status, what it printed and said, the files before and after, and what was made to fail."""
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as beside:
        prepared(row, folder)
        before = state(folder)
        printed, log = pathlib.Path(beside) / "printed", pathlib.Path(beside) / "log"
        words = [w.replace("{dir}", folder) for w in row.words]
        env = {**os.environ, "LD_PRELOAD": FAILING, "DAYDRIP_FAIL": how, "DAYDRIP_FAIL_AT": str(at), "DAYDRIP_FAIL_LOG": str(log),
               "ASAN_OPTIONS": "verify_asan_link_order=0:detect_leaks=1:handle_segv=1"}
        with open(printed, "wb") as out:
            done = subprocess.run([BINARY, *words], stdout=out, stderr=subprocess.PIPE, env=env, cwd=folder)
        hit = log.read_text().strip() if log.exists() else ""
        text = re.sub(re.escape(folder), "DIR", done.stderr.decode(errors="replace"))
        return done.returncode, printed.read_bytes().replace(folder.encode(), b"DIR"), text, before, state(folder), hit.replace(folder, "DIR").replace(beside, "BESIDE")


def is_said(text, hit):
    """The message names the file, and says what the system says."""
    call, _, path = hit.partition(" ")
    name = TEMPORARY.sub("", os.path.basename(path))
    if path.startswith("BESIDE"):
        name = "standard output"
    return name in text and any(reason in text for reason in REASONS)


def judge_failed(row, how, at, usual, got):
    status, printed, text, before, after, hit = got
    if SANITIZER.search(text):
        return "a sanitizer spoke: " + text[:2000]
    left = {name: data for name, data in after.items() if not (hit.startswith("unlink") and TEMPORARY.search(name))}
    if status == usual[0] and printed == usual[1] and left == usual[4]:
        return None  # it did not matter
    if status == usual[0] and left == usual[4] and usual[1].startswith(printed) and "it is charted" in text:
        return None  # only what it changes could not be said, and that is
    if status in (2, 3) and "zoneinfo" in hit and "zone" in text:
        return None  # to GLib a zone that it cannot read is not there
    if status != 4:
        return f"{hit}: exit {status}, not 4: {text[-300:]}"
    if how == "disk" and not is_said(text, hit) and "zoneinfo" not in hit:
        return f"{hit}: not said: {text[-300:]!r}"
    if how != "disk" and ("not enough memory" not in text or (printed and row.words[0] not in ("chart", "schedule", "totals", "check"))):  # these go out as they come
        return f"not said: {text[-300:]!r}"
    if row.folder:
        return None if pieces(row, before, left, usual[4]) else f"{hit}: exit 4, and a file is cut"
    if left not in (before, usual[4]):
        changed = sorted(k for k in set(before) | set(left) if before.get(k) != left.get(k))
        return f"{hit}: exit 4, and half done: {changed}; {text[-300:]}"
    return None


def pieces(row, before, left, after):
    """Of a folder: whatever is there is whole, the old or the new."""
    return all(data in (before.get(name), after.get(name)) for name, data in left.items())


def judge_killed(row, how, at, usual, got):
    status, printed, text, before, after, hit = got
    if SANITIZER.search(text):
        return "a sanitizer spoke: " + text[:2000]
    left = {name: data for name, data in after.items() if how != "kill" or not TEMPORARY.search(name)}
    if row.folder:
        return None if pieces(row, before, left, usual[4]) else f"{hit}: killed, and a file is cut"
    if row.whole:  # tables of a new folder; without ward.csv it is no plan
        new = {n: d for n, d in left.items() if n not in before}
        if any(usual[4].get(n) != d for n, d in new.items()):
            return f"{hit}: killed, and a table is cut: {sorted(new)}"
        if f"{row.whole}/ward.csv" in new and left != usual[4]:
            return f"{hit}: killed, and half a plan looks whole: {sorted(new)}"
        left = {n: d for n, d in left.items() if n in before}
        return None if left == before else f"{hit}: killed, and something else has changed"
    if left in (before, usual[4]):
        return None
    if row.words[0] == "chart" and how == "kill" and after.get("plan/chart.csv", b"").startswith(before["plan/chart.csv"]):
        return None  # the row is cut off: it stays as an error until somebody has looked (tests/chart)
    return f"{hit}: killed, and half done: {sorted(k for k in set(before) | set(left) if before.get(k) != left.get(k))}"


def until_success(row, how, pool):
    """Runs with the 1st, 2nd, ... call failing until nothing fails any more."""
    global passed
    usual = run(row)
    if row.status is not None and usual[0] != row.status:
        fault(row, "nothing fails", 0, f"exit {usual[0]}: {usual[2]}")
        return 0
    judge = judge_killed if how in ("kill", "TERM", "INT") else judge_failed
    numbers, calls = counting(how), 0
    while True:
        some = list(itertools.islice(numbers, 16))
        for n, got in zip(some, pool.map(lambda n: run(row, how, n), some)):
            if not got[5]:
                return calls
            calls += 1
            what = judge(row, how, n, usual, got)
            if what:
                fault(row, how, n, what)
            else:
                passed += 1


def counting(how):
    """1, 2, 3, ...; of allocations, which are many, ever fewer."""
    n = 1
    while True:
        yield n
        memory = how.startswith("memory") and not ALL
        n += 1 + (n // (4 if FEW else 20) if memory and n > (4 if FEW else 40) else 1 if FEW and not memory else 0)


def terminal(words, output):
    """What a terminal gets on standard error, when the clock makes the work seem long; standard output goes to it too, or to a file."""
    ours, theirs = pty.openpty()
    env = {**os.environ, "LD_PRELOAD": FAILING, "DAYDRIP_FAIL": "clock", "ASAN_OPTIONS": "verify_asan_link_order=0"}
    with open(output, "wb") if output else os.fdopen(os.dup(theirs), "wb") as out:
        child = subprocess.Popen([BINARY, *words], stdout=out, stderr=theirs, env=env, cwd=ROOT)
    os.close(theirs)
    seen = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        seen += more
    os.close(ours)
    return child.wait(), seen


def progress():
    """A line of progress on a terminal, and nowhere else; what is left of it is nothing."""
    global passed
    with tempfile.TemporaryDirectory() as folder:
        page = str(pathlib.Path(folder) / "page")
        plan = str(ROOT / "plans" / "larkfield")
        line = re.compile(rb"(\rdaydrip: [0-9]+ of [0-9]+ patients)+\r\x1b\[K")
        for words, output, wanted in ((["report", plan, *AT], page, True), (["report", plan, *AT, "--output", page], None, True),
                                      (["schedule", plan, *AT, "--output", page], None, True), (["schedule", plan, *AT], page, True),
                                      (["schedule", plan, *AT], None, False), (["rate", "--volume", "500mL", "--over", "8h"], page, False)):
            status, seen = terminal(words, output)
            good = line.fullmatch(seen) if wanted else not re.search(rb"of [0-9]+ patients|\x1b", seen)
            if status or not good:
                fault(Row(*words[:1]), "progress", 0, f"exit {status}, {seen[-300:]!r}")
            else:
                passed += 1
        run_env = {**os.environ, "LD_PRELOAD": FAILING, "DAYDRIP_FAIL": "clock", "ASAN_OPTIONS": "verify_asan_link_order=0"}
        quiet = subprocess.run([BINARY, "report", plan, *AT], capture_output=True, env=run_env)
        if quiet.stderr or quiet.returncode:
            fault(Row("report"), "progress", 0, f"no terminal, and {quiet.stderr!r}")
        else:
            passed += 1


def main():
    progress()
    wanted = [w for w in sys.argv[3:] if not w.startswith("--")]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for row in ROWS:
            if wanted and row.words[0] not in wanted or FEW and not row.few:
                continue
            hows = ("disk", "memory", "memory-on", *(("kill", "TERM") if row.writes else ()), *(("INT",) if row.old == "page.txt" else ()))
            counts = {how: until_success(row, how, pool) for how in hows}
            print(f"{row.name}:", ", ".join(f"{count} {how}" for how, count in counts.items()))
            if counts["disk"] == 0 and row.words[0] not in ("rate", "regimen") or counts["memory"] == 0:
                fault(row, "disk or memory", 0, "nothing could be made to fail")
    print(f"{passed} passed, {failed} failed")
    return failed > 0


sys.exit(main())
