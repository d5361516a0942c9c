#include "daydrip/rule.h"

#include <string.h>

const dd_rule_name dd_rule_names[DD_RULE_COUNT] = {
#define RULE_NAME(id, name_, kind_, looser_, purpose_) [DD_RULE_##id] = {name_, purpose_, DD_RK_##kind_, DD_LOOSER_##looser_},
#include "daydrip/rule.def"
};

const dd_rule_other dd_rule_others[] = {
#define OTHERS(id, applies, say, evidence) {DD_RULE_##id, applies, say, DD_EV_##evidence},
#include "daydrip/rule.def"
};
const size_t dd_rule_other_count = sizeof dd_rule_others / sizeof *dd_rule_others;

static bool holds(const dd_rule *r, const dd_rule_about *about)
{
    return (r->class_word == DD_RULE_ANY || r->class_word == about->class_word) && (r->kind_word == DD_RULE_ANY || r->kind_word == about->kind_word)
        && (r->category_word == DD_RULE_ANY || r->category_word == about->category_word)
        && (!r->fluid || (about->fluid && strcmp(r->fluid, about->fluid) == 0));
}

const dd_rule *dd_rule_find_of(const dd_plan *plan, dd_rule_id id, const dd_rule_about *about, bool ward)
{
    const dd_rule *best = NULL;
    if (!plan->rules_by_id)
        return NULL;
    for (size_t i = plan->rule_first[id]; i < plan->rule_first[id + 1]; i++) {
        const dd_rule *r = plan->rules_by_id[i];
        if ((r->at.line != 0) == ward && holds(r, about) && (!best || r->rank > best->rank))
            best = r;
    }
    return best;
}

const dd_rule *dd_rule_find(const dd_plan *plan, dd_rule_id id, const dd_rule_about *about)
{
    const dd_rule *rule = dd_rule_find_of(plan, id, about, true);
    return rule ? rule : dd_rule_find_of(plan, id, about, false);
}

static bool words_meet(uint8_t a, uint8_t b)
{
    return a == DD_RULE_ANY || b == DD_RULE_ANY || a == b;
}

/* A fluid carries drugs and flushes too, but it is never blood, nutrition or feed unless it is that itself. */
static bool fluid_meets(const dd_rule *fluid, const dd_rule *category)
{
    uint8_t is = fluid->fluid_category, word = category->category_word;
    if (!fluid->fluid || word == DD_RULE_ANY)
        return true;
    bool special = is == DD_CAT_BLOOD || is == DD_CAT_NUTRITION || is == DD_CAT_FEED;
    return special ? word == is : word != DD_CAT_BLOOD && word != DD_CAT_NUTRITION && word != DD_CAT_FEED;
}

bool dd_rule_meet(const dd_rule *a, const dd_rule *b)
{
    return a->id == b->id && words_meet(a->class_word, b->class_word) && words_meet(a->kind_word, b->kind_word)
        && words_meet(a->category_word, b->category_word) && fluid_meets(a, b) && fluid_meets(b, a)
        && (!a->fluid || !b->fluid || strcmp(a->fluid, b->fluid) == 0);
}

/* The built-in dose windows follow the interval: 30 min is the tightest of them. */
static dd_quantity tightest(const dd_rule *r)
{
    return r->low.unit == DD_UNIT_NONE && r->id == DD_RULE_DOSE_WINDOW ? (dd_quantity){30000000, 1000000, DD_UNIT_MIN, DD_UNIT_NONE, false} : r->low;
}

static bool is_looser(const dd_rule *ward, const dd_rule *built)
{
    int low = 0, high = 0;
    switch (dd_rule_names[ward->id].looser) {
    case DD_LOOSER_NEITHER: return false;
    case DD_LOOSER_OFF: return ward->on == 0 && built->on == 1;
    case DD_LOOSER_HIGHER: return !dd_quantity_compare(ward->low, tightest(built), &low) || low > 0;
    case DD_LOOSER_LOWER: return !dd_quantity_compare(ward->low, tightest(built), &low) || low < 0;
    case DD_LOOSER_WIDER:
        return !dd_quantity_compare(ward->low, built->low, &low) || !dd_quantity_compare(ward->high, built->high, &high) || low < 0 || high > 0;
    }
    return false;
}

const dd_rule *dd_rule_looser_than(const dd_plan *plan, const dd_rule *ward)
{
    for (size_t i = plan->rule_first[ward->id]; i < plan->rule_first[ward->id + 1]; i++) {
        const dd_rule *r = plan->rules_by_id[i];
        if (r->at.line == 0 && dd_rule_meet(ward, r) && is_looser(ward, r))
            return r;
    }
    return NULL;
}

/* A class or kind that is not known is none of the words, rather than any: no rule of a class holds then. */
dd_rule_about dd_rule_of_patient(const dd_patient *p, int line)
{
    uint8_t class_word = p->class_at_begin == DD_CLASS_UNKNOWN ? DD_RULE_ANY - 1 : p->class_at_begin;
    return (dd_rule_about){NULL, class_word, line < 0 ? DD_RULE_ANY : p->lines[line].kind, DD_RULE_ANY};
}

dd_rule_about dd_rule_of_order(const dd_plan *plan, const dd_patient *p, int order)
{
    const dd_order *o = &p->orders[order];
    dd_rule_about about = dd_rule_of_patient(p, o->line);
    about.category_word = o->category;
    about.fluid = o->mixture->fluid >= 0 ? plan->fluids[o->mixture->fluid].key : NULL;
    return about;
}

int64_t dd_rule_seconds(const dd_rule *rule)
{
    int64_t seconds;
    return rule && dd_quantity_seconds(rule->low, &seconds) == DD_OK ? seconds : 0;
}

int64_t dd_rule_share(const dd_rule *rule)
{
    return rule && rule->low.unit == DD_UNIT_PERCENT ? rule->low.micro : 0;
}

bool dd_rule_is_on(const dd_rule *rule)
{
    return rule && rule->on == 1;
}
