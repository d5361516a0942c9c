#!/usr/bin/env python3
"""Makes the tables second_*.h that the unit tests compare with: what Python's zoneinfo, datetime, fractions and
decimal say. Only the standard library. The same arguments give the same bytes, whatever the machine, as long as the past of the
zones is not rewritten (moments end before 2024).

    second_opinion.py [--rows N] [--seed S] [FOLDER]
"""
import argparse
import datetime as dt
import decimal
import fractions
import pathlib
import random
import zoneinfo

F = fractions.Fraction
UTC = dt.timezone.utc
EPOCH = dt.datetime(1970, 1, 1)
FIRST = int((dt.datetime(1995, 1, 1) - EPOCH).total_seconds())
LAST = int((dt.datetime(2024, 1, 1) - EPOCH).total_seconds())
ZONES = ["UTC", "America/New_York", "America/St_Johns", "Europe/London", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kathmandu",
         "Pacific/Apia", "Africa/Casablanca", "Asia/Tehran", "America/Sao_Paulo", "Pacific/Kiritimati", "Asia/Pyongyang"]


def local(zone, t):
    return (dt.datetime(1970, 1, 1, tzinfo=UTC) + dt.timedelta(seconds=t)).astimezone(zone)


def offset(zone, t):
    return int(local(zone, t).utcoffset().total_seconds())


def spans(zone):
    """Every change of offset from FIRST to LAST, to the second."""
    out, t = [(FIRST, offset(zone, FIRST))], FIRST
    while t < LAST:
        step = min(t + 86400, LAST)
        if offset(zone, step) != offset(zone, t):
            low, high = t, step
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if offset(zone, middle) == offset(zone, t) else (low, middle)
            out.append((high, offset(zone, high)))
            step = high
        t = step
    return out


def resolve(zone, naive):
    """The rule of RFC 5545 is fold=0 of PEP 495."""
    def instant(fold):
        aware = naive.replace(tzinfo=zone, fold=fold)
        return int((naive - EPOCH).total_seconds() - aware.utcoffset().total_seconds())
    first, second = instant(0), instant(1)
    if first == second:
        return first, "DD_CLOCK_ONCE"
    back = local(zone, first).replace(tzinfo=None)
    return first, "DD_CLOCK_TWICE" if back == naive else "DD_CLOCK_SKIPPED"


def clocks(zone, t, second):
    date = local(zone, t).date()
    out = []
    for shift in range(-4, 5):
        day = date + dt.timedelta(days=shift)
        out.append(resolve(zone, dt.datetime.combine(day, dt.time()) + dt.timedelta(seconds=second))[0])
    return (min(x for x in out if x >= t), min(x for x in out if x > t), max(x for x in out if x <= t))


def next_hour(zone, t):
    t += 1
    while (local(zone, t).minute, local(zone, t).second) != (0, 0):
        t += 1
    return t


def moment_table(rows, rng):
    out = ["static const dd_zone_span second_spans[] = {"]
    zones, start = [], 0
    kept = {}
    for name in ZONES:
        zone = zoneinfo.ZoneInfo(name)
        kept[name] = (zone, spans(zone))
        out += [f"    {{{t}, {o}}}," for t, o in kept[name][1]]
        zones.append(f'    {{"{name}", second_spans + {start}, {len(kept[name][1])}, {FIRST}, {LAST}}},')
        start += len(kept[name][1])
    out += ["};", "static const dd_zone second_zones[] = {"] + zones + ["};", ""]
    out += ["static const struct second_moment {", "    int zone; dd_moment t; int32_t offset; const char *local; int weekday;",
            "    int32_t clock; dd_moment from, after, until, hour;", "} second_moments[] = {"]
    for _ in range(rows):
        index = rng.randrange(len(ZONES))
        zone, list_ = kept[ZONES[index]]
        t = rng.randrange(FIRST + 9 * 86400, LAST - 9 * 86400)
        clock = rng.randrange(86400)
        if len(list_) > 1 and rng.random() < 0.7:  # near a change
            change = rng.choice(list_[1:])[0]
            t = change + rng.choice([0, -1, 1, rng.randrange(-90000, 90000)])
            there = local(zone, change)
            if rng.random() < 0.7:
                clock = (there.hour * 3600 + there.minute * 60 + rng.randrange(-4000, 4000)) % 86400
        here = local(zone, t)
        a, b, c = clocks(zone, t, clock)
        out.append(f'    {{{index}, {t}, {offset(zone, t)}, "{here:%Y-%m-%d %H:%M:%S}", {here.weekday()}, {clock}, {a}, {b}, {c}, '
                   f'{next_hour(zone, t)}}},')
    out += ["};", "", "static const struct second_resolve {", "    int zone; const char *local; dd_moment t; dd_clock_kind kind;",
            "} second_resolves[] = {"]
    for _ in range(rows):
        index = rng.randrange(len(ZONES))
        zone, list_ = kept[ZONES[index]]
        naive = EPOCH + dt.timedelta(seconds=rng.randrange(FIRST + 9 * 86400, LAST - 9 * 86400))
        if len(list_) > 1 and rng.random() < 0.8:
            i = rng.randrange(1, len(list_))
            base = list_[i][0] + rng.choice([list_[i][1], list_[i - 1][1]])
            naive = EPOCH + dt.timedelta(seconds=base + rng.choice([0, -1, 1, rng.randrange(-5000, 5000), rng.randrange(-90000, 90000)]))
        t, kind = resolve(zone, naive)
        out.append(f'    {{{index}, "{naive:%Y-%m-%d %H:%M:%S}", {t}, {kind}}},')
    out += ["};", "", "static const struct second_date {", "    int year, month, day; int64_t days; int weekday;", "} second_dates[] = {"]
    for _ in range(rows):
        day = dt.date.fromordinal(rng.randrange(1, dt.date.max.toordinal() + 1))
        out.append(f"    {{{day.year}, {day.month}, {day.day}, {day.toordinal() - dt.date(1970, 1, 1).toordinal()}, {day.weekday()}}},")
    return out + ["};"]


