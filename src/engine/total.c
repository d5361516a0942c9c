/* total.c - what went in by hour, shift and day, from the exact flows. */
#include <string.h>

#include "arena.h"
#include "daydrip/timeline.h"
#include "history.h"
#include "total.h"
#include "whole.h"

/* What a flow has given by t. Only its last second may give less than its rate. */
static int64_t given_by(const dd_flow *f, dd_moment t)
{
    if (t <= f->from)
        return 0;
    if (t >= f->to)
        return f->given.u;
    int64_t u = f->rate.ul_per_h * (t - f->from), upto, before;
    if (f->scale_of == 0)
        return u < f->given.u ? u : f->given.u;
    if (!dd_whole_scale_down(f->scale_to, f->scale_at + u, f->scale_of, &upto) || !dd_whole_scale_down(f->scale_to, f->scale_at, f->scale_of, &before))
        return f->given.u; /* cannot be: the whole of it fitted */
    return upto - before;
}

int64_t dd_total_given(const dd_flow *f, dd_moment from, dd_moment to)
{
    return given_by(f, to) - given_by(f, from);
}

dd_u dd_timeline_given_of(const dd_timeline *timeline, dd_given_of of, dd_moment from, dd_moment to)
{
    dd_u sum = {0};
    for (size_t i = 0; i < timeline->piece_count && timeline->pieces[i].from < to; i++) {
        const dd_flow *f = &timeline->pieces[i];
        if (f->order == of.order && (of.part < 0 || f->part == of.part) && (of.bag == 0 || (f->bag == of.bag && f->due == of.due)))
            sum.u += dd_total_given(f, from, to);
    }
    return sum;
}

dd_u dd_timeline_given(const dd_timeline *timeline, int order, dd_moment from, dd_moment to)
{
    return dd_timeline_given_of(timeline, (dd_given_of){.order = order, .part = -1, .due = DD_NEVER}, from, to);
}

bool dd_timeline_measure(const dd_event *event, int64_t *u)
{
    return dd_history_measure(event, u);
}

static dd_moment next_edge(const dd_plan *plan, dd_period by, dd_moment t)
{
    if (by == DD_BY_HOUR)
        return dd_moment_next_hour(plan->zone, t);
    if (by == DD_BY_DAY) {
        dd_civil begin = dd_moment_local(plan->zone, plan->begins);
        return dd_moment_clock_after(plan->zone, t, begin.hour * 3600 + begin.minute * 60 + begin.second);
    }
    dd_moment next = plan->end;
    for (size_t i = 0; i < plan->shift_count; i++) {
        dd_moment change = dd_moment_clock_after(plan->zone, t, plan->shifts[i].second_of_day);
        if (change < next)
            next = change;
    }
    return next;
}

dd_status dd_timeline_periods(const dd_plan *plan, dd_period by, dd_arena *arena, const dd_moment **edges, size_t *count)
{
    dd_moment *list = NULL;
    size_t room = 0, n = 0;
    for (dd_moment t = plan->begins;; t = next_edge(plan, by, t)) {
        if (!dd_arena_room(arena, &list, &room, n, sizeof *list))
            return DD_NO_MEMORY;
        if (t >= plan->end)
            break;
        list[n++] = t;
    }
    list[n] = plan->end;
    *edges = list;
    *count = n;
    return DD_OK;
}

/* What may stand in one period: in and out, each category, each basis. */
#define CELLS ((size_t)2 * DD_CAT_COUNT * 2)

typedef struct cell { int64_t u; uint32_t unknown; } cell;

static cell *cell_of(cell *cells, size_t period, int out, int category, int basis)
{
    return &cells[period * CELLS + (size_t)out * DD_CAT_COUNT * 2 + (size_t)category * 2 + (size_t)basis];
}

