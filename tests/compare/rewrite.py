#!/usr/bin/python3
"""Random plans, their orders written off in other words: rewrite.py BINARY [--plans N] [--seed S].

Of every plan of tests/property/generate.py

  * a record in which each cell is spelled anew but means the same has no difference, and lists the cells that are written in either;
  * a record in which besides one field is changed has exactly that difference;
  * one in which an order is left out, or has another key, says that and nothing else.

What means the same is worked out here in fractions.  The first plan that fails is printed; --seed THAT --plans 1 shows it again.
"""
import argparse
import csv
import io
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
from decimal import Decimal
from fractions import Fraction

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "property"))
import generate  # noqa: E402
import oracle  # noqa: E402
from values import number_and_unit  # noqa: E402

NUMBER = re.compile(r"(\d+(?:\.\d+)?)\s*(.*)$")
SIZES = {"s": 1, "min": 60, "h": 3600, "day": 86400}
COLUMNS = ["fluid", "line", "runs", "for", "category", "rate", "volume", "over", "strength", "bag", "hanging", "hung", "given", "set", "prime", "start", "stop",
           "every", "times", "doses", "window", "gap", "flush", "replaces", "ordered", "note"]


def decimal(value, most=6):
    """As it may be written: up to six decimals. None where that is not exact."""
    text = f"{value.numerator * 10**most // value.denominator}"
    if value * 10**most != int(text) or value <= 0 or value >= 10**9:
        return None
    text = text.rjust(most + 1, "0")
    return (text[:-most] + "." + text[-most:]).rstrip("0").rstrip(".")


