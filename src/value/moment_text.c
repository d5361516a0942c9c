/* moment_text.c - times as they are written in tables and on pages.
 *
 * Reading takes only forms that mean one thing: 25.11. and 11/25 are refused, with a fault of their own. Writing is done digit by digit:
 * a schedule holds hundreds of thousands of times. */
#include "daydrip/moment.h"

/* For dates without a zone: the local calendar is that of UTC. */
static const dd_zone_span utc_span = {0, 0};
static const dd_zone utc = {.name = "UTC", .spans = &utc_span, .count = 1};

/* ---- reading ---- */

typedef struct cursor {
    const char *at, *end;
} cursor;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* Reads from `least` to `most` digits, all there are. */
static bool number(cursor *c, int least, int most, int *out)
{
    int value = 0, count = 0;
    for (; c->at < c->end && is_digit(*c->at); c->at++) {
        if (++count > most)
            return false;
        value = value * 10 + (*c->at - '0');
    }
    *out = value;
    return count >= least;
}

static bool mark(cursor *c, char wanted)
{
    if (c->at == c->end || *c->at != wanted)
        return false;
    c->at++;
    return true;
}

static bool spaces(cursor *c)
{
    const char *first = c->at;
    while (mark(c, ' '))
        continue;
    return c->at != first;
}

/* Three letters against a list of such words; -1: none of them. */
static int word(const char *text, const char *words, int count)
{
    for (int i = 0; i < count; i++) {
        const char *w = words + 3 * i;
        if ((text[0] | 0x20) == w[0] && (text[1] | 0x20) == w[1] && (text[2] | 0x20) == w[2])
            return i;
    }
    return -1;
}

/* `25.11.2026`, `11/25/26`, `2026/11/25`, `2026-1-5`, `20261125`, `25 Nov 2026`: somebody meant a date. */
static bool looks_like_a_date(cursor c)
{
    for (const char *at = c.at; c.end - at >= 3; at++)
        if ((at == c.at || !is_letter(at[-1])) && is_letter(at[0]) && is_letter(at[1]) && is_letter(at[2]) &&
            word(at, "janfebmaraprmayjunjulaugsepoctnovdec", 12) >= 0)
            for (const char *d = c.at; d < c.end; d++)
                if (is_digit(*d))
                    return true;
    int part;
    cursor all = c;
    if (number(&all, 8, 8, &part))
        return true;
    if (!number(&c, 1, 4, &part) || c.at == c.end || (*c.at != '.' && *c.at != '/' && *c.at != '-'))
        return false;
    char separator = *c.at++;
    return number(&c, 1, 4, &part) && mark(&c, separator) && number(&c, 1, 4, &part);
}

/* `08:00`, `8:00`, `08:00:00` */
static dd_time_fault read_clock(cursor *c, dd_time_text *out)
{
    int hour, minute, second = 0;
    if (!number(c, 1, 2, &hour) || !mark(c, ':') || !number(c, 2, 2, &minute) || (mark(c, ':') && !number(c, 2, 2, &second)))
        return DD_TF_FORM;
    if (hour > 23 || minute > 59 || second > 59)
        return DD_TF_NO_CLOCK;
    out->civil.hour = (uint8_t)hour;
    out->civil.minute = (uint8_t)minute;
    out->civil.second = (uint8_t)second;
    out->has_clock = true;
    return DD_TF_NONE;
}

/* Nothing, `Z`, `-05:00` */
static dd_time_fault read_offset(cursor *c, dd_time_text *out)
{
    int hours = 0, minutes = 0;
    (void)spaces(c);
    if (c->at == c->end)
        return DD_TF_NONE;
    bool negative = *c->at == '-';
    if (!mark(c, 'Z')) {
        if (!mark(c, '-') && !mark(c, '+'))
            return DD_TF_FORM;
        if (!number(c, 2, 2, &hours) || !mark(c, ':') || !number(c, 2, 2, &minutes))
            return DD_TF_FORM;
        if (hours > 23 || minutes > 59)
            return DD_TF_NO_CLOCK;
    }
    out->offset = (hours * 60 + minutes) * (negative ? -60 : 60);
    out->has_offset = true;
    return c->at == c->end ? DD_TF_NONE : DD_TF_FORM;
}

