/* test_moment.c - the calendar, the zone and how times are written: the examples of RFC 5545, Python's zoneinfo as second
 * opinion, and properties. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>

#include "daydrip/moment.h"
#include "second_moment.h"

TestSuite(moment);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

/* New York in 2007, the zone and year of the examples of RFC 5545. */
static const dd_zone_span york_spans[] = {{0, -18000}, {1173596400, -14400}, {1194156000, -18000}};
static const dd_zone york = {"America/New_York", york_spans, ROWS(york_spans), 0, 2000000000};
static const dd_zone_span utc_spans[] = {{0, 0}};
static const dd_zone utc = {"UTC", utc_spans, 1, 0, 2000000000};

/* "2007-03-11 02:30:00" */
static dd_civil civil(const char *text)
{
    dd_time_text t;
    cr_assert_eq(dd_moment_read(text, strlen(text), &t), DD_TF_NONE, "%s", text);
    cr_assert(t.has_date && t.has_clock);
    return t.civil;
}

static const char *written(const dd_zone *zone, dd_moment t, dd_moment_style style)
{
    static char out[DD_MOMENT_MAX];
    size_t length = dd_moment_write(out, zone, t, style);
    cr_assert_eq(length, strlen(out));
    return out;
}

/* RFC 5545, 3.3.5: "TZID=America/New_York:20071104T013000 indicates November 4, 2007 at 1:30 A.M. EDT (UTC-04:00)",
 * "20070311T023000 indicates March 11, 2007 at 3:30 A.M. EDT (UTC-04:00), one hour after 1:30 A.M. EST (UTC-05:00)". */
Test(moment, rfc_5545_examples)
{
    dd_clock_kind kind;
    dd_moment twice = dd_moment_resolve(&york, civil("2007-11-04 01:30:00"), &kind);
    cr_expect_eq(kind, DD_CLOCK_TWICE);
    cr_expect_str_eq(written(&york, twice, DD_MOMENT_PROGRAM), "2007-11-04T01:30:00-04:00");
    dd_moment skipped = dd_moment_resolve(&york, civil("2007-03-11 02:30:00"), &kind);
    cr_expect_eq(kind, DD_CLOCK_SKIPPED);
    cr_expect_str_eq(written(&york, skipped, DD_MOMENT_PROGRAM), "2007-03-11T03:30:00-04:00");
    dd_moment before = dd_moment_resolve(&york, civil("2007-03-11 01:30:00"), &kind);
    cr_expect_eq(kind, DD_CLOCK_ONCE);
    cr_expect_str_eq(written(&york, before, DD_MOMENT_PROGRAM), "2007-03-11T01:30:00-05:00");
    cr_expect_eq(skipped - before, 3600);
    /* 3.3.5, form 2: 19980119T070000Z is 2 o'clock in New York, form 3. */
    cr_expect_str_eq(written(&york, dd_moment_resolve(&york, civil("1998-01-19 02:00"), NULL), DD_MOMENT_UTC), "19980119T070000Z");
}

Test(moment, edges_of_a_change)
{
    static const struct {
        const char *local, *means;
        dd_clock_kind kind;
    } rows[] = {
        {"2007-03-11 01:59:59", "2007-03-11T01:59:59-05:00", DD_CLOCK_ONCE}, {"2007-03-11 02:00:00", "2007-03-11T03:00:00-04:00", DD_CLOCK_SKIPPED},
        {"2007-03-11 02:59:59", "2007-03-11T03:59:59-04:00", DD_CLOCK_SKIPPED}, {"2007-03-11 03:00:00", "2007-03-11T03:00:00-04:00", DD_CLOCK_ONCE},
        {"2007-11-04 00:59:59", "2007-11-04T00:59:59-04:00", DD_CLOCK_ONCE}, {"2007-11-04 01:00:00", "2007-11-04T01:00:00-04:00", DD_CLOCK_TWICE},
        {"2007-11-04 01:59:59", "2007-11-04T01:59:59-04:00", DD_CLOCK_TWICE}, {"2007-11-04 02:00:00", "2007-11-04T02:00:00-05:00", DD_CLOCK_ONCE},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_clock_kind kind;
        dd_moment t = dd_moment_resolve(&york, civil(rows[i].local), &kind);
        cr_expect_str_eq(written(&york, t, DD_MOMENT_PROGRAM), rows[i].means, "%s", rows[i].local);
        cr_expect_eq(kind, rows[i].kind, "%s", rows[i].local);
    }
}

