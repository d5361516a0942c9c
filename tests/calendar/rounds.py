#!/usr/bin/python3
"""Rounds and visits, from the calendar back to what the rules allow: rounds.py BINARY [--plans N] [--seed S].

night    six adults, nine lines, twelve hours: what rings, by hand
looks    every plan of plans/ and random ones: each site is looked at as often as the rules say and no look is late; each row of `due` is
         in one event, and with --each is one
names    UIDs worked out with Python's uuid5 from the names the design gives them
visits   first looks that no round is in time for, in as few visits as there can be: all ways tried
"""
import argparse
import collections
import datetime as dt
import itertools
import pathlib
import random
import shutil
import sys
import tempfile
from zoneinfo import ZoneInfo

HERE = pathlib.Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "coming"), str(HERE.parent / "property")]

import derive  # noqa: E402
import events  # noqa: E402
import generate  # noqa: E402
from derive import HOUR, MINUTE, instant, rows, table  # noqa: E402
from events import ROOT, Count, read, uid_of  # noqa: E402

FIRST_LOOK, EARLY = 30 * MINUTE, 10 * MINUTE
MOMENTS = {"larkfield": "2026-11-25 19:00", "calm": "2026-03-10 13:00"}


def setting(folder, name):
    return next((r["value"] for r in table(folder, "ward") if r["setting"] == name), "")


def utc(s):
    return dt.datetime.fromtimestamp(s, dt.timezone.utc).strftime("%Y%m%dT%H%M%SZ")


# ---- the night ----

def check_night(count):
    words = ["remind", "plans/night", "--at", "2026-03-10 19:00"]
    got = read(count.run(*words), ROOT / "plans/night")
    kinds = collections.Counter("round" if e.round else e.visit["kinds"] for e in got)
    # 20:00 to 06:00; doses of 21:00, 22:00, 05:00, 06:00; seven of nine bags run dry
    count.same("the night", kinds, {"round": 11, "dose": 4, "hang": 7})
    each = read(count.run(*words, "--each", "--quiet"), ROOT / "plans/night")
    kinds = collections.Counter(e.visit["kinds"] for e in each)
    count.same("the night, each", kinds, {"check": 99, "dose": 4, "goes-on": 4, "hang": 7, "set": 2, "dressing": 2})
    count.that(all("Sites: " in e.text for e in got if e.round), "a round without sites")
    clocks = sorted(e.title for e in got if e.visit)
    count.same("the night's tasks", clocks, [
        "bay2-bed1: dose 06:00", "bay2-bed1: dose 22:00", "bay2-bed1: hang 00:42",  # 400 / 80 = 5 h, and 42 min of dose and flush
        "bay2-bed2: hang 01:40", "bay2-bed2: hang 02:30",  # 500 / 75 = 6 h 40 min, 300 / 40 = 7 h 30 min
        "bay2-bed3: dose 05:00", "bay2-bed3: dose 21:00", "bay2-bed3: hang 04:20", "bay2-bed3: hang 22:06",  # 560 / 60 = 9 h 20 min, 200 / 80 and 36 min
        "bay2-bed4: hang 02:00", "bay2-bed6: hang 00:30"])  # 350 / 50 = 7 h, 550 / 100 = 5 h 30 min
    sets = {(e.title[14:19], *what) for e in got for what in e.does if what[2] in ("set", "dressing")}
    count.same("sets and dressings of seven days", sets, {("04:00", "bay2-bed4", "left-upper-arm", "set"), ("04:00", "bay2-bed4", "left-upper-arm", "dressing"),
                                                           ("05:00", "bay2-bed5", "right-upper-arm", "set"), ("05:00", "bay2-bed5", "right-upper-arm", "dressing")})
    plan = setting(ROOT / "plans/night", "plan")
    for e in got:
        if e.round:
            count.same(e.title, e.uid, uid_of(plan, f"round|A|{utc(e.s)}"))
    by_title = {e.title: e.uid for e in each}
    for title, name in (("bay2-bed1: dose 22:00", "dose|bay2-bed1|cefazolin|20260310T220000Z"), ("bay2-bed1: hang 00:42", "hang|bay2-bed1|main|2"),
                        ("bay2-bed4: set 04:00", "set|bay2-bed4|left-upper-arm|1"), ("bay2-bed1: goes-on 22:42", "goes-on|bay2-bed1|main|dose.cefazolin.20260310T220000Z"),
                        ("bay2-bed6: check 20:00", "check|bay2-bed6|left-forearm|1"), ("bay2-bed6: check 06:00", "check|bay2-bed6|left-forearm|11")):
        count.same(title, by_title[title], uid_of(plan, f"20260310T190000Z|{name}"))


