/* rows.c - every table that programs read: RFC 4180 with LF, times local with offset, plain decimals.
 *
 * A ward of 20,000 patients has hundreds of thousands of rows, and whoever asks for them waits for these few loops. So a
 * row is put together by hand in a buffer on the stack, without a format string, and what repeats from row to row (the
 * date of a day and its offset from UTC) is taken once from dd_moment_write and kept. The unit tests hold every number and
 * time written here against dd_number_scaled, dd_number_u and dd_moment_write. */
#include <string.h>

#include "bytes.h"
#include "daydrip/write.h"
#include "names.h"
#include "rows.h"

/* One stretch of time in which the local date and the offset stay the same: what is written before and after the clock. */
typedef struct day_text {
    dd_moment from, to; /* half-open; from == to: nothing kept yet */
    int32_t offset;     /* seconds that the local clock is ahead of UTC */
    char before[16];    /* 2026-11-25T, always DATE_LENGTH */
    char after[16];     /* -05:00 */
    size_t after_length;
} day_text;

/* A plan of a day touches two dates; two are kept, the one used longest ago goes. */
typedef struct days {
    const dd_zone *zone;
    day_text kept[2];
    int last;
} days;

#define CLOCK_LENGTH 8        /* 08:00:00 */
#define DATE_LENGTH 11        /* 2026-11-25T */
#define SECONDS_OF_DAY 86400

static void keep_day(const dd_zone *zone, dd_moment t, day_text *day)
{
    char text[DD_MOMENT_MAX];
    size_t length = dd_moment_write(text, zone, t, DD_MOMENT_PROGRAM);
    day->offset = dd_moment_offset(zone, t);
    int64_t into = (t + day->offset) % SECONDS_OF_DAY;
    day->from = t - (into < 0 ? into + SECONDS_OF_DAY : into);
    day->to = day->from + SECONDS_OF_DAY;
    for (size_t i = 1; i < zone->count; i++) { /* the offset must hold throughout, or it is no longer this day's text */
        dd_moment change = zone->spans[i].since;
        if (change > t && change < day->to)
            day->to = change;
        if (change <= t && change > day->from)
            day->from = change;
    }
    memcpy(day->before, text, DATE_LENGTH);
    day->after_length = length - DATE_LENGTH - CLOCK_LENGTH;
    if (day->after_length >= sizeof day->after) /* not with the formats of moment.h */
        day->after_length = 0;
    memcpy(day->after, text + DATE_LENGTH + CLOCK_LENGTH, day->after_length);
}

static const day_text *day_of(days *d, dd_moment t)
{
    for (int i = 0; i < 2; i++)
        if (t >= d->kept[i].from && t < d->kept[i].to) {
            d->last = i;
            return &d->kept[i];
        }
    d->last = 1 - d->last;
    keep_day(d->zone, t, &d->kept[d->last]);
    return &d->kept[d->last];
}

static char *put(char *to, const char *text, size_t length)
{
    memcpy(to, text, length);
    return to + length;
}

static char *put_two(char *to, int64_t value) /* 0 to 99 */
{
    *to++ = (char)('0' + value / 10);
    *to++ = (char)('0' + value % 10);
    return to;
}

static char *put_time(char *to, days *d, dd_moment t)
{
    const day_text *day = day_of(d, t);
    int64_t s = (t + day->offset) % SECONDS_OF_DAY;
    if (s < 0)
        s += SECONDS_OF_DAY;
    to = put(to, day->before, DATE_LENGTH);
    to = put_two(to, s / 3600);
    *to++ = ':';
    to = put_two(to, s / 60 % 60);
    *to++ = ':';
    to = put_two(to, s % 60);
    memcpy(to, day->after, sizeof day->after); /* a fixed length is one move; what is too much is written over next */
    return to + day->after_length;
}

static char *put_whole(char *to, uint64_t value)
{
    char digits[20];
    size_t n = 0;
    do
        digits[n++] = (char)('0' + value % 10);
    while (value /= 10);
    while (n)
        *to++ = digits[--n];
    return to;
}

/* value / 1000, without trailing zeros. value >= 0: volumes and rates that flow are never negative. */
static char *put_thousandths(char *to, int64_t value)
{
    to = put_whole(to, (uint64_t)value / 1000);
    unsigned rest = (unsigned)(value % 1000);
    if (rest == 0)
        return to;
    *to++ = '.';
    *to++ = (char)('0' + rest / 100);
    if (rest % 100) {
        *to++ = (char)('0' + rest / 10 % 10);
        if (rest % 10)
            *to++ = (char)('0' + rest % 10);
    }
    return to;
}

/* Halves up at the third decimal of a mL, from the exact amount. */
static char *put_u(char *to, dd_u value)
{
    return put_thousandths(to, (value.u + DD_U_PER_UL / 2) / DD_U_PER_UL);
}

/* Plain text, as nearly all is, is as long as this says; what needs quotes is met before the end. (strcspn builds its table
 * anew at every call.) */
static size_t plain_length(const char *text)
{
    size_t n = 0;
    while (text[n] && text[n] != ',' && text[n] != '"' && text[n] != '\n' && text[n] != '\r')
        n++;
    return n;
}

