"""Holds sums over all lines, and the findings about them, against a second opinion.

    python3 tests/property/run_sums.py BINARY [--plans N] [--seed S] [--jobs N]

For every seed from S on a random plan is given stronger fluids, insulin, other
purposes and rules of the ward.  From its tables and the rows of its schedule,
laid out second by second (sums.py), are worked out

  * the rows of `maintenance --format csv`: volumes, totals per kg, the highest
    potassium and glucose, the longest stretch without glucose;
  * of `check --format csv` the findings potassium-rate, glucose-rate,
    glucose-gap, insulin-alone, above- and below-maintenance, maintenance-cap,
    above-allowance, adult-day and adult-electrolyte: whether they are there,
    from when to when, the figure and the limit.

A day that goes on over the plan's end is taken from the schedule of the same
plan with more hours.  Every third seed has a chart: of these the rows and what
is found about single seconds are compared.
"""

import argparse
import multiprocessing
import os
import random
import re
import sys
import tempfile
from collections import Counter
from fractions import Fraction

import generate
import oracle
import sums
from run import Failed, instant, rows, run
from values import half_up, number_and_unit

FLUIDS = ["glucose-10 + kcl 40 mmol/L", "nacl-0.9 + kcl 40 mmol/L", "glucose-5-nacl-0.9 + kcl 60 mmol/L",
          "hartmann", "glucose-10", "glucose-4-nacl-0.18 + kcl 20 mmol/L", "nacl-0.9",
          "glucose-5 + nacl 30 mmol/L + kcl 27.5 mmol/L", "glucose-10 + glucose 25 g/L"]
PER_BAG = ["nacl-0.9 + kcl 10 mmol", "glucose-10 + kcl 7 mmol + nacl 13 mmol"]
RULES = [("potassium-rate-max", "child", "0.3 mmol/kg/h"), ("potassium-rate-max", "adult", "8 mEq/h"),
         ("potassium-rate-max", "central", "0.4 mmol/kg/h"), ("potassium-rate-max", "", "3 mmol/kg/day"),
         ("gir-max", "adult", "5 mg/kg/min"), ("gir-max", "child", "0.6 g/kg/h"),
         ("gir-min", "infant", "5 mg/kg/min"), ("gir-min", "neonate", "8 g/kg/day"),
         ("glucose-gap", "", "20 min"), ("glucose-gap", "neonate", "50 min"),
         ("above-maintenance", "child", "95 %"), ("below-maintenance", "infant", "75 %"),
         ("maintenance-cap", "infant", "30 mL/h"), ("maintenance-cap", "child", "1200 mL/day"),
         ("maintenance", "adult", "20 to 25 mL/kg/day"), ("maintenance-electrolyte-far", "adult", "50 %"),
         ("maintenance-electrolyte", "adult", "2 mmol/kg/day")]
CODES = {"potassium-rate", "glucose-rate", "glucose-gap", "insulin-alone", "above-maintenance",
         "below-maintenance", "maintenance-cap", "above-allowance", "adult-day", "adult-electrolyte"}
SECONDS = {"potassium-rate", "glucose-rate", "glucose-gap", "insulin-alone"}
DAY = 86400


# ---------------------------------------------------------------- the plan

def spice(tables, chance):
    """Fluids, purposes and rules that make something of it."""
    pick = chance.choice
    veins = {(line["patient"], line["line"]) for line in tables["lines"] if line["kind"] not in ("enteral", "arterial")}
    for row in tables["orders"]:
        if row["fluid"] in generate.CRYSTALLOIDS and "strength" not in row and chance.random() < 0.6:
            bag = row.get("bag") or row.get("volume", "")
            small = re.fullmatch(r"([\d.]+) ?m[lL]", bag)
            row["fluid"] = pick(PER_BAG if small and 100 < float(small.group(1)) and chance.random() < 0.4 else FLUIDS)
        if row["fluid"] in FLUIDS + PER_BAG + generate.CRYSTALLOIDS and chance.random() < 0.15:
            row["for"] = pick(["replacement", "resuscitation", "treatment", "maintenance"])
    for patient, line in sorted(veins):
        if chance.random() < 0.12:
            tables["orders"].append({"patient": patient, "order": "insulin-" + line, "line": line, "runs": "concurrent",
                                     "fluid": "insulin 50 units in nacl-0.9", "rate": pick(["2 mL/h", "0.7 mL/h"]), "bag": "50 mL"})
    wanted = {}
    for name, applies, value in chance.sample(RULES, pick([0, 0, 2, 5])):
        wanted.setdefault(name, (name, applies, value))
    if wanted:
        tables["rules"] = tables.get("rules", []) + [
            {"rule": name, "applies": applies, "value": value, "source": "Larkfield ward round"}
            for name, applies, value in wanted.values()]


