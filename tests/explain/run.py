#!/usr/bin/python3
"""Every figure of a patient's front and back page is explained, and comes to what is printed: run.py BINARY.

The pages are read as text. For each figure in RUNNING, in the list of tasks, in the hours and in the bags, `explain` is asked; the figure
that it derives must be the one on the page, and its second way must come to the same. Ends with `N passed, N failed`.
"""
import csv
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = str(pathlib.Path(sys.argv[1]).resolve())
FEW = "--few" in sys.argv  # the sanitized build takes its time
PLANS = [("larkfield", "2026-11-25 19:00"), ("gravity", None), ("steps", None), ("weights", None)][1 if FEW else 0:2 if FEW else 4]
WALKED = ("bay1-bed2", "bay3-cot1")  # of the big ward: whose hours are gone through one by one
INPUTS = {"oral", "other"}
passed = failed = 0


def hold(true, what):
    global passed, failed
    if true:
        passed += 1
    else:
        failed += 1
        print(what)


def command(*words):
    return subprocess.run([BINARY, *words], cwd=ROOT, capture_output=True, text=True, check=False)


def begins(plan):
    return next(row.split(",")[1] for row in (ROOT / "plans" / plan / "ward.csv").read_text().splitlines() if row.startswith("begins,"))


def explain(plan, at, words, printed, orders=()):
    """The title of what is explained ends with the figure as printed. A line on which more runs than its primary: one of its orders."""
    done = command("explain", *words, "--plan", f"plans/{plan}", "--at", at, "--width", "132")
    for order in orders:
        if printed not in done.stdout:
            done = command("explain", words[0], order, *words[2:], "--plan", f"plans/{plan}", "--at", at, "--width", "132")
    title = done.stdout.splitlines()[1] if done.stdout.count("\n") > 2 else ""
    shown = title.rsplit(": ", 1)[-1]
    hold(done.returncode == 0 and "the same" in done.stdout and "NOT THE SAME" not in done.stdout,
         f"{plan}: explain {' '.join(words)}: exit {done.returncode}: {done.stdout}{done.stderr}")
    hold(printed in shown, f"{plan}: explain {' '.join(words)}: the page says {printed!r}, the figure is {shown!r}")


def columns_of(head):
    tokens = [(m[0], m.start(), m.end()) for m in re.finditer(r"\S+", head.replace("|", " "))]
    columns, left = [], tokens[0][2]
    for name, _, right in tokens[1:]:
        columns.append((name, left, right))
        left = right
    return columns


def cells_of(row, columns):
    found = {}
    for m in re.finditer(r"\S+", row.replace("|", " ")):
        name = next((n for n, left, right in columns if left < m.end() and m.start() <= right), None)
        if name and re.fullmatch(r"-?[\d,]*\d(\.\d+)?\??", m[0]):
            found[name] = m[0].rstrip("?")
    return found


def walk_ledger(plan, at, bed, lines, orders, doses):
    head = next(i for i, line in enumerate(lines) if re.match(r"hour .*SUM$", line))
    columns = columns_of(lines[head])
    split = [c[0] for c in columns].index("IN")
    outs = {c[0] for c in columns[split + 1:]} - {"OUT", "SUM"}
    for row in lines[head + 1:]:
        if not row or row.startswith((" ", "-")):
            return
        label = re.split(r"  +", row)[0]
        period = label if re.fullmatch(r"\d\d", label) else "all" if re.match(r"\d+ h", label) else label
        if period in ("CHARTED", "PLANNED") or "," in period:
            continue
        for name, printed in cells_of(row, columns).items():
            if name in ("IN", "OUT"):
                explain(plan, at, [bed, name.lower(), period], f"{printed} mL")
            elif name == "SUM":
                explain(plan, at, [bed, "sum", period], f"{printed} mL")
            elif name in orders:
                explain(plan, at, [bed, name, "given", period], f"{printed} mL")
            elif name == "flush" and len(doses) == 1:
                explain(plan, at, [bed, doses[0], "flush", period], f"{printed} mL")
            elif name == "dose" and len(doses) == 1:
                explain(plan, at, [bed, doses[0], "given", period], f"{printed} mL")
            else:
                hold(name in outs or name in INPUTS or name in ("dose", "flush", "feed", "fluid", "drug", "blood", "nutrition"), f"{plan} {bed}: {name} is explained by nothing")


