#!/usr/bin/env python3
"""Holds the osmolarity of every fluid of the catalogue against the sum of what is in it.

    osmolarity.py BINARY

Ions count as they are, glucose by its molar mass in the form in which it is weighed; that sum must be within 1 % of the label's
figure, which is what a slip in any column would break. osmolarity.csv lists the fluids that it cannot hold for, and why: `other` is
what a litre holds beside the columns, in mmol, with which the sum must hold all the same; blank where there is no such figure. A row
that is not needed is as wrong as one that is missing. Only the standard library.
"""
import csv
import decimal
import pathlib
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
IONS = ("sodium", "potassium", "chloride", "calcium", "magnesium", "phosphate", "lactate", "acetate", "bicarbonate")
GRAMS_PER_MOL = {"anhydrous": decimal.Decimal("180.16"), "monohydrate": decimal.Decimal("198.17")}
MOST = decimal.Decimal("0.01")


def osmoles(fluid):
    """The sum in mOsm/L; None: something in it is not known."""
    parts = [fluid[f"{ion}_mmol_per_l"] for ion in IONS]
    glucose = fluid["glucose_g_per_l"]
    if "?" in parts or glucose == "?" or (glucose != "0" and fluid["glucose_form"] not in GRAMS_PER_MOL):
        return None
    total = sum(map(decimal.Decimal, parts))
    if glucose != "0":
        total += decimal.Decimal(glucose) * 1000 / GRAMS_PER_MOL[fluid["glucose_form"]]
    return total


def agrees(total, label):
    return abs(total - label) <= MOST * label


def problem(fluid, exception):
    """None, or what is wrong."""
    total = osmoles(fluid)
    comparable = total is not None and fluid["osmolarity_mosm_per_l"] != "?"
    label = decimal.Decimal(fluid["osmolarity_mosm_per_l"]) if comparable else None
    if comparable and agrees(total, label):
        return "adds up, but osmolarity.csv says why not" if exception else None
    if not exception:
        return f"its parts make {total}, its label {fluid['osmolarity_mosm_per_l']}, and osmolarity.csv does not say why"
    if not exception["reason"] or bool(exception["other"]) != bool(exception["what"]):
        return "osmolarity.csv needs a reason, and `other` together with `what`"
    if not exception["other"]:
        return None
    if not comparable:
        return "osmolarity.csv names what is missing, and something else is not known"
    whole = total + decimal.Decimal(exception["other"])
    return None if agrees(whole, label) else f"with {exception['what']} its parts make {whole}, its label {label}"


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    with open(HERE / "osmolarity.csv", newline="", encoding="utf-8") as file:
        exceptions = {row["fluid"]: row for row in csv.DictReader(file)}
    done = subprocess.run([sys.argv[1], "fluids", "--format", "csv"], capture_output=True, text=True, timeout=60, check=True)
    fluids = list(csv.DictReader(done.stdout.splitlines()))
    passed = failed = 0
    problems = [(fluid["fluid"], problem(fluid, exceptions.get(fluid["fluid"]))) for fluid in fluids]
    problems += [(name, "is in osmolarity.csv and in no catalogue") for name in exceptions if name not in {f["fluid"] for f in fluids}]
    problems.append(("catalogue", None if len(fluids) > 50 else f"has only {len(fluids)} fluids"))
    for name, wrong in problems:
        passed, failed = passed + (wrong is None), failed + (wrong is not None)
        if wrong:
            print(f"{name}: {wrong}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
