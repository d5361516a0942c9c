#!/usr/bin/env python3
"""The verb `fluids`: run.py BINARY [--mixtures N] [--seed S].

The rows against the lists they are made from, read here once more; the pages against the rows; random mixtures against fractions; a
ward's own fluids. Ends with `N passed, N failed`. Only the standard library.
"""
import argparse
import csv
import io
import pathlib
import random
import re
import subprocess
import sys
import tempfile
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

ROOT = pathlib.Path(__file__).resolve().parents[2]
MEMBERS = ("sodium", "potassium", "chloride", "calcium", "magnesium", "phosphate", "lactate", "acetate", "bicarbonate", "glucose", "osmolarity")
UNITS = dict.fromkeys(MEMBERS, "mmol") | {"glucose": "g", "osmolarity": "mOsm"}
binary = ""
passed = failed = 0


def check(name, got, wanted):
    global passed, failed
    if got == wanted:
        passed += 1
    else:
        failed += 1
        print(f"{name}:\n  wanted {wanted!r}\n  got    {got!r}")


def run(*words):
    return subprocess.run([binary, "fluids", *map(str, words)], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)


def rows(*words):
    done = run(*words, "--format", "csv")
    assert done.returncode == 0, done.stderr
    return list(csv.DictReader(io.StringIO(done.stdout)))


def plain(value):
    """An exact fraction as rows have it: half up at the third decimal, no zeros at the end; `?` where it is not known."""
    if value is None:
        return "?"
    scaled = Decimal(value.numerator * 1000 * 2 + value.denominator).__floordiv__(Decimal(2 * value.denominator))
    text = str((scaled / 1000).quantize(Decimal("0.001"), ROUND_HALF_UP))
    return text.rstrip("0").rstrip(".")


# ---- the lists, read once more ----

def listed(name, macro):
    """The arguments of every row of a list."""
    text = re.sub(r"/\*.*?\*/", "", (ROOT / "src" / "plan" / name).read_text(), flags=re.S)
    for found in re.finditer(rf"^{macro}\((.*?)\)$", text, re.S | re.M):
        yield [part[1:-1] if part.startswith('"') else part for part in re.findall(r'"[^"]*"|[^\s,"]+', found[1])]


def fluid_list():
    """{key: (words, category, values per litre in the member's unit, hours, form, evidence, source)}"""
    result = {}
    for key, words, category, *values, hang, form, evidence, source in listed("fluid.def", "FLUID"):
        has = [None if v == "DD_UNKNOWN" else Fraction(int(v), 1000) for v in values]
        result[key] = (words, category, dict(zip(MEMBERS, has)), Fraction(int(hang), 3600), form, evidence, source)
    return result


def additive_list():
    """{key: (unit, what 1 of it brings, mmol in 1 g or None, mEq in 1 mmol or 0)}"""
    result = {}
    for key, _, _, unit, of, *brings, weighs, valence, _, _ in listed("additive.def", "ADDITIVE"):
        each = {m: Fraction(int(b), int(of)) for m, b in zip(MEMBERS, brings)}
        result[key] = (unit, each, Fraction(int(of) * 1000, int(weighs)) if int(weighs) else None, int(valence))
    return result


def rows_as_listed():
    known = fluid_list()
    printed = rows()
    check("every fluid of the list, in its order", [r["fluid"] for r in printed], list(known))
    for r in printed:
        words, category, has, hours, form, evidence, source = known[r["fluid"]]
        wanted = [words, "diluent only" if category == "DILUENT" else category.lower(), *(plain(has[m]) for m in MEMBERS),
                  {"NONE": "", "NOT_STATED": "not stated"}.get(form, form.lower()), plain(hours) if hours else "", source, evidence.lower(), "built in"]
        got = [r["words"], r["category"], *(r[f"{m}_{UNITS[m].lower()}_per_l"] for m in MEMBERS), r["glucose_form"], r["hang_time_h"], r["source"],
               r["evidence"], r["row"]]
        check(r["fluid"], got, wanted)
    known = additive_list()
    printed = rows("--additives")
    check("every additive of the list, in its order", [r["additive"] for r in printed], list(known))
    for r in printed:
        unit, brings, in_gram, valence = known[r["additive"]]
        heads = [f"{'osmoles' if m == 'osmolarity' else m}_{UNITS[m].lower()}" for m in MEMBERS]
        check(r["additive"], [r[h] for h in heads] + [r["amount"], r["charge_meq"]],
              [plain(brings[m]) for m in MEMBERS] + ["1 g" if unit == "GRAM" else "1 mmol", str(valence or "")])
        check(f"{r['additive']}, its weight", r["weight_mg"], plain(1000 / in_gram) if in_gram else "")


