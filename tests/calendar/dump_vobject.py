#!/usr/bin/python3
"""What vobject, on which calendar servers and address books are built, reads in calendar files: dump_vobject.py FILE...

Prints what dump_icalendar.py prints, whose comment says what that is.
"""
import datetime as dt
import json
import sys

import vobject


def seconds(moment):
    return int(moment.value.timestamp())


def read(path):
    with open(path, encoding="utf-8", newline="") as f:
        calendar = vobject.readOne(f.read())
    return [{
        "uid": e.uid.value,
        "start": seconds(e.dtstart),
        "end": seconds(e.dtend),
        "utc": all(t.value.utcoffset() == dt.timedelta(0) for t in (e.dtstart, e.dtend)),
        "summary": e.summary.value,
        "description": e.description.value,
        "sequence": int(e.sequence.value),
        "status": e.status.value,
        "transparent": e.transp.value == "TRANSPARENT",
        "stamp": seconds(e.dtstamp),
        "modified": seconds(e.last_modified),
        "categories": [c for x in e.contents.get("categories", []) for c in x.value],
        "alarms": [{"before": -int(a.trigger.value.total_seconds()), "action": a.action.value, "text": a.description.value} for a in e.contents.get("valarm", [])],
    } for e in calendar.contents.get("vevent", [])]


json.dump([read(path) for path in sys.argv[1:]], sys.stdout)