Test(moment, as_python)
{
    for (size_t i = 0; i < ROWS(second_moments); i++) {
        const struct second_moment *r = &second_moments[i];
        const dd_zone *zone = &second_zones[r->zone];
        cr_expect_eq(dd_moment_offset(zone, r->t), r->offset, "row %zu: offset", i);
        cr_expect_str_eq(written(zone, r->t, DD_MOMENT_LOCAL), r->local, "row %zu", i);
        cr_expect_eq(dd_moment_local(zone, r->t).weekday, r->weekday, "row %zu: weekday", i);
        cr_expect_eq(dd_moment_clock_from(zone, r->t, r->clock), r->from, "row %zu, %s: clock_from", i, zone->name);
        cr_expect_eq(dd_moment_clock_after(zone, r->t, r->clock), r->after, "row %zu, %s: clock_after", i, zone->name);
        cr_expect_eq(dd_moment_clock_until(zone, r->t, r->clock), r->until, "row %zu, %s: clock_until", i, zone->name);
        cr_expect_eq(dd_moment_next_hour(zone, r->t), r->hour, "row %zu, %s: next_hour", i, zone->name);
    }
    for (size_t i = 0; i < ROWS(second_resolves); i++) {
        const struct second_resolve *r = &second_resolves[i];
        dd_clock_kind kind;
        dd_moment t = dd_moment_resolve(&second_zones[r->zone], civil(r->local), &kind);
        cr_expect_eq(t, r->t, "row %zu, %s, %s: %lld", i, second_zones[r->zone].name, r->local, (long long)t);
        cr_expect_eq(kind, r->kind, "row %zu, %s, %s: kind %d", i, second_zones[r->zone].name, r->local, (int)kind);
    }
    for (size_t i = 0; i < ROWS(second_dates); i++) {
        const struct second_date *r = &second_dates[i];
        cr_expect_eq(dd_moment_days(r->year, r->month, r->day), r->days, "row %zu", i);
        cr_expect(dd_moment_date_exists(r->year, r->month, r->day), "row %zu", i);
        dd_civil c = dd_moment_local(&utc, r->days * 86400);
        cr_expect(c.year == r->year && c.month == r->month && c.day == r->day && c.weekday == r->weekday, "row %zu", i);
    }
}

/* Every day of ten thousand years follows the one before, and weekdays go round. */
Test(moment, calendar_has_no_holes)
{
    int64_t expected = -719162;
    unsigned weekday = 0; /* 0001-01-01 was a Monday */
    for (int year = 1; year <= 9999; year++)
        for (int month = 1; month <= 12; month++)
            for (int day = 1; dd_moment_date_exists(year, month, day); day++, expected++, weekday = (weekday + 1) % 7) {
                cr_assert_eq(dd_moment_days(year, month, day), expected);
                dd_civil c = dd_moment_local(&utc, expected * 86400 + 86399);
                cr_assert(c.year == year && c.month == month && c.day == day && c.hour == 23 && c.minute == 59 && c.second == 59 && c.weekday == weekday);
            }
    cr_expect_eq(expected, 2932897);
    static const int bad[][3] = {{2026, 2, 29}, {2026, 2, 30}, {1900, 2, 29}, {2026, 4, 31}, {2026, 13, 1}, {2026, 0, 1}, {2026, 1, 0}, {2026, 1, 32}, {0, 1, 1},
        {10000, 1, 1}, {-1, 1, 1}};
    for (size_t i = 0; i < ROWS(bad); i++)
        cr_expect_not(dd_moment_date_exists(bad[i][0], bad[i][1], bad[i][2]), "row %zu", i);
    cr_expect(dd_moment_date_exists(2000, 2, 29) && dd_moment_date_exists(2024, 2, 29));
}

/* Around every change of every zone: a clock reading that occurs is met again, hours are at most two long, clocks come once a day. */
Test(moment, properties_around_changes)
{
    for (size_t z = 0; z < ROWS(second_zones); z++) {
        const dd_zone *zone = &second_zones[z];
        for (size_t i = 1; i < zone->count; i++)
            for (dd_moment t = zone->spans[i].since - 7200; t < zone->spans[i].since + 7200; t += 599) {
                dd_clock_kind kind;
                dd_moment again = dd_moment_resolve(zone, dd_moment_local(zone, t), &kind);
                cr_assert(kind != DD_CLOCK_SKIPPED && (again == t || (kind == DD_CLOCK_TWICE && again < t)), "%s, %lld", zone->name, (long long)t);
                dd_moment hour = dd_moment_next_hour(zone, t);
                dd_civil c = dd_moment_local(zone, hour);
                cr_assert(c.minute == 0 && c.second == 0 && hour > t && hour - t <= 7200, "%s, %lld", zone->name, (long long)t);
                dd_moment from = dd_moment_clock_from(zone, t, 9000), after = dd_moment_clock_after(zone, t, 9000), until = dd_moment_clock_until(zone, t, 9000);
                cr_assert(from >= t && after > t && until <= t && after >= from && (from == t) == (until == t));
                cr_assert(after == from || from == t);
            }
    }
}

