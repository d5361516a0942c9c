#!/usr/bin/python3
"""Holds due, gather and label against the schedule and figures worked out by hand: run.py BINARY [--plans N] [--seed S].

due      every plan of plans/ and random plans: what derive.py makes of the schedule; threads and shards change nothing
figures  the demo ward's evening, by hand (the bag of 488 mL at 80 mL/h stopped for 36 min is dry at 01:42, and so on)
gather   what is to be fetched against what is due
label    the time tape of a gravity bag against the schedule and by hand, amounts in a bag
"""
import argparse
import csv
import datetime as dt
import pathlib
import re
import sys
import tempfile
from fractions import Fraction
from zoneinfo import ZoneInfo

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(HERE.parent / "property"), str(HERE.parent)]

import derive  # noqa: E402
import generate  # noqa: E402
from count import Count  # noqa: E402
from derive import HOUR, MINUTE, instant, rows, table  # noqa: E402

EVENING = "2026-11-25 19:00"
FIRST_LOOK, OBSERVE, EARLY = 30 * MINUTE, 15 * MINUTE, 10 * MINUTE


def setting(folder, name):
    return next(r["value"] for r in table(folder, "ward") if r["setting"] == name)


def read(text):
    """Rows of `due`, with instants."""
    got = rows(text)
    for row in got:
        row["s"] = instant(row["at"])
        row["key"] = (row["s"], row["patient"], row["line"], row["order"])
    return got


# ---- due ----

def check_tied(count, name, plan, due, now, end):
    """What is tied to the timeline, both ways."""
    def of(task):
        return {row["key"] for row in due if row["task"] == task}

    def same(task, expected, allowed=frozenset(), ignored=frozenset()):
        expected = {key for key in expected if now <= key[0] < end} - set(ignored)
        got = {key for key in of(task) if key[0] < end} - set(ignored)
        count.that(expected <= got, f"{name}: {task} missing: {sorted(expected - got)[:3]}")
        count.that(got <= expected | set(allowed), f"{name}: {task} that is none: {sorted(got - expected - set(allowed))[:3]}")

    goes, rate, either = plan.changes()
    starts, maybe = plan.starts()
    same("hang", plan.hangs())
    same("dose", plan.doses())
    same("start", starts, allowed=maybe)
    same("rate", rate, allowed=either)
    # a primary goes on; a bag that was empty when it stopped is changed then
    same("goes-on", goes)
    stops = of("stop") | of("ends")
    for (patient, line), flows in plan.lines.items():
        ends = {stop for _, stop in flows.flows if now <= stop < end}
        told = {key[0] for key in stops if key[1:3] == (patient, line)}
        if not plan.enteral(patient, line):
            count.that(ends <= told, f"{name}: {patient} {line} stands still from {sorted(ends - told)[:3]}, nobody is told")
        only_ends = {key[0] for key in of("ends") if key[1:3] == (patient, line)}
        count.that(only_ends <= ends, f"{name}: {patient} {line} ends at {sorted(only_ends - ends)[:3]}, but it flows or stood still")
    second = {key[:2] + key[3:] for key in of("second")}
    changes = {key[:2] + key[3:] for task in ("start", "hang", "rate", "goes-on", "dose") for key in of(task)}
    count.that(second <= changes, f"{name}: a second nurse for nothing")
    for key in of("start") | of("hang"):
        order = plan.orders[key[1], key[3]]
        if plan.blood(key[1], key[3]) or order["fluid"].startswith("insulin"):
            count.that(key[:2] + key[3:] in second, f"{name}: {key} takes two nurses")
    observed = {key for key in of("observe")}
    for (p, o, due_at), row in plan.runs().items():
        if not plan.blood(p, o):
            continue
        after = row["from_s"] + OBSERVE
        last = max(r["to_s"] for r in plan.rows if (r["patient"], r["order"], r["due"]) == (p, o, due_at))
        if now <= after < end and after < last:
            count.that((after, p, row["line"], o) in observed, f"{name}: nobody observes {p} {o} after its start")
    for row in due: # over: dry, or by its time; a pause is not its end
        if plan.blood(row["patient"], row["order"]) if row["order"] else False:
            if row["task"] == "ends" or (row["task"] == "stop" and "its time is over" in row["detail"]):
                count.that(row["key"] in observed, f"{name}: nobody observes at the end: {row}")

def check_windows(count, name, plan, due):
    due_of = {(r["patient"], r["order"], r["from_s"]): r["due"] for r in plan.rows if r["part"] == "bag" and r["due"]}
    for row in due:
        if row["task"] != "dose":
            continue
        if plan.ward_windows and not plan.orders[row["patient"], row["order"]].get("window"):
            continue
        when = due_of.get((row["patient"], row["order"], row["s"]))
        if when is None:
            continue
        window = plan.window(row["patient"], row["order"])
        count.that((instant(row["earliest"]), instant(row["latest"])) == (instant(when) - window, instant(when) + window),
                   f"{name}: window of {row}, due {when}, {window} s")


