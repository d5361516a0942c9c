#include "life.h"

#include <string.h>

bool dd_life_enter(dd_work *w, dd_life *l)
{
    dd_run *r = dd_work_run(w);
    if (!r)
        return false;
    *r = (dd_run){.due = l->due, .start = DD_NEVER, .end = DD_NEVER, .flush_from = DD_NEVER, .occurrence = l->repeated ? l->occurrence : 0,
        .order = l->index, .line = l->line, .why = DD_END_NEVER, .repeated = l->repeated};
    l->run = w->run_count - 1;
    l->bag = l->flow = DD_NOT_YET;
    l->state = DD_LIFE_COMING;
    return true;
}

static dd_run *record(dd_work *w, dd_life *l)
{
    return &w->runs[l->run];
}

static bool hang(dd_work *w, dd_life *l, dd_moment at)
{
    dd_bag *b = dd_work_bag(w);
    if (!b)
        return false;
    bool found = l->meter.bag_up == DD_NEVER && l->order->hanging_ul != DD_UNKNOWN && !l->inherited;
    int64_t hung, prime = 0;
    if (l->inherited) { /* the bag of the order before, with its time */
        hung = l->inherited;
        l->meter.bag++;
        l->meter.bag_left = hung;
        l->meter.bag_up = l->inherited_up;
        l->meter.bag_is_up = true;
        l->inherited = 0;
    } else {
        dd_meter_hang(&l->meter, at, &hung, &prime);
    }
    *b = (dd_bag){.hung = {hung}, .prime = {prime}, .left = {hung - prime}, .up = l->meter.bag_up, .down = DD_NEVER, .empty = DD_NEVER,
        .due = l->repeated ? l->due : DD_NEVER, .number = l->meter.bag, .order = l->index, .line = l->line, .found_hanging = found};
    l->bag = w->bag_count - 1;
    if (found && l->order->hung == DD_NEVER && l->order->hang_s > 0) {
        dd_finding *f = dd_work_finding(w, DD_FINDING_HUNG_UNKNOWN, l->index, l->line, at);
        if (!f)
            return false;
        if (l->order->category == DD_CAT_BLOOD)
            f->severity = DD_CLARIFY;
    }
    return true;
}

bool dd_life_start(dd_work *w, dd_life *l, dd_moment at)
{
    dd_run *r = record(w, l);
    l->state = DD_LIFE_ON;
    l->took = at;
    r->due = l->due;
    r->why = DD_END_NONE;
    r->keeps_line = true;
    bool repeats = l->order->repeat != DD_ONCE;
    dd_meter_begin(&l->meter, l->order, w->rates[l->index], repeats ? l->occurrence : 1);
    bool is_up = l->inherited || (l->order->hanging_ul != DD_UNKNOWN && !repeats); /* a bag that is up already has its time */
    return is_up ? hang(w, l, at) : true;
}

static void take_down(dd_work *w, dd_life *l, dd_moment at, bool discard)
{
    if (l->bag == DD_NOT_YET)
        return;
    dd_bag *b = &w->bags[l->bag];
    b->down = at;
    if (discard) {
        b->discarded = b->left;
        b->left.u = 0;
    }
    l->bag = DD_NOT_YET;
    l->meter.bag_is_up = false;
    l->meter.bag_left = 0;
}

/* Its bag has been up as long as it may: changed now, the rest thrown away. */
static bool expire(dd_work *w, dd_life *l, dd_moment at)
{
    dd_finding *f = dd_work_finding(w, DD_FINDING_HANG_TIME, l->index, l->line, at);
    if (!f)
        return false;
    f->rule = l->order->hang_rule;
    f->limit = dd_work_minutes(l->order->hang_s);
    f->figure = dd_work_ml(l->meter.bag_left);
    w->bags[l->bag].expired = true;
    take_down(w, l, at, true);
    return true;
}

bool dd_life_ready(dd_work *w, dd_life *l, dd_moment at)
{
    if (dd_meter_in_flush(&l->meter))
        return true;
    if (l->meter.bag_is_up && dd_meter_limit(&l->meter) <= at && !expire(w, l, at))
        return false;
    return l->meter.bag_is_up ? true : hang(w, l, at);
}

bool dd_life_mark(dd_work *w, dd_life *l, dd_moment at, bool goes_on, int cause)
{
    dd_mark *m = dd_work_mark(w);
    if (!m)
        return false;
    *m = (dd_mark){.at = at, .due = l->repeated ? l->due : DD_NEVER, .rate = {goes_on ? dd_meter_rate(&l->meter).ul_per_h : 0}, .order = l->index, .line = l->line, .cause = (int16_t)cause,
        .kind = (uint8_t)(goes_on ? DD_MARK_GOES_ON : DD_MARK_STOPS)};
    return true;
}

