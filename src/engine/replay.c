#include "replay.h"

#include <string.h>

#include "account.h"

typedef struct replay {
    dd_work *w;
    dd_weave *v;
    dd_history *h;
    dd_accounts a;
    dd_trace *traces;     /* per life; used where started */
    dd_gap_of_line **dose; /* per line: when a charted dose has it, rising */
    size_t *dose_count, *dose_room;
} replay;

static const dd_order *order_of(const replay *r, int index)
{
    return &r->w->patient->orders[index];
}

static bool is_dose(const dd_order *o)
{
    return o->runs == DD_PIGGYBACK || o->repeat != DD_ONCE;
}

/* ---- tracing ---- */

/* The bag of the order that this one replaces, where it was running and the fluid is the same. */
static void inherit(replay *r, int32_t life)
{
    const dd_life *l = &r->v->lives[life];
    int x = l->order->replaces;
    if (x < 0 || r->v->first_life[x] == r->v->first_life[x + 1])
        return;
    dd_trace *from = &r->traces[r->v->first_life[x]];
    if (from->why != DD_END_REPLACED || from->end != r->a.of[life].start || from->inherited <= 0 || !dd_life_same_fluid(from->order->mixture, l->order->mixture))
        return;
    dd_bag *b = &r->w->bags[from->bag_record];
    b->left = b->discarded;
    b->discarded.u = 0;
    r->traces[life].inherited = from->inherited;
    r->traces[life].inherited_up = from->inherited_up;
}

static dd_status trace(replay *r, int32_t life, bool stops)
{
    dd_life *l = &r->v->lives[life];
    const dd_account *a = &r->a.of[life];
    dd_trace *t = &r->traces[life];
    *t = (dd_trace){.order = l->order, .start = a->start, .due = l->due, .index = l->index, .line = a->line, .occurrence = l->occurrence,
        .repeated = l->repeated, .touches = a->touches, .touch_count = a->count};
    if (stops) {
        t->stops = (const dd_gap_of_line *const *)r->dose;
        t->stop_count = r->dose_count;
    }
    inherit(r, life);
    return dd_trace_run(r->w, r->h, t);
}

/* From `from` to `to` no primary flows on the line. */
static bool keep_line(replay *r, int16_t line, dd_moment from, dd_moment to)
{
    if (from >= to)
        return true;
    if (!dd_arena_room(r->w->arena, &r->dose[line], &r->dose_room[line], r->dose_count[line], sizeof **r->dose))
        return false;
    size_t i = r->dose_count[line]++;
    for (; i > 0 && r->dose[line][i - 1].from > from; i--)
        r->dose[line][i] = r->dose[line][i - 1];
    r->dose[line][i] = (dd_gap_of_line){from, to};
    return true;
}

/* A dose has its line until it is moved to another, and that one from then on. */
static bool keep_lines(replay *r, const dd_account *a, const dd_trace *t)
{
    dd_moment from = t->start, end = t->over ? t->end : DD_FOR_EVER;
    int16_t line = a->line;
    for (size_t i = 0; i < t->touch_count; i++) {
        const dd_event *e = t->touches[i].event == DD_NOT_CHARTED ? NULL : r->h->events[t->touches[i].event];
        if (!e || e->kind != DD_EVENT_MOVED || e->time >= end)
            continue;
        if (!keep_line(r, line, from, e->time))
            return false;
        from = e->time;
        line = e->line;
    }
    return keep_line(r, line, from, end);
}

static dd_status trace_all(replay *r)
{
    dd_status status = DD_OK;
    for (int pass = 0; pass < 2; pass++) /* doses first: primaries stop for them; then in order of start: bags pass on */
        for (size_t i = 0; i < r->a.started_count && status == DD_OK; i++) {
            int32_t life = r->a.started[i];
            const dd_order *o = r->v->lives[life].order;
            if ((o->runs == DD_PIGGYBACK) != (pass == 0))
                continue;
            status = trace(r, life, o->runs == DD_PRIMARY);
            if (status == DD_OK && pass == 0 && !keep_lines(r, &r->a.of[life], &r->traces[life]))
                return DD_NO_MEMORY;
        }
    return status;
}

/* ---- where it leaves them ---- */

static dd_finding *about(replay *r, dd_finding_code code, const dd_life *l, dd_moment at)
{
    dd_finding *f = dd_work_finding(r->w, code, l->index, l->line, at);
    if (f)
        f->due = l->repeated ? l->due : DD_NEVER;
    return f;
}

/* Something that should have been done at `at`. False: no memory. */
static bool not_charted(replay *r, const dd_life *l, const char *what, dd_moment at)
{
    dd_finding *f = about(r, DD_FINDING_NOT_CHARTED, l, at);
    if (f)
        f->word = what;
    return f != NULL;
}

