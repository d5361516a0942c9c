#include "use.h"

#include <stdlib.h>

typedef struct uses {
    dd_use *at;
    size_t count, room;
} uses;

static bool add(dd_work *w, uses *u, dd_moment at, int order, int line)
{
    if (!dd_arena_room(w->arena, &u->at, &u->room, u->count, sizeof *u->at))
        return false;
    u->at[u->count++] = (dd_use){.at = at, .order = (int16_t)order, .line = (int16_t)line};
    return true;
}

static int by_order(const void *left, const void *right)
{
    const dd_use *a = left, *b = right;
    return a->order != b->order ? a->order - b->order : a->line - b->line;
}

static void earlier(dd_moment *kept, dd_moment at)
{
    if (*kept == DD_NEVER || at < *kept)
        *kept = at;
}

/* Where nothing of an order flows in the window: when it is due. */
static void find_due(const dd_work *w, dd_moment *due)
{
    for (size_t i = 0; i < w->run_count; i++) {
        const dd_run *r = &w->runs[i];
        if (r->start == DD_NEVER && (r->why == DD_END_REPLACED || r->why == DD_END_OMITTED))
            continue;
        earlier(&due[r->order], r->start != DD_NEVER ? r->start : r->due != DD_NEVER ? r->due : w->plan->begins);
    }
}

/* On its own line: kept by order. On another one, to which the chart says it was moved: those are few. */
static bool find_flows(dd_work *w, dd_moment *own, bool *flows, uses *moved)
{
    for (size_t i = 0; i < w->flow_count; i++) {
        const dd_flow *f = &w->flows[i];
        if (f->given.u == 0)
            continue;
        flows[f->order] = true;
        if (f->line == w->patient->orders[f->order].line) {
            earlier(&own[f->order], f->from);
            continue;
        }
        size_t k = 0;
        while (k < moved->count && (moved->at[k].order != f->order || moved->at[k].line != f->line))
            k++;
        if (k < moved->count)
            earlier(&moved->at[k].at, f->from);
        else if (!add(w, moved, f->from, f->order, f->line))
            return false;
    }
    return true;
}

dd_status dd_use_make(dd_work *w, const dd_use **out, size_t *count)
{
    const dd_patient *p = w->patient;
    uses u = {0};
    dd_moment *own = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *own);
    dd_moment *due = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *due);
    bool *flows = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *flows);
    if (!own || !due || !flows)
        return DD_NO_MEMORY;
    for (int i = 0; i < p->order_count; i++)
        own[i] = due[i] = DD_NEVER;
    if (!find_flows(w, own, flows, &u))
        return DD_NO_MEMORY;
    find_due(w, due);
    for (int i = 0; i < p->order_count; i++) {
        dd_moment at = flows[i] ? own[i] : due[i];
        if (at != DD_NEVER && !add(w, &u, at, i, p->orders[i].line))
            return DD_NO_MEMORY;
    }
    if (u.count > 1)
        qsort(u.at, u.count, sizeof *u.at, by_order);
    for (size_t i = 0, first = 0; i < u.count; i++) {
        if (i == 0 || u.at[i].order != u.at[i - 1].order)
            first = i;
        if (u.at[i].at < u.at[first].at || (u.at[i].at == u.at[first].at && u.at[i].line == p->orders[u.at[i].order].line))
            first = i;
        if (i + 1 == u.count || u.at[i + 1].order != u.at[i].order)
            u.at[first].first = true;
    }
    *out = u.at;
    *count = u.count;
    return DD_OK;
}
