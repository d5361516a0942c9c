/* Zones of the system as plain data: gaps, overlaps, half hours, names that are none. */
#include <criterion/criterion.h>
#include <string.h>

#include "daydrip/moment.h"
#include "zone.h"

static dd_moment utc(int year, int month, int day, int hour)
{
    return dd_moment_days(year, month, day) * 86400 + hour * 3600;
}

static dd_zone zone_of(dd_arena *arena, const char *name)
{
    dd_zone zone;
    cr_assert_eq(dd_zone_read(name, utc(2026, 11, 25, 12), arena, &zone), DD_ZONE_READ, "%s", name);
    return zone;
}

Test(zone, changes_at_the_right_second)
{
    static const struct { const char *name; int year, month, day, hour; int32_t before, after; } rows[] = {
        {"America/New_York", 2026, 3, 8, 7, -18000, -14400},    {"America/New_York", 2026, 11, 1, 6, -14400, -18000},
        {"Europe/London", 2026, 3, 29, 1, 0, 3600},             {"Europe/London", 2026, 10, 25, 1, 3600, 0},
        {"Australia/Lord_Howe", 2026, 10, 3, 15, 37800, 39600}, /* at 15:30 UTC: by half an hour */
        {"Africa/Casablanca", 2026, 2, 15, 2, 3600, 0},         {"Africa/Casablanca", 2026, 3, 22, 2, 0, 3600}, /* by the moon: never a year later */
        {"Asia/Kolkata", 2026, 6, 1, 0, 19800, 19800},          {"UTC", 2026, 6, 1, 0, 0, 0},
    };
    dd_arena *arena = dd_arena_new();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        dd_zone zone = zone_of(arena, rows[i].name);
        dd_moment at = utc(rows[i].year, rows[i].month, rows[i].day, rows[i].hour) + (i == 4 ? 1800 : 0);
        cr_expect_eq(dd_moment_offset(&zone, at - 1), rows[i].before, "%s before", rows[i].name);
        cr_expect_eq(dd_moment_offset(&zone, at), rows[i].after, "%s after", rows[i].name);
    }
    dd_arena_free(arena);
}

Test(zone, spans_rise_and_differ)
{
    dd_arena *arena = dd_arena_new();
    dd_zone zone = zone_of(arena, "America/New_York");
    cr_expect_eq(zone.count, 41u); /* two changes a year for 20 years */
    for (size_t i = 1; i < zone.count; i++) {
        cr_expect_lt(zone.spans[i - 1].since, zone.spans[i].since);
        cr_expect_neq(zone.spans[i - 1].offset, zone.spans[i].offset);
    }
    dd_arena_free(arena);
}

Test(zone, skipped_and_doubled)
{
    dd_arena *arena = dd_arena_new();
    dd_zone zone = zone_of(arena, "America/New_York");
    dd_clock_kind kind;
    cr_expect_eq(dd_moment_resolve(&zone, (dd_civil){.year = 2026, .month = 3, .day = 8, .hour = 2, .minute = 30}, &kind), utc(2026, 3, 8, 7) + 1800);
    cr_expect_eq(kind, DD_CLOCK_SKIPPED);
    cr_expect_eq(dd_moment_resolve(&zone, (dd_civil){.year = 2026, .month = 11, .day = 1, .hour = 1, .minute = 30}, &kind), utc(2026, 11, 1, 5) + 1800);
    cr_expect_eq(kind, DD_CLOCK_TWICE);
    dd_arena_free(arena);
}

Test(zone, names_that_are_none)
{
    static const struct { const char *name; dd_zone_end end; } rows[] = {
        {"", DD_ZONE_FORM}, {"+02:00", DD_ZONE_FORM}, {"UTC-5", DD_ZONE_FORM}, {"EST5EDT", DD_ZONE_FORM},
        {"EST5EDT,M3.2.0,M11.1.0", DD_ZONE_FORM}, {"/etc/localtime", DD_ZONE_FORM}, {"../zoneinfo/UTC", DD_ZONE_FORM},
        {"Z", DD_ZONE_FORM}, {"America/Nowhere", DD_ZONE_NOT_KNOWN}, {"america/new_york", DD_ZONE_NOT_KNOWN},
    };
    dd_arena *arena = dd_arena_new();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        dd_zone zone;
        cr_expect_eq(dd_zone_read(rows[i].name, 0, arena, &zone), rows[i].end, "%s", rows[i].name);
    }
    char version[16];
    dd_zone_data_version(version, sizeof version);
    cr_expect_gt(strlen(version), 0);
    dd_arena_free(arena);
}