static bool read_date(cursor *c, dd_time_text *out)
{
    int year, month, day;
    if (!number(c, 4, 4, &year) || !mark(c, '-') || !number(c, 2, 2, &month) || !mark(c, '-') || !number(c, 2, 2, &day))
        return false;
    out->has_date = true;
    out->civil.year = year;
    out->civil.month = (uint8_t)month;
    out->civil.day = (uint8_t)day;
    return true;
}

dd_time_fault dd_moment_read(const char *text, size_t length, dd_time_text *out)
{
    const cursor whole = {text, text + length};
    cursor c = whole;
    dd_time_text read = {0};
    dd_time_fault fault;
    if (read_date(&c, &read)) {
        if (!dd_moment_date_exists(read.civil.year, read.civil.month, read.civil.day))
            return DD_TF_NO_DATE;
        read.civil.weekday = dd_moment_local(&utc, dd_moment_days(read.civil.year, read.civil.month, read.civil.day) * INT64_C(86400)).weekday;
        if (c.at < c.end) {
            if (!mark(&c, 'T') && !spaces(&c))
                return DD_TF_FORM;
            fault = read_clock(&c, &read);
            if (fault == DD_TF_NONE)
                fault = read_offset(&c, &read);
            if (fault != DD_TF_NONE)
                return fault;
        }
        *out = read;
        return DD_TF_NONE;
    }
    c = whole;
    if (length >= 3 && is_letter(text[0])) {
        int day = word(text, "montuewedthufrisatsun", 7);
        c.at += 3;
        if (day >= 0 && spaces(&c) && read_clock(&c, &read) == DD_TF_NO_CLOCK)
            return DD_TF_NO_CLOCK;
        if (day >= 0) {
            read.has_weekday = true;
            read.weekday = (uint8_t)day;
        }
    } else {
        fault = read_clock(&c, &read);
        if (fault == DD_TF_NO_CLOCK)
            return fault;
    }
    if (read.has_clock && c.at == c.end && (read.has_weekday || is_digit(text[0]))) {
        *out = read;
        return DD_TF_NONE;
    }
    return looks_like_a_date(whole) ? DD_TF_DATE_FORM : DD_TF_FORM;
}

/* ---- writing ---- */

static const char weekdays[] = "MonTueWedThuFriSatSun";
static const char months[] = "JanFebMarAprMayJunJulAugSepOctNovDec";

static char *put_two(char *at, uint32_t value)
{
    at[0] = (char)('0' + value / 10 % 10);
    at[1] = (char)('0' + value % 10);
    return at + 2;
}

static char *put_year(char *at, int32_t year)
{
    uint32_t y = year < 0 || year > 9999 ? 0 : (uint32_t)year; /* outside every zone's cover; never asked for */
    return put_two(put_two(at, y / 100), y % 100);
}

static char *put_text(char *at, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        *at++ = text[i];
    return at;
}

static char *put_clock(char *at, dd_civil c)
{
    at = put_two(at, c.hour);
    *at++ = ':';
    return put_two(at, c.minute);
}

static char *put_second(char *at, dd_civil c)
{
    *at++ = ':';
    return put_two(at, c.second);
}

static char *put_date(char *at, dd_civil c)
{
    at = put_year(at, c.year);
    *at++ = '-';
    at = put_two(at, c.month);
    *at++ = '-';
    return put_two(at, c.day);
}

/* `Wed` */
static char *put_weekday(char *at, dd_civil c)
{
    return put_text(at, weekdays + 3 * c.weekday, 3);
}

/* `Wed 25 Nov` */
static char *put_day(char *at, dd_civil c)
{
    at = put_weekday(at, c);
    *at++ = ' ';
    if (c.day >= 10)
        *at++ = (char)('0' + c.day / 10);
    *at++ = (char)('0' + c.day % 10);
    *at++ = ' ';
    return put_text(at, months + 3 * (c.month - 1), 3);
}