Test(moment, before_the_first_span_the_first_holds)
{
    cr_expect_eq(dd_moment_offset(&york, -1000000000), -18000);
    cr_expect_eq(dd_moment_offset(&york, 2000000000), -18000);
    cr_expect_eq(dd_moment_offset(&york, 1173596399), -18000);
    cr_expect_eq(dd_moment_offset(&york, 1173596400), -14400);
}

Test(moment, reads)
{
    static const struct {
        const char *text;
        dd_time_fault fault;
        const char *parts; /* what was understood: date, T clock, Z offset, W weekday */
    } rows[] = {
        {"2026-11-25 08:00", DD_TF_NONE, "2026-11-25 T08:00:00"}, {"2026-11-25T08:00", DD_TF_NONE, "2026-11-25 T08:00:00"},
        {"2026-11-25 08:00:30", DD_TF_NONE, "2026-11-25 T08:00:30"}, {"2026-11-25 8:00", DD_TF_NONE, "2026-11-25 T08:00:00"},
        {"2026-11-25T08:00:00Z", DD_TF_NONE, "2026-11-25 T08:00:00 Z0"}, {"2026-11-25T08:00-05:00", DD_TF_NONE, "2026-11-25 T08:00:00 Z-18000"},
        {"2026-11-25 08:00:00+05:30", DD_TF_NONE, "2026-11-25 T08:00:00 Z19800"}, {"2026-11-25 08:00 Z", DD_TF_NONE, "2026-11-25 T08:00:00 Z0"},
        {"2026-11-25 08:00 -05:00", DD_TF_NONE, "2026-11-25 T08:00:00 Z-18000"}, {"2026-11-25  08:00", DD_TF_NONE, "2026-11-25 T08:00:00"},
        {"2026-11-30", DD_TF_NONE, "2026-11-30"}, {"2024-02-29", DD_TF_NONE, "2024-02-29"}, {"08:00", DD_TF_NONE, "T08:00:00"}, {"8:00", DD_TF_NONE, "T08:00:00"},
        {"00:00", DD_TF_NONE, "T00:00:00"}, {"23:59:59", DD_TF_NONE, "T23:59:59"}, {"08:00:00", DD_TF_NONE, "T08:00:00"}, {"Wed 08:00", DD_TF_NONE, "W2 T08:00:00"},
        {"mon 8:00", DD_TF_NONE, "W0 T08:00:00"}, {"SUN 23:00", DD_TF_NONE, "W6 T23:00:00"},
        {"2026-02-30", DD_TF_NO_DATE, NULL}, {"2026-02-30 08:00", DD_TF_NO_DATE, NULL}, {"2026-13-01", DD_TF_NO_DATE, NULL}, {"0000-01-01", DD_TF_NO_DATE, NULL},
        {"2026-00-10 08:00", DD_TF_NO_DATE, NULL},
        {"24:00", DD_TF_NO_CLOCK, NULL}, {"25:00", DD_TF_NO_CLOCK, NULL}, {"08:60", DD_TF_NO_CLOCK, NULL}, {"08:00:60", DD_TF_NO_CLOCK, NULL},
        {"2026-11-25 24:00", DD_TF_NO_CLOCK, NULL}, {"Wed 24:00", DD_TF_NO_CLOCK, NULL}, {"2026-11-25 08:00+24:00", DD_TF_NO_CLOCK, NULL},
        {"2026-11-25 08:00+05:60", DD_TF_NO_CLOCK, NULL},
        {"25.11.2026", DD_TF_DATE_FORM, NULL}, {"25.11.2026 08:00", DD_TF_DATE_FORM, NULL}, {"11/25/2026", DD_TF_DATE_FORM, NULL}, {"11/25/26 8:00", DD_TF_DATE_FORM, NULL},
        {"2026/11/25", DD_TF_DATE_FORM, NULL}, {"2026-1-5", DD_TF_DATE_FORM, NULL}, {"25-11-2026", DD_TF_DATE_FORM, NULL}, {"20261125", DD_TF_DATE_FORM, NULL},
        {"20261125T080000Z", DD_TF_DATE_FORM, NULL}, {"25 Nov 2026", DD_TF_DATE_FORM, NULL}, {"Nov 25, 2026", DD_TF_DATE_FORM, NULL}, {"25-Nov-26", DD_TF_DATE_FORM, NULL},
        {"Wed 25 Nov 08:00", DD_TF_DATE_FORM, NULL}, {"November 25", DD_TF_DATE_FORM, NULL},
        {"", DD_TF_FORM, NULL}, {"noon", DD_TF_FORM, NULL}, {"0800", DD_TF_FORM, NULL}, {"8", DD_TF_FORM, NULL}, {"8.00", DD_TF_FORM, NULL}, {"08:0", DD_TF_FORM, NULL},
        {"08:00 am", DD_TF_FORM, NULL}, {"8:00pm", DD_TF_FORM, NULL}, {"08:00Z", DD_TF_FORM, NULL}, {"008:00", DD_TF_FORM, NULL}, {"08:00:0", DD_TF_FORM, NULL},
        {"08:00:00.5", DD_TF_FORM, NULL}, {"-08:00", DD_TF_FORM, NULL}, {"Wed", DD_TF_FORM, NULL}, {"Wed08:00", DD_TF_FORM, NULL}, {"Wednesday 08:00", DD_TF_FORM, NULL},
        {"Xyz 08:00", DD_TF_FORM, NULL}, {"2026-11-25 ", DD_TF_FORM, NULL}, {"2026-11-25x", DD_TF_FORM, NULL}, {"2026-11-25T", DD_TF_FORM, NULL},
        {"2026-11-25 08", DD_TF_FORM, NULL}, {"2026-11-25 08:00 5", DD_TF_FORM, NULL}, {"2026-11-25 08:00-5:00", DD_TF_FORM, NULL}, {"2026-11-25 08:00-0500", DD_TF_FORM, NULL},
        {"2026-11-25 08:00 EST", DD_TF_FORM, NULL}, {"2026-11-25 08:00ZZ", DD_TF_FORM, NULL}, {"2026-11-25 08:00[UTC]", DD_TF_FORM, NULL},
        {"08:00:00:00", DD_TF_FORM, NULL}, {" 08:00", DD_TF_FORM, NULL}, {"after drip", DD_TF_FORM, NULL}, {"dec", DD_TF_FORM, NULL},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_time_text t = {.offset = 12345}, untouched = t;
        dd_time_fault fault = dd_moment_read(rows[i].text, strlen(rows[i].text), &t);
        cr_expect_eq(fault, rows[i].fault, "\"%s\": fault %d", rows[i].text, (int)fault);
        if (fault != DD_TF_NONE) {
            cr_expect_eq(memcmp(&t, &untouched, sizeof t), 0, "\"%s\"", rows[i].text);
            continue;
        }
        char parts[80] = "", one[40];
        if (t.has_weekday)
            snprintf(parts, sizeof parts, "W%d ", t.weekday);
        if (t.has_date) {
            snprintf(one, sizeof one, "%04d-%02d-%02d ", (int)t.civil.year, t.civil.month, t.civil.day);
            strcat(parts, one);
        }
        if (t.has_clock) {
            snprintf(one, sizeof one, "T%02d:%02d:%02d ", t.civil.hour, t.civil.minute, t.civil.second);
            strcat(parts, one);
        }
        if (t.has_offset) {
            snprintf(one, sizeof one, "Z%d ", (int)t.offset);
            strcat(parts, one);
        }
        parts[strlen(parts) - 1] = '\0';
        cr_expect_str_eq(parts, rows[i].parts, "\"%s\" is %s", rows[i].text, parts);
    }
}

