"""A second opinion on the findings about the chart: random patients, each with one infusion and a day's entries, and what is to be found
of them worked out here in plain fractions, minute by minute: second.py BINARY [--wards N] [--seed S].

Looked for: not-verified, late-entry, no-reading, behind, ahead, urine-low, urine-high, overload, weight-missing, weight-old, weight-changed,
weight-implausible, overdue (looks, dressings, sets) and site; patient, code, figure and limit must be the same, and nothing more.
"""
import argparse
import csv
import datetime as dt
import io
import os
import random
import subprocess
import sys
import tempfile
from decimal import Decimal
from fractions import Fraction as F

BEGINS = dt.datetime(2026, 11, 25, 7, 0)
CODES = {"not-verified", "late-entry", "no-reading", "behind", "ahead", "urine-low", "urine-high", "overload", "weight-missing", "weight-old",
         "weight-changed", "weight-implausible", "overdue", "site"}
# class: how its age is written, usual weight in kg, band, urine least and most, how often a locked line is looked at (min), weight's age matters
CLASSES = {"neonate": ("6 days", 3, (F("0.4"), F("6.5")), 1, 6, 360, True), "infant": ("8 months", 8, (F("1.5"), 16), F("0.5"), None, 360, True),
           "child": ("7 years", 22, (6, 150), F("0.5"), None, 360, True), "adult": ("50 years", 70, (25, 300), F("0.5"), None, 240, False)}


def clock(minute):
    return (BEGINS + dt.timedelta(minutes=minute)).strftime("%Y-%m-%d %H:%M")


def half_up(x, digits):
    """As people write it: no trailing zeros."""
    scaled = x * 10 ** digits
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    text = format((Decimal(whole) / 10 ** digits).normalize(), "f")
    return text


