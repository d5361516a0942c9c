/* weighing.c - whether the weight that rates and doses rest on can be believed. */
#include "daydrip/rule.h"
#include "find.h"
#include "whole.h"

static bool is_child(const dd_patient *p)
{
    return p->class_at_begin <= DD_CLASS_CHILD;
}

/* From when on the patient is in this plan. */
static dd_moment here_from(const dd_work *w)
{
    return w->patient->arrived > w->plan->begins ? w->patient->arrived : w->plan->begins;
}

/* The rule, or NULL; that none could be found because nobody knows the age is noted. False: no memory. */
static bool find_rule(dd_work *w, dd_rule_id id, dd_finding_code code, const dd_rule **rule)
{
    const dd_rule_about about = dd_rule_of_patient(w->patient, -1);
    *rule = dd_rule_find(w->plan, id, &about);
    return *rule || w->patient->class_at_begin != DD_CLASS_UNKNOWN || dd_work_unchecked(w, code, DD_WANT_AGE, -1);
}

/* The last entry of a weight, or NULL. */
static const dd_event *last_weighed(const dd_timeline *t)
{
    for (size_t i = t->event_count; i-- > 0;)
        if (t->events[i]->kind == DD_EVENT_WEIGHED)
            return t->events[i];
    return NULL;
}

static bool no_weight(dd_work *w, const dd_timeline *t)
{
    const dd_rule *age;
    if (is_child(w->patient) && !dd_work_finding(w, DD_FINDING_WEIGHT_MISSING, -1, -1, here_from(w)))
        return false;
    if (w->patient->class_at_begin == DD_CLASS_UNKNOWN && !dd_work_unchecked(w, DD_FINDING_WEIGHT_MISSING, DD_WANT_AGE, -1))
        return false;
    if (!dd_work_unchecked(w, DD_FINDING_WEIGHT_IMPLAUSIBLE, DD_WANT_WEIGHT, -1) || !find_rule(w, DD_RULE_WEIGHT_AGE, DD_FINDING_WEIGHT_OLD, &age))
        return false;
    if (age && !dd_work_unchecked(w, DD_FINDING_WEIGHT_OLD, DD_WANT_WEIGHT, -1))
        return false;
    return !last_weighed(t) || dd_work_unchecked(w, DD_FINDING_WEIGHT_CHANGED, DD_WANT_WEIGHT, -1);
}

static bool in_band(dd_work *w)
{
    const dd_rule *rule;
    int64_t low, high, weight = w->patient->weight_mg;
    if (!find_rule(w, DD_RULE_WEIGHT_BAND, DD_FINDING_WEIGHT_IMPLAUSIBLE, &rule))
        return false;
    if (!rule || dd_quantity_grams(rule->low, &low) != DD_OK || dd_quantity_grams(rule->high, &high) != DD_OK)
        return true;
    const dd_ratio figure = {weight, 1}, none = {0, 1};
    bool below = dd_work_below(figure, (dd_ratio){low, 1}, none);
    if (!below && !dd_work_above(figure, (dd_ratio){high, 1}, none))
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_WEIGHT_IMPLAUSIBLE, rule, -1, -1, here_from(w));
    if (!f)
        return false;
    f->figure = dd_work_quantity(weight, DD_UNIT_KG); /* mg are millionths of a kg */
    f->limit = below ? rule->low : rule->high;
    return true;
}

/* A charted weight settles it: it says whether the one that rates rest on still holds. */
static bool not_old(dd_work *w, const dd_event *last)
{
    const dd_rule *rule;
    dd_moment weighed = w->patient->weighed;
    if (!find_rule(w, DD_RULE_WEIGHT_AGE, DD_FINDING_WEIGHT_OLD, &rule))
        return false;
    if (last && last->time > weighed)
        weighed = last->time;
    int64_t lasts = dd_rule_seconds(rule);
    if (lasts <= 0)
        return true;
    if (weighed == DD_NEVER)
        return dd_work_unchecked(w, DD_FINDING_WEIGHT_OLD, DD_WANT_WEIGHED, -1);
    if (w->now - weighed <= lasts)
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_WEIGHT_OLD, rule, -1, -1, weighed + lasts);
    if (!f)
        return false;
    f->figure = dd_work_minutes(w->now - weighed);
    f->limit = dd_work_minutes(lasts);
    return true;
}

static bool unchanged(dd_work *w, const dd_event *last)
{
    const dd_rule_about about = dd_rule_of_patient(w->patient, -1);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_WEIGHT_CHANGE, &about);
    int64_t charted, weight = w->patient->weight_mg;
    dd_ratio most;
    if (!last || !rule || dd_quantity_grams(last->value, &charted) != DD_OK)
        return true;
    int64_t away = charted > weight ? charted - weight : weight - charted;
    if (dd_ratio_make((dd_int128)weight * dd_rule_share(rule), DD_WHOLE_SHARE, &most) != DD_OK || !dd_work_above((dd_ratio){away, 1}, most, (dd_ratio){0, 1}))
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_WEIGHT_CHANGED, rule, -1, -1, last->time);
    if (!f)
        return false;
    f->event = last;
    f->figure = dd_work_percent(away, weight);
    f->limit = rule->low;
    return true;
}

dd_status dd_weighing_find(dd_work *w, const dd_timeline *t)
{
    if (w->patient->weight_mg == DD_UNKNOWN)
        return no_weight(w, t) ? DD_OK : DD_NO_MEMORY;
    const dd_event *last = last_weighed(t);
    if (w->patient->weight_is == DD_ESTIMATED && !dd_work_finding(w, DD_FINDING_WEIGHT_ESTIMATED, -1, -1, here_from(w)))
        return DD_NO_MEMORY;
    return in_band(w) && not_old(w, last) && unchanged(w, last) ? DD_OK : DD_NO_MEMORY;
}