def check_looks(count, name, plan, due, now, end):
    """No line goes longer without a look than the rules say, every start on a still line has its first look, and nothing else is looked at
    but on a round."""
    looks = [row for row in due if row["task"] == "check" and (not row["order"] or row["detail"].startswith("first look"))]
    starts = {key for found in (plan.doses(), *plan.starts()) for key in found}
    for (patient, line), of in plan.lines_csv.items():
        flows = plan.lines.get((patient, line)) or derive.Line()
        mine = sorted(row["s"] for row in looks if (row["patient"], row["line"]) == (patient, line))
        seen = now
        for look in mine + [None]:
            flow = flows.next_flow(seen)
            latest = min(seen + plan.locked(patient), flow + HOUR if flow is not None else seen + plan.locked(patient))
            if look is None:
                count.that(latest >= end or latest >= plan.end, f"{name}: no look at {patient} {line} after {seen}, wanted by {latest}")
                break
            count.that(look <= latest, f"{name}: {patient} {line} is looked at {look - seen} s after {seen}, wanted within {latest - seen} s")
            seen = look
        fresh = {s for s, p, l, _ in starts if (p, l) == (patient, line) and of["kind"] != "enteral"}
        for s in fresh:
            wanted = s + FIRST_LOOK
            if flows.still_before(s) and now <= wanted < end and s >= now:
                count.that(any(wanted - EARLY <= look <= wanted for look in mine), f"{name}: no first look at {patient} {line} after the start at {s}")
        for row in looks:
            if (row["patient"], row["line"]) != (patient, line):
                continue
            on_the_hour = row["at"][14:19] == "00:00"
            # the night on which clocks move by half an hour has one of 90 min: no round is in time
            at_latest = row["s"] == instant(row["latest"]) and not any(plan.is_hour(row["s"] - back) for back in range(1, HOUR))
            count.that(on_the_hour or at_latest or any(s + FIRST_LOOK - EARLY <= row["s"] <= s + FIRST_LOOK for s in fresh),
                       f"{name}: a look that is neither on a round nor after a start: {row}")
            count.that(instant(row["earliest"]) <= row["s"] <= instant(row["latest"]), f"{name}: a look outside its span: {row}")


def check_changes(count, name, plan, due, now, end):
    for (patient, line), of in plan.lines_csv.items():
        if of["kind"] == "enteral":
            continue
        dressed = max(filter(None, (of.get("dressed"), of.get("placed"))), default="")
        lasts = 2 * derive.DAY if of.get("dressing") == "gauze" else 7 * derive.DAY
        with_dressing = of["kind"] in ("peripheral", "midline", "picc", "central", "umbilical")
        changed = of.get("set_changed")
        set_by = plan.set_by(patient, line, plan.local(changed) if changed else None)
        for task, since, latest in (("set", set_by, set_by),
                                    ("dressing", with_dressing and dressed, dressed and plan.local(dressed) + lasts)):
            got = [row for row in due if (row["task"], row["patient"], row["line"]) == (task, patient, line)]
            latest = latest if since else plan.end
            expected = now <= latest < plan.end and latest - HOUR < end
            if latest < now or not expected:
                count.that(bool(got) == (bool(since) and latest < end and latest < plan.end), f"{name}: {task} of {patient} {line}, latest {latest}: {got}")
                continue
            for row in got[:1]:
                count.that(instant(row["latest"]) == latest and latest - HOUR < row["s"] <= latest and row["s"] >= now, f"{name}: {task} by {latest}: {row}")
                count.that(row["at"][14:19] == "00:00" or not any(latest - back >= now and plan.is_hour(latest - back) for back in range(0, HOUR)),
                           f"{name}: {task} not on a round though one is in time: {row}")
            count.that(bool(got) or latest >= end, f"{name}: {task} of {patient} {line} by {latest} is missing")


def check_due(count, name, folder, at, whole=False):
    zone = ZoneInfo(setting(folder, "timezone"))

    def local(text):
        t = dt.datetime.fromisoformat(text.strip().replace(" ", "T").replace("Z", "+00:00"))
        return int((t if t.tzinfo else t.replace(tzinfo=zone)).timestamp())

    plan = derive.Plan(folder, count.run("schedule", folder, "--at", at, "--format", "csv"), local)
    plan.is_hour = lambda t: (t + dt.datetime.fromtimestamp(t, zone).utcoffset().total_seconds()) % HOUR == 0
    begins = local(setting(folder, "begins"))
    now = local(at)
    plan.end = begins + 24 * HOUR
    hours = next((r["value"] for r in table(folder, "ward") if r["setting"] == "hours"), "")
    if hours:
        plan.end = begins + int(hours.split()[0].rstrip("h")) * HOUR
    else:
        first = dt.datetime.fromtimestamp(begins, zone)
        plan.end = int((first.replace(tzinfo=None) + dt.timedelta(days=1)).replace(tzinfo=zone).timestamp())
    words = ["due", folder, "--at", at, "--format", "csv", "--from", at]
    text = count.run(*words)
    due = read(text)
    count.that([row["s"] for row in due] == sorted(row["s"] for row in due), f"{name}: not in time order")
    check_tied(count, name, plan, due, now, plan.end)
    check_windows(count, name, plan, due)
    check_looks(count, name, plan, due, now, plan.end)
    check_changes(count, name, plan, due, now, plan.end)
    if whole:
        count.that(count.run(*words, "--jobs", "3") == text, f"{name}: --jobs changes something")
        parts = [count.run(*words, "--shard", f"{k}/3") for k in (1, 2, 3)]
        count.that(sorted("".join(parts).splitlines()) == sorted(text.splitlines()), f"{name}: the shards do not make the whole")
        count.that([p.startswith("at,") for p in parts] == [True, False, False], f"{name}: a header in another shard than the first")
        for part in parts:
            times = [instant(line.split(",")[0]) for line in part.splitlines() if not line.startswith("at,")]
            count.that(times == sorted(times), f"{name}: a shard not in time order")
    return due


