#!/usr/bin/python3
"""Writes what a fuzzer begins with: seeds.py BINARY FOLDER. Plans and cases as the targets take them, into FOLDER/plan, calendar and code."""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]


def packed(tables, minutes):
    return b"".join(b"== %s\n%s" % (name.encode(), text) for name, text in tables) + b"== minutes\n%d\n" % minutes


def plans():
    for folder in sorted((ROOT / "plans").iterdir()):
        tables = [(t.name, t.read_bytes()) for t in sorted(folder.glob("*.csv"))]
        if tables and folder.name != "busy" and sum(len(t) for _, t in tables) < 6000: # busy takes seconds under the sanitizers
            for minutes in (0, 480):
                yield f"plan-{folder.name}-{minutes}", packed(tables, minutes)


def cases():
    for path in sorted((ROOT / "tests/cases").glob("*.case")):
        parts = re.split(rb"^== ", path.read_bytes(), flags=re.M)[1:]
        kept = [p for p in parts if not p.startswith((b"expect", b"status"))]
        if kept:
            yield f"case-{path.stem}", b"".join(b"== " + p for p in kept)
    for path in sorted((ROOT / "tests/findings").glob("*.case")):
        for i, plan in enumerate(re.split(r"^== ", path.read_text(), flags=re.M)[1:]):
            tables = [p for p in re.split(r"^-- ", plan, flags=re.M)[1:] if p.split()[0].endswith(".csv") and "more" not in p.split("\n")[0]]
            if tables:
                yield f"finding-{path.stem}-{i}", packed([(t.split()[0], t.partition("\n")[2].encode()) for t in tables], 60 * (i % 24))


def calendars(binary):
    for name in ("sequence", "steps", "pause"):
        begins = re.search(r"^begins,(.*)$", (ROOT / "plans" / name / "ward.csv").read_text(), re.M).group(1).strip('"\r')
        for more in ([], ["--detail"]):
            yield f"{name}{len(more)}", subprocess.run([binary, "remind", str(ROOT / "plans" / name), "--at", begins, *more], capture_output=True, check=True).stdout


def codes():
    text = (ROOT / "tests/unit/test_gs1.c").read_text()
    for i, code in enumerate(sorted(set(re.findall(r'"((?:\(|\]|[0-9])[^"\\\n]{6,})"', text)))):
        yield f"code{i}", b"\x07\xe9" + code.encode()


def main():
    binary, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    for kind, seeds in (("plan", [*plans(), *cases()]), ("calendar", calendars(binary)), ("code", codes())):
        (folder / kind).mkdir(parents=True, exist_ok=True)
        for name, data in seeds:
            (folder / kind / name).write_bytes(data)
        print(kind, len(list((folder / kind).iterdir())))


main()
