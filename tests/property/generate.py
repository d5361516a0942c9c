"""Random plan folders, the same for the same seed.

Every plan is one that the program has to accept: units on all values, no
feed outside an enteral line, repeated orders with a volume and a bag that
holds it, and so on.  What the design does not settle is kept away from, or
recognised by the oracle (`LEFT_OUT`).

    python3 tests/property/generate.py SEED DIR
    python3 tests/property/generate.py SEED DIR chart    with a charted history
"""

import csv
import datetime
import os
import random
import sys

import history
import oracle
import placing
from values import Zone, is_date_time

# Plans that raise these in the oracle are left out of a run.
LEFT_OUT = (oracle.Unclear, placing.TooMany)

# Zone, dates and clocks at which plans begin; most hold a change of clocks.
BEGINS = [
    ("America/Lima", "2026-11-25", ["07:00", "19:00", "06:45", "00:00"]),
    ("Europe/London", "2026-03-28", ["19:00", "07:00", "22:30", "23:59"]),
    ("Europe/London", "2026-03-29", ["00:15", "02:30"]),
    ("Europe/London", "2026-10-24", ["19:00", "07:00", "21:00"]),
    ("Europe/London", "2026-10-25", ["00:30", "01:30", "02:00"]),
    ("Australia/Lord_Howe", "2026-04-04", ["19:00", "07:00", "22:10"]),
    ("Australia/Lord_Howe", "2026-04-05", ["00:30", "01:45"]),
    ("Australia/Lord_Howe", "2026-10-03", ["19:00", "07:00", "20:00"]),
    ("Australia/Lord_Howe", "2026-10-04", ["00:30", "02:30"]),
    ("Asia/Kolkata", "2026-06-10", ["08:00", "20:15"]),
    # Here the clocks change at midnight.
    ("America/Santiago", "2026-09-05", ["19:00", "00:15", "07:00"]),
    ("America/Santiago", "2026-04-04", ["19:00", "22:45", "07:00"]),
]
BEDS = ["bay1-bed1", "bay1-bed2", "bay1-bed3", "bay2-bed1", "bay2-cot1", "bay3-cot1",
        "bay3-cot2", "bay4-bed1"]
RATES = ["23.6", "62.5", "0.7", "80", "125", "41.67", "83.3", "7.05", "100", "33.333",
         "12", "250", "19.95", "150", "3.2", "55.55"]
CRYSTALLOIDS = ["nacl-0.9", "glucose-5", "hartmann", "ringer-lactate",
                "glucose-5-nacl-0.9 + kcl 20 mmol/L", "nacl-0.9 + kcl 20 mmol/L",
                "glucose-5-nacl-0.45", "nacl-0.45", "glucose-10"]
DOSES = ["cefazolin 1 g in nacl-0.9", "vancomycin 500 mg in glucose-5",
         "metronidazole 500 mg in nacl-0.9", "gentamicin 80 mg in nacl-0.9",
         "paracetamol 1 g in nacl-0.9"]
DROPS = ["20 gtt/mL", "60 gtt/mL", "15 gtt/mL", "10 drops/mL", "13 gtt/mL"]


