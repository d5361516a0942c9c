"""A second opinion on a plan.

Reads a plan folder and works out, by walking through the window second by
second with whole numbers, the rows of

    daydrip schedule DIR --format csv
    daydrip totals DIR --by hour|shift|day --format csv

Here is what is still to come.  What was charted, and the rest of the window
after it, is in history.py; it is asked where a moment is given.

Volumes are counted in u, 1/3600 microlitre, so that a rate in microlitres per
hour gives that many u in a second.

Seconds in which the same things flow in the same way are taken together;
with `every_second=True` they are not, and selfcheck.py shows that this
changes nothing.
"""

import csv
import datetime
import os
import re
import sys
from bisect import bisect_right, insort
from collections import defaultdict
from fractions import Fraction
from typing import NamedTuple

from placing import Dose, inside, place, union
from values import (VOLUME, Zone, age_in_days, amount, half_up, number_and_unit, plain,
                    read_clock, span, strength, volume, volume_rate, weight)

# How long a bag may hang, by fluid and by category (built in).
HANG_TIME_FLUID = {"lipid-20": 12 * 3600, "human-milk": 4 * 3600}
HANG_TIME_CATEGORY = {"blood": 4 * 3600, "nutrition": 24 * 3600, "fluid": 24 * 3600,
                      "drug": 24 * 3600}
NUTRITION = {"lipid-20", "amino-acids", "parenteral-nutrition"}
BLOOD = {"red-cells", "platelets", "plasma"}
FEED = {"human-milk", "enteral-feed", "oral-rehydration-solution"}
# The fluids of the catalogue that the plans here use; other names are drugs.
FLUID = {"nacl-0.9", "nacl-0.45", "glucose-5", "glucose-10", "glucose-5-nacl-0.9",
         "glucose-5-nacl-0.45", "glucose-5-nacl-0.45-us", "glucose-4-nacl-0.18", "hartmann",
         "ringer-lactate"}
CATEGORIES = ["fluid", "drug", "blood", "nutrition", "flush", "feed", "oral", "other"]
OUTPUTS = ["urine", "stool", "vomit", "gastric", "drain", "blood", "other"]


class Unclear(Exception):
    """The plan holds a case that the design does not settle."""


# ------------------------------------------------------------------ reading

def read_table(folder, name):
    path = os.path.join(folder, name)
    if not os.path.exists(path):
        return []
    with open(path, encoding="utf-8-sig", newline="") as file:
        text = file.read()
    header = text.split("\n", 1)[0]
    separator = next((s for s in ("\t", ";") if s in header), ",")
    rows = []
    for cells in csv.reader(text.splitlines(), delimiter=separator):
        rows.append([cell.strip(" \t") for cell in cells])
    rows = [row for row in rows if any(row)]
    names = [cell.lower() for cell in rows[0]]
    table = []
    for row in rows[1:]:
        table.append(defaultdict(str, zip(names, row)))
    return table


class Plan:
    def __init__(self, folder):
        settings = {row["setting"]: row["value"] for row in read_table(folder, "ward.csv")}
        self.zone = Zone(settings["timezone"])
        self.begins = self.zone.date_time(settings["begins"])
        if settings.get("hours"):
            self.end = self.begins + 3600 * int(settings["hours"])
        else:
            self.end = self.day_after(self.begins, 1)
        shifts = settings.get("shifts") or "day 07:00; night 19:00"
        self.shift_clocks = [read_clock(part.split()[-1]) for part in shifts.split(";")]
        self.rules = read_table(folder, "rules.csv")
        self.own_fluids = {row["fluid"]: row for row in read_table(folder, "fluids.csv")}
        lines, orders = read_table(folder, "lines.csv"), read_table(folder, "orders.csv")
        pauses = read_table(folder, "pauses.csv")
        self.patients = []
        for row in read_table(folder, "patients.csv"):
            mine = [[r for r in table if r["patient"] == row["patient"]]
                    for table in (lines, orders, pauses)]
            self.patients.append(Patient(self, row, *mine))

    def day_after(self, t, days):
        """The local clock of t, so many dates later."""
        local = self.zone.local(t)
        return self.zone.instant(local.date() + datetime.timedelta(days=days),
                                 (local.hour, local.minute, local.second))

    def rule(self, name, words):
        """The ward's row for a rule that has the most words, all among `words`."""
        best = None
        for row in self.rules:
            applies = set(row["applies"].split())
            if row["rule"] == name and applies <= words:
                if best is None or len(applies) > len(best["applies"].split()):
                    best = row
        return best["value"] if best else None


