#include "daily.h"

#include "daydrip/rule.h"
#include "limit.h"
#include "need.h"
#include "onward.h"
#include "sums.h"
#include "whole.h"

#define DAY_S INT64_C(86400)
#define FORMULA_FROM_S (28 * DAY_S) /* Holliday and Segar, whatever a ward calls a neonate */

/* ---- the need ---- */

static dd_status of_range(int64_t weight_mg, int64_t ul_kg, dd_ratio *out)
{
    return dd_ratio_make((dd_int128)ul_kg * weight_mg, 1000000, out);
}

static dd_status need_by_day(const dd_patient *p, int64_t age_s, dd_moment at, dd_day_need *out)
{
    dd_need_range now, then;
    if (!dd_need_day(age_s, &now))
        return DD_OK;
    out->kind = DD_NEED_DAY;
    out->day = now.day;
    out->low_ul_kg = now.low_ul_kg;
    out->high_ul_kg = now.high_ul_kg;
    if (dd_need_day(age_s + now.holds_s, &then)) {
        out->changes = at + now.holds_s;
        out->then_low_ul_kg = then.low_ul_kg;
        out->then_high_ul_kg = then.high_ul_kg;
    }
    dd_status status = of_range(p->weight_mg, out->low_ul_kg, &out->low);
    return status == DD_OK ? of_range(p->weight_mg, out->high_ul_kg, &out->high) : status;
}

/* A rule's mL/kg/day, half up to the uL. */
static dd_status per_kg_day(dd_quantity q, int64_t *out)
{
    dd_ratio exact;
    dd_want missing;
    q.per_kg = false;
    dd_status status = dd_limit_hourly(q, DD_DIM_VOLUME, DD_UNKNOWN, &exact, &missing);
    if (status == DD_OK)
        status = dd_ratio_times(exact, (dd_ratio){24, 1}, &exact);
    return status == DD_OK ? dd_ratio_half_up(exact, 1, out) : status;
}

static dd_status need_of_adult(const dd_plan *plan, const dd_patient *p, dd_day_need *out)
{
    const dd_rule_about about = dd_rule_of_patient(p, -1);
    const dd_rule *rule = dd_rule_find(plan, DD_RULE_MAINTENANCE, &about);
    if (!rule)
        return DD_OK;
    out->kind = DD_NEED_ADULT;
    out->rule = rule;
    dd_status status = per_kg_day(rule->low, &out->low_ul_kg);
    if (status == DD_OK)
        status = per_kg_day(rule->high, &out->high_ul_kg);
    if (status == DD_OK)
        status = of_range(p->weight_mg, out->low_ul_kg, &out->low);
    return status == DD_OK ? of_range(p->weight_mg, out->high_ul_kg, &out->high) : status;
}

static dd_status need_by_weight(const dd_plan *plan, const dd_patient *p, dd_day_need *out)
{
    const dd_rule_about about = dd_rule_of_patient(p, -1);
    const dd_rule *cap = dd_rule_find(plan, DD_RULE_MAINTENANCE_CAP, &about);
    dd_ratio most;
    dd_want missing;
    out->kind = DD_NEED_WEIGHT;
    dd_status status = dd_need_maintenance(p->weight_mg, &out->low);
    out->high = out->low;
    if (status == DD_OK)
        status = dd_need_hourly_421(p->weight_mg, &out->hourly_421);
    if (status != DD_OK || !cap || dd_limit_hourly(cap->low, DD_DIM_VOLUME, p->weight_mg, &most, &missing) != DD_OK)
        return status;
    status = dd_ratio_times(most, (dd_ratio){24, 1}, &most);
    if (status == DD_OK && dd_limit_above(out->low, most, (dd_ratio){0, 1}))
        out->cap = cap;
    return status;
}

dd_status dd_timeline_need(const dd_plan *plan, const dd_patient *p, dd_moment at, dd_day_need *out)
{
    *out = (dd_day_need){.changes = DD_NEVER};
    if (p->age_s == DD_UNKNOWN || p->weight_mg == DD_UNKNOWN)
        return DD_OK;
    int64_t age_s = p->age_s + (at - plan->begins);
    if (age_s < FORMULA_FROM_S)
        return need_by_day(p, age_s, at, out);
    if (p->class_at_begin == DD_CLASS_ADULT)
        return need_of_adult(plan, p, out);
    return p->class_at_begin == DD_CLASS_INFANT || p->class_at_begin == DD_CLASS_CHILD ? need_by_weight(plan, p, out) : DD_OK;
}

