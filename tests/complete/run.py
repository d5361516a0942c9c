#!/usr/bin/python3
"""Completions, asked of bash, zsh and fish themselves: run.py BINARY BUILD-FOLDER.

What must be offered comes from elsewhere: verbs and options from --help, beds, orders and lines from the tables, read by Python, files and
folders from the folder. Ends with `N passed, N failed`.
"""
import csv
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from shells import Bash, Fish, Zsh

ROOT = pathlib.Path(__file__).resolve().parents[2]
LARKFIELD = ROOT / "plans" / "larkfield"
passed = failed = 0


def hold(name, fine, why=""):
    global passed, failed
    if fine:
        passed += 1
    else:
        failed += 1
        print(f"{name}: {why}"[:1200])
    return fine


def table(name):
    with open(LARKFIELD / f"{name}.csv", newline="") as file:
        return list(csv.DictReader(file))


def told(binary, *words):
    return subprocess.run([binary, *words, "--help"], capture_output=True, text=True, check=True).stdout


class Asker:
    def __init__(self, shell):
        self.shell = shell

    def same(self, line, wanted, names=lambda offers: offers):
        """The shell offers exactly this. `names`: what of an offer counts."""
        offers, errors = self.shell.offers(line)
        if not line.split(" ")[-1].startswith("-"):  # where nothing else fits zsh offers the verb's options
            offers = {offer for offer in offers if line == "daydrip " or not offer.startswith("--")}
        offers = {name for name in names(offers) if name}
        wanted = set(wanted)
        hold(f"{self.shell.name}: {line}[tab]", offers == wanted and not errors,
             f"missing {sorted(wanted - offers)}, too many {sorted(offers - wanted)} {errors}")


def last_parts(offers):
    """Of paths the last part: a shell may offer it with what stands before, with / behind, or without."""
    return {offer.rstrip("/").split("/")[-1] for offer in offers}


def check_words(ask, binary):
    verbs = re.findall(r"^  ([a-z]+)(?: \S+)*?  +\S", told(binary), re.M)
    ask.same("daydrip ", [*verbs, "--help", "--version"] if ask.shell.name != "fish" else verbs)
    ask.same("daydrip re", [verb for verb in verbs if verb.startswith("re")])
    ask.same("daydrip nosuch", [])
    ask.same("daydrip nosuch ", [])
    for verb in verbs:
        options = re.findall(r"^  (--[a-z-]+)", told(binary, verb), re.M)
        ask.same(f"daydrip {verb} --", options, lambda offers: {offer.rstrip("=") for offer in offers})


def check_values(ask, binary):
    ask.same("daydrip schedule --format ", ["text", "csv"])
    ask.same("daydrip schedule --format=c", ["csv"], lambda offers: {offer.split("=")[-1] for offer in offers})
    ask.same("daydrip totals --by ", ["hour", "shift", "day"])
    ask.same("daydrip report --width ", ["72", "132"])
    ask.same("daydrip report --at ", [])
    ask.same("daydrip new --timezone Europe/Lond", ["Europe/London"])
    ask.same("daydrip explain number-c", ["number-comma"])
    ask.same("daydrip rate ", [])
    ask.same("daydrip regimen --maintenance ", [])  # a word or a rate: neither is written in capitals
    names = re.findall(r"^([a-z-]+)  +\S", told(binary, "regimen").split("NAME, with", 1)[-1], re.M)
    hold("regimens are listed", len(names) > 3, names)
    ask.same("daydrip regimen ", names)


def check_files(ask):
    """In the folder: ward, plain (folders), list.txt (a file)."""
    folders = {"ward", "plain", "odd"}
    for line in ("daydrip report ", "daydrip report --plan ", "daydrip carry --to ", "daydrip remind --split ", "daydrip new "):
        ask.same(line, folders, last_parts)
    ask.same("daydrip report ward ", [])
    for line in ("daydrip report --output ", "daydrip chart --from "):
        ask.same(line, folders | {"list.txt"}, last_parts)
    ask.same("daydrip compare ", folders | {"list.txt"}, last_parts)
    ask.same("daydrip remind --update ", folders | {"list.txt"}, last_parts)
    ask.same("daydrip compare list.txt ", folders, last_parts)
    ask.same("daydrip compare list.txt ward ", [])
    ask.same("daydrip report --from ", [])  # a time there


