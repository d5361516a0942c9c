#!/usr/bin/env python3
"""What `rate`, `maintenance`, `regimen` and `fluids --mixture` show to people, and what they refuse.

    shown.py BINARY            run every command of shown.txt and hold what it prints against what stands there
    shown.py --write BINARY    print shown.txt anew (look at it before you keep it)

And for every command of worked.csv, mixtures.csv and regimens.csv, in its text form: at most 72 columns of plain ASCII, and nothing from the lists of
error-prone expressions. Only the standard library.
"""
import csv
import pathlib
import re
import shlex
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
FORBIDDEN = [
    (r"(?<![0-9])\.[0-9]", "a point without a digit before it"),
    (r"[0-9]\.[0-9]*0(?![0-9])", "a zero at the end behind the point"),
    (r"(?<![0-9,.])[0-9]{4,}(?![0-9])", "thousands not apart"),
    (r"[<>&@+]", "a symbol that is misread"),
    (r"\b(cc|IU|U|gtt|ug|QD|OD)\b", "an abbreviation that is misread"),
    (r"[0-9](mL|mg|mcg|kg|h|min|units)\b", "no space before a unit"),
]
YEARS = re.compile(r"\b(1957|2013|2021)\b|(?<=[A-Za-z] )20[0-9][0-9]\b(?! m)|(?<![0-9,.])(19|20)[0-9][0-9](?=[;,)]|$)")  # of a source: `WHO 2013`, `, 2019; ...`


def run(binary, command):
    done = subprocess.run([binary, *shlex.split(command)], capture_output=True, text=True, timeout=60, check=False)
    return done.stdout, done.stderr, done.returncode


def sessions():
    """(command, everything that is printed, exit status)"""
    for block in (HERE / "shown.txt").read_text(encoding="utf-8").split("$ daydrip ")[1:]:
        command, _, rest = block.partition("\n")
        printed, _, status = rest.rstrip("\n").rpartition("exit ")
        yield command, printed, int(status)


def page_faults(text):
    for line in text.splitlines():
        if len(line) > 72:
            yield f"{len(line)} columns: {line}"
        if not line.isascii() or not line.isprintable():
            yield f"not plain ASCII: {line!r}"
        for pattern, what in FORBIDDEN:
            if re.search(pattern, YEARS.sub("", line)):
                yield f"{what}: {line}"


def main():
    words = sys.argv[1:]
    write = words[:1] == ["--write"]
    if len(words) != 1 + write:
        sys.exit(__doc__)
    binary = words[-1]
    passed = failed = 0
    for command, expected, status in sessions():
        out, err, code = run(binary, command)
        if write:
            print(f"$ daydrip {command}\n{out}{err}exit {code}\n")
        elif (out + err, code) == (expected, status):
            passed += 1
        else:
            failed += 1
            print(f"$ daydrip {command}\n--- expected\n{expected}exit {status}\n--- printed\n{out}{err}exit {code}")
    if write:
        return 0
    commands = set()
    for name in ("worked.csv", "mixtures.csv", "regimens.csv"):
        with open(HERE / name, newline="", encoding="utf-8") as file:
            commands |= {row["command"] for row in csv.DictReader(file)}
    for command in sorted(commands):
        out, err, code = run(binary, command)
        problems = list(page_faults(out)) + ([f"exit {code}: {err}"] if code or err else [])
        passed, failed = passed + (not problems), failed + bool(problems)
        for problem in problems:
            print(f"daydrip {command}\n    {problem}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