# ---- by hand ----

# The demo ward at Wed 19:00: how each was worked out stands behind it.
BY_HAND = [
    ("20:00", "bay2-bed2", "hang", "50 mL left at 50 mL/h"),
    ("20:00", "bay1-bed4", "start", "as ordered"),
    ("20:00", "bay1-bed4", "second", "blood"),
    ("20:15", "bay1-bed4", "observe", "15 min after the start"),
    ("20:30", "bay1-bed4", "check", "30 min after the start on a still line"),
    ("21:00", "bay4-bed1", "rate", "64.3 mL/h for 7 h from 14:00"),
    ("21:40", "bay4-bed1", "hang", "167.5 / 62.5 = 2 h 40 min 48 s"),
    ("22:00", "bay1-bed2", "dose", "as ordered"),
    ("22:03", "bay4-bed1", "hang", "158.5 - 2 x 64.3 = 29.9, with the 20 mL of the set; (158.5 - 128.6) / 28.1 after 21:00"),
    ("22:20", "bay1-bed4", "ends", "280 / 120 = 2 h 20 min"),
    ("22:36", "bay1-bed2", "goes-on", "30 min and 6 min of flush"),
    ("22:42", "bay2-bed1", "ends", "30 min and 12 min of flush"),
    ("22:48", "bay1-bed2", "check", "288 / (63 x 1.2) = 3 h 48 min 35 s"),
    ("22:58", "bay4-bed2", "hang", "182.3 - 162.6 = 19.7 left at 22:00; stop to 22:36:15, 21 min 52 s more"),
    ("23:23", "bay3-bed2", "hang", "285 / 65 = 4 h 23 min"),
    ("23:24", "bay4-bed3", "hang", "430 / 97.5 = 4 h 24 min 37 s"),
    ("23:34", "bay1-bed2", "ends", "288 / 63 = 4 h 34 min 18 s"),
    ("23:42", "bay3-bed1", "hang", "530 / 112.5 = 4 h 42 min 40 s"),
    ("00:00", "bay1-bed1", "hang", "500 / 100 = 5 h"),
    ("00:09", "bay1-bed3", "ends", "250 / 125 = 2 h, 20 / 125 = 9 min 36 s"),
    ("01:03", "bay4-bed4", "hang", "419.6 / 69.2 = 6 h 3 min 49 s"),
    ("01:42", "bay1-bed2", "hang", "248 / 80 = 3 h 6 min after 22:36"),
    ("05:06", "bay4-cot2", "hang", "420.8 / 41.6 = 10 h 6 min 56 s"),
    ("05:08", "bay3-cot1", "hang", "225.1 / 23.6 = 9 h 32 min 18 s, and 36 min stopped"),
    ("06:00", "bay2-bed1", "set", "changed 06:00 the day before, for doses only: 24 h"),
    ("06:00", "bay1-bed3", "set", "by 06:40: the round before it"),
]


def check_figures(count):
    due = read(count.run("due", "plans/larkfield", "--at", EVENING, "--format", "csv"))
    told = {(row["at"][11:16], row["patient"], row["task"]) for row in due}
    for clock, bed, task, why in BY_HAND:
        count.that((clock, bed, task) in told, f"larkfield: {bed} {task} at {clock} ({why}) is missing")
    for task in ("hang", "start", "rate", "second", "observe", "set"):
        extra = [key for key in told if key[2] == task and key not in {row[:3] for row in BY_HAND}]
        allowed = {("01:00", "bay1-bed4", "hang"), ("01:00", "bay2-bed1", "hang"), ("06:00", "bay2-bed2", "hang"), ("05:40", "bay4-bed1", "hang"),
                   ("22:20", "bay1-bed4", "observe")}
        count.that(set(extra) <= allowed, f"larkfield: nobody worked out {set(extra) - allowed}")
    unknown = [row for row in due if row["detail"].startswith("given or not?")]
    count.that([(row["at"][11:16], row["patient"], row["task"]) for row in unknown] == [("19:00", "bay3-cot1", "check")], f"larkfield: the feed of 18:00: {unknown}")
    text = count.run("due", "plans/larkfield", "--at", EVENING, "--next", "4h", "--team", "A")
    for clock, level in (("20:00", 225), ("21:00", 162), ("22:00", 99)):
        block = re.search(rf"^ROUND +{clock}(?:\n|.)*?(?=^\S+ +\d\d:\d\d)", text, re.M)
        count.that(block and f"right-hand should show {level} mL" in block[0], f"larkfield: level at {clock} should be {level}")
    count.that("ALLERGY: PENICILLIN" in text and "ALLERGY: NOT RECORDED" in text, "larkfield: allergies beside the doses")
    for number, bed in ((6, "20:00"), (7, "21:00"), (7, "22:00")):
        count.that(re.search(rf"^ROUND +{bed}  team A, {number} sites", text, re.M), f"larkfield: {number} sites at {bed}")


