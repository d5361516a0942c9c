"""What meets in one lumen, on random plans, against a second opinion that looks at single seconds.

    meet.py BINARY --plans N --seed S

The plans are small and crowded: few lines, doses with and without flush, concurrents, pauses, blood, nutrition, verdicts at random. The
second opinion takes the flows from `schedule --format csv` and asks of each second in which something begins: what else flows in it, and
what flowed in the last second before it in which anything did. Names, verdicts and what needs none are written down anew here, from the
manual, not from the program. Compared are finding, patient, line, moment and names.
"""
import argparse
import csv
import datetime
import io
import os
import random
import re
import subprocess
import sys
import tempfile

BEGINS = datetime.datetime(2026, 11, 25, 7)

# As ordered: names (drug first), the carrier of a drug, what asks for a verdict, calcium, what falls out with calcium, blood.
FLUIDS = {
    "nacl-0.9": (["nacl-0.9"], None, [], False, False, False),
    "nacl-0.45 + kcl 20 mmol/L": (["nacl-0.45", "kcl"], None, [], False, False, False),
    "glucose-5 + nacl 77 mmol/L": (["glucose-5", "nacl"], None, [], False, False, False),
    "glucose-5-nacl-0.9 + kcl 20 mmol/L": (["glucose-5-nacl-0.9", "kcl"], None, [], False, False, False),
    "hartmann": (["hartmann"], None, [], True, False, False),
    "nacl-0.9 + naphos 10 mmol/L": (["nacl-0.9", "naphos"], None, [], False, True, False),
    "sodium-bicarbonate-1.26": (["sodium-bicarbonate-1.26"], None, [], False, True, False),
    "nacl-0.9 + heparin 500 units/L": (["nacl-0.9", "heparin"], None, ["heparin"], False, False, False),
    "parenteral-nutrition": (["parenteral-nutrition"], None, ["parenteral-nutrition"], False, False, False),
    "red-cells": (["red-cells"], None, [], False, False, True),
    "cefazolin 1 g in nacl-0.9": (["cefazolin", "nacl-0.9"], "nacl-0.9", ["cefazolin"], False, False, False),
    "cefazolin 2 g in nacl-0.9": (["cefazolin", "nacl-0.9"], "nacl-0.9", ["cefazolin"], False, False, False),
    "vancomycin 1 g in glucose-5": (["vancomycin", "glucose-5"], "glucose-5", ["vancomycin"], False, False, False),
    "ceftriaxone 2 g in nacl-0.9": (["ceftriaxone", "nacl-0.9"], "nacl-0.9", ["ceftriaxone"], False, False, False),
    "morphine 50 mg in nacl-0.9": (["morphine", "nacl-0.9"], "nacl-0.9", ["morphine"], False, False, False),
    "kcl 20 mmol in nacl-0.9": (["kcl", "nacl-0.9"], None, [], False, False, False),
}
FLUSH = "nacl-0.9"
WORDS = {"nacl-0.9": "sodium chloride 0.9 %", "nacl-0.45": "sodium chloride 0.45 %", "glucose-5": "glucose 5 %", "nacl": "sodium chloride",
         "glucose-5-nacl-0.9": "glucose 5 % with sodium chloride 0.9 %", "hartmann": "compound sodium lactate", "kcl": "potassium chloride",
         "naphos": "sodium phosphate, amount as phosphate", "sodium-bicarbonate-1.26": "sodium bicarbonate 1.26 %",
         "parenteral-nutrition": "parenteral nutrition", "red-cells": "red cells"}
DRUGS = [f for f in FLUIDS if " in " in f]
PRIMARIES = [f for f in FLUIDS if " in " not in f]
KEYS = sorted({n for names, *_ in FLUIDS.values() for n in names})


def words(key):
    return WORDS.get(key, key)


def clock(r):
    return f"{r.randrange(24):02d}:{r.choice([0, 0, 15, 30, 45]):02d}"


