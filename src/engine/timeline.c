/* timeline.c - one patient's plan becomes a timeline. Start reading here:
 *
 *   rates.c    what each device is set to
 *   occur.c    when repeated orders are due
 *   lineup.c   every run there is to be; place.c (on piece.c) finds the dose times
 *   weave.c    the window passes; life.c is one run on its line, meter.c its bags and steps
 *   rates.c    what the allowance leaves for the order with rate `remainder`, and the window passes again
 *   find.c     what does not fit
 *   total.c    sums by hour, shift and day
 *   check.c    what must hold for every timeline */
#include "daydrip/timeline.h"

#include <stdlib.h>

#include "find.h"
#include "rates.h"
#include "weave.h"

#define MORE(a, b) ((a) > (b)) - ((a) < (b))

static int by_flow(const void *left, const void *right)
{
    const dd_flow *a = left, *b = right;
    int c = MORE(a->from, b->from);
    c = c ? c : MORE(a->line, b->line);
    c = c ? c : MORE(a->order, b->order);
    c = c ? c : MORE(a->due, b->due);
    c = c ? c : MORE(a->part, b->part);
    return c ? c : MORE(a->bag, b->bag);
}

static int by_bag(const void *left, const void *right)
{
    const dd_bag *a = left, *b = right;
    int c = MORE(a->order, b->order);
    c = c ? c : MORE(a->due, b->due);
    return c ? c : MORE(a->number, b->number);
}

static int by_run(const void *left, const void *right)
{
    const dd_run *a = left, *b = right;
    int c = MORE(a->start == DD_NEVER, b->start == DD_NEVER);
    c = c ? c : MORE(a->start, b->start);
    c = c ? c : MORE(a->line, b->line);
    c = c ? c : MORE(a->order, b->order);
    c = c ? c : MORE(a->due, b->due);
    return c ? c : MORE(a->occurrence, b->occurrence);
}

static int by_mark(const void *left, const void *right)
{
    const dd_mark *a = left, *b = right;
    int c = MORE(a->at, b->at);
    c = c ? c : MORE(a->line, b->line);
    c = c ? c : MORE(a->order, b->order);
    return c ? c : MORE(a->kind, b->kind);
}

static int by_finding(const void *left, const void *right)
{
    const dd_finding *a = left, *b = right;
    int c = MORE(b->severity, a->severity);
    c = c ? c : MORE(a->at, b->at);
    c = c ? c : MORE(a->order, b->order);
    c = c ? c : MORE(a->line, b->line);
    c = c ? c : MORE(a->code, b->code);
    return c ? c : MORE(a->due, b->due);
}

static void sort(void *items, size_t count, size_t size, int compare(const void *, const void *))
{
    if (count > 1)
        qsort(items, count, size, compare);
}

static bool has_doses(const dd_order *o)
{
    return o->repeat != DD_ONCE || o->runs == DD_PIGGYBACK;
}

/* From when on another order has taken over the doses of each. Where that one begins after an order, its time is only known
 * from a pass: then *again says that there has to be another one. */
static void find_takeovers(dd_work *w, const dd_weave *v, bool *again)
{
    const dd_patient *p = w->patient;
    for (int i = 0; i < p->order_count; i++) {
        const dd_order *o = &p->orders[i];
        if (o->replaces < 0 || !has_doses(&p->orders[o->replaces]))
            continue;
        dd_moment from = o->start_kind == DD_START_AT ? o->start : v ? dd_weave_took(v, i) : DD_NEVER;
        if (from != w->dropped_from[o->replaces] && o->start_kind == DD_START_AFTER)
            *again = true;
        w->dropped_from[o->replaces] = from;
    }
}

static dd_status one_pass(dd_work *w, dd_weave *v)
{
    w->flow_count = w->bag_count = w->run_count = w->mark_count = w->finding_count = 0;
    w->in_order = false;
    dd_status status = dd_lineup_make(w, v);
    return status == DD_OK ? dd_weave_run(v) : status;
}

