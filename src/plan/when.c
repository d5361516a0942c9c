#include <stdio.h>
#include <string.h>

#include "order.h"

#define CLOCKS_MOST 96
#define DOSES_MOST 100000
#define EVERY_LEAST 900 /* seconds */

static void fault(dd_order_row *r, dd_column_id column, dd_message_id id, const char *first, const char *second)
{
    dd_table_fault(r->s, column, id, dd_cells_peek(r->s, column), first, second);
}

/* A date-time, or a clock with the meaning that `clock` gives it. *blank; *bare: it was a clock. */
typedef dd_moment clock_meaning(const dd_zone *zone, dd_moment base, const dd_time_text *time);
static bool read_when(dd_order_row *r, dd_column_id column, dd_moment base, clock_meaning *meaning, dd_moment *out, bool *blank, dd_time_text *time)
{
    *out = DD_NEVER;
    if (!dd_cells_time(r->s, column, time, blank))
        return false;
    if (*blank)
        return true;
    if (!time->has_clock) {
        fault(r, column, DD_MSG_TIME_CLOCK_NEEDED, dd_column_list[column].expected, NULL);
        return false;
    }
    if (time->has_date)
        return dd_cells_instant(r->s, column, dd_cells_peek(r->s, column), r->f->clock, time, out);
    if (time->has_offset) {
        fault(r, column, DD_MSG_TIME_FORM, dd_column_list[column].expected, NULL);
        return false;
    }
    if (r->f->clock && base != DD_NEVER)
        *out = meaning(r->f->clock, base, time);
    return true;
}

/* `after ORDER`, `after ORDER + 30 min`. */
static bool read_after(dd_order_row *r, const char *text, size_t length)
{
    dd_order *o = r->order;
    size_t at = 6;
    while (at < length && text[at] == ' ')
        at++;
    size_t end = at;
    while (end < length && text[end] != ' ' && text[end] != '+')
        end++;
    const char *key = text + at;
    size_t size = end - at;
    while (end < length && text[end] == ' ')
        end++;
    if (!dd_cells_is_key(key, size) || (end < length && text[end] != '+')) {
        fault(r, DD_COL_ORDERS_START, DD_MSG_START_FORM, dd_column_list[DD_COL_ORDERS_START].expected, NULL);
        return false;
    }
    if (end < length) {
        end++;
        while (end < length && text[end] == ' ')
            end++;
        dd_quantity q;
        if (!dd_cells_part(r->s, DD_COL_ORDERS_START, text + end, length - end, DD_TAKES_TIME, false, &q))
            return false;
        if (dd_quantity_seconds(q, &o->after_s) != DD_OK || o->after_s > INT64_C(366) * 86400) {
            dd_cells_quantity_fault(r->s, DD_COL_ORDERS_START, DD_QF_TOO_LARGE, text, NULL);
            return false;
        }
    }
    o->start_kind = DD_START_AFTER;
    if (!(r->desk->after = dd_arena_text(r->f->arena, key, size)))
        r->f->no_memory = true;
    return true;
}

static void write_both(char out[DD_MOMENT_MAX], const dd_order_row *r, dd_moment t)
{
    dd_moment_write(out, r->f->clock, t, DD_MOMENT_LOCAL);
}

static bool read_start(dd_order_row *r)
{
    dd_order *o = r->order;
    const char *text;
    size_t length;
    o->start = r->f->plan.begins;
    if (!dd_cells_text(r->s, DD_COL_ORDERS_START, &text, &length))
        return false;
    if (!text)
        return true;
    if (strncmp(text, "after", 5) == 0 && (text[5] == ' ' || text[5] == '\0'))
        return read_after(r, text, length > 6 ? length : 6);
    if (text[0] >= 'a' && text[0] <= 'z') {
        dd_time_text time;
        if (dd_moment_read(text, length, &time) != DD_TF_NONE) {
            fault(r, DD_COL_ORDERS_START, DD_MSG_START_FORM, dd_column_list[DD_COL_ORDERS_START].expected, NULL);
            return false;
        }
    }
    dd_time_text time;
    bool blank;
    return read_when(r, DD_COL_ORDERS_START, r->f->plan.begins, dd_desk_clock_from, &o->start, &blank, &time);
}

