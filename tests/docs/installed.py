"""An installed copy is enough to build against: the tour of daydrip.h is built and run, and each public header stands alone."""
import csv
import io
import re
import subprocess
import tempfile
import pathlib

from common import ROOT, clean
from pages import PAGES

HEADERS = ROOT / "include" / "daydrip"
STANDARD = {"assert", "complex", "ctype", "errno", "fenv", "float", "inttypes", "iso646", "limits", "locale", "math", "setjmp", "signal",
            "stdalign", "stdarg", "stdatomic", "stdbool", "stddef", "stdint", "stdio", "stdlib", "stdnoreturn", "string", "tgmath", "threads",
            "time", "uchar", "wchar", "wctype"}
WARNINGS = ["-std=c17", "-Wall", "-Wextra", "-Wpedantic", "-Werror"]


def tour():
    """The program in the comment at the top of daydrip.h."""
    comment = (HEADERS / "daydrip.h").read_text().split("*/", 1)[0]
    body = [line[7:] for line in comment.splitlines() if line.startswith(" *     ")]
    return "#include <stdio.h>\n#include <daydrip/daydrip.h>\n\nint main(void)\n{\n" + "".join(f"    {line}\n" for line in body) + "    return 0;\n}\n"


def compile_c(run, source, folder, *flags):
    path = pathlib.Path(folder) / "try.c"
    path.write_text(source)
    return subprocess.run([run.compiler, *WARNINGS, path, *flags], cwd=folder, capture_output=True, text=True)


def bags_of_schedule(run):
    """What each bag of the demo ward gives, by the command: rows of one order, due time and bag, added up."""
    text, _ = run.command("schedule", "plans/larkfield", "--format", "csv", "--quiet")
    given = {}
    for row in csv.DictReader(io.StringIO(text)):
        if row["part"] == "bag":
            key = (row["patient"], row["order"], row["due"], row["bag"])
            given.setdefault(key, 0)
            given[key] += round(float(row["volume_ml"]) * 1000)
    return given


def check_tour(run, folder):
    prefix = pathlib.Path(folder) / "prefix"
    done = subprocess.run(["cmake", "--install", run.build, "--prefix", prefix], capture_output=True, text=True)
    if not run.hold("cmake --install", done.returncode == 0, done.stdout + done.stderr):
        return
    for name in ("bin/daydrip", *(f"share/man/man{page[-1]}/{page}" for page in PAGES),
                 "share/bash-completion/completions/daydrip", "share/zsh/site-functions/_daydrip", "share/fish/vendor_completions.d/daydrip.fish"):
        run.hold(f"installed: {name}", (prefix / name).is_file(), "it is not there")
    place = next(iter(prefix.rglob("daydrip.pc")), prefix / "no.pc").parent
    asked = subprocess.run(["pkg-config", "--static", "--cflags", "--libs", "daydrip"], capture_output=True, text=True,
                           env=clean(PKG_CONFIG_PATH=str(place)))
    if not run.hold("pkg-config", asked.returncode == 0, asked.stderr):
        return
    flags = asked.stdout.split() + (["-fsanitize=address,undefined"] if run.sanitized else [])
    built = compile_c(run, tour(), folder, "-o", "tour", *flags)
    if not run.hold("the tour of daydrip.h compiles", built.returncode == 0, built.stderr):
        return
    done = subprocess.run([pathlib.Path(folder) / "tour"], cwd=ROOT, capture_output=True, text=True, env=clean())
    rows = re.findall(r"^(\S+) ([0-9,.]+) mL, dry (.+)$", done.stdout, re.M)
    run.hold("the tour of daydrip.h runs", done.returncode == 0 and len(rows) == done.stdout.count("\n") > 0, f"exit {done.returncode}: {done.stdout}{done.stderr}")
    told = sorted((bed, float(number.replace(",", ""))) for bed, number, _ in rows if float(number.replace(",", "")) > 0)
    beds = sorted((key[0], ul / 1000) for key, ul in bags_of_schedule(run).items())
    fine = len(told) == len(beds) and all(a[0] == b[0] and abs(a[1] - b[1]) < 0.06 for a, b in zip(told, beds))
    run.hold("the bags of the tour are those of schedule", fine, f"{told} / {beds}")


def check_headers(run, folder):
    for header in sorted(HEADERS.glob("*.h")):
        done = compile_c(run, f"#include <daydrip/{header.name}>\nint main(void) {{ return 0; }}\n", folder, "-fsyntax-only", f"-I{ROOT / 'include'}")
        run.hold(f"{header.name} compiles alone", done.returncode == 0, done.stderr)
    for path in sorted(HEADERS.iterdir()):
        wrong = []
        for kind, name in re.findall(r'^\s*#\s*include\s*([<"])([^>"]+)', path.read_text(), re.M):
            own = kind == '"' and (HEADERS / name).is_file() and "/" not in name
            if not own and not (kind == "<" and name.removesuffix(".h") in STANDARD):
                wrong.append(name)
        run.hold(f"{path.name} includes nothing from outside", not wrong, ", ".join(wrong))
        run.hold(f"{path.name} is installed", path.suffix in (".h", ".def"), "the install rule takes .h and .def")


def check(run):
    with tempfile.TemporaryDirectory() as folder:
        check_tour(run, folder)
        check_headers(run, folder)
