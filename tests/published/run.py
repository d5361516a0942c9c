#!/usr/bin/env python3
"""Holds `rate`, `maintenance`, `regimen` and `fluids --mixture` against worked examples that others have published.

    run.py BINARY

worked.csv: one row per figure of a source: the command, the figure, and how the source rounds (`exact`, `half up N` and
`down N` decimals, `step N` to a multiple, half up, `within N` per cent of it, `range` for `27 to 54`, `text`).
not_expressed.csv: the examples, or parts of them, that these verbs do not answer, and why. mixtures.csv and
mixtures_not_expressed.csv: the same of what fluids hold. regimens.csv and regimens_not_expressed.csv: the same of staged regimens. Only the standard library.
"""
import csv
import decimal
import pathlib
import shlex
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
# Answered, not answered, and how many published examples were collected: each is in one of the two files, or in both where a part is
# missing.
SETS = [("worked.csv", "not_expressed.csv", 143), ("mixtures.csv", "mixtures_not_expressed.csv", 33),
        ("regimens.csv", "regimens_not_expressed.csv", 91)]
REMARK = "daydrip regimen: "  # what is to be known beside the rows goes to the messages, with its word behind it


def rows(name):
    with open(HERE / name, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def rounded(text, how):
    """The printed value rounded as the source says."""
    way, _, number = how.rpartition(" ")
    value = decimal.Decimal(text)
    if way in ("half up", "down"):
        rounding = decimal.ROUND_HALF_UP if way == "half up" else decimal.ROUND_DOWN
        return value.quantize(decimal.Decimal(1).scaleb(-int(number)), rounding)
    if way == "step":
        step = decimal.Decimal(number)
        return (value / step).quantize(decimal.Decimal(1), decimal.ROUND_HALF_UP) * step
    if how != "exact":
        raise ValueError(f"no such rounding: {how}")
    return value


def ask(binary, command, answers):
    """The rows that a command prints, asked once."""
    if command not in answers:
        words = shlex.split(command)
        done = subprocess.run([binary, *words, "--format", "csv"], capture_output=True, text=True, timeout=60, check=False)
        table = list(csv.reader(done.stdout.splitlines()))
        remarks = all(line.startswith(REMARK) and line[len(REMARK):].split(":")[0].isupper() for line in done.stderr.splitlines())
        fine = done.returncode == 0 and table[:1] == [["quantity", "value", "unit"]] and remarks
        answers[command] = table[1:] if fine else None, done.stderr.strip() or f"exit {done.returncode}"
    return answers[command]


def terms(table, quantity):
    """`12 * stage-1-rate + stage-2-volume`: what a source adds up over hours, from the rows."""
    total = decimal.Decimal(0)
    for term in quantity.split(" + "):
        count, _, name = term.rpartition(" * ")
        total += decimal.Decimal(count or 1) * decimal.Decimal(next(value for quantity, value, _ in table if quantity == name))
    return [str(total)]


def check(binary, row, answers):
    """None, or what is wrong."""
    table, said = ask(binary, row["command"], answers)
    if table is None:
        return said
    if " * " in row["quantity"] or " + " in row["quantity"]:
        found = terms(table, row["quantity"])
    else:
        found = [value for quantity, value, unit in table if (quantity, unit) == (row["quantity"], row["unit"])]
    if len(found) != 1:
        return f"{len(found)} rows {row['quantity']} in {row['unit']}"
    way, _, number = row["rounding"].partition(" ")
    if way == "text":
        fine = found[0] == row["value"]
    elif way == "range":
        low, high = map(decimal.Decimal, row["value"].split(" to "))
        fine = low <= decimal.Decimal(found[0]) <= high
    elif way == "within":
        wanted = decimal.Decimal(row["value"])
        fine = abs(decimal.Decimal(found[0]) - wanted) <= wanted * decimal.Decimal(number) / 100
    else:
        fine = rounded(found[0], row["rounding"]) == decimal.Decimal(row["value"])
    return None if fine else f"prints {found[0]}"


def check_set(binary, worked_name, others_name, examples, answers):
    """(passed, failed) of one pair of files."""
    worked, left_out = rows(worked_name), rows(others_name)
    passed = failed = 0
    for row in worked:
        wrong = check(binary, row, answers)
        passed, failed = passed + (wrong is None), failed + (wrong is not None)
        if wrong is not None:
            print(f"{row['id']}: daydrip {row['command']}\n    {row['quantity']} should be {row['value']} {row['unit']} ({row['rounding']}), "
                  f"but: {wrong}\n    {row['source_title']}; {row['organisation']}, {row['year']}; {row['where']}")
    expressed, others = {row["id"] for row in worked}, {row["id"] for row in left_out}
    parts = {row["id"] for row in left_out if worked_name in row["reason"]}
    for problem in (f"{len(expressed | others)} examples, not {examples}" if len(expressed | others) != examples else None,
                    f"in both files without saying so: {' '.join(sorted((expressed & others) - parts))}" if (expressed & others) - parts else None,
                    f"the rest is missing: {' '.join(sorted(parts - expressed))}" if parts - expressed else None):
        passed, failed = passed + (problem is None), failed + (problem is not None)
        if problem:
            print(f"{worked_name}: {problem}")
    return passed, failed


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    answers = {}
    counts = [check_set(sys.argv[1], *files, answers) for files in SETS]
    passed, failed = (sum(n) for n in zip(*counts))
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