/* `-05:00`; the seconds of old local mean times are written only where there are any. */
static char *put_offset(char *at, int32_t offset)
{
    uint32_t size = (uint32_t)(offset < 0 ? -offset : offset);
    *at++ = offset < 0 ? '-' : '+';
    at = put_two(at, size / 3600);
    *at++ = ':';
    at = put_two(at, size / 60 % 60);
    if (size % 60 == 0)
        return at;
    *at++ = ':';
    return put_two(at, size % 60);
}

static size_t finish(char *out, char *at)
{
    *at = '\0';
    return (size_t)(at - out);
}

size_t dd_moment_write(char out[DD_MOMENT_MAX], const dd_zone *zone, dd_moment t, dd_moment_style style)
{
    char *at = out;
    if (t == DD_NEVER) {
        *at++ = '?';
        return finish(out, at);
    }
    int32_t offset = style == DD_MOMENT_UTC ? 0 : dd_moment_offset(zone, t);
    if (style == DD_MOMENT_CLOCK_UP) {
        int64_t over = (t + offset) % 60;
        t += over == 0 ? 0 : over < 0 ? -over : 60 - over;
        offset = dd_moment_offset(zone, t);
    }
    dd_civil c = dd_moment_local(&utc, t + offset);
    switch (style) {
    case DD_MOMENT_PROGRAM:
        at = put_date(at, c);
        *at++ = 'T';
        at = put_second(put_clock(at, c), c);
        return finish(out, put_offset(at, offset));
    case DD_MOMENT_LOCAL:
        at = put_date(at, c);
        *at++ = ' ';
        return finish(out, put_second(put_clock(at, c), c));
    case DD_MOMENT_CLOCK:
    case DD_MOMENT_CLOCK_UP:
        return finish(out, put_clock(at, c));
    case DD_MOMENT_DAY:
        at = put_weekday(at, c);
        *at++ = ' ';
        return finish(out, put_clock(at, c));
    case DD_MOMENT_DATE:
        return finish(out, put_day(at, c));
    case DD_MOMENT_DATE_CLOCK:
    case DD_MOMENT_SECONDS:
        at = put_day(at, c);
        *at++ = ' ';
        at = put_clock(at, c);
        return finish(out, style == DD_MOMENT_SECONDS ? put_second(at, c) : at);
    case DD_MOMENT_OFFSET:
        at = put_text(at, "UTC", 3);
        return finish(out, put_offset(at, offset));
    case DD_MOMENT_UTC:
        at = put_two(put_two(put_year(at, c.year), c.month), c.day);
        *at++ = 'T';
        at = put_two(put_two(put_two(at, c.hour), c.minute), c.second);
        *at++ = 'Z';
        break;
    }
    return finish(out, at);
}

static char *put_count(char *at, uint64_t value, const char *unit, size_t length)
{
    char digits[20];
    size_t count = 0;
    do {
        digits[count++] = (char)('0' + value % 10);
        value /= 10;
    } while (value != 0);
    while (count > 0) {
        *at++ = digits[--count];
        if (count > 0 && count % 3 == 0)
            *at++ = ',';
    }
    return put_text(at, unit, length);
}

/* Seconds are told below ten minutes, where they matter to somebody who counts them; from there on the nearest minute. */
size_t dd_moment_span(char out[DD_MOMENT_MAX], int64_t seconds)
{
    char *at = out;
    uint64_t size = seconds < 0 ? -(uint64_t)seconds : (uint64_t)seconds;
    if (seconds < 0)
        *at++ = '-';
    if (size < 60)
        return finish(out, put_count(at, size, " s", 2));
    if (size < 600 && size % 60 != 0) {
        at = put_count(at, size / 60, " min ", 5);
        return finish(out, put_count(at, size % 60, " s", 2));
    }
    uint64_t minutes = size / 60 + (size % 60 >= 30 ? 1 : 0);
    if (minutes < 60)
        return finish(out, put_count(at, minutes, " min", 4));
    at = put_count(at, minutes / 60, " h", 2);
    if (minutes % 60 == 0)
        return finish(out, at);
    *at++ = ' ';
    at = put_two(at, (uint32_t)(minutes % 60));
    return finish(out, put_text(at, " min", 4));
}