class Patient:
    def __init__(self, plan, row, lines, orders, pauses):
        self.plan = plan
        self.key = row["patient"]
        self.weight = weight(row["weight"]) if row["weight"] else None
        self.age = age_in_days(row["age"]) if row["age"] else None
        self.line_row = {line["line"]: i for i, line in enumerate(lines)}
        self.line_kind = {line["line"]: line["kind"] for line in lines}
        self.allowance = self.daily(row["allowance"])
        self.orders = [Order(self, i, order) for i, order in enumerate(orders)]
        self.by_key = {order.key: order for order in self.orders}
        self.pauses = {}
        for line in self.line_row:
            spans = []
            for pause in pauses:
                if pause["line"] in ("", line):
                    begin = plan.zone.first_from(pause["from"], plan.begins)
                    spans.append((begin, plan.zone.first_after(pause["to"], begin)))
            self.pauses[line] = union(spans)

    def group(self):
        """Age class."""
        if self.age is None:
            return None
        if self.age < 28:
            return "neonate"
        if self.age < Fraction(1461, 4):
            return "infant"
        return "child" if self.age < 16 * Fraction(1461, 4) else "adult"

    def maintenance(self):
        """Microlitres a day by weight (Holliday and Segar)."""
        assert self.group() in ("infant", "child")
        kg = self.weight
        return 1000 * (100 * min(kg, 10) + 50 * min(max(kg - 10, 0), 10)
                       + 20 * max(kg - 20, 0))

    def daily(self, text):
        """Microlitres a day of an allowance."""
        if not text:
            return None
        share = percent_of_maintenance(text)
        if share is not None:
            return share * self.maintenance()
        return volume_rate(text, self.weight) * 24


def percent_of_maintenance(text):
    match = re.fullmatch(r"\s*([\d.]+)\s*%\s*maintenance\s*", text)
    return Fraction(match.group(1)) / 100 if match else None


# ------------------------------------------------------------------- orders

