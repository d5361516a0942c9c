/* charted.c - what the chart leaves open: orders that nobody verified, entries written late, infusions nobody read, feeds that may stand
 * in it twice. */
#include <string.h>

#include "daydrip/rule.h"
#include "find.h"
#include "history.h"
#include "upkeep.h"

/* ---- not-verified ---- */

/* A bag that hung when the plan began: the order did not start in this plan. */
static bool began_before(const dd_work *w, int order)
{
    const dd_order *o = &w->patient->orders[order];
    return o->hanging_ul != DD_UNKNOWN && o->start_kind == DD_START_AT && o->start <= w->plan->begins;
}

static dd_status not_verified(dd_work *w, const dd_timeline *t)
{
    const dd_patient *p = w->patient;
    bool *told = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *told);
    if (!told)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < t->event_count; i++)
        if (t->events[i]->kind == DD_EVENT_VERIFIED && t->events[i]->order >= 0)
            told[t->events[i]->order] = true;
    for (size_t i = 0; i < t->run_count; i++) { /* by start: the first run of an order stands first */
        const dd_run *r = &t->runs[i];
        if (r->start == DD_NEVER || r->start >= w->plan->end || told[r->order] || began_before(w, r->order))
            continue;
        told[r->order] = true;
        const dd_rule_about about = dd_rule_of_order(w->plan, p, r->order);
        const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_VERIFY, &about);
        if (dd_rule_is_on(rule) && !dd_work_finding_by(w, DD_FINDING_NOT_VERIFIED, rule, r->order, r->line, r->start))
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

/* ---- late-entry ---- */

static dd_status late_entries(dd_work *w, const dd_timeline *t)
{
    for (size_t i = 0; i < t->event_count; i++) {
        const dd_event *e = t->events[i];
        if (e->entered <= e->time)
            continue;
        const dd_rule_about about = e->order >= 0 ? dd_rule_of_order(w->plan, w->patient, e->order) : dd_rule_of_patient(w->patient, e->line);
        const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_LATE_ENTRY, &about);
        if (!rule || e->entered - e->time <= dd_rule_seconds(rule))
            continue;
        dd_finding *f = dd_work_finding_by(w, DD_FINDING_LATE_ENTRY, rule, e->order, e->line, e->time);
        if (!f)
            return DD_NO_MEMORY;
        f->event = e;
        f->figure = dd_work_minutes(e->entered - e->time);
        f->limit = dd_work_minutes(dd_rule_seconds(rule));
    }
    return DD_OK;
}

/* ---- no-reading ---- */

static bool is_going(const dd_run *r, dd_moment now)
{
    return r->charted && !r->held && r->start != DD_NEVER && r->start <= now && (r->end == DD_NEVER || r->end > now);
}

static dd_status no_readings(dd_work *w, const dd_timeline *t)
{
    dd_moment now = w->now < w->plan->end ? w->now : w->plan->end;
    for (size_t i = 0; i < t->run_count; i++) {
        const dd_run *r = &t->runs[i];
        if (!is_going(r, now) || dd_upkeep_is_off(t, r->line))
            continue;
        const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, r->order);
        const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_NO_READING, &about);
        int64_t most = dd_rule_seconds(rule);
        dd_moment since = r->start > w->plan->begins ? r->start : w->plan->begins;
        if (r->reading && r->reading->event->time > since)
            since = r->reading->event->time;
        if (most <= 0 || now - since <= most)
            continue;
        dd_finding *f = dd_work_finding_by(w, DD_FINDING_NO_READING, rule, r->order, r->line, since + most);
        if (!f)
            return DD_NO_MEMORY;
        f->due = r->repeated ? r->due : DD_NEVER;
        f->figure = dd_work_minutes(now - since);
        f->limit = dd_work_minutes(most);
    }
    return DD_OK;
}

/* ---- feed-twice ---- */

/* Whether t lies in a clock hour that [from, to) touches. */
static bool same_hour(const dd_zone *zone, dd_moment t, dd_moment from, dd_moment to)
{
    if (t < from)
        return dd_moment_next_hour(zone, t) > from;
    return t < to || dd_moment_next_hour(zone, to - 1) > t;
}

static int64_t whole_ul(int64_t u)
{
    return (u + DD_U_PER_UL / 2) / DD_U_PER_UL;
}

/* What a feed that has no volume of its own gave in the clock hour of t. */
static int64_t given_in_hour(const dd_timeline *t, int order, dd_moment at)
{
    dd_moment from = dd_moment_next_hour(t->plan->zone, at - 5400), to; /* no clock hour is longer than 90 min */
    while ((to = dd_moment_next_hour(t->plan->zone, from)) <= at)
        from = to;
    return dd_timeline_given(t, order, from, to).u;
}

static bool is_twice(const dd_timeline *t, const dd_run *r, const dd_event *e, int64_t u)
{
    const dd_order *o = &t->patient->orders[r->order];
    if (o->category != DD_CAT_FEED || r->why == DD_END_OMITTED)
        return false;
    if (o->volume_ul == DD_UNKNOWN)
        return r->start != DD_NEVER && r->start <= e->time && whole_ul(given_in_hour(t, r->order, e->time)) == whole_ul(u);
    dd_moment from = r->start != DD_NEVER ? r->start : r->why == DD_END_UNKNOWN ? r->due : DD_NEVER;
    if (from == DD_NEVER)
        return false;
    return o->volume_ul == whole_ul(u) && same_hour(t->plan->zone, e->time, from, r->end != DD_NEVER && r->end > from ? r->end : from + 1);
}

static dd_status feeds_twice(dd_work *w, const dd_timeline *t)
{
    for (size_t i = 0; i < t->event_count; i++) {
        const dd_event *e = t->events[i];
        int64_t u;
        if (e->kind != DD_EVENT_INTAKE || !e->what || strcmp(e->what, "feed") != 0 || e->time < w->plan->begins || !dd_history_measure(e, &u) || u == 0)
            continue;
        const dd_run *twice = NULL;
        for (size_t k = 0; k < t->run_count && !twice; k++)
            if (is_twice(t, &t->runs[k], e, u))
                twice = &t->runs[k];
        if (!twice)
            continue;
        dd_finding *f = dd_work_finding(w, DD_FINDING_FEED_TWICE, twice->order, twice->line, e->time);
        if (!f)
            return DD_NO_MEMORY;
        f->event = e;
        f->due = twice->repeated ? twice->due : DD_NEVER;
        f->figure = dd_work_ml(u);
    }
    return DD_OK;
}

dd_status dd_charted_find(dd_work *w, const dd_timeline *t)
{
    dd_status status = t->chart_counts ? not_verified(w, t) : DD_OK;
    if (status == DD_OK)
        status = late_entries(w, t);
    if (status == DD_OK && t->chart_counts)
        status = no_readings(w, t);
    return status == DD_OK ? feeds_twice(w, t) : status;
}
