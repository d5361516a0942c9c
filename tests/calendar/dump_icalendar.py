#!/usr/bin/python3
"""What Python's icalendar reads in calendar files: dump_icalendar.py FILE...

Prints a JSON list with one list of events per file, in the form of all dump programs: times as seconds since 1970 in UTC, `utc` whether
they were written in UTC, alarms as seconds before the start and a text.
"""
import datetime as dt
import json
import sys

from icalendar import Calendar


def seconds(moment):
    return int(moment.dt.timestamp())


def categories_of(event):
    value = event.get("CATEGORIES", [])
    return [str(c) for v in (value if isinstance(value, list) else [value]) for c in v.cats]


def read(path):
    with open(path, "rb") as f:
        calendar = Calendar.from_ical(f.read())
    return [{
        "uid": str(e["UID"]),
        "start": seconds(e["DTSTART"]),
        "end": seconds(e["DTEND"]),
        "utc": all(e[name].dt.utcoffset() == dt.timedelta(0) for name in ("DTSTART", "DTEND")),
        "summary": str(e["SUMMARY"]),
        "description": str(e["DESCRIPTION"]),
        "sequence": int(e["SEQUENCE"]),
        "status": str(e["STATUS"]),
        "transparent": str(e["TRANSP"]) == "TRANSPARENT",
        "stamp": seconds(e["DTSTAMP"]),
        "modified": seconds(e["LAST-MODIFIED"]),
        "categories": categories_of(e),
        "alarms": [{"before": -int(a["TRIGGER"].dt.total_seconds()), "action": str(a["ACTION"]), "text": str(a["DESCRIPTION"])} for a in e.walk("VALARM")],
    } for e in calendar.walk("VEVENT")]


json.dump([read(path) for path in sys.argv[1:]], sys.stdout)
