/* moment.c - instants, the ward's local clock, and which instant a written clock means.
 *
 * The calendar is proleptic Gregorian. Every question about the zone goes through its list of offsets; what a skipped or
 * doubled clock means is RFC 5545, 3.3.5, as calendars do it, so that a reminder and a page can never disagree. */
#include "daydrip/moment.h"

#define DAY_S INT64_C(86400)
#define HOUR_S INT64_C(3600)
#define OFFSET_MOST 86400 /* no zone is further from UTC, either way */

/* Floor division, the divisor above 0. */
static int64_t floor_div(int64_t a, int64_t b)
{
    return a / b - (a % b < 0);
}

static int64_t floor_rest(int64_t a, int64_t b)
{
    return a % b < 0 ? a % b + b : a % b;
}

/* ---- the calendar ---- */

static bool leap(int year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

bool dd_moment_date_exists(int year, int month, int day)
{
    static const uint8_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return year >= 1 && year <= 9999 && month >= 1 && month <= 12 && day >= 1 &&
        day <= days[month - 1] + (month == 2 && leap(year) ? 1 : 0);
}

/* Years begin on 1 March, so that a leap day is the last of its year; 400 years are 146,097 days. */
int64_t dd_moment_days(int year, int month, int day)
{
    int64_t y = month <= 2 ? (int64_t)year - 1 : year;
    int64_t era = floor_div(y, 400), of_era = y - era * 400;
    int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

static dd_civil civil_of(int64_t local)
{
    int64_t days = floor_div(local, DAY_S);
    uint32_t second = (uint32_t)(local - days * DAY_S);
    int64_t shifted = days + 719468, era = floor_div(shifted, 146097);
    uint32_t of_era = (uint32_t)(shifted - era * 146097);
    uint32_t year_of_era = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    uint32_t of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    uint32_t shifted_month = (5 * of_year + 2) / 153;
    uint32_t month = shifted_month < 10 ? shifted_month + 3 : shifted_month - 9;
    return (dd_civil){
        .year = (int32_t)((int64_t)year_of_era + era * 400 + (month <= 2 ? 1 : 0)),
        .month = (uint8_t)month,
        .day = (uint8_t)(of_year - (153 * shifted_month + 2) / 5 + 1),
        .hour = (uint8_t)(second / 3600),
        .minute = (uint8_t)(second / 60 % 60),
        .second = (uint8_t)(second % 60),
        .weekday = (uint8_t)floor_rest(days + 3, 7), /* 1970-01-01 was a Thursday */
    };
}

/* ---- the zone ---- */

/* Index of the span that holds t: the last one that began at or before it, else the first. */
static size_t span_at(const dd_zone *zone, dd_moment t)
{
    size_t low = 0, high = zone->count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (zone->spans[middle].since <= t)
            low = middle;
        else
            high = middle;
    }
    return low;
}

int32_t dd_moment_offset(const dd_zone *zone, dd_moment t)
{
    return zone->spans[span_at(zone, t)].offset;
}

dd_civil dd_moment_local(const dd_zone *zone, dd_moment t)
{
    return civil_of(t + dd_moment_offset(zone, t));
}

/* The instant of `local` (seconds of the local calendar). Walks the few spans that could hold it: a span holds the clock
 * readings from its begin to its end, each by its own offset. */
static dd_moment resolve(const dd_zone *zone, int64_t local, dd_clock_kind *kind)
{
    size_t first = span_at(zone, local - OFFSET_MOST);
    dd_moment found = DD_NEVER, before_gap = DD_NEVER;
    int times = 0;
    for (size_t i = first; i < zone->count; i++) {
        if (i > first && zone->spans[i].since > local + OFFSET_MOST)
            break;
        dd_moment t = local - zone->spans[i].offset;
        bool begun = i == 0 || t >= zone->spans[i].since;
        bool over = i + 1 < zone->count && t >= zone->spans[i + 1].since;
        if (begun && !over && times++ == 0)
            found = t;
        if (over && before_gap == DD_NEVER && local - zone->spans[i + 1].offset < zone->spans[i + 1].since)
            before_gap = t;
    }
    if (kind != NULL)
        *kind = times == 0 ? DD_CLOCK_SKIPPED : times == 1 ? DD_CLOCK_ONCE : DD_CLOCK_TWICE;
    return times > 0 ? found : before_gap;
}

dd_moment dd_moment_resolve(const dd_zone *zone, dd_civil local, dd_clock_kind *kind)
{
    int64_t seconds = local.hour * 3600 + local.minute * 60 + local.second;
    return resolve(zone, dd_moment_days(local.year, local.month, local.day) * DAY_S + seconds, kind);
}

/* The local date of t, in days. */
static int64_t date_of(const dd_zone *zone, dd_moment t)
{
    return floor_div(t + dd_moment_offset(zone, t), DAY_S);
}

/* One instant per date; where the zone jumps, that of the date before or after may be the nearest. */
dd_moment dd_moment_clock_from(const dd_zone *zone, dd_moment from, int32_t second_of_day)
{
    dd_moment best = DD_NEVER;
    int64_t date = date_of(zone, from);
    for (int64_t d = date - 1; d <= date + 2; d++) {
        dd_moment t = resolve(zone, d * DAY_S + second_of_day, NULL);
        if (t >= from && (best == DD_NEVER || t < best))
            best = t;
    }
    return best;
}

dd_moment dd_moment_clock_after(const dd_zone *zone, dd_moment after, int32_t second_of_day)
{
    return dd_moment_clock_from(zone, after + 1, second_of_day);
}

dd_moment dd_moment_clock_until(const dd_zone *zone, dd_moment until, int32_t second_of_day)
{
    dd_moment best = DD_NEVER;
    int64_t date = date_of(zone, until);
    for (int64_t d = date - 2; d <= date + 1; d++) {
        dd_moment t = resolve(zone, d * DAY_S + second_of_day, NULL);
        if (t <= until && (best == DD_NEVER || t > best))
            best = t;
    }
    return best;
}

dd_moment dd_moment_next_hour(const dd_zone *zone, dd_moment t)
{
    size_t i = span_at(zone, t);
    for (dd_moment from = t + 1;; from = zone->spans[++i].since) {
        dd_moment next = from + floor_rest(-(from + zone->spans[i].offset), HOUR_S);
        if (i + 1 == zone->count || next < zone->spans[i + 1].since)
            return next;
    }
}