def wide(n):
    n &= (1 << 128) - 1
    return f"WIDE(UINT64_C({n >> 64}), UINT64_C({n & (1 << 64) - 1}))"


def ratio(f):
    return f"{{{wide(f.numerator)}, {wide(f.denominator)}}}"


def fits(f):
    return f is not None and abs(f.numerator) < 1 << 127 and f.denominator < 1 << 127


def some_fraction(rng):
    bits = rng.choice([4, 10, 20, 40, 62, 90, 126])
    num = rng.randrange(1 << rng.choice([4, 10, 20, 40, 62, 90, 126])) * rng.choice([1, 1, 1, -1])
    return F(num, rng.randrange(1, 1 << bits))


def floor_to(f, step):
    value = f / step // 1 * step
    return int(value)


def ratio_table(rows, rng):
    out = ["static const struct second_ratio {", "    dd_ratio a, b, plus, minus, times, over; int sign; int64_t step, down, half, up;",
           "    bool fits_plus, fits_minus, fits_times, fits_over, fits_round;", "} second_ratios[] = {"]
    for _ in range(rows):
        a, b = some_fraction(rng), some_fraction(rng)
        if rng.random() < 0.1:
            b = a
        results = [a + b, a - b, a * b, a / b if b else None]
        step = rng.choice([1, 1, 10, 100, 250, 3600])
        rounds = [floor_to(a, step), floor_to(a + F(step, 2), step), -floor_to(-a, step)]
        okay = all(-(1 << 63) <= r < 1 << 63 for r in rounds) and a.denominator * step < 1 << 127
        out.append("    {" + ", ".join([ratio(a), ratio(b)] + [ratio(r) if fits(r) else "{0, 1}" for r in results]
                                       + [str((a > b) - (a < b)), str(step)] + [str(r) if okay else "0" for r in rounds]
                                       + ["true" if fits(r) else "false" for r in results] + ["true" if okay else "false"]) + "},")
    return [line.replace("-9223372036854775808", "INT64_MIN") for line in out] + ["};"]


def written(value, decimals, person):
    """Halves away from zero, by the decimal module."""
    with decimal.localcontext() as context:
        context.prec = 200
        scaled = value * 10 ** decimals
        whole = abs(scaled).numerator // scaled.denominator
        if abs(scaled) - whole >= F(1, 2):
            whole += 1
        d = decimal.Decimal(whole).scaleb(-decimals)
        text = format(d, ",f" if person else "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return ("-" if value < 0 and whole else "") + text


def number_table(rows, rng):
    out = ["static const struct second_number {", "    dd_ratio value; int decimals; const char *program, *person;",
           "} second_numbers[] = {"]
    for _ in range(rows):
        f = some_fraction(rng)
        if rng.random() < 0.5:  # halves
            f = F(2 * rng.randrange(-10 ** 7, 10 ** 7) + 1, 2 * 10 ** rng.randrange(7))
        decimals = rng.randrange(7)
        if abs(f) > 10 ** 12:
            continue
        out.append(f'    {{{ratio(f)}, {decimals}, "{written(f, decimals, False)}", "{written(f, decimals, True)}"}},')
    out += ["};", "", "static const struct second_scaled {", "    int64_t value; int scale, decimals; const char *program, *person;",
            "} second_scaleds[] = {"]
    for _ in range(rows):
        value = rng.randrange(1 << rng.choice([4, 10, 20, 40, 63])) * rng.choice([1, 1, -1])
        scale, decimals = rng.randrange(7), rng.randrange(7)
        f = F(value, 10 ** scale)
        out.append(f'    {{INT64_C({value}), {scale}, {decimals}, "{written(f, decimals, False)}", "{written(f, decimals, True)}"}},')
    out += ["};", "", "static const struct second_u {", "    int64_t u; int decimals; const char *program, *person;", "} second_us[] = {"]
    for _ in range(rows):
        u = rng.randrange(1 << rng.choice([4, 10, 20, 40, 52])) * rng.choice([1, 1, -1])
        if rng.random() < 0.5:
            u = u // 1800 * 1800
        decimals = rng.randrange(4)
        f = F(u, 3600000)
        out.append(f'    {{INT64_C({u}), {decimals}, "{written(f, decimals, False)}", "{written(f, decimals, True)}"}},')
    return out + ["};"]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=150)
    parser.add_argument("--seed", type=int, default=5545)
    parser.add_argument("folder", nargs="?", default=pathlib.Path(__file__).parent, type=pathlib.Path)
    args = parser.parse_args()
    for name, make in [("moment", moment_table), ("ratio", ratio_table), ("number", number_table)]:
        lines = make(args.rows, random.Random(args.seed))
        top = [f"/* second_{name}.h - made by second_opinion.py; do not edit. What Python says. */"]
        if name != "moment":
            top += ["#ifndef WIDE", "#define WIDE(high, low) ((dd_int128)((dd_int128)(int64_t)(high) * ((dd_int128)1 << 64) + (dd_int128)(low)))", "#endif"]
        (args.folder / f"second_{name}.h").write_text("\n".join(top + lines) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