class Maker:
    def __init__(self, seed):
        self.random = random.Random(seed)
        self.pick = self.random.choice
        self.hangs_later = False        # bags that hang and go on after the plan has begun

    def chance(self, share):
        return self.random.random() < share

    # Values

    def decimal(self, low, high, places):
        value = f"{self.random.uniform(low, high):.{places}f}"
        return value.rstrip("0").rstrip(".") if "." in value else value

    def millilitres(self, low, high):
        """A volume above zero, as somebody might write it."""
        value = self.decimal(low, high, self.pick([0, 0, 0, 1, 3]))
        value = value if float(value) else str(low)
        if self.chance(0.05):
            return f"{float(value) / 1000:.6f} L"
        return value + self.pick([" mL", " mL", "mL", " ml"])

    def clock(self):
        return f"{self.random.randrange(24):02d}:{self.pick([0, 0, 0, 15, 30, 30, 45, 10, 59]):02d}"

    def instant(self, low, high):
        """A date-time between two instants, in a form that is never in doubt."""
        t = self.random.randrange(low, max(low + 1, high))
        t -= t % self.pick([1, 60, 60, 900, 900, 3600])
        t = max(t, low)
        if self.chance(0.2):
            return datetime.datetime.fromtimestamp(t, datetime.timezone.utc).strftime(
                "%Y-%m-%dT%H:%M:%SZ")
        local = self.zone.local(t)
        text = local.isoformat(sep=self.pick(" T"))
        naive = local.replace(tzinfo=None, fold=0)
        twice = (naive.replace(tzinfo=self.zone.info, fold=0).utcoffset()
                 != naive.replace(tzinfo=self.zone.info, fold=1).utcoffset())
        return text if twice or self.chance(0.3) else text[:19]

    def moment(self):
        """For `start` and the like: clock, weekday and clock, or date-time."""
        kind = self.random.random()
        if kind < 0.5:
            return self.clock()
        if kind < 0.6:
            t = self.random.randrange(self.begins, self.end)
            return self.zone.local(t).strftime("%a %H:") + self.pick(["00", "30", "05"])
        return self.instant(self.begins, self.end)

    # Tables

    def ward(self):
        zone, date, clocks = self.pick(BEGINS)
        self.zone = Zone(zone)
        clock = self.pick(clocks)
        self.begins = self.zone.date_time(f"{date} {clock}")
        # 01:30 in London and 01:45 on Lord Howe occur twice: say which.
        begins = f"{date} {clock}"
        if (zone, clock) in (("Europe/London", "01:30"), ("Australia/Lord_Howe", "01:45")):
            self.begins += self.pick([0, 3600 if zone == "Europe/London" else 1800])
            begins = self.zone.written(self.begins)
        hours = self.pick(["", "6", "8", "10", "12", "12", "16", "24", "30"])
        rows = [("ward", "Larkfield"), ("timezone", zone), ("begins", begins),
                ("plan", "6f1c2a54-90be-4f0e-9c1d-%012x" % self.random.getrandbits(48))]
        if hours or self.chance(0.5):
            rows.append(("hours", hours))
        if self.chance(0.5):
            rows.append(("shifts", self.pick([
                "day 07:00; night 19:00", "early 06:30; late 14:00; night 21:15",
                "day 08:00; night 20:00", "a 01:30; b 02:15; c 13:00"])))
        if not hours:
            local = self.zone.local(self.begins)
            self.end = self.zone.instant(local.date() + datetime.timedelta(days=1),
                                         (local.hour, local.minute, 0))
        else:
            self.end = self.begins + 3600 * int(hours)
        return [{"setting": setting, "value": value} for setting, value in rows]

    def own_rules(self):
        source = {"source": "Larkfield ward round"}
        choices = [("pump-step", "", "1 mL/h"), ("pump-step", "infant", "0.01 mL/h"),
                   ("pump-step", "central", "0.5 mL/h"), ("hang-time", "fluid", "8 h"),
                   ("hang-time", "blood", "3 h"), ("hang-time", "hartmann central", "5 h"),
                   ("hang-time", "feed", "12 h"), ("dose-window", "", "45 min"),
                   ("hang-time", "fluid adult", "7 h")]
        rows, seen = [], set()
        for rule, applies, value in self.random.sample(choices, self.random.randint(1, 3)):
            if (rule, len(applies.split())) not in seen:    # no two that tie
                seen.add((rule, len(applies.split())))
                rows.append({"rule": rule, "applies": applies, "value": value, **source})
        return rows

    def patient(self, bed):
        group = self.pick(["neonate", "infant", "child", "adult", "adult"])
        age, kilograms = {
            "neonate": (self.pick(["87 h", "5 days", "12 days"]),
                        self.pick(["3.2 kg", "2850 g", "1.735 kg"])),
            "infant": (self.pick(["3 months", "10 months"]), self.pick(["9 kg", "5.75 kg"])),
            "child": (self.pick(["4 years", "7 years", "12 years"]),
                      self.pick(["18.5 kg", "10 kg", "23.333 kg", "41 kg"])),
            "adult": (self.pick(["34 years", "67 years"]), self.pick(["82 kg", "61.5 kg"])),
        }[group]
        self.group, self.bed = group, bed
        self.kilograms = float(kilograms.split()[0]) / (1 if "kg" in kilograms else 1000)
        row = {"patient": bed, "age": age, "weight": kilograms, "allergies": "none"}
        self.has_allowance = self.chance(0.5)
        if self.has_allowance:
            choices = [self.decimal(60, 180, 1) + " mL/kg/day",
                       self.decimal(20 * self.kilograms, 150 * self.kilograms, 0) + " mL/day"]
            if group in ("infant", "child"):
                choices.append(self.pick(["80% maintenance", "110 % maintenance"]))
            row["allowance"] = self.pick(choices)
        return row

    # Orders

    def rate(self, row, steps=True):
        """Fills `rate` (and what it needs) with a rate on its own."""
        gravity = "gtt" in row.get("set", "") or "drops" in row.get("set", "")
        choices = ["plain"] * 6 + ["minute", "day", "kg/h", "kg/day", "kg/min"]
        if " in " not in row["fluid"] and "+" not in row["fluid"]:
            choices += ["dose"] * 2
        if self.group in ("infant", "child"):
            choices += ["maintenance"] * 2
        if gravity:
            choices += ["drops"] * 4
        if steps:
            choices += ["steps"] * 2
        kind = self.pick(choices)
        kg = self.kilograms
        if kind == "plain":
            row["rate"] = self.pick(RATES) + " mL/h"
        elif kind == "minute":
            row["rate"] = self.decimal(0.1, 3, 2) + " mL/min"
        elif kind == "day":
            row["rate"] = self.decimal(200, 2500, 0) + " mL/day"
        elif kind == "kg/h":
            row["rate"] = self.decimal(0.5, 6, 2) + " mL/kg/h"
        elif kind == "kg/day":
            row["rate"] = self.decimal(20, 120, 1) + " mL/kg/day"
        elif kind == "kg/min":
            row["rate"] = self.decimal(0.02, 0.1, 3) + " mL/kg/min"
        elif kind == "maintenance":
            row["rate"] = self.pick(["100% maintenance", "80% maintenance", "66.6 % maintenance"])
        elif kind == "drops":
            row["rate"] = self.decimal(5, 60, self.pick([0, 0, 1])) + self.pick(
                [" gtt/min", " drops/min"])
        elif kind == "dose":
            row["rate"], row["strength"] = self.pick([
                ("5 mcg/kg/min", "400 mg/250 mL"), ("0.35 mcg/kg/min", "2 mg/50 mL"),
                ("4 mg/h", "1 mg/mL"), ("12.5 units/h", "50 units/50 mL"),
                ("18 units/kg/h", "25000 units/500 mL"), ("6 mmol/h", "40 mmol/L"),
                ("2 g/day", "20 g/500 mL"), ("0.02 units/kg/min", "100 units/1 L")])
            if row.get("category", "") == "" and self.chance(0.5):
                row["fluid"] = "larkamine"      # a name the catalogue does not know
        else:
            parts = []
            for _ in range(self.random.randint(1, 4)):
                parts.append(f"{self.pick(RATES)} mL/h for "
                             + self.pick(["15 min", "30 min", "1 h", "90 s", "7 min", "2 h"]))
            row["rate"] = "; ".join(parts + [self.pick(RATES) + " mL/h"])

    def slowest_bag(self, row):
        """A bag small enough to be changed often, not absurdly often."""
        low = 15
        if "kg" in row.get("rate", "") or "maintenance" in row.get("rate", ""):
            low = max(low, 4 * self.kilograms)
        return self.millilitres(low, self.pick([low + 30, low + 200, 1000]))

    def amounts(self, row):
        """rate, volume, over, bag and prime of an order that is not a dose."""
        if self.chance(0.2):
            row["set"] = self.pick(DROPS)
        elif self.chance(0.2):
            row["set"] = self.pick(["pump", "syringe"])
        kind = self.random.random()
        big = self.chance(0.5)
        if kind < 0.3:                              # rate alone
            self.rate(row)
            row["bag"] = self.slowest_bag(row)
            if self.chance(0.5):
                row["stop"] = self.moment()
        elif kind < 0.6:                            # volume and over
            row["volume"] = self.millilitres(40, 1200 if big else 120)
            row["over"] = self.pick(["8 h", "4 h", "90 min", "7 h", "24 h", "40 min", "100 min"])
        elif kind < 0.7:
            row["volume"] = self.decimal(3, 20, 1) + " mL/kg"
            row["over"] = self.pick(["1 h", "30 min", "4 h", "50 min"])
        elif kind < 0.8:                            # rate and over
            self.rate(row, steps=False)
            row["over"] = self.pick(["2 h", "5 h", "45 min", "37 min"])
        elif kind < 0.83:                           # all three, to the step
            row.update(self.pick([
                {"rate": "100 mL/h", "volume": "500 mL", "over": "5 h"},
                {"rate": "83.333 mL/h", "volume": "1 L", "over": "12 h"},
                {"rate": "62.5 mL/h", "volume": "250 mL", "over": "4 h"}]))
            row.pop("set", None)
        else:                                       # rate and volume
            self.rate(row)
            row["volume"] = self.millilitres(40, 1500 if big else 100)
            if self.chance(0.2):
                row["stop"] = self.moment()
        if row.get("volume", "").lower().endswith("ml"):
            size = float(row["volume"][:-2])
            if size > 60 and self.chance(0.5):
                row["bag"] = self.millilitres(max(15, size / 12), size * 1.2)
            if self.chance(0.25):
                row["prime"] = self.pick(["3 mL", "5 mL", "8.5 mL", "10 mL"])
        elif "volume" not in row and "bag" in row and self.chance(0.25):
            row["prime"] = self.pick(["3 mL", "5 mL", "10 mL"])

    def hanging(self, row):
        """What hangs already, mostly in an order that starts with the plan."""
        size = row.get("bag") or row.get("volume")
        if size is None or not size.lower().endswith("ml"):
            return
        bag = float(size[:-2])
        prime = float(row.get("prime", "0 mL")[:-2])
        left = self.decimal(max(1, bag / 10), bag - prime, 1)
        if not 0 < float(left) <= bag:
            return
        if row.get("volume"):
            if not row["volume"].lower().endswith("ml"):
                return
            row["given"] = self.decimal(0, float(row["volume"][:-2]) / 2 - prime, 1) + " mL"
            if row["given"].startswith("-"):
                del row["given"]
                return
        row["hanging"] = left + " mL"
        if self.chance(0.8):
            row["hung"] = self.pick([self.clock(),
                                     self.instant(self.begins - 20 * 3600, self.begins)])

    def start(self, row, earlier):
        kind = self.random.random()
        if kind < 0.25:
            return
        waits_for = [order for order in earlier
                     if not (order.get("every") or order.get("times")) or order.get("doses")]
        if kind < 0.5 and waits_for:
            row["start"] = "after " + self.pick(waits_for)["order"]
            if self.chance(0.5):
                row["start"] += self.pick([" + 30 min", " + 1 h", " + 45 s", " + 7 min"])
        else:
            row["start"] = self.moment()

    def stop_is_later(self, row):
        """A date-time in `stop` has to lie after the start."""
        stop = row.get("stop", "")
        if is_date_time(stop):
            start = row.get("start", "")
            if start.startswith("after"):
                return
            due = self.zone.first_from(start, self.begins) if start else self.begins
            if self.zone.date_time(stop) <= due:
                del row["stop"]

    def repeat(self, row):
        """`every` or `times`, with starts also before the plan begins."""
        if self.chance(0.5):
            row["every"] = self.pick(["2 h", "3 h", "4 h", "6 h", "8 h", "90 min", "12 h",
                                      "200 min", "24 h", "60 min"])
            row["start"] = self.pick([self.clock(), self.clock(),
                                      self.instant(self.begins - 86400, self.end)])
        else:
            clocks = {self.clock() for _ in range(self.random.randint(1, 4))}
            row["times"] = " ".join(self.random.sample(sorted(clocks), len(clocks)))
            if self.chance(0.3):
                row["start"] = self.pick([self.clock(),
                                          self.instant(self.begins - 86400, self.end)])
        if self.chance(0.3):
            row["doses"] = str(self.random.randint(1, 6))
        if self.chance(0.2):
            row["stop"] = self.moment()
        if is_date_time(row.get("stop", "")) and "start" not in row:
            if self.zone.date_time(row["stop"]) <= self.begins:
                del row["stop"]

    def dose(self, line, kind):
        row = {"line": line, "runs": "piggyback", "fluid": self.pick(DOSES)}
        if kind == "enteral":
            row["category"] = "drug"
        elif self.chance(0.1):
            row["fluid"] = self.pick(CRYSTALLOIDS[:4])
        if self.chance(0.5):
            row["volume"] = self.pick(["100 mL", "50 mL", "10 mL", "62.5 mL", "20 mL", "33.3 mL"])
            row["over"] = self.pick(["30 min", "60 min", "20 min", "47 min", "3 min"])
        else:
            row["volume"] = self.pick(["100 mL", "50 mL", "75 mL", "20 mL", "7 mL"])
            row["rate"] = self.pick(["200 mL/h", "100 mL/h", "150 mL/h", "83.3 mL/h",
                                     "50 mL/h for 10 min; 190 mL/h", "3 mL/min",
                                     "20 mL/h for 90 s; 120 mL/h for 4 min; 250 mL/h"])
            if self.chance(0.1):
                row["set"] = self.pick(DROPS)
        if self.chance(0.6):
            row["flush"] = self.pick(["20 mL", "10 mL", "2 mL", "5.5 mL", "0 mL"])
        if self.chance(0.7):
            self.repeat(row)
            if self.chance(0.3):
                row["bag"] = self.pick(["100 mL", "150 mL"])
        else:
            if self.chance(0.9):
                row["start"] = self.pick([self.moment(), self.moment(),
                                          self.instant(self.begins - 7200, self.end + 7200)])
            if self.chance(0.2):
                row["bag"] = self.pick(["100 mL", "40 mL", "15 mL"])
                row["prime"] = self.pick(["", "5 mL", "4.9 mL"])
        if self.chance(0.3):
            row["window"] = self.pick(["0 min", "30 min", "1 h", "10 min", "2 h", "3 h"])
        if self.chance(0.1):
            row["gap"] = self.pick(["1 h", "0 min", "4 h"])
        self.stop_is_later(row)
        return row

    def crowd(self, line):
        """Doses in each other's way: a few at one time, or many in a row."""
        rows, kind = [], self.random.random()
        if kind < 0.25:
            # Near the number of later doses from which overtaking is left out.
            rows.append({"every": self.pick(["24 min", "25 min", "26 min", "27 min", "28 min"]),
                         "start": self.clock(), "window": "3 h", "doses": self.pick(["", "30"]),
                         "volume": "5 mL", "rate": "100 mL/h", "fluid": self.pick(DOSES)})
            rows.append({"start": self.moment(), "window": "3 h", "volume": "60 mL",
                         "over": self.pick(["40 min", "50 min", "20 min"]),
                         "fluid": self.pick(DOSES)})
        elif kind < 0.6:
            clocks = self.pick([self.clock(), self.clock() + " " + self.clock()])
            if len(set(clocks.split())) < len(clocks.split()):
                clocks = clocks.split()[0]
            for _ in range(self.random.randint(2, 5)):
                rows.append({"times": clocks, "fluid": self.pick(DOSES), "rate": "100 mL/h",
                             "volume": self.pick(["50 mL", "20 mL", "75 mL", "10 mL", "33 mL"]),
                             "flush": self.pick(["", "2 mL", "5 mL"])})
                if self.chance(0.3):
                    rows[-1]["window"] = self.pick(["20 min", "1 h", "2 h", "90 min"])
        else:
            rows.append({"every": self.pick(["15 min", "20 min", "30 min", "1 h"]),
                         "start": self.clock(), "doses": self.pick(["", "20", "40"]),
                         "volume": self.pick(["5 mL", "12 mL", "20 mL", "30 mL"]),
                         "rate": "100 mL/h", "fluid": self.pick(DOSES)})
            if self.chance(0.6):
                rows[0]["window"] = self.pick(["10 min", "1 h", "3 h"])
            rows.append({"start": self.moment(), "volume": "10 mL", "over": "12 min",
                         "fluid": self.pick(DOSES), "flush": self.pick(["", "3 mL"])})
        return [{"line": line, "runs": "piggyback", **row} for row in rows]

    def feed(self, line):
        row = {"line": line, "fluid": self.pick(["enteral-feed", "human-milk", "enteral-feed"])}
        if self.chance(0.7):
            row["fluid"] = "enteral-feed"       # a bag of milk must not time out
            row["volume"] = self.pick(["20 mL", "65 mL", "40.5 mL", "120 mL"])
            if self.chance(0.5):
                row["over"] = self.pick(["20 min", "1 h", "45 min", "4 h"])
            else:
                row["rate"] = self.pick(["60 mL/h", "33.3 mL/h", "40 mL/h for 5 min; 70 mL/h"])
            self.repeat(row)
            if self.chance(0.4):
                row["flush"] = self.pick(["5 mL", "10 mL"])
            if self.chance(0.2):
                row["bag"] = self.pick(["120 mL", "200 mL"])
        else:
            row["rate"] = self.pick(["12.5 mL/h", "30 mL/h", "41 mL/h"])
            row["bag"] = self.millilitres(20, 300)
            if self.chance(0.3):
                row["runs"] = "primary"
        self.stop_is_later(row)
        return row

    def repeated_beside(self, line):
        """A repeated concurrent: rare on a vein, but allowed."""
        row = {"line": line, "runs": "concurrent", "fluid": self.pick(DOSES)}
        row["volume"] = self.pick(["10 mL", "50 mL", "100 mL"])
        row["over"] = self.pick(["30 min", "3 h", "5 h"])
        self.repeat(row)
        if self.chance(0.5):
            row["flush"] = self.pick(["2 mL", "12.5 mL"])
        self.stop_is_later(row)
        return row

    def running(self, line, earlier, first):
        """A primary or concurrent order that is not repeated."""
        row = {"line": line, "runs": self.pick(["primary", "primary", "primary", "", "concurrent"])}
        blood = self.chance(0.12)
        row["fluid"] = (self.pick(["red-cells", "platelets", "plasma"]) if blood else
                        self.pick(CRYSTALLOIDS + ["lipid-20", "parenteral-nutrition",
                                                  "dopamine 400 mg in glucose-5"]
                                  + self.own_names))
        if self.chance(0.05) and not blood:
            row["category"] = self.pick(["drug", "fluid", "nutrition"])
        if self.remainder_wanted and self.chance(0.5):
            self.remainder_wanted = False
            row.update(rate="remainder", bag=self.millilitres(60, 600))
            if self.chance(0.3):
                row["stop"] = self.moment()
            if self.chance(0.3):
                row["prime"] = "12 mL"
            if self.chance(0.2):
                row["set"] = self.pick(DROPS)
        elif row["fluid"].startswith("dopamine") and self.chance(0.6):
            row.update(rate=self.pick(["5 mcg/kg/min", "20 mg/h"]), bag="250 mL")
        else:
            self.amounts(row)
        if first and row["runs"] != "concurrent" and self.chance(0.4) or (
                row["runs"] == "concurrent" and self.chance(0.2)):
            self.hanging(row)
        if "hanging" not in row:
            self.start(row, earlier)
        elif self.hangs_later and self.chance(0.2):
            row["start"] = self.moment()
        self.stop_is_later(row)
        return row

    def replacing(self, old, earlier):
        """An order that takes over from an earlier one of the same kind."""
        repeated = bool(old.get("every") or old.get("times"))
        row = {"line": old["line"], "runs": old.get("runs", ""), "replaces": old["order"],
               "fluid": old["fluid"] if self.chance(0.75) else self.pick(CRYSTALLOIDS)}
        if "category" in old:
            row["category"] = old["category"]
        if repeated:
            if old["runs"] != "piggyback":
                return None
            row.update(fluid=self.pick(DOSES), volume="50 mL", over="30 min",
                       every=self.pick(["6 h", "4 h", "8 h"]), start=self.clock())
            return row
        if old["runs"] == "piggyback" or old.get("rate") == "remainder":
            return None
        self.amounts(row)
        row.pop("prime", None)
        row["start"] = self.pick([self.moment(),
                                  self.instant(self.begins, (self.begins + self.end) // 2)])
        if self.chance(0.15):
            others = [o for o in earlier if o is not old
                      and not (o.get("every") or o.get("times"))]
            if others:
                row["start"] = "after " + self.pick(others)["order"]
        self.stop_is_later(row)
        return row

    def orders(self, lines):
        made = []
        names = iter(self.random.sample(
            ["main", "drip", "second", "abx", "abx2", "feed", "beside", "stat", "bolus",
             "o-10", "o-9", "o-11", "then", "next", "extra", "Z1", "a.b", "k_1", "w2", "w3"], 20))
        self.remainder_wanted = self.has_allowance and self.chance(0.6)
        most_doses = self.random.randint(0, 3)

        def add(row):
            if row is not None and len(made) < 18:
                made.append({"patient": self.bed, "order": next(names), **row})

        for line in lines:
            name, kind = line["line"], line["kind"]
            if kind == "arterial":
                add({"line": name, "runs": "concurrent", "category": "flush",
                     "fluid": "nacl-0.9", "rate": "3 mL/h", "bag": "25 mL"})
                continue
            if kind == "enteral":
                for _ in range(self.random.randint(1, 2)):
                    add(self.feed(name))
                if self.chance(0.2):
                    add(self.dose(name, kind))
                continue
            for i in range(self.random.choice([0, 1, 1, 2, 3, 4, 6])):
                add(self.running(name, made, i == 0))
            for _ in range(self.random.randint(0, most_doses)):
                add(self.dose(name, kind))
            if self.chance(0.2):
                for row in self.crowd(name):
                    add(row)
            if self.chance(0.12):
                add(self.repeated_beside(name))
        old = [row for row in made if row["line"] not in ("feeding-tube", "art")]
        for row in self.random.sample(old, min(len(old), self.pick([0, 1, 1, 2]))):
            add(self.replacing(row, made))
        # Rows in any order, but those that take turns on a line stay in theirs,
        # so that what hangs already is the first to run.
        if self.chance(0.3):
            places = list(range(len(made)))
            self.random.shuffle(places)
            by_line = {}
            for i in places:
                by_line.setdefault(made[i]["line"], []).append(i)
            ranks = {line: iter(sorted(members)) for line, members in by_line.items()}
            made = [made[next(ranks[made[i]["line"]])] for i in places]
        return made

    def lines(self):
        kinds = self.random.sample(
            [("left-forearm", "peripheral"), ("right-hand", "peripheral"), ("cvc", "central"),
             ("feeding-tube", "enteral"), ("picc", "picc"), ("art", "arterial"),
             ("thigh", "midline")], self.random.randint(1, 3))
        return [{"patient": self.bed, "line": line, "kind": kind} for line, kind in kinds]

    def pauses(self, lines):
        rows = []
        for _ in range(self.random.choice([0, 0, 0, 1, 1, 2, 3])):
            row = {"patient": self.bed, "why": self.pick(["scan", "theatre", "bath"])}
            if self.chance(0.6):
                row["line"] = self.pick(lines)["line"]
            if self.chance(0.5):
                row["from"] = self.clock()
                hour = row["from"].split(":")[0]
                row["to"] = (f"{(int(hour) + self.random.randint(0, 2)) % 24:02d}:"
                             f"{self.pick([5, 20, 50]):02d}")
            else:
                begin = self.random.randrange(self.begins - 3600, self.end)
                begin -= begin % 60
                row["from"] = self.instant(begin, begin + 60)
                row["to"] = self.instant(begin + 60, begin + 3 * 3600)
            rows.append(row)
        return rows

    def tables(self):
        tables = {"ward": self.ward(), "patients": [], "lines": [], "orders": [], "pauses": []}
        self.own_names = []
        if self.chance(0.2):
            self.own_names = ["larkfield-mix"]
            own = {"fluid": "larkfield-mix", "words": "Larkfield mixture", "category": "fluid",
                   "sodium": "140 mmol/L", "source": "Larkfield pharmacy"}
            if self.chance(0.7):
                own["hang_time"] = self.pick(["6 h", "150 min"])
            tables["fluids"] = [own]
        if self.chance(0.2):
            tables["rules"] = self.own_rules()
        for bed in self.random.sample(BEDS, self.random.randint(1, self.pick([2, 4, 6]))):
            tables["patients"].append(self.patient(bed))
            lines = self.lines()
            tables["lines"] += lines
            tables["orders"] += self.orders(lines)
            tables["pauses"] += self.pauses(lines)
        if not tables["pauses"]:
            del tables["pauses"]
        return tables


REQUIRED = {"chart": ["entry", "patient", "time", "event"],
            "pauses": ["patient", "line", "from", "to", "why"],
            "orders": ["patient", "order", "fluid", "line"],
            "lines": ["patient", "line", "kind"]}


def write_tables(tables, folder, maker=None):
    """Writes tables of dictionaries; columns in any order, blanks left out."""
    for name, rows in tables.items():
        columns = sorted({column for row in rows for column in row} | set(REQUIRED.get(name, [])))
        if maker is not None:
            maker.random.shuffle(columns)
        ends = "\n" if maker is None else maker.pick(["\n", "\n", "\r\n"])
        separator = "," if maker is None else maker.pick([",", ",", ","])
        path = os.path.join(folder, name + ".csv")
        with open(path, "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, columns, restval="", lineterminator=ends,
                                    delimiter=separator)
            writer.writeheader()
            writer.writerows(rows)


def write_plan(seed, folder):
    maker = Maker(seed)
    tables = maker.tables()
    write_tables(tables, folder, maker)
    return tables


# --------------------------------------------------------------------- charts

class Told(history.Rest):
    """What was charted, without a plan for the rest."""

    def place_the_rest(self):
        pass


class Scribe:
    """Charts what may have happened to the patients of a plan.

    Most of it is as it should be: orders start near the time planned, bags are
    changed when they are empty, readings are near what the rates say.  The
    rest is late, missing, struck, or cannot be.  Some runs started before the
    plan began, and what happened to them then is charted too."""

    def __init__(self, maker, folder):
        self.maker, self.chance, self.pick = maker, maker.chance, maker.pick
        self.random = maker.random
        self.plan = oracle.Plan(folder)
        self.begins, self.end = self.plan.begins, self.plan.end
        self.now = self.random.randrange(self.begins, self.end)
        self.now -= self.now % self.pick([1, 60, 60, 900, 3600])
        self.now = max(self.begins, self.now)
        if self.chance(0.03):
            self.now = self.begins
        self.known = None
        if self.chance(0.2):
            self.known = self.now + self.pick([1800, 7200, 300, 30 * 3600, 0, -1200])
        self.rows, self.count = [], 0
        self.early = self.chance(0.3)       # entries from before the plan

    def earliest(self):
        return self.begins - self.pick([1800, 7200, 6 * 3600, 30 * 3600]) if self.early else (
            self.begins)

    def text(self, t):
        local = self.plan.zone.local(t)
        naive = local.replace(tzinfo=None)
        info = self.plan.zone.info
        twice = (naive.replace(tzinfo=info, fold=0).utcoffset()
                 != naive.replace(tzinfo=info, fold=1).utcoffset())
        if twice or self.chance(0.1):
            return local.isoformat()
        if local.second == 0 and self.chance(0.8):
            return naive.strftime("%Y-%m-%d %H:%M")
        return naive.strftime("%Y-%m-%dT%H:%M:%S")

    def note(self, t, event, course=None, **cells):
        """One more entry.  Some were written down later than they happened."""
        self.count += 1
        row = {"patient": self.patient.key, "entry": f"e-{self.count:04d}", "event": event,
               "time": t, "entered": t, **cells}
        if course is not None:
            row["order"] = course.order.key
            if course.order.repeated:
                row["due"] = self.text(course.run.due)
        if self.chance(0.1):
            row["entered"] = t + self.pick([60, 900, 3600, 5 * 3600, 20 * 3600])
        self.mine.append(row)
        return row

    def near(self, t, most=1800):
        """A second near t, often t itself."""
        kind = self.random.random()
        if kind < 0.35:
            return t
        if kind < 0.7:
            return t + 60 * self.random.randint(-most // 240, most // 60)
        return t + self.random.randint(-most // 4, most)

    def between(self, a, b):
        t = self.random.randrange(a, max(a + 1, b))
        return max(a, t - t % self.pick([1, 60, 300]))

    def meet(self):
        """Some entries fall in the second of another."""
        inside = [row for row in self.mine if row["time"] >= self.begins]
        for row in self.random.sample(inside, min(len(inside), self.pick([0, 0, 2]))):
            other = self.pick(inside)
            row["entered"] += max(0, other["time"] - row["time"])
            row["time"] = other["time"]

    def told(self, now):
        """The patient as charted so far, at a moment."""
        entries = [history.Entry(row["time"], i, row["time"], row["event"], row["entry"],
                                 row.get("order", ""), self.plan.zone.date_time(row["due"])
                                 if row.get("due") else None, row.get("line", ""), "",
                                 row.get("value", ""), "")
                   for i, row in enumerate(self.mine)]
        return Told(self.patient, history.counting(entries, now, now), now, 0, self.as_planned)

    def course(self, order, due):
        class Course:
            pass
        course = Course()
        course.order, course.run = order, oracle.Run(order, due)
        return course

    # What happens to a run

    def rate(self, order):
        if order.set_factor is not None and self.chance(0.7):
            return self.maker.decimal(5, 60, 0) + self.pick([" gtt/min", " drops/min"])
        return self.pick(["80 mL/h", "62.5 mL/h", "12.345 mL/h", "100.1 mL/h", "0.7 mL/h",
                          "2 mL/min", "0 mL/h", "150 mL/h", "33.333 mL/h"])

    def run(self, run, begun, ended, bags):
        """`bags`: seconds in which the plan hangs the next ones."""
        order, late = run.order, 0
        course = self.course(order, run.due)
        moved_from = order.line
        if self.chance(0.8):
            self.note(self.between(self.begins - 3600, max(self.begins, begun)), "verified",
                      None, order=order.key)
        kind = self.random.random()
        if kind < 0.12:
            return
        if kind < 0.17:
            self.note(self.near(begun), "omitted", course)
            return
        if order.hanging is None or self.early and self.chance(0.1):
            start = max(self.begins, self.near(begun))
            if self.early and self.chance(0.3 if begun < self.begins + 3600 else 0.1):
                start = self.between(self.earliest(), self.begins)
            late = start - begun
            self.note(start, "started", course)
        else:
            start = begun
        upto = max(start + 1, min(self.now + 1800, ended + late + 1800))
        for t in bags:
            if t + late < upto and self.chance(0.85):
                cells = {}
                if self.chance(0.4):
                    cells["value"] = self.pick(["100 mL", "500 mL", "1 L", "37.5 mL"])
                self.note(self.near(t + late, 900), "hung", course, **cells)
        if self.chance(0.25):
            t = self.between(start, upto)
            self.note(t, "paused", course)
            if self.chance(0.8):
                self.note(t + 60 * self.random.randint(0, 90), "resumed", course)
        for _ in range(self.pick([0, 0, 0, 1, 2])):
            self.note(self.between(start, upto), "rate", course, value=self.rate(order))
        if self.chance(0.1):
            self.note(self.between(start, upto), "hung", course)
        others = [line for line, kind in self.patient.line_kind.items()
                  if kind not in ("enteral", "arterial") and line != moved_from]
        taken_over = any(other.replaces == order.key for other in self.patient.orders)
        if others and self.patient.line_kind[order.line] not in ("enteral", "arterial"):
            for share in [0.9, 0.3] if taken_over else [0.2]:
                if self.chance(share):
                    t, line = self.between(start, upto), self.pick(others)
                    self.note(t, "moved", course, line=line)
                    if taken_over and self.chance(0.2):
                        t += 60 * self.random.randint(0, 180)
                        self.note(t, "removed", line=line)
                        if self.chance(0.3):
                            self.note(t + 60 * self.random.randint(0, 300), "placed", line=line)
        if self.chance(0.15):
            self.note(self.near(ended + late) if self.chance(0.5)
                      else self.between(start, upto), "stopped", course)

    def dose(self, run, planned):
        course = self.course(run.order, run.due)
        kind = self.random.random()
        start = max(self.begins, self.near(planned, 3600))
        if self.early and planned < self.begins + 7200 and self.chance(0.5):
            start = self.between(self.begins - 7200, self.begins)
        if kind < 0.7:
            self.note(start, "started", course)
            if self.chance(0.12):
                t = start + self.random.randint(0, 2400)
                self.note(t, "paused", course)
                if self.chance(0.7):
                    self.note(t + self.random.randint(0, 3600), "resumed", course)
            if self.chance(0.1):
                self.note(start + self.random.randint(0, 3600), "rate", course,
                          value=self.rate(run.order))
            if self.chance(0.06):
                self.note(start + self.random.randint(0, 3600), "stopped", course)
            others = [line for line, kind in self.patient.line_kind.items()
                      if kind not in ("enteral", "arterial") and line != run.order.line]
            if others and self.patient.line_kind[run.order.line] != "enteral" and (
                    self.chance(0.08)):
                self.note(start + self.random.randint(0, 2400), "moved", course,
                          line=self.pick(others))
        elif kind < 0.8:
            self.note(start, "omitted", course)

    def reading(self):
        """Near what the rates say at some moment."""
        t = self.between(self.earliest(), self.now + 1)
        going = [course for course in self.told(t).story.courses if course.start is not None
                 and course.state != "over"]
        if not going:
            return
        course = self.pick(going)
        order = course.order
        given = sum(piece.between(piece.start, piece.end) for piece in course.pieces
                    if piece.part == "bag") / 3600000
        left = course.bag_left / 3600000
        places = self.pick([0, 0, 1, 3])
        kind, share = self.random.random(), self.random.uniform(0.85, 1.1)
        if kind < 0.1:
            share = self.random.uniform(0, 2)
        if self.chance(0.5):
            value = "given " + self.maker.decimal(given * share, given * share, places)
        else:
            gone = max(0, (course.bags[-1].held / 3600000 - left))
            value = "left " + self.maker.decimal(*[max(0, left + gone * (1 - share))] * 2, places)
        self.note(t, "reading", self.course(order, course.run.due), value=value + " mL")

    def cannot_be(self, runs):
        run = self.pick(runs)
        course = self.course(run.order, run.due)
        event = self.pick(["resumed", "started", "stopped", "omitted", "paused", "reading",
                           "reading", "hung", "rate"])
        cells = {}
        if event == "reading":
            cells["value"] = self.pick(["given 0 mL", "left 0 mL", "given 5000 mL",
                                        "left 5 L", "given 12.5 mL", "left 41 mL"])
        if event == "rate":
            cells["value"] = self.rate(run.order)
        self.note(self.between(self.earliest(), self.now + 600), event, course, **cells)

    # One patient

    def history(self, patient):
        self.patient, self.mine = patient, []
        self.as_planned = 0
        planned = oracle.simulate(patient)
        for order in patient.orders:
            if order.remainder:
                self.as_planned = order.steps[0][0]
        if self.chance(0.9):
            for run in planned.single:
                if run.begun is None or run.begun > self.now + 1800:
                    continue
                hung = {}
                for row in run.rows:
                    if row.part == "bag":
                        hung.setdefault(row.bag, row.start)
                bags = [t for number, t in sorted(hung.items()) if number > 1]
                self.run(run, run.begun, run.ended or self.end, bags[:12])
            for run in planned.piggybacks + planned.concurrent_doses:
                start = run.placed if run.placed is not None else run.due
                if start < self.now + 1800:
                    self.dose(run, start)
            runs = planned.single + planned.piggybacks + planned.concurrent_doses
            for _ in range(self.pick([0, 0, 1, 2]) if runs else 0):
                self.cannot_be(runs)
        for line in patient.line_row:
            if self.chance(0.1):
                t = self.between(self.earliest(), self.now + 600)
                self.note(t, "removed", line=line)
                if self.chance(0.7):
                    self.note(t + 60 * self.random.randint(0, 120), "placed", line=line)
            if self.chance(0.2):
                self.note(self.between(self.begins, self.now + 600),
                          *self.pick([("placed",), ("dressed",), ("set-changed",)]), line=line)
        if self.mine:
            for _ in range(self.pick([0, 1, 2, 4])):
                self.reading()
        for _ in range(self.pick([0, 1, 4])):
            t = self.between(self.begins - 600, self.now + 600)
            event = self.pick(["intake", "output", "output"])
            what = self.pick(["oral", "feed", "other"] if event == "intake" else
                             ["urine", "stool", "vomit", "gastric", "drain", "blood", "other"])
            self.note(t, event, what=what, value=self.pick(
                ["100 mL", "unmeasured", "37.5 mL", "48 g", "0 mL", "0.25 L", "12.345 mL"]))
        if self.chance(0.1):
            self.note(self.between(self.begins, self.now + 600), "weighed", value="9.5 kg")
        self.meet()
        self.mine.sort(key=lambda row: row["entered"])
        for row in self.random.sample(self.mine, min(len(self.mine), self.pick([0, 0, 1, 2]))):
            t = max(self.begins, self.near(max(self.now - 600, row["entered"])))
            row = self.note(t, "struck", strikes=row["entry"])
        self.rows += self.mine

    def chart(self):
        for patient in self.plan.patients:
            self.history(patient)
        if self.chance(0.5):        # the ward's entries one after another, as written
            self.rows.sort(key=lambda row: (row["event"] == "struck", row["entered"]))
        for row in self.rows:
            same = row["entered"] == row["time"] and self.chance(0.5)
            row["entered"] = "" if same else self.text(row["entered"])
            row["time"] = self.text(row["time"])
        return self.rows


def write_history(seed, folder):
    """A plan and what happened; returns its tables, now and known.

    Raises what the oracle raises for plans that it leaves out."""
    maker = Maker(seed)
    maker.hangs_later = True
    tables = maker.tables()
    write_tables(tables, folder, maker)
    scribe = Scribe(maker, folder)
    tables["chart"] = scribe.chart()
    write_tables({"chart": tables["chart"]}, folder, maker)
    return tables, scribe.now, scribe.known


def main():
    if len(sys.argv) not in (3, 4):
        sys.exit("usage: generate.py SEED DIR [chart]")
    seed, folder = int(sys.argv[1]), sys.argv[2]
    os.makedirs(folder, exist_ok=True)
    if len(sys.argv) == 3:
        write_plan(seed, folder)
        return
    _, now, known = write_history(seed, folder)
    zone = oracle.Plan(folder).zone
    print("--at", zone.written(now), *(["--known", zone.written(known)]
                                       if known is not None else []))


if __name__ == "__main__":
    main()
