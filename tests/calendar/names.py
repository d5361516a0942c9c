#!/usr/bin/python3
"""Reminders of plans that change: names stay, numbers go up where something changed: names.py BINARY FOLDER [--plans N] [--seed S].

Copies of plans/ are edited at random, time after time: beds, notes, the order of rows, rates, times, what hangs, patients who come and go;
what was to be done is charted, late or early.
After each edit the calendar is brought up to date from the one before, and made afresh.

names    one task has one name for ever, whether it moves, its bed changes, or something unrelated does: a bag is known by its number, a
         dose by when it may start, an infusion by its order. No name ever means two tasks
split    a folder of one file per event, written again after each edit, holds the same events to the byte, and leaves files alone that do
         not change
update   what is seen of the calendar that was brought up to date is what the plan says now; SEQUENCE and LAST-MODIFIED go up where
         something that is seen changed and nowhere else; what went away is cancelled; --changes-only holds what changed and no more

FOLDER keeps the npm packages between runs. Ends with `N passed, N failed`.
"""
import argparse
import csv
import datetime as dt
import pathlib
import random
import re
import shutil
import subprocess
import tempfile
from collections import Counter, defaultdict
from zoneinfo import ZoneInfo

import parsers
from events import ROOT, table
from plans import Run, seen

PLANS = [("larkfield", "2026-11-25 19:00"), ("busy", "2026-11-25 07:00"), ("sequence", "2026-11-25 07:00"), ("concurrent", "2026-11-25 07:00"),
         ("blood", "2026-11-25 07:00"), ("pause", "2026-11-25 07:00"), ("contention", "2026-11-25 07:00"), ("clocks-back", "2026-10-24 19:00"),
         ("gravity", "2026-11-25 07:00"), ("steps", "2026-11-25 07:00"), ("remainder", "2026-11-25 07:00"), ("half-hour", "2026-10-03 19:00")]
STEPS = 3
LEAD = 900
WORDS = [[], ["--each"], ["--detail"], ["--each", "--detail"]]
TABLES = "patients", "lines", "orders", "pauses"
DETAILED = re.compile(r"(?P<bed>[^:]+): (?P<kind>[a-z-]+) (?P<clock>\d\d:\d\d), (?P<line>[^,]+)(, .+)?")


# ---- edits of the tables: each gives the tables changed, and is undone where the plan then has errors ----

def bed(rng, tables, mark):
    rng.choice(tables["patients"])["bed"] = f"room-{mark}"


def note(rng, tables, mark):
    rng.choice(tables[rng.choice(["patients", "orders"])])["note"] = f"note {mark}"


def shuffle(rng, tables, _):
    for rows in tables.values():
        rng.shuffle(rows)


def hour_later(rng, tables, _):
    row = rng.choice([r for r in tables["orders"] if re.fullmatch(r"[01]\d:\d\d", r.get("start") or "")] or [{"start": "09:00"}])
    row["start"] = f"{int(row['start'][:2]) + 1:02}{row['start'][2:]}"


def times(rng, tables, _):
    row = rng.choice([r for r in tables["orders"] if r.get("times")] or [{"times": "09:00"}])
    row["times"] = " ".join(f"{(int(t[:2]) + 1) % 24:02}{t[2:]}" for t in row["times"].split())


def hangs(rng, tables, _):
    row = rng.choice([r for r in tables["orders"] if re.fullmatch(r"\d+ mL", r.get("hanging") or "")] or [{"hanging": "1 mL"}])
    row["hanging"] = f"{int(row['hanging'][:-3]) * rng.randrange(50, 100) // 100} mL"


def rate(rng, tables, _):
    row = rng.choice([r for r in tables["orders"] if re.fullmatch(r"\d+ mL/h", r.get("rate") or "")] or [{"rate": "1 mL/h"}])
    row["rate"] = f"{int(row['rate'][:-5]) * rng.choice([80, 90, 110, 120]) // 100} mL/h"


def site(rng, tables, mark):
    rng.choice(tables["lines"])["site"] = f"site {mark}"


def comes(rng, tables, mark):
    who = rng.choice(tables["patients"])["patient"]
    for rows in tables.values():
        rows += [r | {"patient": f"new-{mark}"} | ({"bed": f"bed-{mark}"} if "bed" in r else {}) for r in rows if r["patient"] == who]


def goes(rng, tables, _):
    who = rng.choice(tables["patients"])["patient"]
    for rows in tables.values():
        rows[:] = [r for r in rows if r["patient"] != who]


EDITS = [bed, note, shuffle, hour_later, times, hangs, rate, site, comes, goes, hour_later, hangs, rate]


def write_tables(folder, tables):
    for name, rows in tables.items():
        columns = list(dict.fromkeys(c for r in rows for c in r))
        if not columns:
            (folder / f"{name}.csv").unlink(missing_ok=True)
            continue
        with open(folder / f"{name}.csv", "w", encoding="utf-8", newline="") as f:
            out = csv.DictWriter(f, columns, lineterminator="\n", restval="")
            out.writeheader()
            out.writerows(rows)


