"""Runs the cases of findings: one file per code, with small plans that fire it, that stay just inside, and that a ward's rule moves.

    run.py BINARY [CODE ...]          runs all, or those named
    run.py BINARY --few               only those that fire it, or where it cannot be looked for: for builds that are slow
    run.py BINARY --write CODE ...    writes what the binary says into the cases, to be read before it is kept

A case is a text file named after the code. Lines before the first section say what it shows. Then one or more plans:

    == fires why it does                a plan in which the finding is there
    == inside why it does not           one in which it just is not
    == ward what the ward's row says    one where a row of rules.csv moves the limit (fires or not, as the row has it)
    == unchecked what is missing        one in which it cannot be looked for
    -- orders.csv                       a table, instead of the usual one below; `-- orders.csv more` adds its lines to the usual one
    -- options --at 12:00               further words for the command; without --at it is the plan's beginning
    -- record.csv                       a second table of the orders: the command is compare, the rows are those that are not the same
    -- expect                           rows of `check --format csv` with this code, without the column `message`, then a row for
                                        each saying `= ` and the message; nothing where there is none. Of an unchecked one: the bed
                                        and what the text says of this code behind `not looked for`

Every code of finding.def must have a case that fires and one that does not, and, where a rule stands behind it, one of a ward.
"""
import csv
import io
import os
import re
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))

USUAL = {
    "ward.csv": "setting,value\nward,Larkfield\ntimezone,America/Lima\nbegins,2026-11-25 07:00\n",
    "patients.csv": "patient,bed,age,weight,weighed,allergies\n"
                    "p1,bay1-bed1,7 years,20 kg,2026-11-25 06:00,none\n"
                    "p2,bay1-bed2,60 years,70 kg,2026-11-25 06:00,none\n",
    "lines.csv": "patient,line,kind\n"
                 "p1,left-arm,peripheral\n"
                 "p1,neck,central\n"
                 "p1,tube,enteral\n"
                 "p2,left-arm,peripheral\n",
    "orders.csv": "patient,order,fluid,line,rate,bag\n"
                  "p1,main,glucose-5-nacl-0.9,left-arm,60 mL/h,500 mL\n"
                  "p2,main,nacl-0.9,left-arm,80 mL/h,1 L\n",
}


class Plan:
    def __init__(self, kind, why):
        self.kind, self.why, self.tables, self.options, self.expect, self.at = kind, why, dict(USUAL), [], "", None


def read(path):
    """The lines of a case, and its plans."""
    lines, plans, part = open(path, encoding="utf-8").read().splitlines(keepends=True), [], None
    for n, line in enumerate(lines):
        if line.startswith("== "):
            kind, _, why = line[3:].strip().partition(" ")
            assert kind in ("fires", "inside", "ward", "unchecked"), f"{path}:{n + 1}: {kind}"
            plans.append(Plan(kind, why))
            part = None
        elif line.startswith("-- "):
            words = line[3:].split()
            part = words[0]
            if part == "options":
                plans[-1].options = re.findall(r'"[^"]*"|\S+', line[11:])
                plans[-1].options = [o.strip('"') for o in plans[-1].options]
                part = None
            elif part == "expect":
                plans[-1].at = n + 1
            elif words[1:] != ["more"]:
                plans[-1].tables[part] = ""
        elif part == "expect":
            plans[-1].expect += line
        elif part:
            plans[-1].tables[part] += line
    return lines, plans


def not_looked_for(code, text):
    """Of each patient's block of a list: the items about this code."""
    for block in re.split(r"^-+$", text, flags=re.M):
        found = re.search(r"^ not looked for: (.*(?:\n   .*)*)", block, re.M)
        for item in re.findall(rf"(?<![a-z-]){code} \([^)]*\)", re.sub(r"\n +", " ", found.group(1)) if found else ""):
            yield f"{block.split()[0]} {item}\n"