def make(r):
    """The tables of a plan."""
    lines, orders, pauses = ["patient,line,kind"], ["patient,order,fluid,line,runs,rate,volume,bag,start,stop,every,flush"], ["patient,line,from,to"]
    for p in ("p1", "p2"):
        for line in ("a", "b")[:r.choice([1, 2, 2])]:
            lines.append(f"{p},{line},central")
            n = 0
            for _ in range(r.randrange(1, 4)):
                n += 1
                orders.append(f"{p},{line}{n},{r.choice(PRIMARIES)},{line},,{r.choice([30, 60, 125])} mL/h,{r.choice([60, 100, 250])} mL,,{clock(r)},,,")
            for _ in range(r.randrange(0, 4)):
                n += 1
                every = r.choice(["", "", "6 h", "8 h"])
                flush = r.choice(["", "", "5 mL", "20 mL"])
                orders.append(f"{p},{line}{n},{r.choice(DRUGS)},{line},piggyback,{r.choice([60, 100, 200])} mL/h,{r.choice([20, 50, 100])} mL,,{clock(r)},,{every},{flush}")
            for _ in range(r.randrange(0, 3)):
                n += 1
                orders.append(f"{p},{line}{n},{r.choice(list(FLUIDS))},{line},concurrent,{r.choice([1, 5])} mL/h,,50 mL,{clock(r)},{r.choice(['', clock(r)])},,")
            if r.random() < 0.3:
                pauses.append(f"{p},{line},{clock(r)},{clock(r)}")
    pairs, rows = set(), ["fluid_a,fluid_b,verdict,source"]
    for _ in range(r.randrange(0, 14)):
        a, b = r.sample(KEYS, 2)
        if frozenset((a, b)) not in pairs:
            pairs.add(frozenset((a, b)))
            rows.append(f"{a},{b},{r.choice(['apart', 'together'])},ward")
    tables = {"ward.csv": ["setting,value", "ward,Larkfield", "timezone,America/Lima", "begins,2026-11-25 07:00"],
              "patients.csv": ["patient,age,weight,allergies", "p1,50 years,70 kg,none", "p2,60 years,70 kg,none"],
              "lines.csv": lines, "orders.csv": orders}
    if len(pauses) > 1:
        tables["pauses.csv"] = pauses
    if len(rows) > 1:
        tables["apart.csv"] = rows
    return tables


def verdicts(tables):
    return {frozenset(row.split(",")[:2]): row.split(",")[2] for row in tables.get("apart.csv", [])[1:]}


def base(key):
    """`nacl`, `nacl-0.9`: the substance whatever its strength; else the key."""
    m = re.fullmatch(r"([a-z]+)(-[0-9][0-9.]*)?", key)
    return m.group(1) if m else key


def seconds(text):
    return int((datetime.datetime.fromisoformat(text).replace(tzinfo=None) - BEGINS).total_seconds())


def flows_of(binary, folder, orders):
    done = subprocess.run([binary, "schedule", folder, "--format", "csv", "--at", "2026-11-25T07:00"], capture_output=True, text=True, timeout=60, check=True)
    fluid = {(o["patient"], o["order"]): o["fluid"] for o in csv.DictReader(io.StringIO("\n".join(orders)))}
    flows = []
    for row in csv.DictReader(io.StringIO(done.stdout)):
        what = FLUSH if row["part"] == "flush" else fluid[row["patient"], row["order"]]
        flows.append((seconds(row["from"]), seconds(row["to"]), row["patient"], row["line"], what))
    return flows


def meetings(flows):
    """Who meets whom: at, patient, line, what begins, what is there."""
    for at, _, patient, line, begins in flows:
        on_line = [f for f in flows if f[2] == patient and f[3] == line]
        there = [f for f in on_line if f[0] <= at < f[1]]
        before = [min(f[1], at) - 1 for f in on_line if f[0] < at]
        if before:
            last = max(before)
            there += [f for f in on_line if f[0] <= last < f[1]]
        for f in there:
            yield at, patient, line, begins, f[4]


def judge(a, b, said):
    """What there is to say about two: ("apart" or "pair-not-on-file" or "blood-company", names)."""
    names_a, carrier_a, asks_a, calcium_a, falls_a, blood_a = FLUIDS[a]
    names_b, carrier_b, asks_b, calcium_b, falls_b, blood_b = FLUIDS[b]
    if set(names_a) == set(names_b):
        return
    if blood_a or blood_b:
        other = b if blood_a else a
        if FLUIDS[other][0] != ["nacl-0.9"]:
            yield "blood-company", frozenset([other])
        return
    needed = settled = False
    for x in names_a:
        for y in names_b:
            if x == y:
                continue
            pair = frozenset((x, y))
            if said.get(pair) == "apart":
                yield "apart", pair
            settled = settled or pair in said
            held = base(x) in [base(n) for n in names_b] or base(y) in [base(n) for n in names_a]
            if (x in asks_a or y in asks_b) and x != carrier_a and y != carrier_b and not held:
                needed = True
                if pair not in said:
                    yield "pair-not-on-file", pair
    if not needed and not settled and ((calcium_a and falls_b) or (calcium_b and falls_a)):
        yield "pair-not-on-file", frozenset((a, b))


