/* course.c - how an infusion goes: behind or ahead of what it was set to give, and how it can go on; gravity bags that may be dry
 * before they should be. */
#include "daydrip/rule.h"
#include "find.h"
#include "glance.h"
#include "meter.h"
#include "rates.h"
#include "set.h"
#include "upkeep.h"

/* What plasma has at most. Balanced solutions have no more; anything above it counts as potassium. */
#define PLASMA_POTASSIUM INT64_C(5500000) /* nmol/L */

static const dd_order *order_of(const dd_timeline *t, const dd_run *r)
{
    return &t->patient->orders[r->order];
}

/* ---- behind, ahead ---- */

/* uL/h, and on a gravity set the drops per minute that it comes to. */
static dd_status measure_ran(const dd_order *o, const dd_reading *reading, dd_course *c)
{
    dd_status status = dd_ratio_make(reading->said_u, reading->flow_s, &c->ran);
    return status == DD_OK && o->device == DD_GRAVITY ? dd_set_exact_drops(c->ran, o->drop_factor_micro, &c->ran_drops) : status;
}

static dd_status describe(dd_work *w, const dd_order *o, const dd_reading *reading, dd_course **out)
{
    dd_course *c = dd_arena_take(w->arena, sizeof *c);
    dd_volume read;
    if (!c)
        return DD_NO_MEMORY;
    dd_status status = dd_quantity_volume(reading->event->value, &read);
    if (status != DD_OK)
        return status;
    bool left = reading->event->what[0] == 'l';
    int64_t missing = reading->expected_u - reading->said_u;
    *c = (dd_course){.reading = reading, .said = {read.ul * DD_U_PER_UL}, .since = reading->since, .ends = DD_NEVER, .offer_ends = DD_NEVER,
        .change = {.per_micro = 1000000, .per = DD_UNIT_NONE}, .refusal = DD_REFUSAL_STOPPED};
    c->should.u = left ? c->said.u - missing : c->said.u + missing;
    *out = c;
    return reading->flow_s > 0 ? measure_ran(o, reading, c) : DD_OK;
}

static dd_status judge_reading(dd_work *w, const dd_timeline *t, const dd_run *r)
{
    const dd_reading *reading = r->reading;
    const dd_order *o = order_of(t, r);
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, r->order);
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_READING_DRIFT, &about);
    dd_ratio most;
    if (!rule || reading->answered || reading->expected_u <= 0)
        return DD_OK;
    int64_t away = reading->said_u - reading->expected_u;
    bool behind = away < 0;
    away = behind ? -away : away;
    dd_status status = dd_ratio_make((dd_int128)reading->expected_u * dd_rule_share(rule), DD_WHOLE_SHARE, &most);
    if (status != DD_OK || !dd_work_above((dd_ratio){away, 1}, most, (dd_ratio){dd_work_step(o) * reading->flow_s, 1}))
        return status;
    dd_course *course;
    status = describe(w, o, reading, &course);
    if (status != DD_OK)
        return status;
    dd_finding *f = dd_work_finding_by(w, behind ? DD_FINDING_BEHIND : DD_FINDING_AHEAD, rule, r->order, r->line, reading->event->time);
    if (!f)
        return DD_NO_MEMORY;
    f->event = reading->event;
    f->due = r->repeated ? r->due : DD_NEVER;
    f->figure = dd_work_percent(away, reading->expected_u);
    f->limit = rule->low;
    f->course = course;
    return DD_OK;
}

/* ---- gravity-spread ---- */

/* The first bag of the order that is up, or is still to go up. */
static const dd_bag *first_bag(const dd_timeline *t, int order)
{
    for (size_t i = 0; i < t->bag_count; i++) /* by order, then number */
        if (t->bags[i].order == order && (t->bags[i].left_at_now.u > 0 || (t->bags[i].up != DD_NEVER && t->bags[i].up >= t->now)))
            return &t->bags[i];
    return NULL;
}

static dd_status judge_spread(dd_work *w, const dd_timeline *t, int order)
{
    const dd_order *o = &w->patient->orders[order];
    dd_moment fast, slow;
    if (o->device != DD_GRAVITY || o->repeat != DD_ONCE || o->runs == DD_PIGGYBACK)
        return DD_OK;
    const dd_bag *bag = first_bag(t, order);
    if (!bag || !dd_glance_spread(t, bag, &fast, &slow) || fast >= w->plan->end)
        return DD_OK;
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, order);
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_GRAVITY_SPREAD, dd_rule_find(w->plan, DD_RULE_GRAVITY_SPREAD, &about), order, bag->line, fast);
    if (!f)
        return DD_NO_MEMORY;
    if (bag->empty != DD_NEVER && bag->empty > fast)
        f->figure = dd_work_minutes(bag->empty - fast);
    return DD_OK;
}