class Writer:
    """Spells the cells of a plan's orders anew."""

    def __init__(self, seed, plan):
        self.random, self.plan = random.Random(seed), plan
        self.orders = {(p.key, o.key): o for p in plan.patients for o in p.orders}

    def chance(self, share):
        return self.random.random() < share

    def number(self, value, units):
        """A value in one of the units {name: size}, in a form of its own."""
        for unit in self.random.sample(sorted(units), len(units)):
            text = decimal(value / units[unit])
            if text:
                if self.chance(0.3) and len(text.partition(".")[2]) < 6:
                    text += "0" if "." in text else ".0"
                return text + self.random.choice(["", " "]) + unit
        return None

    def quantity(self, text, units):
        m = NUMBER.match(text)
        if not m or m.group(2).lower() not in {u.lower() for u in units}:
            return text
        size = next(s for u, s in units.items() if u.lower() == m.group(2).lower())
        return self.number(Fraction(m.group(1)) * size, units) or text

    def volume(self, text):
        return self.quantity(text, {"mL": Fraction(1), "ml": Fraction(1), "L": Fraction(1000)})

    def time(self, text):
        return self.quantity(text, {u: Fraction(s) for u, s in SIZES.items()})

    def one_rate(self, text):
        text = self.quantity(text, {"mL/h": Fraction(1), "ml/h": Fraction(1), "mL/min": Fraction(60), "mL/day": Fraction(1, 24)})
        return text.replace("gtt/min", self.random.choice(["gtt/min", "drops/min"]))

    def rate(self, text):
        steps = [s.strip() for s in text.split(";")]
        if len(steps) == 1 and " for " not in text:
            return self.one_rate(text)
        parts = []
        for step in steps:
            rate, _, span = step.partition(" for ")
            parts.append(self.one_rate(rate.strip()) + (" for " + self.time(span.strip()) if span else ""))
        return "; ".join(parts)

    def clocks(self, text):
        words = [self.random.choice([w, w + ":00", w[1:] if w[0] == "0" and w[1] != ":" else w]) for w in text.split()]
        self.random.shuffle(words)
        return " ".join(words)

    def instant(self, text, t):
        """A moment as a date-time that leaves no doubt; a plain clock in another form."""
        if self.chance(0.6):
            return self.plan.zone.written(t)
        return text + ":00" if re.fullmatch(r"\d\d:\d\d", text) else text

    def fluid(self, row):
        text = row["fluid"]
        parts = [p.strip() for p in text.split("+")]
        base, rest = parts[0], parts[1:]
        base = re.sub(r" (\d[\d.]*) (g|mg)\b", lambda m: " " + self.quantity(f"{m[1]} {m[2]}", {"g": Fraction(1000), "mg": Fraction(1)}), base)
        added = []
        bag = row.get("bag") or row.get("volume") or ""
        litres = None
        m = NUMBER.match(bag)
        if m and m.group(2).lower() in ("ml", "l"):
            litres = Fraction(m.group(1)) / (1000 if m.group(2).lower() == "ml" else 1)
        for part in rest:
            m = re.fullmatch(r"(\S+) (\d[\d.]*) mmol(/L)?", part)
            if m and m[1] in ("kcl", "nacl"):
                value, per = Fraction(m[2]), m[3] or ""
                if litres and self.chance(0.4) and decimal(value * litres if per else value / litres):
                    value, per = (value * litres, "") if per else (value / litres, "/L")
                part = f"{m[1].upper() if self.chance(0.3) else m[1]} {decimal(value)} {self.random.choice(['mmol', 'mEq'])}{per}"
            added.append(part)
        self.random.shuffle(added)
        if self.chance(0.3) and " in " not in base:
            base = base.upper()
        return self.random.choice([" + ", "+", "  +  "]).join([base, *added])

    def three(self, row, new):
        """Of rate, volume and time others than are written."""
        m = re.fullmatch(r"(\d[\d.]*) ?m[lL]/h", row.get("rate", ""))
        v = NUMBER.match(row.get("volume", ""))
        if row.get("set", "").startswith("20") or (v and v.group(2).lower() not in ("ml", "l")):
            return
        ml = Fraction(v.group(1)) * (1000 if v.group(2).lower() == "l" else 1) if v else None
        if m and v and not row.get("over"):
            seconds = ml / Fraction(m[1]) * 3600
            if seconds.denominator == 1 and seconds >= 1:
                new["over"] = self.number(seconds, {u: Fraction(s) for u, s in SIZES.items()}) or ""
                if new["over"] and self.chance(0.6):
                    new["rate"] = ""
        elif v and row.get("over") and not row.get("rate"):
            seconds = self.seconds(row["over"])
            text = decimal(ml * 3600 / seconds)
            if text and Fraction(text) <= 10000 and Fraction(text) >= Fraction(1, 1000):
                new["rate"] = text + " mL/h"
                if self.chance(0.6):
                    new["over"] = ""

    @staticmethod
    def seconds(text):
        value, unit = number_and_unit(text)
        return Fraction(value) * SIZES[{"days": "day"}.get(unit, unit)]

    def anew(self, row):
        """The row in other words."""
        order, new = self.orders[row["patient"], row["order"]], dict(row)
        for column in ("volume", "bag", "hanging", "given", "prime", "flush"):
            if row.get(column):
                new[column] = self.volume(row[column])
        for column in ("over", "every", "window", "gap"):
            if row.get(column):
                new[column] = self.time(row[column])
        if row.get("rate"):
            new["rate"] = self.rate(row["rate"])
        if self.chance(0.6):
            self.three(row, new)
        if row.get("times"):
            new["times"] = self.clocks(row["times"])
        if row.get("set") and "gtt" in row["set"]:
            new["set"] = row["set"].replace("gtt/", self.random.choice(["gtt/", "drops/"]))
        new["fluid"] = self.fluid(row)
        start = row.get("start", "")
        if order.due is not None and (start or not order.repeated) and self.chance(0.5):
            new["start"] = self.instant(start, order.due)
        if start.startswith("after ") and "+" in start:
            key, _, span = start.partition("+")
            new["start"] = key.strip() + " + " + self.time(span.strip())
        for column, value in (("set", "pump"), ("runs", order.runs), ("category", order.category)):
            if not row.get(column) and self.chance(0.3):
                new[column] = value
        if row.get("note"):
            new["note"] = row["note"].replace(" ", "  ")
        return new