#define MOST_PASSES 8 /* an order that takes over after another, which in turn ... : more than any ward has written */

static dd_status let_pass(dd_work *w)
{
    dd_weave v;
    bool again = true;
    dd_status status = DD_OK;
    for (int pass = 0; status == DD_OK && again && pass < MOST_PASSES; pass++) {
        again = false;
        status = one_pass(w, &v);
        if (status == DD_OK)
            find_takeovers(w, &v, &again);
    }
    return status;
}

static int find_remainder(const dd_patient *p)
{
    for (int i = 0; i < p->order_count; i++)
        if (p->orders[i].rate_kind == DD_RATE_REMAINDER)
            return i;
    return -1;
}

static dd_status with_remainder(dd_work *w, int order, dd_timeline *out)
{
    dd_rates_left left;
    dd_status status = let_pass(w);
    if (status == DD_OK)
        status = dd_rates_remainder(w, order, &left);
    if (status == DD_OK && w->rates[order][0].set.ul_per_h == 0) /* its place on the line is settled as if it flowed */
        for (size_t i = 0; i < w->run_count; i++)
            if (w->runs[i].order == order)
                w->remainder_ended = w->runs[i].end;
    if (status == DD_OK)
        status = let_pass(w);
    if (status != DD_OK)
        return status;
    out->remainder_others.u = left.others_u;
    out->remainder_flow_s = left.seconds;
    out->remainder_rate = w->rates[order][0].set;
    if (out->remainder_rate.ul_per_h > 0 && out->remainder_rate.ul_per_h <= DD_RATE_MOST_UL_H)
        return DD_OK;
    dd_finding_code code = out->remainder_rate.ul_per_h == 0 ? DD_FINDING_REMAINDER_NEGATIVE : DD_FINDING_RATE_NOT_SETTABLE;
    return dd_work_finding(w, code, order, w->patient->orders[order].line, w->plan->begins) ? DD_OK : DD_NO_MEMORY;
}

dd_status dd_timeline_make(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_arena *arena, dd_timeline *out)
{
    dd_work w = {.plan = plan, .patient = patient, .now = now, .arena = arena, .remainder_ended = DD_NEVER};
    *out = (dd_timeline){.plan = plan, .patient = patient, .now = now, .remainder_order = (int16_t)find_remainder(patient)};
    w.dropped_from = dd_arena_take_many(arena, (size_t)patient->order_count + 1, sizeof *w.dropped_from);
    if (!w.dropped_from)
        return DD_NO_MEMORY;
    for (int i = 0; i < patient->order_count; i++)
        w.dropped_from[i] = DD_NEVER;
    bool again;
    find_takeovers(&w, NULL, &again);
    dd_status status = dd_rates_make(&w);
    if (status == DD_OK)
        status = out->remainder_order >= 0 ? with_remainder(&w, out->remainder_order, out) : let_pass(&w);
    if (status == DD_OK)
        status = dd_find_all(&w);
    if (status == DD_OK)
        status = dd_rates_judge(&w);
    if (status != DD_OK)
        return status;
    sort(w.flows, w.flow_count, sizeof *w.flows, by_flow);
    sort(w.bags, w.bag_count, sizeof *w.bags, by_bag);
    sort(w.runs, w.run_count, sizeof *w.runs, by_run);
    sort(w.marks, w.mark_count, sizeof *w.marks, by_mark);
    sort(w.findings, w.finding_count, sizeof *w.findings, by_finding);
    out->flows = w.flows;
    out->flow_count = w.flow_count;
    out->bags = w.bags;
    out->bag_count = w.bag_count;
    out->runs = w.runs;
    out->run_count = w.run_count;
    out->marks = w.marks;
    out->mark_count = w.mark_count;
    out->findings = w.findings;
    out->finding_count = w.finding_count;
    out->rates = (const dd_set_rate *const *)w.rates;
    out->without_overtaking = w.in_order;
    return DD_OK;
}