def check_beds(ask):
    beds = {row.get("bed") or row["patient"] for row in table("patients")}
    hold("the demo ward has beds", len(beds) > 5 and any(bed.startswith("bay3") for bed in beds), beds)
    for line in ("daydrip report ward --patient ", "daydrip report --patient x --plan ward --patient ", "daydrip due ward --at 19:00 --patient ", "daydrip compare list.txt ward --patient ",
                 "daydrip chart --plan ward ", "daydrip bag --plan ward "):
        ask.same(line, beds)
    ask.same("daydrip report ward --patient bay3", {bed for bed in beds if bed.startswith("bay3")})
    ask.same("daydrip report --plan=ward --patient bay3", {bed for bed in beds if bed.startswith("bay3")})
    ask.same("daydrip report plain --patient ", [])  # no plan there: nothing, and no complaint
    ask.same("daydrip due ward --team ", {row["team"] for row in table("patients") if row["team"]})
    for bed in ("bay1-bed2", "bay3-cot1"):
        patient = next(row["patient"] for row in table("patients") if bed in (row.get("bed"), row["patient"]))
        own = {row["order"] for row in table("orders") if row["patient"] == patient} | {row["line"] for row in table("lines") if row["patient"] == patient}
        ask.same(f"daydrip chart --plan ward {bed} ", own | {"intake", "output", "weighed"})
        ask.same(f"daydrip bag --plan ward {bed} ", own)
    figures = re.findall(r'^FIGURE\(\w+, +"([a-z-]+)"', (ROOT / "include/daydrip/figure.def").read_text(), re.M)
    events = re.findall(r'^EVENT\(\w+, +"([a-z-]+)"', (ROOT / "include/daydrip/event.def").read_text(), re.M)
    ask.same("daydrip chart --plan ward bay1-bed2 main ", events)
    ask.same("daydrip chart --plan ward bay1-bed2 main st", [event for event in events if event.startswith("st")])
    ask.same("daydrip explain --plan ward bay1-bed2 left-hand d", [figure for figure in figures if figure.startswith("d")])


def check_odd(ask, folder):
    """A table as a spreadsheet may write it; and one that would like to be run."""
    beds = {"bed;7", "bed8", "$(touch touched)", "`touch touched`"}
    undone = (lambda offers: {re.sub(r"\\(.)", r"\1", offer) for offer in offers})
    ask.same("daydrip report odd --patient ", beds, undone)
    hold(f"{ask.shell.name}: nothing of a table is run", not (folder / "touched").exists(), "a bed's name was run")


def prepare(folder):
    shutil.copytree(LARKFIELD, folder / "ward")
    (folder / "plain").mkdir()
    (folder / "list.txt").write_text("a list\n")
    (folder / "odd").mkdir()
    rows = ["note;bed;patient", '"a; b";"bed;7";p1', ';bed8;p2', 'x;$(touch touched);p3', 'x;`touch touched`;p4']
    (folder / "odd" / "patients.csv").write_bytes(b"\xef\xbb\xbf" + "\r\n".join(rows).encode() + b"\r\n")


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    binary, build = (pathlib.Path(word).resolve() for word in sys.argv[1:])
    missing = [name for name in ("bash", "zsh", "fish", "awk") if not shutil.which(name)]
    if missing:
        sys.exit(f"not there: {', '.join(missing)}; tests/run installs them")
    with tempfile.TemporaryDirectory() as name:
        folder, own = pathlib.Path(name) / "work", pathlib.Path(name) / "own"
        folder.mkdir()
        own.mkdir()
        prepare(folder)
        for shell in (Bash(build, folder), Zsh(build, folder, own), Fish(build, folder, own)):
            ask = Asker(shell)
            check_words(ask, binary)
            check_values(ask, binary)
            check_files(ask)
            check_beds(ask)
            check_odd(ask, folder)
            if shell.name != "fish":
                for line, wanted in (("daydrip rep", ["report"]), ("daydrip chart --plan ward bay1-bed2 main om", ["chart", "--plan", "ward", "bay1-bed2", "main", "omitted"])):
                    given = shell.typed(line, own)
                    hold(f"{shell.name}: {line}, typed", given == wanted, given)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