class Chain:
    """One plan through its edits: files of each step, to be read all at once."""

    def __init__(self, run, rng, folder, plan, at):
        self.run, self.rng, self.folder, self.plan = run, rng, folder, plan
        self.name = f"{plan} #{folder.name}"
        self.words = rng.choice(WORDS)
        self.ward = folder / "ward"
        shutil.copytree(ROOT / "plans" / plan, self.ward)
        run.use(plan)
        self.zone = run.zone
        self.at = dt.datetime.fromisoformat(at)
        self.steps, self.edits = [], []
        self.step()
        while len(self.steps) <= STEPS:
            self.edit()
            self.chart()
            self.at += dt.timedelta(minutes=rng.choice([0, 7, 30, 120]))
            self.step()

    def edit(self):
        for _ in range(self.rng.randrange(1, 4)):
            change = self.rng.choice(EDITS)
            before = {p.name: p.read_bytes() for p in self.ward.glob("*.csv")}
            tables = {name: table(self.ward, name) for name in TABLES}
            change(self.rng, tables, f"{len(self.steps)}-{self.rng.randrange(1000)}")
            if tables["patients"] and tables["orders"]:
                write_tables(self.ward, tables)
            words = [self.run.binary, "due", self.ward, "--at", f"{self.at:%Y-%m-%d %H:%M}", "--quiet"]
            if subprocess.run(words, capture_output=True, timeout=120, check=False).returncode == 0:
                self.edits.append(change.__name__)
            else:
                for name, data in before.items():
                    (self.ward / name).write_bytes(data)

    def chart(self):
        """One or two of the next bags and infusions are charted now, whatever the plan said."""
        words = {"hang": "hung", "start": "started"}
        coming = [r for r in self.steps[-1]["due"] if r["task"] in words]
        for row in self.rng.sample(coming[:4], min(len(coming), self.rng.randrange(3))):
            done = self.run.call("chart", "--plan", self.ward, row["patient"], row["order"], words[row["task"]], "--at", f"{self.at:%Y-%m-%d %H:%M}", "--by", "KL")
            if done.returncode == 0:
                self.edits.append(f"{row['patient']} {row['order']} {words[row['task']]}")

    def step(self):
        n = len(self.steps)
        at = f"{self.at:%Y-%m-%d %H:%M}"
        span = ["--at", at, "--from", at]
        made = {}
        wanted = {"fresh": self.words, "each": ["--each", "--detail"]}
        if n:
            old = self.folder / f"{n - 1}-whole.ics"
            wanted |= {"whole": [*self.words, "--update", old], "changes": [*self.words, "--update", old, "--changes-only"]}
        for what, words in wanted.items():
            made[what] = self.run.calendar(self.folder / f"{n}-{what}.ics", self.ward, *span, *words)
        if not n:
            made["whole"] = self.folder / "0-whole.ics"
            made["whole"].write_bytes(made["fresh"].read_bytes())
        split = self.folder / "split"
        self.run.output("remind", self.ward, *span, *self.words, "--split", split, "--quiet")
        beds = {r["patient"]: r.get("bed") or r["patient"] for r in table(self.ward, "patients")}
        self.steps.append({"now": int(self.at.replace(tzinfo=ZoneInfo(str(self.zone))).timestamp()), "files": made, "beds": beds,
                           "due": self.run.rows("due", self.ward, *span),
                           "split": {p.stem: (p.read_bytes(), p.stat().st_mtime_ns) for p in split.glob("*.ics")}})


# ---- names ----

def identity(row):
    """What a task is, whenever it is: nothing where a row of `due` does not tell."""
    who = row["patient"], row["order"]
    if row["task"] == "hang":
        return (*who, "bag", re.match(r"bag ([\d,]+)", row["detail"])[1])
    if row["task"] == "dose" and row["earliest"]:
        return (*who, "dose", row["earliest"], row["latest"])
    if row["task"] == "start":
        return (*who, "start")
    return None


def check_names(run, chain):
    name_of, task_of, times_of = {}, {}, defaultdict(set)
    for step in chain.steps:
        by_place = defaultdict(list)
        for uid, event in step["each"].items():
            if m := DETAILED.fullmatch(event["summary"]):
                by_place[event["start"], m["bed"], m["kind"], m["line"]].append(uid)
        places = Counter((r["at"], r["patient"], r["task"], r["line"]) for r in step["due"])
        for row in step["due"]:
            task = identity(row)
            at = int(dt.datetime.fromisoformat(row["at"]).timestamp())
            uids = by_place[at, step["beds"][row["patient"]], row["task"], row["line"]]
            if task is None or len(uids) != 1 or places[row["at"], row["patient"], row["task"], row["line"]] != 1:
                continue
            [uid] = uids
            run.that(name_of.setdefault(task, uid) == uid, f"{chain.name} {chain.edits}: another name for {task}")
            run.that(task_of.setdefault(uid, task) == task, f"{chain.name} {chain.edits}: one name for {task} and {task_of[uid]}")
            times_of[task].add(at)
    return sum(len(times) > 1 for times in times_of.values())


# ---- numbers ----

