/* weave.c - the window passes: from one second in which something changes to the next.
 *
 * At each such second, in this order, until nothing more follows: what is in or over ends; what falls due takes over from the
 * order it replaces, starts, or waits; lines that are free go to those who wait. Then bags go up where it flows, and
 * everything flows to the next second at which something changes. */
#include "weave.h"

/* ---- what is coming: a heap by time, then order and occurrence ---- */

static bool sooner(const dd_weave_due *a, const dd_weave_due *b)
{
    return a->at < b->at || (a->at == b->at && a->life < b->life);
}

static void comes(dd_weave *v, dd_moment at, int32_t life)
{
    int32_t i = v->coming_count++;
    dd_weave_due due = {at, life};
    for (; i > 0 && sooner(&due, &v->coming[(i - 1) / 2]); i = (i - 1) / 2)
        v->coming[i] = v->coming[(i - 1) / 2];
    v->coming[i] = due;
}

static int32_t next_due(dd_weave *v)
{
    int32_t life = v->coming[0].life;
    dd_weave_due last = v->coming[--v->coming_count];
    int32_t i = 0;
    for (;;) {
        int32_t child = 2 * i + 1;
        if (child >= v->coming_count)
            break;
        if (child + 1 < v->coming_count && sooner(&v->coming[child + 1], &v->coming[child]))
            child++;
        if (!sooner(&v->coming[child], &last))
            break;
        v->coming[i] = v->coming[child];
        i = child;
    }
    v->coming[i] = last;
    return life;
}

/* ---- ends ---- */

static void remove_from(int32_t *list, int32_t *count, int32_t life)
{
    int32_t kept = 0;
    for (int32_t i = 0; i < *count; i++)
        if (list[i] != life)
            list[kept++] = list[i];
    *count = kept;
}

/* A run is over: its line is free, and orders that begin after its last run are due. */
static void let_go(dd_weave *v, int32_t life, dd_moment at, bool ran)
{
    dd_life *l = &v->lives[life];
    dd_weave_line *line = &v->lines[l->line];
    if (line->primary == life)
        line->primary = -1;
    if (line->piggyback == life)
        line->piggyback = -1;
    remove_from(v->on, &v->on_count, life);
    remove_from(v->waiting, &v->waiting_count, life);
    if (--v->runs_left[l->index] > 0 || !v->last_is_here[l->index] || !ran)
        return;
    for (int32_t d = v->dependant[l->index]; d >= 0; d = v->next_dependant[d]) {
        const dd_order *o = l->order + (d - l->index);
        if (v->first_life[d] == v->first_life[d + 1])
            continue;
        dd_life *next = &v->lives[v->first_life[d]];
        if (next->state != DD_LIFE_COMING || next->due != DD_NEVER)
            continue;
        next->due = next->start_at = at + o->after_s;
        if (o->stop_kind == DD_STOP_CLOCK)
            next->stop = dd_moment_clock_after(v->work->plan->zone, next->due, o->stop_clock);
        v->work->runs[next->run].due = next->due;
        comes(v, next->start_at, v->first_life[d]);
    }
}

static bool end_run(dd_weave *v, int32_t life, dd_moment at, dd_run_end why)
{
    bool ran = v->lives[life].state == DD_LIFE_ON;
    if (!dd_life_finish(v->work, &v->lives[life], at, why))
        return false;
    let_go(v, life, at, ran);
    return true;
}

static bool over_by_limit(const dd_life *l, dd_moment t)
{
    return l->order->category == DD_CAT_BLOOD && !dd_meter_in_flush(&l->meter) && dd_meter_limit(&l->meter) <= t;
}

static dd_status end_what_is_over(dd_weave *v, dd_moment t, bool *changed)
{
    for (int32_t i = 0; i < v->on_count;) {
        int32_t life = v->on[i];
        dd_life *l = &v->lives[life];
        dd_run_end why = dd_meter_done(&l->meter) ? DD_END_VOLUME : l->stop <= t ? DD_END_STOP : over_by_limit(l, t) ? DD_END_LIMIT : DD_END_NONE;
        if (why == DD_END_NONE) {
            i++;
            continue;
        }
        if (!end_run(v, life, t, why))
            return DD_NO_MEMORY;
        *changed = true;
    }
    for (int32_t i = 0; i < v->waiting_count;) {
        int32_t life = v->waiting[i];
        if (v->lives[life].stop > t) {
            i++;
            continue;
        }
        if (!end_run(v, life, t, DD_END_STOP))
            return DD_NO_MEMORY;
        *changed = true;
    }
    return DD_OK;
}

