#include "glance.h"

#include "daydrip/rule.h"
#include "whole.h"

#define WHOLE_SHARE INT64_C(100000000) /* 100 %, in per cent x 10^6 */

bool dd_glance_is_infusion(const dd_order *o)
{
    return o->repeat == DD_ONCE && o->runs != DD_PIGGYBACK;
}

bool dd_glance_flows(const dd_timeline *t, int line, dd_moment at)
{
    for (size_t i = 0; i < t->flow_count && t->flows[i].from <= at; i++)
        if (t->flows[i].line == line && t->flows[i].to > at)
            return true;
    return false;
}

const dd_run *dd_glance_next_run(const dd_timeline *t, int line, dd_moment from)
{
    for (size_t i = 0; i < t->run_count; i++) /* by start, those that never start last */
        if (t->runs[i].line == line && t->runs[i].start != DD_NEVER && t->runs[i].start >= from)
            return &t->runs[i];
    return NULL;
}

const dd_bag *dd_glance_bag_now(const dd_timeline *t, int order)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == order && t->bags[i].left_at_now.u > 0)
            return &t->bags[i];
    return NULL;
}

/* When `left` is gone, counted from `from`, at a rate scaled by `share` (100 % is WHOLE_SHARE): through the flows there are and then on
 * at the last rate. Rounded down or up to a whole second. */
static bool dry_at(const dd_timeline *t, int order, dd_moment start, int64_t left, int64_t share, bool up, dd_moment *out)
{
    dd_moment at = DD_NEVER;
    int64_t scaled = 0, seconds, gone;
    for (size_t i = 0; i < t->flow_count; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->order != order || f->part != DD_PART_BAG || f->to <= start)
            continue;
        dd_moment from = f->from > start ? f->from : start;
        if (!dd_whole_times(f->rate.ul_per_h, share, &scaled) ||
            !(up ? dd_whole_scale_up(left, WHOLE_SHARE, scaled, &seconds) : dd_whole_scale_down(left, WHOLE_SHARE, scaled, &seconds)))
            return false;
        at = from;
        if (seconds <= f->to - from)
            break;
        if (!dd_whole_scale_down(f->to - from, scaled, WHOLE_SHARE, &gone) || !dd_whole_minus(left, gone, &left))
            return false;
        at = f->to;
    }
    if (at == DD_NEVER || scaled <= 0 ||
        !(up ? dd_whole_scale_up(left, WHOLE_SHARE, scaled, &seconds) : dd_whole_scale_down(left, WHOLE_SHARE, scaled, &seconds)))
        return false;
    return dd_whole_plus(at, seconds, out);
}

int64_t dd_glance_spread_share(const dd_timeline *t, int order)
{
    const dd_rule_about about = dd_rule_of_order(t->plan, t->patient, order);
    return dd_rule_share(dd_rule_find(t->plan, DD_RULE_GRAVITY_SPREAD, &about));
}

int64_t dd_glance_left(const dd_timeline *t, const dd_bag *bag, dd_moment *since)
{
    bool is_up = bag->left_at_now.u > 0;
    *since = is_up ? t->now : bag->up;
    return is_up ? bag->left_at_now.u : bag->hung.u - bag->prime.u; /* neither is above 100 L: it fits */
}

bool dd_glance_level(const dd_timeline *t, const dd_bag *bag, dd_moment at, dd_u *left)
{
    dd_moment since;
    int64_t full = dd_glance_left(t, bag, &since);
    if (since == DD_NEVER || since < t->now || at < since || (bag->down != DD_NEVER && at >= bag->down))
        return false;
    return dd_whole_minus(full, dd_timeline_given(t, bag->order, since, at).u, &left->u) && left->u > 0;
}

bool dd_glance_spread(const dd_timeline *t, const dd_bag *bag, dd_moment *fast, dd_moment *slow)
{
    dd_moment since;
    int64_t left = dd_glance_left(t, bag, &since);
    if (t->patient->orders[bag->order].device != DD_GRAVITY || since == DD_NEVER || since < t->now || left <= 0)
        return false;
    int64_t share = dd_glance_spread_share(t, bag->order);
    if (share <= 0 || share >= WHOLE_SHARE)
        return false;
    if (!dry_at(t, bag->order, since, left, WHOLE_SHARE + share, false, fast) || !dry_at(t, bag->order, since, left, WHOLE_SHARE - share, true, slow))
        return false;
    return bag->down == DD_NEVER || *fast < bag->down; /* else it comes down first, as it was meant to */
}

dd_moment dd_glance_dry_first(const dd_timeline *t, int *order)
{
    dd_moment first = DD_NEVER, fast, slow;
    for (size_t i = 0; i < t->bag_count; i++) {
        const dd_bag *b = &t->bags[i];
        if (!dd_glance_is_infusion(&t->patient->orders[b->order]))
            continue;
        dd_moment at = b->empty;
        if (b->left_at_now.u > 0 && dd_glance_spread(t, b, &fast, &slow))
            at = fast;
        if (at != DD_NEVER && at >= t->now && (first == DD_NEVER || at < first)) {
            first = at;
            *order = b->order;
        }
    }
    return first;
}

bool dd_glance_keeps_bag(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == r->order && t->bags[i].number == 1)
            return t->bags[i].up == DD_NEVER || t->bags[i].up < r->start;
    return false;
}

const char *dd_glance_pause_reason(const dd_timeline *t, const dd_mark *m)
{
    for (int i = 0; i < t->patient->pause_count; i++) {
        const dd_pause *p = &t->patient->pauses[i];
        if ((p->line < 0 || p->line == m->line) && p->from <= m->at && m->at < p->to)
            return p->why;
    }
    return NULL;
}

int64_t dd_glance_rate_before(const dd_timeline *t, const dd_mark *m)
{
    int64_t rate = 0;
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < m->at; i++)
        if (t->flows[i].order == m->order && t->flows[i].part == DD_PART_BAG)
            rate = t->flows[i].rate.ul_per_h;
    return rate;
}