def walk_bags(plan, at, bed, lines):
    head = next((i for i, line in enumerate(lines) if line.startswith("BAGS ADD UP")), None)
    for row in lines[head + 1:] if head is not None else []:
        if row.startswith(" ") or row.startswith("-"):
            return
        bag = re.match(r"(\S+) bag ([\d,]+) .* ([\d,.]+)$", row)
        if bag:
            explain(plan, at, [bed, bag[1], "bag", bag[2].replace(",", "")], f"{bag[3]} mL")


def walk_running(plan, at, bed, lines, mine):
    head = next(i for i, line in enumerate(lines) if line.startswith("RUNNING"))
    line_key = None
    for row in lines[head + 1:]:
        if row.startswith("--"):
            return
        run = re.match(r"(\S+), (pump|syringe|gravity) +(\S+ (?:mL/h|drops/min)) +(\d+) +([\d,.]+ mL) +(?:\w{3} (\d\d:\d\d)|later)", row)
        if run:
            line_key = run[1]
            on_it = [o["order"] for o in mine if o["line"] == line_key]
            explain(plan, at, [bed, line_key, "rate"], run[3], on_it)
            explain(plan, at, [bed, line_key, "left"], run[5], on_it)
            if run[6]:
                explain(plan, at, [bed, line_key, "dry"], f"printed {run[6]}", on_it)
        spread = re.search(r"dry between (\d\d:\d\d) and (\d\d:\d\d)", row)
        if spread:
            explain(plan, at, [bed, line_key, "earliest"], f"printed {spread[1]}")
            explain(plan, at, [bed, line_key, "latest"], f"printed {spread[2]}")
        if row.strip().startswith("left should be"):
            for clock, level in re.findall(r"(\d\d:\d\d) ([\d,.]+)", row):
                explain(plan, at, [bed, line_key, "left", clock], f"{level} mL")


def walk_doses(plan, at, key, bed, schedule):
    """Each dose of the schedule: its due time, and the clocks between which the page has it."""
    doses = {}
    for row in schedule:
        if row["patient"] == key and row["due"] and row["basis"] == "planned":
            first, last = doses.get((row["order"], row["due"]), (row["from"], row["to"]))
            doses[row["order"], row["due"]] = (min(first, row["from"]), max(last, row["to"]))
    for (order, due), (first, last) in doses.items():
        explain(plan, at, [bed, order, "dose", due[:16].replace("T", " ") + due[19:]], first[11:16])
    return doses


def main():
    for plan, at in PLANS:
        at = at or begins(plan)
        pages = command("report", f"plans/{plan}", "--at", at).stdout.split("\f")
        schedule = list(csv.DictReader(command("schedule", f"plans/{plan}", "--at", at, "--format", "csv").stdout.splitlines()))
        orders = list(csv.DictReader((ROOT / "plans" / plan / "orders.csv").read_text().splitlines()))
        patients = {r.get("bed") or r["patient"]: r["patient"] for r in csv.DictReader((ROOT / "plans" / plan / "patients.csv").read_text().splitlines())}
        for page in pages:
            lines = page.splitlines()
            title = re.match(r"(?:DEMO, NOT FOR CARE +)?(\S+) +(THIS SHIFT|IN AND OUT)$", lines[0])
            if not title:
                continue
            bed = next(b for b in patients if b.upper() == title[1])
            mine = [o for o in orders if o["patient"] == patients[bed]]
            doses = [o["order"] for o in mine if (o.get("every") or o.get("times") or o.get("runs") == "piggyback") and o.get("runs") != "concurrent"]
            infusions = {o["order"] for o in mine} - set(doses)
            if title[2] == "THIS SHIFT":
                if any(line.startswith("RUNNING") for line in lines):
                    walk_running(plan, at, bed, lines, mine)
                    walk_doses(plan, at, patients[bed], bed, schedule)
            elif any(re.match(r"hour .*SUM$", line) for line in lines):
                if plan != "larkfield" or bed in WALKED:
                    walk_ledger(plan, at, bed, lines, infusions, doses)
                walk_bags(plan, at, bed, lines)
    # what cannot be explained is said, with the exit status of a wrong word
    for words, part in ((["bay1-bed2", "nonsense"], "neither an order nor a line"), (["bay1-bed2", "main", "bag", "9"], "no bag of that number"),
                        (["bay1-bed2", "main", "given", "noon"], "no hour"), (["bay9", "in"], "no patient")):
        done = command("explain", *words, "--plan", "plans/larkfield", "--at", "2026-11-25 19:00")
        hold(done.returncode == 2 and part in done.stdout + done.stderr, f"explain {words}: {done.returncode} {done.stdout}{done.stderr}")
    print(f"{passed} passed, {failed} failed")
    return failed > 0


sys.exit(main())