ITEM = re.compile(r"^(\d\d:\d\d)  (\S+) +\S")


def items_of(text):
    """The list of the next hours: (clock, bed or ROUND, its lines)."""
    lines = text.splitlines()
    items = []
    for line in lines[next(i for i, line in enumerate(lines) if line.startswith("time ")) + 1:]:
        if line.startswith("--"):
            return items
        found = ITEM.match(line)
        if found:
            items.append((found[1], found[2], [line]))
        elif items:
            items[-1][2].append(line)
    return items


def check_hours(count):
    """`report --next` on paper: every row that `due` gives for these hours, no others, by team; what each dose may not meet; fetched in time."""
    patients = {row["patient"]: row for row in csv.DictReader((ROOT / "plans/larkfield/patients.csv").read_text().splitlines())}
    whole = count.run("report", "plans/larkfield", "--at", EVENING, "--next", "4h")
    for team in sorted({row["team"] for row in patients.values()}):
        words = ["plans/larkfield", "--at", EVENING, "--next", "4h", "--team", team]
        text = count.run("report", *words, "--no-pages")
        items = items_of(text)
        count.that(text.endswith("END OF LIST\n") and f"NEXT 4 HOURS, team {team}" in text.splitlines()[0], f"team {team}: head and end")
        count.that(f"NEXT 4 HOURS, team {team}" in whole, f"team {team}: a list of its own where no team is asked for")
        clocks = [clock for clock, _, _ in items]
        count.that(clocks == sorted(clocks), f"team {team}: not in time order: {clocks}")
        listed = {(clock, bed) for clock, bed, _ in items if bed != "ROUND"}
        rounds = {clock: " ".join(" ".join(lines).split()) for clock, bed, lines in items if bed == "ROUND"}
        due = read(count.run("due", *words, "--format", "csv"))
        for row in due:
            clock = row["at"][11:16]
            count.that((clock, row["patient"]) in listed or (row["task"] == "check" and clock in rounds), f"team {team}: {row} is not in the list")
        count.that(listed <= {(row["at"][11:16], row["patient"]) for row in due}, f"team {team}: {listed} is more than is due")
        for clock in rounds:
            sites = sum(row["task"] == "check" and row["at"][11:16] == clock and "tube" not in row["line"] for row in due)
            count.that(f"{sites} sites" in rounds[clock] or sites == 0, f"team {team}: {sites} sites at {clock}: {rounds[clock]}")
        for clock, bed, lines in items:
            if re.search(r" (DOSE|START) ", lines[0]):
                allergy = patients[bed]["allergies"]
                expected = {"": "NOT RECORDED, clarify first", "none": "NONE KNOWN"}.get(allergy, allergy.upper())
                count.that(f"ALLERGY: {expected}" in " ".join(" ".join(lines).split()), f"team {team}: the allergy beside {lines}")
        fetched = text[text.index("FETCH "):text.index("\ntime ")].split("FETCH ")[1:]
        before = {re.match(r"NOW|BEFORE \w{3} (\d\d:\d\d)", part)[1] or "00:00": part for part in fetched}
        for row in rows(count.run("gather", *words, "--format", "csv")):
            trip = max((clock for clock in before if clock <= row["needed"][11:16]), default=None)
            count.that(trip and row["patient"] in before[trip], f"team {team}: {row} is fetched in no trip in time: {trip}")
        told = count.run("remind", "plans/larkfield", "--at", EVENING, "--to", "23:00", "--team", team)
        rung = dict(re.findall(rf"^SUMMARY:team {team}: round (\d\d:\d\d)\\, (\S+ sites?(?:\\, \S+ tubes?)?)", told, re.M))
        walked = {clock: re.search(r"ROUND ([^:]*):", text)[1] for clock, text in rounds.items()}
        count.that(walked == {clock: what.replace("\\", "") for clock, what in rung.items() if clock < "23:00"}, f"team {team}: rounds in the list {walked}, in the calendar {rung}")
    levels = {"20:00": 225, "21:00": 162, "22:00": 99}  # 288 - 63 n
    shown = dict(re.findall(r"^(\d\d:\d\d)  ROUND(?:(?!^\d\d:)(?:.|\n))*?right-hand should show ([\d,]+) mL", whole, re.M))
    count.that(shown == {clock: str(mL) for clock, mL in levels.items()}, f"levels at the rounds: {shown}")
    brief = count.run("report", "plans/larkfield", "--at", EVENING, "--brief")
    count.that("WARD SUMMARY" in brief and "THIS SHIFT" not in brief and brief.count("NEXT 4 HOURS, team A\n") == whole.count("NEXT 4 HOURS, team A\n"), "--brief: summary and lists")
    count.that(brief.endswith("END OF REPORT\n"), "--brief ends as a report")
    for wrong in (["--brief", "--next", "2h"], ["--brief", "--working"], ["--next", "2h", "--working"], ["--next", "2h", "--to", "22:00"], ["--next", "soon"]):
        count.run("report", "plans/larkfield", "--at", EVENING, *wrong, status=2)
    short = count.run("report", "plans/larkfield", "--at", "2026-11-26 06:30", "--brief", "--team", "A")
    count.that("NEXT 30 min" in short and "this plan ends then" in short, "the last half hour of the plan")