Test(moment, looks_no_further_than_its_length)
{
    static const char whole[] = "2026-11-25 08:00:00-05:00";
    for (size_t cut = 0; cut < sizeof whole; cut++) {
        char *copy = malloc(cut + 1);
        cr_assert_not_null(copy);
        memcpy(copy, whole, cut);
        copy = realloc(copy, cut == 0 ? 1 : cut);
        dd_time_text t;
        dd_time_fault fault = dd_moment_read(copy, cut, &t);
        cr_expect_eq(fault == DD_TF_NONE, cut == 10 || cut == 16 || cut == 19 || cut == 25, "%zu", cut);
        free(copy);
    }
}

Test(moment, writes)
{
    /* 2007-11-04 01:05:09 in New York, the second time: UTC-05:00 */
    const dd_moment t = 1194156309;
    static const struct {
        dd_moment_style style;
        const char *text;
    } rows[] = {
        {DD_MOMENT_PROGRAM, "2007-11-04T01:05:09-05:00"}, {DD_MOMENT_CLOCK, "01:05"}, {DD_MOMENT_CLOCK_UP, "01:06"}, {DD_MOMENT_DAY, "Sun 01:05"},
        {DD_MOMENT_DATE, "Sun 4 Nov"}, {DD_MOMENT_DATE_CLOCK, "Sun 4 Nov 01:05"}, {DD_MOMENT_OFFSET, "UTC-05:00"}, {DD_MOMENT_UTC, "20071104T060509Z"},
        {DD_MOMENT_SECONDS, "Sun 4 Nov 01:05:09"}, {DD_MOMENT_LOCAL, "2007-11-04 01:05:09"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        cr_expect_str_eq(written(&york, t, rows[i].style), rows[i].text);
        cr_expect_str_eq(written(&york, DD_NEVER, rows[i].style), "?");
    }
    cr_expect_str_eq(written(&york, t - 9, DD_MOMENT_CLOCK_UP), "01:05", "a whole minute stays");
    cr_expect_str_eq(written(&york, t - 8, DD_MOMENT_CLOCK_UP), "01:06");
    cr_expect_str_eq(written(&york, 1194155999, DD_MOMENT_CLOCK), "01:59");
    cr_expect_str_eq(written(&york, 1194155999, DD_MOMENT_CLOCK_UP), "01:00", "the clock goes back in that second");
    cr_expect_str_eq(written(&utc, 0, DD_MOMENT_PROGRAM), "1970-01-01T00:00:00+00:00");
    cr_expect_str_eq(written(&utc, -1, DD_MOMENT_CLOCK_UP), "00:00");
    cr_expect_str_eq(written(&utc, -59, DD_MOMENT_CLOCK_UP), "00:00");
    cr_expect_str_eq(written(&utc, -60, DD_MOMENT_CLOCK_UP), "23:59");
    static const dd_zone_span half[] = {{0, 20700}}, old[] = {{0, -17762}};
    static const dd_zone kathmandu = {"Asia/Kathmandu", half, 1, 0, 1}, mean = {"LMT", old, 1, 0, 1};
    cr_expect_str_eq(written(&kathmandu, 0, DD_MOMENT_PROGRAM), "1970-01-01T05:45:00+05:45");
    cr_expect_str_eq(written(&mean, 0, DD_MOMENT_PROGRAM), "1969-12-31T19:03:58-04:56:02");
}

/* What DD_MOMENT_PROGRAM and _LOCAL write is read back as the same. */
Test(moment, written_and_read_is_the_same)
{
    for (size_t i = 0; i < ROWS(second_moments); i++) {
        const dd_zone *zone = &second_zones[second_moments[i].zone];
        dd_moment t = second_moments[i].t;
        const char *text = written(zone, t, DD_MOMENT_PROGRAM);
        dd_time_text read;
        cr_assert_eq(dd_moment_read(text, strlen(text), &read), DD_TF_NONE, "%s", text);
        cr_assert(read.has_offset && read.has_clock && read.has_date);
        dd_moment again = dd_moment_days(read.civil.year, read.civil.month, read.civil.day) * 86400 + read.civil.hour * 3600 + read.civil.minute * 60 +
            read.civil.second - read.offset;
        cr_expect_eq(again, t);
        dd_clock_kind kind;
        again = dd_moment_resolve(zone, civil(written(zone, t, DD_MOMENT_LOCAL)), &kind);
        cr_expect(again == t || (kind == DD_CLOCK_TWICE && again < t));
    }
}

Test(moment, spans)
{
    static const struct {
        int64_t seconds;
        const char *text;
    } rows[] = {
        {0, "0 s"}, {45, "45 s"}, {59, "59 s"}, {60, "1 min"}, {90, "1 min 30 s"}, {599, "9 min 59 s"}, {600, "10 min"}, {629, "10 min"}, {630, "11 min"},
        {2160, "36 min"}, {3569, "59 min"}, {3570, "1 h"}, {3600, "1 h"}, {7200, "2 h"}, {11160, "3 h 06 min"}, {11189, "3 h 06 min"}, {11190, "3 h 07 min"},
        {86400, "24 h"}, {604800, "168 h"}, {3600000, "1,000 h"}, {-11160, "-3 h 06 min"}, {-45, "-45 s"}, {INT64_MAX, "2,562,047,788,015,215 h 30 min"},
        {INT64_MIN, "-2,562,047,788,015,215 h 30 min"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        char out[DD_MOMENT_MAX];
        size_t length = dd_moment_span(out, rows[i].seconds);
        cr_expect_str_eq(out, rows[i].text, "%s is not %s", out, rows[i].text);
        cr_expect_eq(length, strlen(out));
    }
}
