#include "peaks.h"

#include "daydrip/rule.h"
#include "history.h"
#include "limit.h"
#include "sums.h"

#define KINDS DD_KIND_COUNT

typedef struct peaks {
    dd_work *w;
    const dd_stretch *list; /* they tile the window */
    size_t count;
    dd_moment here; /* the plan's beginning, or when the patient came */
    dd_sums_flows flows;
} peaks;

/* ---- the most of something, at the worst second ---- */

/* What is looked for: a figure of every stretch against a rule. */
typedef struct quest {
    dd_finding_code code;
    dd_rule_id rule;
    dd_content content;
    dd_dimension dimension;
    int64_t scale; /* of a stretch's figure: so many are one of the dimension's size */
    dd_want unknown;
} quest;

/* A run of stretches in which the figure stays the same. The strictest limit of the kinds of line that it comes through holds. */
typedef struct top {
    dd_moment from, to;
    dd_int128 value, step;
    uint16_t kinds;
    int16_t order;
} top;

static top top_of(const dd_stretch *s, const quest *q)
{
    bool potassium = q->content == DD_POTASSIUM;
    return (top){s->from, s->to, potassium ? s->potassium : s->glucose, potassium ? s->potassium_step : s->glucose_step,
        potassium ? s->potassium_kinds : s->glucose_kinds, potassium ? s->potassium_order : s->glucose_order};
}

typedef struct limit { const dd_rule *rule; dd_ratio hourly; } limit;

/* The strictest of the rules for these kinds of line; rule NULL: there is none. DD_BAD_INPUT: it cannot be said for want of something. */
static dd_status strictest(const peaks *p, const quest *q, uint16_t kinds, limit *out, dd_want *missing)
{
    *out = (limit){0};
    for (int kind = 0; kind < KINDS; kind++) {
        if (!((unsigned)kinds >> kind & 1u))
            continue;
        dd_rule_about about = dd_rule_of_patient(p->w->patient, -1);
        about.kind_word = (uint8_t)kind;
        const dd_rule *rule = dd_rule_find(p->w->plan, q->rule, &about);
        dd_ratio hourly;
        if (!rule)
            continue;
        dd_status status = dd_limit_hourly(rule->low, q->dimension, p->w->patient->weight_mg, &hourly, missing);
        if (status != DD_OK)
            return status;
        if (!out->rule || dd_ratio_compare(hourly, out->hourly) < 0)
            *out = (limit){rule, hourly};
    }
    return DD_OK;
}

/* Of two that are above, the one that is not over by now, then the higher one, then the earlier. */
static bool is_worse(const peaks *p, const top *a, const top *b)
{
    bool a_over = a->to <= p->w->now, b_over = b->to <= p->w->now;
    return a_over != b_over ? b_over : a->value > b->value;
}

typedef struct search { const quest *quest; top worst; limit limit; uint16_t kinds; limit of_kinds; bool found, asked; } search;

/* Looks at one run; false ends the search: a rule cannot be used, which is noted once. */
static dd_status offer(const peaks *p, search *s, const top *t, bool *end)
{
    const quest *q = s->quest;
    dd_ratio value, step;
    dd_want missing;
    if (t->value == 0)
        return DD_OK;
    if (!s->asked || s->kinds != t->kinds) {
        dd_status status = strictest(p, q, t->kinds, &s->of_kinds, &missing);
        if (status == DD_BAD_INPUT) {
            *end = true;
            return dd_work_unchecked(p->w, q->code, missing, -1) ? DD_OK : DD_NO_MEMORY;
        }
        if (status != DD_OK)
            return status;
        s->kinds = t->kinds;
        s->asked = true;
    }
    if (!s->of_kinds.rule)
        return DD_OK;
    dd_status status = dd_ratio_make(t->value, q->scale, &value);
    if (status == DD_OK)
        status = dd_ratio_make(t->step, q->scale, &step);
    if (status == DD_OK && dd_limit_above(value, s->of_kinds.hourly, step) && (!s->found || is_worse(p, t, &s->worst))) {
        s->worst = *t;
        s->limit = s->of_kinds;
        s->found = true;
    }
    return status;
}