/* ---- starts ---- */

static bool start(dd_weave *v, int32_t life, dd_moment t)
{
    dd_life *l = &v->lives[life];
    remove_from(v->waiting, &v->waiting_count, life);
    if (!dd_life_start(v->work, l, t))
        return false;
    v->on[v->on_count++] = life;
    if (l->order->runs == DD_PRIMARY)
        v->lines[l->line].primary = life;
    if (l->order->runs == DD_PIGGYBACK)
        v->lines[l->line].piggyback = life;
    return true;
}

/* Whether `t` is before the end that the orders of `l` foresee: its start + volume / ordered rate, or no end at all. */
static bool before_ordered_end(const dd_life *l, dd_moment t)
{
    const dd_order *o = l->order;
    int64_t rest = dd_meter_to_give(o), passed = t - l->took;
    if (rest == INT64_MAX || o->rate_kind == DD_RATE_REMAINDER)
        return true;
    for (uint16_t i = 0; i < o->step_count; i++) {
        dd_ratio r = o->steps[i].rate; /* uL/h, that is u per second */
        int64_t in_step = i + 1 < o->step_count && passed > o->steps[i].seconds ? o->steps[i].seconds : passed;
        dd_int128 flowed = r.num * in_step; /* x 1 / den */
        if (flowed >= (dd_int128)rest * r.den)
            return false;
        passed -= in_step;
        if (passed == 0)
            return true;
        rest -= (int64_t)(flowed / r.den);
    }
    return true;
}

static bool must_wait(dd_weave *v, int32_t life, int32_t holder, dd_finding_code code, dd_moment t)
{
    dd_life *l = &v->lives[life], *h = &v->lives[holder];
    dd_finding *f = dd_work_finding(v->work, code, l->index, l->line, t);
    if (!f)
        return false;
    f->other = h->index != l->index ? h->index : -1; /* a dose that waits for the one before says so already */
    f->due = l->repeated ? l->due : DD_NEVER;
    if (code == DD_FINDING_TWO_PRIMARIES && !before_ordered_end(h, l->due))
        f->severity = DD_NOTE;
    v->work->runs[l->run].waited = true;
    l->state = DD_LIFE_WAITING;
    v->waiting[v->waiting_count++] = life;
    return true;
}

/* The occurrence of the same repeated order that has not ended; -1: none. */
static int32_t one_before(const dd_weave *v, int32_t life)
{
    for (int32_t i = v->first_life[v->lives[life].index]; i < life; i++)
        if (v->lives[i].state == DD_LIFE_ON || v->lives[i].state == DD_LIFE_WAITING)
            return i;
    return -1;
}

/* It goes on where the one that it replaces is, or was last: the chart may have moved that. Where entries have ended it, or nothing can
 * flow there, the line of its own row is meant. */
static void go_to_its_line(dd_weave *v, dd_life *l, const dd_life *x)
{
    if (!v->work->runs[x->run].keeps_line || v->lines[x->line].is_off)
        return;
    l->line = x->line;
    v->work->runs[l->run].line = x->line;
}

/* The order that `life` replaces ends, or is dropped where it has not started. *taken: `life` has its line. */
static bool take_over(dd_weave *v, int32_t life, dd_moment t, bool *taken)
{
    dd_life *l = &v->lives[life];
    int x_order = l->order->replaces;
    *taken = false;
    if (v->work->patient->orders[x_order].repeat != DD_ONCE || v->first_life[x_order] == v->first_life[x_order + 1])
        return true; /* of a repeated order the later doses are not there any more (dropped_from) */
    int32_t x_life = v->first_life[x_order];
    dd_life *x = &v->lives[x_life];
    if (x->order->runs == DD_PIGGYBACK)
        return true;
    go_to_its_line(v, l, x);
    if (x->state == DD_LIFE_OVER)
        return true;
    if (x->state != DD_LIFE_ON)
        return end_run(v, x_life, t, DD_END_REPLACED);
    if (!dd_life_hand_over(v->work, x, l, t))
        return false;
    let_go(v, x_life, t, true);
    *taken = l->order->runs != DD_PRIMARY || v->lines[l->line].primary < 0;
    return *taken ? start(v, life, t) : true;
}

