/* check.c - what must hold for every timeline, whatever the plan. */
#include "daydrip/timeline.h"

static const char *check_bag(const dd_timeline *t, const dd_bag *b)
{
    if (b->hung.u != b->prime.u + b->given.u + b->discarded.u + b->left.u)
        return "a bag does not add up";
    if (b->left.u < 0 || b->given.u < 0 || b->discarded.u < 0)
        return "a bag holds less than nothing";
    int64_t flowed = 0, given = 0;
    for (size_t i = 0; i < t->flow_count; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->order == b->order && f->due == b->due && f->part == DD_PART_BAG && f->bag == b->number)
            flowed += f->given.u;
    }
    for (size_t i = 0; i < t->bag_count; i++) { /* of one dose a second bag keeps the number */
        const dd_bag *other = &t->bags[i];
        if (other->order == b->order && other->due == b->due && other->number == b->number)
            given += other->given.u;
    }
    return flowed == given ? NULL : "a bag gave something else than what flowed";
}

static const char *check_flow(const dd_timeline *t, size_t index)
{
    const dd_flow *f = &t->flows[index];
    if (f->from < t->plan->begins || f->to > t->plan->end || f->from >= f->to)
        return "a flow lies outside the window";
    if (f->basis == DD_CHARTED)
        return NULL; /* what the chart says is not for the plan's rules to judge */
    int64_t full = f->rate.ul_per_h * (f->to - f->from);
    if (f->given.u <= 0 || f->given.u > full || f->given.u <= full - f->rate.ul_per_h)
        return "a flow is not its rate times its seconds";
    bool alone = t->patient->orders[f->order].runs != DD_CONCURRENT;
    for (size_t i = index + 1; i < t->flow_count && t->flows[i].from < f->to; i++) {
        const dd_flow *g = &t->flows[i];
        if (g->order == f->order && g->due == f->due)
            return "an order flows twice at once";
        if (alone && g->line == f->line && t->patient->orders[g->order].runs != DD_CONCURRENT)
            return "two that exclude each other flow on one line";
    }
    return NULL;
}

const char *dd_timeline_check(const dd_timeline *t)
{
    const char *wrong = NULL;
    for (size_t i = 0; i < t->bag_count && !wrong; i++)
        wrong = check_bag(t, &t->bags[i]);
    for (size_t i = 0; i < t->flow_count && !wrong; i++)
        wrong = check_flow(t, i);
    return wrong;
}