static dd_status tell_top(const peaks *p, const search *s)
{
    const quest *q = s->quest;
    const dd_patient *patient = p->w->patient;
    dd_ratio value;
    dd_finding *f = dd_work_finding_by(p->w, q->code, s->limit.rule, -1, -1, s->worst.from);
    if (!f)
        return DD_NO_MEMORY;
    f->to = s->worst.to;
    f->word = s->worst.order >= 0 ? patient->orders[s->worst.order].mixture->words : NULL;
    f->limit = s->limit.rule->low;
    dd_status status = dd_ratio_make(s->worst.value, q->scale, &value);
    return status == DD_OK ? dd_limit_figure(value, f->limit, q->dimension, patient->weight_mg, &f->figure) : status;
}

static dd_status find_top(const peaks *p, const quest *q)
{
    search s = {.quest = q};
    top run = {0};
    bool end = false;
    dd_status status = DD_OK;
    for (size_t i = 0; i < p->count && status == DD_OK && !end; i++) {
        top t = top_of(&p->list[i], q);
        if (i > 0 && t.value == run.value) {
            run.to = t.to;
            run.kinds |= t.kinds;
            run.step = t.step < run.step ? t.step : run.step;
            run.order = run.order == t.order ? run.order : -1;
            continue;
        }
        if (i > 0)
            status = offer(p, &s, &run, &end);
        run = t;
    }
    if (status == DD_OK && !end && p->count > 0)
        status = offer(p, &s, &run, &end);
    return status == DD_OK && s.found ? tell_top(p, &s) : status;
}

/* Whether any rule of the name can hold for the patient's class; one that is not known may be any. */
static bool has_rule(const peaks *p, dd_rule_id id)
{
    const dd_plan *plan = p->w->plan;
    uint8_t class_word = p->w->patient->class_at_begin;
    for (size_t i = plan->rules_by_id ? plan->rule_first[id] : 0; plan->rules_by_id && i < plan->rule_first[id + 1]; i++) {
        uint8_t word = plan->rules_by_id[i]->class_word;
        if (word == DD_RULE_ANY || word == class_word || class_word == DD_CLASS_UNKNOWN)
            return true;
    }
    return false;
}

/* What cannot be said: contents that nobody stated, and rules that hang on an age that is not there. */
static dd_status note_unknown(const peaks *p, const quest *q)
{
    dd_work *w = p->w;
    bool ran = false;
    if (!has_rule(p, q->rule))
        return DD_OK;
    for (size_t k = 0; k < w->flow_count; k++) {
        const dd_flow *f = &w->flows[k];
        if (!dd_sums_by_vein(w->patient, f))
            continue;
        int64_t content = dd_sums_content(dd_sums_holds(w->plan, w->patient, f), q->content);
        ran |= content != 0;
        if (content == DD_UNKNOWN && !dd_work_unchecked(w, q->code, q->unknown, f->order))
            return DD_NO_MEMORY;
    }
    bool no_age = w->patient->class_at_begin == DD_CLASS_UNKNOWN;
    return !no_age || !ran || dd_work_unchecked(w, q->code, DD_WANT_AGE, -1) ? DD_OK : DD_NO_MEMORY;
}

/* ---- the least of glucose ---- */

static bool is_fed(const peaks *p)
{
    const dd_history *h = p->w->chart;
    for (size_t i = 0; i < p->count; i++)
        if (p->list[i].fed)
            return true;
    for (size_t i = 0; h && i < h->count; i++)
        if (h->events[i]->kind == DD_EVENT_INTAKE)
            return true;
    return false;
}

