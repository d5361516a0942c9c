#include "sums.h"

#include <stdlib.h>

#include "set.h"
#include "total.h"

bool dd_sums_by_vein(const dd_patient *p, const dd_flow *f)
{
    return p->lines[f->line].kind != DD_KIND_ENTERAL;
}

bool dd_sums_of_day(const dd_patient *p, const dd_flow *f)
{
    uint8_t purpose = p->orders[f->order].purpose;
    return purpose != DD_FOR_REPLACEMENT && purpose != DD_FOR_RESUSCITATION;
}

const dd_composition *dd_sums_holds(const dd_plan *plan, const dd_patient *p, const dd_flow *f)
{
    const dd_order *o = &p->orders[f->order];
    return f->part == DD_PART_FLUSH ? &plan->fluids[o->flush_fluid].has : o->has;
}

int64_t dd_sums_content(const dd_composition *c, dd_content content)
{
    switch (content) {
    case DD_SODIUM: return c->sodium;
    case DD_POTASSIUM: return c->potassium;
    case DD_CHLORIDE: return c->chloride;
    case DD_GLUCOSE: return c->glucose;
    case DD_CONTENTS: break;
    }
    return DD_UNKNOWN;
}

int64_t dd_sums_step(const dd_order *o)
{
    dd_rate drop;
    if (o->device != DD_GRAVITY)
        return o->rate_step_ul_h;
    return dd_set_drops(1, o->drop_factor_micro, &drop) == DD_OK ? drop.ul_per_h : 0;
}

/* ---- stretches ---- */

typedef struct edge { dd_moment at; uint32_t flow; bool ends; } edge;

static int by_time(const void *left, const void *right)
{
    const edge *a = left, *b = right;
    if (a->at != b->at)
        return a->at < b->at ? -1 : 1;
    return (a->flow > b->flow) - (a->flow < b->flow);
}

static void add_content(dd_int128 *sum, dd_int128 *step, uint16_t *kinds, int16_t *order, const dd_patient *p, const dd_flow *f, int64_t content)
{
    const dd_order *o = &p->orders[f->order];
    if (content == DD_UNKNOWN || content == 0)
        return;
    *order = *sum == 0 ? f->order : *order == f->order ? *order : -1;
    *sum += (dd_int128)f->rate.ul_per_h * content;
    dd_int128 one = (dd_int128)dd_sums_step(o) * content;
    *step = one > *step ? one : *step;
    *kinds |= (uint16_t)(1u << p->lines[f->line].kind);
}

static void add_flow(dd_stretch *s, const dd_sums_flows *all, const dd_flow *f)
{
    const dd_patient *p = all->patient;
    const dd_order *o = &p->orders[f->order];
    const dd_composition *has = dd_sums_holds(all->plan, p, f);
    bool bag = f->part == DD_PART_BAG;
    s->insulin |= bag && o->mixture->insulin;
    if (!dd_sums_by_vein(p, f)) {
        s->fed |= bag && o->category == DD_CAT_FEED;
        return;
    }
    s->fed |= bag && o->category == DD_CAT_NUTRITION && has->glucose == DD_UNKNOWN;
    s->infusion |= bag && (o->category == DD_CAT_FLUID || o->category == DD_CAT_NUTRITION);
    if (f->rate.ul_per_h == 0)
        return;
    add_content(&s->potassium, &s->potassium_step, &s->potassium_kinds, &s->potassium_order, p, f, has->potassium);
    add_content(&s->glucose, &s->glucose_step, &s->glucose_kinds, &s->glucose_order, p, f, has->glucose);
}

/* The flows whose stretch it is: few at a time, so what begins and ends is kept in a plain list. */
static void take_edge(uint32_t *on, size_t *n, const edge *e)
{
    if (!e->ends) {
        on[(*n)++] = e->flow;
        return;
    }
    for (size_t i = 0; i < *n; i++)
        if (on[i] == e->flow) {
            on[i] = on[--*n];
            return;
        }
}

