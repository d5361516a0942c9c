#include "daydrip/rule.h"

#include <string.h>

const dd_rule_name dd_rule_names[DD_RULE_COUNT] = {
#define RULE_NAME(id, name_, kind_, purpose_) [DD_RULE_##id] = {name_, purpose_, DD_RK_##kind_},
#include "daydrip/rule.def"
};

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