static bool read_times(dd_order_row *r)
{
    dd_order *o = r->order;
    const char *text;
    size_t length, count = 0;
    int32_t clocks[CLOCKS_MOST];
    if (!dd_cells_text(r->s, DD_COL_ORDERS_TIMES, &text, &length))
        return false;
    if (!text)
        return true;
    for (size_t at = 0; at < length;) {
        size_t end = at;
        while (end < length && text[end] != ' ' && text[end] != '\t')
            end++;
        dd_time_text time;
        if (end > at) {
            dd_time_fault wrong = dd_moment_read(text + at, end - at, &time);
            bool good = wrong == DD_TF_NONE && time.has_clock && !time.has_date && !time.has_weekday && !time.has_offset && count < CLOCKS_MOST;
            int32_t second = good ? time.civil.hour * 3600 + time.civil.minute * 60 + time.civil.second : 0;
            for (size_t i = 0; good && i < count; i++)
                good = clocks[i] != second;
            if (!good) {
                fault(r, DD_COL_ORDERS_TIMES, wrong == DD_TF_NO_CLOCK ? DD_MSG_CLOCK_NONE : DD_MSG_TIMES_FORM,
                      dd_column_list[DD_COL_ORDERS_TIMES].expected, NULL);
                return false;
            }
            clocks[count++] = second;
        }
        at = end + 1;
    }
    int32_t *kept = dd_arena_take_many(r->f->arena, count, sizeof *kept);
    if (!kept) {
        r->f->no_memory = true;
        return false;
    }
    memcpy(kept, clocks, count * sizeof *kept);
    o->clocks = kept;
    o->clock_count = (uint16_t)count;
    o->repeat = DD_TIMES;
    return true;
}

/* The smallest difference between neighbouring clocks round a dial of 24 h. */
static int64_t dial(const int32_t *clocks, size_t count)
{
    int64_t least = 86400;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++) {
            int64_t apart = (clocks[k] - clocks[i] + 86400) % 86400;
            if (i != k && apart < least)
                least = apart;
        }
    return least;
}

static void read_repeat(dd_order_row *r)
{
    dd_order *o = r->order;
    int64_t every, doses;
    bool good = read_times(r);
    bool timed = dd_cells_peek(r->s, DD_COL_ORDERS_TIMES) != NULL;
    if (dd_cells_seconds(r->s, DD_COL_ORDERS_EVERY, &every) && every != DD_UNKNOWN) {
        o->every_s = o->interval_s = every;
        if (timed)
            fault(r, DD_COL_ORDERS_EVERY, DD_MSG_EVERY_TIMES, NULL, NULL);
        else if (every < EVERY_LEAST)
            fault(r, DD_COL_ORDERS_EVERY, DD_MSG_EVERY_SHORT, NULL, NULL);
        else if (!dd_cells_peek(r->s, DD_COL_ORDERS_START))
            fault(r, DD_COL_ORDERS_START, DD_MSG_EVERY_START, NULL, NULL);
        o->repeat = DD_EVERY;
    } else if (good && timed) {
        o->interval_s = dial(o->clocks, o->clock_count);
    }
    if (dd_cells_count(r->s, DD_COL_ORDERS_DOSES, 1, DOSES_MOST, &doses) && doses != DD_UNKNOWN) {
        o->doses = (int32_t)doses;
        if (!timed && !dd_cells_peek(r->s, DD_COL_ORDERS_EVERY))
            fault(r, DD_COL_ORDERS_DOSES, DD_MSG_DOSES_ALONE, NULL, NULL);
    }
}

static void read_stop(dd_order_row *r, bool started)
{
    dd_order *o = r->order;
    dd_time_text time;
    bool blank, after = o->start_kind == DD_START_AFTER;
    if (!read_when(r, DD_COL_ORDERS_STOP, started && !after ? o->start : DD_NEVER, dd_desk_clock_after, &o->stop, &blank, &time) || blank)
        return;
    if (after && !time.has_date) {
        o->stop_kind = DD_STOP_CLOCK;
        o->stop_clock = time.civil.hour * 3600 + time.civil.minute * 60 + time.civil.second;
        return;
    }
    o->stop_kind = DD_STOP_AT;
    if (started && !after && o->stop != DD_NEVER && o->start != DD_NEVER && o->stop <= o->start) {
        char start[DD_MOMENT_MAX];
        write_both(start, r, o->start);
        fault(r, DD_COL_ORDERS_STOP, DD_MSG_STOP_EARLY, start, NULL);
    }
}

static void read_hung(dd_order_row *r, bool started)
{
    dd_order *o = r->order;
    dd_time_text time;
    bool blank;
    dd_moment base = o->start_kind == DD_START_AFTER ? r->f->plan.begins : o->start;
    if (!read_when(r, DD_COL_ORDERS_HUNG, started ? base : DD_NEVER, dd_desk_clock_until, &o->hung, &blank, &time) || blank || o->hung == DD_NEVER)
        return;
    if (started && base != DD_NEVER && o->hung > base)
        fault(r, DD_COL_ORDERS_HUNG, DD_MSG_HUNG_LATE, NULL, NULL);
}