# ---- the pages ----

def blocks(text):
    """{key: the block under it as one line}; headings and ends of pages left out."""
    result, key = {}, None
    lines = [line for page in text.split("\f") for line in page[page.index("-" * 72):].splitlines()]
    for line in lines:
        if re.match(r"-{72}|END OF|$", line):
            key = None
        elif not line.startswith(" "):
            key = line.split()[0]
            result[key] = line
        else:
            result[key] += " " + line.strip()
    return result


def pages_as_rows(words=()):
    """Every page has its size, and every fluid and additive all that its row has."""
    for width in ("72", "132"):
        text = run(*words, "--width", width).stdout
        pages = text.split("\f")
        check("pages of 60 lines", max(len(p.splitlines()) for p in pages) <= 60, True)
        check(f"{width} columns", max(map(len, text.splitlines())) <= int(width), True)
    shown = blocks(run(*words).stdout)
    for r in rows(*words):
        block = shown.pop(r["fluid"])
        own = r["row"] != "built in"
        figures = block.rpartition(r["source"])[0].replace(r["words"], "")
        named = dict(re.findall(r"\b(\w+) ([\d.,]+(?= mmol/L| g/L)|\?)", figures))
        osmolarity = re.search(r"([\d.,]+) mOsm/L", figures)
        got = {m: named.get(m, "0").replace(",", "") for m in MEMBERS[:-1]}
        got["osmolarity"] = osmolarity[1].replace(",", "") if osmolarity else named.get("osmolarity", "nothing")
        check(f"page of {r['fluid']}", got, {m: r[f"{m}_{UNITS[m].lower()}_per_l"] for m in MEMBERS})
        for text in (r["words"], r["category"], r["source"], f"({r['glucose_form']})" if r["glucose_form"] in ("anhydrous", "monohydrate") else "",
                     "from memory" if r["evidence"] == "memory" else "", "the ward's own, fluids.csv line" if own else ""):
            check(f"page of {r['fluid']}: {text}", re.sub(r"\s+", " ", text) in block, True)
        check(f"page of {r['fluid']}: from memory", "; from memory" in block, r["evidence"] == "memory")
    for r in rows("--additives"):
        check(f"page of {r['additive']}", r["source"] in shown.get(r["additive"], "") or r["additive"] == "glucose", True)


# ---- random mixtures ----

def random_part(rng, name, additive):
    """(as it is written, its amount in the list's unit, per bag)"""
    unit, _, in_gram, valence = additive
    number = Fraction(rng.randrange(1, 200000), 10 ** rng.randrange(0, 4))
    ways = [("g", Fraction(1))] if unit == "GRAM" else [("mmol", Fraction(1))]
    if unit != "GRAM" and valence:
        ways.append(("mEq", Fraction(1, valence)))
    if unit != "GRAM" and in_gram:
        ways += [("g", in_gram), ("mg", in_gram / 1000)]
    written, each = rng.choice(ways)
    if written == "mg":
        number *= 100
    number = min(number, Fraction(2000))
    below = rng.choice([None, ("L", Fraction(1)), ("mL", Fraction(1, 1000)), ("500 mL", Fraction(1, 2))])
    if below and below[0] == "mL":
        number = min(number, Fraction(3, 2))
    amount = number * each
    text = f"{name} {plain(number)} {written}" + (f"/{below[0]}" if below else "")
    return text, amount / (below[1] if below else 1), below is None


def random_mixtures(count, seed):
    rng = random.Random(seed)
    fluids, additives = fluid_list(), additive_list()
    for _ in range(count):
        key = rng.choice(list(fluids))
        bag = Fraction(rng.randrange(1, 3000000), 1000)
        litre = dict(fluids[key][2])
        text = key
        for name in rng.choices(list(additives), k=rng.randrange(0, 5)):
            part, amount, per_bag = random_part(rng, name, additives[name])
            text += " + " + part
            if per_bag:
                amount = amount / (bag / 1000)
            for m in MEMBERS:
                litre[m] = None if litre[m] is None else litre[m] + amount * additives[name][1][m]
        done = run("--mixture", text, "--bag", f"{plain(bag)} mL", "--format", "csv")
        if any(v is not None and v > 9999999 for v in litre.values()) or done.returncode:
            # 10 mol or 10 kg in a litre: there is no such fluid
            check(f"{text} in {plain(bag)} mL is refused", (done.returncode, "too large" in done.stderr, any(v is not None and v > 10000 for v in litre.values())),
                  (2, True, True))
            continue
        wanted = [[m, plain(litre[m]), f"{UNITS[m]}/L"] for m in MEMBERS] + [["bag", plain(bag), "mL"]]
        wanted += [[m, plain(None if litre[m] is None else litre[m] * bag / 1000), UNITS[m]] for m in MEMBERS]
        check(f"{text} in {plain(bag)} mL", list(csv.reader(io.StringIO(done.stdout)))[1:], wanted)