dd_status dd_course_find(dd_work *w, const dd_timeline *t)
{
    dd_status status = DD_OK;
    for (size_t i = 0; i < t->run_count && status == DD_OK; i++)
        if (t->runs[i].reading)
            status = judge_reading(w, t, &t->runs[i]);
    for (int o = 0; o < w->patient->order_count && status == DD_OK; o++)
        status = judge_spread(w, t, o);
    return status;
}

/* ---- how it can go on ---- */

static bool is_strong(const dd_work *w, const dd_order *o)
{
    const dd_rule_about vein = {NULL, w->patient->class_at_begin, DD_KIND_PERIPHERAL, DD_RULE_ANY};
    const dd_rule *rule = dd_rule_find(w->plan, DD_RULE_OSMOLARITY_NOTE, &vein);
    dd_ratio most, litre; /* uOsm, in uL */
    return rule && (dd_quantity_exact(rule->low, &most) != DD_OK || dd_quantity_below(rule->low, &litre) != DD_OK
        || dd_ratio_over(most, litre, &most) != DD_OK || dd_ratio_compare((dd_ratio){o->has->osmolarity, 1000000000}, most) > 0);
}

/* Whether another rate may be thought of at all. */
static dd_refusal refuse(const dd_work *w, const dd_timeline *t, const dd_run *r)
{
    const dd_order *o = order_of(t, r);
    const dd_mixture *m = o->mixture;
    if (w->patient->class_at_begin == DD_CLASS_NEONATE)
        return DD_REFUSAL_NEONATE;
    if (w->patient->class_at_begin == DD_CLASS_UNKNOWN)
        return DD_REFUSAL_AGE;
    if (o->category != DD_CAT_FLUID || m->drug || m->insulin || m->vasoactive)
        return DD_REFUSAL_KIND;
    if (o->has->potassium != DD_UNKNOWN && o->has->potassium > PLASMA_POTASSIUM)
        return DD_REFUSAL_POTASSIUM;
    if (m->addition_count > 0 || o->has->potassium == DD_UNKNOWN || o->has->osmolarity == DD_UNKNOWN)
        return DD_REFUSAL_ADDED;
    if (is_strong(w, o))
        return DD_REFUSAL_STRONG;
    if (o->rate_kind != DD_RATE_STEPS || r->reading->to_go_u == DD_UNKNOWN)
        return DD_REFUSAL_NO_END;
    return o->step_count > 1 ? DD_REFUSAL_STEPS : DD_REFUSAL_NONE;
}

/* Seconds of flow it has left to end on time: as ordered; where the chart has set another rate, as it would have ended at that one. */
static dd_status time_left(const dd_work *w, const dd_run *r, dd_ratio *out)
{
    const dd_order *o = &w->patient->orders[r->order];
    const dd_reading *reading = r->reading;
    dd_ratio whole;
    dd_status status;
    if (reading->charted_rate && reading->rate.ul_per_h != w->rates[r->order][0].set.ul_per_h)
        return dd_ratio_make((dd_int128)reading->to_go_u + reading->said_u - reading->expected_u, reading->rate.ul_per_h, out);
    status = dd_ratio_over((dd_ratio){dd_meter_to_give(o), 1}, o->steps[0].rate, &whole); /* u over uL/h are seconds */
    return status == DD_OK ? dd_ratio_minus(whole, (dd_ratio){reading->flowed_s, 1}, out) : status;
}

static bool is_far(int64_t offer, int64_t from, int64_t share)
{
    int64_t away = offer > from ? offer - from : from - offer;
    return (dd_int128)away * DD_WHOLE_SHARE > (dd_int128)from * share;
}

/* Finds the rate; the refusal says why there is none. */
static dd_refusal find_offer(const dd_work *w, const dd_timeline *t, const dd_run *r, dd_course *c)
{
    const dd_order *o = order_of(t, r);
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, r->order);
    int64_t now_set = r->reading->rate.ul_per_h, ordered = w->rates[r->order][0].set.ul_per_h;
    dd_ratio seconds, rate;
    c->rule = dd_rule_find(w->plan, DD_RULE_RATE_CHANGE, &about);
    if (now_set <= 0 || time_left(w, r, &seconds) != DD_OK || r->reading->to_go_u <= 0 || seconds.num <= 0)
        return DD_REFUSAL_LATE;
    if (dd_ratio_over((dd_ratio){r->reading->to_go_u, 1}, seconds, &rate) != DD_OK || dd_rates_settable(o, rate, &c->offer) != DD_OK)
        return DD_REFUSAL_FAR;
    int64_t offer = c->offer.set.ul_per_h;
    c->change = dd_work_percent(offer > now_set ? offer - now_set : now_set - offer, now_set);
    if (offer == now_set)
        return DD_REFUSAL_SAME;
    int64_t share = dd_rule_share(c->rule);
    return is_far(offer, now_set, share) ? DD_REFUSAL_FAR : is_far(offer, ordered, share) ? DD_REFUSAL_ORDERED : DD_REFUSAL_NONE;
}