/* ---- a day: from where the plan begins, or from when something for maintenance first runs ---- */

typedef struct day {
    dd_work *w;
    dd_moment from, to;
    dd_sums_flows flows;
    dd_rule_about about;
} day;

static bool for_maintenance(const dd_patient *p, const dd_flow *f)
{
    return f->part == DD_PART_BAG && p->orders[f->order].purpose == DD_FOR_MAINTENANCE;
}

/* False: nothing that is for maintenance runs from there on. What is over where the chart counts says nothing of the day to come. */
static bool find_day(day *d)
{
    const dd_work *w = d->w;
    dd_moment now = w->from;
    d->from = DD_NEVER;
    for (size_t k = 0; k < w->flow_count; k++) {
        const dd_flow *f = &w->flows[k];
        dd_moment from = f->from > now ? f->from : now;
        if (f->to > now && for_maintenance(w->patient, f) && (d->from == DD_NEVER || from < d->from))
            d->from = from;
    }
    d->to = d->from + DAY_S;
    return d->from != DD_NEVER;
}

static dd_finding *told(const day *d, dd_finding_code code, const dd_rule *rule)
{
    dd_finding *f = dd_work_finding_by(d->w, code, rule, -1, -1, d->from);
    if (f)
        f->to = d->to;
    return f;
}

static dd_status tell_share(const day *d, dd_finding_code code, const dd_rule *rule, dd_ratio share)
{
    dd_finding *f = told(d, code, rule);
    if (!f)
        return DD_NO_MEMORY;
    f->limit = rule->low;
    return dd_limit_percent(share, &f->figure);
}

static dd_status judge_maintenance(const day *d, const dd_day_need *need)
{
    const dd_plan *plan = d->w->plan;
    const dd_rule *most = dd_rule_find(plan, DD_RULE_ABOVE_MAINTENANCE, &d->about), *least = dd_rule_find(plan, DD_RULE_BELOW_MAINTENANCE, &d->about);
    dd_sums_amounts amounts;
    dd_ratio share, step;
    dd_status status = dd_sums_amount(&d->flows, d->from, d->to, for_maintenance, &amounts);
    if (status == DD_OK)
        status = dd_ratio_make(amounts.all_u, DD_U_PER_UL, &share);
    if (status == DD_OK)
        status = dd_ratio_over(share, need->low, &share);
    if (status == DD_OK)
        status = dd_sums_steps(&d->flows, d->from, d->to, for_maintenance, d->w->arena, &step);
    if (status == DD_OK)
        status = dd_ratio_over(step, (dd_ratio){DD_U_PER_UL, 1}, &step);
    if (status == DD_OK)
        status = dd_ratio_over(step, need->low, &step);
    if (status != DD_OK)
        return status;
    if (most && dd_limit_above(share, (dd_ratio){dd_rule_share(most), 100000000}, step))
        return tell_share(d, DD_FINDING_ABOVE_MAINTENANCE, most, share);
    if (least && dd_limit_below(share, (dd_ratio){dd_rule_share(least), 100000000}, step))
        return tell_share(d, DD_FINDING_BELOW_MAINTENANCE, least, share);
    return DD_OK;
}

/* mL a day, or as the rule has it. */
static dd_status tell_cap(const day *d, const dd_day_need *need)
{
    dd_ratio hourly;
    dd_finding *f = dd_work_finding_by(d->w, DD_FINDING_MAINTENANCE_CAP, need->cap, -1, -1, d->from);
    if (!f)
        return DD_NO_MEMORY;
    f->limit = need->cap->low;
    dd_status status = dd_ratio_over(need->low, (dd_ratio){24, 1}, &hourly);
    return status == DD_OK ? dd_limit_figure(hourly, f->limit, DD_DIM_VOLUME, d->w->patient->weight_mg, &f->figure) : status;
}

/* ---- adults ---- */

/* value: uL/h or umol/h. */
static dd_status tell_rate(const day *d, dd_finding_code code, const dd_rule *rule, dd_ratio value, dd_quantity limit, dd_dimension dimension, const char *word)
{
    dd_finding *f = told(d, code, rule);
    if (!f)
        return DD_NO_MEMORY;
    f->word = word;
    f->limit = limit;
    return dd_limit_figure(value, limit, dimension, d->w->patient->weight_mg, &f->figure);
}