BEYOND = {
    "ward": [{"setting": s, "value": v} for s, v in (("ward", "Test"), ("timezone", "Europe/London"), ("begins", "2026-11-25 07:00"))],
    "patients": [{"patient": "p1", "age": "50 years", "weight": "70 kg", "allergies": "none"}],
    "lines": [{"patient": "p1", "line": "a", "kind": "peripheral"}],
    "orders": [{"patient": "p1", "order": n, "fluid": "cefazolin 1 g in nacl-0.9", "line": "a", "runs": "piggyback", "rate": "100 mL/h", "volume": "100 mL",
                "times": t, "window": w} for n, t, w in (("one", "06:30", "0 min"), ("two", "06:45", "45 min"))],
}


def check_edges(count):
    """A dose that starts after the end is due all the same; what is over is not; yesterday's folder gives nothing."""
    with tempfile.TemporaryDirectory() as folder:
        generate.write_tables(BEYOND, folder)
        due = read(count.run("due", folder, "--at", "2026-11-26 05:00", "--format", "csv"))
        doses = [(row["at"][:16], row["order"]) for row in due if row["task"] == "dose"]
        count.that(doses == [("2026-11-26T06:30", "one"), ("2026-11-26T07:30", "two")], f"doses at the plan's end: {doses}")
        cut = read(count.run("due", folder, "--at", "2026-11-26 05:00", "--to", "06:59", "--format", "csv"))
        count.that([row["order"] for row in cut if row["task"] == "dose"] == ["one"], "a dose beyond the end in a span that ends before it")
        count.that("starts after this plan" in count.run("schedule", folder, "--at", "2026-11-26 05:00"), "the schedule says that it starts later")
        count.run("due", folder, "--at", "2026-11-27 09:00", status=2)
        count.run("due", folder, "--at", "2026-11-25 19:00", "--to", "18:00", "--from", "12:00", status=2)
        count.run("due", folder, "--at", "2026-11-25 19:00", "--next", "4h", "--for", "2h", status=2)
        hours = read(count.run("due", folder, "--at", "2026-11-25 19:00", "--next", "5h", "--format", "csv"))
        same = read(count.run("due", folder, "--at", "2026-11-25 19:00", "--for", "5h", "--format", "csv"))
        count.that(hours == same, "--next and --for from now differ")
    old = {**BEYOND, "ward": BEYOND["ward"][:2] + [{"setting": "begins", "value": "2019-11-25 07:00"}]}
    with tempfile.TemporaryDirectory() as folder:
        generate.write_tables(old, folder)
        for verb in ("due", "gather", "label"):
            count.that(count.run(verb, folder, status=2) == "", f"{verb} of a plan that is over gives something")


# ---- gather ----

def volume(text):
    found = re.search(r"([\d.]+) ?(mL|L)$", text or "")
    return Fraction(found[1]) * (1000 if found[2] == "L" else 1) if found else Fraction(0)


