#!/usr/bin/python3
"""Reads printed pages and lists as a careful person would: check_pages.py FILE...

Held against every page: its size (72 or 132 columns, 60 lines, plain ASCII), its heading (ward or bed, weekday and date, made,
page n of m, page code) and its END OF line; the order and count of pages; no expression from the published lists of error-prone ones;
and every column of figures that can be added up again is. What follows a line `== messages` in a golden file is not a page.

Ends with `N passed, N failed`.
"""
import csv
import os
import re
import sys
from decimal import Decimal

LINES = 60
DATE = r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d{1,2} (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b"
CODE = r"\b[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}\b"
UNITS = r"(?:mL|L|mg|mcg|kg|g|mmol|mEq|units|mOsm|drops|h|min|s|days?|%)"

# What a page must not say, and what to say instead: published lists of error-prone expressions.
ERROR_PRONE = [
    ("a trailing zero", r"(?<![\d:.,])\d+\.\d*0(?![\d:])", "5 mL, not 5.0 mL"),
    ("a naked decimal point", r"(?<![\d.])\.\d", "0.5 mL"),
    ("a point behind a unit", r"\b(?:mg|mL|mcg|kg)\.(?=[a-z ]*[a-z0-9])(?!\s|$)", "mg, mL"),
    ("U for units", r"\d ?[Uu]\b", "units"),
    ("IU", r"\bIU\b", "units"),
    ("cc or cm3", r"\b(?:cc|c\.c\.|cm3)\b", "mL"),
    ("ug", r"\bug\b", "mcg"),
    ("ml, l or Ml", r"\d (?:ml|ML|Ml|l)\b", "mL, L"),
    ("a plural unit", r"\b(?:mLs|mgs|mcgs|kgs|hrs)\b", "mL, mg, h"),
    ("gtt", r"\bgtt\b", "drops"),
    ("lb or stone", r"\d (?:lbs?|stone)\b", "kg"),
    ("@", r"@", "at"),
    ("&", r"&", "and"),
    ("< or >", r"[<>]", "less than, more than"),
    ("+ between words", r"(?<=\w) ?\+ ?(?=[A-Za-z])", "and"),
    ("a number glued to its unit", rf"(?<![\w.,-])\d[\d.,]*{UNITS}\b(?!-)", "10 mg"),
    ("a share without a blank", r"\d%", "80 %"),
    ("thousands without a comma", rf"(?<![A-Z\d.,:-])(?!(?:19|20)\d\d(?! ?{UNITS}))\d{{4,}}(?![\d:-])", "1,000"), # years are none
    ("a 12-hour clock", r"\b\d{1,2}(?::\d\d)? ?(?:am|pm|a\.m\.|p\.m\.)(?![a-z])", "24-hour clock"),
    ("24:00 or midnight", r"\b24:00\b|\bmidnight\b", "00:00 with the weekday"),
    ("a chemical short form", r"\b(?:KCl|NaCl|MgSO4|CaCl2|NaHCO3|KH2PO4|MSO4|MS|D5W|D10W|NS)\b", "the name in words"),
    ("an abbreviated frequency", r"\b(?:QD|Q\.D\.|QOD|Q\.O\.D\.|OD|o\.d\.|BD|TDS|HS|qhs|qn|qd|q\d+h)\b", "every day, every 8 h"),
    ("an abbreviated route", r"\b(?:SC|SQ|IJ)\b", "subcutaneous, injection"),
    ("D/C", r"\bD/C\b", "stop, discharge"),
    ("a slow rate by its short form", r"\b(?:KVO|TKO|VTBI)\b", "the rate"),
    ("a fraction", r"(?<![\d/])\b\d/\d\b(?!/)", "half, 0.5"),
]
ERROR_PRONE = [(what, re.compile(pattern), instead) for what, pattern, instead in ERROR_PRONE]


class Report:
    def __init__(self):
        self.passed = self.failed = 0

    def hold(self, true, where, what):
        if true:
            self.passed += 1
        else:
            self.failed += 1
            print(f"{where}: {what}")


def check_line(report, where, line, width):
    report.hold(len(line) <= width, where, f"{len(line)} columns, more than {width}: {line!r}")
    report.hold(all(" " <= c <= "~" for c in line), where, f"not plain ASCII: {line!r}")
    report.hold(line == line.rstrip(), where, f"blanks at its end: {line!r}")
    bare = re.sub(CODE, "", line)
    bare = re.sub(r"^END OF PAGE \d+|\bpage \d+ of \d+\b", "", bare)
    bare = re.sub(r"(\b[A-Z]\w+|^) (?:19|20)\d\d(?=[).,;]|$)", r"\1", bare)  # the year of a source, behind who wrote it
    for what, pattern, instead in ERROR_PRONE:
        found = pattern.search(bare)
        report.hold(not found, where, f"{what} ({instead}): {found.group(0) if found else ''!r} in {line!r}")


def check_heading(report, where, lines, paged, demo):
    head = "\n".join(lines[:4])
    report.hold(re.search(DATE, head), where, "no weekday and date in the first four lines")
    report.hold(re.search(rf"\bmade {DATE} \d\d:\d\d", head), where, "no `made ...` in the first four lines")
    report.hold(re.search(CODE, head), where, "no page code in the first four lines")
    report.hold(not demo or lines[0].startswith("DEMO, NOT FOR CARE"), where, "a demo page that does not say so in its first line")
    if paged:
        report.hold(re.search(r"\bpage \d+ of \d+\b", head), where, "no `page n of m` in the first four lines")


def check_page(report, where, lines, number, count, last):
    report.hold(len(lines) <= LINES, where, f"{len(lines)} lines, more than {LINES}")
    ends = [i for i, line in enumerate(lines) if line.startswith("END OF PAGE")]
    report.hold(len(ends) == 1, where, "not one `END OF PAGE` line")
    report.hold(lines[-1].startswith("END OF"), where, f"its last line is {lines[-1]!r}")
    if ends:
        report.hold(lines[ends[0]].startswith(f"END OF PAGE {number},"), where, f"{lines[ends[0]]!r} on page {number}")
        report.hold(last or ends[0] == len(lines) - 1, where, "lines behind `END OF PAGE`")
    said = re.search(r"\bpage (\d+) of (\d+)\b", "\n".join(lines[:4]))
    if said:
        report.hold((int(said[1]), int(said[2])) == (number, count), where, f"says `{said[0]}`, is page {number} of {count}")


# ---- adding up again ----

NUMBER = re.compile(r"[+-]?[\d,]*\d(?:\.\d+)?")


def value(text):
    found = NUMBER.fullmatch(text.rstrip("?"))
    return Decimal(found[0].replace(",", "")) if found else None


def cells_of(line, columns):
    """The value under each head: its point or its last digit stands at or left of the head's right edge, decimals right of it."""
    cells = {}
    for found in re.finditer(r"\S+", line):
        if found[0] == "|":
            continue
        name = next((name for name, left, right in columns if left < found.end() and found.start() <= right), None)
        if name is not None and value(found[0]) is not None:
            cells[name] = (value(found[0]), found[0].endswith("?"))
    return cells


def columns_of(head):
    tokens = [(m[0], m.start(), m.end()) for m in re.finditer(r"\S+", head) if m[0] != "|"]
    first = next(i for i, t in enumerate(tokens) if t[0] in ("fluid", "drug", "blood", "nutrition", "flush", "feed", "oral", "other", "IN"))
    columns, left = [], tokens[first - 1][2]
    for name, _, right in tokens[first:]:
        columns.append([name, left, right])
        left = right
    return columns


def check_totals(report, where, head, rows, notes):
    columns = columns_of(head)
    split = [c[0] for c in columns].index("IN")
    for i, column in enumerate(columns): # the same category may stand on both sides
        column[0] = ("out " if i > split and column[0] not in ("OUT", "SUM") else "") + column[0]
    made, total, in_rows, spoilt = {}, Decimal(0), [], False
    step = Decimal("0.1") if any("." in row for row in rows) else Decimal(1)
    for row in rows:
        cells = cells_of(row, columns)
        if not cells:
            continue
        label = row.split()[0]
        ins = sum(v for name, (v, _) in cells.items() if not name.startswith("out ") and name not in ("IN", "OUT", "SUM"))
        outs = sum(v for name, (v, _) in cells.items() if name.startswith("out "))
        tolerance = step * len(columns)
        for name, parts in (("IN", ins), ("OUT", outs)):
            if name in cells:
                said = any("each figure is rounded by itself" in n for n in notes)
                report.hold(abs(parts - cells[name][0]) <= (tolerance if said else 0) or label == "all", where,
                            f"parts make {parts}, {name} is {cells[name][0]}: {row!r}")
        if label == "all":
            for name, (v, _) in cells.items():
                if name == "SUM":
                    continue
                exact = made.get(name, Decimal(0)) == v
                said = any(f"of {name.replace('out ', '')} make" in n for n in notes)
                report.hold(exact or said, where, f"{name}: rows make {made.get(name)}, the sum is {v} and nothing is said of rounding")
                report.hold(abs(made.get(name, Decimal(0)) - v) <= step * len(in_rows), where, f"{name}: rows make {made.get(name)}, the sum is {v}")
            continue
        in_rows.append(row)
        for name, (v, _) in cells.items():
            made[name] = made.get(name, Decimal(0)) + v
        if "IN" in cells and "SUM" in cells:
            total += cells["IN"][0] - cells.get("OUT", (Decimal(0), False))[0]
            report.hold(abs(total - cells["SUM"][0]) <= step * len(in_rows), where, f"SUM should be about {total}: {row!r}")


def ledger_rows(lines, first):
    """The rows of a back page's table, and what stands under it up to the next rule."""
    rows = []
    for i, line in enumerate(lines[first:], first):
        if not line or line.startswith((" ", "-")):
            notes = []
            for note in lines[i:]:
                if note.startswith("--"):
                    break
                notes.append(note.strip())
            return rows, " ".join(notes)
        rows.append(line)
    return rows, ""


def check_ledger(report, where, lines, bed, hours):
    """In and out hour by hour: every column is added up again, by shift and whole; the whole is held against `totals --by hour`."""
    head = next((i for i, line in enumerate(lines) if re.match(r"hour .*\bIN \|.*\bSUM$", line)), None)
    if head is None:
        return
    tokens = [(m[0], m.start(), m.end()) for m in re.finditer(r"\S+", lines[head].replace("|", " "))]
    columns, left = [], tokens[0][2]
    split = [t[0] for t in tokens].index("IN")
    for i, (name, _, right) in enumerate(tokens[1:], 1):
        columns.append((("out " if i > split and name not in ("OUT", "SUM") else "") + name, left, right))
        left = right
    rows, notes = ledger_rows(lines, head + 1)
    made, whole, total, seen = {}, {}, Decimal(0), 0
    step = Decimal("0.1") if any("." in c for row in rows for c in re.findall(r"\d\.\d", row)) else Decimal(1)
    for row in rows:
        cells = cells_of(row.replace("|", " "), columns)
        label = row[: columns[0][1]].strip() if row.split()[0] in ("CHARTED", "PLANNED") else re.split(r"  +", row)[0]
        hour = re.match(r"\d\d(:\d\d)?(?= )", row)
        if not cells:
            continue
        if hour:
            seen += 1
            ins = sum(v for name, (v, _) in cells.items() if not name.startswith("out ") and name not in ("IN", "OUT", "SUM"))
            outs = sum(v for name, (v, _) in cells.items() if name.startswith("out "))
            for name, parts in (("IN", ins), ("OUT", outs)):
                if name in cells:
                    slack = step * len(columns) if "each figure is rounded by itself" in notes else 0
                    report.hold(abs(parts - cells[name][0]) <= slack, where, f"parts make {parts}, {name} is {cells[name][0]}: {row!r}")
            if "SUM" in cells:
                total += cells["IN"][0] - cells.get("OUT", (Decimal(0), False))[0]
                report.hold(abs(total - cells["SUM"][0]) <= step * seen, where, f"SUM should be about {total}: {row!r}")
            for name, (v, _) in cells.items():
                made[name] = made.get(name, Decimal(0)) + v
                whole[name] = whole.get(name, Decimal(0)) + v
            continue
        last = row is rows[-1]
        for name, (v, _) in cells.items():
            if name == "SUM":
                continue
            parts = (whole if last else made).get(name, Decimal(0))
            plain = name.replace("out ", "")
            said = re.search(rf"\b{re.escape(plain)} {re.escape(label)} ([\d,.]*\d)", notes)
            stated = Decimal(said[1].replace(",", "")) if said else v
            report.hold(parts == v or parts == stated, where, f"{name}, {label}: printed hours make {parts}, the sum is {v}, nothing is said of rounding")
            report.hold(abs(parts - v) <= step * seen, where, f"{name}, {label}: printed hours make {parts}, the sum is {v}")
        if last and hours is not None and bed in hours and "IN" in cells:
            exact = hours[bed]
            report.hold(abs(exact - cells["IN"][0]) <= step / 2 + Decimal("0.05"), where, f"IN is {cells['IN'][0]}, totals by hour make {exact}")
        made = {}


def hours_of(path):
    """What `totals --by hour` says went in, by patient; None where there is no such file beside the page."""
    beside = path.replace(".report.txt", ".hours.csv")
    if beside == path or not os.path.exists(beside):
        return None
    sums = {}
    for row in csv.DictReader(open(beside, encoding="utf-8")):
        if row["direction"] == "in":
            sums[row["patient"]] = sums.get(row["patient"], Decimal(0)) + Decimal(row["volume_ml"])
    return sums


def check_sums(report, where, lines):
    for i, line in enumerate(lines):
        if re.match(r"\s+(hour|shift|day)\b.*\bIN\b.*\bSUM$", line):
            rows = []
            for row in lines[i + 1:]:
                rows.append(row)
                if row.split()[:1] == ["all"]:
                    break
            notes = []
            for note in lines[i + 1 + len(rows):]:
                if note.startswith("--"):
                    break
                notes.append(note)
            notes = [re.sub(r"\s+", " ", " ".join(notes))]
            check_totals(report, f"{where}, under {line.strip()[:24]!r}", line, rows, notes)
        if re.match(r" in by \d\d:\d\d", line) and i + 2 < len(lines):
            figures = [re.search(r"([\d,.]+)\?? mL", lines[i + k]) for k in range(3)]
            if all(figures):
                a, b, c = (Decimal(f[1].replace(",", "")) for f in figures)
                said = "rounded by itself" in "\n".join(lines[i + 3:i + 5])
                report.hold(a + b == c or (said and abs(a + b - c) <= Decimal("1")), where, f"{a} and {b} make {a + b}, printed {c}")


def check_file(report, path):
    text = open(path, encoding="utf-8", errors="surrogateescape", newline="").read().split("== messages")[0]
    if not text:
        report.hold(False, path, "nothing in it")
        return
    report.hold(text.endswith("\n"), path, "does not end with a line end")
    if path.endswith(".sentences.txt"):  # one a line, as long as it is: no pages, no columns
        for line in text.splitlines():
            check_line(report, path, line, len(line))
        report.hold(text.endswith("END OF REPORT\n"), path, "does not end with END OF REPORT")
        return
    paged = "END OF PAGE" in text
    pages = [page.split("\n") for page in text.rstrip("\n").split("\f")]
    longest = max(len(line) for page in pages for line in page)
    width = 72 if longest <= 72 else 132
    demo = text.startswith("DEMO")
    hours = hours_of(path)
    for number, lines in enumerate(pages, 1):
        where = f"{path}, page {number}"
        if number < len(pages) and lines[-1] == "":
            lines.pop()
        if not os.path.basename(path).startswith(("catalogue.", "regimen.")): # it is of no ward and no day
            check_heading(report, where, lines, paged, demo)
        if paged:
            check_page(report, where, lines, number, len(pages), number == len(pages))
        for line in lines:
            check_line(report, where, line, width)
        check_sums(report, where, lines)
        title = re.match(r"(?:DEMO, NOT FOR CARE +)?(\S+) +IN AND OUT$", lines[0])
        if title:
            check_ledger(report, where, lines, title[1].lower(), hours)
    report.hold(pages[-1][-1] in ("END OF REPORT", "END OF LIST"), path, f"its last line is {pages[-1][-1]!r}")


def main():
    if len(sys.argv) < 2:
        raise SystemExit("check_pages.py FILE...")
    report = Report()
    for path in sys.argv[1:]:
        check_file(report, path)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


if __name__ == "__main__":
    sys.exit(main())
