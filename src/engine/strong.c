/* strong.c - what a bag holds against the limits for its line. All of it is as labelled: a drug's own salts and osmoles are not known
 * and not counted, and grams of glucose stay grams of the form that the label weighs. Concentrations have no tolerance beyond
 * rounding: figures are rounded half up to 0.001 of their unit, as they are shown, and then compared. What runs into the gut, and
 * blood, is not looked at: no limit is made for them. */
#include "strong.h"

#include "daydrip/rule.h"

#define SHOWN 1000 /* millionths: 0.001 of a unit */

/* nmol/L, nOsm/L, and so on are millionths of the unit. */
static dd_quantity per_litre(int64_t micro, dd_unit unit)
{
    return (dd_quantity){.micro = (micro + SHOWN / 2) / SHOWN * SHOWN, .per_micro = 1000000, .unit = (uint8_t)unit, .per = DD_UNIT_L};
}

dd_quantity dd_strong_ion(int64_t nmol_per_l, const dd_rule *rule)
{
    return per_litre(nmol_per_l, rule && dd_quantity_dimension(rule->low.unit) == DD_DIM_CHARGE ? DD_UNIT_MEQ : DD_UNIT_MMOL);
}

dd_quantity dd_strong_percent(int64_t ug_per_l)
{
    return (dd_quantity){.micro = (ug_per_l + 10 * SHOWN / 2) / (10 * SHOWN) * SHOWN, .per_micro = 1000000, .unit = DD_UNIT_PERCENT, .per = DD_UNIT_NONE};
}

typedef struct limit {
    dd_finding_code code;
    dd_rule_id rules[2]; /* the worse first; DD_RULE_COUNT: none */
    size_t member;       /* of dd_composition */
} limit;

static const limit limits[] = {
    {DD_FINDING_POTASSIUM_STRENGTH, {DD_RULE_POTASSIUM_CONCENTRATION_MAX, DD_RULE_COUNT}, offsetof(dd_composition, potassium)},
    {DD_FINDING_OSMOLARITY, {DD_RULE_OSMOLARITY_MAX, DD_RULE_OSMOLARITY_NOTE}, offsetof(dd_composition, osmolarity)},
    {DD_FINDING_GLUCOSE_STRENGTH, {DD_RULE_GLUCOSE_MAX, DD_RULE_GLUCOSE_WATCH}, offsetof(dd_composition, glucose)},
};

static int64_t content(const dd_composition *has, const limit *l)
{
    return *(const int64_t *)(const void *)((const char *)has + l->member);
}

static dd_quantity figure(int64_t value, const dd_rule *rule)
{
    const dd_rule_kind kind = dd_rule_names[rule->id].kind;
    return kind == DD_RK_STRENGTH ? dd_strong_percent(value) : kind == DD_RK_OSMOLARITY ? per_litre(value, DD_UNIT_MOSM) : dd_strong_ion(value, rule);
}

/* The worst rule that the content is above; NULL: none. *any: there is a rule to hold it against. */
static const dd_rule *broken(const dd_plan *plan, const limit *l, int64_t value, const dd_rule_about *about, bool *any)
{
    for (size_t i = 0; i < 2 && l->rules[i] != DD_RULE_COUNT; i++) {
        const dd_rule *rule = dd_rule_find(plan, l->rules[i], about);
        int c;
        *any = *any || rule;
        if (rule && value != DD_UNKNOWN && dd_quantity_compare(figure(value, rule), rule->low, &c) && c > 0)
            return rule;
    }
    return NULL;
}

/* How the label weighs the glucose. What is added as glucose is weighed without water. */
static const char *glucose_words(const dd_plan *plan, const dd_order *o)
{
    const dd_fluid *fluid = &plan->fluids[o->mixture->fluid]; /* known: a mixture without a fluid has no known content */
    bool added = o->has->glucose > fluid->has.glucose;
    switch ((dd_glucose_form)fluid->glucose_form) {
    case DD_GLUCOSE_NONE:
    case DD_GLUCOSE_ANHYDROUS: return "weighed as anhydrous glucose";
    case DD_GLUCOSE_MONOHYDRATE: return added ? "weighed as monohydrate, what is added as anhydrous" : "weighed as glucose monohydrate";
    case DD_GLUCOSE_NOT_STATED: break;
    }
    return "the label's form of glucose is not stated";
}

