#include "rates.h"

#include "replay.h"
#include "set.h"
#include "whole.h"

dd_status dd_rates_settable(const dd_order *o, dd_ratio ordered, dd_set_rate *out)
{
    dd_status status = dd_ratio_half_up(ordered, 1, &out->ordered_nearest.ul_per_h);
    if (status != DD_OK)
        return status;
    return o->device == DD_GRAVITY ? dd_set_gravity(ordered, o->drop_factor_micro, &out->drops, &out->set) : dd_set_pump(ordered, o->rate_step_ul_h, &out->set);
}

dd_status dd_rates_make(dd_work *w)
{
    const dd_patient *p = w->patient;
    w->rates = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *w->rates);
    if (!w->rates)
        return DD_NO_MEMORY;
    for (int i = 0; i < p->order_count; i++) {
        const dd_order *o = &p->orders[i];
        w->rates[i] = dd_arena_take_many(w->arena, (size_t)o->step_count + 1, sizeof **w->rates);
        if (!w->rates[i])
            return DD_NO_MEMORY;
        w->rates[i][0].set.ul_per_h = o->rate_step_ul_h;
        for (int k = 0; o->rate_kind == DD_RATE_STEPS && k < o->step_count; k++) {
            dd_status status = dd_rates_settable(o, o->steps[k].rate, &w->rates[i][k]);
            if (status != DD_OK)
                return status;
        }
    }
    return DD_OK;
}

dd_status dd_rates_judge(dd_work *w)
{
    const dd_patient *p = w->patient;
    for (int i = 0; i < p->order_count; i++) {
        const dd_order *o = &p->orders[i];
        dd_ratio worst = {o->settable_difference_micro, 1000000}; /* of its steps; what is accepted of one must not hide another */
        bool found = false;
        for (int k = 0; o->rate_kind == DD_RATE_STEPS && k < o->step_count; k++) {
            /* |set - ordered| / ordered against the rule, all exact: with ordered = n / d, |set x d - n| x 100 x 10^6 against n x rule */
            dd_ratio r = o->steps[k].rate, off;
            dd_int128 away = (dd_int128)w->rates[i][k].set.ul_per_h * r.den - r.num;
            dd_status status = dd_ratio_make((away < 0 ? -away : away) * 100, r.num, &off);
            if (status != DD_OK)
                return status;
            if (dd_ratio_compare(off, worst) <= 0)
                continue;
            worst = off;
            found = true;
        }
        if (!found)
            continue;
        dd_finding *f = dd_work_finding(w, DD_FINDING_RATE_NOT_SETTABLE, i, o->line, o->start_kind == DD_START_AT ? o->start : w->plan->begins);
        if (!f)
            return DD_NO_MEMORY;
        f->rule = o->difference_rule;
        f->figure = f->limit = (dd_quantity){.per_micro = 1000000, .unit = DD_UNIT_PERCENT, .per = DD_UNIT_NONE};
        f->limit.micro = o->settable_difference_micro;
        dd_status status = dd_ratio_times(worst, (dd_ratio){100, 1}, &worst);
        if (status == DD_OK)
            status = dd_ratio_half_up(worst, 1, &f->figure.micro);
        if (status != DD_OK)
            return status;
        f->figure.micro *= 10000;
    }
    return DD_OK;
}

dd_status dd_rates_remainder(dd_work *w, int order, int64_t beside_u, dd_rates_left *left)
{
    const dd_order *o = &w->patient->orders[order];
    *left = (dd_rates_left){.others_u = beside_u};
    for (size_t i = 0; i < w->flow_count; i++) {
        const dd_flow *f = &w->flows[i];
        if (f->order == order && f->basis == DD_PLANNED)
            left->seconds += f->to - f->from;
        else if (!dd_whole_plus(left->others_u, f->given.u, &left->others_u))
            return DD_TOO_LARGE;
    }
    if (w->history && !dd_whole_plus(left->others_u, dd_replay_intake(w->history, w->plan), &left->others_u))
        return DD_TOO_LARGE;
    dd_set_rate *set = &w->rates[order][0];
    *set = (dd_set_rate){0};
    if (left->seconds == 0)
        return DD_OK;
    /* (allowance x window / 86,400 - others) / T, in u per second, which is uL/h; 3,600 u in a uL, so x window / 24 */
    dd_ratio rate, others = {left->others_u, 1};
    dd_status status = dd_ratio_make((dd_int128)w->patient->allowance_ul_day * (w->plan->end - w->plan->begins), 24, &rate);
    if (status == DD_OK)
        status = dd_ratio_minus(rate, others, &rate);
    if (status == DD_OK)
        status = dd_ratio_over(rate, (dd_ratio){left->seconds, 1}, &rate);
    if (status != DD_OK || rate.num <= 0)
        return status;
    status = dd_ratio_half_up(rate, 1, &set->ordered_nearest.ul_per_h);
    if (status != DD_OK)
        return status;
    if (o->device != DD_GRAVITY)
        return dd_ratio_floor(rate, o->rate_step_ul_h, &set->set.ul_per_h);
    /* whole drops below it, and what those deliver; the allowance may leave more than any device gives: said, not cut */
    dd_ratio drops, per_drop;
    int64_t whole;
    status = dd_ratio_make(60 * (dd_int128)1000000 * 1000, o->drop_factor_micro, &per_drop); /* uL/h of one drop a minute */
    if (status == DD_OK)
        status = dd_ratio_over(rate, per_drop, &drops);
    if (status == DD_OK)
        status = dd_ratio_floor(drops, 1, &whole);
    if (status != DD_OK || whole == 0)
        return status;
    if (whole > INT32_MAX)
        return DD_TOO_LARGE;
    set->drops = (int32_t)whole;
    status = dd_ratio_times(per_drop, (dd_ratio){whole, 1}, &rate);
    return status == DD_OK ? dd_ratio_half_up(rate, 1, &set->set.ul_per_h) : status;
}

int64_t dd_rates_unknown_doses(const dd_work *w)
{
    int64_t sum = 0;
    for (size_t i = 0; i < w->run_count; i++) {
        const dd_order *o = &w->patient->orders[w->runs[i].order];
        if (w->runs[i].why == DD_END_UNKNOWN)
            sum += dd_meter_to_give(o) + (o->flush_u != DD_UNKNOWN ? o->flush_u : 0);
    }
    return sum;
}