/* The patient with one more entry: from now on the infusion runs at that rate. */
static dd_status with_rate(dd_work *w, const dd_run *r, dd_set_rate rate, dd_patient *out)
{
    const dd_patient *p = w->patient;
    dd_event *events = dd_arena_take_many(w->arena, (size_t)p->event_count + 1, sizeof *events);
    if (!events)
        return DD_NO_MEMORY;
    for (uint32_t i = 0; i < p->event_count; i++)
        events[i] = p->events[i];
    dd_quantity value = dd_work_quantity(rate.set.ul_per_h * 1000, DD_UNIT_ML);
    value.per = DD_UNIT_H;
    if (rate.drops > 0) {
        value = dd_work_quantity((int64_t)rate.drops * 1000000, DD_UNIT_GTT);
        value.per = DD_UNIT_MIN;
    }
    events[p->event_count] = (dd_event){.entry = "", .time = w->now, .entered = w->known < w->now ? w->known : w->now,
        .due = r->repeated ? r->due : DD_NEVER, .value = value, .line_of_file = UINT32_MAX, .strikes = -1, .order = r->order, .line = -1,
        .kind = DD_EVENT_RATE};
    *out = *p;
    out->events = events;
    out->event_count = p->event_count + 1;
    return DD_OK;
}

/* Something to clarify or to watch that was not there before, or is worse now. That the bag then runs dry within this plan is no limit: it
 * is meant to. */
static const dd_finding *breaks_limit(const dd_work *w, const dd_timeline *trial)
{
    for (size_t i = 0; i < trial->finding_count; i++) {
        const dd_finding *f = &trial->findings[i], *same = NULL;
        for (size_t k = 0; k < w->finding_count && !same; k++) {
            const dd_finding *g = &w->findings[k];
            if (g->code == f->code && g->order == f->order && g->line == f->line && dd_find_within(f, g->figure))
                same = g;
        }
        if (f->severity >= DD_WATCH && f->code != DD_FINDING_RUNS_DRY_UNCOVERED && !same)
            return f;
    }
    return NULL;
}

static const dd_run *same_run(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->run_count; i++)
        if (t->runs[i].order == r->order && t->runs[i].due == r->due && t->runs[i].occurrence == r->occurrence)
            return &t->runs[i];
    return NULL;
}

/* The whole plan with that rate: when it ends then, and whether all limits hold. */
static dd_status try_out(dd_work *w, const dd_run *r, dd_course *c)
{
    dd_timeline trial;
    dd_patient *patient = dd_arena_take(w->arena, sizeof *patient);
    dd_status status = patient ? with_rate(w, r, c->offer, patient) : DD_NO_MEMORY;
    if (status == DD_OK)
        status = dd_timeline_trial(w->plan, patient, w->now, w->known, w->arena, &trial);
    if (status != DD_OK)
        return status;
    const dd_run *run = same_run(&trial, r);
    c->offer_ends = run ? run->end : DD_NEVER;
    const dd_finding *broken = breaks_limit(w, &trial);
    if (broken) {
        c->refusal = DD_REFUSAL_LIMIT;
        c->limit = broken->code;
    }
    return DD_OK;
}

static const dd_run *run_of(const dd_timeline *t, const dd_finding *f)
{
    for (size_t i = 0; i < t->run_count; i++)
        if (t->runs[i].reading == f->course->reading)
            return &t->runs[i];
    return NULL;
}

dd_status dd_course_choose(dd_work *w, const dd_timeline *t)
{
    for (size_t i = 0; i < w->finding_count && !w->trial; i++) {
        dd_finding *f = &w->findings[i];
        const dd_run *r = f->course ? run_of(t, f) : NULL;
        bool runs = r && !r->reading->over && !r->held && w->now < w->plan->end && r->reading->rate.ul_per_h > 0 && !dd_upkeep_is_off(t, r->line);
        if (!runs)
            continue;
        dd_course *c = dd_arena_take(w->arena, sizeof *c);
        if (!c)
            return DD_NO_MEMORY;
        *c = *f->course;
        c->ends = r->end;
        c->refusal = (uint8_t)refuse(w, t, r);
        if (c->refusal == DD_REFUSAL_NONE)
            c->refusal = (uint8_t)find_offer(w, t, r, c);
        dd_status status = c->refusal == DD_REFUSAL_NONE ? try_out(w, r, c) : DD_OK;
        if (status != DD_OK)
            return status;
        f->course = c;
    }
    return DD_OK;
}