static dd_status judge_day(const day *d, const dd_sums_amounts *amounts)
{
    const dd_rule *rule = dd_rule_find(d->w->plan, DD_RULE_MAINTENANCE, &d->about);
    int64_t mg = d->w->patient->weight_mg;
    dd_ratio value, low, high, step;
    dd_want missing;
    if (!rule)
        return DD_OK;
    dd_status status = dd_limit_hourly(rule->low, DD_DIM_VOLUME, mg, &low, &missing);
    if (status == DD_OK)
        status = dd_limit_hourly(rule->high, DD_DIM_VOLUME, mg, &high, &missing);
    if (status == DD_OK)
        status = dd_ratio_make(amounts->all_u, DAY_S, &value); /* u per s is uL/h */
    if (status == DD_OK)
        status = dd_sums_steps(&d->flows, d->from, d->to, dd_sums_of_day, d->w->arena, &step);
    if (status == DD_OK)
        status = dd_ratio_over(step, (dd_ratio){DAY_S, 1}, &step);
    if (status != DD_OK)
        return status;
    if (dd_limit_above(value, high, step))
        return tell_rate(d, DD_FINDING_ADULT_DAY, rule, value, rule->high, DD_DIM_VOLUME, NULL);
    if (dd_limit_below(value, low, step))
        return tell_rate(d, DD_FINDING_ADULT_DAY, rule, value, rule->low, DD_DIM_VOLUME, NULL);
    return DD_OK;
}

