"""Calendar files taken apart by what their events say: whose sites a round lists, what is to be done on a visit. Read with Debian's
python3-icalendar, a reader that shares nothing with the program."""
import csv
import io
import pathlib
import re
import sys
import uuid

from icalendar import Calendar

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from count import ROOT, Count  # noqa: E402, F401

ROUND = re.compile(r"(?:(?P<team>.+): )?round (?P<clock>\d\d:\d\d)(?P<counts>(?:, \d+ (?:sites?|tubes?|sets?|dressings?))+)\Z")
VISIT = re.compile(r"(?P<bed>.+?): (?P<kinds>second nurse|[a-z-]+(?:, [a-z-]+)*) (?P<clock>\d\d:\d\d)(?P<behind>, .+)?\Z")
TO_DO = re.compile(r"To do: (?P<first>first )?(?:look at (?P<look>\S+)|change (?P<change>set|dressing), (?P<line>\S+)|(?P<dry>\S+) may be dry from now on: look)"
                   r"(?:, overdue since .+)?\.")


def table(folder, name):
    path = pathlib.Path(folder) / f"{name}.csv"
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")))) if path.exists() else []


class Event:
    """One event: when, what it says, and for whom: `does` has (bed, line, task) of what may be done in a span."""

    def __init__(self, event, lines_of):
        self.uid, self.title, self.text = str(event["UID"]), str(event["SUMMARY"]), str(event["DESCRIPTION"])
        self.start, self.sequence, self.modified = event["DTSTART"].dt, int(event["SEQUENCE"]), event["LAST-MODIFIED"].dt
        self.s = int(self.start.timestamp())
        self.status = str(event["STATUS"])
        self.alarm = next((int((self.start + a["TRIGGER"].dt).timestamp()) for a in event.subcomponents), None)
        self.round = ROUND.match(self.title)
        self.visit = None if self.round else VISIT.match(self.title)
        self.does = []
        for line in self.text.split("\n"):
            if line.startswith("Sites: "):
                self.sites(line[7:-1], lines_of)
            for word, task in (("Sets to change: ", "set"), ("Dressings to change: ", "dressing")):
                if line.startswith(word):
                    self.does += [(*item.rsplit(" ", 1), task) for item in line[len(word):-1].split(", ")]
            found = TO_DO.match(line)
            if found and self.visit:
                what = "first" if found["first"] else "look" if found["look"] else found["change"] or "dry"
                self.does.append((self.visit["bed"], found["look"] or found["line"] or found["dry"], what))

    def sites(self, text, lines_of):
        """`bed` and `bed x2` mean all lines of the bed."""
        for item in text.split(", "):
            first = item.endswith(" (first look)")
            words = item.removesuffix(" (first look)").split(" ")
            all_of = len(words) == 1 or re.fullmatch(r"x\d+", words[1])
            lines = lines_of[words[0]] if all_of else [words[1]]
            if all_of and len(lines) != (int(words[1][1:]) if len(words) > 1 else 1):
                raise ValueError(f"{item}: the bed has {len(lines)} lines")
            self.does += [(words[0], line, "first" if first else "look") for line in lines]


def read(text, folder=None):
    """The events of a calendar, with the lines of each bed from the plan's folder (removed lines are not thought of)."""
    lines_of = {}
    if folder:
        beds = {p["patient"]: p.get("bed") or p["patient"] for p in table(folder, "patients")}
        for line in table(folder, "lines"):
            lines_of.setdefault(beds[line["patient"]], []).append(line["line"])
    return [Event(e, lines_of) for e in Calendar.from_ical(text).walk("VEVENT")]


def uid_of(plan, name):
    return str(uuid.uuid5(uuid.UUID(plan), name))
