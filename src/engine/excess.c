#include "excess.h"

#include "daydrip/rule.h"
#include "history.h"
#include "limit.h"
#include "sums.h"

/* ---- the allowance ---- */

/* mL of so many u, rounded once. */
static dd_status in_ml(dd_ratio u, dd_quantity *out)
{
    int64_t ul = 0;
    dd_status status = dd_ratio_over(u, (dd_ratio){DD_U_PER_UL, 1}, &u);
    if (status == DD_OK)
        status = dd_ratio_half_up(u, 1, &ul);
    *out = dd_work_ml(0);
    out->micro = ul * 1000;
    return status;
}

static bool anything(const dd_patient *p, const dd_flow *f)
{
    (void)p;
    (void)f;
    return true;
}

/* What was charted as taken in, and whether something of it was not measured. */
static int64_t intake_u(const dd_work *w, bool *unmeasured)
{
    int64_t sum = 0, u;
    for (size_t i = 0; w->chart && i < w->chart->count; i++) {
        const dd_event *e = w->chart->events[i];
        if (e->kind != DD_EVENT_INTAKE || e->time < w->plan->begins || e->time >= w->plan->end)
            continue;
        if (dd_history_measure(e, &u))
            sum += u;
        else
            *unmeasured = true;
    }
    return sum;
}

static dd_status judge_allowance(dd_work *w)
{
    const dd_moment from = w->plan->begins, to = w->plan->end;
    const dd_sums_flows flows = {w->plan, w->patient, w->flows, w->flow_count};
    dd_ratio limit, step;
    bool unmeasured = false;
    int64_t sum = intake_u(w, &unmeasured);
    for (size_t k = 0; k < w->flow_count; k++)
        sum += w->flows[k].given.u;
    for (size_t i = 0; i < w->run_count; i++)
        unmeasured |= w->runs[i].why == DD_END_UNKNOWN;
    /* uL/day x 3,600 u x window / 86,400 */
    dd_status status = dd_ratio_make((dd_int128)w->patient->allowance_ul_day * (to - from), 24, &limit);
    if (status == DD_OK)
        status = dd_sums_steps(&flows, from, to, anything, w->arena, &step);
    if (status != DD_OK)
        return status;
    if (!dd_limit_above((dd_ratio){sum, 1}, limit, step))
        return !unmeasured || dd_work_unchecked(w, DD_FINDING_ABOVE_ALLOWANCE, DD_WANT_MEASURE, -1) ? DD_OK : DD_NO_MEMORY;
    dd_finding *f = dd_work_finding(w, DD_FINDING_ABOVE_ALLOWANCE, -1, -1, from);
    if (!f)
        return DD_NO_MEMORY;
    f->to = to;
    f->figure = dd_work_ml(sum);
    return in_ml(limit, &f->limit);
}

/* ---- what a rate that can be set drifts from the ordered one by ---- */

#define MILLION 1000000

/* Of one order, in millionths of u, for fractions of many orders have no common size that fits. `flowed`: seconds of flow of the run that
 * is being looked at, by which its steps are counted. */
typedef struct drift { int64_t micro_u; dd_moment from, due; int64_t flowed; } drift;

/* The step that a run is in after so many seconds of flow, and how many seconds more. */
static int step_at(const dd_order *o, int64_t flowed, int64_t *left)
{
    int k = 0;
    *left = INT64_MAX;
    for (; k + 1 < o->step_count; k++) {
        if (flowed < o->steps[k].seconds) {
            *left = o->steps[k].seconds - flowed;
            break;
        }
        flowed -= o->steps[k].seconds;
    }
    return k;
}

/* (set - ordered) x seconds. Where that does not fit, the ordered rate to the nearest uL/h does. */
static int64_t drift_of(const dd_order *o, const dd_set_rate *set, int step, int64_t seconds)
{
    dd_ratio off, ordered = {set->ordered_nearest.ul_per_h, 1};
    int64_t micro_u;
    if (o->rate_kind == DD_RATE_STEPS)
        ordered = o->steps[step].rate;
    if (ordered.den == 1 && ordered.num == set->set.ul_per_h) /* as most are */
        return 0;
    if (dd_ratio_minus((dd_ratio){set->set.ul_per_h, 1}, ordered, &off) == DD_OK && dd_ratio_times(off, (dd_ratio){seconds * MILLION, 1}, &off) == DD_OK
        && dd_ratio_half_up(off, 1, &micro_u) == DD_OK)
        return micro_u;
    return (set->set.ul_per_h - set->ordered_nearest.ul_per_h) * seconds * MILLION;
}

/* Adds what a flow drifts by. What the chart set otherwise than the order is no drift. */
static void add_drift(const dd_work *w, const dd_flow *f, drift *d)
{
    const dd_order *o = &w->patient->orders[f->order];
    if (f->due != d->due)
        d->flowed = 0;
    d->due = f->due;
    for (int64_t rest = f->to - f->from, seconds; rest > 0; rest -= seconds, d->flowed += seconds) {
        int64_t left;
        int k = step_at(o, d->flowed, &left);
        const dd_set_rate *set = &w->rates[f->order][k];
        seconds = left < rest ? left : rest;
        if (set->set.ul_per_h != f->rate.ul_per_h)
            continue;
        d->micro_u += drift_of(o, set, k, seconds);
        d->from = d->from == DD_NEVER ? f->from : d->from;
    }
}

static dd_status judge_drifts(dd_work *w)
{
    const dd_patient *p = w->patient;
    drift *drifts = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *drifts);
    dd_status status = drifts ? DD_OK : DD_NO_MEMORY;
    for (int i = 0; drifts && i < p->order_count; i++)
        drifts[i] = (drift){.from = DD_NEVER, .due = DD_NEVER};
    for (size_t k = 0; drifts && k < w->flow_count; k++)
        if (w->flows[k].part == DD_PART_BAG)
            add_drift(w, &w->flows[k], &drifts[w->flows[k].order]);
    for (int i = 0; i < p->order_count && status == DD_OK; i++) {
        if (drifts[i].micro_u == 0)
            continue;
        const dd_rule_about about = dd_rule_of_order(w->plan, p, i);
        const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_DRIFT, &about);
        dd_ratio limit, off = {drifts[i].micro_u < 0 ? -drifts[i].micro_u : drifts[i].micro_u, MILLION};
        if (!rule || dd_quantity_exact(rule->low, &limit) != DD_OK || dd_ratio_times(limit, (dd_ratio){DD_U_PER_UL, 1}, &limit) != DD_OK
            || !dd_limit_above(off, limit, (dd_ratio){0, 1}))
            continue;
        dd_finding *f = dd_work_finding_by(w, DD_FINDING_DRIFT, rule, i, p->orders[i].line, drifts[i].from);
        if (!f)
            return DD_NO_MEMORY;
        f->limit = rule->low;
        status = in_ml(off, &f->figure);
    }
    return status;
}

dd_status dd_excess_find(dd_work *w)
{
    dd_status status = w->patient->allowance_ul_day != DD_UNKNOWN ? judge_allowance(w) : DD_OK;
    return status == DD_OK ? judge_drifts(w) : status;
}
