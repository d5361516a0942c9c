"""Reading quantities, times and clocks, all exact.

Volumes come out as microlitres (Fraction), rates as microlitres per hour
(Fraction), times as whole seconds since 1970 UTC."""

import datetime
import re
from fractions import Fraction
from zoneinfo import ZoneInfo

UTC = datetime.timezone.utc
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]

VOLUME = {"ml": 1000, "l": 1000000}                       # microlitres
TIME = {"s": 1, "min": 60, "h": 3600, "day": 86400}       # seconds
WEIGHT = {"kg": Fraction(1), "g": Fraction(1, 1000)}      # kilograms
# One family per kind of amount; only amounts of one family can be divided.
AMOUNT = {"kg": ("mass", 10**9), "g": ("mass", 10**6), "mg": ("mass", 10**3),
          "mcg": ("mass", 1), "mmol": ("mmol", 1), "meq": ("meq", 1),
          "units": ("units", 1)}


def half_up(value):
    """The nearest whole number, halves upwards."""
    value = Fraction(value)
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def number_and_unit(text):
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(\D.*?)\s*", text)
    if not match:
        raise ValueError(f"not a quantity: {text!r}")
    return Fraction(match.group(1)), match.group(2).strip()


def span(text):
    """Seconds of a time such as `30 min`."""
    number, unit = number_and_unit(text)
    seconds = number * TIME[unit.rstrip("s") if unit == "days" else unit]
    if seconds.denominator != 1:
        raise ValueError(f"not whole seconds: {text!r}")
    return int(seconds)


def weight(text):
    number, unit = number_and_unit(text)
    return number * WEIGHT[unit]


def age_in_days(text):
    """Days, good enough for the class; plans keep away from its bounds."""
    number, unit = number_and_unit(text)
    days = {"h": Fraction(1, 24), "day": 1, "days": 1, "month": Fraction(487, 16),
            "months": Fraction(487, 16), "year": Fraction(1461, 4),
            "years": Fraction(1461, 4), "week": 7, "weeks": 7}
    return number * days[unit]


def volume(text, kilograms=None):
    """Exact microlitres of `500 mL`, `1 L` or `20 mL/kg`."""
    number, unit = number_and_unit(text)
    unit = unit.lower()
    if unit.endswith("/kg"):
        return number * VOLUME[unit[:-3]] * kilograms
    return number * VOLUME[unit]


def volume_rate(text, kilograms=None):
    """Exact microlitres per hour of `83.3 mL/h`, `120 mL/kg/day` and so on."""
    number, unit = number_and_unit(text)
    parts = unit.split("/")
    rate = number * VOLUME[parts[0].lower()]
    if len(parts) == 3:
        if parts[1] != "kg":
            raise ValueError(text)
        rate *= kilograms
    return rate * 3600 / TIME[parts[-1]]


def amount(text):
    """(family, number) of `400 mg`."""
    number, unit = number_and_unit(text)
    family, factor = AMOUNT[unit.lower()]
    return family, number * factor


def strength(text):
    """(family, amount per microlitre) of `400 mg/250 mL` or `1.6 mg/mL`."""
    over, under = text.split("/")
    family, number = amount(over)
    under = under.strip()
    if not under[0].isdigit():
        under = "1 " + under
    return family, number / volume(under)


def plain(thousandths):
    """A whole number of thousandths as a decimal without trailing zeros."""
    whole, rest = divmod(thousandths, 1000)
    if rest == 0:
        return str(whole)
    return f"{whole}.{rest:03d}".rstrip("0")


class Zone:
    """The ward's time zone."""

    def __init__(self, name):
        self.info = ZoneInfo(name)

    def local(self, t):
        return datetime.datetime.fromtimestamp(t, self.info)

    def written(self, t):
        return self.local(t).isoformat()

    def instant(self, date, clock):
        """What a clock means on a date.

        With fold=0 Python does what RFC 5545, 3.3.5 says: a clock that occurs
        twice is the first, and one that the zone skips takes the offset from
        before the change."""
        hour, minute, second = clock
        naive = datetime.datetime(date.year, date.month, date.day, hour, minute, second)
        offset = naive.replace(tzinfo=self.info, fold=0).utcoffset()
        return int((naive - offset).replace(tzinfo=UTC).timestamp())

    def date_time(self, text):
        text = text.strip().replace("Z", "+00:00").replace(" ", "T", 1)
        moment = datetime.datetime.fromisoformat(text)
        if moment.tzinfo is not None:
            return int(moment.timestamp())
        return self.instant(moment.date(), (moment.hour, moment.minute, moment.second))

    def around(self, text, reference):
        """All instants of a clock, or weekday and clock, near a reference."""
        words = text.split()
        weekday = WEEKDAYS.index(words[0].lower()) if len(words) == 2 else None
        clock = read_clock(words[-1])
        today = self.local(reference).date()
        found = []
        for days in range(-9, 10):
            date = today + datetime.timedelta(days=days)
            if weekday is None or date.weekday() == weekday:
                found.append(self.instant(date, clock))
        return sorted(found)

    def first_from(self, text, reference):
        """A date-time, or the first such clock at or after the reference."""
        if is_date_time(text):
            return self.date_time(text)
        return min(t for t in self.around(text, reference) if t >= reference)

    def first_after(self, text, reference):
        if is_date_time(text):
            return self.date_time(text)
        return min(t for t in self.around(text, reference) if t > reference)

    def last_until(self, text, reference):
        if is_date_time(text):
            return self.date_time(text)
        return max(t for t in self.around(text, reference) if t <= reference)


def is_date_time(text):
    return re.match(r"\s*\d{4}-\d\d-\d\d", text) is not None


def read_clock(text):
    parts = [int(part) for part in text.split(":")]
    return tuple(parts + [0] * (3 - len(parts)))