/* The mean from when glucose first runs to the plan's end, against the least for the class. */
static dd_status find_least(const peaks *p, const quest *q)
{
    dd_work *w = p->w;
    const dd_rule_about about = dd_rule_of_patient(w->patient, -1);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_GIR_MIN, &about);
    dd_sums_amounts amounts;
    dd_ratio least, mean, step = {0, 1};
    dd_want missing;
    size_t first = 0;
    while (first < p->count && p->list[first].glucose == 0)
        first++;
    if (!rule || first == p->count)
        return DD_OK;
    dd_status status = dd_limit_hourly(rule->low, q->dimension, w->patient->weight_mg, &least, &missing);
    if (status == DD_BAD_INPUT)
        return dd_work_unchecked(w, q->code, missing, -1) ? DD_OK : DD_NO_MEMORY;
    dd_moment from = p->list[first].from;
    if (status == DD_OK)
        status = dd_sums_amount(&p->flows, from, w->plan->end, dd_sums_by_vein, &amounts);
    if (status == DD_OK) /* u x ug/L, a 3600th of it in pg, over so many 3600ths of an hour */
        status = dd_ratio_make(amounts.content[DD_GLUCOSE], w->plan->end - from, &mean);
    if (status == DD_OK)
        status = dd_ratio_over(mean, (dd_ratio){q->scale, 1}, &mean);
    for (size_t i = first; i < p->count && status == DD_OK; i++) {
        dd_ratio one;
        status = dd_ratio_make(p->list[i].glucose_step, q->scale, &one);
        step = status == DD_OK && dd_ratio_compare(one, step) > 0 ? one : step;
    }
    if (status != DD_OK || !dd_limit_below(mean, least, step) || amounts.unknown[DD_GLUCOSE])
        return status; /* what is not known of it is noted elsewhere */
    if (is_fed(p))
        return dd_work_unchecked(w, q->code, DD_WANT_FED, -1) ? DD_OK : DD_NO_MEMORY;
    dd_finding *f = dd_work_finding_by(w, q->code, rule, -1, -1, from);
    if (!f)
        return DD_NO_MEMORY;
    f->to = w->plan->end;
    f->limit = rule->low;
    return dd_limit_figure(mean, f->limit, q->dimension, w->patient->weight_mg, &f->figure);
}

/* ---- without glucose ---- */

/* Of two stretches the one that is not over by now, then the longer, then the earlier. */
static void keep_longer(const peaks *p, dd_interval s, dd_interval *longest)
{
    bool s_over = s.to <= p->w->now, over = longest->to <= p->w->now;
    if (longest->from == longest->to || (s_over != over ? over : s.to - s.from > longest->to - longest->from))
        *longest = s;
}

static bool is_bare(const dd_stretch *s)
{
    return s->glucose == 0 && !s->fed;
}

static dd_status find_gap(const peaks *p, dd_interval insulin)
{
    dd_work *w = p->w;
    const dd_rule_about about = dd_rule_of_patient(w->patient, -1);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_GLUCOSE_GAP, &about);
    int64_t most = dd_rule_seconds(rule);
    bool neonate = w->patient->class_at_begin == DD_CLASS_NEONATE, no_age = w->patient->class_at_begin == DD_CLASS_UNKNOWN, infusion = false;
    for (size_t i = 0; i < p->count; i++)
        infusion |= p->list[i].infusion;
    if (no_age && infusion && !dd_work_unchecked(w, DD_FINDING_GLUCOSE_GAP, DD_WANT_AGE, -1))
        return DD_NO_MEMORY;
    if (neonate && !infusion && w->flow_count > 0) /* fed, and at most doses by vein: its glucose is not in the orders */
        return dd_work_unchecked(w, DD_FINDING_GLUCOSE_GAP, DD_WANT_FED, -1) ? DD_OK : DD_NO_MEMORY;
    if (!rule || (!(neonate && infusion) && insulin.from == insulin.to))
        return DD_OK;
    dd_interval longest = {0}, run = {0};
    for (size_t i = 0; i < p->count; i++) {
        const dd_stretch *s = &p->list[i];
        if (s->to <= p->here)
            continue;
        dd_moment from = s->from > p->here ? s->from : p->here;
        if (is_bare(s))
            run = run.to == from && run.from < run.to ? (dd_interval){run.from, s->to} : (dd_interval){from, s->to};
        bool ends = run.from < run.to && (!is_bare(s) || i + 1 == p->count);
        bool counts = neonate || (run.from < insulin.to && run.to > insulin.from);
        if (ends && counts && (dd_int128)(run.to - run.from) * 100 > (dd_int128)most * 101)
            keep_longer(p, run, &longest);
        run = is_bare(s) ? run : (dd_interval){0};
    }
    if (longest.from == longest.to)
        return DD_OK;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_GLUCOSE_GAP, rule, -1, -1, longest.from);
    if (!f)
        return DD_NO_MEMORY;
    f->to = longest.to;
    f->figure = dd_work_minutes(longest.to - longest.from);
    f->limit = dd_work_minutes(most);
    return DD_OK;
}

