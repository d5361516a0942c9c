#include "fast.h"

#include <string.h>

#include "daydrip/rule.h"
#include "strong.h"

#define PER_KG INT64_C(1000000) /* mg in a kg */

/* Of a patient whose age is not known: whether a rule of this name holds at some age. */
static bool depends_on_age(const dd_work *w, dd_rule_id id, dd_rule_about about)
{
    if (w->patient->class_at_begin != DD_CLASS_UNKNOWN)
        return false;
    for (about.class_word = DD_CLASS_NEONATE; about.class_word <= DD_CLASS_ADULT; about.class_word++)
        if (dd_rule_find(w->plan, id, &about))
            return true;
    return false;
}

/* ---- boluses ---- */

/* u that the run gives in all, what had gone in before the plan included: what it gave, where it is over; else what is ordered. */
static int64_t gives(const dd_order *o, const dd_run *r)
{
    int64_t given = r->given.u + (o->repeat == DD_ONCE && o->given_u != DD_UNKNOWN ? o->given_u : 0);
    bool over = r->why == DD_END_VOLUME || r->why == DD_END_STOP || r->why == DD_END_REPLACED || r->why == DD_END_CUT || r->why == DD_END_LIMIT;
    if (over || o->volume_ul == DD_UNKNOWN || given > o->volume_ul * DD_U_PER_UL)
        return given;
    return o->volume_ul * DD_U_PER_UL;
}

/* mL, or mL/kg where the limit is one; thousandths, half up. */
static bool volume_figure(int64_t u, const dd_rule *rule, int64_t weight_mg, dd_quantity *out)
{
    dd_ratio micro;
    *out = (dd_quantity){.per_micro = 1000000, .unit = DD_UNIT_ML, .per = DD_UNIT_NONE, .per_kg = rule->low.per_kg};
    return dd_ratio_make((dd_int128)u * 1000 * (rule->low.per_kg ? PER_KG : 1), (dd_int128)DD_U_PER_UL * (rule->low.per_kg ? weight_mg : 1), &micro) == DD_OK
        && dd_ratio_half_up(micro, 1000, &out->micro) == DD_OK;
}

static bool find_volume(dd_work *w, const dd_run *r)
{
    const dd_order *o = &w->patient->orders[r->order];
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, r->order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_BOLUS, &about);
    int64_t weight = w->patient->weight_mg, u = gives(o, r), rate = w->rates[r->order][0].set.ul_per_h;
    dd_ratio limit, seconds, step;
    if (!rule)
        return depends_on_age(w, DD_RULE_BOLUS, about) ? dd_work_unchecked(w, DD_FINDING_BOLUS, DD_WANT_AGE, r->order) : true;
    if (rule->low.per_kg && weight == DD_UNKNOWN)
        return dd_work_unchecked(w, DD_FINDING_BOLUS, DD_WANT_WEIGHT, r->order);
    /* in u; a step of the device for as long as the run takes */
    if (dd_quantity_exact(rule->low, &limit) != DD_OK || dd_ratio_times(limit, (dd_ratio){DD_U_PER_UL, 1}, &limit) != DD_OK
        || (rule->low.per_kg && dd_ratio_times(limit, (dd_ratio){weight, PER_KG}, &limit) != DD_OK)
        || dd_ratio_make(u, rate > 0 ? rate : 1, &seconds) != DD_OK || dd_ratio_times(seconds, (dd_ratio){dd_work_step(o), 1}, &step) != DD_OK)
        return true;
    if (!dd_work_above((dd_ratio){u, 1}, limit, step))
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_BOLUS, rule, r->order, r->line, r->start != DD_NEVER ? r->start : r->due != DD_NEVER ? r->due : w->plan->begins);
    if (!f)
        return false;
    f->word = "too much at once";
    f->due = r->repeated ? r->due : DD_NEVER;
    f->limit = rule->low;
    return volume_figure(u, rule, weight, &f->figure);
}

/* The published rule has both in one sentence, so glucose has the source of the sodium. */
static bool find_glucose(dd_work *w, const dd_use *use, const dd_rule_about *about)
{
    int64_t glucose = w->patient->orders[use->order].has->glucose;
    const dd_rule *rule = dd_rule_find_of(w->plan, DD_RULE_RESUS_SODIUM, about, false);
    if (glucose <= 0)
        return true;
    dd_finding *f = dd_work_finding(w, DD_FINDING_BOLUS, use->order, use->line, use->at);
    if (!f)
        return false;
    f->word = "it holds glucose";
    f->source = rule ? rule->source : NULL;
    f->figure = dd_strong_percent(glucose);
    return true;
}