/* Of a patient whose age is not known: whether it would be too strong at any age. */
static bool depends_on_age(const dd_work *w, const limit *l, int64_t value, dd_rule_about about)
{
    bool any = false;
    if (w->patient->class_at_begin != DD_CLASS_UNKNOWN)
        return false;
    for (about.class_word = DD_CLASS_NEONATE; about.class_word <= DD_CLASS_ADULT; about.class_word++)
        if (broken(w->plan, l, value, &about, &any) || (any && value == DD_UNKNOWN))
            return true;
    return false;
}

static bool find_strength(dd_work *w, const dd_use *use, const limit *l)
{
    const dd_order *o = &w->patient->orders[use->order];
    dd_rule_about about = dd_rule_of_order(w->plan, w->patient, use->order);
    about.kind_word = w->patient->lines[use->line].kind;
    int64_t value = content(o->has, l);
    bool any = false;
    const dd_rule *rule = broken(w->plan, l, value, &about, &any);
    if (!rule) {
        if (any && value == DD_UNKNOWN)
            return dd_work_unchecked(w, l->code, DD_WANT_SALTS, use->order);
        return depends_on_age(w, l, value, about) ? dd_work_unchecked(w, l->code, DD_WANT_AGE, use->order) : true;
    }
    dd_finding *f = dd_work_finding_by(w, l->code, rule, use->order, use->line, use->at);
    if (!f)
        return false;
    f->figure = figure(value, rule);
    f->limit = rule->low;
    f->word = l->code == DD_FINDING_GLUCOSE_STRENGTH ? glucose_words(w->plan, o) : NULL;
    return true;
}

/* What is added to the catalogue's fluid; a bag that comes with potassium is no pharmacist's or nurse's mixture. */
static bool find_gravity(dd_work *w, const dd_use *use)
{
    const dd_order *o = &w->patient->orders[use->order];
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, use->order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_POTASSIUM_GRAVITY, &about);
    const dd_mixture *m = o->mixture;
    if (o->device != DD_GRAVITY || !dd_rule_is_on(rule) || m->addition_count == 0)
        return true;
    if (o->has->potassium == DD_UNKNOWN)
        return dd_work_unchecked(w, DD_FINDING_POTASSIUM_GRAVITY, DD_WANT_SALTS, use->order);
    int64_t added = o->has->potassium - w->plan->fluids[m->fluid].has.potassium;
    if (added <= 0)
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_POTASSIUM_GRAVITY, rule, use->order, use->line, use->at);
    if (f)
        f->figure = dd_strong_ion(added, NULL);
    return f != NULL;
}

/* Nutrition is left out: its sodium is ordered by itself, and emulsions have none. */
static bool find_tonicity(dd_work *w, const dd_use *use)
{
    const dd_patient *p = w->patient;
    const dd_order *o = &p->orders[use->order];
    const dd_rule_about about = dd_rule_of_order(w->plan, p, use->order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_MAINTENANCE_TONICITY, &about), *to = dd_rule_find(w->plan, DD_RULE_TONICITY_TO, &about);
    int c;
    if (o->purpose != DD_FOR_MAINTENANCE || o->category == DD_CAT_NUTRITION || !rule || p->class_at_begin == DD_CLASS_NEONATE
        || (p->age_s != DD_UNKNOWN && p->age_s >= dd_rule_seconds(to)))
        return true;
    if (o->has->sodium == DD_UNKNOWN)
        return dd_work_unchecked(w, DD_FINDING_TONICITY, DD_WANT_SALTS, use->order);
    dd_quantity sodium = dd_strong_ion(o->has->sodium, rule);
    if (!dd_quantity_compare(sodium, rule->low, &c) || c >= 0)
        return true;
    if (p->age_s == DD_UNKNOWN)
        return dd_work_unchecked(w, DD_FINDING_TONICITY, DD_WANT_AGE, use->order);
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_TONICITY, rule, use->order, use->line, use->at);
    if (!f)
        return false;
    f->figure = sodium;
    f->limit = rule->low;
    return true;
}

dd_status dd_strong_find(dd_work *w, const dd_use *uses, size_t count)
{
    bool good = true;
    for (size_t i = 0; i < count && good; i++) {
        const dd_use *use = &uses[i];
        if (w->patient->lines[use->line].kind == DD_KIND_ENTERAL || w->patient->orders[use->order].category == DD_CAT_BLOOD)
            continue;
        for (size_t k = 0; k < sizeof limits / sizeof *limits && good; k++)
            good = find_strength(w, use, &limits[k]);
        if (use->first)
            good = good && find_gravity(w, use) && find_tonicity(w, use);
    }
    return good ? DD_OK : DD_NO_MEMORY;
}