bool dd_life_flow(dd_work *w, dd_life *l, dd_moment from, dd_moment to)
{
    bool flush = dd_meter_in_flush(&l->meter);
    dd_rate rate = dd_meter_rate(&l->meter);
    uint16_t step = l->meter.step;
    int64_t given = dd_meter_flow(&l->meter, to - from);
    dd_run *r = record(w, l);
    if (!l->flowed) {
        l->flowed = true;
        r->start = from;
    }
    if (flush && r->flush_from == DD_NEVER)
        r->flush_from = from;
    int32_t number = flush ? 0 : l->meter.bag;
    dd_flow *f = l->flow == DD_NOT_YET ? NULL : &w->flows[l->flow];
    if (f && f->to == from && f->bag == number && f->rate.ul_per_h == rate.ul_per_h) {
        f->to = to;
        f->given.u += given;
    } else if (given > 0) {
        f = dd_work_flow(w);
        if (!f)
            return false;
        *f = (dd_flow){.from = from, .to = to, .due = l->repeated ? l->due : DD_NEVER, .given = {given}, .rate = rate, .bag = number,
            .order = l->index, .line = l->line, .part = flush ? DD_PART_FLUSH : DD_PART_BAG, .basis = DD_PLANNED};
        l->flow = w->flow_count - 1;
    }
    if (flush)
        return true;
    r->given.u += given;
    dd_bag *b = &w->bags[l->bag];
    b->given.u += given;
    b->left.u -= given;
    if (l->meter.bag_left == 0) {
        b->empty = to;
        take_down(w, l, to, false);
    }
    if (l->meter.step != step && l->meter.to_go > 0) {
        dd_mark *m = dd_work_mark(w);
        if (!m)
            return false;
        *m = (dd_mark){.at = to, .due = l->repeated ? l->due : DD_NEVER, .rate = dd_meter_rate(&l->meter), .step = l->meter.step + 1, .order = l->index,
            .line = l->line, .cause = -1, .kind = DD_MARK_STEP};
    }
    return true;
}

bool dd_life_finish(dd_work *w, dd_life *l, dd_moment at, dd_run_end why)
{
    dd_run *r = record(w, l);
    r->why = (uint8_t)why;
    if (l->state == DD_LIFE_ON) {
        r->end = at;
        int64_t not_given = l->meter.to_go;
        if (why == DD_END_LIMIT) {
            dd_finding *f = dd_work_finding(w, DD_FINDING_HANG_TIME, l->index, l->line, at);
            if (!f)
                return false;
            f->severity = DD_CLARIFY;
            f->rule = l->order->hang_rule;
            f->limit = dd_work_minutes(l->order->hang_s);
            f = dd_work_finding(w, DD_FINDING_BLOOD_NOT_GIVEN, l->index, l->line, at);
            if (!f)
                return false;
            f->rule = l->order->hang_rule;
            f->limit = dd_work_minutes(l->order->hang_s);
            f->figure = dd_work_ml(not_given == INT64_MAX ? l->meter.bag_left : not_given);
            w->bags[l->bag].expired = true;
        }
        take_down(w, l, at, why == DD_END_LIMIT || why == DD_END_REPLACED);
    }
    l->state = DD_LIFE_OVER;
    return true;
}

static bool same_quantity(dd_quantity a, dd_quantity b)
{
    return a.micro == b.micro && a.per_micro == b.per_micro && a.unit == b.unit && a.per == b.per && a.per_kg == b.per_kg;
}

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

/* The same fluid, however it was written: same catalogue fluid, same drug and amount, same additions in any order. */
bool dd_life_same_fluid(const dd_mixture *a, const dd_mixture *b)
{
    if (a == b)
        return true;
    if (a->fluid != b->fluid || !same_text(a->drug, b->drug) || !same_quantity(a->drug_amount, b->drug_amount) || a->addition_count != b->addition_count)
        return false;
    for (int i = 0; i < a->addition_count; i++) {
        bool found = false;
        for (int j = 0; j < b->addition_count && !found; j++)
            found = same_text(a->additions[i].key, b->additions[j].key) && a->additions[i].per_bag == b->additions[j].per_bag &&
                same_quantity(a->additions[i].amount, b->additions[j].amount);
        if (!found)
            return false;
    }
    return true;
}

bool dd_life_hand_over(dd_work *w, dd_life *x, dd_life *next, dd_moment at)
{
    bool passes = x->state == DD_LIFE_ON && x->meter.bag_is_up && x->meter.bag_left > 0 && dd_life_same_fluid(x->order->mixture, next->order->mixture);
    if (!passes)
        return dd_life_finish(w, x, at, DD_END_REPLACED);
    next->inherited = x->meter.bag_left;
    next->inherited_up = x->meter.bag_up;
    dd_run *r = record(w, x);
    r->why = DD_END_REPLACED;
    r->end = at;
    take_down(w, x, at, false); /* its rest is the next order's bag 1 */
    x->state = DD_LIFE_OVER;
    return true;
}

void dd_life_at_now(dd_work *w, dd_life *l)
{
    if (l->bag != DD_NOT_YET)
        w->bags[l->bag].left_at_now = w->bags[l->bag].left;
}

void dd_life_cut(dd_work *w, dd_life *l)
{
    if (l->state != DD_LIFE_ON)
        return;
    dd_run *r = record(w, l);
    const dd_meter *m = &l->meter;
    if (l->length > 0) /* a piggyback is one piece: when it ends is known */
        r->end = l->took + l->length;
    r->goes_on = true;
    r->charted_rate = m->rates != w->rates[l->index];
    r->step = m->step;
    r->drops = m->rates[m->step].drops;
    r->rate = dd_meter_rate(m);
    r->to_go_u = m->to_go == INT64_MAX ? DD_UNKNOWN : m->to_go;
    r->flush_left_u = m->flush_left;
    r->step_left_s = m->step_left == INT64_MAX ? 0 : m->step_left;
}
