#!/usr/bin/python3
"""Reminders of several plans against their schedules, read by two parsers that are not ours: run.py BINARY FOLDER.

FOLDER keeps the npm package between runs. Ends with `N passed, N failed`.
"""
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
# plan, --at, further words
CASES = [
    ("larkfield", "2026-11-25 19:00", []),
    ("larkfield", "2026-11-25 19:00", ["--each"]),
    ("larkfield", "2026-11-25 07:00", ["--detail", "--lead", "30min"]),
    ("busy", "2026-11-25 07:00", ["--detail", "--each"]),
    ("sequence", "2026-11-25 07:00", []),
    ("clocks-forward", "2026-03-28 19:00", []),
    ("clocks-back", "2026-10-24 19:00", ["--lead", "0min"]),
    ("half-hour", "2026-10-03 19:00", []),
]


def output(words):
    done = subprocess.run(words, cwd=ROOT, capture_output=True)
    if done.returncode:
        raise SystemExit(f"{words}: exit {done.returncode}\n{done.stderr.decode()}")
    return done.stdout


def main():
    binary, modules = str(pathlib.Path(sys.argv[1]).resolve()), sys.argv[2]
    subprocess.run(["sh", str(HERE / "install.sh"), modules], check=True, stdout=subprocess.DEVNULL)
    passed = failed = 0
    with tempfile.TemporaryDirectory() as folder:
        ics, rows = f"{folder}/a.ics", f"{folder}/a.csv"
        for plan, at, words in CASES:
            pathlib.Path(ics).write_bytes(output([binary, "remind", f"plans/{plan}", "--at", at, "--from", at, *words]))
            pathlib.Path(rows).write_bytes(output([binary, "schedule", f"plans/{plan}", "--at", at, "--format", "csv"]))
            lead = words[words.index("--lead") + 1] if "--lead" in words else "15min"
            for checker in (["/usr/bin/python3", str(HERE / "check.py"), ics, rows], ["node", str(HERE / "check.mjs"), ics, rows, "--modules", modules]):
                done = subprocess.run(checker, capture_output=True, text=True)
                counts = re.findall(r"(\d+) passed, (\d+) failed", done.stdout)
                if not counts or done.returncode:
                    print(plan, at, words, lead, done.stdout[-2000:], done.stderr[-2000:], sep="\n")
                passed += int(counts[-1][0]) if counts else 0
                failed += int(counts[-1][1]) if counts else 1
    print(f"{passed} passed, {failed} failed")
    return failed > 0


sys.exit(main())
