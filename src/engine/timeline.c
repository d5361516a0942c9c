/* timeline.c - one patient's plan becomes a timeline. Start reading here:
 *
 *   rates.c    what each device is set to
 *   occur.c    when repeated orders are due
 *   lineup.c   every run there is to be; place.c (on piece.c) finds the dose times
 *   replay.c   what really happened before now: history.c what counts of the chart, account.c which run started where and what
 *              ended it, trace.c what each gave
 *   weave.c    the window passes; life.c is one run on its line, meter.c its bags and steps
 *   rates.c    what the allowance leaves for the order with rate `remainder`, and the window passes again
 *   find.c     what does not fit; by theme: written.c (the order as it is written), strong.c (what the bag holds), fast.c (boluses,
 *              blood), meet.c (what meets in one lumen); use.c says which order is given on which line;
 *              stock.c (bags at hand), peaks.c, daily.c and excess.c (by sums.c: what all lines give
 *              together in a second, in a day, in the plan); and on the finished timeline weighing.c, charted.c, balance.c, sites.c
 *              (on upkeep.c) and course.c
 *   onward.c   the same orders in a plan that ends later
 *   total.c    sums by hour, shift and day
 *   check.c    what must hold for every timeline
 *
 * and of a finished one: glance.c, what it says at a glance; task.c, what needs hands; care.c, looks, sets and dressings */
#include "daydrip/timeline.h"

#include <stdlib.h>
#include <string.h>

#include "daydrip/rule.h"
#include "find.h"
#include "history.h"
#include "onward.h"
#include "rates.h"
#include "replay.h"
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
    c = c ? c : MORE(a->due, b->due);
    c = c ? c : MORE(a->event ? a->event->line_of_file : 0, b->event ? b->event->line_of_file : 0);
    c = c ? c : MORE(a->stock ? a->stock->line_of_file : 0, b->stock ? b->stock->line_of_file : 0);
    return c ? c : strcmp(a->word ? a->word : "", b->word ? b->word : "");
}

static int by_code(const void *left, const void *right)
{
    const dd_unchecked *a = left, *b = right;
    int c = MORE(a->code, b->code);
    c = c ? c : MORE(a->order, b->order);
    c = c ? c : MORE(a->line, b->line);
    return c ? c : MORE(a->want, b->want);
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
    dd_moment now = w->now < w->plan->end ? w->now : w->plan->end;
    w->from = w->history && now > w->plan->begins ? now : w->plan->begins;
    dd_status status = dd_lineup_make(w, v);
    for (int i = 0; status == DD_OK && w->history && i < w->patient->line_count; i++)
        v->lines[i].is_off = w->history->off_count[i] > 0 && w->history->off[i][w->history->off_count[i] - 1].to == DD_FOR_EVER;
    if (status == DD_OK && w->history)
        status = dd_replay_apply(w, v);
    if (status == DD_OK)
        status = dd_lineup_place(v);
    return status == DD_OK ? dd_weave_run(v) : status;
}

#define MOST_PASSES 8 /* an order that takes over after another, which in turn ... : more than any ward has written */

/* Bags that were changed before the plan began are none of its bags. */
static void forget_bags_before(dd_work *w)
{
    size_t kept = 0;
    for (size_t i = 0; i < w->bag_count; i++) {
        const dd_bag *b = &w->bags[i];
        if (b->down == DD_NEVER || b->down >= w->plan->begins)
            w->bags[kept++] = *b;
    }
    w->bag_count = kept;
}

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
    forget_bags_before(w);
    return status;
}

static int find_remainder(const dd_patient *p)
{
    for (int i = 0; i < p->order_count; i++)
        if (p->orders[i].rate_kind == DD_RATE_REMAINDER)
            return i;
    return -1;
}

/* Whether the chart has the remainder's order going, or over. */
static bool is_charted(const dd_work *w, int order)
{
    for (size_t i = 0; i < w->run_count; i++)
        if (w->runs[i].order == order && w->runs[i].charted)
            return true;
    return false;
}

/* A pass in which it flows at any rate, its rate from that, and the pass that counts. */
static dd_status pass_with_rate(dd_work *w, int order, dd_rates_left *left)
{
    dd_set_rate *set = &w->rates[order][0];
    *set = (dd_set_rate){.set = {w->patient->orders[order].rate_step_ul_h}};
    w->remainder_ended = DD_NEVER;
    dd_status status = let_pass(w);
    if (status == DD_OK)
        status = dd_rates_remainder(w, order, 0, left);
    if (status == DD_OK && set->set.ul_per_h == 0) /* its place on the line is settled as if it flowed, where it could */
        for (size_t i = 0; i < w->run_count; i++)
            if (w->runs[i].order == order && w->runs[i].start != DD_NEVER)
                w->remainder_ended = w->runs[i].end;
    return status == DD_OK ? let_pass(w) : status;
}

