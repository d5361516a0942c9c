#!/usr/bin/python3
"""Holds a calendar file against the schedule it should agree with.

    check.py FILE.ics SCHEDULE.csv [--from TIME] [--to TIME] [--at TIME] [--lead MINUTES]

SCHEDULE.csv is what `daydrip schedule --format csv` gives for the whole plan at
the same `--at`.  FILE.ics is read with Debian's python3-icalendar, a reader
that shares nothing with the program.  --from and --to are the span that the
reminders were asked for (times with an offset, such as
2026-11-25T19:00:00-05:00; default: everything).  --at and --lead are taken
from the file where it has events.

Reminders are expected for the first row of every bag: a dose where the row has
a due time, the next bag where its number is above 1, and for a first bag
whatever begins there (a dose that is not repeated, or an infusion).  A first bag
at the very beginning of the schedule may have hung before: a reminder for it
may be there or not.

Prints what does not fit, then `N passed, N failed`.
"""

import argparse
import csv
import datetime as dt
import re
import sys
import uuid
from collections import Counter

from icalendar import Calendar

TITLE = re.compile(r"(?s)\A(?:(?P<bed>.+?): )?(?P<kind>second nurse|[a-z-]+(, [a-z-]+)*) (?P<clock>[0-2][0-9]:[0-5][0-9])(, .+)?\Z")
IN_SCHEDULE = {"hang", "start", "dose"}  # what rows of a schedule tell of; the other kinds are held against `due`
PAGE = re.compile(r"\nPage [0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}\Z")
UNWANTED = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\\\\\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
TEN_MINUTES = dt.timedelta(minutes=10)
NOTHING = dt.timedelta(0)


class Count:
    def __init__(self):
        self.passed = self.failed = 0

    def that(self, good, message):
        if good:
            self.passed += 1
        else:
            self.failed += 1
            print("FAILED:", message)


def check_bytes(count, data):
    """What no reader reports: line ends, folds, and lines that should not be there."""
    lines = data.split(b"\r\n")
    count.that(lines[-1] == b"", "the file does not end with CR LF")
    count.that(not any(b"\n" in x or b"\r" in x for x in lines), "a CR or LF alone")
    count.that(all(len(x) <= 75 for x in lines), "a line above 75 octets")
    count.that(not any(x in (b" ", b"\t") for x in lines), "an empty continuation line")
    try:
        for line in lines:
            line.decode("utf-8")
        count.that(True, "")
    except UnicodeDecodeError:
        count.that(False, "a fold inside a character, or bytes that are no UTF-8")
    count.that(not any(re.search(rb"(?<!\\)(\\\\)*\\$", x) for x in lines), "a fold inside an escape")
    count.that(not any(x.startswith((b"METHOD", b"X-")) for x in lines), "METHOD or an X- property")


def check_event(count, event, name):
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    title, text = str(event["SUMMARY"]), str(event["DESCRIPTION"])
    count.that(start.utcoffset() == NOTHING and end.utcoffset() == NOTHING, f"{name}: not in UTC")
    count.that(end - start == TEN_MINUTES, f"{name}: does not last 10 min")
    count.that(event["TRANSP"] == "TRANSPARENT", f"{name}: TRANSP")
    count.that(len(title) <= 170, f"{name}: title of {len(title)} characters")
    count.that(TITLE.match(title), f"{name}: title {title!r}")
    count.that(not UNWANTED.search(title + text), f"{name}: a character that should not be there")
    count.that(PAGE.search(text), f"{name}: does not end with a page code: {text!r}")
    count.that(len(event["CATEGORIES"].cats) == 1, f"{name}: not one category")
    count.that(event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt, f"{name}: DTSTAMP is not LAST-MODIFIED")
    uid = str(event["UID"])
    try:
        count.that(uuid.UUID(uid).version == 5 and uid == str(uuid.UUID(uid)), f"{name}: UID {uid}")
    except ValueError:
        count.that(False, f"{name}: UID {uid}")
    alarms = event.subcomponents
    if len(alarms) != 1 or alarms[0].name != "VALARM":
        count.that(False, f"{name}: {len(alarms)} parts where one alarm is expected")
        return None
    alarm = alarms[0]
    lead = -alarm["TRIGGER"].dt
    count.that(lead >= NOTHING and lead.total_seconds() % 60 == 0, f"{name}: alarm {lead} before")
    count.that(alarm["ACTION"] == "DISPLAY", f"{name}: ACTION")
    count.that(str(alarm["DESCRIPTION"]) == title + "\n" + text, f"{name}: the alarm says something else")
    return lead