# ---- every site, from the calendar back ----

def derived(count, folder, at):
    zone = ZoneInfo(setting(folder, "timezone"))

    def local(text):
        t = dt.datetime.fromisoformat(text.strip().replace(" ", "T").replace("Z", "+00:00"))
        return int((t if t.tzinfo else t.replace(tzinfo=zone)).timestamp())

    plan = derive.Plan(folder, count.run("schedule", folder, "--at", at, "--format", "csv"), local)
    plan.zone = zone
    begins, hours = local(setting(folder, "begins")), setting(folder, "hours")
    first = dt.datetime.fromtimestamp(begins, zone)
    plan.end = begins + int(hours.split()[0].rstrip("h")) * HOUR if hours else int((first.replace(tzinfo=None) + dt.timedelta(days=1)).replace(tzinfo=zone).timestamp())
    return plan, local(at)


def check_looks(count, name, plan, got, now):
    """Between two looks at a site no longer than the rules say, and one 30 min after a start on a line that was still, or up to 10 min before."""
    looks = collections.defaultdict(list)
    for e in got:
        for bed, line, what in e.does:
            if what in ("look", "first"):
                looks[bed, line].append(e.s)
    beds = {p["patient"]: p.get("bed") or p["patient"] for p in plan.patients.values()}
    starts = {key for found in (plan.doses(), *plan.starts()) for key in found}
    for (patient, line), of in plan.lines_csv.items():
        flows, mine = plan.lines.get((patient, line)) or derive.Line(), sorted(looks[beds[patient], line])
        seen = now
        for look in mine + [plan.end]:
            flow = flows.next_flow(seen)
            latest = min(seen + plan.locked(patient), flow + HOUR if flow is not None else seen + plan.locked(patient))
            count.that(look <= latest, f"{name}: {patient} {line} is looked at {look - seen} s after {seen}, wanted within {latest - seen} s")
            seen = look
        for s, p, l, _ in starts:
            if (p, l) == (patient, line) and of["kind"] != "enteral" and flows.still_before(s) and now <= s and s + FIRST_LOOK < plan.end:
                count.that(any(s + FIRST_LOOK - EARLY <= look <= s + FIRST_LOOK for look in mine), f"{name}: no first look at {patient} {line} after {s}")


