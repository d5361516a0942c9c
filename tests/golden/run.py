#!/usr/bin/python3
"""Holds what each plan gives against reports/: run.py BINARY [--update].

One file per plan and product, messages included. --update writes them anew; a change of reports/ is then read like code.
"""
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
EVENING = {"larkfield": "2026-11-25 19:00", "calm": "2026-03-10 13:00"}  # the moment a plan's pages are made for; its beginning where not said

PRODUCTS = {
    "schedule.txt": ["schedule"],
    "schedule.csv": ["schedule", "--format", "csv"],
    "hours.csv": ["totals", "--by", "hour", "--format", "csv"],
    "shifts.txt": ["totals", "--by", "shift"],
    "days.csv": ["totals", "--by", "day", "--format", "csv"],
    "report.txt": ["report"],
    "maintenance.txt": ["maintenance"],
    "maintenance.csv": ["maintenance", "--format", "csv"],
    "hours.txt": ["report", "--next", "4h"],
    "brief.txt": ["report", "--brief"],
    "sentences.txt": ["report", "--sentences"],
    "reminders.ics": ["remind"],
    "rings.txt": ["remind", "--list"],
    "due.txt": ["due"],
    "due.csv": ["due", "--format", "csv"],
    "gather.txt": ["gather"],
    "gather.csv": ["gather", "--format", "csv"],
    "labels.txt": ["label", "--steps"],
    "check.csv": ["check", "--format", "csv"],
    "check.txt": ["check"],
    "rules.txt": ["rules"],
    "compare.txt": ["compare", "tests/golden/larkfield.record.csv"],
    "compare.csv": ["compare", "tests/golden/larkfield.record.csv", "--format", "csv"],
}
SOME = {  # products that only some plans show something with
    "check.txt": {"larkfield", "blood"},
    "rules.txt": {"larkfield"},
    "compare.txt": {"larkfield"},
    "compare.csv": {"larkfield"},
    "due.csv": {"larkfield", "blood", "clocks-forward", "gravity", "half-hour", "pause"},
    "rings.txt": {"larkfield", "night", "gravity"},
    "gather.txt": {"larkfield", "blood", "contention", "gravity", "remainder", "sequence"},
    "gather.csv": {"larkfield", "contention"},
    "hours.txt": {"larkfield", "blood", "contention", "clocks-back", "gravity", "weights"},
    "brief.txt": {"larkfield", "calm"},
    "sentences.txt": {"calm"},
    "labels.txt": {"larkfield", "blood", "gravity", "weights"},
}

# What needs no plan: its file, and the words.
ALONE = {
    "catalogue.fluids.txt": ["fluids"],
    "catalogue.fluids.csv": ["fluids", "--format", "csv"],
    "catalogue.additives.csv": ["fluids", "--additives", "--format", "csv"],
    "regimen.rehydration-c.txt": ["regimen", "rehydration-c", "--source", "WHO 2013", "--weight", "7.5kg", "--age", "8months"],
    "regimen.burn.txt": ["regimen", "burn", "--source", "WCH 2010", "--weight", "12kg", "--area", "40%", "--coefficient", "4",
                         "--maintenance", "hourly-421", "--since", "2h", "--given", "200mL"],
}


def begins(plan):
    for line in (ROOT / "plans" / plan / "ward.csv").read_text().splitlines():
        if line.startswith("begins,"):
            return line.split(",")[1]
    raise SystemExit(f"{plan}: no begins")


def produce(binary, plan, words):
    if plan:
        words = [*words, "--plan", f"plans/{plan}", "--at", EVENING.get(plan) or begins(plan)]
    done = subprocess.run([binary, *words], cwd=ROOT, capture_output=True)
    text = done.stdout
    if done.stderr or done.returncode:
        text += b"== messages, exit %d\n" % done.returncode + done.stderr
    return text


def main():
    binary = str(pathlib.Path(sys.argv[1]).resolve())
    update = "--update" in sys.argv
    passed = failed = 0
    expected = set()
    plans = sorted(p.name for p in (ROOT / "plans").iterdir() if p.is_dir())
    products = [(f"{plan}.{product}", plan, words) for plan in plans for product, words in PRODUCTS.items()
                if plan in SOME.get(product, {plan})]
    for name, plan, words in products + [(name, None, words) for name, words in ALONE.items()]:
        path = ROOT / "reports" / name
        expected.add(name)
        text = produce(binary, plan, words)
        if update:
            path.write_bytes(text)
        if path.exists() and path.read_bytes() == text:
            passed += 1
        else:
            failed += 1
            print(f"{name}: differs from what {' '.join(words)} gives now")
    for path in (ROOT / "reports").iterdir():
        if path.name not in expected:
            failed += 1
            print(f"{path.name}: no plan gives it")
    print(f"{passed} passed, {failed} failed")
    return failed > 0


sys.exit(main())