/* A text cell: quoted only where RFC 4180 needs it; a ' before what a spreadsheet would take for a formula. */
void dd_rows_text(dd_bytes *out, const char *text)
{
    bool guard = *text == '=' || *text == '+' || *text == '-' || *text == '@' || *text == '\t';
    size_t length = plain_length(text);
    bool quote = text[length] != '\0';
    if (quote)
        dd_bytes_char(out, '"');
    if (guard)
        dd_bytes_char(out, '\'');
    if (!quote) {
        dd_bytes_add(out, text, length);
        return;
    }
    for (; *text; text++) {
        if (*text == '"')
            dd_bytes_char(out, '"');
        dd_bytes_char(out, *text);
    }
    dd_bytes_char(out, '"');
}

void dd_rows_time(dd_bytes *out, const dd_plan *plan, dd_moment t)
{
    char text[DD_MOMENT_MAX];
    if (t != DD_NEVER)
        dd_bytes_add(out, text, dd_moment_write(text, plan->zone, t, DD_MOMENT_PROGRAM));
}

void dd_rows_quantity(dd_bytes *out, dd_quantity q)
{
    char number[DD_NUMBER_MAX];
    if (q.unit == DD_UNIT_NONE)
        return;
    dd_bytes_add(out, number, dd_number_scaled(number, q.micro, 6, 3, DD_STYLE_PROGRAM));
    dd_bytes_char(out, ' ');
    dd_bytes_text(out, dd_quantity_unit(q.unit));
    dd_bytes_text(out, q.per_kg ? "/kg" : "");
    if (q.per == DD_UNIT_NONE)
        return;
    dd_bytes_char(out, '/');
    if (q.per_micro != 1000000) {
        dd_bytes_add(out, number, dd_number_scaled(number, q.per_micro, 6, 3, DD_STYLE_PROGRAM));
        dd_bytes_char(out, ' ');
    }
    dd_bytes_text(out, dd_quantity_unit(q.per));
}

void dd_rows_ratio(dd_bytes *out, dd_ratio value)
{
    char number[DD_NUMBER_MAX];
    if (value.den > 0)
        dd_bytes_add(out, number, dd_number_ratio(number, value, 3, DD_STYLE_PROGRAM));
}

static dd_status outcome(const dd_bytes *out)
{
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

/* The plain part of a row, everything behind its keys, fits this with room to spare. */
#define TAIL_MAX 256

/* ---- schedule ---- */
dd_status dd_rows_schedule_head(dd_bytes *out)
{
    dd_bytes_text(out, "patient,line,order,due,part,bag,from,to,rate_ml_per_h,volume_ml,basis\n");
    return outcome(out);
}

static char *put_flow(char *to, days *d, const dd_flow *flow)
{
    if (flow->due != DD_NEVER)
        to = put_time(to, d, flow->due);
    if (flow->part == DD_PART_FLUSH) {
        to = put(to, ",flush,,", 8);
    } else {
        to = put(to, ",bag,", 5);
        to = put_whole(to, (uint64_t)flow->bag);
        *to++ = ',';
    }
    to = put_time(to, d, flow->from);
    *to++ = ',';
    to = put_time(to, d, flow->to);
    *to++ = ',';
    to = put_thousandths(to, flow->rate.ul_per_h);
    *to++ = ',';
    to = put_u(to, flow->given);
    return flow->basis == DD_CHARTED ? put(to, ",charted\n", 9) : put(to, ",planned\n", 9);
}

/* Rows that touch the span asked for, whole: a row says itself from when to when it is. */
dd_status dd_rows_schedule(const dd_view *view, const dd_timeline *timeline, dd_bytes *out)
{
    const dd_patient *patient = timeline->patient;
    days d = {.zone = timeline->plan->zone};
    char tail[TAIL_MAX];
    for (size_t i = 0; i < timeline->flow_count; i++) {
        const dd_flow *flow = &timeline->flows[i];
        if (flow->to <= view->from || flow->from >= view->to)
            continue;
        dd_rows_text(out, patient->key);
        dd_bytes_char(out, ',');
        dd_rows_text(out, patient->lines[flow->line].key);
        dd_bytes_char(out, ',');
        dd_rows_text(out, patient->orders[flow->order].key);
        dd_bytes_char(out, ',');
        dd_bytes_add(out, tail, (size_t)(put_flow(tail, &d, flow) - tail));
    }
    return outcome(out);
}

/* ---- totals ---- */
dd_status dd_rows_totals_head(dd_bytes *out)
{
    dd_bytes_text(out, "patient,from,to,direction,category,volume_ml,basis,unknown\n");
    return outcome(out);
}

static char *put_total(char *to, days *d, const dd_total *total)
{
    *to++ = ',';
    to = put_time(to, d, total->from);
    *to++ = ',';
    to = put_time(to, d, total->to);
    to = total->out ? put(to, ",out,", 5) : put(to, ",in,", 4);
    const char *category = total->out ? dd_names_output(total->category) : dd_names_category(total->category);
    to = put(to, category, strlen(category));
    *to++ = ',';
    to = put_u(to, total->volume);
    to = total->basis == DD_CHARTED ? put(to, ",charted,", 9) : put(to, ",planned,", 9);
    to = put_whole(to, total->unknown);
    *to++ = '\n';
    return to;
}

dd_status dd_rows_totals(const dd_view *view, const dd_timeline *timeline, const dd_total *totals, size_t count, dd_bytes *out)
{
    (void)view;
    days d = {.zone = timeline->plan->zone};
    char tail[TAIL_MAX];
    for (size_t i = 0; i < count; i++) {
        dd_rows_text(out, timeline->patient->key);
        dd_bytes_add(out, tail, (size_t)(put_total(tail, &d, &totals[i]) - tail));
    }
    return outcome(out);
}