/* The step that its seconds of flow have reached; before now it flowed at the first all the time. */
static void find_step(dd_meter *m, int64_t seconds)
{
    const dd_order *o = m->order;
    while (m->step + 1 < o->step_count && seconds >= o->steps[m->step].seconds) {
        seconds -= o->steps[m->step].seconds;
        m->step++;
    }
    m->step_left = m->step + 1 < o->step_count ? o->steps[m->step].seconds - seconds : INT64_MAX;
}

static dd_status go_on(replay *r, int32_t life)
{
    dd_weave *v = r->v;
    dd_life *l = &v->lives[life];
    const dd_trace *t = &r->traces[life];
    dd_moment now = r->w->from;
    dd_meter *m = &l->meter;
    dd_meter_begin(m, l->order, r->w->rates[l->index], 1);
    if (m->to_go != INT64_MAX)
        m->to_go = m->to_go > t->given ? m->to_go - t->given : 0;
    m->flush_left = t->flush_left;
    m->bag = t->bag;
    m->bag_left = t->bag_is_up ? t->bag_left : 0;
    m->bag_up = t->bag_up;
    m->bag_is_up = t->bag_is_up;
    l->state = DD_LIFE_ON;
    l->charted = true;
    l->held = t->paused;
    l->took = t->start;
    l->flowed = true;
    dd_moment edge = DD_FOR_EVER;
    bool dosing = l->order->runs == DD_PRIMARY && dd_history_in(r->dose[t->line], r->dose_count[t->line], now - 1, &edge);
    l->flowing = t->bag_is_up && !t->paused && !dosing && !dd_history_in(r->h->off[t->line], r->h->off_count[t->line], now - 1, &edge);
    l->stopped_before = -1;
    l->bag = t->bag_is_up ? t->bag_record : DD_NOT_YET;
    if (t->charted_rate) {
        dd_set_rate *own = dd_arena_take(r->w->arena, sizeof *own);
        if (!own)
            return DD_NO_MEMORY;
        *own = (dd_set_rate){.ordered_nearest = t->rate, .set = t->rate, .drops = t->drops};
        m->rates = own;
        m->step_left = INT64_MAX;
    } else if (m->to_go > 0) { /* a flush goes on at the rate that flowed last */
        find_step(m, t->flow_seconds);
    }
    bool late_step = m->step > 0, late_stop = l->stop < now, late_bag = dd_meter_limit(m) < now && !dd_meter_in_flush(m);
    if ((late_step && !not_charted(r, l, "the next rate", now)) || (late_stop && !not_charted(r, l, "the stop", l->stop))
        || (late_bag && !not_charted(r, l, "the change of the bag", dd_meter_limit(m))))
        return DD_NO_MEMORY;
    if (t->empty_since != DD_NEVER && m->to_go > 0 && !about(r, DD_FINDING_BAG_EMPTY, l, t->empty_since))
        return DD_NO_MEMORY;
    v->on[v->on_count++] = life;
    if (l->order->runs == DD_PRIMARY)
        v->lines[l->line].primary = life;
    if (l->order->runs == DD_PIGGYBACK)
        v->lines[l->line].piggyback = life;
    return DD_OK;
}

static dd_status leave(replay *r, int32_t life)
{
    dd_life *l = &r->v->lives[life];
    const dd_account *a = &r->a.of[life];
    dd_run *run = &r->w->runs[l->run];
    if (a->start != DD_NEVER) {
        const dd_trace *t = &r->traces[life];
        if (l->due == DD_NEVER) { /* an `after` order: its charted start is when it was due */
            l->due = l->start_at = run->due = t->start;
            if (l->order->stop_kind == DD_STOP_CLOCK)
                l->stop = dd_moment_clock_after(r->w->plan->zone, l->due, l->order->stop_clock);
        }
        run->start = t->start;
        run->end = t->end;
        run->flush_from = t->flush_from;
        run->given.u = t->given - t->given_before;
        run->line = t->line;
        run->charted = true;
        run->reading = t->reading;
        run->held = !t->over && t->paused;
        run->why = t->over ? t->why : DD_END_NONE;
        run->keeps_line = dd_account_line(a, r->h, DD_FOR_EVER, 0) >= 0;
        l->line = t->line;
        if (!t->over)
            return go_on(r, life);
    } else if (a->omitted) {
        run->why = DD_END_OMITTED;
    } else if (is_dose(l->order) && l->due + l->order->window_s < r->w->now) {
        run->why = DD_END_UNKNOWN;
        if (!about(r, DD_FINDING_DOSE_UNKNOWN, l, l->due))
            return DD_NO_MEMORY;
    } else {
        return DD_OK;
    }
    l->state = DD_LIFE_OVER;
    r->v->runs_left[l->index]--;
    return DD_OK;
}