def changes(row, lines, rng):
    """(column, row with that field changed) for what can be changed and still be read."""
    def ml(text):
        m = NUMBER.match(text)
        return Fraction(m.group(1)) * (1000 if m.group(2).lower() == "l" else 1) if m and m.group(2).lower() in ("ml", "l") else None

    def last_digit(text):
        m = NUMBER.match(text)
        places = len(m.group(1).partition(".")[2])
        return f"{Decimal(m.group(1)) + Decimal(1).scaleb(-places)} {m.group(2)}"

    def minute_later(clock):
        t = (int(clock[:2]) * 60 + int(clock[3:5]) + 1) % 1440
        return f"{t // 60:02d}:{t % 60:02d}"

    def changed(column, value):
        return column, {**row, column: value}

    three = sum(bool(row.get(c)) for c in ("rate", "volume", "over"))
    if re.fullmatch(r"\d[\d.]* ?(mL/h|gtt/min|drops/min)", row.get("rate", "")) and three < 3:
        yield changed("rate", last_digit(row["rate"]))
    volume, bag = ml(row.get("volume", "")), ml(row.get("bag", ""))
    if volume and three < 3 and not (bag and volume + 1 > bag):
        yield changed("volume", decimal(volume + 1) + " mL")
    if row.get("over") and three < 3:
        yield changed("over", decimal(Writer.seconds(row["over"]) / 60 + 1) + " min") if decimal(Writer.seconds(row["over"]) / 60 + 1) else changed(
            "over", "17 h")
    if bag:
        yield changed("bag", decimal(bag + 1) + " mL")
    m = re.search(r"\+ (\S+) (\d+)( ?\S+)", row["fluid"])
    if m:
        yield changed("fluid", row["fluid"][:m.start(2)] + str(int(m[2]) + 1) + row["fluid"][m.end(2):])
    if row["fluid"] in ("nacl-0.9", "hartmann", "glucose-5"):
        yield changed("fluid", "ringer-lactate")
    m = re.match(r"(\S+) (\d[\d.]*) (g|mg) in ", row["fluid"])
    if m:
        yield changed("fluid", row["fluid"].replace(f" {m[2]} ", f" {decimal(Fraction(m[2]) + 1)} ", 1))
    kinds = {line["line"]: line["kind"] for line in lines if line["patient"] == row["patient"]}
    others = [line for line, kind in kinds.items() if line != row["line"] and kind not in ("enteral", "arterial")]
    if others and kinds[row["line"]] not in ("enteral", "arterial") and three < 3:
        yield changed("line", rng.choice(sorted(others)))
    if re.fullmatch(r"\d\d:\d\d", row.get("start", "")) and not row.get("stop") and not row.get("hung") and not row.get("hanging") and not row.get("ordered"):
        yield changed("start", minute_later(row["start"]))
    if row.get("times"):
        clocks = row["times"].split()
        later = minute_later(clocks[0].rjust(5, "0"))
        if later not in clocks and later != "00:00":
            yield changed("times", " ".join([later, *clocks[1:]]))
    for column in ("every", "window", "gap"):
        if row.get(column):
            yield changed(column, decimal((Writer.seconds(row[column]) + 3600) / 60) + " min")
    if row.get("flush"):
        yield changed("flush", decimal(ml(row["flush"]) + 1) + " mL")
    if row.get("doses"):
        yield changed("doses", str(int(row["doses"]) + 1))
    if row.get("set", "").startswith(("15 ", "60 ")) and three < 3:
        yield changed("set", "16 gtt/mL")
    yield changed("note", "another remark")


def text_of(rows, columns, separator):
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\n", delimiter=separator, extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


class Failed(Exception):
    pass