def check_rows(count, name, plan, got, each, due):
    """Each row of `due` once: as what a round or visit is for, or as an event of its own."""
    beds = {p["patient"]: p.get("bed") or p["patient"] for p in plan.patients.values()}
    spanned, tied, told = collections.Counter(), collections.Counter(), collections.Counter()
    for row in due:
        first = row["task"] == "check" and row["detail"].startswith("first look")
        if row["task"] in ("set", "dressing") or first or (row["task"] == "check" and not row["order"]):
            spanned[row["s"], beds[row["patient"]], row["line"], "first" if first else "look" if row["task"] == "check" else row["task"]] += 1
        else:
            tied[row["s"], beds[row["patient"]], row["task"]] += 1
    count.same(f"{name}: looks, sets and dressings", collections.Counter((e.s, *what) for e in got for what in e.does if what[2] != "dry"), spanned)
    for e in got:
        if e.round:
            continue
        for kind in e.visit["kinds"].split(", "):
            kind = kind.removesuffix(" nurse")
            if kind not in ("set", "dressing") and not (kind == "check" and all(what[2] != "dry" for what in e.does) and e.does):
                told[e.s, e.visit["bed"], kind] += 1
        if e.visit["behind"] == ", second nurse":
            told[e.s, e.visit["bed"], "second"] += 1
    missing = tied - told
    ends = {(r["to_s"], beds[r["patient"]]) for r in plan.rows if plan.is_dose(r["patient"], r["order"])}
    for s, bed, task in missing:
        count.that(task == "goes-on" and (s, bed) in ends, f"{name}: {task} of {bed} at {s} is in no event")
    count.that(not told - tied, f"{name}: told and not due: {told - tied}")
    rows_of = collections.Counter((row["s"], beds[row["patient"]], row["task"]) for row in due)
    count.same(f"{name}: --each", collections.Counter((e.s, e.visit["bed"], e.visit["kinds"].removesuffix(" nurse")) for e in each), rows_of)


def check_plan(count, name, folder, at):
    plan, now = derived(count, folder, at)
    span = ["--at", at, "--from", at]
    due = rows(count.run("due", folder, *span, "--format", "csv"))
    for row in due:
        row["s"] = instant(row["at"])
    words = ["remind", folder, *span, "--lead", "0min", "--quiet"]
    text = count.run(*words)
    got, each = read(text, folder), read(count.run(*words, "--each"), folder)
    for what, found in (("", got), (" --each", each)):
        count.that(len({e.uid for e in found}) == len(found), f"{name}{what}: a UID stands twice")
        count.same(f"{name}{what}: in time order", [e.s for e in found], sorted(e.s for e in found))
        count.that(all(e.alarm is not None and e.alarm >= now for e in found), f"{name}{what}: an alarm before {at}")
    check_looks(count, name, plan, got, now)
    check_rows(count, name, plan, got, each, due)
    later = read(count.run("remind", folder, *span, "--quiet"), folder)
    count.same(f"{name}: 15 min before", {e.uid for e in later if "goes-on" not in e.title}, {e.uid for e in got if e.s - 15 * MINUTE >= now and "goes-on" not in e.title})


def check_sparse(count, place):
    """Rounds further apart than looks: the ones in between are visits, one to a bed whatever it has of lines, and no look is late."""
    for every in ("2 h", "4 h"):
        folder = place / f"rounds-{every[0]}"
        shutil.copytree(ROOT / "plans/night", folder)
        (folder / "rules.csv").write_text(f"rule,applies,value,source\nround-every,,{every},the ward\n")
        check_plan(count, f"rounds every {every}", folder, "2026-03-10 19:00")
        got = read(count.run("remind", folder, "--at", "2026-03-10 19:00", "--quiet"), folder)
        rounds = [e.visit or e.title for e in got if e.round]
        visits = collections.Counter((e.visit["bed"], e.s) for e in got if e.visit and e.does)
        hours = int(every[0])
        count.same(f"rounds every {every}: rounds", len(rounds), len([h for h in range(20, 31) if h % hours == 0]))
        count.same(f"rounds every {every}: visits", (len(visits), set(visits.values())), (6 * len([h for h in range(20, 31) if h % hours]), {1}))


# ---- the fewest visits ----

def fewest(spans):
    """The least number of moments that lie in all spans, by trying every choice of latest times."""
    for n in range(len(spans) + 1):
        for chosen in itertools.combinations(sorted({b for _, b in spans}), n):
            if all(any(a <= t <= b for t in chosen) for a, b in spans):
                return n
    return None