/* What a charted start replaces and has not started itself does not come any more. */
static void drop_replaced(replay *r)
{
    for (size_t i = 0; i < r->a.started_count; i++) {
        const dd_order *o = r->v->lives[r->a.started[i]].order;
        if (o->replaces < 0 || order_of(r, o->replaces)->repeat != DD_ONCE || r->v->first_life[o->replaces] == r->v->first_life[o->replaces + 1])
            continue;
        dd_life *x = &r->v->lives[r->v->first_life[o->replaces]];
        if (x->state != DD_LIFE_COMING)
            continue;
        x->state = DD_LIFE_OVER;
        r->w->runs[x->run].why = DD_END_REPLACED;
        r->v->runs_left[x->index]--;
    }
}

/* Orders whose last run is over: those that begin after them are due. */
static void set_dependants(replay *r)
{
    dd_weave *v = r->v;
    for (int i = 0; i < r->w->patient->order_count; i++) {
        int32_t first = v->first_life[i], end = v->first_life[i + 1];
        if (first == end || v->runs_left[i] > 0 || !v->last_is_here[i] || v->dependant[i] < 0)
            continue;
        const dd_run *last = &r->w->runs[v->lives[end - 1].run];
        if (!last->charted || last->end == DD_NEVER)
            continue;
        for (int32_t d = v->dependant[i]; d >= 0; d = v->next_dependant[d]) {
            if (v->first_life[d] == v->first_life[d + 1])
                continue;
            dd_life *l = &v->lives[v->first_life[d]];
            if (l->state != DD_LIFE_COMING || l->due != DD_NEVER)
                continue;
            l->due = l->start_at = last->end + l->order->after_s;
            if (l->order->stop_kind == DD_STOP_CLOCK)
                l->stop = dd_moment_clock_after(r->w->plan->zone, l->due, l->order->stop_clock);
            r->w->runs[l->run].due = l->due;
        }
    }
}

/* A planned pause before now that nobody charted has not happened. */
static dd_status missed_pauses(replay *r)
{
    const dd_patient *p = r->w->patient;
    for (size_t i = 0; i < r->a.started_count; i++) {
        const dd_trace *t = &r->traces[r->a.started[i]];
        for (uint16_t k = 0; k < p->pause_count; k++) {
            const dd_pause *q = &p->pauses[k];
            bool through = (q->line == -1 || q->line == t->line) && q->from < r->w->now && t->start <= q->from && (t->end == DD_NEVER || t->end > q->from);
            for (size_t e = 0; e < t->touch_count && through; e++)
                if (t->touches[e].event != DD_NOT_CHARTED && r->h->events[t->touches[e].event]->kind == DD_EVENT_PAUSED)
                    through = false; /* it was paused by the chart; when is the chart's word */
            if (through && !not_charted(r, &r->v->lives[r->a.started[i]], "the pause", q->from))
                return DD_NO_MEMORY;
        }
    }
    return DD_OK;
}

dd_status dd_replay_apply(dd_work *w, dd_weave *v)
{
    size_t lines = (size_t)w->patient->line_count + 1;
    replay r = {.w = w, .v = v, .h = w->history};
    memset(r.h->impossible, 0, r.h->count * sizeof *r.h->impossible);
    r.traces = dd_arena_take_many(w->arena, (size_t)v->life_count + 1, sizeof *r.traces);
    r.dose = dd_arena_take_many(w->arena, lines, sizeof *r.dose);
    r.dose_count = dd_arena_take_many(w->arena, lines, sizeof *r.dose_count);
    r.dose_room = dd_arena_take_many(w->arena, lines, sizeof *r.dose_room);
    if (!r.traces || !r.dose || !r.dose_count || !r.dose_room)
        return DD_NO_MEMORY;
    dd_status status = dd_account_make(w, v, w->history, &r.a);
    if (status == DD_OK)
        status = trace_all(&r);
    for (int32_t i = 0; i < v->life_count && status == DD_OK; i++)
        status = leave(&r, i);
    if (status != DD_OK)
        return status;
    drop_replaced(&r);
    set_dependants(&r);
    return missed_pauses(&r);
}

int64_t dd_replay_intake(const dd_history *h, const dd_plan *plan)
{
    int64_t sum = 0;
    for (size_t i = 0; i < h->count; i++) {
        const dd_event *e = h->events[i];
        int64_t u;
        if (e->kind == DD_EVENT_INTAKE && e->time >= plan->begins && e->time < plan->end && dd_history_measure(e, &u))
            sum += u;
    }
    return sum;
}
