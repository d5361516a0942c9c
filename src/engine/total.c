/* total.c - what went in by hour, shift and day, from the exact flows. */
#include <string.h>

#include "arena.h"
#include "daydrip/timeline.h"

/* What a flow has given by t. Only its last second may give less than its rate. */
static int64_t given_by(const dd_flow *f, dd_moment t)
{
    if (t <= f->from)
        return 0;
    if (t >= f->to)
        return f->given.u;
    int64_t u = f->rate.ul_per_h * (t - f->from);
    return u < f->given.u ? u : f->given.u;
}

dd_u dd_timeline_given(const dd_timeline *timeline, int order, dd_moment from, dd_moment to)
{
    dd_u sum = {0};
    for (size_t i = 0; i < timeline->flow_count && timeline->flows[i].from < to; i++)
        if (timeline->flows[i].order == order)
            sum.u += given_by(&timeline->flows[i], to) - given_by(&timeline->flows[i], from);
    return sum;
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

#define CELLS ((size_t)DD_CAT_COUNT * 2) /* category x basis, of what goes in */

dd_status dd_timeline_totals(const dd_timeline *timeline, const dd_moment *edges, size_t count, dd_arena *arena, const dd_total **totals, size_t *total_count)
{
    dd_u *sums = dd_arena_take_many(arena, count * CELLS + 1, sizeof *sums);
    if (!sums)
        return DD_NO_MEMORY;
    size_t period = 0, rows = 0;
    for (size_t i = 0; i < timeline->flow_count; i++) {
        const dd_flow *f = &timeline->flows[i];
        while (period + 1 < count && edges[period + 1] <= f->from)
            period++; /* flows are sorted by from */
        size_t category = f->part == DD_PART_FLUSH ? DD_CAT_FLUSH : timeline->patient->orders[f->order].category;
        for (size_t p = period; p < count && edges[p] < f->to; p++) {
            dd_u *cell = &sums[p * CELLS + category * 2 + f->basis];
            int64_t given = given_by(f, edges[p + 1]) - given_by(f, edges[p]);
            rows += cell->u == 0 && given > 0;
            cell->u += given;
        }
    }
    dd_total *list = dd_arena_take_many(arena, rows + 1, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    size_t n = 0;
    for (size_t p = 0; p < count; p++)
        for (size_t c = 0; c < CELLS; c++)
            if (sums[p * CELLS + c].u > 0)
                list[n++] = (dd_total){.from = edges[p], .to = edges[p + 1], .volume = sums[p * CELLS + c], .category = (uint8_t)(c / 2), .basis = (uint8_t)(c % 2)};
    *totals = list;
    *total_count = n;
    return DD_OK;
}