def check_gather(count, name, folder, at):
    due = [r for r in read(count.run("due", folder, "--at", at, "--format", "csv"))]
    got = rows(count.run("gather", folder, "--at", at, "--format", "csv"))
    orders = {(o["patient"], o["order"]): o for o in table(folder, "orders")}
    gravity = {key for key, o in orders.items() if (o.get("set") or "").endswith("mL")}
    mains = {(r["needed"], r["patient"], r["order"]) for r in got if r["item"] in ("bag", "drug", "blood", "feed")}
    wanted = {(r["at"], r["patient"], r["order"]) for r in due if r["task"] in ("hang", "start", "dose") and not orders[r["patient"], r["order"]].get("replaces")}
    for key in wanted:
        if key[1:] not in gravity:
            count.that(key in mains, f"{name}: nothing is fetched for {key}")
        else:
            count.that(any(m[1:] == key[1:] and instant(m[0]) <= instant(key[0]) for m in mains), f"{name}: nothing is fetched in time for {key}")
    for key in mains:
        count.that(key in wanted or key[1:] in gravity or orders[key[1:]].get("replaces"), f"{name}: fetched for nothing: {key}")
    flush = sum(volume(orders[r["patient"], r["order"]].get("flush")) for r in due if r["task"] == "dose")
    count.that(sum(Fraction(r["volume_ml"]) for r in got if r["item"] == "flush") == flush, f"{name}: flushes do not add up to {flush} mL")
    for task in ("set", "dressing"):
        lines = {(r["patient"], r["line"]) for r in due if r["task"] == task}
        count.that(lines <= {(r["patient"], r["line"]) for r in got if r["item"] == task}, f"{name}: no new {task} for {lines}")
    # the sums of the text are those of the rows
    text = count.run("gather", folder, "--at", at)
    body = re.sub(r"\n {10}(?=\S)", " ", text.partition("IN ALL\n")[2])
    summed = {m[2]: int(m[1].replace(",", "")) for m in re.finditer(r"^ +([\d,]+) x (.+)$", body, re.M)}
    listed = {}
    for r in got:
        listed[r["detail"]] = listed.get(r["detail"], 0) + 1
    labels = summed.pop("label for a bag or syringe", 0)
    count.that(summed == listed, f"{name}: in all {summed}, rows {listed}")
    count.that(labels == sum(r["item"] in ("bag", "drug", "blood") or (r["item"] == "feed" and r["bag"] != "") for r in got), f"{name}: {labels} labels")
    count.that(text.count("[ ]") == len(got), f"{name}: {text.count('[ ]')} boxes for {len(got)} things")


def check_placing(count):
    tables = {**BEYOND, "lines": [{"patient": "p1", "line": "a", "kind": "peripheral", "gauge": "20", "placed": "2026-11-25 09:00"},
                                  {"patient": "p1", "line": "b", "kind": "peripheral", "gauge": "22", "placed": "2026-11-24 09:00", "dressing": "gauze",
                                   "dressed": "2026-11-23 10:00", "set_changed": "2026-11-24 10:00"}]}
    tables["orders"] = [{"patient": "p1", "order": "main", "fluid": "nacl-0.9", "line": "b", "rate": "50 mL/h", "bag": "500 mL"},
                        {"patient": "p1", "order": "night", "fluid": "hartmann", "line": "b", "start": "after main", "rate": "50 mL/h", "bag": "500 mL"}]
    with tempfile.TemporaryDirectory() as folder:
        generate.write_tables(tables, folder)
        got = rows(count.run("gather", folder, "--at", "2026-11-25 07:00", "--format", "csv"))
        place = [r for r in got if r["item"] == "placing"]
        count.that([(r["line"], r["needed"][11:16]) for r in place] == [("a", "09:00")], f"a line to be placed at 09:00: {place}")
        for thing in ("tourniquet", "antiseptic", "dressing", "cannula, gauge 20", "extension set", "end cap", "prefilled saline syringe", "gloves", "tape", "towel"):
            count.that(place and thing in place[0]["detail"], f"placing takes {thing}")
        # placed later than dressed: gauze went on with the placing, Tue 09:00, and may stay 2 days: not in this plan
        count.that(not any(r["item"] == "dressing" for r in got), "a dressing that is not due")
        # taken out while it runs: it is to be placed again, now
        generate.write_tables({"chart": [
            {"entry": "e1", "patient": "p1", "time": "2026-11-25 07:00", "event": "started", "order": "main"},
            {"entry": "e2", "patient": "p1", "time": "2026-11-25 11:00", "event": "removed", "line": "b"}]}, folder)
        got = rows(count.run("gather", folder, "--at", "2026-11-25 11:10", "--format", "csv"))
        place = [r for r in got if r["item"] == "placing"]
        count.that([(r["line"], r["needed"][11:16]) for r in place] == [("b", "11:10")], f"a line that was taken out and is still wanted: {place}")
        due = read(count.run("due", folder, "--at", "2026-11-25 11:10", "--format", "csv"))
        count.that(not any(r["line"] == "b" and r["task"] in ("check", "set", "dressing") for r in due), "looks at a line that is out")


# ---- chart ----