/* Once it is charted as started it keeps its rate; what the allowance would leave now is only said. A dose that may have been
 * given is taken as given here: nobody is offered a faster rate on a guess. */
static dd_status keep_rate(dd_work *w, int order, dd_rates_left *left)
{
    dd_set_rate kept = w->rates[order][0];
    dd_status status = dd_rates_remainder(w, order, dd_rates_unknown_doses(w), left);
    int64_t new_rate = w->rates[order][0].set.ul_per_h, old = kept.set.ul_per_h;
    w->rates[order][0] = kept;
    for (size_t i = 0; i < w->flow_count; i++) /* as set now, charted or not */
        if (w->flows[i].order == order && w->flows[i].basis == DD_PLANNED)
            old = w->flows[i].rate.ul_per_h;
    int64_t away = new_rate > old ? new_rate - old : old - new_rate;
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_REMAINDER_DIFFERENCE, &about);
    if (status != DD_OK || left->seconds == 0 || (dd_int128)away * DD_WHOLE_SHARE <= (dd_int128)old * dd_rule_share(rule))
        return status;
    const dd_order *o = &w->patient->orders[order];
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_REMAINDER_CHANGED, rule, order, o->line, w->now);
    if (!f)
        return DD_NO_MEMORY;
    f->figure = (dd_quantity){.micro = new_rate * 1000, .per_micro = 1000000, .unit = DD_UNIT_ML, .per = DD_UNIT_H};
    f->limit = (dd_quantity){.micro = old * 1000, .per_micro = 1000000, .unit = DD_UNIT_ML, .per = DD_UNIT_H};
    return DD_OK;
}

/* Its rate is settled already. Where that is nothing, when it gives its line back is still to be found. */
static dd_status with_given(dd_work *w, int order, dd_timeline *out)
{
    dd_set_rate *set = &w->rates[order][0];
    dd_status status = DD_OK;
    w->remainder_ended = DD_NEVER;
    if (w->remainder->set.ul_per_h == 0) {
        status = let_pass(w);
        for (size_t i = 0; i < w->run_count && !is_charted(w, order); i++)
            if (w->runs[i].order == order)
                w->remainder_ended = w->runs[i].end;
    }
    *set = *w->remainder;
    out->remainder_rate = set->set;
    return status == DD_OK ? let_pass(w) : status;
}