def brought_up(old, fresh, now):
    """What the calendar must hold that `old` was brought up to: {UID: event}, and the UIDs of what changed."""
    out, changed = {}, set()
    for uid, event in fresh.items():
        before = old.get(uid)
        same = before is not None and seen(before) == seen(event)
        sequence = 0 if before is None else before["sequence"] + (not same)
        out[uid] = seen(event) | {"sequence": sequence, "modified": before["modified"] if same else now}
        if not same:
            changed.add(uid)
    for uid, event in old.items():
        if uid in fresh or event["start"] < now:
            continue
        gone = seen(event)
        if event["status"] != "CANCELLED":
            changed.add(uid)
            gone |= {"status": "CANCELLED", "alarms": [], "summary": f"CANCELLED: {event['summary']}", "sequence": event["sequence"] + 1, "modified": now, "description": None}
        else:
            gone |= {"sequence": event["sequence"], "modified": event["modified"]}
        out[uid] = gone
    return out, changed


def late_of(last, step):
    """Reminders whose alarm is over, but the task is not: not made anew, and not taken away."""
    return {u for e in (last["whole"], step["whole"]) for u in e if step["now"] <= e[u]["start"] < step["now"] + LEAD}


def check_update(run, chain):
    moved = 0
    for last, step in zip(chain.steps, chain.steps[1:]):
        now = step["now"]
        meant, changed = brought_up(last["whole"], step["fresh"], now)
        where = f"{chain.name} {' '.join(chain.words)} at {now} {chain.edits}"
        late = late_of(last, step)
        for uid in (meant.keys() | step["whole"].keys()) - late:
            if not run.that(uid in meant and uid in step["whole"], f"{where}: {'missing' if uid in meant else 'too many'}: {meant.get(uid) or step['whole'][uid]}"):
                continue
            event = seen(step["whole"][uid]) | {k: step["whole"][uid][k] for k in ("sequence", "modified")}
            if meant[uid]["description"] is None:
                run.that("No longer in the plan" in event["description"], f"{where}: {event}")
                event["description"] = None
            run.that(event == meant[uid], f"{where}: {event}, not {meant[uid]}")
        for uid in (changed ^ step["changes"].keys()) - late:
            run.that(False, f"{where}: {'not among' if uid in changed else 'wrongly among'} the changes: {meant.get(uid) or step['changes'][uid]}")
        for uid, event in step["changes"].items():
            run.that(event == step["whole"].get(uid), f"{where}: among the changes {event}, in the calendar {step['whole'].get(uid)}")
        moved += len(changed)
    return moved


# ---- a file for each event ----

EVENT = re.compile(rb"BEGIN:VEVENT\r\nUID:(\S+)\r\n.*?END:VEVENT\r\n", re.DOTALL)


def check_split(run, chain):
    other = set()  # what went away and came back begins with new numbers in a folder, which no longer knows of it
    for last, step in zip([None, *chain.steps], chain.steps):
        other |= late_of(last or step, step) | {u for u, e in step["whole"].items() if e["status"] == "CANCELLED"}
        whole = {m[1].decode(): m[0] for m in EVENT.finditer(step["files"]["whole"].read_bytes())}
        where = f"{chain.name} {' '.join(chain.words)} at {step['now']} {chain.edits}"
        run.that(whole.keys() == step["whole"].keys(), f"{where}: events that are not taken for any")
        for uid in (whole.keys() | step["split"].keys()) - other:
            if not run.that(uid in whole and uid in step["split"], f"{where}: {uid} only {'in the calendar' if uid in whole else 'in the folder'}"):
                continue
            data, written = step["split"][uid]
            run.that([m[0] for m in EVENT.finditer(data)] == [whole[uid]], f"{where}: {uid}: another one in the folder:\n{data.decode()}")
            if last and uid in last["split"] and last["split"][uid][0] == data:
                run.that(last["split"][uid][1] == written, f"{where}: {uid}: written again without need")


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("binary")
    ask.add_argument("modules")
    ask.add_argument("--plans", type=int, default=len(PLANS))
    ask.add_argument("--seed", type=int, default=1)
    asked = ask.parse_args()
    run = Run(asked.binary)
    parsers.install(asked.modules)
    with tempfile.TemporaryDirectory() as name:
        chains = []
        for i in range(asked.plans):
            folder = pathlib.Path(name) / str(i)
            folder.mkdir()
            chains.append(Chain(run, random.Random(asked.seed * 1000 + i), folder, *PLANS[i % len(PLANS)]))
        places = [(step, what, path) for chain in chains for step in chain.steps for what, path in step["files"].items()]
        for (step, what, _), events in zip(places, parsers.read(run, asked.modules, [p for *_, p in places], only="ical.js"), strict=True):
            step[what] = events
        for chain in chains:
            check_split(run, chain)
    moved = sum(check_names(run, chain) for chain in chains)
    changed = sum(check_update(run, chain) for chain in chains)
    run.that(moved >= asked.plans and changed >= 10 * asked.plans, f"only {moved} tasks moved and {changed} reminders changed")
    return run.report()


if __name__ == "__main__":
    raise SystemExit(main())