/* Orders of the day of which it is not known what they hold. */
static dd_status note_unknown(const day *d, dd_content content)
{
    for (size_t k = 0; k < d->flows.count; k++) {
        const dd_flow *f = &d->flows.flows[k];
        if (f->to <= d->from || f->from >= d->to || !dd_sums_of_day(d->w->patient, f))
            continue;
        if (dd_sums_content(dd_sums_holds(d->w->plan, d->w->patient, f), content) == DD_UNKNOWN
            && !dd_work_unchecked(d->w, DD_FINDING_ADULT_ELECTROLYTE, DD_WANT_SALTS, f->order))
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

/* What is far, on one side: which of the salts, and the figure of the one that is farthest. */
typedef struct far_side { unsigned salts; dd_ratio worst; dd_ratio limit; dd_quantity shown; } far_side;

static void keep_far(far_side *side, dd_content content, dd_ratio value, bool above)
{
    int way = side->salts ? dd_ratio_compare(value, side->worst) : above ? 1 : -1;
    side->salts |= 1u << content;
    if (above ? way > 0 : way < 0)
        side->worst = value;
}

static dd_status tell_far(const day *d, const dd_rule *rule, const far_side *side)
{
    static const char *const words[] = {"", "sodium", "potassium", "sodium and potassium", "chloride", "sodium and chloride", "potassium and chloride",
        "sodium, potassium and chloride"};
    return side->salts ? tell_rate(d, DD_FINDING_ADULT_ELECTROLYTE, rule, side->worst, side->shown, DD_DIM_MOLE, words[side->salts]) : DD_OK;
}

/* Far is above value x (1 + share) or below value / (1 + share). DD_BAD_INPUT: the rule cannot be used, and that is noted. */
static dd_status far_limits(const day *d, const dd_rule *rule, int64_t share, far_side *low, far_side *high)
{
    const int64_t whole = INT64_C(100000000);
    const dd_ratio factor = {whole + share, whole};
    dd_ratio wanted;
    dd_want missing;
    low->shown = high->shown = rule->low;
    if (!dd_whole_scale_half_up(rule->low.micro, whole + share, whole, &high->shown.micro)
        || !dd_whole_scale_half_up(rule->low.micro, whole, whole + share, &low->shown.micro))
        return DD_TOO_LARGE;
    low->shown.micro = (low->shown.micro + 500) / 1000 * 1000; /* as figures are shown */
    high->shown.micro = (high->shown.micro + 500) / 1000 * 1000;
    dd_status status = dd_limit_hourly(rule->low, DD_DIM_MOLE, d->w->patient->weight_mg, &wanted, &missing);
    if (status == DD_BAD_INPUT)
        return dd_work_unchecked(d->w, DD_FINDING_ADULT_ELECTROLYTE, missing, -1) ? status : DD_NO_MEMORY;
    if (status == DD_OK)
        status = dd_ratio_times(wanted, factor, &high->limit);
    return status == DD_OK ? dd_ratio_over(wanted, factor, &low->limit) : status;
}

static dd_status judge_salts(const day *d, const dd_sums_amounts *amounts, const dd_rule *rule, int64_t share)
{
    far_side low = {0}, high = {0};
    dd_status status = far_limits(d, rule, share, &low, &high);
    if (status == DD_BAD_INPUT)
        return DD_OK;
    for (int c = DD_SODIUM; c <= DD_CHLORIDE && status == DD_OK; c++) {
        dd_ratio value; /* u x nmol/L over a day: a 3600th of it in fmol, over 24 h; 10^9 fmol are an umol */
        const dd_ratio none = {0, 1};
        status = dd_ratio_make(amounts->content[c], DAY_S, &value);
        if (status == DD_OK)
            status = dd_ratio_over(value, (dd_ratio){INT64_C(1000000000), 1}, &value);
        if (status != DD_OK)
            break;
        if (dd_limit_above(value, high.limit, none))
            keep_far(&high, (dd_content)c, value, true);
        else if (amounts->unknown[c])
            status = note_unknown(d, (dd_content)c);
        else if (dd_limit_below(value, low.limit, none))
            keep_far(&low, (dd_content)c, value, false);
    }
    if (status == DD_OK)
        status = tell_far(d, rule, &high);
    return status == DD_OK ? tell_far(d, rule, &low) : status;
}

static dd_status judge_adult(const day *d)
{
    const dd_rule *salt = dd_rule_find(d->w->plan, DD_RULE_MAINTENANCE_ELECTROLYTE, &d->about);
    const dd_rule *far = dd_rule_find(d->w->plan, DD_RULE_MAINTENANCE_ELECTROLYTE_FAR, &d->about);
    dd_sums_amounts amounts;
    dd_status status = dd_sums_amount(&d->flows, d->from, d->to, dd_sums_of_day, &amounts);
    if (status == DD_OK)
        status = judge_day(d, &amounts);
    return status == DD_OK && salt && far ? judge_salts(d, &amounts, salt, dd_rule_share(far)) : status;
}

/* ---- a day of anybody ---- */

static bool note_want(dd_work *w, const dd_finding_code *codes, size_t count, dd_want want)
{
    bool fine = true;
    for (size_t i = 0; i < count; i++)
        fine = fine && dd_work_unchecked(w, codes[i], want, -1);
    return fine;
}

dd_status dd_daily_find(dd_work *w)
{
    static const dd_finding_code child[] = {DD_FINDING_ABOVE_MAINTENANCE, DD_FINDING_BELOW_MAINTENANCE, DD_FINDING_MAINTENANCE_CAP};
    static const dd_finding_code adult[] = {DD_FINDING_ADULT_DAY, DD_FINDING_ADULT_ELECTROLYTE};
    const dd_patient *p = w->patient;
    day d = {.w = w, .flows = {w->plan, p, w->flows, w->flow_count}, .about = dd_rule_of_patient(p, -1)};
    bool is_adult = p->class_at_begin == DD_CLASS_ADULT;
    dd_day_need need;
    if (!find_day(&d))
        return DD_OK;
    if (p->class_at_begin == DD_CLASS_UNKNOWN)
        return note_want(w, child, 3, DD_WANT_AGE) && note_want(w, adult, 2, DD_WANT_AGE) ? DD_OK : DD_NO_MEMORY;
    if (p->weight_mg == DD_UNKNOWN && p->class_at_begin != DD_CLASS_NEONATE)
        return (is_adult ? note_want(w, adult, 2, DD_WANT_WEIGHT) : note_want(w, child, 3, DD_WANT_WEIGHT)) ? DD_OK : DD_NO_MEMORY;
    dd_status status = dd_timeline_need(w->plan, p, d.from, &need);
    if (status != DD_OK || (!is_adult && need.kind != DD_NEED_WEIGHT))
        return status;
    if (d.to > w->plan->end) {
        dd_timeline *longer = dd_arena_take(w->arena, sizeof *longer);
        status = longer ? dd_onward_make(w, d.to, longer) : DD_NO_MEMORY;
        if (status != DD_OK)
            return status;
        d.flows.flows = longer->pieces;
        d.flows.count = longer->piece_count;
    }
    if (is_adult)
        return judge_adult(&d);
    status = judge_maintenance(&d, &need);
    return status == DD_OK && need.cap ? tell_cap(&d, &need) : status;
}
