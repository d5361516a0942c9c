/* lineup.c - who is to run: every run of every order with its due time, the doses already placed. */
#include "weave.h"

#include <stdlib.h>

#include "occur.h"

static int by_from(const void *left, const void *right)
{
    const dd_gap_of_line *a = left, *b = right;
    return (a->from > b->from) - (a->from < b->from);
}

static dd_status find_pauses(dd_work *w, int line, dd_weave_line *out)
{
    const dd_patient *p = w->patient;
    *out = (dd_weave_line){.primary = -1, .piggyback = -1};
    if (p->pause_count == 0)
        return DD_OK;
    dd_gap_of_line *gaps = dd_arena_take_many(w->arena, p->pause_count, sizeof *gaps);
    if (!gaps)
        return DD_NO_MEMORY;
    size_t count = 0;
    for (uint16_t i = 0; i < p->pause_count; i++)
        if (p->pauses[i].line == line || p->pauses[i].line == -1)
            gaps[count++] = (dd_gap_of_line){p->pauses[i].from, p->pauses[i].to};
    qsort(gaps, count, sizeof *gaps, by_from);
    size_t joined = 0;
    for (size_t i = 0; i < count; i++) {
        if (joined && gaps[i].from <= gaps[joined - 1].to) {
            if (gaps[i].to > gaps[joined - 1].to)
                gaps[joined - 1].to = gaps[i].to;
        } else {
            gaps[joined++] = gaps[i];
        }
    }
    out->pauses = gaps;
    out->pause_count = joined;
    return DD_OK;
}

static dd_life *add_life(dd_weave *v, int index, dd_moment due, int32_t occurrence)
{
    if (!dd_arena_room(v->work->arena, &v->lives, &v->life_room, (size_t)v->life_count, sizeof *v->lives))
        return NULL;
    const dd_order *o = &v->work->patient->orders[index];
    dd_life *l = &v->lives[v->life_count++];
    *l = (dd_life){.order = o, .due = due, .start_at = due, .stop = INT64_MAX, .took = DD_NEVER, .index = (int16_t)index, .line = o->line,
        .occurrence = occurrence, .repeated = o->repeat != DD_ONCE};
    if (o->runs != DD_PIGGYBACK && o->repeat == DD_ONCE && o->stop_kind == DD_STOP_AT)
        l->stop = o->stop;
    if (o->rate_kind == DD_RATE_REMAINDER && v->work->remainder_ended != DD_NEVER)
        l->stop = v->work->remainder_ended;
    return l;
}

static dd_status lives_of_order(dd_weave *v, int index)
{
    dd_work *w = v->work;
    const dd_order *o = &w->patient->orders[index];
    v->first_life[index] = v->life_count;
    v->last_is_here[index] = true;
    if (o->runs != DD_PIGGYBACK && o->repeat == DD_ONCE) {
        dd_moment due = o->start_kind == DD_START_AFTER ? DD_NEVER : o->start;
        if (o->start_kind == DD_START_AT && due >= w->plan->end && !w->history) { /* the chart may have it started early */
            v->last_is_here[index] = false;
            return DD_OK;
        }
        return add_life(v, index, due, 1) ? DD_OK : DD_NO_MEMORY;
    }
    dd_occurrences dues;
    dd_status status = dd_occur_dues(w->plan, o, w->dropped_from[index], w->arena, &dues);
    if (status != DD_OK)
        return status;
    v->last_is_here[index] = dues.last_is_here;
    int64_t length = o->runs == DD_PIGGYBACK ? dd_meter_length(o, w->rates[index]) : 0;
    for (size_t i = 0; i < dues.count; i++) {
        dd_life *l = add_life(v, index, dues.due[i], (int32_t)i + 1);
        if (!l)
            return DD_NO_MEMORY;
        l->length = length;
    }
    return DD_OK;
}