static dd_status take_due(dd_weave *v, dd_moment t, bool *changed)
{
    int32_t count = 0;
    while (v->coming_count && v->coming[0].at <= t) { /* those that replace another go first */
        int32_t life = next_due(v);
        if (v->lives[life].state != DD_LIFE_COMING)
            continue;
        *changed = true;
        bool taken = false;
        if (v->lives[life].order->replaces >= 0 && v->lives[life].occurrence == 1 && !take_over(v, life, t, &taken))
            return DD_NO_MEMORY;
        if (!taken)
            v->fresh[count++] = life;
        const dd_life *l = &v->lives[life];
        bool dose = l->order->runs == DD_PIGGYBACK || l->repeated;
        if (v->work->history && !dose && l->due < v->work->now && l->stop > t &&
            !dd_work_finding(v->work, DD_FINDING_STARTED_NOT_CHARTED, l->index, l->line, l->due))
            return DD_NO_MEMORY;
    }
    for (int32_t i = 0; i < count; i++) {
        dd_life *l = &v->lives[v->fresh[i]];
        if (l->state != DD_LIFE_COMING)
            continue; /* replaced in the second in which it fell due */
        if (l->stop > t) {
            l->state = DD_LIFE_WAITING;
            v->waiting[v->waiting_count++] = v->fresh[i];
        } else if (!end_run(v, v->fresh[i], t, DD_END_STOP)) {
            return DD_NO_MEMORY;
        }
    }
    return DD_OK;
}

/* Who of those that wait may start now: the earliest due, then row, of each line's primaries; every concurrent whose own
 * occurrence before has ended; every dose at its placed second. */
static dd_status give_lines(dd_weave *v, dd_moment t, bool *changed)
{
    for (;;) {
        int32_t best = -1;
        for (int32_t i = 0; i < v->waiting_count; i++) {
            int32_t life = v->waiting[i];
            const dd_life *l = &v->lives[life];
            bool may = l->order->runs == DD_PRIMARY ? v->lines[l->line].primary < 0
                : l->order->runs == DD_CONCURRENT ? one_before(v, life) < 0
                                                  : v->lines[l->line].piggyback < 0;
            if (may && (best < 0 || l->due < v->lives[best].due || (l->due == v->lives[best].due && life < best)))
                best = life;
        }
        if (best < 0)
            break;
        if (!start(v, best, t))
            return DD_NO_MEMORY;
        *changed = true;
    }
    return DD_OK;
}

