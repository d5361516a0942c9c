#!/usr/bin/python3
"""Reminders read by four parsers, which must agree with each other and with what is meant: readers.py BINARY FOLDER.

plans    every task that `due` tells stands in the calendar, at its time and of its bed, and nothing else does
hostile  a ward whose texts are made of what calendars stumble over: the same text comes out of every parser, without what must not be
         in a calendar

FOLDER keeps the npm packages between runs. Ends with `N passed, N failed`.
"""
import datetime as dt
import pathlib
import random
import re
import sys
import tempfile
from collections import Counter, defaultdict
from dataclasses import dataclass

import parsers
from check import PAGE, check_bytes
from events import ROOT, table
from plans import Run, instant, write_plan

# plan, --at, further words
CASES = [
    ("larkfield", "2026-11-25 19:00", []),
    ("larkfield", "2026-11-25 07:00", ["--each", "--detail"]),
    ("larkfield", "2026-11-25 13:00", ["--lead", "0min", "--detail"]),
    ("blood", "2026-11-25 07:00", []),
    ("blood", "2026-11-25 07:00", ["--each"]),
    ("busy", "2026-11-25 19:00", ["--lead", "1h"]),
    ("calm", "2026-03-10 07:00", ["--detail"]),
    ("concurrent", "2026-11-25 07:00", ["--each"]),
    ("gravity", "2026-11-25 07:00", ["--each"]),
    ("gravity", "2026-11-25 07:00", []),
    ("pause", "2026-11-25 07:00", []),
    ("pause", "2026-11-25 07:00", ["--each"]),
    ("steps", "2026-11-25 07:00", []),
    ("night", "2026-03-10 19:00", []),
    ("clocks-forward", "2026-03-28 19:00", ["--each"]),
    ("clocks-forward", "2026-03-28 19:00", []),
    ("clocks-back", "2026-10-24 19:00", ["--each"]),
    ("clocks-back", "2026-10-24 19:00", []),
    ("half-hour", "2026-10-03 19:00", ["--each"]),
]
TITLE = re.compile(r"(?s)(?P<bed>.+?): (?P<kinds>second nurse|[a-z-]+(, [a-z-]+)*) (?P<clock>\d\d:\d\d)(?P<second>, second nurse)?(, .+)?")
ROUND = re.compile(r"(?s)(team (?P<team>.+): )?round (?P<clock>\d\d:\d\d)(, (?P<sites>[\d,]+) sites?)?(, (?P<tubes>[\d,]+) tubes?)?(, (?P<sets>\d+) sets?)?(, (?P<dressings>\d+) dressings?)?")
MAY_DRY = "may be dry from now on: "


@dataclass
class Told:
    """What the events of a file tell."""
    tasks: Counter  # (time, bed, kind)
    spans: Counter  # (time, team): looks, sets and dressings, at rounds and visits


def lead_of(words):
    return {"0min": 0, "15min": 900, "1h": 3600}[words[words.index("--lead") + 1] if "--lead" in words else "15min"]


def check_form(run, name, event, at, lead):
    event = dict(event)
    for key, value in (("utc", True), ("sequence", 0), ("status", "CONFIRMED"), ("transparent", True), ("categories", ["infusion"]), ("stamp", at), ("modified", at)):
        run.that(event[key] == value, f"{name}: {key} {event[key]!r}")
    run.that(event["end"] - event["start"] == 600, f"{name}: lasts {event['end'] - event['start']} s")
    run.that(event["alarms"] == [{"before": lead, "action": "DISPLAY", "text": f"{event['summary']}\n{event['description']}"}], f"{name}: {event['alarms']}")
    run.that(PAGE.search(event["description"]), f"{name}: {event['description']!r}")


def tell(run, name, events, patients):
    told = Told(Counter(), Counter())
    team_of = {p["patient"]: p.get("team", "") for p in patients}
    for event in events.values():
        at, title = event["start"], event["summary"]
        if m := ROUND.fullmatch(title):
            told.spans[at, m["team"] or ""] += sum(int((m[g] or "0").replace(",", "")) for g in ("sites", "tubes", "sets", "dressings"))
        elif m := TITLE.fullmatch(title):
            for kind in (*m["kinds"].replace("second nurse", "second").split(", "), *(["second"] if m["second"] else [])):
                told.tasks[at, m["bed"], kind] += 1
            told.spans[at, team_of.get(m["bed"], "?")] += event["description"].count("To do: ")
        else:
            run.that(False, f"{name}: title {title!r}")
        clock = dt.datetime.fromtimestamp(at, run.zone).strftime("%H:%M")
        run.that(m and m["clock"] == clock, f"{name}: {title!r} stands at {clock}")
    return told