/* What the placed times of one line say. */
static dd_status judge_doses(dd_work *w, const dd_dose *doses, size_t count, int line)
{
    for (size_t i = 0; i < count; i++) {
        const dd_order *o = &w->patient->orders[doses[i].order];
        if (doses[i].start <= doses[i].due + doses[i].window)
            continue;
        dd_finding *f = dd_work_finding(w, DD_FINDING_DOSE_OUTSIDE_WINDOW, doses[i].order, line, doses[i].start);
        if (!f)
            return DD_NO_MEMORY;
        f->due = doses[i].due;
        f->rule = o->window_rule;
        f->figure = dd_work_minutes(doses[i].start - doses[i].due);
        f->limit = dd_work_minutes(doses[i].window);
    }
    return DD_OK;
}

static bool to_place(const dd_life *l, int line)
{
    return l->line == line && l->order->runs == DD_PIGGYBACK && l->state == DD_LIFE_COMING;
}

/* Not before the plan begins, nor closer than its gap to the last charted start of its order. */
static dd_moment earliest_start(const dd_weave *v, const dd_life *l)
{
    dd_moment from = v->work->from;
    for (int32_t i = v->first_life[l->index]; i < v->first_life[l->index + 1]; i++)
        if (v->lives[i].charted || v->work->runs[v->lives[i].run].charted) {
            dd_moment after_gap = v->work->runs[v->lives[i].run].start + l->order->gap_s;
            if (after_gap > from)
                from = after_gap;
        }
    return from;
}

/* Its doses wait for something that has no end in this plan. */
static dd_status leave_unplaced(dd_weave *v, int line)
{
    for (int32_t i = 0; i < v->life_count; i++) {
        dd_life *l = &v->lives[i];
        if (!to_place(l, line))
            continue;
        dd_finding *f = dd_work_finding(v->work, DD_FINDING_UNSCHEDULED, l->index, line, l->due);
        if (!f)
            return DD_NO_MEMORY;
        f->due = l->due;
        l->state = DD_LIFE_OVER;
        v->last_is_here[l->index] = false;
    }
    return DD_OK;
}

/* A charted dose that still goes on keeps the line until it ends; planned pauses stop it and it goes on. *never: it has no end,
 * or the line is out. */
