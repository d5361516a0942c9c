#!/usr/bin/env python3
"""`regimen` against a second opinion in plain fractions, and its order rows as the engine plans them.

    run.py BINARY [--cases N] [--seed N]

The second opinion is written from the sources, not from the program's list: what each edition gives, by weight and age. Random patients
are asked for in both. Every stage's rows of orders are then put into a plan: what flows must be the stage's volume to the microlitre,
each stage must begin when the one before has ended, at a rate that a pump or a drip chamber can be set to. Only the standard library.
"""
import argparse
import csv
import pathlib
import random
import subprocess
import sys
import tempfile
from datetime import datetime
from fractions import Fraction as F

H = 60  # minutes


def band(kg, first, next_, above):
    return first * min(kg, 10) + next_ * min(max(kg - 10, 0), 10) + above * max(kg - 20, 0)


def daily(kg):
    return F(band(kg, 100, 50, 20)) / 24


def hourly(kg):
    return band(kg, 4, 2, 1)


def by_kg(*stages):
    return lambda kg: [(F(amount) * kg, minutes) for amount, minutes in stages]


# --source, ages in months, weights in kg, how often the first stage may come again, stages in mL and minutes
REHYDRATION = [
    ("WHO 2013", (1, 11.9), (3, 12), 0, by_kg((30, H), (70, 5 * H))),
    ("WHO 2013", (12, 700), (30, 90), 1, by_kg((30, H // 2), (70, 150))),
    ("MSF", (13, 59), (7, 25), 2, by_kg((20, 15), (70, 3 * H))),
    ("MSF", (60, 900), (30, 110), 1, by_kg((30, 30), (70, 3 * H))),
    ("CDC", (1, 11), (3, 12), 0, by_kg((30, 30), (70, 330), (100, 18 * H))),
    ("Bettercare", (1, 11), (3, 12), 0, by_kg((30, 30), (70, 150))),
]
BURNS = [("Parkland", 4, 4), ("ABA 2023", 2, 2), ("RCEM", 2, 4), ("WCH 2010", 4, 4), ("Cardiff", 3, 3), ("ward paper 7", 1, 9)]
BANDS_2009 = ((13, 80), (20, 65), (35, 55), (60, 45), (999, 35))


def written(value):
    """A fraction of thousandths as it is typed."""
    return f"{float(value):.3f}".rstrip("0").rstrip(".")


def printed(value):
    """Half up at the third decimal, as rows have it."""
    n = (abs(value) * 2000 + 1) // 2
    return f"{n // 1000}.{n % 1000:03}".rstrip("0").rstrip(".")


class Case:
    def __init__(self, name, words, stages, beside=(), **rows):
        """beside: of how many mL each stage is maintenance, where any is."""
        self.words = ["regimen", name, *words]
        self.stages, self.rows, self.beside = stages, rows, list(beside)

    def expected(self):
        want = {}
        for i, (volume, minutes) in enumerate(self.stages, 1):
            want[f"stage-{i}-volume", "mL"] = printed(volume)
            want[f"stage-{i}-over", "min"] = printed(F(minutes))
            want[f"stage-{i}-rate", "mL/h"] = printed(volume * 60 / F(minutes))
        want["total-volume", "mL"] = printed(sum(volume for volume, _ in self.stages))
        for name, value in self.rows.items():
            name = name.replace("_", "-")
            want[name, "mL/h" if name.endswith("rate") else "mL"] = printed(value)
        return want


def grams(rng, low, high):
    return F(rng.randint(int(low * 1000), int(high * 1000)), 1000)


def rehydration(rng):
    source, ages, weights, most, stages = rng.choice(REHYDRATION)
    kg, again = grams(rng, *weights), rng.randint(0, most)
    found = stages(kg)
    words = ["--source", source, "--weight", f"{written(kg)}kg", "--age", f"{round(rng.uniform(*ages), 2)}months", "--repeat", str(again)]
    return Case("rehydration-c", words, [found[0]] * again + found)


def maintenance(rng, kg):
    way = rng.choice(("daily", "hourly-421", "none", "rate", "per kg"))
    if way == "rate":
        ml = F(rng.randint(1, 2000), 10)
        return f"{written(ml)}mL/h", ml
    if way == "per kg":
        return "2.5mL/kg/h", F(5, 2) * kg
    return way, {"daily": daily, "hourly-421": hourly, "none": lambda kg: F(0)}[way](kg)


def burn(rng):
    source, low, high = rng.choice(BURNS)
    kg, area, since = grams(rng, 25, 90), F(rng.randint(100, 900), 10), rng.randint(0, 420)
    coefficient = F(rng.randint(low * 10, high * 10), 10)
    whole = coefficient * kg * area
    given = F(rng.randint(0, int(whole / 2 * 999)), 1000)
    text, ml_h = maintenance(rng, kg)
    words = ["--source", source, "--weight", f"{written(kg)}kg", "--area", f"{written(area)}%", "--coefficient", written(coefficient), "--maintenance", text,
             "--since", f"{since}min", "--given", f"{written(given)}mL"]
    stages = [(whole / 2 - given + ml_h * (480 - since) / 60, 480 - since), (whole / 2 + ml_h * 16, 16 * H)]
    return Case("burn", words, stages, [ml_h * minutes / 60 for _, minutes in stages], burn_volume=whole, maintenance_rate=ml_h)


def muir(rng):
    kg, area = grams(rng, 30, 90), F(rng.randint(150, 900), 10)
    words = ["--source", "mount vernon", "--weight", f"{written(kg)}kg", "--area", f"{written(area)}%"]
    return Case("burn-muir-barclay", words, [(kg * area / 2, hours * H) for hours in (4, 4, 4, 6, 6, 12)], burn_volume=3 * kg * area)


def deficit(rng):
    kg = grams(rng, 3, 60)
    parts = [rng.randint(60, 1400) for _ in range(rng.randint(1, 4))]
    if rng.random() < 0.5:
        percent = F(rng.randint(10, 150), 10)
        whole, how = percent * kg * 10, ["--percent", written(percent)]
    else:
        lost = F(int(kg * rng.randint(10, 120)), 1000)
        whole, how = lost * 1000, ["--before", f"{written(kg + lost)}kg"]
    given = F(rng.randint(0, int(whole * 999)), 1000)
    text, ml_h = maintenance(rng, kg)
    span = ["--over", f"{parts[0]}min"] if len(parts) == 1 else ["--split", ",".join(f"{p}min" for p in parts)]
    words = ["--source", "ward paper 7", "--weight", f"{written(kg)}kg", *how, *span, "--maintenance", text, "--given", f"{written(given)}mL"]
    left = whole - given
    stages = [(left / len(parts) + ml_h * F(p, 60), p) for p in parts]
    return Case("deficit", words, stages, [ml_h * minutes / 60 for _, minutes in stages], deficit=whole, deficit_left=left, deficit_rate=left / len(parts) * 60 / F(parts[0]), maintenance_rate=ml_h)


def dka(rng):
    source = rng.choice(("RCEM", "BSPED 2009", "NICE 2015"))
    kg = grams(rng, 41, 95) if source == "NICE 2015" else grams(rng, 8, 95)
    percent = {"RCEM": F(rng.choice((5, 7, 10))), "NICE 2015": F(5), "BSPED 2009": F(rng.randint(50, 80), 10)}[source]
    course = {"RCEM": rng.choice(("not-shocked", "shocked", "after-bolus")), "BSPED 2009": "after-bolus", "NICE 2015": rng.choice(("no-bolus", "bolus"))}[source]
    ml_h = {"RCEM": daily(min(kg, 80)), "NICE 2015": F(40), "BSPED 2009": kg * next(ml for below, ml in BANDS_2009 if kg < below) / 24}[source]
    whole = percent * kg * 10
    bolus = {"not-shocked": (10 * kg, H), "shocked": (20 * kg, 15), "bolus": (10 * kg, H)}.get(course)
    given = F(rng.randint(0, int(whole * 10 if bolus else whole * 900)), 1000) if course == "after-bolus" else F(0)
    left = whole - given - (bolus[0] if course == "not-shocked" else 0)
    words = ["--source", source, "--weight", f"{written(kg)}kg", "--age", "8years" if kg < 60 else "15years", "--percent", written(percent), "--course", course]
    words += ["--given", f"{written(given)}mL"] if given else []
    stages = ([bolus] if bolus else []) + [(left + 48 * ml_h, 48 * H)]
    return Case("dka-child", words, stages, [F(0)] * len(stages[1:]) + [48 * ml_h], deficit=whole, deficit_left=left, deficit_rate=left / 48, maintenance_rate=ml_h)


KINDS = (rehydration, burn, muir, deficit, dka)


def run(binary, words, cwd=None):
    done = subprocess.run([binary, *words], capture_output=True, text=True, timeout=60, check=False, cwd=cwd)
    return done.stdout, done.stderr, done.returncode


def check_rows(binary, case):
    """What is wrong with the rows, as texts."""
    out, err, code = run(binary, [*case.words, "--format", "csv"])
    if code:
        return [f"exit {code}: {err}"]
    got = {(row["quantity"], row["unit"]): row["value"] for row in csv.DictReader(out.splitlines())}
    want = case.expected()
    return [f"{key}: {got.get(key)}, not {want.get(key)}" for key in sorted(set(got) | set(want)) if got.get(key) != want.get(key)]


def plan(folder, orders):
    (folder / "ward.csv").write_text("setting,value\nward,Larkfield\ntimezone,America/Lima\nbegins,2026-11-25 08:00\nhours,168\n")
    (folder / "patients.csv").write_text("patient,age,weight\np-1,7 years,22 kg\n")
    (folder / "lines.csv").write_text("patient,line,kind\np-1,left,peripheral\n")
    (folder / "orders.csv").write_text(orders)


def check_orders(binary, case, rng, folder):
    """The stages as planned: volumes, succession, what a device can be set to."""
    drops = rng.choice((None, 20, 60))
    bag = rng.choice((None, "500mL", "1L"))
    words = [*case.words, "--as-orders", "--patient", "p-1", "--line", "left", "--fluid", "hartmann", "--start", "08:00"]
    words += ["--set", f"{drops}gtt/mL"] if drops else []
    words += ["--bag", bag] if bag else []
    apart = rng.random() < 0.5 and sum(case.beside) > 0 and all(volume > own for (volume, _), own in zip(case.stages, case.beside))
    words += ["--maintenance-fluid", "glucose-5-nacl-0.9"] if apart else []
    stages = [(volume - own, minutes) for (volume, minutes), own in zip(case.stages, case.beside)] if apart else case.stages
    orders, err, code = run(binary, words)
    if code:
        return [f"--as-orders: exit {code}: {err}"]
    plan(folder, orders)
    out, err, code = run(binary, ["schedule", str(folder), "--at", "2026-11-25 08:00", "--format", "csv"])
    if code:
        return [f"schedule: exit {code}: {err}"]
    wrong, before = [], datetime.fromisoformat("2026-11-25T08:00:00-05:00")
    rows = list(csv.DictReader(out.splitlines()))
    if apart:
        total = sum(F(row["volume_ml"]) for row in rows if row["order"] == f"{case.words[1]}-maintenance")
        if total != F((sum(case.beside) * 2000 + 1) // 2, 1000):
            wrong.append(f"maintenance gives {float(total)} mL, not {float(sum(case.beside))}")
    for i, (volume, minutes) in enumerate(stages, 1):
        flows = [row for row in rows if row["order"] == f"{case.words[1]}-{i}"]
        micro = (volume * 2000 + 1) // 2  # half up to whole microlitres, as volumes are
        total = sum(F(row["volume_ml"]) for row in flows)
        if total != F(micro, 1000):
            wrong.append(f"stage {i} gives {float(total)} mL, not {float(F(micro, 1000))}")
        if not flows:
            continue
        begins, ends = datetime.fromisoformat(flows[0]["from"]), datetime.fromisoformat(flows[-1]["to"])
        if begins != before:
            wrong.append(f"stage {i} begins {begins}, not {before}")
        before = ends
        rate, exact = F(flows[0]["rate_ml_per_h"]), F(micro, 1000) * 60 / minutes
        if drops:
            per_min = max(1, (exact * drops / 60 * 2 + 1) // 2)
            settable = F((per_min * 60 * 1000 * 2 // drops + 1) // 2, 1000)
        else:
            settable = F((exact * 20 + 1) // 2, 10)
        if rate != settable:
            wrong.append(f"stage {i} runs at {float(rate)} mL/h, not {float(settable)}")
        size = {"500mL": 500, "1L": 1000}.get(bag, F(micro, 1000))
        bags, rest = divmod(F(micro, 1000), size)  # each bag is empty at a whole second, rounded up
        seconds = sum(-(-(hung * 3600 / settable) // 1) for hung in [F(size)] * int(bags) + [rest])
        if (ends - begins).total_seconds() != seconds:
            wrong.append(f"stage {i} takes {(ends - begins).total_seconds()} s, not {seconds}")
    return wrong


def check_ways(binary, folder):
    """Stages that go by a tube, that have no end, or that are no infusion: which rows there are, and what they give."""
    wrong = []
    common = ["--as-orders", "--patient", "p-1", "--line", "left", "--start", "08:00"]

    def planned(kind, words):
        orders, err, code = run(binary, ["regimen", *words, *common])
        plan(folder, orders)
        (folder / "lines.csv").write_text(f"patient,line,kind\np-1,left,{kind}\n")
        out, told, planning = run(binary, ["schedule", str(folder), "--at", "2026-11-25 08:00", "--format", "csv"])
        if code or planning:
            wrong.append(f"{words}: exit {code}, {planning}: {err}{told}")
        return list(csv.DictReader(out.splitlines())), list(csv.DictReader(orders.splitlines())), err

    flows, rows, err = planned("enteral", ["rehydration-c", "--source", "Bettercare nasogastric", "--weight", "8kg", "--age", "2years", "--fluid", "ors"])
    if sum(F(f["volume_ml"]) for f in flows) != 960 or rows[0]["category"] != "feed" or {f["rate_ml_per_h"] for f in flows} != {"160"}:
        wrong.append(f"by tube: {flows}")
    flows, rows, err = planned("peripheral", ["malnutrition-shock", "--source", "IMTF", "--weight", "8kg", "--age", "2years", "--course", "not-improving",
                                              "--fluid", "hartmann", "--bag", "500mL"])
    second = [f for f in flows if f["order"].endswith("-2")]
    if len(rows) != 2 or "stage 3 is blood" not in err or {f["rate_ml_per_h"] for f in second} != {"32"} or not second[0]["from"].startswith("2026-11-25T09:00:00"):
        wrong.append(f"without an end: {rows} {second[:1]} {err}")
    flows, rows, err = planned("peripheral", ["malnutrition-shock", "--source", "IMTF", "--weight", "8kg", "--age", "2years", "--course", "improving",
                                              "--fluid", "hartmann"])
    if [f["volume_ml"] for f in flows] != ["120", "120"] or "stage 3 goes by mouth or tube" not in err:
        wrong.append(f"then by mouth: {flows} {err}")
    return wrong


def main():
    words = argparse.ArgumentParser()
    words.add_argument("binary")
    words.add_argument("--cases", type=int, default=100)
    words.add_argument("--seed", type=int, default=1)
    words = words.parse_args()
    rng, passed, failed = random.Random(words.seed), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for n in range(words.cases):
            case = KINDS[n % len(KINDS)](rng)
            wrong = check_rows(words.binary, case) + check_orders(words.binary, case, rng, pathlib.Path(folder))
            passed, failed = passed + (not wrong), failed + bool(wrong)
            if wrong:
                print(f"daydrip {' '.join(case.words)}", *wrong, sep="\n    ")
        wrong = check_ways(words.binary, pathlib.Path(folder))
        passed, failed = passed + (not wrong), failed + bool(wrong)
        print(*wrong, sep="\n", end="\n" if wrong else "")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
