/* moment.h - instants in UTC, the local clock of the ward, and how both are written.
 *
 * Inside, every time is whole seconds of UTC. The zone is plain data (a list of offsets) that only the edge reads from
 * the system; everything here is arithmetic over it and pure. */
#ifndef DAYDRIP_MOMENT_H
#define DAYDRIP_MOMENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef int64_t dd_moment; /* seconds since 1970-01-01T00:00:00Z, leap seconds not counted */
#define DD_NEVER INT64_MIN /* no such moment */

/* From `since` on the local clock is UTC + offset, until the next span. */
typedef struct dd_zone_span { dd_moment since; int32_t offset; /* seconds, -86399 to 86399 */ } dd_zone_span;

/* A zone: spans in rising order, the first one holds for all time before the second. Covers `covers_from` to `covers_to`;
 * the reader refuses moments outside. */
typedef struct dd_zone {
    const char *name;         /* IANA name */
    const dd_zone_span *spans;
    size_t count;             /* at least 1 */
    dd_moment covers_from, covers_to;
} dd_zone;

/* A date and clock of the local calendar (proleptic Gregorian). */
typedef struct dd_civil {
    int32_t year;  /* 1 to 9999 */
    uint8_t month; /* 1 to 12 */
    uint8_t day;   /* 1 to 31 */
    uint8_t hour, minute, second; /* 0 to 23, 59, 59 */
    uint8_t weekday; /* 0 Monday to 6 Sunday; filled by the functions here, ignored as input */
} dd_civil;

typedef enum dd_clock_kind { DD_CLOCK_ONCE, DD_CLOCK_SKIPPED, DD_CLOCK_TWICE } dd_clock_kind;

int64_t dd_moment_days(int year, int month, int day);        /* days since 1970-01-01 */
bool dd_moment_date_exists(int year, int month, int day);     /* 1 to 9999, real days only */
int32_t dd_moment_offset(const dd_zone *zone, dd_moment t);   /* seconds that the local clock is ahead of UTC at t */
dd_civil dd_moment_local(const dd_zone *zone, dd_moment t);
/* The instant a local date and clock means. A clock that the zone skips means the instant that the offset before the change
 * gives; one that occurs twice means the first (RFC 5545, 3.3.5). *kind, where not NULL, says which case it was. */
dd_moment dd_moment_resolve(const dd_zone *zone, dd_civil local, dd_clock_kind *kind);
/* The first instant at or after `from` whose local clock is `second_of_day` (0 to 86399), and the first after it, and the
 * last at or before it. One instant per local date, by dd_moment_resolve. */
dd_moment dd_moment_clock_from(const dd_zone *zone, dd_moment from, int32_t second_of_day);
dd_moment dd_moment_clock_after(const dd_zone *zone, dd_moment after, int32_t second_of_day);
dd_moment dd_moment_clock_until(const dd_zone *zone, dd_moment until, int32_t second_of_day);
/* The first instant after t whose local minute and second are 0. */
dd_moment dd_moment_next_hour(const dd_zone *zone, dd_moment t);

/* ---- reading ---- */
/* What a written time says; which parts are there decides what it means in its column. */
typedef struct dd_time_text {
    bool has_date, has_weekday, has_clock, has_offset;
    dd_civil civil;    /* date where has_date; clock where has_clock */
    uint8_t weekday;   /* 0 Monday to 6, where has_weekday */
    int32_t offset;    /* seconds, where has_offset */
} dd_time_text;

typedef enum dd_time_fault {
    DD_TF_NONE,
    DD_TF_FORM,      /* none of the forms that are read */
    DD_TF_DATE_FORM, /* a date in another form, such as 25.11.2026 or 11/25/2026 */
    DD_TF_NO_DATE,   /* a date that does not exist, 2026-02-30 */
    DD_TF_NO_CLOCK   /* a clock that does not exist, 25:00, 24:00 */
} dd_time_fault;

/* Reads `2026-11-25 08:00[:00]`, the same with `T`, with `Z` or an offset; `2026-11-30`; `08:00`, `8:00`, `08:00:00`;
 * `Wed 08:00`. The whole trimmed cell. */
dd_time_fault dd_moment_read(const char *text, size_t length, dd_time_text *out);

/* ---- writing ---- */
#define DD_MOMENT_MAX 48 /* bytes a written moment takes at most, NUL included */
typedef enum dd_moment_style {
    DD_MOMENT_PROGRAM,   /* 2026-11-25T08:00:00-05:00 */
    DD_MOMENT_CLOCK,     /* 08:00, rounded down to the minute */
    DD_MOMENT_CLOCK_UP,  /* 08:00, rounded up to the minute: from when something is possible */
    DD_MOMENT_DAY,       /* Wed 08:00, rounded down */
    DD_MOMENT_DATE,      /* Wed 25 Nov */
    DD_MOMENT_DATE_CLOCK,/* Wed 25 Nov 08:00, rounded down */
    DD_MOMENT_OFFSET,    /* UTC-05:00 */
    DD_MOMENT_UTC,       /* 20261125T130000Z, the form of RFC 5545 */
    DD_MOMENT_SECONDS,   /* Wed 25 Nov 08:00:00 */
    DD_MOMENT_LOCAL      /* 2026-11-25 08:00:00, as a table takes it, local date-time without offset */
} dd_moment_style;
/* Returns the length. DD_NEVER is written as "?". */
size_t dd_moment_write(char out[DD_MOMENT_MAX], const dd_zone *zone, dd_moment t, dd_moment_style style);
/* A length of time as people read it: `36 min`, `3 h 06 min`, `45 s`, `2 h`. Under ten minutes to the second (`1 min 30 s`), from
 * there on to the nearest minute, half up. */
size_t dd_moment_span(char out[DD_MOMENT_MAX], int64_t seconds);

#endif