def check_charted(count):
    """What is charted of a line counts: the last look, the set, the dressing."""
    tables = {**BEYOND, "lines": [{"patient": "p1", "line": "a", "kind": "peripheral", "placed": "2026-11-20 10:00", "dressing": "gauze",
                                   "dressed": "2026-11-23 12:00", "set_changed": "2026-11-18 18:20"}],
              "orders": [{"patient": "p1", "order": "main", "fluid": "nacl-0.9", "line": "a", "rate": "50 mL/h", "bag": "1 L"}]}
    with tempfile.TemporaryDirectory() as folder:
        generate.write_tables(tables, folder)

        def due(at):
            return read(count.run("due", folder, "--at", at, "--from", at, "--format", "csv"))

        def of(got, task):
            return [(row["at"][5:16], row["earliest"][5:16], row["latest"][5:16]) for row in got if row["task"] == task]

        got = due("2026-11-25 08:30")
        count.that(of(got, "set") == [("11-25T18:00", "11-25T17:20", "11-25T18:20")], f"set of 7 days: {of(got, 'set')}")
        count.that(of(got, "dressing") == [("11-25T12:00", "11-25T11:00", "11-25T12:00")], f"gauze of 2 days: {of(got, 'dressing')}")
        count.that(of(got, "check")[:2] == [("11-25T09:00", "11-25T08:50", "11-25T09:30"), ("11-25T10:00", "11-25T09:50", "11-25T10:00")],
                   f"looks counted from 08:30: {of(got, 'check')[:2]}")
        generate.write_tables({"chart": [{"entry": f"e{n}", "patient": "p1", "time": f"2026-11-25 {t}", "event": e, "line": "a", "value": v} for n, (t, e, v) in
                                         enumerate((("08:20", "checked", "clean"), ("08:25", "set-changed", ""), ("13:10", "dressed", "")), 1)]
                               + [{"entry": "e9", "patient": "p1", "time": "2026-11-25 07:00", "event": "started", "order": "main"}]}, folder)
        got = due("2026-11-25 08:30")
        count.that(of(got, "set") == [], "the set was changed at 08:25")
        count.that(of(got, "check")[0] == ("11-25T09:00", "11-25T08:50", "11-25T09:20"), f"the look of 08:20 counts: {of(got, 'check')[:1]}")
        got = due("2026-11-25 13:00")
        count.that(of(got, "dressing") == [("11-25T13:00", "11-25T11:00", "11-25T12:00")], f"an overdue dressing is due now: {of(got, 'dressing')}")
        count.that(of(got, "check")[0][0] == "11-25T13:00", f"so is a look that nobody charted: {of(got, 'check')[:1]}")
        got = due("2026-11-25 13:30")
        count.that(of(got, "dressing") == [], "the dressing was changed at 13:10")


# ---- label ----

def boxes(text):
    """The labels: lines between edges, joined where they belong to one box."""
    found, box = [], []
    for line in text.splitlines():
        if line.startswith("|"):
            box.append(line[2:-1].rstrip())
        elif not line.startswith("+") and box:
            found.append(box)
            box = []
    return found


def check_tape(count, folder, at, patient, order, bag, expected_dry, figures):
    text = count.run("label", folder, "--at", at, "--for", "24h", "--patient", patient, "--no-pages")
    mine = [box for box in boxes(text) if any(f"of {order}, " in line for line in box) and any(line.startswith("at ") for line in box)]
    count.that(len(mine) == 1, f"{patient} {order}: {len(mine)} tapes")
    if not mine:
        return
    tape = [re.match(r"(\d\d:\d\d)  ([\d,]+)", line) for line in mine[0]]
    got = [(m[1], int(m[2].replace(",", ""))) for m in tape if m]
    count.that(got == figures, f"{patient} {order}: tape {got}, by hand {figures}")
    count.that(any(line.startswith(f"{expected_dry[0]}  dry, look from {expected_dry[1]}") for line in mine[0]), f"{patient} {order}: dry {expected_dry}: {mine[0][-1]}")
    # and from the schedule: what is left is what was there less what has flowed
    flows = [r for r in rows(count.run("schedule", folder, "--at", at, "--format", "csv")) if (r["patient"], r["order"], r["bag"]) == (patient, order, str(bag))]
    first = instant(flows[0]["from"][:11] + figures[0][0] + ":00" + flows[0]["from"][19:])
    for clock, level in got[1:]:
        seconds = first + ((int(clock[:2]) * 60 + int(clock[3:])) - (int(figures[0][0][:2]) * 60 + int(figures[0][0][3:]))) % 1440 * 60
        flowed = sum(Fraction(r["rate_ml_per_h"]) * (min(instant(r["to"]), seconds) - max(instant(r["from"]), first)) / 3600
                     for r in flows if instant(r["from"]) < seconds and instant(r["to"]) > first)
        count.that(abs(figures[0][1] - flowed - level) <= Fraction(1, 2), f"{patient} {order}: {level} mL at {clock}, the schedule leaves {float(figures[0][1] - flowed)}")


