/* balance.c - what came out and what stays in: urine for weight and time, and the balance against the weight. */
#include "daydrip/rule.h"
#include "find.h"
#include "rates.h"

/* ---- urine ---- */

/* mL/kg/h, to the uL. */
static dd_quantity urine_figure(dd_ratio ul_per_kg_h)
{
    int64_t ul;
    dd_quantity q = dd_work_quantity(0, DD_UNIT_ML);
    if (dd_ratio_half_up(ul_per_kg_h, 1, &ul) == DD_OK)
        q.micro = ul * 1000;
    q.per_kg = true;
    q.per = DD_UNIT_H;
    return q;
}

/* A limit in uL/kg/h. */
static bool limit_of(const dd_rule *rule, dd_ratio *out)
{
    dd_ratio ul, seconds;
    return dd_quantity_exact(rule->low, &ul) == DD_OK && dd_quantity_below(rule->low, &seconds) == DD_OK && dd_ratio_over(ul, seconds, out) == DD_OK
        && dd_ratio_times(*out, (dd_ratio){3600, 1}, out) == DD_OK;
}

/* What was measured is the least that came: too little cannot be told where something was not measured, too much can. */
static bool judge_urine(dd_work *w, dd_urine urine, dd_rule_id id, dd_finding_code code)
{
    const dd_rule_about about = dd_rule_of_patient(w->patient, -1);
    const dd_rule *rule = dd_rule_find(w->plan, id, &about);
    dd_ratio limit;
    if (!rule)
        return w->patient->class_at_begin != DD_CLASS_UNKNOWN || dd_work_unchecked(w, code, DD_WANT_AGE, -1);
    if (w->patient->weight_mg == DD_UNKNOWN)
        return dd_work_unchecked(w, code, DD_WANT_WEIGHT, -1);
    if (urine.ul_per_kg_h.den == 0)
        return dd_work_unchecked(w, code, DD_WANT_URINE, -1);
    if (!limit_of(rule, &limit))
        return true;
    bool low = id == DD_RULE_URINE_MIN;
    bool beyond = low ? dd_work_below(urine.ul_per_kg_h, limit, (dd_ratio){0, 1}) : dd_work_above(urine.ul_per_kg_h, limit, (dd_ratio){0, 1});
    if (urine.unknown > 0 && beyond == low)
        return dd_work_unchecked_but(w, code, DD_WANT_MEASURE, urine_figure(urine.ul_per_kg_h));
    if (!beyond)
        return true;
    dd_finding *f = dd_work_finding_by(w, code, rule, -1, -1, urine.from);
    if (!f)
        return false;
    f->to = urine.to;
    f->figure = urine_figure(urine.ul_per_kg_h);
    f->limit = rule->low;
    return true;
}

/* ---- the balance ---- */

/* Forward and what went in and out up to now, in u, out taken off. What is planned does not count. */
static dd_status sum_up(dd_work *w, const dd_timeline *t, dd_int128 *u, uint32_t unknown[2])
{
    const dd_moment edges[2] = {w->plan->begins, w->plan->end};
    const dd_total *totals;
    size_t count;
    dd_status status = dd_timeline_totals(t, edges, 1, w->arena, &totals, &count);
    *u = (dd_int128)w->patient->forward_ul * DD_U_PER_UL;
    unknown[0] = unknown[1] = 0;
    for (size_t i = 0; status == DD_OK && i < count; i++) {
        if (totals[i].basis != DD_CHARTED)
            continue;
        *u += totals[i].out ? -(dd_int128)totals[i].volume.u : (dd_int128)totals[i].volume.u;
        unknown[totals[i].out] += totals[i].unknown;
    }
    return status;
}

static dd_quantity percent_of_weight(dd_int128 u, int64_t weight_mg)
{
    dd_ratio percent;
    int64_t hundredths = 0;
    if (dd_ratio_make((u > 0 ? u : 0) * 10000, (dd_int128)weight_mg * DD_U_PER_UL, &percent) != DD_OK || dd_ratio_half_up(percent, 1, &hundredths) != DD_OK)
        hundredths = 0;
    return dd_work_quantity(hundredths * 10000, DD_UNIT_PERCENT);
}

#define MORE_THAN_ANY ((dd_int128)INT64_MAX) /* u: nobody knows how much went in */

static bool is_above(dd_int128 u, dd_ratio limit_ul)
{
    dd_ratio ul;
    return dd_ratio_make(u > 0 ? u : 0, DD_U_PER_UL, &ul) == DD_OK && dd_work_above(ul, limit_ul, (dd_ratio){0, 1});
}

/* Doses that may have been given are counted as given where that is all that is not known. */
static dd_int128 at_most(const dd_work *w, const dd_timeline *t, dd_int128 u, uint32_t unknown_in)
{
    uint32_t doses = 0;
    for (size_t i = 0; i < t->run_count; i++)
        doses += t->runs[i].why == DD_END_UNKNOWN;
    return unknown_in > doses ? MORE_THAN_ANY : u + dd_rates_unknown_doses(w);
}

/* 1 L is taken as 1 kg. An output that was not measured makes it less: it is told all the same, as what it is at most. */
static dd_status judge_balance(dd_work *w, const dd_timeline *t)
{
    const dd_rule_about about = dd_rule_of_patient(w->patient, -1);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_OVERLOAD, &about);
    int64_t weight = w->patient->weight_mg;
    dd_int128 u;
    uint32_t unknown[2];
    dd_ratio limit;
    if (!rule)
        return DD_OK;
    if (weight == DD_UNKNOWN)
        return dd_work_unchecked(w, DD_FINDING_OVERLOAD, DD_WANT_WEIGHT, -1) ? DD_OK : DD_NO_MEMORY;
    dd_status status = sum_up(w, t, &u, unknown);
    if (status == DD_OK)
        status = dd_ratio_make((dd_int128)weight * dd_rule_share(rule), DD_WHOLE_SHARE, &limit);
    if (status != DD_OK)
        return status;
    if (!is_above(u, limit)) {
        bool told = !is_above(at_most(w, t, u, unknown[0]), limit) || dd_work_unchecked_but(w, DD_FINDING_OVERLOAD, DD_WANT_MEASURE, percent_of_weight(u, weight));
        return told ? DD_OK : DD_NO_MEMORY;
    }
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_OVERLOAD, rule, -1, -1, w->now);
    if (!f)
        return DD_NO_MEMORY;
    f->word = unknown[1] > 0 ? "at most, not all that came out was measured" : NULL;
    f->figure = percent_of_weight(u, weight);
    f->limit = rule->low;
    return DD_OK;
}

dd_status dd_balance_find(dd_work *w, const dd_timeline *t)
{
    if (t->event_count > 0) { /* where nothing at all is charted, nobody takes it for looked at */
        dd_urine urine = dd_timeline_urine(t);
        if (!judge_urine(w, urine, DD_RULE_URINE_MIN, DD_FINDING_URINE_LOW) || !judge_urine(w, urine, DD_RULE_URINE_MAX, DD_FINDING_URINE_HIGH))
            return DD_NO_MEMORY;
    }
    return judge_balance(w, t);
}
