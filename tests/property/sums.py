"""What all lines of a patient give together, worked out a second time.

Everything comes from the tables and from the rows of `schedule --format csv`.
What flows is laid out second by second and looked at one second after the
other.  A volume that is printed to the microlitre is an interval, so what is
added up from volumes is one too: (lowest, highest).
"""

import itertools
import re
from fractions import Fraction

from values import amount, half_up, number_and_unit

UNKNOWN = None
IONS = ("sodium", "potassium", "chloride", "glucose")
# mmol/L of sodium, potassium and chloride, g/L of glucose, as the labels have them.
LABELS = {
    "nacl-0.9": (154, 0, 154, 0), "nacl-0.45": (77, 0, 77, 0), "glucose-5": (0, 0, 0, 50),
    "glucose-10": (0, 0, 0, 100), "hartmann": (131, 5, 111, 0), "ringer-lactate": (130, 4, 109, 0),
    "glucose-5-nacl-0.9": (154, 0, 154, 50), "glucose-5-nacl-0.45": (77, 0, 77, 50),
    "glucose-4-nacl-0.18": (30, 0, 30, 40), "lipid-20": (0, 0, 0, 0),
    "human-milk": (Fraction("5.9"), 12, Fraction("10.1"), 0),
}
ADDED = {"kcl": (0, 1, 1, 0), "nacl": (1, 0, 1, 0), "glucose": (0, 0, 0, 1)}


def contents(text, bag_ul, own):
    """nmol/L of the ions and ug/L of glucose in a bag, by name; UNKNOWN where nobody says."""
    text = " ".join(text.split())
    base, *additions = (text.split(" in ", 1)[1] if " in " in text else text).split(" + ")
    if base in own:
        units = {"sodium": "mmol", "potassium": "mmol", "chloride": "mmol", "glucose": "g"}
        label = [number_and_unit(own[base][ion])[0] if own[base].get(ion) else UNKNOWN
                 for ion in IONS]
        assert all(not own[base].get(i) or units[i] in own[base][i] for i in IONS)
    else:
        label = LABELS.get(base, (UNKNOWN,) * 4)
    found = dict(zip(IONS, label))
    for addition in additions:
        name, how_much = addition.split(" ", 1)
        per_litre = how_much.endswith("/L")
        number = number_and_unit(how_much[:-2] if per_litre else how_much)[0]
        if not per_litre:
            number = number * 10**6 / bag_ul
        for ion, brings in zip(IONS, ADDED[name]):
            if found[ion] is not UNKNOWN:
                found[ion] += number * brings
    return {ion: UNKNOWN if value is UNKNOWN else half_up(Fraction(value) * 10**6)
            for ion, value in found.items()}


class Flow:
    """A row of the schedule."""

    def __init__(self, row, order, instant, plan):
        self.order, self.start, self.end = order, instant(row["from"]), instant(row["to"])
        self.flush = row["part"] == "flush"
        self.rate = int(Fraction(row["rate_ml_per_h"]) * 1000)
        self.charted = row["basis"] == "charted"
        printed = int(Fraction(row["volume_ml"]) * 3600000)
        self.low, self.high = printed - 1800, printed + 1799
        if not self.charted:
            full = self.rate * (self.end - self.start)
            self.low, self.high = max(self.low, full - self.rate + 1), min(self.high, full)
        self.vein = order.patient.line_kind[row["line"]] != "enteral"
        self.kind = order.patient.line_kind[row["line"]]
        fluid = "nacl-0.9" if self.flush else order.fluid
        self.holds = contents(fluid, order.bag, plan.own_fluids)
        purpose = order.row.get("for") or (
            "maintenance" if order.runs == "primary" and order.category in ("fluid", "nutrition")
            else "treatment")
        self.maintenance = purpose == "maintenance" and not self.flush
        self.day = purpose not in ("replacement", "resuscitation")
        self.insulin = "insulin" in order.fluid and not self.flush
        if order.set_factor is None:
            self.step = order.step
        else:
            self.step = half_up(Fraction(60000) / order.set_factor)

    def given(self, start, end):
        """(lowest, highest) u in a span."""
        if start <= self.start and self.end <= end:
            return self.low, self.high
        begin, stop = max(start, self.start), min(end, self.end)
        if begin >= stop:
            return 0, 0
        assert not self.charted
        before = self.rate * (begin - self.start)
        if stop < self.end:
            return self.rate * (stop - begin), self.rate * (stop - begin)
        return self.low - before, self.high - before


