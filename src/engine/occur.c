#include "occur.h"

#include <stdlib.h>

typedef struct taker {
    dd_arena *arena;
    dd_moment *due;
    size_t count, room;
    dd_moment begins, end, until; /* [begins, until) is planned; until is at most end */
    dd_occurrences *out;
} taker;

static dd_status take(taker *t, dd_moment due)
{
    if (due < t->begins) {
        t->out->any_before = true;
        return DD_OK;
    }
    if (due >= t->until)
        return DD_OK;
    if (t->count == DD_OCCUR_MOST || !dd_arena_room(t->arena, &t->due, &t->room, t->count, sizeof *t->due))
        return DD_NO_MEMORY;
    t->due[t->count++] = due;
    return DD_OK;
}

static dd_status take_every(taker *t, const dd_order *o, dd_moment stop)
{
    dd_moment due = o->start;
    int64_t left = o->doses ? o->doses : INT64_MAX;
    if (due < t->begins) { /* straight to the first one in the window */
        int64_t passed = (t->begins - due + o->every_s - 1) / o->every_s;
        t->out->any_before = true;
        if (passed >= left) {
            return DD_OK;
        }
        due += passed * o->every_s;
        left -= passed;
    }
    for (; left > 0 && due < stop; left--, due += o->every_s) {
        if (due >= t->end) {
            t->out->last_is_here = false;
            return DD_OK;
        }
        dd_status status = take(t, due);
        if (status != DD_OK)
            return status;
    }
    return DD_OK;
}

static int rising(const void *left, const void *right)
{
    dd_moment a = *(const dd_moment *)left, b = *(const dd_moment *)right;
    return (a > b) - (a < b);
}

/* One occurrence per clock and local date, from the date of the first counted one on; two clocks of one date may fall in one
 * instant (a skipped hour), and then they are two. */
static dd_status take_times(taker *t, const dd_plan *plan, const dd_order *o, dd_moment stop)
{
    dd_moment from = o->start;
    int64_t left = o->doses ? o->doses : INT64_MAX;
    dd_civil date = dd_moment_local(plan->zone, from);
    int64_t day = dd_moment_days(date.year, date.month, date.day) - 1;
    dd_moment *of_day = dd_arena_take_many(t->arena, (size_t)o->clock_count + 1, sizeof *of_day);
    if (!of_day)
        return DD_NO_MEMORY;
    for (;; day++) {
        dd_civil noon = dd_moment_local(&(dd_zone){.spans = &(dd_zone_span){0, 0}, .count = 1}, day * 86400);
        for (uint16_t i = 0; i < o->clock_count; i++) {
            noon.hour = (uint8_t)(o->clocks[i] / 3600);
            noon.minute = (uint8_t)(o->clocks[i] / 60 % 60);
            noon.second = (uint8_t)(o->clocks[i] % 60);
            of_day[i] = dd_moment_resolve(plan->zone, noon, NULL);
        }
        qsort(of_day, o->clock_count, sizeof *of_day, rising);
        for (uint16_t i = 0; i < o->clock_count; i++) {
            if (of_day[i] < from)
                continue;
            if (left-- <= 0 || of_day[i] >= stop)
                return DD_OK;
            if (of_day[i] >= t->end) {
                t->out->last_is_here = false;
                return DD_OK;
            }
            dd_status status = take(t, of_day[i]);
            if (status != DD_OK)
                return status;
        }
    }
}

dd_status dd_occur_dues(const dd_plan *plan, const dd_order *o, dd_moment dropped_from, dd_arena *arena, dd_occurrences *out)
{
    *out = (dd_occurrences){.last_is_here = true};
    dd_moment stop = o->stop_kind == DD_STOP_AT ? o->stop : INT64_MAX;
    if (dropped_from != DD_NEVER && dropped_from < stop)
        stop = dropped_from;
    taker t = {.arena = arena, .begins = plan->begins, .end = plan->end, .until = stop < plan->end ? stop : plan->end, .out = out};
    dd_status status = DD_OK;
    if (o->repeat == DD_EVERY)
        status = take_every(&t, o, stop);
    else if (o->repeat == DD_TIMES)
        status = take_times(&t, plan, o, stop);
    else if (o->start < stop) {
        out->last_is_here = o->start < plan->end;
        status = take(&t, o->start);
    }
    out->due = t.due;
    out->count = t.count;
    return status;
}