/* *insulin: from its first second to its last. */
static dd_status find_insulin(const peaks *p, dd_interval *insulin)
{
    dd_work *w = p->w;
    dd_interval longest = {0}, run = {0};
    bool fed = false;
    for (size_t i = 0; i < p->count; i++) {
        const dd_stretch *s = &p->list[i];
        if (!s->insulin)
            continue;
        *insulin = insulin->from == insulin->to ? (dd_interval){s->from, s->to} : (dd_interval){insulin->from, s->to};
        fed |= s->glucose == 0 && s->fed;
        if (!is_bare(s))
            continue;
        run = run.to == s->from && run.from < run.to ? (dd_interval){run.from, s->to} : (dd_interval){s->from, s->to};
        bool goes_on = i + 1 < p->count && p->list[i + 1].insulin && is_bare(&p->list[i + 1]);
        if (!goes_on)
            keep_longer(p, run, &longest);
    }
    if (fed && !dd_work_unchecked(w, DD_FINDING_INSULIN_ALONE, DD_WANT_FED, -1))
        return DD_NO_MEMORY;
    if (longest.from == longest.to)
        return DD_OK;
    dd_finding *f = dd_work_finding(w, DD_FINDING_INSULIN_ALONE, -1, -1, longest.from);
    if (!f)
        return DD_NO_MEMORY;
    f->to = longest.to;
    f->figure = dd_work_minutes(longest.to - longest.from);
    return DD_OK;
}

dd_status dd_peaks_find(dd_work *w)
{
    static const quest potassium = {DD_FINDING_POTASSIUM_RATE, DD_RULE_POTASSIUM_RATE_MAX, DD_POTASSIUM, DD_DIM_MOLE, INT64_C(1000000000), DD_WANT_SALTS};
    static const quest glucose = {DD_FINDING_GLUCOSE_RATE, DD_RULE_GIR_MAX, DD_GLUCOSE, DD_DIM_MASS, 1000, DD_WANT_GLUCOSE};
    peaks p = {.w = w, .here = w->plan->begins, .flows = {w->plan, w->patient, w->flows, w->flow_count}};
    dd_interval insulin = {0};
    if (w->patient->arrived != DD_NEVER && w->patient->arrived > p.here)
        p.here = w->patient->arrived;
    if (w->flow_count == 0)
        return DD_OK;
    dd_status status = dd_sums_stretches(&p.flows, w->plan->begins, w->plan->end, w->arena, &p.list, &p.count);
    if (status == DD_OK)
        status = note_unknown(&p, &potassium);
    if (status == DD_OK)
        status = find_top(&p, &potassium);
    if (status == DD_OK)
        status = note_unknown(&p, &glucose);
    if (status == DD_OK)
        status = find_top(&p, &glucose);
    if (status == DD_OK)
        status = find_least(&p, &glucose);
    if (status == DD_OK)
        status = find_insulin(&p, &insulin);
    return status == DD_OK ? find_gap(&p, insulin) : status;
}