def total(flows, start, end, counts, ion=None):
    """(lowest, highest) sum of u, or of u x what is in it; UNKNOWN contents count nothing."""
    low = high = 0
    for flow in flows:
        factor = 1 if ion is None else flow.holds[ion] or 0
        if factor and counts(flow):
            a, b = flow.given(start, end)
            low, high = low + a * factor, high + b * factor
    return low, high


def is_unknown(flows, start, end, counts, ion):
    return any(counts(f) and f.start < end and f.end > start and f.holds[ion] is UNKNOWN
               for f in flows)


def seconds(flows, start, end, value):
    """The sum of value(flow) in every second of a span."""
    changes = [0] * (end - start + 1)
    for flow in flows:
        begin, stop = max(start, flow.start), min(end, flow.end)
        if begin < stop:
            amount_of = value(flow)
            changes[begin - start] += amount_of
            changes[stop - start] -= amount_of
    return list(itertools.accumulate(changes))[:-1]


def runs(values, start):
    """(from, to, value) of the longest stretches of one value."""
    at = start
    for value, group in itertools.groupby(values):
        length = sum(1 for _ in group)
        yield at, at + length, value
        at += length


def by_vein(flow):
    return flow.vein


def rate_of(ion):
    return lambda flow: flow.rate * (flow.holds[ion] or 0) if flow.vein else 0


# ------------------------------------------------------------------- rules

BUILT_IN = {
    "potassium-rate-max": {"adult": "10 mmol/h", "child": "0.2 mmol/kg/h",
                           "infant": "0.2 mmol/kg/h", "neonate": "0.25 mmol/kg/h"},
    "gir-max": {"neonate": "13 mg/kg/min", "infant": "11 mg/kg/min", "child": "8 mg/kg/min"},
    "gir-min": {"neonate": "4 mg/kg/min"},
    "glucose-gap": {"neonate": "30 min", "": "60 min"},
    "above-maintenance": {"": "110 %"}, "below-maintenance": {"": "50 %"},
    "maintenance-cap": {"child": "2000 mL/day"},
    "maintenance": {"adult": "25 to 30 mL/kg/day"},
    "maintenance-electrolyte": {"adult": "1 mmol/kg/day"},
    "maintenance-electrolyte-far": {"adult": "100 %"},
}


def rule(plan, name, words):
    """The value that holds: a ward's row with most words, else the built-in one."""
    best = None
    for row in plan.rules:
        wanted = row["applies"].split()
        if row["rule"] == name and all(word in words for word in wanted):
            if best is None or len(wanted) > best[0]:
                best = (len(wanted), row["value"])
    if best is not None:
        return best[1]
    found = [(len(applies), value) for applies, value in BUILT_IN[name].items()
             if applies == "" or applies in words]
    return max(found)[1] if found else None


def hourly(value, kilograms):
    """nmol, ng or uL per hour of a written rate; the unit is told by the caller."""
    number, unit = number_and_unit(value)
    over, *rest = unit.split("/")
    seconds_of = {"min": 60, "h": 3600, "day": 86400}[rest[-1]]
    if over == "mL":
        number *= 1000
    elif over in ("mmol", "mEq"):
        number *= 10**6
    else:
        number *= amount("1 " + over)[1] * 1000        # mcg to ng
    if "kg" in rest:
        number *= kilograms
    return number * 3600 / seconds_of


def figure(value, like, kilograms):
    """An hourly figure in the unit of a written rate."""
    one = hourly(re.sub(r"^[\d.]+", "1", like), kilograms)
    return Fraction(value) / one


def need(kilograms):
    """Holliday and Segar 1957, uL a day."""
    bands = [min(kilograms, 10), min(max(kilograms - 10, 0), 10), max(kilograms - 20, 0)]
    return 1000 * (100 * bands[0] + 50 * bands[1] + 20 * bands[2])
