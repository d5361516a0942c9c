"""What must be due, worked out a second time: from the rows of `schedule --format csv` and the plan's tables alone.

Nothing here is taken from the program but its schedule. Looks at sites, sets and dressings are held to what the rules say (README of the
rules: a first look 30 min after a start on a still line, hourly while anything runs, a locked line every 4 h in adults and 6 h in children,
a check up to 10 min early, rounds on the hour), not worked out one by one.
"""
import csv
import datetime as dt
import io
import pathlib
from collections import defaultdict

MINUTE, HOUR, DAY = 60, 3600, 86400


def instant(text):
    return int(dt.datetime.fromisoformat(text).timestamp())


def rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def table(folder, name):
    path = pathlib.Path(folder) / f"{name}.csv"
    return rows(path.read_text(encoding="utf-8-sig")) if path.exists() else []


def seconds_of(text):
    number, unit = (text.split() + [""])[:2] if " " in text else (text.rstrip("abcdefghijklmnopqrstuvwxyz"), text.lstrip("0123456789."))
    return round(float(number) * {"s": 1, "min": MINUTE, "h": HOUR, "day": DAY, "days": DAY, "week": 7 * DAY, "weeks": 7 * DAY,
                                  "month": 2629800, "months": 2629800, "year": 31557600, "years": 31557600}[unit])


class Line:
    """What flows on one line: merged stretches, rising."""

    def __init__(self):
        self.flows = []

    def merge(self):
        self.flows.sort()
        merged = []
        for begin, end in self.flows:
            if merged and begin <= merged[-1][1]:
                merged[-1][1] = max(merged[-1][1], end)
            else:
                merged.append([begin, end])
        self.flows = merged

    def next_flow(self, after):
        return next((max(after, begin) for begin, end in self.flows if end > after), None)

    def still_before(self, t):
        return not any(begin < t <= end for begin, end in self.flows)


class Plan:
    def __init__(self, folder, schedule, local):
        """`local`: turns a written local time into an instant; the plan's own zone."""
        self.folder, self.rows, self.local = folder, rows(schedule), local
        self.ward_windows = any(r["rule"] == "dose-window" for r in table(folder, "rules"))
        self.patients = {p["patient"]: p for p in table(folder, "patients")}
        self.lines_csv = {(l["patient"], l["line"]): l for l in table(folder, "lines")}
        self.orders = {(o["patient"], o["order"]): o for o in table(folder, "orders")}
        for row in self.rows:
            row["from_s"], row["to_s"] = instant(row["from"]), instant(row["to"])
        self.lines = defaultdict(Line)
        for row in self.rows:
            self.lines[row["patient"], row["line"]].flows.append((row["from_s"], row["to_s"]))
        for line in self.lines.values():
            line.merge()

    def enteral(self, patient, line):
        return self.lines_csv[patient, line]["kind"] == "enteral"

    def is_dose(self, patient, order):
        o = self.orders[patient, order]
        return bool(o.get("every") or o.get("times") or o.get("runs") == "piggyback")

    def runs(self):
        """The first row of each occurrence, or of each order that is no dose: {(patient, order, due): row}."""
        first = {}
        for row in self.rows:
            if row["part"] == "bag":
                first.setdefault((row["patient"], row["order"], row["due"]), row)
        return first

    def hangs(self):
        seen = {}
        for row in self.rows:
            if row["part"] == "bag" and not self.is_dose(row["patient"], row["order"]):
                seen.setdefault((row["patient"], row["order"], int(row["bag"])), row)
        return {(row["from_s"], p, row["line"], o) for (p, o, bag), row in seen.items() if bag > 1}

    def doses(self):
        return {(row["from_s"], p, row["line"], o) for (p, o, due), row in self.runs().items() if self.is_dose(p, o)}

    def starts(self):
        """Infusions that begin, but bags that hung before; one that takes over a bag may count as either."""
        sure, maybe = set(), set()
        for (p, o, due), row in self.runs().items():
            order = self.orders[p, o]
            if self.is_dose(p, o) or order.get("hanging"):
                continue
            (maybe if order.get("replaces") else sure).add((row["from_s"], p, row["line"], o))
        return sure, maybe

    def changes(self):
        """(goes on, new rate, either of the two) of infusions, from the gaps and rates of their rows."""
        goes, rate, either = set(), set(), set()
        before = {}
        for row in sorted(self.rows, key=lambda r: r["from_s"]):
            p, o = row["patient"], row["order"]
            last = before.get((p, o, row["due"]))
            before[p, o, row["due"]] = row
            if last is None:
                continue
            at = (row["from_s"], p, row["line"], o)
            if row["from_s"] > last["to_s"]:
                goes.add(at)
                if row["rate_ml_per_h"] != last["rate_ml_per_h"]:
                    either.add(at)
            elif row["part"] == "bag" and row["rate_ml_per_h"] != last["rate_ml_per_h"]:
                rate.add(at)
        return goes, rate, either

    # ---- intervals ----

    def clocks(self, order):
        return sorted(60 * int(c.split(":")[0]) + int(c.split(":")[1]) for c in order["times"].split())

    def window(self, patient, order):
        """How far from its due time a dose may start: the order's own, else by interval as the published guideline has it."""
        o = self.orders[patient, order]
        if o.get("window"):
            return seconds_of(o["window"])
        if o.get("every"):
            interval = seconds_of(o["every"])
        elif o.get("times"):
            clocks = self.clocks(o)
            interval = min((b - a) % 1440 or 1440 for a, b in zip(clocks, clocks[1:] + clocks[:1])) * MINUTE
        else:
            return 30 * MINUTE
        return min(30 * MINUTE, interval // 4) if interval < 4 * HOUR else HOUR if interval < DAY else 2 * HOUR

    def adult(self, patient):
        age = self.patients[patient].get("age") or ""
        return None if not age else seconds_of(age) >= 16 * 31557600

    def locked(self, patient):
        adult = self.adult(patient)
        return HOUR if adult is None else 4 * HOUR if adult else 6 * HOUR

    def blood(self, patient, order):
        o = self.orders[patient, order]
        return (o.get("category") or "") == "blood" or (not o.get("category") and o["fluid"].split()[0] in ("red-cells", "platelets", "plasma"))

    def set_by(self, patient, line, changed):
        """By when the set is due: 7 days; blood 12 h and lipid 24 h from when it is in it; 24 h where only doses flow in it."""
        flows = [r for r in self.rows if (r["patient"], r["line"]) == (patient, line) and (changed is None or r["to_s"] > changed)]
        on_it = {(patient, r["order"]) for r in flows} or {(p, o) for (p, o), order in self.orders.items() if p == patient and order["line"] == line}
        known = changed is not None
        by = [changed + 7 * DAY] if known else []
        for row in flows:
            order = self.orders[patient, row["order"]]
            hung_before = order.get("hanging") and row["bag"] == "1"
            if hung_before and not known:
                continue
            since = changed if hung_before else max(changed, row["from_s"]) if known else row["from_s"]
            if self.blood(patient, row["order"]):
                by.append(since + 12 * HOUR)
            if order["fluid"].split()[0] == "lipid-20":
                by.append(since + DAY)
        if not flows and known:
            by += [changed + 12 * HOUR for p, o in on_it if self.blood(p, o)]
        if known and all(self.is_dose(p, o) for p, o in on_it):
            by.append(changed + DAY)
        return min(by, default=None)