class Order:
    """One row of orders.csv, worked out as far as it does not depend on others."""

    def __init__(self, patient, row_number, row):
        self.patient, self.row_number, self.row = patient, row_number, row
        self.key, self.line = row["order"], row["line"]
        self.fluid = " ".join(row["fluid"].split())
        base, _, carrier = self.fluid.partition(" in ")
        self.base = base.split(" + ")[0].strip()
        plan, kind = patient.plan, patient.line_kind[self.line]
        self.category = row["category"] or self.default_category(carrier, kind)
        self.runs = row["runs"] or ("concurrent" if self.category == "feed" else "primary")
        self.words = {patient.group(), kind, self.category}
        if not carrier:
            self.words.add(self.base)
        self.hang_time = self.find_hang_time(carrier)

        self.set_factor = None              # drops per mL; None on a pump
        if row["set"] not in ("", "pump", "syringe"):
            self.set_factor = Fraction(re.match(r"[\d.]+", row["set"]).group())
        step = plan.rule("pump-step", self.words)
        self.step = half_up(volume_rate(step)) if step else 100

        self.repeated = bool(row["every"] or row["times"])
        self.after = None
        if row["start"].startswith("after "):
            key, _, offset = row["start"][6:].partition("+")
            self.after = (key.strip(), span(offset) if offset else 0)
        self.due = None                     # known now unless it is `after`
        if self.after is None:
            self.due = (plan.zone.first_from(row["start"], plan.begins)
                        if row["start"] else plan.begins)
        self.hung = None
        if row["hung"]:
            self.hung = plan.zone.last_until(row["hung"], self.due)
        self.replaces = row["replaces"] or None
        self.find_amounts()
        self.flush = half_up(volume(row["flush"])) if row["flush"] else 0

    def default_category(self, carrier, kind):
        own = self.patient.plan.own_fluids.get(self.base)
        if kind == "enteral":
            return "feed"
        if carrier:
            return "drug"
        if own is not None:
            return own["category"] or "fluid"
        for names, category in ((NUTRITION, "nutrition"), (BLOOD, "blood"), (FEED, "feed"),
                                (FLUID, "fluid")):
            if self.base in names:
                return category
        return "drug"

    def find_hang_time(self, carrier):
        """The ward's rule, then the fluid's own column, then what is built in."""
        value = self.patient.plan.rule("hang-time", self.words)
        own = self.patient.plan.own_fluids.get(self.base)
        if value is None and own is not None and own["hang_time"]:
            value = own["hang_time"]
        if value is not None:
            return span(value)
        if not carrier and self.base in HANG_TIME_FLUID:
            return HANG_TIME_FLUID[self.base]
        return HANG_TIME_CATEGORY.get(self.category)

    def stop_after(self, due):
        """The second of `stop`, or None."""
        if not self.row["stop"]:
            return None
        return self.patient.plan.zone.first_after(self.row["stop"], due)

    # Rates and volumes

    def find_amounts(self):
        row, kg = self.row, self.patient.weight
        exact_volume = volume(row["volume"], kg) if row["volume"] else None
        bag = half_up(volume(row["bag"], kg)) if row["bag"] else None
        over = span(row["over"]) if row["over"] else None
        self.remainder = row["rate"] == "remainder"
        self.steps = []                     # (settable rate, seconds or None)
        if self.remainder:
            self.steps = [(0, None)]
        elif ";" in row["rate"] or " for " in row["rate"]:
            for part in row["rate"].split(";"):
                rate, _, seconds = part.partition(" for ")
                exact = self.exact_rate(rate.strip(), bag, exact_volume)
                self.steps.append((self.settable(exact), span(seconds) if seconds else None))
        else:
            if row["rate"]:
                exact = self.exact_rate(row["rate"], bag, exact_volume)
                if exact_volume is None and over is not None:
                    exact_volume = exact * over / 3600
            else:
                exact = exact_volume * 3600 / over
            self.steps = [(self.settable(exact), None)]

        self.volume = half_up(exact_volume) if exact_volume is not None else None
        self.bag = bag if bag is not None else self.volume
        self.hanging = half_up(volume(row["hanging"])) if row["hanging"] else None
        self.prime = half_up(volume(row["prime"])) if row["prime"] else 0
        given = half_up(volume(row["given"])) if row["given"] else 0
        self.to_give = None                 # microlitres, None: no end of its own
        if self.volume is not None:
            bags = -(-self.volume // self.bag)
            self.to_give = min(self.volume, bags * self.bag - self.prime) - given
            assert self.to_give > 0

    def exact_rate(self, text, bag, exact_volume):
        """Microlitres per hour as ordered."""
        kg = self.patient.weight
        share = percent_of_maintenance(text)
        if share is not None:
            return share * self.patient.maintenance() / 24
        drops = re.fullmatch(r"([\d.]+)\s*(?:gtt|drops)/min", text)
        if drops:
            return Fraction(drops.group(1)) * 60 / self.set_factor * 1000
        number, _, per = text.partition("/")
        if number_and_unit(number)[1].lower() in VOLUME:
            return volume_rate(text, kg)
        # A dose rate: divide by the strength.
        family, wanted = amount(number)
        units = per.split("/")
        if units[0] == "kg":
            wanted *= kg
        wanted = wanted * 3600 / {"min": 60, "h": 3600, "day": 86400}[units[-1]]
        if self.row["strength"]:
            of, per_microlitre = strength(self.row["strength"])
        else:
            match = re.match(r".*?(\d[\d.]* ?[A-Za-z]+) in ", self.fluid)
            of, total = amount(match.group(1))
            per_microlitre = total / (bag if bag is not None else half_up(exact_volume))
        assert of == family
        return wanted / per_microlitre

    def drops_to_rate(self, drops):
        return half_up(Fraction(drops) * 60 * 1000 / self.set_factor)

    def settable(self, exact):
        """What the pump or the drip chamber can be set to, microlitres per hour."""
        if self.set_factor is None:
            return max(1, half_up(exact / self.step)) * self.step
        return self.drops_to_rate(max(1, half_up(exact * self.set_factor / 60000)))

    def settable_floor(self, exact):
        """The same rounded down, 0 if that is less than one step."""
        if self.set_factor is None:
            return max(0, exact // self.step) * self.step
        return self.drops_to_rate(max(0, exact * self.set_factor / 60000 // 1))

    # Occurrences of a repeated order

    def occurrences(self):
        """All due times that `doses` allows; without it, those up to the
        window's end.  Those before `begins` are among them."""
        plan, row = self.patient.plan, self.row
        most = int(row["doses"]) if row["doses"] else None
        if row["every"]:
            every, count = span(row["every"]), most
            if most is None:
                count = max(0, -(-(plan.end - self.due) // every))
            return [self.due + i * every for i in range(count)]
        clocks = [read_clock(word) for word in row["times"].split()]
        first = plan.zone.local(self.due).date() - datetime.timedelta(days=1)
        days = most if most is not None else (plan.zone.local(plan.end).date() - first).days
        times = []
        for day in range(days + 3):
            date = first + datetime.timedelta(days=day)
            times += [plan.zone.instant(date, clock) for clock in clocks]
        times = sorted(t for t in times if t >= self.due)
        return times[:most] if most is not None else [t for t in times if t < plan.end]

    def interval(self):
        if self.row["every"]:
            return span(self.row["every"])
        clocks = sorted(h * 3600 + m * 60 + s for h, m, s in
                        (read_clock(word) for word in self.row["times"].split()))
        around = clocks[1:] + [clocks[0] + 86400]
        return min(b - a for a, b in zip(clocks, around))

    def window(self):
        if self.row["window"]:
            return span(self.row["window"])
        ward = self.patient.plan.rule("dose-window", self.words)
        if ward is not None:
            return span(ward)
        if not self.repeated:
            return 1800
        interval = self.interval()
        if interval < 4 * 3600:
            if interval % 4:
                raise Unclear("a quarter of the interval is not whole seconds")
            return min(1800, interval // 4)
        return 3600 if interval < 24 * 3600 else 7200


# ---------------------------------------------------------------------- runs

class Row(NamedTuple):
    """One stretch of one order, due, part, bag and rate."""
    start: int
    end: int
    order: Order
    due: object
    part: str
    bag: object
    rate: int
    u: int
    line: str
    basis: str = "planned"


class Run:
    """One run: an order that is not repeated, or one occurrence of one that is."""

    def __init__(self, order, due, number=None):
        self.order, self.due, self.number = order, due, number
        self.line, self.steps = order.line, order.steps
        self.charted = False            # begun as charted
        self.paused = False             # as charted
        self.ended_by_entry = False     # stopped, or another was charted in its place
        self.handed_over = None         # u and since when, of a bag to begin with
        self.placed = self.must_end = None
        self.begun = self.ended = None
        self.left = None if order.to_give is None else 3600 * order.to_give
        self.flush_left = 3600 * order.flush
        self.bag_left = 0               # nothing hangs
        self.bag_number = 0
        self.bag_up = None
        self.flowed = 0                 # seconds in which the bag flowed
        self.rate_now = None
        self.stop = None
        self.rows = []

    def take_bag(self, u, up):
        """A bag that hangs already becomes bag 1."""
        self.bag_left, self.bag_number, self.bag_up = u, 1, up

    def bag_limit(self):
        """The second in which the bag that is up has hung long enough."""
        if self.bag_left == 0 or self.order.hang_time is None:
            return None
        return self.bag_up + self.order.hang_time

    def flushing(self):
        return self.left == 0

    def finished(self):
        return self.left == 0 and self.flush_left == 0

    def make_ready(self, t):
        """About to flow in second t: hang a bag if need be; set the rate.

        Returns what can still flow (u) and for how many seconds, at the most,
        nothing but emptying changes."""
        if self.flushing():
            return self.flush_left, None
        limit = self.bag_limit()
        if limit is not None and t >= limit:
            if self.number is not None or self.order.runs == "piggyback":
                raise Unclear("the bag of a dose hangs longer than allowed")
            self.bag_left = 0           # discarded
        if self.bag_left == 0:
            bag = self.order.bag - (self.order.prime if self.bag_number == 0 else 0)
            self.bag_left, self.bag_up = 3600 * bag, t
            self.bag_number += 1
            limit = self.bag_limit()
        seconds = None if limit is None else limit - t
        before = 0
        for rate, length in self.steps:
            if length is None or self.flowed < before + length:
                self.rate_now = rate
                if length is not None:
                    rest = before + length - self.flowed
                    seconds = rest if seconds is None else min(seconds, rest)
                break
            before += length
        room = self.bag_left if self.left is None else min(self.bag_left, self.left)
        return room, seconds

    def flow(self, t, seconds, room):
        """Flows for some seconds from t; returns u per second."""
        u = seconds * self.rate_now
        if u > room:
            assert seconds == 1
            u = room
        if self.flushing():
            part, bag = "flush", None
            self.flush_left -= u
        else:
            part = "bag"
            bag = self.number if self.number is not None else self.bag_number
            self.flowed += seconds
            self.bag_left -= u
            if self.left is not None:
                self.left -= u
        if u:
            last = self.rows[-1] if self.rows else None
            if (last and last.end == t
                    and (last.part, last.bag, last.rate) == (part, bag, self.rate_now)):
                self.rows[-1] = last._replace(end=t + seconds, u=last.u + u)
            else:
                due = self.due if self.order.repeated else None
                self.rows.append(Row(t, t + seconds, self.order, due, part, bag,
                                     self.rate_now, u, self.line))
        return u // seconds


def whole_seconds(room, rate):
    """Seconds for which the full rate can flow, at least the one that cannot."""
    return None if rate == 0 else max(1, room // rate)


def dose_length(order):
    """Seconds that a dose takes, bag and flush, without a break."""
    run, t = Run(order, 0, 1 if order.repeated else None), 0
    while not run.finished():
        room, seconds = run.make_ready(t)
        full = whole_seconds(room, run.rate_now)
        seconds = full if seconds is None else min(full, seconds)
        run.flow(t, seconds, room)
        t += seconds
    return t


# ------------------------------------------------------------ the simulation

class Simulation:
    """One patient, from `begins` (or a later second) to the window's end."""

    def __init__(self, patient, remainder_rate, every_second=False):
        self.patient, self.plan = patient, patient.plan
        self.begins, self.end = self.plan.begins, self.plan.end
        self.first_second = self.begins
        self.every_second = every_second
        self.rows = []
        self.pieces = []                # (start, seconds, u per second, category)
        self.charted = []               # what flowed as charted, and
        self.noted = []                 # what was written down: see history.py
        self.moments = []               # instants at which something may change

        self.single, self.concurrent_doses, self.piggybacks = [], [], []
        self.last_run = {}              # order -> the run that an `after` waits for
        for order in patient.orders:
            if order.remainder:
                order.steps = [(remainder_rate, None)]
            if order.repeated:
                self.make_occurrences(order)
            elif order.runs == "piggyback":
                stop = order.stop_after(order.due)
                if self.begins <= order.due < self.end and (stop is None or order.due < stop):
                    run = Run(order, order.due)
                    self.piggybacks.append(run)
                    self.last_run[order] = run
            else:
                run = Run(order, order.due)
                self.single.append(run)
                self.last_run[order] = run
                if order.due is not None:
                    self.set_due(run, order.due)
        self.by_order = {run.order: run for run in self.single}
        self.dropped = set()
        self.replaced = set()           # replacing orders that have been dealt with
        self.place_piggybacks()

        for run in self.piggybacks + self.concurrent_doses:
            insort(self.moments, run.due)
        for line_pauses in patient.pauses.values():
            for begin, end in line_pauses:
                insort(self.moments, begin)
                insort(self.moments, end)
        self.active = []
        self.waiting_doses = list(self.concurrent_doses)

    # Before the first second

    def make_occurrences(self, order):
        stop = order.stop_after(order.due)
        for other in self.patient.orders:
            if other.replaces == order.key:
                if not other.repeated:
                    raise Unclear("a repeated order replaced by one that is not")
                stop = other.due if stop is None else min(stop, other.due)
        times = [t for t in order.occurrences() if stop is None or t < stop]
        runs = []
        for due in times:
            if self.begins <= due < self.end:
                runs.append(Run(order, due, len(runs) + 1))
        if order.runs == "piggyback":
            self.piggybacks += runs
        else:
            self.concurrent_doses += runs
        # An `after` waits for the last of all, which may lie outside the window.
        if runs and order.row["doses"] and runs[-1].due == times[-1]:
            self.last_run[order] = runs[-1]

    def place_piggybacks(self):
        """Piggybacks depend on nothing but each other and the pauses."""
        for line, pauses in self.patient.pauses.items():
            runs = [run for run in self.piggybacks if run.order.line == line]
            runs.sort(key=lambda run: (run.due, run.order.row_number, run.number or 0))
            doses = [Dose(run.order.row_number, run.due, run.order.window(),
                          dose_length(run.order)) for run in runs]
            for run, dose, start in zip(runs, doses, place(doses, pauses, self.begins)):
                run.placed = start
                run.must_end = start + dose.length
                insort(self.moments, start)

    def set_due(self, run, due):
        run.due = due
        run.stop = run.order.stop_after(due)
        insort(self.moments, due)
        if run.stop is not None:
            insort(self.moments, run.stop)

    # What begins and ends in a second

    def begin(self, run, t):
        run.begun = t
        if run.order.hanging is not None:
            hung = run.order.hung if run.order.hung is not None else run.due
            run.take_bag(3600 * run.order.hanging, hung)
        if run.handed_over:
            run.take_bag(*run.handed_over)
        self.active.append(run)

    def finish(self, run, t):
        run.ended = t
        self.active.remove(run)
        self.rows += run.rows

    def is_single(self, run):
        return not run.order.repeated and run.order.runs != "piggyback"

    def ends(self, t):
        for run in list(self.active):
            limit = run.bag_limit()
            if (run.finished()
                    or (self.is_single(run) and run.stop is not None and run.stop <= t)
                    or (run.order.category == "blood" and limit is not None and limit <= t)):
                if run.order.category == "blood" and limit is not None and limit <= t:
                    if not self.is_single(run):
                        raise Unclear("blood given as a dose hangs longer than allowed")
                if run.order.runs == "piggyback":
                    assert run.charted or t == run.must_end
                self.finish(run, t)

    def after_orders(self):
        """Orders whose predecessor has ended become due."""
        for run in self.single:
            if run.due is None:
                key, offset = run.order.after
                ended = self.end_of(self.patient.by_key[key])
                if ended is not None:
                    self.set_due(run, ended + offset)

    def end_of(self, order):
        """The second in which its last run ended, if it has."""
        last = self.last_run.get(order)
        return None if last is None else last.ended

    def waits(self, run, t):
        return (run.due is not None and run.due <= t and run.begun is None
                and run not in self.dropped)

    def primaries_on(self):
        """The lines that a primary has."""
        return {run.line for run in self.active
                if self.is_single(run) and run.order.runs == "primary"}

    def is_out(self, line):
        """Only the chart takes a line out."""
        return False

    def replacements(self, t):
        """A replacing order takes over in the second in which it is due: its
        bag, if that may be, and its place, wherever that was moved to.  It has
        no place any more where an entry ended it, or on a line that is out."""
        for run in self.single:
            if not run.order.replaces or run in self.replaced or not self.waits(run, t):
                continue
            self.replaced.add(run)
            if run.stop is not None and run.stop <= t:
                raise Unclear("a replacing order that stops as it starts")
            old = self.by_order[self.patient.by_key[run.order.replaces]]
            if old.begun is None:
                self.dropped.add(old)
                return True
            if not old.ended_by_entry and not self.is_out(old.line):
                run.line = old.line
            if old.ended is None:
                self.finish(old, t)
                if old.order.fluid == run.order.fluid and old.bag_left:
                    run.handed_over = (old.bag_left, old.bag_up)
                if run.order.runs != "primary" or run.line not in self.primaries_on():
                    self.begin(run, t)
            return True
        return False

    def starts(self, t):
        started = False
        for run in self.single:
            if self.waits(run, t) and run.stop is not None and run.stop <= t:
                self.dropped.add(run)       # it waited until it was over
        taken = self.primaries_on()
        for run in sorted((r for r in self.single if self.waits(r, t)),
                          key=lambda r: (r.due, r.order.row_number)):
            if run.order.runs == "primary":
                if run.line in taken:
                    continue
                taken.add(run.line)
            self.begin(run, t)
            started = True
        for run in self.piggybacks:
            if run.begun is None and run.placed == t:
                self.begin(run, t)
        # A repeated concurrent waits for the occurrence before it.
        still = []
        for run in self.waiting_doses:
            if run.due <= t and not any(r.order is run.order for r in self.active):
                self.begin(run, t)
                started = True
            else:
                still.append(run)
        self.waiting_doses = still
        return started

    def settle(self, t):
        """All that ends or begins in second t, until nothing more does."""
        while True:
            self.ends(t)
            self.after_orders()
            if self.replacements(t):
                continue
            if not self.starts(t):
                break

    # The walk

    def run(self):
        t = self.first_second
        while t < self.end:
            self.settle(t)
            dosing = {run.line for run in self.active if run.order.runs == "piggyback"}
            flowing, seconds = [], self.next_moment(t) - t
            for run in self.active:
                if self.held(run, t):
                    assert run.order.runs != "piggyback" or run.charted
                    continue
                if run.order.runs == "primary" and run.line in dosing:
                    continue
                room, same_for = run.make_ready(t)
                flowing.append((run, room))
                for limit in (same_for, whole_seconds(room, run.rate_now)):
                    if limit is not None:
                        seconds = min(seconds, limit)
            for run in self.active:
                limit = run.bag_limit()
                if run.order.category == "blood" and limit is not None:
                    seconds = min(seconds, limit - t)
            if self.every_second:
                seconds = 1
            for run, room in flowing:
                part_of = "flush" if run.flushing() else run.order.category
                each = run.flow(t, seconds, room)
                if each:
                    self.pieces.append((t, seconds, each, part_of))
            t += seconds
        for run in list(self.active):
            # A run that ends with the window has ended; nothing follows it.
            self.finish(run, self.end)
        self.sort_rows()
        return self

    def sort_rows(self):
        self.rows.sort(key=lambda row: (row.start, self.patient.line_row[row.line],
                                        row.order.row_number, row.due or 0,
                                        row.part != "bag", row.bag or 0))

    def held(self, run, t):
        """Whether nothing flows on the run's line."""
        return inside(self.patient.pauses[run.line], t)

    def next_moment(self, t):
        """The next second in which a pause, start or stop is known to fall."""
        i = bisect_right(self.moments, t)
        return min(self.end, self.moments[i]) if i < len(self.moments) else self.end


def simulate(patient, every_second=False):
    """The patient's timeline, the order with rate `remainder` worked out."""
    remainders = [order for order in patient.orders if order.remainder]
    first = Simulation(patient, 0, every_second).run()
    if not remainders:
        return first
    # Its place is settled first, with nothing flowing from it.
    plan, order = patient.plan, remainders[0]
    for other in patient.orders:
        if other.replaces == order.key and other.fluid == order.fluid:
            raise Unclear("a bag passes on from the order with rate remainder")
    seconds = first.by_order[order].flowed
    others = sum(count * each for _, count, each, _ in first.pieces)
    allowed = patient.allowance * (plan.end - plan.begins) / 86400 * 3600
    rate = 0
    if seconds:
        rate = order.settable_floor((allowed - others) / seconds)
    return Simulation(patient, int(rate), every_second).run()


# ------------------------------------------------------------------- outputs

def thousandths(u):
    """Microlitres, the nearest, halves upwards."""
    return (u + 1800) // 3600


def quoted(cell):
    if cell[:1] in ("=", "+", "-", "@", "\t"):
        cell = "'" + cell
    if any(c in cell for c in '",\r\n'):
        cell = '"' + cell.replace('"', '""') + '"'
    return cell


def csv_text(rows):
    return "".join(",".join(quoted(str(cell)) for cell in row) + "\n" for row in rows)


SCHEDULE = ("patient,line,order,due,part,bag,from,to,rate_ml_per_h,volume_ml,basis"
            .split(","))
TOTALS = "patient,from,to,direction,category,volume_ml,basis,unknown".split(",")


def schedule_rows(plan, timelines):
    written = plan.zone.written
    for patient, timeline in timelines:
        for row in timeline.rows:
            yield (patient.key, row.line, row.order.key,
                   "" if row.due is None else written(row.due), row.part,
                   "" if row.bag is None else row.bag, written(row.start),
                   written(row.end), plain(row.rate), plain(thousandths(row.u)),
                   row.basis)


def periods(plan, by):
    """Bounds of the periods that tile the window."""
    bounds = [plan.begins]
    while bounds[-1] < plan.end:
        t = bounds[-1]
        if by == "hour":
            # The next whole minute whose local clock shows a whole hour.
            t = t // 60 * 60 + 60
            while plan.zone.local(t).minute or plan.zone.local(t).second:
                t += 60
        elif by == "shift":
            today = plan.zone.local(t).date()
            clocks = [plan.zone.instant(today + datetime.timedelta(days=d), clock)
                      for d in (-1, 0, 1, 2) for clock in plan.shift_clocks]
            t = min(clock for clock in clocks if clock > t)
        else:
            t = plan.day_after(plan.begins, len(bounds))
        bounds.append(min(t, plan.end))
    return bounds


def totals_rows(plan, timelines, by):
    bounds = periods(plan, by)
    for patient, timeline in timelines:
        sums, unknown = defaultdict(int), defaultdict(int)
        for start, seconds, each, category in timeline.pieces:
            i, end = bisect_right(bounds, start) - 1, start + seconds
            while start < end:
                upto = min(end, bounds[i + 1])
                sums[i, "in", category, "planned"] += (upto - start) * each
                start, i = upto, i + 1
        for piece in timeline.charted:      # only what flowed in the window
            start = max(piece.start, plan.begins)
            i = bisect_right(bounds, start) - 1
            while start < piece.end:
                upto = min(piece.end, bounds[i + 1])
                sums[i, "in", piece.category, "charted"] += piece.between(start, upto)
                start, i = upto, i + 1
        for t, direction, category, u, unmeasured in timeline.noted:
            if plan.begins <= t < plan.end:
                key = (bisect_right(bounds, t) - 1, direction, category, "charted")
                sums[key] += u
                unknown[key] += unmeasured
        for i in range(len(bounds) - 1):
            for direction, categories in (("in", CATEGORIES), ("out", OUTPUTS)):
                for category in categories:
                    for basis in ("charted", "planned"):
                        key = (i, direction, category, basis)
                        if sums[key] > 0 or unknown[key]:
                            yield (patient.key, plan.zone.written(bounds[i]),
                                   plan.zone.written(bounds[i + 1]), direction, category,
                                   plain(thousandths(sums[key])), basis, unknown[key])


def outputs(folder, every_second=False, now=None, known=None):
    """The four tables, as text, by name."""
    plan = Plan(folder)
    if now is None:
        timelines = [(patient, simulate(patient, every_second)) for patient in plan.patients]
    else:
        import history
        timelines = history.timelines(folder, plan, now, known, every_second)
    tables = {"schedule": csv_text([SCHEDULE, *schedule_rows(plan, timelines)])}
    for by in ("hour", "shift", "day"):
        tables[by] = csv_text([TOTALS, *totals_rows(plan, timelines, by)])
    return tables


def main():
    if len(sys.argv) not in (3, 4):
        sys.exit("usage: oracle.py DIR schedule|hour|shift|day [NOW]")
    folder, name, now = sys.argv[1], sys.argv[2], None
    if len(sys.argv) == 4:
        now = Plan(folder).zone.date_time(sys.argv[3])
    sys.stdout.write(outputs(folder, now=now)[name])


if __name__ == "__main__":
    main()