/* Those that fell due and found something in their way say so, once. */
static dd_status say_who_waits(dd_weave *v, dd_moment t)
{
    int32_t count = v->waiting_count;
    v->waiting_count = 0;
    for (int32_t i = 0; i < count; i++) {
        int32_t life = v->waiting[i];
        const dd_life *l = &v->lives[life];
        int32_t holder = l->order->runs == DD_PRIMARY ? v->lines[l->line].primary : one_before(v, life);
        if (v->work->runs[l->run].waited || holder < 0)
            v->waiting[v->waiting_count++] = life;
        else if (!must_wait(v, life, holder, l->order->runs == DD_PRIMARY ? DD_FINDING_TWO_PRIMARIES : DD_FINDING_REPEAT_LATE, t))
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

/* ---- flow ---- */

static bool line_pauses(dd_weave *v, int line, dd_moment t, dd_moment *next)
{
    dd_weave_line *l = &v->lines[line];
    while (l->pause < l->pause_count && l->pauses[l->pause].to <= t)
        l->pause++;
    if (l->pause == l->pause_count)
        return false;
    bool in = l->pauses[l->pause].from <= t;
    dd_moment edge = in ? l->pauses[l->pause].to : l->pauses[l->pause].from;
    if (edge < *next)
        *next = edge;
    return in;
}

/* Makes ready what flows from t on; *next becomes the first second after t at which something changes. */
static dd_status make_ready(dd_weave *v, dd_moment t, dd_moment *next)
{
    dd_work *w = v->work;
    if (w->now > t && w->now < *next)
        *next = w->now;
    if (v->coming_count && v->coming[0].at < *next)
        *next = v->coming[0].at;
    for (int32_t i = 0; i < v->waiting_count; i++)
        if (v->lives[v->waiting[i]].stop < *next)
            *next = v->lives[v->waiting[i]].stop;
    for (int32_t i = 0; i < v->on_count; i++) {
        dd_life *l = &v->lives[v->on[i]];
        int32_t piggyback = v->lines[l->line].piggyback;
        bool paused = line_pauses(v, l->line, t, next) && (l->order->runs != DD_PIGGYBACK || l->charted); /* planned doses lie beside pauses */
        paused |= l->held || v->lines[l->line].is_off;
        bool dose = l->order->runs == DD_PRIMARY && piggyback >= 0;
        bool flows = !paused && !dose && dd_meter_rate(&l->meter).ul_per_h > 0;
        if (flows && !dd_life_ready(w, l, t))
            return DD_NO_MEMORY;
        if (l->flowed && flows != l->flowing && !dd_life_mark(w, l, t, flows, flows ? l->stopped_before : dose ? v->lives[piggyback].index : -1))
            return DD_NO_MEMORY;
        if (!flows)
            l->stopped_before = (int16_t)(dose ? v->lives[piggyback].index : -1);
        l->flowing = flows;
        if (l->stop < *next)
            *next = l->stop;
        dd_moment limit = dd_meter_limit(&l->meter);
        if (limit > t && limit < *next && !dd_meter_in_flush(&l->meter))
            *next = limit;
        if (flows) {
            int64_t seconds = dd_meter_next(&l->meter);
            if (seconds < *next - t)
                *next = t + seconds;
        }
    }
    return DD_OK;
}

static dd_status settle(dd_weave *v, dd_moment t)
{
    bool changed = true;
    while (changed) {
        changed = false;
        dd_status status = end_what_is_over(v, t, &changed);
        if (status == DD_OK)
            status = take_due(v, t, &changed);
        if (status == DD_OK)
            status = give_lines(v, t, &changed);
        if (status != DD_OK)
            return status;
    }
    return say_who_waits(v, t);
}

static dd_status pass(dd_weave *v)
{
    dd_work *w = v->work;
    for (dd_moment t = w->from; t < w->plan->end;) {
        dd_moment next = w->plan->end;
        dd_status status = settle(v, t);
        if (status == DD_OK)
            status = make_ready(v, t, &next);
        if (status != DD_OK)
            return status;
        for (int32_t i = 0; i < v->on_count; i++) {
            dd_life *l = &v->lives[v->on[i]];
            if (t == w->now)
                dd_life_at_now(w, l);
            if (l->flowing && !dd_life_flow(w, l, t, next))
                return DD_NO_MEMORY;
        }
        t = next;
    }
    return DD_OK;
}

/* At the window's end: what is just in has ended; the rest is cut; what never had its turn is said. */
static dd_status close_window(dd_weave *v)
{
    dd_work *w = v->work;
    for (int32_t i = 0; i < v->life_count; i++) {
        dd_life *l = &v->lives[i];
        if (l->state == DD_LIFE_ON && dd_meter_done(&l->meter)) {
            if (!dd_life_finish(w, l, w->plan->end, DD_END_VOLUME))
                return DD_NO_MEMORY;
        } else if (l->state == DD_LIFE_ON) {
            if (w->now == w->plan->end)
                dd_life_at_now(w, l);
            dd_life_cut(w, l);
        } else if (l->state == DD_LIFE_COMING && l->due == DD_NEVER) {
            dd_finding *f = dd_work_finding(w, DD_FINDING_UNSCHEDULED, l->index, l->line, w->plan->end);
            if (!f)
                return DD_NO_MEMORY;
            f->other = l->order->after;
        }
    }
    return DD_OK;
}

dd_status dd_weave_run(dd_weave *v)
{
    dd_work *w = v->work;
    for (int32_t i = 0; i < v->life_count; i++) {
        dd_life *l = &v->lives[i];
        if (l->start_at == DD_NEVER || l->state != DD_LIFE_COMING)
            continue;
        if (l->start_at < w->plan->end) {
            comes(v, l->start_at, i);
            continue;
        }
        l->state = DD_LIFE_OVER;
        v->last_is_here[l->index] = false;
        if (l->order->runs != DD_PIGGYBACK)
            continue; /* due after this plan */
        dd_run *r = &w->runs[l->run]; /* a dose that is not reached in this window */
        r->start = l->start_at;
        r->end = l->start_at + l->length;
        r->why = DD_END_BEYOND;
    }
    dd_status status = pass(v);
    return status == DD_OK ? close_window(v) : status;
}

dd_moment dd_weave_took(const dd_weave *v, int order)
{
    return v->first_life[order] < v->first_life[order + 1] ? v->lives[v->first_life[order]].took : DD_NEVER;
}
