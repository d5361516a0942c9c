"""What the tests of calendars by other programs share: the command run, and plans read and written."""
import csv
import datetime as dt
import io
import re
from zoneinfo import ZoneInfo

from events import ROOT, Count, table

PLAN_ID = "0c9b6d2e-58f1-4c1a-9d0e-6f3f1a2b7c55"


def instant(zone, text):
    return int(dt.datetime.fromisoformat(text).replace(tzinfo=zone).timestamp())


class Run(Count):
    """The command as plans are put through it, in whose zone."""

    zone = dt.timezone.utc

    def that(self, good, message):
        """Counts, and gives back what it counted."""
        super().that(good, message)
        return bool(good)

    def output(self, *words):
        done = self.call(*words)
        if done.returncode:
            raise SystemExit(f"{words}: exit {done.returncode}\n{done.stderr[:2000]}")
        return done.stdout

    def calendar(self, path, *words):
        """The command writes it, so that every byte is as it leaves it."""
        self.output("remind", *words, "--output", path, "--quiet")
        return path

    def rows(self, *words):
        return list(csv.DictReader(io.StringIO(self.output(*words, "--format", "csv"))))

    def use(self, plan):
        """The zone of a plan of plans/ from here on."""
        self.zone = ZoneInfo(next(r["value"] for r in table(ROOT / "plans" / plan, "ward") if r["setting"] == "timezone"))


def seen(event):
    """What somebody sees of an event, but when it was made and its page code: that is another one after any change of the rows."""
    def plain(text):
        return re.sub(r"\nMade [^\n]*\nPage \S+\Z", "", text)
    rest = {k: v for k, v in event.items() if k not in ("sequence", "stamp", "modified")}
    return rest | {"description": plain(event["description"]), "alarms": [a | {"text": plain(a["text"])} for a in event["alarms"]]}


def write_table(folder, name, rows):
    """`rows`: the names of the columns with commas between, then lists of cells."""
    with open(folder / f"{name}.csv", "w", encoding="utf-8", newline="") as f:
        f.write(rows[0] + "\n")
        csv.writer(f, lineterminator="\n").writerows(rows[1:])


def write_plan(folder, zone, begins, tables):
    folder.mkdir(exist_ok=True)
    write_table(folder, "ward", ["setting,value", ["ward", "Test"], ["plan", PLAN_ID], ["timezone", zone], ["begins", begins]])
    for name, rows in tables.items():
        write_table(folder, name, rows)