static dd_status with_remainder(dd_work *w, int order, dd_timeline *out)
{
    if (w->remainder)
        return with_given(w, order, out);
    dd_rates_left left = {0};
    dd_history *history = w->history;
    w->history = NULL; /* first without the chart: the rate that it began with */
    dd_status status = pass_with_rate(w, order, &left);
    w->history = history;
    dd_set_rate planned = w->rates[order][0];
    w->remainder_ended = DD_NEVER;
    if (status == DD_OK && history) {
        status = let_pass(w);
        if (status == DD_OK && is_charted(w, order))
            status = keep_rate(w, order, &left);
        else if (status == DD_OK)
            status = pass_with_rate(w, order, &left);
        if (status == DD_OK && is_charted(w, order))
            w->rates[order][0] = planned;
    }
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

/* Rows are the longest stretches: what a reading cut is joined again. Flows must be sorted by order, due, part, bag, then time. */
static int by_row(const void *left, const void *right)
{
    const dd_flow *a = left, *b = right;
    int c = MORE(a->order, b->order);
    c = c ? c : MORE(a->due, b->due);
    c = c ? c : MORE(a->part, b->part);
    return c ? c : MORE(a->from, b->from);
}

static dd_status join_rows(dd_work *w, dd_flow **rows, size_t *count)
{
    dd_flow *list = dd_arena_take_many(w->arena, w->flow_count + 1, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < w->flow_count; i++)
        list[i] = w->flows[i];
    sort(list, w->flow_count, sizeof *list, by_row);
    size_t n = 0;
    for (size_t i = 0; i < w->flow_count; i++) {
        dd_flow *last = n ? &list[n - 1] : NULL;
        if (last && last->order == list[i].order && last->due == list[i].due && last->part == list[i].part && last->bag == list[i].bag &&
            last->line == list[i].line && last->rate.ul_per_h == list[i].rate.ul_per_h && last->basis == list[i].basis && last->to == list[i].from) {
            last->to = list[i].to;
            last->given.u += list[i].given.u;
        } else {
            list[n++] = list[i];
        }
    }
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (list[i].given.u > 0)
            list[kept++] = list[i];
    sort(list, kept, sizeof *list, by_flow);
    *rows = list;
    *count = kept;
    return DD_OK;
}

static bool any_possible(const dd_history *h)
{
    for (size_t i = 0; i < h->count; i++)
        if (h->events[i]->order >= 0 && !h->impossible[i])
            return true;
    return false;
}

static dd_status make(dd_work *w, dd_timeline *out)
{
    return out->remainder_order >= 0 ? with_remainder(w, out->remainder_order, out) : let_pass(w);
}

/* With the chart where it counts. Where every entry about an order is one that cannot be, everything is planned after all. */
static dd_status with_chart(dd_work *w, dd_history *h, dd_timeline *out)
{
    w->history = h->about_orders ? h : NULL;
    dd_status status = make(w, out);
    if (status != DD_OK || !w->history || any_possible(h))
        return status;
    w->history = NULL;
    status = make(w, out);
    for (size_t i = 0; i < h->count && status == DD_OK; i++) {
        bool was = h->impossible[i];
        h->impossible[i] = false;
        if (was)
            status = dd_history_impossible(w, h, i);
    }
    return status;
}

/* What everything but the findings shows, in the order in which it is shown. */
static dd_status lay_out(dd_work *w, const dd_history *history, dd_timeline *out)
{
    dd_status status = DD_OK;
    sort(w->bags, w->bag_count, sizeof *w->bags, by_bag);
    sort(w->runs, w->run_count, sizeof *w->runs, by_run);
    sort(w->marks, w->mark_count, sizeof *w->marks, by_mark);
    dd_flow *rows = w->flows;
    size_t row_count = w->flow_count;
    if (w->history)
        status = join_rows(w, &rows, &row_count);
    out->flows = rows;
    out->flow_count = row_count;
    out->pieces = w->flows;
    out->piece_count = w->flow_count;
    out->events = history->events;
    out->event_count = history->count;
    out->later_entries = history->later;
    out->unwritten_entries = history->unwritten;
    out->chart_counts = w->history != NULL;
    out->bags = w->bags;
    out->bag_count = w->bag_count;
    out->runs = w->runs;
    out->run_count = w->run_count;
    out->marks = w->marks;
    out->mark_count = w->mark_count;
    out->rates = (const dd_set_rate *const *)w->rates;
    out->without_overtaking = w->in_order;
    return status;
}

/* What can only be found on the finished timeline, and the last word on all findings. */
static dd_status finish(dd_work *w, dd_timeline *out)
{
    dd_status status = dd_find_finished(w, out);
    if (status != DD_OK)
        return status;
    dd_find_settle(w);
    status = dd_course_choose(w, out);
    sort(w->findings, w->finding_count, sizeof *w->findings, by_finding);
    sort(w->unchecked, w->unchecked_count, sizeof *w->unchecked, by_code);
    out->findings = w->findings;
    out->finding_count = w->finding_count;
    out->unchecked = w->unchecked;
    out->unchecked_count = w->unchecked_count;
    return status;
}

/* Bare: without findings. */
static dd_status make_whole(dd_work start, bool bare, dd_timeline *out)
{
    dd_work w = start;
    const dd_patient *patient = w.patient;
    dd_arena *arena = w.arena;
    dd_history history;
    *out = (dd_timeline){.plan = w.plan, .patient = patient, .now = w.now, .known = w.known, .remainder_order = (int16_t)find_remainder(patient)};
    w.remainder_ended = DD_NEVER;
    w.dropped_from = dd_arena_take_many(arena, (size_t)patient->order_count + 1, sizeof *w.dropped_from);
    if (!w.dropped_from)
        return DD_NO_MEMORY;
    for (int i = 0; i < patient->order_count; i++)
        w.dropped_from[i] = DD_NEVER;
    bool again;
    find_takeovers(&w, NULL, &again);
    dd_status status = dd_history_make(&w, &history);
    w.chart = &history;
    if (status == DD_OK)
        status = dd_rates_make(&w);
    if (status == DD_OK)
        status = with_chart(&w, &history, out);
    if (status == DD_OK)
        sort(w.flows, w.flow_count, sizeof *w.flows, by_flow);
    if (status == DD_OK && !bare)
        status = dd_find_all(&w);
    if (status == DD_OK && !bare)
        status = dd_rates_judge(&w);
    if (status == DD_OK)
        status = lay_out(&w, &history, out);
    if (status == DD_OK && !bare)
        status = finish(&w, out);
#ifdef DD_CHECKED /* the sanitized build: every timeline of every test */
    if (status == DD_OK && dd_timeline_check(out))
        __builtin_trap();
#endif
    return status;
}

dd_status dd_timeline_make(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_moment known, dd_arena *arena, dd_timeline *out)
{
    return make_whole((dd_work){.plan = plan, .patient = patient, .now = now, .known = known, .arena = arena}, false, out);
}

dd_status dd_timeline_trial(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_moment known, dd_arena *arena, dd_timeline *out)
{
    return make_whole((dd_work){.plan = plan, .patient = patient, .now = now, .known = known, .arena = arena, .trial = true}, false, out);
}

dd_status dd_timeline_bare(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_moment known, const dd_set_rate *remainder, dd_arena *arena,
    dd_timeline *out)
{
    return make_whole((dd_work){.plan = plan, .patient = patient, .now = now, .known = known, .arena = arena, .remainder = remainder}, true, out);
}