dd_status dd_sums_stretches(const dd_sums_flows *f, dd_moment from, dd_moment to, dd_arena *arena, const dd_stretch **out, size_t *count)
{
    edge *edges = dd_arena_take_many(arena, 2 * f->count + 1, sizeof *edges);
    uint32_t *on = dd_arena_take_many(arena, f->count + 1, sizeof *on);
    size_t edge_count = 0, times = 1, on_count = 0, n = 0, i = 0;
    if (!edges || !on)
        return DD_NO_MEMORY;
    for (size_t k = 0; k < f->count; k++) {
        dd_moment begin = f->flows[k].from > from ? f->flows[k].from : from, end = f->flows[k].to < to ? f->flows[k].to : to;
        if (begin >= end)
            continue;
        edges[edge_count++] = (edge){begin, (uint32_t)k, false};
        edges[edge_count++] = (edge){end, (uint32_t)k, true};
    }
    if (edge_count > 1)
        qsort(edges, edge_count, sizeof *edges, by_time);
    for (size_t k = 0; k < edge_count; k++)
        times += k == 0 || edges[k].at != edges[k - 1].at;
    dd_stretch *list = dd_arena_take_many(arena, times, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    for (dd_moment t = from; t < to;) {
        for (; i < edge_count && edges[i].at == t; i++)
            take_edge(on, &on_count, &edges[i]);
        dd_moment next = i < edge_count ? edges[i].at : to;
        dd_stretch *s = &list[n++];
        *s = (dd_stretch){.from = t, .to = next, .potassium_order = -1, .glucose_order = -1};
        for (size_t k = 0; k < on_count; k++)
            add_flow(s, f, &f->flows[on[k]]);
        t = next;
    }
    *out = list;
    *count = n;
    return DD_OK;
}

/* ---- amounts ---- */

static bool add_amount(dd_int128 *sum, int64_t u, int64_t content)
{
    return !__builtin_add_overflow(*sum, (dd_int128)u * content, sum);
}

dd_status dd_sums_amount(const dd_sums_flows *f, dd_moment from, dd_moment to, dd_sums_counts *counts, dd_sums_amounts *out)
{
    *out = (dd_sums_amounts){0};
    for (size_t k = 0; k < f->count; k++) {
        const dd_flow *flow = &f->flows[k];
        if (flow->to <= from || flow->from >= to || !counts(f->patient, flow))
            continue;
        int64_t u = dd_total_given(flow, from, to);
        if (u <= 0)
            continue;
        out->all_u += u;
        const dd_composition *has = dd_sums_holds(f->plan, f->patient, flow);
        for (int c = 0; c < DD_CONTENTS; c++) {
            int64_t content = dd_sums_content(has, (dd_content)c);
            if (content == DD_UNKNOWN)
                out->unknown[c] = true;
            else if (!add_amount(&out->content[c], u, content))
                return DD_TOO_LARGE;
        }
    }
    return DD_OK;
}

dd_status dd_sums_steps(const dd_sums_flows *f, dd_moment from, dd_moment to, dd_sums_counts *counts, dd_arena *arena, dd_ratio *out)
{
    const dd_patient *p = f->patient;
    int64_t *seconds = dd_arena_take_many(arena, (size_t)p->order_count + 1, sizeof *seconds);
    *out = (dd_ratio){0, 1};
    if (!seconds)
        return DD_NO_MEMORY;
    for (size_t k = 0; k < f->count; k++) {
        const dd_flow *flow = &f->flows[k];
        if (flow->from < to && flow->to > from && counts(p, flow))
            seconds[flow->order] += (flow->to < to ? flow->to : to) - (flow->from > from ? flow->from : from);
    }
    for (int i = 0; i < p->order_count; i++) {
        dd_ratio u = {(dd_int128)seconds[i] * dd_sums_step(&p->orders[i]), 1};
        *out = dd_ratio_compare(u, *out) > 0 ? u : *out;
    }
    return DD_OK;
}

/* ---- side by side ---- */

static dd_status look_along(const dd_sums_flows *f, dd_arena *arena, dd_sums *out)
{
    const dd_stretch *list;
    size_t n;
    dd_status status = dd_sums_stretches(f, out->from, out->to, arena, &list, &n);
    dd_interval *gaps = status == DD_OK ? dd_arena_take_many(arena, n + 1, sizeof *gaps) : NULL;
    if (!gaps)
        return status == DD_OK ? DD_NO_MEMORY : status;
    for (size_t i = 0; i < n; i++) {
        const dd_stretch *s = &list[i];
        out->insulin |= s->insulin;
        out->potassium_most = s->potassium > out->potassium_most ? s->potassium : out->potassium_most;
        out->glucose_most = s->glucose > out->glucose_most ? s->glucose : out->glucose_most;
        if (s->glucose > 0)
            continue;
        if (out->gap_count > 0 && gaps[out->gap_count - 1].to == s->from)
            gaps[out->gap_count - 1].to = s->to;
        else
            gaps[out->gap_count++] = (dd_interval){s->from, s->to};
        int64_t length = gaps[out->gap_count - 1].to - gaps[out->gap_count - 1].from;
        out->longest_gap_s = length > out->longest_gap_s ? length : out->longest_gap_s;
    }
    out->gaps = gaps;
    return DD_OK;
}

static void add_volume(dd_sums *out, const dd_patient *p, const dd_flow *f, int64_t u)
{
    const dd_order *o = &p->orders[f->order];
    bool for_maintenance = o->purpose == DD_FOR_MAINTENANCE && f->part == DD_PART_BAG;
    out->all.u += u;
    out->day.u += dd_sums_of_day(p, f) ? u : 0;
    if (for_maintenance)
        out->maintenance.u += u;
    if (!dd_sums_by_vein(p, f)) {
        out->feeds.u += f->part == DD_PART_BAG && o->category == DD_CAT_FEED ? u : 0;
        return;
    }
    out->vein.u += u;
    if (f->part == DD_PART_FLUSH)
        out->flushes.u += u;
    else if (o->category == DD_CAT_DRUG)
        out->doses.u += u;
    else if (!for_maintenance)
        out->others.u += u;
}

/* The fluid that a page speaks of: what gives most of what is for maintenance, else most of what goes in by vein. */
static dd_status find_fluid(const dd_sums_flows *f, dd_arena *arena, dd_sums *out)
{
    int64_t *given = dd_arena_take_many(arena, (size_t)f->patient->order_count + 1, sizeof *given);
    if (!given)
        return DD_NO_MEMORY;
    for (size_t k = 0; k < f->count; k++) {
        const dd_flow *flow = &f->flows[k];
        uint8_t category = f->patient->orders[flow->order].category;
        if (flow->part == DD_PART_BAG && flow->from < out->to && flow->to > out->from && dd_sums_by_vein(f->patient, flow)
            && (category == DD_CAT_FLUID || category == DD_CAT_NUTRITION))
            given[flow->order] += dd_total_given(flow, out->from, out->to);
    }
    bool best_is_for = false;
    for (int i = 0; i < f->patient->order_count; i++) {
        bool is_for = f->patient->orders[i].purpose == DD_FOR_MAINTENANCE;
        out->for_maintenance |= is_for;
        if (given[i] > 0 && (out->fluid < 0 || is_for > best_is_for || (is_for == best_is_for && given[i] > given[out->fluid]))) {
            out->fluid = (int16_t)i;
            best_is_for = is_for;
        }
    }
    return DD_OK;
}

static dd_status per_kg(dd_ratio value, int64_t weight_mg, dd_ratio *out)
{
    *out = (dd_ratio){0};
    return weight_mg == DD_UNKNOWN || value.den == 0 ? DD_OK : dd_ratio_times(value, (dd_ratio){1000000, weight_mg}, out);
}

/* u over the span as uL a day: u / 3,600 x 86,400 / span; and per kg. */
static dd_status volume_day(const dd_sums *s, int64_t u, int64_t weight_mg, dd_ratio *day, dd_ratio *kg_day)
{
    dd_status status = dd_ratio_make((dd_int128)u * 24, s->to - s->from, day);
    return status == DD_OK ? per_kg(*day, weight_mg, kg_day) : status;
}

static dd_status percent_of(dd_ratio part, dd_ratio whole, dd_ratio *out)
{
    dd_status status = dd_ratio_over(part, whole, out);
    return status == DD_OK ? dd_ratio_times(*out, (dd_ratio){100, 1}, out) : status;
}

static dd_status volumes(const dd_patient *p, dd_sums *out)
{
    dd_ratio unused;
    dd_status status = volume_day(out, out->all.u, p->weight_mg, &out->all_ul_day, &out->all_ul_kg_day);
    if (status == DD_OK)
        status = volume_day(out, out->maintenance.u, p->weight_mg, &out->maintenance_ul_day, &unused);
    if (status == DD_OK)
        status = volume_day(out, out->day.u, p->weight_mg, &out->day_ul_day, &out->day_ul_kg_day);
    if (status != DD_OK || out->need.kind != DD_NEED_WEIGHT)
        return status;
    status = percent_of(out->all_ul_day, out->need.low, &out->all_percent);
    return status == DD_OK && out->for_maintenance ? percent_of(out->maintenance_ul_day, out->need.low, &out->maintenance_percent) : status;
}

/* u x nmol/L over the span as mmol a day: / 3,600 / 10^12 x 86,400 / span; u x ug/L as g likewise. */
static dd_status content_day(const dd_sums *s, const dd_int128 *content, int64_t weight_mg, dd_ratio *day, dd_ratio *kg_day)
{
    dd_status status = DD_OK;
    for (int c = 0; c < DD_CONTENTS && status == DD_OK; c++) {
        status = dd_ratio_make(content[c], s->to - s->from, &day[c]);
        if (status == DD_OK)
            status = dd_ratio_times(day[c], (dd_ratio){24, INT64_C(1000000000000)}, &day[c]);
        if (status == DD_OK)
            status = per_kg(day[c], weight_mg, &kg_day[c]);
    }
    return status;
}

static dd_status peaks(const dd_patient *p, dd_sums *out)
{
    dd_status status = dd_ratio_make(out->potassium_most, INT64_C(1000000000000), &out->potassium_most_h);
    if (status == DD_OK)
        status = per_kg(out->potassium_most_h, p->weight_mg, &out->potassium_most_kg_h);
    if (status == DD_OK)
        status = dd_ratio_make(out->glucose_most, INT64_C(60000000000), &out->glucose_most_kg_min);
    return status == DD_OK ? per_kg(out->glucose_most_kg_min, p->weight_mg, &out->glucose_most_kg_min) : status;
}

static dd_status add_up(const dd_sums_flows *f, dd_sums *out)
{
    dd_sums_amounts vein, of_day;
    int64_t mg = f->patient->weight_mg;
    dd_status status = dd_sums_amount(f, out->from, out->to, dd_sums_by_vein, &vein);
    if (status == DD_OK)
        status = dd_sums_amount(f, out->from, out->to, dd_sums_of_day, &of_day);
    for (int c = 0; c < DD_CONTENTS && status == DD_OK; c++) {
        out->content[c] = vein.content[c];
        out->unknown[c] = vein.unknown[c];
        out->day_unknown[c] = of_day.unknown[c];
    }
    for (size_t k = 0; k < f->count; k++)
        if (f->flows[k].from < out->to && f->flows[k].to > out->from)
            add_volume(out, f->patient, &f->flows[k], dd_total_given(&f->flows[k], out->from, out->to));
    if (status == DD_OK)
        status = content_day(out, vein.content, mg, out->content_day, out->content_kg_day);
    return status == DD_OK ? content_day(out, of_day.content, mg, out->day_content_day, out->day_content_kg_day) : status;
}

dd_status dd_timeline_sums(const dd_timeline *t, dd_moment from, dd_moment to, dd_arena *arena, dd_sums *out)
{
    const dd_sums_flows f = {t->plan, t->patient, t->pieces, t->piece_count};
    *out = (dd_sums){.from = from, .to = to, .fluid = -1};
    dd_status status = dd_timeline_need(t->plan, t->patient, from, &out->need);
    if (status == DD_OK)
        status = add_up(&f, out);
    if (status == DD_OK)
        status = find_fluid(&f, arena, out);
    if (status == DD_OK)
        status = look_along(&f, arena, out);
    if (status == DD_OK)
        status = volumes(t->patient, out);
    return status == DD_OK ? peaks(t->patient, out) : status;
}