/* The period that holds t; count: none does. */
static size_t period_of(const dd_moment *edges, size_t count, dd_moment t)
{
    size_t low = 0, high = count;
    if (count == 0 || t < edges[0] || t >= edges[count])
        return count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (edges[middle] <= t)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static int word_index(const char *const *words, int count, const char *word)
{
    for (int i = 0; i < count; i++)
        if (word && strcmp(words[i], word) == 0)
            return i;
    return -1;
}

/* Charted intake and output; an entry without a measure is counted. */
static void add_event(cell *cells, const dd_moment *edges, size_t count, const dd_event *e)
{
    static const char *const outputs[] = {"urine", "stool", "vomit", "gastric", "drain", "blood", "other"};
    bool in = e->kind == DD_EVENT_INTAKE;
    size_t period = period_of(edges, count, e->time);
    if (period == count || (!in && e->kind != DD_EVENT_OUTPUT) || !e->what)
        return;
    int category = in ? (strcmp(e->what, "oral") == 0 ? DD_CAT_ORAL : strcmp(e->what, "feed") == 0 ? DD_CAT_FEED : DD_CAT_OTHER) : word_index(outputs, 7, e->what);
    if (category < 0)
        return;
    cell *c = cell_of(cells, period, !in, category, DD_CHARTED);
    int64_t u;
    if (dd_history_measure(e, &u))
        c->u += u;
    else
        c->unknown++;
}

static size_t count_rows(const cell *cells, size_t count)
{
    size_t rows = 0;
    for (size_t i = 0; i < count; i++)
        rows += cells[i].u > 0 || cells[i].unknown > 0;
    return rows;
}

dd_status dd_timeline_totals(const dd_timeline *timeline, const dd_moment *edges, size_t count, dd_arena *arena, const dd_total **totals, size_t *total_count)
{
    const dd_order *orders = timeline->patient->orders;
    cell *cells = dd_arena_take_many(arena, count * CELLS + 1, sizeof *cells);
    if (!cells)
        return DD_NO_MEMORY;
    size_t period = 0;
    for (size_t i = 0; i < timeline->piece_count; i++) {
        const dd_flow *f = &timeline->pieces[i];
        while (period + 1 < count && edges[period + 1] <= f->from)
            period++; /* flows are sorted by from */
        int category = f->part == DD_PART_FLUSH ? DD_CAT_FLUSH : orders[f->order].category;
        for (size_t p = period; p < count && edges[p] < f->to; p++)
            cell_of(cells, p, 0, category, f->basis)->u += dd_total_given(f, edges[p], edges[p + 1]);
    }
    for (size_t i = 0; i < timeline->event_count; i++)
        add_event(cells, edges, count, timeline->events[i]);
    for (size_t i = 0; i < timeline->run_count; i++) { /* doses nobody knows of, in the period in which they were due */
        const dd_run *r = &timeline->runs[i];
        size_t p = r->why == DD_END_UNKNOWN ? period_of(edges, count, r->due) : count;
        if (p < count)
            cell_of(cells, p, 0, orders[r->order].category, DD_CHARTED)->unknown++;
    }
    dd_total *list = dd_arena_take_many(arena, count_rows(cells, count * CELLS) + 1, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    size_t n = 0;
    for (size_t i = 0; i < count * CELLS; i++)
        if (cells[i].u > 0 || cells[i].unknown > 0)
            list[n++] = (dd_total){.from = edges[i / CELLS], .to = edges[i / CELLS + 1], .volume = {cells[i].u}, .unknown = cells[i].unknown,
                .out = (uint8_t)(i % CELLS / (DD_CAT_COUNT * 2)), .category = (uint8_t)(i % (DD_CAT_COUNT * 2) / 2), .basis = (uint8_t)(i % 2)};
    *totals = list;
    *total_count = n;
    return DD_OK;
}

dd_urine dd_timeline_urine(const dd_timeline *timeline)
{
    const dd_patient *p = timeline->patient;
    dd_urine urine = {.from = timeline->plan->begins, .to = DD_NEVER};
    if (p->arrived != DD_NEVER && p->arrived > urine.from)
        urine.from = p->arrived;
    for (size_t i = 0; i < timeline->event_count; i++) {
        const dd_event *e = timeline->events[i];
        int64_t u;
        if (e->kind != DD_EVENT_OUTPUT || !e->what || strcmp(e->what, "urine") != 0 || e->time < urine.from || e->time >= timeline->plan->end)
            continue;
        urine.to = e->time; /* events stand by time */
        if (dd_history_measure(e, &u))
            urine.volume.u += u;
        else
            urine.unknown++;
    }
    /* u / 3,600 uL, over kg = mg / 10^6, over h = s / 3,600: u x 10^6 / (mg x s) */
    dd_int128 over = urine.to == DD_NEVER || p->weight_mg == DD_UNKNOWN ? 0 : (dd_int128)p->weight_mg * (urine.to - urine.from);
    if (over > 0 && urine.to - urine.from >= 3600 && dd_ratio_make((dd_int128)urine.volume.u * 1000000, over, &urine.ul_per_kg_h) != DD_OK)
        urine.ul_per_kg_h = (dd_ratio){0};
    return urine;
}