static dd_status block_for_dose(dd_weave *v, int line, const dd_gap_of_line **blocked, size_t *count, bool *never)
{
    const dd_weave_line *l = &v->lines[line];
    *never = l->is_off;
    if (l->piggyback < 0 || l->is_off)
        return DD_OK;
    dd_life *dose = &v->lives[l->piggyback];
    int64_t rest = dose->held || dd_meter_rate(&dose->meter).ul_per_h == 0 ? INT64_MAX : dd_meter_rest(&dose->meter, v->work->from);
    if (rest == INT64_MAX) {
        *never = true;
        return DD_OK;
    }
    dd_moment end = v->work->from;
    size_t i = 0;
    while (i < *count && (*blocked)[i].to <= end)
        i++;
    for (; i < *count && (*blocked)[i].from < end + rest; i++) { /* what flows before each pause, then on behind it */
        if ((*blocked)[i].from > end)
            rest -= (*blocked)[i].from - end;
        end = (*blocked)[i].to;
    }
    end += rest;
    dose->length = end - dose->took;
    dd_gap_of_line *list = dd_arena_take_many(v->work->arena, *count + 1, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    size_t n = 0;
    list[n++] = (dd_gap_of_line){v->work->from, end};
    for (size_t k = 0; k < *count; k++)
        if ((*blocked)[k].to > end)
            list[n++] = (*blocked)[k];
    if (n > 1 && list[1].from <= end) { /* a pause that begins as it ends */
        list[0].to = list[1].to;
        for (size_t k = 1; k + 1 < n; k++)
            list[k] = list[k + 1];
        n--;
    }
    *blocked = list;
    *count = n;
    return DD_OK;
}

static dd_status place_line(dd_weave *v, int line)
{
    dd_work *w = v->work;
    size_t count = 0;
    for (int32_t i = 0; i < v->life_count; i++)
        count += to_place(&v->lives[i], line);
    if (count == 0)
        return DD_OK;
    dd_dose *doses = dd_arena_take_many(w->arena, count, sizeof *doses);
    if (!doses)
        return DD_NO_MEMORY;
    size_t n = 0;
    for (int32_t i = 0; i < v->life_count; i++) {
        const dd_life *l = &v->lives[i];
        if (to_place(l, line))
            doses[n++] = (dd_dose){.due = l->due, .window = l->order->window_s, .length = l->length, .earliest = earliest_start(v, l), .order = l->index,
                .occurrence = l->occurrence};
    }
    const dd_gap_of_line *blocked = v->lines[line].pauses;
    size_t blocked_count = v->lines[line].pause_count;
    bool in_order, never = false;
    dd_status status = block_for_dose(v, line, &blocked, &blocked_count, &never);
    if (status == DD_OK && never)
        return leave_unplaced(v, line);
    if (status == DD_OK)
        status = dd_place_doses(doses, count, blocked, blocked_count, &in_order);
    if (status != DD_OK)
        return status;
    w->in_order |= in_order;
    for (size_t i = 0; i < count; i++)
        v->lives[v->first_life[doses[i].order] + doses[i].occurrence - 1].start_at = doses[i].start;
    return judge_doses(w, doses, count, line);
}

/* Orders that begin after another hang on it in a list, in row order. */
static void link_dependants(dd_weave *v)
{
    const dd_patient *p = v->work->patient;
    for (int i = 0; i < p->order_count; i++)
        v->dependant[i] = v->next_dependant[i] = -1;
    for (int i = p->order_count; i-- > 0;)
        if (p->orders[i].start_kind == DD_START_AFTER) {
            v->next_dependant[i] = v->dependant[p->orders[i].after];
            v->dependant[p->orders[i].after] = i;
        }
}

dd_status dd_lineup_make(dd_work *w, dd_weave *v)
{
    const dd_patient *p = w->patient;
    size_t orders = (size_t)p->order_count + 1;
    *v = (dd_weave){.work = w};
    v->lines = dd_arena_take_many(w->arena, (size_t)p->line_count + 1, sizeof *v->lines);
    v->first_life = dd_arena_take_many(w->arena, orders, sizeof *v->first_life);
    v->runs_left = dd_arena_take_many(w->arena, orders, sizeof *v->runs_left);
    v->last_is_here = dd_arena_take_many(w->arena, orders, sizeof *v->last_is_here);
    v->dependant = dd_arena_take_many(w->arena, orders, sizeof *v->dependant);
    v->next_dependant = dd_arena_take_many(w->arena, orders, sizeof *v->next_dependant);
    if (!v->lines || !v->first_life || !v->runs_left || !v->last_is_here || !v->dependant || !v->next_dependant)
        return DD_NO_MEMORY;
    dd_status status = DD_OK;
    for (int i = 0; i < p->line_count && status == DD_OK; i++)
        status = find_pauses(w, i, &v->lines[i]);
    for (int i = 0; i < p->order_count && status == DD_OK; i++) {
        status = lives_of_order(v, i);
        v->runs_left[i] = v->life_count - v->first_life[i];
    }
    if (status != DD_OK)
        return status;
    v->first_life[p->order_count] = v->life_count;
    link_dependants(v);
    v->coming = dd_arena_take_many(w->arena, (size_t)v->life_count + 1, sizeof *v->coming);
    v->on = dd_arena_take_many(w->arena, (size_t)v->life_count + 1, sizeof *v->on);
    v->waiting = dd_arena_take_many(w->arena, (size_t)v->life_count + 1, sizeof *v->waiting);
    v->fresh = dd_arena_take_many(w->arena, (size_t)v->life_count + 1, sizeof *v->fresh);
    if (!v->coming || !v->on || !v->waiting || !v->fresh)
        return DD_NO_MEMORY;
    for (int32_t i = 0; i < v->life_count; i++)
        if (!dd_life_enter(w, &v->lives[i]))
            return DD_NO_MEMORY;
    return DD_OK;
}

dd_status dd_lineup_place(dd_weave *v)
{
    dd_status status = DD_OK;
    for (int i = 0; i < v->work->patient->line_count && status == DD_OK; i++)
        status = place_line(v, i);
    return status;
}