def check_labels(count):
    # 500 mL at 63 mL/h from 15:00; at 20 % faster dry after 500 / 75.6 = 6 h 36 min 49 s
    check_tape(count, "plans/gravity", "2026-11-25 07:00", "bay1-bed1", "drip", 1, ("22:56", "21:36"),
               [(f"{15 + n}:00", 500 - 63 * n) for n in range(8)])
    # 288 mL read at 19:00; 288 / 75.6 = 3 h 48 min 35 s
    check_tape(count, "plans/larkfield", EVENING, "bay1-bed2", "drip", 1, ("23:34", "22:48"), [(f"{19 + n}:00", 288 - 63 * n) for n in range(5)])
    text = count.run("label", "plans/larkfield", "--at", EVENING, "--no-pages")
    found = boxes(text)
    count.that(all(box[0] == "DEMO, NOT FOR CARE" for box in found), "a label of the demo that does not say so")
    count.that(all(len(line) <= 36 for line in text.splitlines() if line[:1] in "|+"), "a label that is wider than 36 columns")
    bag = {" ".join(box): box for box in found}
    cot = next(" ".join(" ".join(box).split()) for box in found if "BAY3-COT1   left-foot" in box and any("of main" in line for line in box))
    count.that("potassium chloride 10 mmol" in cot, f"20 mmol/L in 500 mL are 10 mmol: {cot}")
    count.that("down by Fri 27 Nov 05:08 or 24 h after it is hung" in cot, f"hang time: {cot}")
    main = next(" ".join(" ".join(box).split()) for box in found if "BAY1-BED2   left-forearm" in box and any("bag 3 of main" in line for line in box))
    for part in ("80 mL/h", "ALLERGY: PENICILLIN", "potassium chloride 20 mmol ", "planned Thu 26 Nov 01:42"):
        count.that(part in main, f"label of bag 3: no {part!r} in {main}")
    count.that(len(bag) > 30, "labels for the whole ward")
    blood = next(" ".join(" ".join(box).split()) for box in found if any("of cells" in line for line in box))
    count.that("second nurse" in blood and "down by Thu 26 Nov 00:00 or 4 h after it is hung" in blood, f"label of the blood: {blood}")
    steps = count.run("label", "plans/larkfield", "--at", EVENING, "--patient", "bay1-bed2", "--steps", "--no-pages")
    for part in ("until no air is left", "30 min after the start", "at least every 1 h", "ALLERGY: PENICILLIN", "local policy goes before"):
        count.that(part in " ".join(steps.split()), f"steps: no {part!r}")
    count.that("[ ]" not in text, "steps without --steps")


# ---- charted histories ----

def check_history(count, seed):
    """Whatever was charted: no pages that fail, time order, nothing that is over, every dose once."""
    with tempfile.TemporaryDirectory(prefix="plan-") as folder:
        generate.write_history(seed, folder)
        begins = setting(folder, "begins")
        flows = rows(count.run("schedule", folder, "--at", begins, "--format", "csv"))
        times = sorted({row["from"] for row in flows})
        if not times:
            return
        at = times[len(times) // 2]
        before = count.failed
        due = read(count.run("due", folder, "--at", at, "--format", "csv"))
        count.that([row["s"] for row in due] == sorted(row["s"] for row in due), f"history {seed}: not in time order")
        count.that(all(row["s"] >= instant(at) for row in due), f"history {seed}: something that is over")
        given = rows(count.run("schedule", folder, "--at", at, "--format", "csv"))
        charted = {(row["patient"], row["order"], row["due"]) for row in given if row["basis"] == "charted" and row["due"] and row["part"] == "bag"}
        starts = {(row["patient"], row["order"], row["from"]): row["due"] for row in given if row["basis"] == "planned" and row["due"] and row["part"] == "bag"}
        for row in due:
            if row["task"] == "dose" and (row["patient"], row["order"], row["at"]) in starts:
                key = (row["patient"], row["order"], starts[row["patient"], row["order"], row["at"]])
                count.that(key not in charted, f"history {seed}: a dose that was given is offered again: {row}")
        for words in (["due"], ["gather"], ["gather", "--format", "csv"], ["label", "--steps"], ["report"]):
            count.run(words[0], folder, "--at", at, *words[1:])
        if count.failed > before:
            print(f"the history of seed {seed}, at {at}")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--plans", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    count = Count(wanted.binary)
    for folder in sorted(p for p in (ROOT / "plans").iterdir() if p.is_dir()):
        at = EVENING if folder.name == "larkfield" else setting(folder, "begins")
        check_due(count, folder.name, folder, at, whole=True)
        check_gather(count, folder.name, folder, at)
        if folder.name not in ("larkfield", "calm"): # in the middle, without a chart
            middle = dt.datetime.fromisoformat(at) + dt.timedelta(hours=11, minutes=17)
            check_due(count, f"{folder.name} later", folder, middle.strftime("%Y-%m-%d %H:%M"))
    check_figures(count)
    check_hours(count)
    check_edges(count)
    check_placing(count)
    check_charted(count)
    check_labels(count)
    for seed in range(wanted.seed, wanted.seed + wanted.plans):
        with tempfile.TemporaryDirectory(prefix="plan-") as folder:
            generate.write_plan(seed, folder)
            before = count.failed
            check_due(count, f"seed {seed}", folder, setting(folder, "begins"))
            if count.failed > before:
                print(f"the plan of seed {seed}")
    for seed in range(wanted.seed, wanted.seed + wanted.plans // 2):
        check_history(count, seed)
    return 1 if count.report() else 0


if __name__ == "__main__":
    sys.exit(main())