def read_schedule(path):
    """The first row of every bag: {(patient, order, due, bag): its beginning}."""
    first = {}
    with open(path, encoding="utf-8", newline="") as f:
        for row in csv.DictReader(f):
            if row["part"] != "bag":
                continue
            key = row["patient"], row["order"], row["due"], int(row["bag"])
            begins = dt.datetime.fromisoformat(row["from"])
            if key not in first or begins < first[key]:
                first[key] = begins
    return first


def kinds_of(due, bag):
    if due:
        return ("dose",)
    return ("hang",) if bag > 1 else ("start", "dose")


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("file")
    ask.add_argument("schedule")
    moment = dt.datetime.fromisoformat
    for option in "--from", "--to", "--at":
        ask.add_argument(option, type=moment)
    ask.add_argument("--lead", type=int)
    asked = vars(ask.parse_args())

    count = Count()
    with open(asked["file"], "rb") as f:
        data = f.read()
    check_bytes(count, data)
    calendar = Calendar.from_ical(data)
    events = calendar.walk("VEVENT")
    count.that(str(calendar["VERSION"]) == "2.0" and "daydrip" in str(calendar["PRODID"]), "PRODID or VERSION")
    count.that(len(events) == len(calendar.subcomponents), "something that is no VEVENT")
    leads = {check_event(count, e, f"event {i}") for i, e in enumerate(events, 1)} - {None}
    stamps = {e["DTSTAMP"].dt for e in events}
    count.that(len({str(e["UID"]) for e in events}) == len(events), "a UID stands twice")
    count.that(len(leads) <= 1 and len(stamps) <= 1, f"leads {leads}, stamps {stamps}")

    lead = dt.timedelta(minutes=asked["lead"]) if asked["lead"] is not None else max(leads, default=None)
    now = asked["at"] or max(stamps, default=None)
    if lead is None or now is None:
        sys.exit("there are no events: give --at and --lead")
    if leads:
        count.that(leads == {lead}, f"the alarms are {leads} before, not {lead}")

    found = Counter()
    for e in events:
        match = TITLE.match(str(e["SUMMARY"]))
        if match and match["kind"] not in IN_SCHEDULE:
            continue
        found[e["DTSTART"].dt, match["kind"] if match else "?", match["clock"] if match else "?"] += 1

    first = read_schedule(asked["schedule"])
    begins = min(first.values(), default=None)

    def may_have_hung(key):
        return key[3] == 1 and not key[2] and first[key] == begins

    # Rows that allow one kind only choose first, those that need none choose last.
    for key in sorted(first, key=lambda k: (len(kinds_of(k[2], k[3])), may_have_hung(k), first[k])):
        patient, order, due, bag = key
        at = first[key]
        if at - lead < now or (asked["from"] and at < asked["from"]) or (asked["to"] and at >= asked["to"]):
            continue
        utc = at.astimezone(dt.timezone.utc)
        for kind in kinds_of(due, bag):
            here = utc, kind, at.strftime("%H:%M")
            if found[here]:
                found[here] -= 1
                count.that(True, "")
                break
        else:
            if not may_have_hung(key):
                count.that(False, f"no reminder: {patient} {order} {due} bag {bag} at {at}")
    for (at, kind, clock), left in sorted(found.items()):
        for _ in range(left):
            count.that(False, f"a reminder that is not in the schedule: {kind} {clock}, {at}")
    print(f"{count.passed} passed, {count.failed} failed")
    return count.failed > 0


if __name__ == "__main__":
    sys.exit(main())
