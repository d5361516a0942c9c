#include "upkeep.h"

#include <string.h>

static dd_moment later(dd_moment a, dd_moment b)
{
    return a > b ? a : b; /* DD_NEVER is before everything */
}

bool dd_upkeep_is_off(const dd_timeline *t, int line)
{
    for (size_t i = t->event_count; i-- > 0;)
        if (t->events[i]->line == line && (t->events[i]->kind == DD_EVENT_REMOVED || t->events[i]->kind == DD_EVENT_PLACED))
            return t->events[i]->kind == DD_EVENT_REMOVED;
    return false;
}

const dd_rule *dd_upkeep_rule(const dd_timeline *t, dd_rule_id id, int line)
{
    const dd_rule_about about = dd_rule_of_patient(t->patient, line);
    const dd_rule *rule = dd_rule_find(t->plan, id, &about);
    return rule && about.kind_word == DD_KIND_ENTERAL && rule->kind_word != DD_KIND_ENTERAL ? NULL : rule;
}

dd_upkeep_due dd_upkeep_from(const dd_rule *rule, dd_moment since)
{
    int64_t every = dd_rule_seconds(rule);
    return (dd_upkeep_due){.since = since, .at = every > 0 && since != DD_NEVER ? since + every : DD_NEVER, .every = every, .rule = rule};
}

/* ---- the set ---- */

bool dd_upkeep_ran_before(const dd_timeline *t, const dd_flow *f)
{
    if (f->from != t->plan->begins)
        return false;
    for (size_t i = 0; i < t->bag_count; i++) {
        const dd_bag *b = &t->bags[i];
        if (b->order == f->order && b->number == f->bag && b->due == f->due)
            return b->found_hanging || (b->up != DD_NEVER && b->up < f->from);
    }
    return false;
}

bool dd_upkeep_found_hanging(const dd_timeline *t, int order)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == order && t->bags[i].number == 1)
            return t->bags[i].found_hanging;
    return false;
}

/* The shorter one; of two equal ones the first. One of which nobody knows since when is only taken where there is no other. */
static void take_shorter(dd_upkeep_due *best, dd_upkeep_due other)
{
    if (other.every > 0 && (best->every == 0 || (other.at != DD_NEVER && (best->at == DD_NEVER || other.at < best->at))))
        *best = other;
}

/* By what one order brings into the set. A rule of a fluid or a category counts from when that fluid is in it. */
static dd_upkeep_due set_by_order(const dd_timeline *t, int line, const dd_upkeep *care, int order, const dd_flow *f)
{
    dd_rule_about about = dd_rule_of_order(t->plan, t->patient, order);
    about.kind_word = t->patient->lines[line].kind;
    const dd_rule *rule = dd_rule_find(t->plan, DD_RULE_SET_CHANGE, &about);
    if (rule && about.kind_word == DD_KIND_ENTERAL && rule->words == 0)
        rule = NULL;
    bool by_fluid = rule && (rule->fluid || rule->category_word != DD_RULE_ANY);
    return dd_upkeep_from(rule, by_fluid && f && !dd_upkeep_found_hanging(t, order) ? later(care->set_changed, f->from) : care->set_changed);
}

static bool is_dose(const dd_order *o)
{
    return o->repeat != DD_ONCE || o->runs == DD_PIGGYBACK;
}

/* By all that flows on the line since the set was changed; where nothing does, by the orders that are written for it. */
static dd_upkeep_due set_due(const dd_timeline *t, int line, const dd_upkeep *care)
{
    const dd_patient *p = t->patient;
    dd_upkeep_due best = {.since = DD_NEVER, .at = DD_NEVER};
    bool any = false, only_doses = true;
    for (size_t i = 0; i < t->flow_count; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->line != line || f->to <= care->set_changed)
            continue;
        any = true;
        only_doses = only_doses && is_dose(&p->orders[f->order]);
        take_shorter(&best, set_by_order(t, line, care, f->order, f));
    }
    for (int i = 0; i < p->order_count && !any; i++)
        if (p->orders[i].line == line) {
            only_doses = only_doses && is_dose(&p->orders[i]);
            take_shorter(&best, set_by_order(t, line, care, i, NULL));
        }
    if (best.every == 0)
        take_shorter(&best, dd_upkeep_from(dd_upkeep_rule(t, DD_RULE_SET_CHANGE, line), care->set_changed));
    if (only_doses)
        take_shorter(&best, dd_upkeep_from(dd_upkeep_rule(t, DD_RULE_SET_CHANGE_INTERMITTENT, line), care->set_changed));
    return best;
}

dd_upkeep dd_upkeep_of(const dd_timeline *t, int line)
{
    const dd_line *l = &t->patient->lines[line];
    dd_upkeep care = {.placed = l->placed, .dressed = l->dressed, .set_changed = l->set_changed, .looked = DD_NEVER, .off_since = DD_NEVER};
    for (size_t i = 0; i < t->event_count; i++) {
        const dd_event *e = t->events[i];
        if (e->line != line)
            continue;
        if (e->kind == DD_EVENT_PLACED)
            care.placed = later(care.placed, e->time);
        if (e->kind == DD_EVENT_DRESSED)
            care.dressed = later(care.dressed, e->time);
        if (e->kind == DD_EVENT_SET_CHANGED)
            care.set_changed = later(care.set_changed, e->time);
        if (e->kind == DD_EVENT_CHECKED)
            care.looked = e->time;
        if (e->kind == DD_EVENT_PLACED || e->kind == DD_EVENT_REMOVED)
            care.off_since = e->kind == DD_EVENT_REMOVED ? e->time : DD_NEVER;
    }
    care.dressed = later(care.dressed, care.placed);
    bool gauze = l->dressing && strcmp(l->dressing, "gauze") == 0;
    care.dressing = dd_upkeep_from(dd_upkeep_rule(t, gauze ? DD_RULE_DRESSING_CHANGE_GAUZE : DD_RULE_DRESSING_CHANGE, line), care.dressed);
    care.device = dd_upkeep_from(dd_upkeep_rule(t, DD_RULE_DEVICE_REPLACE, line), care.placed);
    care.set = set_due(t, line, &care);
    for (size_t i = 0; i < t->flow_count && t->flows[i].from <= t->now && !care.in_use; i++)
        care.in_use = t->flows[i].line == line;
    return care;
}