def check_visits(count, seed, folder):
    """A bed whose lines are all still, with a dose on each in one hour, and others that still run: no round is in time for most."""
    pick = random.Random(seed)
    lines = [f"line-{i}" for i in range(pick.randint(2, 7))]
    (folder / "ward.csv").write_text("setting,value\nward,x\nplan,5f1c6f0e-94b1-4c57-8d0b-3f6f6f1f5a01\ntimezone,Europe/London\nbegins,2026-03-10 07:00\nhours,8\n")
    (folder / "patients.csv").write_text("patient,age,weight,allergies\np,40 years,70 kg,none\n")
    changed = [pick.choice(["", f"2026-03-03 09:{pick.randint(0, 59):02d}"]) for _ in lines]
    (folder / "lines.csv").write_text("patient,line,kind,set_changed\n" + "".join(f"p,{line},central,{c}\n" for line, c in zip(lines, changed)))
    minutes = [pick.randint(5, 35) for _ in lines]
    (folder / "orders.csv").write_text("patient,order,fluid,line,runs,rate,volume,start,ordered\n" + "".join(
        f"p,{line}-dose,cefazolin 1 g in nacl-0.9,{line},piggyback,300 mL/h,50 mL,2026-03-10 09:{m:02d},2026-03-09 07:00\n" for line, m in zip(lines, minutes)))
    at = f"2026-03-10 09:{pick.randint(1, 4):02d}"
    due = rows(count.run("due", folder, "--at", at, "--from", at, "--to", "10:00", "--format", "csv"))
    off = [row for row in due if row["at"][14:19] != "00:00" and (row["task"] == "set" or (row["task"] == "check" and row["detail"].startswith("first look")))]
    now = instant(due[0]["at"][:11] + at[11:] + ":00+00:00")
    spans = [(max(instant(row["earliest"]), now), max(instant(row["latest"]), now)) for row in off]
    got = [e for e in read(count.run("remind", folder, "--at", at, "--from", at, "--to", "10:00", "--lead", "0min"), folder) if e.visit and e.does]
    count.same(f"seed {seed}: visits", len(got), fewest(spans))
    count.that(len({row["at"] for row in off}) == len(got), f"seed {seed}: `due` has other visits")
    done = {(e.s, line) for e in got for _, line, what in e.does}
    count.that(all(any(a <= s <= b and line == row["line"] for s, line in done) for row, (a, b) in zip(off, spans)), f"seed {seed}: a look or set outside its span")
    return len(off) - len(got)


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("binary")
    ask.add_argument("--plans", type=int, default=12)
    ask.add_argument("--seed", type=int, default=1)
    asked = ask.parse_args()
    count = Count(asked.binary)
    check_night(count)
    for folder in sorted(p for p in (ROOT / "plans").iterdir() if p.is_dir()):
        if all(e["event"] not in ("removed", "moved") for e in table(folder, "chart")):  # what is charted is now where it says, and looked at then
            check_plan(count, folder.name, folder, MOMENTS.get(folder.name) or setting(folder, "begins"))
    shared = 0
    with tempfile.TemporaryDirectory() as place:
        place = pathlib.Path(place)
        check_sparse(count, place)
        made = seed = 0
        while made < asked.plans:
            seed += 1
            folder = place / str(seed)
            folder.mkdir()
            try:
                generate.write_plan(asked.seed * 100000 + seed, folder)
            except generate.LEFT_OUT:
                continue
            if count.call("remind", folder, "--at", setting(folder, "begins")).returncode == 3:
                ward = folder / "ward.csv"
                ward.write_text(ward.read_text().rstrip("\n") + "\nplan,5f1c6f0e-94b1-4c57-8d0b-3f6f6f1f5a01\n")
            check_plan(count, f"random {asked.seed} {seed}", folder, setting(folder, "begins"))
            made += 1
        for seed in range(3 * asked.plans):
            folder = place / f"visits-{seed}"
            folder.mkdir()
            shared += check_visits(count, asked.seed * 1000 + seed, folder)
    count.that(shared > 0, "no visit was shared in any of these plans")
    return count.report()


sys.exit(main())