def expected(flows, orders, said):
    found, told, seen = set(), set(), set()
    for at, patient, line, a, b in sorted(meetings(flows), key=lambda m: m[0]):
        both = frozenset((frozenset(FLUIDS[a][0]), frozenset(FLUIDS[b][0])))
        if (patient, both) in seen:
            continue
        seen.add((patient, both))
        for code, names in judge(a, b, said):
            if code == "blood-company" or (patient, names) not in told:
                told.add((patient, names))
                found.add((code, patient, line, at, names))
    bags = set()
    for row in csv.DictReader(io.StringIO("\n".join(orders))):  # in one bag, whether or not it flows in this plan
        names = FLUIDS[row["fluid"]][0]
        if (row["patient"], frozenset(names)) not in bags:
            bags.add((row["patient"], frozenset(names)))
            for i, x in enumerate(names):
                for y in names[i + 1:]:
                    if said.get(frozenset((x, y))) == "apart":
                        found.add(("apart", row["patient"], row["line"], None, frozenset((x, y))))
    return found


def mixture_words(fluid):
    names, carrier = FLUIDS[fluid][0], FLUIDS[fluid][1]
    if " in " in fluid:
        head, _, carried = fluid.partition(" in ")
        drug, amount = head.split(" ", 1)
        return f"{words(drug)} {amount} in {words(carried)}"
    parts = fluid.split(" + ")
    text = words(parts[0])
    for part in parts[1:]:
        name, amount = part.split(" ", 1)
        text += (" and " if " with " in text else " with ") + f"{words(name)} {amount}"
    assert names and carrier is None
    return text


def reported(binary, folder):
    done = subprocess.run([binary, "check", folder, "--format", "csv", "--at", "2026-11-25T07:00"], capture_output=True, text=True, timeout=60, check=False)
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr)
    by_words = {words(k): k for k in KEYS} | {mixture_words(f): f for f in FLUIDS}
    found = set()
    for row in csv.DictReader(io.StringIO(done.stdout)):
        if row["finding"] not in ("apart", "pair-not-on-file", "blood-company"):
            continue
        tail = row["message"].split("in this lumen: ", 1)[1]
        for part in tail.split("; "):
            if row["finding"] == "blood-company":
                names = frozenset([by_words[part]])
            else:
                cuts = [(part[:m.start()], part[m.end():]) for m in re.finditer(" and ", part)]
                names = next(frozenset((by_words[x], by_words[y])) for x, y in cuts if x in by_words and y in by_words)
            found.add((row["finding"], row["patient"], row["line"], seconds(row["at"]), names))
    return found


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--plans", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    binary, failed, seen = os.path.abspath(args.binary), 0, {}
    for seed in range(args.seed, args.seed + args.plans):
        tables = make(random.Random(seed))
        with tempfile.TemporaryDirectory() as folder:
            for name, rows in tables.items():
                with open(os.path.join(folder, name), "w", encoding="utf-8") as f:
                    f.write("\n".join(rows) + "\n")
            flows = flows_of(binary, folder, tables["orders.csv"])
            want, got = expected(flows, tables["orders.csv"], verdicts(tables)), reported(binary, folder)
        for finding in got:
            seen[finding[0]] = seen.get(finding[0], 0) + 1
        in_bag = {w[:3] + w[4:] for w in want if w[3] is None}  # its moment is that of the order, looked at in the cases
        missing = {w for w in want if w not in got and w[3] is not None} | {w for w in in_bag if w not in {g[:3] + g[4:] for g in got}}
        extra = {g for g in got if g not in want and g[:3] + g[4:] not in in_bag}
        if missing or extra:
            failed += 1
            print(f"seed {seed}: not told {sorted(map(str, missing))}, told and not expected {sorted(map(str, extra))}")
            if failed == 1:
                print("\n".join(tables["orders.csv"] + tables.get("apart.csv", [])))
    for code in ("apart", "pair-not-on-file", "blood-company"):
        if not seen.get(code):
            failed += 1
            print(f"no plan fires {code}: this test cannot fail")
    print(f"{args.plans - failed} passed, {failed} failed; {seen}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