class Plan:
    def __init__(self, binary, seed, folder):
        self.binary, self.folder = binary, folder
        self.tables = generate.write_plan(seed, folder)
        self.rows = [{c: v for c, v in row.items()} for row in self.tables["orders"]]
        self.writer = Writer(seed, oracle.Plan(folder))
        self.random = random.Random(seed + 1)

    def hold(self, rows, expected, spare=0.0):
        """Compares a record with these rows; expected: the (patient, order, column) that differ."""
        used = [c for c in COLUMNS if any(row.get(c) for row in rows) or any(row.get(c) for row in self.rows)]
        kept = [c for c in used if c in ("fluid", "line") or self.random.random() >= spare]
        columns = ["patient", "order", *kept]
        self.random.shuffle(columns)
        rows = list(rows)
        self.random.shuffle(rows)
        record = text_of(rows, columns, self.random.choice(",;\t"))
        done = subprocess.run([self.binary, "compare", "-", self.folder, "--at", self.writer.plan.zone.written(self.writer.plan.begins), "--format", "csv"],
                              input=record, capture_output=True, text=True, timeout=60, check=False)
        found = list(csv.DictReader(io.StringIO(done.stdout)))
        differ = {(r["patient"], r["order"], r["column"]) for r in found if r["same"] == "no"}
        told = [(r["patient"], r["order"], r["column"]) for r in found]
        ordered = {(r["patient"], r["order"]): r for r in self.rows}
        listed = {(r["patient"], r["order"], c) for r in rows if (r["patient"], r["order"]) in ordered for c in kept
                  if r.get(c) or ordered[r["patient"], r["order"]].get(c)}
        if done.stderr or done.returncode != (1 if expected else 0) or differ != expected or len(told) != len(set(told)) or (
                {t for t in told if t[2] != "order"} != listed):
            raise Failed(f"exit {done.returncode}, differs {sorted(differ)}, expected {sorted(expected)}\n"
                         f"listed and not written {sorted(set(told) - listed)[:5]}, not listed {sorted(listed - set(told))[:5]}\n{done.stderr}\n{record}\n"
                         + "".join(",".join(r.values()) + "\n" for r in found if r["same"] == "no"))

    def check(self):
        anew = [self.writer.anew(row) for row in self.rows]
        self.hold(anew, set())
        self.hold(self.rows, set(), spare=0.4)
        done = 0
        for _ in range(3):
            at = self.random.randrange(len(self.rows))
            options = list(changes(self.rows[at], self.tables["lines"], self.random))
            column, row = self.random.choice(options)
            self.hold(anew[:at] + [row] + anew[at + 1:], {(row["patient"], row["order"], column)})
            done += 1
        at = self.random.randrange(len(self.rows))
        gone = self.rows[at]
        key = (gone["patient"], gone["order"], "order")
        self.hold(anew[:at] + anew[at + 1:], {key})
        self.hold(anew[:at] + [{**anew[at], "order": "zz-other"}] + anew[at + 1:], {key, (gone["patient"], "zz-other", "order")})
        return done + 4


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--plans", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    held = left = 0
    for seed in range(asked.seed, asked.seed + asked.plans):
        with tempfile.TemporaryDirectory() as folder:
            try:
                plan = Plan(os.path.abspath(asked.binary), seed, folder)
            except generate.LEFT_OUT:
                left += 1
                continue
            if not plan.rows:
                continue
            try:
                held += plan.check()
            except Failed as wrong:
                print(f"seed {seed}:\n{wrong}")
                for name in ("ward", "patients", "lines", "orders"):
                    print(f"--- {name}.csv\n" + pathlib.Path(folder, name + ".csv").read_text(encoding="utf-8"))
                print("0 passed, 1 failed")
                return 1
    enough = held > 3 * asked.plans
    print(f"{held} passed, {0 if enough else 1} failed")
    return not enough


sys.exit(main())
