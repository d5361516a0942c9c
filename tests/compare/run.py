#!/usr/bin/python3
"""Holds `compare` against pairs of rows (pairs.txt, which says their form), and against what it says whole (whole.txt).

    run.py BINARY             runs all
    run.py BINARY --write     writes what the binary says into whole.txt, to be read before it is kept
"""
import csv
import io
import os
import re
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
SHOWN = 60

WARD = "setting,value\nward,Larkfield\ntimezone,America/Lima\nbegins,2026-11-25 07:00\nhours,24\n"
LINES = "patient,line,kind\np1,left-arm,peripheral\np1,neck,central\n"


def table(rows, separator=","):
    columns = sorted({c for row in rows for c in row})
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\n", delimiter=separator)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def cells(text):
    return dict(part.split("=", 1) for part in text.split("|"))


def pairs():
    kind = None
    for line in open(os.path.join(HERE, "pairs.txt"), encoding="utf-8"):
        line = line.rstrip("\n")
        if line.startswith("== "):
            kind = None
        elif re.match(r"(same|differs \S+|error \S+) ", line) and not line.startswith(" "):
            kind = line
        elif line.startswith("o ") and kind:
            ordered = cells(line[2:])
        elif line.startswith("r ") and kind:
            yield kind, ordered, cells(line[2:])


def compare(binary, tables, record, *words):
    with tempfile.TemporaryDirectory() as top:
        folder = os.path.join(top, "plan")
        os.mkdir(folder)
        for name, text in tables.items():
            with open(os.path.join(folder, name), "w", encoding="utf-8") as f:
                f.write(text)
        if record is not None:
            with open(os.path.join(top, "record.csv"), "wb") as f:
                f.write(record.encode("utf-8").replace(b"\\xe9", b"\xe9"))
        at = [] if "--at" in words else ["--at", "2026-11-25 07:00"]
        return subprocess.run([binary, "compare", "record.csv", "plan", *words, *at], cwd=top, capture_output=True, text=True, timeout=60,
                              input="", check=False)


def run_pair(binary, kind, ordered, recorded, separator):
    """What is wrong with a pair; or None."""
    ordered, recorded = dict(ordered), dict(recorded)
    allowance = ordered.pop("allowance", "")
    for row in (ordered, recorded):
        row.update({"patient": "p1", "order": "x", **({} if "line" in row else {"line": "left-arm"})})
    main = {"patient": "p1", "order": "main", "fluid": "hartmann", "line": "left-arm", "rate": "50 mL/h", "volume": "50 mL"}
    also = {c: main.get(c, "") for c in recorded}
    if "volume" not in recorded and "bag" in recorded:
        also["bag"] = ""
    tables = {"ward.csv": WARD, "lines.csv": LINES, "orders.csv": table([main, ordered]),
              "patients.csv": f"patient,age,weight,allergies,allowance\np1,60 years,70 kg,none,{allowance}\n"}
    done = compare(binary, tables, table([recorded, also], separator), "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    words = kind.split()
    if words[0] == "error":
        if done.returncode != 3 or f"[{words[1]}]" not in done.stderr or not done.stderr.startswith("record.csv:"):
            return f"exit {done.returncode}, said {done.stderr or done.stdout}"
        return None
    expected = {} if words[0] == "same" else {("x", c) for c in words[1].split("+")}
    found = {(row["order"], row["column"]) for row in rows if row["same"] == "no"}
    if done.returncode != (1 if expected else 0) or done.stderr or found != set(expected) or not any(row["order"] == "x" for row in rows):
        return f"exit {done.returncode}, said {done.stdout}{done.stderr}"
    listed = {row["column"] for row in rows if row["order"] == "x"}
    written = {c for c in recorded if c not in ("patient", "order") and (recorded[c] or ordered.get(c))}
    return None if listed == written else f"listed {sorted(listed)}, written in either {sorted(written)}"


def sections(path):
    """Cases of whole.txt: a title line `== ...`, then parts `-- NAME` with their lines."""
    found = []
    for line in open(path, encoding="utf-8"):
        if line.startswith("== "):
            found.append([line[3:].strip(), {}, []])
        elif line.startswith("-- ") and found:
            name = line[3:].split()[0]
            found[-1][1][name] = ""
            if name == "words":
                found[-1][2] = re.findall(r'"[^"]*"|\S+', line[9:])
        elif found and found[-1][1]:
            found[-1][1][name] += line
    return found


def run_whole(binary, write):
    path, bad, good = os.path.join(HERE, "whole.txt"), 0, 0
    text = open(path, encoding="utf-8").read()
    for title, parts, words in sections(path):
        tables = {"ward.csv": WARD, "lines.csv": LINES, **{n: t for n, t in parts.items() if n.endswith(".csv") and n != "record.csv"}}
        done = compare(binary, tables, parts.get("record.csv"), *[w.strip('"') for w in words])
        said = f"exit {done.returncode}\n{done.stderr}{done.stdout}"
        if write:
            behind = text.index("-- says\n", text.index(f"== {title}\n")) + len("-- says\n")
            text = text[:behind] + said + "\n" + text[behind + len(parts["says"]):]
        elif said.strip() != parts["says"].strip():
            bad += 1
            print(f"whole: {title}\n--- expected\n{parts['says']}--- said\n{said}")
            continue
        good += 1
    if write:
        open(path, "w", encoding="utf-8").write(text)
    return good, bad


def main():
    binary, write = os.path.abspath(sys.argv[1]), "--write" in sys.argv
    passed = failed = 0
    for n, (kind, ordered, recorded) in enumerate(pairs()):
        wrong = run_pair(binary, kind, ordered, recorded, ",;\t"[n % 3])
        passed, failed = passed + (wrong is None), failed + (wrong is not None)
        if wrong and failed <= SHOWN:
            print(f"{kind}\n  {ordered}\n  {recorded}\n  {wrong}")
    good, bad = run_whole(binary, write)
    print(f"{passed + good} passed, {failed + bad} failed")
    return failed + bad > 0 or passed < 80


sys.exit(main())
