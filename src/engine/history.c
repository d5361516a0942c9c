#include "history.h"

#include <stdlib.h>

static int by_time(const void *left, const void *right)
{
    const dd_event *a = *(const dd_event *const *)left, *b = *(const dd_event *const *)right;
    if (a->time != b->time)
        return a->time < b->time ? -1 : 1;
    return (a->line_of_file > b->line_of_file) - (a->line_of_file < b->line_of_file);
}

static bool happened(const dd_work *w, const dd_event *e)
{
    return e->time <= w->now && e->entered <= w->known;
}

static bool about_order(const dd_event *e)
{
    return e->order >= 0 && e->kind != DD_EVENT_STRUCK;
}

static dd_status find_off(dd_work *w, dd_history *h)
{
    size_t lines = w->patient->line_count;
    h->off = dd_arena_take_many(w->arena, lines + 1, sizeof *h->off);
    h->off_count = dd_arena_take_many(w->arena, lines + 1, sizeof *h->off_count);
    size_t *room = dd_arena_take_many(w->arena, lines + 1, sizeof *room);
    if (!h->off || !h->off_count || !room)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < h->count; i++) {
        const dd_event *e = h->events[i];
        if (e->line < 0 || (e->kind != DD_EVENT_REMOVED && e->kind != DD_EVENT_PLACED))
            continue;
        size_t n = h->off_count[e->line];
        bool is_off = n > 0 && h->off[e->line][n - 1].to == DD_FOR_EVER;
        if (e->kind == DD_EVENT_PLACED && is_off)
            h->off[e->line][n - 1].to = e->time;
        if (e->kind != DD_EVENT_REMOVED || is_off)
            continue;
        if (!dd_arena_room(w->arena, &h->off[e->line], &room[e->line], n, sizeof **h->off))
            return DD_NO_MEMORY;
        h->off[e->line][n] = (dd_gap_of_line){e->time, DD_FOR_EVER};
        h->off_count[e->line]++;
    }
    return DD_OK;
}

dd_status dd_history_make(dd_work *w, dd_history *h)
{
    const dd_patient *p = w->patient;
    *h = (dd_history){0};
    bool *struck = dd_arena_take_many(w->arena, (size_t)p->event_count + 1, sizeof *struck);
    h->events = dd_arena_take_many(w->arena, (size_t)p->event_count + 1, sizeof *h->events);
    h->impossible = dd_arena_take_many(w->arena, (size_t)p->event_count + 1, sizeof *h->impossible);
    if (!struck || !h->events || !h->impossible)
        return DD_NO_MEMORY;
    for (uint32_t i = 0; i < p->event_count; i++)
        if (p->events[i].kind == DD_EVENT_STRUCK && p->events[i].strikes >= 0 && p->events[i].entered <= w->known) /* from when it was written down */
            struck[p->events[i].strikes] = true;
    for (uint32_t i = 0; i < p->event_count; i++) {
        h->unwritten += p->events[i].entered > w->known;
        h->later += p->events[i].entered <= w->known && p->events[i].time > w->now && !struck[i];
    }
    for (uint32_t i = 0; i < p->event_count; i++)
        if (!struck[i] && p->events[i].kind != DD_EVENT_STRUCK && happened(w, &p->events[i])) {
            h->about_orders |= about_order(&p->events[i]);
            h->events[h->count++] = &p->events[i];
        }
    if (h->count > 1)
        qsort(h->events, h->count, sizeof *h->events, by_time);
    return find_off(w, h);
}

dd_status dd_history_impossible(dd_work *w, dd_history *h, size_t event)
{
    if (h->impossible[event])
        return DD_OK;
    const dd_event *e = h->events[event];
    dd_finding *f = dd_work_finding(w, DD_FINDING_IMPOSSIBLE_ENTRY, e->order, e->line, e->time);
    if (!f)
        return DD_NO_MEMORY;
    f->due = e->due;
    f->event = e;
    h->impossible[event] = true;
    return DD_OK;
}

bool dd_history_measure(const dd_event *e, int64_t *u)
{
    dd_ratio ul;
    int64_t whole;
    if (e->unmeasured || e->value.unit == DD_UNIT_NONE)
        return false;
    bool grams = e->value.unit == DD_UNIT_G || e->value.unit == DD_UNIT_KG || e->value.unit == DD_UNIT_MG || e->value.unit == DD_UNIT_MCG;
    if (grams) { /* 1 g is 1 mL, so 1 mg is 1 uL */
        if (dd_quantity_grams(e->value, &whole) != DD_OK)
            return false;
    } else if (dd_quantity_exact(e->value, &ul) != DD_OK || dd_ratio_half_up(ul, 1, &whole) != DD_OK) {
        return false;
    }
    *u = whole * DD_U_PER_UL;
    return true;
}

bool dd_history_in(const dd_gap_of_line *gaps, size_t count, dd_moment t, dd_moment *next)
{
    for (size_t i = 0; i < count; i++) {
        if (gaps[i].to <= t)
            continue;
        bool in = gaps[i].from <= t;
        dd_moment edge = in ? gaps[i].to : gaps[i].from;
        if (edge < *next)
            *next = edge;
        return in;
    }
    return false;
}