class Patient:
    def __init__(self, rnd, key, now):
        self.rnd, self.key, self.now, self.events = rnd, key, now, []
        self.kind = rnd.choice(list(CLASSES))
        usual = CLASSES[self.kind][1]
        self.weight = None if rnd.random() < 0.1 else F(rnd.choice([usual, usual, usual, usual * 5, F(usual, 9)])).limit_denominator(1000)
        if self.weight is not None:
            self.weight = F(round(self.weight * 1000), 1000)
        self.weighed = -rnd.choice([60, 600, 1400, 1440, 1441, 3000])
        self.forward = rnd.choice([0, 0, int(usual * 95), int(usual * 99), int(usual * 101)])
        self.rate = F(rnd.choice([usual, usual * 2, F(usual * 3, 2)]))
        self.start = rnd.choice([0, 15, 60, 125])
        self.dressed, self.changed = rnd.choice([100, 10079, 10080, 10081, 12000]), rnd.choice([100, 10079, 10080, 10081])
        self.counts = rnd.random() < 0.85

    def enter(self, minute, event, order="", line="", what="", value="", late=0):
        if minute <= self.now - late:
            self.events.append((minute, minute + late, event, order, line, what, value))

    def make(self):
        rnd, looks = self.rnd, [m for m in range(0, self.now + 1, 5) if self.rnd.random() < 0.04]
        self.verified = rnd.random() < 0.7
        if self.counts:
            self.enter(0, "checked" if not self.verified else "verified", *(("main", "") if self.verified else ("", "arm")), value="" if self.verified else "clean")
            self.enter(self.start, "started", "main")
        self.stops = []
        if rnd.random() < 0.5:
            a = self.start + rnd.randrange(20, 300, 5)
            b = a + rnd.choice([1, 10, 29, 30, 90])
            self.stops = [(a, b)]
            if self.counts:
                self.enter(a, "paused", "main")
                self.enter(b, "resumed", "main")
        self.read()
        for m in looks:
            self.enter(m, "checked", line="arm", value=rnd.choice(["clean", "clean", "clean", "red", "leaking"]), late=rnd.choice([0, 0, 0, 60, 61]))
        for m in range(0, self.now + 1, 60):
            if rnd.random() < 0.4 and m:
                amount = round(float(CLASSES[self.kind][1]) * rnd.choice([0.2, 0.6, 2, 6.5]), 1)
                self.enter(m, "output", what="urine", value="unmeasured" if rnd.random() < 0.1 else f"{amount} {rnd.choice(['mL', 'g'])}", late=rnd.choice([0, 0, 120]))
        if rnd.random() < 0.3 and self.weight is not None:
            self.enter(rnd.randrange(0, 600, 30), "weighed", value=f"{float(self.weight) * rnd.choice([1, 1.02, 1.0505, 1.051, 0.94]):.3f} kg")
        if rnd.random() < 0.2:
            self.enter(90, "intake", what="oral", value=rnd.choice(["30 mL", "unmeasured"]))
        self.events.sort(key=lambda e: e[0])

    def flows(self, minute):
        """In the minute that begins then."""
        return self.counts and minute >= self.start and not any(a <= minute < b for a, b in self.stops)

    def ran(self, a, b):
        return sum(self.flows(m) for m in range(a, b))

    def read(self):
        """Readings of what had gone in since the start; and what came of the last one."""
        self.given, self.read_at, self.last = F(0), self.start, None
        if not self.counts:
            return
        for m in sorted(self.rnd.sample(range(self.start + 30, self.start + 700, 10), 2)):
            if m > self.now or self.rnd.random() < 0.4:
                continue
            flowed = self.ran(self.read_at, m)
            expected = self.rate * flowed / 60
            said = F(round(float(expected) * self.rnd.choice([0.7, 0.88, 0.896, 0.9, 0.97, 1, 1.03, 1.11, 1.3]), 1)).limit_denominator(10)
            if expected == 0:
                continue
            self.given += said
            self.enter(m, "reading", "main", value=f"given {float(self.given):.1f} mL")
            self.last, self.read_at = (expected, said, F(flowed, 60)), m

    # ---- what is to be found ----

    def find(self):
        yield from self.weights()
        yield from self.chart()
        yield from self.balance()
        yield from self.line()

    def weights(self):
        _, _, (low, high), _, _, _, ages = CLASSES[self.kind]
        charted = [(m, F(v.split()[0])) for m, _, e, *_, v in self.events if e == "weighed"]
        if self.weight is None:
            if self.kind != "adult":
                yield "weight-missing", "", ""
            return
        if self.weight < low * F(99, 100) or self.weight > high * F(101, 100):
            yield "weight-implausible", f"{half_up(self.weight, 3)} kg", f"{half_up(F(low if self.weight < low else high), 3)} kg"
        age = self.now - max([self.weighed] + [m for m, _ in charted])
        if ages and age > 1440:
            yield "weight-old", f"{age} min", "1440 min"
        if charted:
            away = abs(charted[-1][1] - self.weight) / self.weight * 100
            if away > F(505, 100):
                yield "weight-changed", f"{half_up(away, 2)} %", "5 %"

    def chart(self):
        for m, entered, *_ in self.events:
            if entered - m > 60:
                yield "late-entry", f"{entered - m} min", "60 min"
        started = self.counts and self.start <= self.now
        if self.counts and not self.verified and self.events and any(e[3] for e in self.events):
            yield "not-verified", "", ""
        if started and self.flows(self.now) and self.now - self.read_at > 240:
            yield "no-reading", f"{self.now - self.read_at} min", "240 min"
        if started and self.last:
            expected, said, hours = self.last
            if abs(said - expected) > expected / 10 + max(F(1, 10) * hours, expected / 1000):
                yield "behind" if said < expected else "ahead", f"{half_up(abs(said - expected) / expected * 100, 2)} %", "10 %"

    def balance(self):
        least, most = CLASSES[self.kind][3:5]
        urine = [(m, v) for m, _, e, _, _, what, v in self.events if what == "urine"]
        measured = sum((F(v.split()[0]) for _, v in urine if v != "unmeasured"), F(0))
        unmeasured = any(v == "unmeasured" for _, v in urine)
        if urine and urine[-1][0] >= 60 and self.weight:
            rate = measured / self.weight / F(urine[-1][0], 60)
            if rate < least * F(99, 100) and not unmeasured:
                yield "urine-low", f"{half_up(rate, 3)} mL/kg/h", f"{half_up(F(least), 1)} mL/kg/h"
            if most and rate > most * F(101, 100):
                yield "urine-high", f"{half_up(rate, 3)} mL/kg/h", f"{most} mL/kg/h"
        oral = sum(F(30) for *_, what, v in self.events if what == "oral" and v != "unmeasured")
        given = self.given + self.rate * self.ran(self.read_at, self.now) / 60
        if self.weight:
            percent = (self.forward + oral + given - measured) / (self.weight * 1000) * 100
            if percent > F(101, 10):
                yield "overload", f"{half_up(percent, 2)} %", "10 %"

    def line(self):
        looks = [(m, v) for m, _, e, _, _, _, v in self.events if e == "checked"]
        if looks and looks[-1][1] != "clean":
            yield "site", "", ""
        for age in (self.dressed + self.now, self.changed + self.now):
            if age > 10080:
                yield "overdue", f"{age} min", "10080 min"
        if not any(e[3] for e in self.events) or self.now == 0:
            return
        seen = max([0] + [m for m, _ in looks])
        due = [(seen + CLASSES[self.kind][5], seen, CLASSES[self.kind][5])]
        first = next((m for m in range(seen, self.now) if self.flows(m)), None)
        if first is not None:
            due.append((first + 60, first, 60))
        if self.counts and self.start < self.now and seen < self.start + 20:
            due.append((self.start + 30, self.start, 30))
        at, since, every = min(due)
        if at < self.now:
            yield "overdue", f"{self.now - since} min", f"{every} min"