def check_each(run, name, told, due):
    meant = Counter((r["s"], r["patient"], r["task"]) for r in due)
    for key, n in (meant - told.tasks).items():
        run.that(False, f"{name}: {n} reminders missing: {key}")
    for key, n in (told.tasks - meant).items():
        run.that(False, f"{name}: {n} reminders too many: {key}")
    run.that(sum(told.tasks.values()) > 0, f"{name}: nothing is told")


def check_gathered(run, name, told, due, patients):
    team_of = {p["patient"]: p.get("team", "") for p in patients}
    spans, given, meant = Counter(), set(), set()
    for row in due:
        meant.add((row["s"], row["patient"], row["task"]))
        # A look, set or dressing has a span; that a gravity bag may be dry is told as what is to be done too.
        if (row["earliest"] and row["task"] in ("check", "set", "dressing")) or row["detail"].startswith(MAY_DRY):
            spans[row["s"], team_of[row["patient"]]] += 1
        elif (row["s"], row["patient"], row["task"]) not in told.tasks:
            # that a line goes on after a dose is told with the dose
            run.that(row["task"] == "goes-on" and row["patient"] in given, f"{name}: no reminder: {row['at']} {row['patient']} {row['task']}")
        else:
            run.that(True, "")
        if row["task"] == "dose":
            given.add(row["patient"])
    for key in told.tasks:
        run.that(key in meant, f"{name}: nothing of that is due: {key}")
    for key in spans | told.spans:
        run.that(spans[key] == told.spans[key], f"{name}: {told.spans[key]} looks and changes, not {spans[key]}: {key}")
    run.that(len(told.tasks) + len(told.spans) > 0, f"{name}: nothing is told")


def check_plans(run, modules, folder):
    files = []
    for i, (plan, at, words) in enumerate(CASES):
        files.append(run.calendar(folder / f"{i}.ics", f"plans/{plan}", "--at", at, "--from", at, *words))
    for (plan, at, words), path, events in zip(CASES, files, parsers.read(run, modules, files), strict=True):
        run.use(plan)
        name, lead, now = f"{plan} {at} {' '.join(words)}", lead_of(words), instant(run.zone, at)
        patients = table(ROOT / "plans" / plan, "patients")
        due = run.rows("due", f"plans/{plan}", "--at", at, "--from", at)
        due = [r | {"s": int(dt.datetime.fromisoformat(r["at"]).timestamp())} for r in due]
        due = [r for r in due if r["s"] >= now + lead]
        check_bytes(run, path.read_bytes())
        for event in events.values():
            check_form(run, f"{name}: {event['summary']}", event, now, lead)
        told = tell(run, name, events, patients)
        if "--each" in words:
            check_each(run, name, told, due)
        else:
            check_gathered(run, name, told, due, patients)


# ---- texts that calendars stumble over ----

# (`%2C` is left out: Python's icalendar takes it for a comma, because it marks commas so while it reads.)
PIECES = [",", ";", ":", "\\", "\\\\", "\\n", "\\,", "\"", "'", "=", "^n", "%", "a", "bc", " ", "\u00e9", "e\u0301", "\u20ac", "\u4e2d\u6587", "\U0001f600",
          "\U0001f469\u200d\u2695\ufe0f", "\U0001f1f5\U0001f1ea", "\u05e9\u05dc\u05d5\u05dd", "\u0645\u0631\u062d\u0628\u0627", "\u200e", "\u200f", "\u202e", "\u202c",
          "\u2066", "\u2069", "\u061c", "\u2028", "\u2029", "\ufeff", "\u200b", "\u2060", "\u00a0", "\u3000"]
NOWHERE = "NOT-FOR-CALENDARS"  # in notes and sites, which no reminder tells
UNSEEN = re.compile("[\u061c\ufeff\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f]")


def clean(text):
    """What of a text may be in a calendar."""
    return UNSEEN.sub("", re.sub("[\u2028\u2029]", " ", text)).replace("\\", "/")


def cut(text, octets):
    return text.encode()[:octets].decode(errors="ignore")


def hostile_texts(rng):
    """Pairs: the name of a team, up to 100 octets, and the words of a fluid, up to 200."""
    for n in range(1, 78):  # a tail at each place of a line
        tail = PIECES[n % len(PIECES)]
        yield "a" * n + tail + "z", "b" * n + tail * 3 + "z"
    for n in 30, 31, 32, 73, 74, 75:
        for tail in ",", "\\", "\U0001f600", "\u200f,":
            yield "c" * n + tail + "z", tail.join(["d" * n] * 2) + "z"
    for _ in range(60):
        team, words = ("".join(rng.choices(PIECES, k=k)) for k in (30, rng.randrange(3, 100)))
        yield "t" + cut(team, 90) + "z", "w" + cut(words, 190) + "z"
    yield "," * 60, "\\," * 80 + "z"