static bool find_fluid(dd_work *w, const dd_use *use)
{
    const dd_order *o = &w->patient->orders[use->order];
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, use->order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_RESUS_SODIUM, &about);
    int low, high;
    if (o->category == DD_CAT_BLOOD || w->patient->lines[use->line].kind == DD_KIND_ENTERAL)
        return true;
    if ((o->has->glucose == DD_UNKNOWN || (rule && o->has->sodium == DD_UNKNOWN)) && !dd_work_unchecked(w, DD_FINDING_BOLUS, DD_WANT_SALTS, use->order))
        return false;
    if (!find_glucose(w, use, &about))
        return false;
    if (!rule || o->has->sodium == DD_UNKNOWN)
        return true;
    dd_quantity sodium = dd_strong_ion(o->has->sodium, rule);
    if (!dd_quantity_compare(sodium, rule->low, &low) || !dd_quantity_compare(sodium, rule->high, &high) || (low >= 0 && high <= 0))
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_BOLUS, rule, use->order, use->line, use->at);
    if (!f)
        return false;
    f->word = low < 0 ? "its sodium is too low" : "its sodium is too high";
    f->figure = sodium;
    f->limit = low < 0 ? rule->low : rule->high;
    return true;
}

/* ---- blood ---- */

/* The built-in limit is of red cells; platelets and plasma may run faster. A row of the ward holds for what it names. */
static bool is_meant(const dd_work *w, const dd_order *o, const dd_rule *rule)
{
    const char *key = o->mixture->fluid >= 0 ? w->plan->fluids[o->mixture->fluid].key : "";
    return rule->at.line || (strcmp(key, "platelets") != 0 && strcmp(key, "plasma") != 0);
}

/* The fastest flow from a bag of this order, the first of equals; worst: index of that flow. */
static bool find_blood_rate(dd_work *w, int order, size_t worst)
{
    const dd_patient *p = w->patient;
    const dd_order *o = &p->orders[order];
    const dd_rule_about about = dd_rule_of_order(w->plan, p, order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_BLOOD_RATE_MAX, &about);
    const dd_flow *flow = &w->flows[worst];
    dd_ratio limit, below, micro;
    if (!rule)
        return depends_on_age(w, DD_RULE_BLOOD_RATE_MAX, about) ? dd_work_unchecked(w, DD_FINDING_BLOOD_RATE, DD_WANT_AGE, order) : true;
    if (!is_meant(w, o, rule))
        return true;
    if (p->weight_mg == DD_UNKNOWN)
        return dd_work_unchecked(w, DD_FINDING_BLOOD_RATE, DD_WANT_WEIGHT, order);
    /* uL/h */
    if (dd_quantity_exact(rule->low, &limit) != DD_OK || dd_quantity_below(rule->low, &below) != DD_OK || dd_ratio_over(limit, below, &limit) != DD_OK
        || dd_ratio_times(limit, (dd_ratio){(dd_int128)3600 * p->weight_mg, PER_KG}, &limit) != DD_OK)
        return true;
    if (!dd_work_above((dd_ratio){flow->rate.ul_per_h, 1}, limit, (dd_ratio){dd_work_step(o), 1}))
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_BLOOD_RATE, rule, order, flow->line, flow->from);
    if (!f)
        return false;
    f->limit = rule->low;
    f->figure = (dd_quantity){.per_micro = 1000000, .unit = DD_UNIT_ML, .per = DD_UNIT_H, .per_kg = true};
    return dd_ratio_make((dd_int128)flow->rate.ul_per_h * 1000 * PER_KG, p->weight_mg, &micro) == DD_OK
        && dd_ratio_half_up(micro, 1000, &f->figure.micro) == DD_OK;
}

static dd_status find_blood(dd_work *w)
{
    const dd_patient *p = w->patient;
    size_t *worst = NULL; /* per order: index of a flow + 1 */
    for (size_t i = 0; i < w->flow_count; i++) {
        const dd_flow *f = &w->flows[i];
        if (p->orders[f->order].category != DD_CAT_BLOOD || f->part != DD_PART_BAG)
            continue;
        if (!worst && !(worst = dd_arena_take_many(w->arena, p->order_count, sizeof *worst)))
            return DD_NO_MEMORY;
        size_t *kept = &worst[f->order];
        if (!*kept || f->rate.ul_per_h > w->flows[*kept - 1].rate.ul_per_h)
            *kept = i + 1;
    }
    for (int i = 0; worst && i < p->order_count; i++)
        if (worst[i] && !find_blood_rate(w, i, worst[i] - 1))
            return DD_NO_MEMORY;
    return DD_OK;
}

dd_status dd_fast_find(dd_work *w, const dd_use *uses, size_t count)
{
    const dd_patient *p = w->patient;
    for (size_t i = 0; i < count; i++)
        if (uses[i].first && p->orders[uses[i].order].purpose == DD_FOR_RESUSCITATION && !find_fluid(w, &uses[i]))
            return DD_NO_MEMORY;
    for (size_t i = 0; i < w->run_count; i++) {
        const dd_run *r = &w->runs[i];
        bool never = r->start == DD_NEVER && (r->why == DD_END_REPLACED || r->why == DD_END_OMITTED);
        if (p->orders[r->order].purpose == DD_FOR_RESUSCITATION && !never && !find_volume(w, r))
            return DD_NO_MEMORY;
    }
    return find_blood(w);
}