def run(binary, code, plan):
    """What the command says of this code; raises where the plan is no plan."""
    options = list(plan.options)
    if "--at" not in options: # whatever the clock of this computer says
        options += ["--at", re.search(r"^begins,(.*)$", plan.tables["ward.csv"], re.M).group(1)]
    with tempfile.TemporaryDirectory() as folder:
        tables = dict(plan.tables)
        record = tables.pop("record.csv", None)
        for name, text in tables.items():
            with open(os.path.join(folder, name), "w", encoding="utf-8") as f:
                f.write(text)
        if record is not None:
            end = subprocess.run([binary, "compare", "-", folder, "--format", "csv", *options], input=record, capture_output=True, text=True, timeout=60,
                                 check=False)
            said = "".join(line + "\n" for line in end.stdout.splitlines() if line.endswith(",no"))
            if end.returncode != (1 if said else 0):
                raise RuntimeError(f"exit {end.returncode}: {end.stderr}")
            return said
        form = "text" if plan.kind == "unchecked" else "csv"
        end = subprocess.run([binary, "check", folder, "--format", form, *options], capture_output=True, text=True, timeout=60, check=False)
    if end.returncode not in (0, 1):
        raise RuntimeError(f"exit {end.returncode}: {end.stderr}")
    if plan.kind == "unchecked":
        return "".join(not_looked_for(code, end.stdout))
    said, open_clarify = "", False
    for row in csv.DictReader(io.StringIO(end.stdout)):
        open_clarify = open_clarify or row["severity"] == "CLARIFY"
        if row["finding"] == code:
            message = row.pop("message")
            out = io.StringIO()
            csv.writer(out, lineterminator="\n").writerow(row.values())
            said += out.getvalue() + "= " + message + "\n"
    if (end.returncode == 1) != open_clarify:
        raise RuntimeError(f"exit {end.returncode} does not fit what is to clarify")
    return said


def uncovered(cases):
    """Codes of the list without the plans they need."""
    text = open(os.path.join(ROOT, "include/daydrip/finding.def"), encoding="utf-8").read()
    for code, rule in re.findall(r'^FINDING\(\w+,\s*"([a-z-]+)",\s*\w+,\s*"([a-z-]*)"', text, re.M):
        plans = cases.get(code, [])
        fires = [p for p in plans if p.expect and p.kind != "unchecked"]
        inside = [p for p in plans if not p.expect]
        if not fires or not inside or (rule and not any(p.kind == "ward" for p in plans)):
            yield code


def main():
    words = [w for w in sys.argv[2:] if w not in ("--write", "--few")]
    binary, write, few = os.path.abspath(sys.argv[1]), "--write" in sys.argv, "--few" in sys.argv
    names = words or sorted(n[:-5] for n in os.listdir(HERE) if n.endswith(".case"))
    passed = failed = 0
    cases = {}
    for code in names:
        path = os.path.join(HERE, code + ".case")
        lines, plans = read(path)
        cases[code] = plans
        for plan in reversed(plans):
            if few and plan.kind in ("inside", "ward"):
                continue
            try:
                said = run(binary, code, plan)
            except RuntimeError as e:
                said = f"!! {e}\n"
            if write and plan.at:
                end = plan.at
                while end < len(lines) and not lines[end].startswith(("== ", "-- ")):
                    end += 1
                lines[plan.at:end] = said
                plan.expect = said
            wrong = said != plan.expect or (plan.kind in ("fires", "unchecked") and not said) or (plan.kind == "inside" and bool(said))
            passed, failed = passed + (not wrong), failed + wrong
            if wrong:
                print(f"{code}, {plan.kind} {plan.why}\n  expected:\n{plan.expect}  said:\n{said}", end="")
        if write:
            with open(path, "w", encoding="utf-8") as f:
                f.write("".join(lines))
    if not words:
        for code in uncovered(cases):
            print(f"{code}: needs a plan that fires it, one just inside, and one with a ward's row where a rule stands behind it")
            failed += 1
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