# ---- a ward's own ----

def ward_fluids():
    with tempfile.TemporaryDirectory() as folder:
        plan = pathlib.Path(folder) / "ward"
        subprocess.run([binary, "new", "--demo", plan], capture_output=True, check=True)
        (plan / "fluids.csv").write_text(
            "fluid,words,category,sodium,potassium,chloride,glucose,osmolarity,hang_time,source\n"
            "NaCl-0.9,our sodium chloride 0.9 %,fluid,154 mmol/L,0 mmol/L,154 mEq/L,0 g/L,308 mOsm/L,12 h,label of the bag\n"
            "ward-mix,,nutrition,40 mmol/L,77 mmol/500 mL,,100 mg/mL,,,pharmacy sheet 7\n"
            "metronidazole-carrier,,,,,,,,,label of the bag\n")
        printed = rows(plan)
        check("the ward's own first", [r["fluid"] for r in printed[:3]], ["nacl-0.9", "ward-mix", "metronidazole-carrier"])
        check("each fluid once", [r["row"] for r in printed if r["fluid"] == "nacl-0.9"], ["fluids.csv:2"])
        check("all others", len(printed), len(fluid_list()) + 2)
        mix = printed[1]
        check("ward-mix", [mix[c] for c in ("words", "category", "sodium_mmol_per_l", "potassium_mmol_per_l", "chloride_mmol_per_l", "glucose_g_per_l",
                                            "glucose_form", "osmolarity_mosm_per_l", "hang_time_h", "evidence")],
              ["ward-mix", "nutrition", "40", "154", "?", "100", "not stated", "?", "", "ward"])
        check("hang time", printed[0]["hang_time_h"], "12")
        pages_as_rows((plan,))
        text = run(plan).stdout
        check("its heading", text.startswith("DEMO, NOT FOR CARE   LARKFIELD"), True)
        check("instead of the built-in one", "fluids.csv line 2, instead of the one built in" in re.sub(r"\s+", " ", text), True)
        done = run(plan, "--mixture", "ward-mix + kcl 6 mmol/L", "--bag", "500mL", "--format", "csv")
        check("a mixture with it", [line for line in done.stdout.splitlines() if line.startswith(("potassium", "chloride"))],
              ["potassium,160,mmol/L", "chloride,?,mmol/L", "potassium,80,mmol", "chloride,?,mmol"])
        done = run("--plan", plan, "--mixture", "ward-mix")
        check("demo is said", (done.returncode, done.stdout.splitlines()[0]), (0, "DEMO, NOT FOR CARE"))
        code = re.search(r"page code (\S+)", text)[1]
        (plan / "orders.csv").write_text("patient,order,fluid,line\n")
        check("the page code stands for the fluids alone", re.search(r"page code (\S+)", run(plan).stdout)[1], code)
        (plan / "fluids.csv").write_text("fluid,sodium,source\nward-mix,1 mmol/L,x\nmetronidazole-carrier,,x\n")
        check("and for all of them", re.search(r"page code (\S+)", run(plan).stdout)[1] != code, True)
        (plan / "fluids.csv").write_text("fluid,sodium,source\nward-mix,\"1,5 mmol/L\",x\n")
        done = run(plan)
        check("an error in fluids.csv", (done.returncode, done.stdout, "[number-comma]" in done.stderr), (3, "", True))
    check("no folder", (run("nowhere").returncode, run("--additives", "nowhere").returncode), (4, 4))
    check("no plan needed, nor looked for", subprocess.run([binary, "fluids", "--additives"], cwd="/", capture_output=True, check=False).returncode, 0)


def main():
    global binary
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--mixtures", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    binary = str(pathlib.Path(asked.binary).resolve())
    rows_as_listed()
    pages_as_rows()
    random_mixtures(asked.mixtures, asked.seed)
    ward_fluids()
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