def hours_of(tables, hours):
    kept = [row for row in tables["ward"] if row["setting"] != "hours"]
    return {**tables, "ward": kept + [{"setting": "hours", "value": str(hours)}]}


def flows_of(plan, schedule):
    orders = {(p.key, o.key): o for p in plan.patients for o in p.orders}
    found = {p.key: [] for p in plan.patients}
    for row in rows(schedule):
        found[row["patient"]].append(sums.Flow(row, orders[row["patient"], row["order"]], instant, plan))
    return found


class Case:
    def __init__(self, binary, folder, tables, at):
        self.binary, self.tables, self.at = binary, tables, at
        self.plan = oracle.Plan(folder)
        self.now = self.plan.begins if at is None else at
        self.options = ["--at", self.plan.zone.written(self.now)]
        self.schedule = run(binary, "schedule", folder, *self.options)
        self.flows = flows_of(self.plan, self.schedule)
        self.longer = {}

    def onward(self, until):
        """Flows of the same orders in a plan of more hours; a remainder keeps its rate."""
        hours = -(-(until - self.plan.begins) // 3600)
        if hours not in self.longer:
            tables = hours_of(self.tables, hours)
            rates = {(r["patient"], r["order"]): r["rate_ml_per_h"] for r in rows(self.schedule) if r["part"] == "bag"}
            orders, left_out = [], set()
            for row in tables["orders"]:
                row = dict(row)
                if row.get("rate") == "remainder":
                    rate = rates.get((row["patient"], row["order"]))
                    settable = rate and Fraction(rate) <= 10000        # more cannot be written
                    row["rate"] = f"{rate} mL/h" if settable else "1 mL/h"
                    if not settable:
                        left_out.add(row["patient"])
                orders.append(row)
            with tempfile.TemporaryDirectory() as folder:
                generate.write_tables({**tables, "orders": orders}, folder)
                plan = oracle.Plan(folder)
                self.longer[hours] = (flows_of(plan, run(self.binary, "schedule", folder, *self.options)), left_out)
        return self.longer[hours]


# ------------------------------------------------------------ what is said

def near(got, low, high, what):
    """A printed decimal, half up at the third, of something between two bounds."""
    half = Fraction(1, 2000)
    if not low - half <= Fraction(got) <= high + half:
        raise Failed(f"{what}: {got}, worked out {float(low)} to {float(high)}")


def check_row(case, patient, row):
    plan, flows, kg = case.plan, case.flows[patient.key], patient.weight
    begin, end = plan.begins, plan.end
    daily = Fraction(DAY, end - begin)
    low, high = sums.total(flows, begin, end, lambda f: True)
    near(row["ordered_ml_per_day"], low * daily / 3600000, high * daily / 3600000, "ordered")
    by_weight = patient.group() in ("infant", "child")
    need = sums.need(kg) if by_weight else None
    for name, value in (("maintenance_ml_per_day", need and need / 1000), ("maintenance_ml_per_h", need and need / 24000)):
        if (row[name] != "") != by_weight or (by_weight and row[name] != str(decimal(value))):
            raise Failed(f"{name}: {row[name]}, worked out {value}")
    for_it = [o for o in patient.orders if (o.row.get("for") or ("maintenance" if o.runs == "primary" and o.category in ("fluid", "nutrition")
                                                                else "")) == "maintenance"]
    if (row["percent"] != "") != bool(by_weight and for_it):
        raise Failed(f"percent: {row['percent']!r}")
    if row["percent"]:
        low, high = sums.total(flows, begin, end, lambda f: f.maintenance)
        near(row["percent"], low * daily / 36 / need, high * daily / 36 / need, "percent")
    fed = not any(f.vein for f in flows) and any(not f.vein and f.order.category == "feed" and not f.flush for f in flows)
    names = {"sodium": "sodium_mmol_per_kg", "potassium": "potassium_mmol_per_kg", "glucose": "glucose_g_per_kg"}
    for ion, name in names.items():
        blank = fed or sums.is_unknown(flows, begin, end, sums.by_vein, ion)
        if (row[name] == "") != blank:
            raise Failed(f"{name}: {row[name]!r}")
        if not blank:
            low, high = (Fraction(x) * daily / (3600 * 10**12) / kg for x in sums.total(flows, begin, end, sums.by_vein, ion))
            near(row[name], low, high, name)
    potassium = sums.seconds(flows, begin, end, sums.rate_of("potassium"))
    glucose = sums.seconds(flows, begin, end, sums.rate_of("glucose"))
    gap = max((b - a for a, b, value in sums.runs(glucose, begin) if value == 0), default=0)
    blank_k = fed or sums.is_unknown(flows, begin, end, sums.by_vein, "potassium")
    blank_g = fed or sums.is_unknown(flows, begin, end, sums.by_vein, "glucose")
    for name, blank, value in (("potassium_peak_mmol_per_kg_per_h", blank_k, Fraction(max(potassium), 10**12) / kg),
                               ("gir_mg_per_kg_per_min", blank_g, Fraction(max(glucose), 60 * 10**9) / kg),
                               ("glucose_gap_min", blank_g, Fraction(gap, 60))):
        if row[name] != ("" if blank else str(decimal(value))):
            raise Failed(f"{name}: {row[name]!r}, worked out {float(value)}")


def decimal(value):
    """As rows print it."""
    whole = half_up(Fraction(value) * 1000)
    text = f"{whole // 1000}.{whole % 1000:03d}".rstrip("0").rstrip(".")
    return text or "0"


class Found:
    """A finding as it should be: figure between two bounds; certain: whether it must be there."""

    def __init__(self, code, at, to, low, high, limit, certain=True):
        self.code, self.at, self.to, self.low, self.high, self.limit, self.certain = code, at, to, low, high, limit, certain


def beyond(low, high, limit, step, above):
    """(may be, must be) beyond the limit by more than 1 % or a step."""
    edge = max(limit / 100, step)
    if above:
        return high > limit + edge, low > limit + edge
    return low < limit - edge, high < limit - edge


def find_top(case, patient, code, name, ion, per_unit):
    """The highest sum of all lines, where it is above the limit."""
    plan, flows = case.plan, [f for f in case.flows[patient.key] if f.vein]
    begin, end = plan.begins, plan.end
    above = []
    for start, stop, value in sums.runs(sums.seconds(flows, begin, end, sums.rate_of(ion)), begin):
        here = [f for f in flows if f.start < stop and f.end > start and f.holds[ion]]
        if value == 0:
            continue
        limits = [limit for kind in {f.kind for f in here} if (limit := sums.rule(plan, name, {patient.group(), kind}))]
        if not limits:
            continue
        limit = min(limits, key=lambda text: sums.hourly(text, patient.weight))
        edges = sorted({start, stop} | {t for f in here for t in (f.start, f.end) if start < t < stop})
        step = min(max(f.step * f.holds[ion] for f in here if f.start <= t < f.end) for t in edges[:-1])
        exact, wanted = Fraction(value, per_unit), sums.hourly(limit, patient.weight)
        if beyond(exact, exact, wanted, Fraction(step, per_unit), True)[0]:
            above.append((stop <= case.now, -value, start, stop, limit, exact))
    if above:
        _, _, start, stop, limit, exact = min(above, key=lambda x: x[:3])
        shown = sums.figure(exact, limit, patient.weight)
        yield Found(code, start, stop, shown, shown, limit)


def find_least(case, patient):
    plan, flows, kg = case.plan, case.flows[patient.key], patient.weight
    limit = sums.rule(plan, "gir-min", {patient.group()})
    vein = [f for f in flows if f.vein and f.holds["glucose"]]
    drunk = any(row["event"] == "intake" for row in case.tables.get("chart", []) if row["patient"] == patient.key)
    if not limit or not vein or any(is_fed(f) for f in flows):
        return
    start = min(f.start for f in vein)
    if sums.is_unknown(flows, start, plan.end, sums.by_vein, "glucose"):
        return
    low, high = (Fraction(x, 1000 * (plan.end - start)) for x in sums.total(flows, start, plan.end, sums.by_vein, "glucose"))
    step = Fraction(max(f.step * f.holds["glucose"] for f in vein), 1000)
    may, must = beyond(low, high, sums.hourly(limit, kg), step, False)
    if may:
        yield Found("glucose-rate", start, plan.end, sums.figure(low, limit, kg), sums.figure(high, limit, kg), limit,
                    must and not drunk)         # which entries count is looked at elsewhere


def is_fed(flow):
    if flow.flush:
        return False
    if not flow.vein:
        return flow.order.category == "feed"
    return flow.order.category == "nutrition" and flow.holds["glucose"] is None


def longest(case, spans):
    if spans:
        return min(spans, key=lambda s: (s[1] <= case.now, s[0] - s[1], s[0]))
    return None


def find_gaps(case, patient):
    plan, flows = case.plan, case.flows[patient.key]
    begin, end = plan.begins, plan.end
    glucose = sums.seconds(flows, begin, end, sums.rate_of("glucose"))
    fed = sums.seconds(flows, begin, end, is_fed)
    insulin = sums.seconds(flows, begin, end, lambda f: f.insulin)
    bare = [g == 0 and not f for g, f in zip(glucose, fed)]
    alone = [(a, b) for a, b, x in sums.runs([b and bool(i) for b, i in zip(bare, insulin)], begin) if x]
    worst = longest(case, alone)
    if worst:
        yield Found("insulin-alone", *worst, worst[1] - worst[0], worst[1] - worst[0], None)
    limit = sums.rule(plan, "glucose-gap", {patient.group()})
    neonate = patient.group() == "neonate"
    infusion = any(f.vein and not f.flush and f.order.category in ("fluid", "nutrition") for f in flows)
    if neonate and not infusion:
        return
    on = [i for i, x in enumerate(insulin) if x]
    gaps = [(a, b) for a, b, x in sums.runs(bare, begin) if x and (b - a) * 100 > minutes(limit) * 101]
    if not neonate:
        gaps = [(a, b) for a, b in gaps if on and a < begin + on[-1] + 1 and b > begin + on[0]]
    worst = longest(case, gaps)
    if worst:
        yield Found("glucose-gap", *worst, worst[1] - worst[0], worst[1] - worst[0], limit)


def minutes(text):
    number, unit = number_and_unit(text)
    return int(number * {"min": 60, "s": 1, "h": 3600}[unit])


def find_day(case, patient):
    plan, group, kg = case.plan, patient.group(), patient.weight
    mine = [f for f in case.flows[patient.key] if f.maintenance and f.end > case.now]
    if not mine or group == "neonate":
        return
    start = max(case.now, min(f.start for f in mine))
    end = start + DAY
    flows = case.flows[patient.key]
    if end > plan.end:
        longer, left_out = case.onward(end)
        if patient.key in left_out:
            raise generate.LEFT_OUT[0]
        flows = longer[patient.key]

    def step(counts):
        return max((sum(min(f.end, end) - max(f.start, start) for f in flows if f.order.key == o.key and counts(f)
                        and f.start < end and f.end > start) * next(f.step for f in flows if f.order.key == o.key)
                    for o in patient.orders if any(f.order.key == o.key for f in flows)), default=0)

    if group != "adult":
        need = sums.need(kg)
        cap = sums.rule(plan, "maintenance-cap", {group})
        if cap and beyond(need / 24, need / 24, sums.hourly(cap, kg), 0, True)[0]:
            shown = sums.figure(need / 24, cap, kg)
            yield Found("maintenance-cap", start, None, shown, shown, cap)
        low, high = (Fraction(x) / 36 / need for x in sums.total(flows, start, end, lambda f: f.maintenance))
        one = Fraction(step(lambda f: f.maintenance)) / 36 / need
        most, least = (sums.rule(plan, name, {group}) for name in ("above-maintenance", "below-maintenance"))
        for code, limit, above in (("above-maintenance", most, True), ("below-maintenance", least, False)):
            may, must = beyond(low, high, number_and_unit(limit)[0], one, above)
            if may:
                yield Found(code, start, end, low, high, limit, must)
        return
    bounds = sums.rule(plan, "maintenance", {group})
    unit = bounds.split()[-1]
    low, high = (Fraction(x, DAY) for x in sums.total(flows, start, end, lambda f: f.day))
    one = Fraction(step(lambda f: f.day), DAY)
    for limit, above in ((f"{bounds.split()[2]} {unit}", True), (f"{bounds.split()[0]} {unit}", False)):
        may, must = beyond(low, high, sums.hourly(limit, kg), one, above)
        if may:
            yield Found("adult-day", start, end, sums.figure(low, limit, kg), sums.figure(high, limit, kg), limit, must)
    wanted = sums.rule(plan, "maintenance-electrolyte", {group})
    factor = 1 + number_and_unit(sums.rule(plan, "maintenance-electrolyte-far", {group}))[0] / 100
    number, unit = number_and_unit(wanted)
    for above in (True, False):
        limit = number * factor if above else number / factor
        far, certain = [], True
        for ion in ("sodium", "potassium", "chloride"):
            low, high = (Fraction(x, DAY * 10**6) for x in sums.total(flows, start, end, lambda f: f.day, ion))
            may, must = beyond(low, high, sums.hourly(f"1 {unit}", kg) * limit, 0, above)
            if may and (above or not sums.is_unknown(flows, start, end, lambda f: f.day, ion)):
                far.append((low, high))
                certain = certain and must
        if far:
            low, high = max(far) if above else min(far)
            yield Found("adult-electrolyte", start, end, sums.figure(low, wanted, kg), sums.figure(high, wanted, kg),
                        f"{decimal(limit)} {unit}", certain)


def find_allowance(case, patient):
    plan = case.plan
    if patient.allowance is None:
        return
    limit = Fraction(half_up(patient.allowance)) * (plan.end - plan.begins) / 24
    flows = case.flows[patient.key]
    low, high = sums.total(flows, plan.begins, plan.end, lambda f: True)
    by_order = Counter()
    for f in flows:
        by_order[f.order.key] += (f.end - f.start) * f.step
    may, must = beyond(low, high, limit, max(by_order.values(), default=0), True)
    if may:
        yield Found("above-allowance", plan.begins, plan.end, Fraction(low, 3600000), Fraction(high, 3600000),
                    f"{decimal(Fraction(half_up(Fraction(limit) / 3600), 1000))} mL", must)


def half_of(row):
    """What rounding can hide: shares are shown to 0.01, all else to 0.001."""
    return Fraction(1, 200) if row["figure"].endswith("%") else Fraction(1, 2000)


def said(row):
    """The figure of a row of check, and in seconds where it is a time."""
    number = row["figure"].split()[0]
    seconds = Fraction(number) * {"min": 60, "s": 1}.get(row["figure"].split()[1], 0)
    return number, seconds


def same_limit(limit, got):
    if limit is None or got == "":
        return (limit or "") == got
    if limit.split()[-1] in ("min", "h", "s") and len(limit.split()) == 2:
        return minutes(limit) == minutes(got)
    number, unit = number_and_unit(limit)
    return [decimal(number), unit] == got.split()


def compare(case, patient, expected, got):
    for found in expected:
        match = [row for row in got if row["finding"] == found.code and instant(row["at"]) == found.at
                 and same_limit(found.limit, row["limit"])]
        if not match and not found.certain:
            continue
        if len(match) != 1:
            raise Failed(f"{patient.key} {found.code}: expected from {case.plan.zone.written(found.at)}, {float(found.low)} "
                         f"(limit {found.limit}); said {[list(row.values())[3:8] for row in got if row['finding'] == found.code]}")
        row = match[0]
        got.remove(row)
        number, seconds = said(row)
        if found.code in ("glucose-gap", "insulin-alone"):
            if seconds != found.low:
                raise Failed(f"{patient.key} {found.code}: {row['figure']}, worked out {found.low} s")
        elif not found.low - half_of(row) <= Fraction(number) <= found.high + half_of(row):
            raise Failed(f"{patient.key} {found.code}: {row['figure']}, worked out {float(found.low)} to {float(found.high)}")
        if found.to is not None:
            clock = case.plan.zone.local(found.to).strftime("%a %H:%M")
            if f" to {clock}" not in row["message"]:
                raise Failed(f"{patient.key} {found.code}: expected to {clock}: {row['message']}")
    if got:
        raise Failed(f"{patient.key}: said and not worked out: {[list(row.values())[3:9] for row in got]}")


def check(binary, seed):
    """(seed, trouble or None, what was found)."""
    chance = random.Random(seed)
    told = Counter()
    charted = seed % 3 == 0
    with tempfile.TemporaryDirectory(prefix="plan-") as folder:
        at = None
        try:
            if charted:
                tables, at, _ = generate.write_history(seed, folder)
            else:
                tables = generate.Maker(seed).tables()
                spice(tables, chance)
                generate.write_tables(tables, folder)
        except generate.LEFT_OUT:
            return seed, None, told
        try:
            case = Case(binary, folder, tables, at)
            by_patient = {row["patient"]: row for row in rows(run(binary, "maintenance", folder, *case.options))}
            findings = rows_of_check(binary, folder, case.options)
            for patient in case.plan.patients:
                check_row(case, patient, by_patient[patient.key])
                expected = list(find_top(case, patient, "potassium-rate", "potassium-rate-max", "potassium", 10**6))
                expected += find_top(case, patient, "glucose-rate", "gir-max", "glucose", 1000)
                expected += find_least(case, patient)
                expected += find_gaps(case, patient)
                codes = SECONDS
                if not charted:
                    codes = CODES
                    try:
                        expected += find_day(case, patient)
                    except generate.LEFT_OUT:
                        codes = SECONDS
                    expected += find_allowance(case, patient) if codes is CODES else []
                told.update(found.code for found in expected)
                compare(case, patient, expected, [row for row in findings if row["patient"] == patient.key and row["finding"] in codes])
        except Failed as trouble:
            return seed, str(trouble), told
    return seed, None, told


def rows_of_check(binary, folder, options):
    import subprocess
    done = subprocess.run([binary, "check", folder, *options, "--format", "csv"], capture_output=True, timeout=60, check=False)
    if done.returncode not in (0, 1):
        raise Failed(f"check: exit {done.returncode}\n{done.stderr.decode()}")
    return rows(done.stdout.decode())


def check_one(job):
    return check(*job)


def main():
    parser = argparse.ArgumentParser(description="sums over all lines against a second opinion")
    parser.add_argument("binary")
    parser.add_argument("--plans", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    wanted = parser.parse_args()
    binary = os.path.abspath(wanted.binary)
    passed, failed, told = 0, [], Counter()
    with multiprocessing.Pool(wanted.jobs) as pool:
        for seed, trouble, found in pool.imap(check_one, [(binary, s) for s in range(wanted.seed, wanted.seed + wanted.plans)], chunksize=2):
            told.update(found)
            if trouble is None:
                passed += 1
                continue
            failed.append(seed)
            if len(failed) <= 3:
                print(f"seed {seed}: {trouble}")
    missing = CODES - set(told) if wanted.plans >= 40 and wanted.seed == 1 else set()
    if missing:
        print("never found in any plan:", *sorted(missing))
    if failed:
        print("seeds that failed:", *failed[:50])
    print(f"{passed} passed, {len(failed) + len(missing)} failed; {sum(told.values())} findings")
    return 1 if failed or missing else 0


if __name__ == "__main__":
    sys.exit(main())