def write_ward(folder, texts):
    patients, lines, orders, fluids = [], [], [], []
    for i, (team, words) in enumerate(texts):
        key = f"p{i}"
        patients.append([key, "50 years", "70 kg", "none", team, f"{NOWHERE} {cut(words, 200)}"])
        lines.append([key, "arm", "peripheral", f"{NOWHERE} {cut(team, 80)}", "20 G"])
        orders.append([key, "main", f"fluid-{i}", "arm", "100 mL/h", "1 L", "400 mL", "2026-11-25 01:00", f"{NOWHERE} {cut(words, 200)}"])
        fluids.append([f"fluid-{i}", words, "fluid", "154 mmol/L", "154 mmol/L", "0 g/L", "308 mOsm/L", "a label"])
    write_plan(folder, "Etc/UTC", "2026-11-25 07:00", {
        "patients": ["patient,age,weight,allergies,team,note", *patients],
        "lines": ["patient,line,kind,site,gauge", *lines],
        "orders": ["patient,order,fluid,line,rate,bag,hanging,hung,note", *orders],
        "fluids": ["fluid,words,category,sodium,chloride,glucose,osmolarity,source", *fluids],
    })


def check_hang(run, i, words, event):
    detail = f"arm, bag 2, {words}, 100 mL/h"
    title = f"p{i}: hang 11:00"
    titles = {f"{title}, {clean(detail)}"} if len(f"{title}, {detail}") <= 170 else {title}
    if len(clean(detail)) < len(detail):
        titles.add(title)  # how long it was before it was cleaned may count
    run.that(event["summary"] in titles, f"{words!r}: title {event['summary']!r}")
    text = (f"{clean(detail)}\nGet ready at 10:45. What, how much and how fast stand on the printed page, front of P{i}.\n"
            "The page counts, not this reminder; if the page is missing, go by the order.\nMade Wed 25 Nov 07:00. A plan, not an order.")
    run.that(PAGE.sub("", event["description"]) == text, f"{words!r}: text {event['description']!r}")


def check_round(run, i, team, event):
    run.that(event["summary"] == f"team {clean(team)}: round 11:00, 1 site", f"{team!r}: title {event['summary']!r}")
    text = (f"Sites: p{i}.\nLevels to expect stand on the printed page, which counts, not this reminder.\nMade Wed 25 Nov 07:00. A plan, not an order.")
    run.that(PAGE.sub("", event["description"]) == text, f"{team!r}: text {event['description']!r}")


def check_hostile(run, modules, folder):
    texts = list(dict.fromkeys(hostile_texts(random.Random(1))))
    run.that(len({t for t, _ in texts}) == len(texts), "two teams of one name")
    write_ward(folder / "ward", texts)
    path = run.calendar(folder / "hostile.ics", folder / "ward", "--at", "2026-11-25 07:00", "--from", "11:00", "--to", "11:01", "--detail")
    data = path.read_bytes()
    check_bytes(run, data)
    run.that(NOWHERE.encode() not in data.replace(b"\r\n ", b""), "a note or a site stands in the calendar")
    lengths = {len(line) for line in data.split(b"\r\n")}
    run.that({72, 73, 74, 75} <= lengths, "no fold was moved by a character or an escape of any length")
    [events] = parsers.read(run, modules, [path])
    at = instant(dt.timezone.utc, "2026-11-25 07:00")
    of_bed, of_team = {}, defaultdict(list)
    for event in events.values():
        check_form(run, event["summary"], event, at, 900)
        if m := re.match(r"p(\d+): ", event["summary"]):
            of_bed[int(m[1])] = event
        elif m := re.match(r"Sites: p(\d+)\.\n", event["description"]):
            of_team[int(m[1])].append(event)
    for i, (team, words) in enumerate(texts):
        run.that(i in of_bed and len(of_team[i]) == 1, f"{i} {team!r} {words!r}: not one reminder of each kind")
        if i in of_bed:
            check_hang(run, i, words, of_bed[i])
        for event in of_team[i]:
            check_round(run, i, team, event)


def main():
    run = Run(sys.argv[1])
    modules = sys.argv[2]
    parsers.install(modules)
    with tempfile.TemporaryDirectory() as folder:
        check_plans(run, modules, pathlib.Path(folder))
        check_hostile(run, modules, pathlib.Path(folder))
    return run.report()


sys.exit(main())