def write(folder, patients):
    def table(name, head, rows):
        with open(os.path.join(folder, name), "w", encoding="utf-8", newline="") as f:
            csv.writer(f, lineterminator="\n").writerows([head.split(","), *rows])

    table("ward.csv", "setting,value", [("ward", "Larkfield"), ("timezone", "America/Lima"), ("begins", clock(0))])
    table("patients.csv", "patient,age,weight,weighed,allergies,forward", [
        (p.key, CLASSES[p.kind][0], "" if p.weight is None else f"{half_up(p.weight, 3)} kg", clock(p.weighed), "none", f"{p.forward} mL") for p in patients])
    table("lines.csv", "patient,line,kind,placed,dressing,dressed,set_changed", [
        (p.key, "arm", "peripheral", clock(-12000), "transparent", clock(-p.dressed), clock(-p.changed)) for p in patients])
    table("orders.csv", "patient,order,fluid,line,rate,bag,start", [
        (p.key, "main", "nacl-0.9", "arm", f"{half_up(p.rate, 1)} mL/h", "10 L", clock(p.start)) for p in patients])
    table("chart.csv", "entry,patient,time,entered,event,order,line,what,value", [
        (f"{p.key}-{i}", p.key, clock(m), clock(entered), event, order, line, what, value)
        for p in patients for i, (m, entered, event, order, line, what, value) in enumerate(p.events)])


def ward(binary, seed):
    """How many findings were as expected, and what was not."""
    rnd = random.Random(seed)
    now = rnd.randrange(0, 1430, 1)
    patients = [Patient(rnd, f"p{i}", now) for i in range(25)]
    for p in patients:
        p.make()
    with tempfile.TemporaryDirectory() as folder:
        write(folder, patients)
        done = subprocess.run([binary, "check", folder, "--at", clock(now), "--format", "csv"], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        return 0, [f"seed {seed}: exit {done.returncode}: {done.stderr[:300]}"]
    said = sorted((r["patient"], r["finding"], r["figure"], r["limit"]) for r in csv.DictReader(io.StringIO(done.stdout)) if r["finding"] in CODES)
    expected = sorted((p.key, *f) for p in patients for f in p.find())
    wrong = [f"seed {seed}, {clock(now)}: said, not expected: {x}" for x in said if said.count(x) > expected.count(x)]
    wrong += [f"seed {seed}, {clock(now)}: expected, not said: {x}" for x in expected if expected.count(x) > said.count(x)]
    return len(expected), wrong


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--wards", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    passed, wrong = 0, []
    for seed in range(wanted.seed, wanted.seed + wanted.wards):
        found, differ = ward(os.path.abspath(wanted.binary), seed)
        passed += found
        wrong += differ
    print(*wrong[:40], f"{passed - sum('expected, not' in w for w in wrong)} passed, {len(wrong)} failed", sep="\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