/* What is written about an order's time: start and ordered first, since clocks elsewhere count from them. */
void dd_when_read(dd_order_row *r)
{
    dd_order *o = r->order;
    bool started = read_start(r);
    read_repeat(r);
    read_stop(r, started);
    read_hung(r, started);
    bool ordered = dd_cells_moment(r->s, DD_COL_ORDERS_ORDERED, r->f->clock, &o->ordered);
    bool written = dd_cells_peek(r->s, DD_COL_ORDERS_START) != NULL;
    if (started && ordered && o->start_kind == DD_START_AT && o->ordered != DD_NEVER && o->start != DD_NEVER && o->start < o->ordered
        && (written || o->repeat == DD_ONCE)) {
        char start[DD_MOMENT_MAX], order[DD_MOMENT_MAX];
        write_both(start, r, o->start);
        write_both(order, r, o->ordered);
        dd_table_fault(r->s, DD_COL_ORDERS_START, DD_MSG_START_ORDERED, written ? dd_cells_peek(r->s, DD_COL_ORDERS_START) : "blank", start, order);
    }
    if (o->start_kind == DD_START_AFTER && (o->runs == DD_PIGGYBACK || o->repeat != DD_ONCE))
        fault(r, DD_COL_ORDERS_START, DD_MSG_AFTER_KIND, o->repeat != DD_ONCE ? "a repeated order" : "a piggyback", NULL);
    int64_t window, gap;
    if (dd_cells_seconds(r->s, DD_COL_ORDERS_WINDOW, &window) && window != DD_UNKNOWN) {
        o->window_s = window;
        o->has_window = true;
    }
    if (dd_cells_seconds(r->s, DD_COL_ORDERS_GAP, &gap) && gap != DD_UNKNOWN) {
        o->gap_s = gap;
        o->has_gap = true;
    }
}

/* The bands of the built-in rule: under 4 h the smaller of 30 min and a quarter of the interval, 1 h under 24 h, else 2 h. */
static int64_t band(int64_t interval_s)
{
    if (interval_s == 0)
        return 1800;
    if (interval_s < 4 * 3600)
        return interval_s / 4 < 1800 ? interval_s / 4 : 1800;
    return interval_s < 24 * 3600 ? 3600 : 7200;
}

void dd_when_rules(dd_order_row *r)
{
    dd_order *o = r->order;
    const dd_rule *rule;
    if (!o->has_window) {
        rule = o->window_rule = dd_rule_find(&r->f->plan, DD_RULE_DOSE_WINDOW, &r->about);
        if (!rule || rule->low.unit == DD_UNIT_NONE || dd_quantity_seconds(rule->low, &o->window_s) != DD_OK)
            o->window_s = band(o->interval_s);
    }
    if (!o->has_gap && o->repeat != DD_ONCE) {
        rule = o->gap_rule = dd_rule_find(&r->f->plan, DD_RULE_DOSE_GAP, &r->about);
        dd_ratio gap;
        if (rule && (dd_ratio_make((dd_int128)o->interval_s * rule->low.micro, 100 * (dd_int128)1000000, &gap) != DD_OK
                     || dd_ratio_ceil(gap, 1, &o->gap_s) != DD_OK))
            o->gap_s = 0;
    }
    /* Hang time: the ward's rule, then the fluid's own, then the built-in rule. */
    int16_t fluid = o->mixture->fluid;
    rule = dd_rule_find_of(&r->f->plan, DD_RULE_HANG_TIME, &r->about, true);
    if (!rule && fluid >= 0 && r->f->fluids[fluid].hang_s > 0) {
        o->hang_s = r->f->fluids[fluid].hang_s;
        rule = dd_rule_find_of(&r->f->plan, DD_RULE_HANG_TIME, &r->about, false);
        int64_t seconds;
        if (rule && dd_quantity_seconds(rule->low, &seconds) == DD_OK && seconds == o->hang_s)
            o->hang_rule = rule; /* the same limit, and who says so */
        return;
    }
    if (!rule)
        rule = dd_rule_find_of(&r->f->plan, DD_RULE_HANG_TIME, &r->about, false);
    o->hang_rule = rule;
    if (rule && dd_quantity_seconds(rule->low, &o->hang_s) != DD_OK)
        o->hang_s = 0;
}
