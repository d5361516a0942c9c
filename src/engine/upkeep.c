#include "upkeep.h"

#include <string.h>

#include "daydrip/rule.h"

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

/* Rules without a word are about veins: they do not hold for a feeding tube. */
static const dd_rule *rule_of_line(const dd_timeline *t, dd_rule_id id, int line)
{
    const dd_rule_about about = dd_rule_of_patient(t->patient, line);
    const dd_rule *rule = dd_rule_find(t->plan, id, &about);
    return rule && about.kind_word == DD_KIND_ENTERAL && rule->kind_word != DD_KIND_ENTERAL ? NULL : rule;
}

static dd_upkeep_due due(const dd_rule *rule, dd_moment since)
{
    int64_t every = dd_rule_seconds(rule);
    return (dd_upkeep_due){.since = since, .at = every > 0 && since != DD_NEVER ? since + every : DD_NEVER, .every = every, .rule = rule};
}

/* ---- the set ---- */

/* Whether the run that the flow belongs to had begun before the plan. */
static bool ran_before(const dd_timeline *t, const dd_flow *f)
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
    return due(rule, by_fluid && f && !ran_before(t, f) ? later(care->set_changed, f->from) : care->set_changed);
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
        take_shorter(&best, due(rule_of_line(t, DD_RULE_SET_CHANGE, line), care->set_changed));
    if (only_doses)
        take_shorter(&best, due(rule_of_line(t, DD_RULE_SET_CHANGE_INTERMITTENT, line), care->set_changed));
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
    care.dressing = due(rule_of_line(t, gauze ? DD_RULE_DRESSING_CHANGE_GAUZE : DD_RULE_DRESSING_CHANGE, line), care.dressed);
    care.device = due(rule_of_line(t, DD_RULE_DEVICE_REPLACE, line), care.placed);
    care.set = set_due(t, line, &care);
    for (size_t i = 0; i < t->flow_count && t->flows[i].from <= t->now && !care.in_use; i++)
        care.in_use = t->flows[i].line == line;
    return care;
}

/* ---- looks ---- */

/* Whether the flow is the first of a drug, or of blood, in this plan. */
static bool is_new(const dd_timeline *t, const dd_flow *f)
{
    uint8_t category = t->patient->orders[f->order].category;
    if ((category != DD_CAT_DRUG && category != DD_CAT_BLOOD) || f->part != DD_PART_BAG || ran_before(t, f))
        return false;
    for (size_t i = 0; i < t->run_count && t->runs[i].start != DD_NEVER && t->runs[i].start <= f->from; i++)
        if (t->runs[i].order == f->order)
            return t->runs[i].start == f->from;
    return false;
}

static void take_earlier(dd_upkeep_due *best, const dd_rule *rule, dd_moment since)
{
    dd_upkeep_due other = due(rule, since);
    if (other.every > 0 && (best->every == 0 || other.at < best->at))
        *best = other;
}

dd_upkeep_due dd_upkeep_look(const dd_timeline *t, int line, const dd_upkeep *care)
{
    const dd_rule *first = rule_of_line(t, DD_RULE_SITE_CHECK_FIRST, line), *regular = rule_of_line(t, DD_RULE_SITE_CHECK, line);
    dd_upkeep_due best = {.since = DD_NEVER, .at = DD_NEVER};
    /* where nobody looked yet, as if somebody had when the plan began, the patient came or the line was placed */
    dd_moment look = later(later(care->looked, care->placed), later(t->plan->begins, t->patient->arrived)), last_end = DD_NEVER;
    take_earlier(&best, rule_of_line(t, DD_RULE_SITE_CHECK_LOCKED, line), look);
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < t->now; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->line != line)
            continue;
        bool before = ran_before(t, f), still = last_end == DD_NEVER ? !before : f->from > last_end;
        if (!before && f->from >= look && (still || is_new(t, f)))
            take_earlier(&best, first, f->from);
        if ((f->from < look || (f->from == look && !still)) && f->to > look)
            take_earlier(&best, regular, look);
        last_end = later(last_end, f->to);
    }
    return best;
}
