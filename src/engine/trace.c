#include "trace.h"

#include "set.h"
#include "whole.h"

#define NO_END INT64_MAX

/* Flow since the last fixed point, as it was set: scaled when the next one is known. */
typedef struct stretch {
    dd_moment from, to;
    dd_rate rate;
    size_t bag_record;
    int32_t bag;
    int16_t line;
} stretch;

typedef struct tracer {
    dd_work *w;
    dd_history *h;
    dd_trace *t;
    dd_moment at;        /* worked out up to here */
    int64_t flowed;      /* u as set since the last fixed point */
    int64_t fixed;       /* u given at the last fixed point */
    dd_moment fixed_at;  /* when that was */
    int64_t fixed_flow_s; /* seconds of flow by then */
    int64_t to_give;     /* the whole run */
    stretch *open;       /* since the last fixed point */
    size_t open_count, open_room;
    bool recording;      /* false: only trying whether a reading can be */
    bool closed;         /* a reading comes: nothing but the chart stops the flow */
    int64_t content;     /* u that all bags so far could give */
    size_t first_bag;    /* its record; those of one run follow one another */
} tracer;

/* ---- bags ---- */

/* Of what goes up before the plan begins only what is left then counts there: it hangs already. */
static bool hang(tracer *r, dd_moment at, int64_t hung, int64_t prime, dd_moment up, bool found)
{
    dd_trace *t = r->t;
    if (at < r->w->plan->begins) {
        hung -= prime;
        prime = 0;
        found = true;
    }
    if (!t->repeated || r->content == 0)
        t->bag++; /* of a repeated order the number is that of the occurrence */
    t->bag_left = t->bag_held = hung - prime;
    t->bag_up = up;
    t->bag_is_up = true;
    t->bag_was_read = false;
    t->empty_since = DD_NEVER;
    r->content += hung - prime;
    if (!r->recording)
        return true;
    dd_bag *b = dd_work_bag(r->w);
    if (!b)
        return false;
    *b = (dd_bag){.hung = {hung}, .prime = {prime}, .left = {hung - prime}, .up = up, .down = DD_NEVER, .empty = DD_NEVER,
        .due = t->repeated ? t->due : DD_NEVER, .number = t->bag, .order = t->index, .line = t->line, .found_hanging = found};
    t->bag_record = r->w->bag_count - 1;
    return true;
}

/* What flowed out of a bag; before the plan it is as if it had never been in it. Where a reading says more than it held, it held more. */
static void take_from(tracer *r, size_t bag_record, int64_t given, dd_moment to)
{
    dd_bag *b = &r->w->bags[bag_record];
    if (to <= r->w->plan->begins) {
        r->t->given_before += given;
        b->hung.u -= given;
    } else {
        b->given.u += given;
    }
    b->left.u -= given;
    if (b->left.u < 0) {
        b->hung.u -= b->left.u;
        b->left.u = 0;
    }
}

static void take_down(tracer *r, dd_moment at, bool discard)
{
    dd_trace *t = r->t;
    if (r->recording && t->bag_is_up) {
        dd_bag *b = &r->w->bags[t->bag_record];
        b->down = at;
        if (discard) {
            b->discarded = b->left;
            b->left.u = 0;
        }
    }
    t->bag_is_up = false;
    t->bag_left = 0;
}

/* ---- flow ---- */

/* Writes a stretch down; one before the plan begins stands nowhere. No stretch lies on both sides (see go_to). */
static bool emit(tracer *r, const stretch *s, int64_t given, int64_t scale_to, int64_t scale_at)
{
    if (s->to <= r->w->plan->begins)
        return true;
    dd_flow *f = dd_work_flow(r->w);
    if (f)
        *f = (dd_flow){.from = s->from, .to = s->to, .due = r->t->repeated ? r->t->due : DD_NEVER, .given = {given}, .rate = s->rate, .bag = s->bag,
            .scale_to = scale_to, .scale_of = scale_to > 0 ? r->flowed : 0, .scale_at = scale_at, .order = r->t->index, .line = s->line,
            .part = s->bag ? DD_PART_BAG : DD_PART_FLUSH, .basis = DD_CHARTED};
    return f != NULL;
}

/* The next fixed point: `given` u since the start, at r->at. Everything since the last one is scaled to meet it. */
static bool fix(tracer *r, int64_t given)
{
    int64_t difference = given - r->fixed, passed = 0, before = 0;
    for (size_t i = 0; i < r->open_count && r->recording && difference > 0; i++) { /* two equal readings: nothing flowed */
        stretch *s = &r->open[i];
        int64_t here = passed + s->rate.ul_per_h * (s->to - s->from), upto = 0;
        if (r->flowed > 0 && !dd_whole_scale_down(difference, here, r->flowed, &upto))
            return false;
        if (!emit(r, s, upto - before, difference, passed))
            return false;
        take_from(r, s->bag_record, upto - before, s->to);
        passed = here;
        before = upto;
    }
    dd_trace *t = r->t;
    r->open_count = 0;
    r->flowed = 0;
    r->fixed = t->given = given;
    r->fixed_at = r->at;
    r->fixed_flow_s = t->flow_seconds;
    if (!r->recording) {
        t->bag_left = t->bag_left > difference ? t->bag_left - difference : 0;
        return true;
    }
    for (size_t i = r->first_bag; i < t->bag_record; i++) { /* bags changed in between: now it is known what was left in them */
        dd_bag *b = &r->w->bags[i];
        b->discarded.u += b->left.u;
        b->left.u = 0;
    }
    if (!t->bag_is_up)
        return true;
    t->bag_left = r->w->bags[t->bag_record].left.u;
    if (t->bag_left == 0) {
        r->w->bags[t->bag_record].empty = t->empty_since = r->at;
        take_down(r, r->at, false);
    }
    return true;
}

/* Whether it flows at r->at, and until when that stays so. */
static bool enabled(tracer *r, dd_moment *next)
{
    dd_trace *t = r->t;
    bool stopped = dd_history_in(r->h->off[t->line], r->h->off_count[t->line], r->at, next);
    if (t->stops)
        stopped |= dd_history_in(t->stops[t->line], t->stop_count[t->line], r->at, next);
    return !stopped && !t->paused && !t->over && t->rate.ul_per_h > 0;
}

static bool flow_closed(tracer *r, dd_moment to)
{
    int64_t seconds = to - r->at;
    r->flowed += r->t->rate.ul_per_h * seconds;
    r->t->flow_seconds += seconds;
    if (!r->recording)
        return true;
    if (!dd_arena_room(r->w->arena, &r->open, &r->open_room, r->open_count, sizeof *r->open))
        return false;
    r->open[r->open_count++] = (stretch){r->at, to, r->t->rate, r->t->bag_record, r->t->bag, r->t->line};
    return true;
}

/* Until `to`, or until its bag, its volume or its flush ends. */
static bool flow_open(tracer *r, dd_moment *to)
{
    dd_trace *t = r->t;
    int64_t rate = t->rate.ul_per_h, left = r->to_give == NO_END ? NO_END : r->to_give - t->given;
    bool flush = left <= 0;
    int64_t most = flush ? t->flush_left : t->bag_left < left ? t->bag_left : left;
    int64_t seconds = (most + rate - 1) / rate;
    if (most == 0) /* the bag is empty: nothing flows until the next is up */
        return true;
    if (r->at + seconds < *to)
        *to = r->at + seconds;
    int64_t given = rate * (*to - r->at) < most ? rate * (*to - r->at) : most;
    stretch s = {.from = r->at, .to = *to, .rate = t->rate, .bag = flush ? 0 : t->bag, .line = t->line};
    if (r->recording && !emit(r, &s, given, 0, 0))
        return false;
    if (flush) {
        if (t->flush_from == DD_NEVER)
            t->flush_from = r->at;
        t->flush_left -= given;
    } else {
        t->given += given;
        r->fixed = t->given;
        t->bag_left -= given;
        t->flow_seconds += *to - r->at;
        if (r->recording)
            take_from(r, t->bag_record, given, *to);
        if (t->bag_left == 0) {
            t->empty_since = *to;
            if (r->recording)
                r->w->bags[t->bag_record].empty = *to;
            take_down(r, *to, false);
        }
    }
    return true;
}

/* Its volume is in, and the flush behind it. */
static void end_when_in(tracer *r)
{
    dd_trace *t = r->t;
    if (t->over || r->closed || r->to_give == NO_END || t->given < r->to_give || t->flush_left > 0)
        return;
    t->over = true;
    t->why = DD_END_VOLUME;
    t->end = r->at;
    t->empty_since = DD_NEVER;
    take_down(r, r->at, false);
}

static bool go_to(tracer *r, dd_moment to)
{
    dd_moment begins = r->w->plan->begins;
    end_when_in(r);
    while (r->at < to && !r->t->over) {
        dd_moment next = r->at < begins && begins < to ? begins : to;
        bool flows = enabled(r, &next);
        if (flows && !(r->closed ? flow_closed(r, next) : flow_open(r, &next)))
            return false;
        r->at = next;
        end_when_in(r);
    }
    if (r->at < to)
        r->at = to;
    return true;
}

/* ---- events ---- */

static dd_status charted_rate(dd_trace *t, dd_quantity q)
{
    if (q.unit == DD_UNIT_GTT || q.unit == DD_UNIT_DROPS) {
        t->drops = (int32_t)(q.micro / 1000000);
        return dd_set_drops(t->drops, t->order->drop_factor_micro, &t->rate);
    }
    t->drops = 0; /* set in mL/h: no drops were counted */
    dd_ratio ul;
    int64_t seconds = q.per == DD_UNIT_MIN ? 60 : q.per == DD_UNIT_DAY ? 86400 : 3600;
    dd_status status = dd_quantity_exact(q, &ul);
    if (status == DD_OK)
        status = dd_ratio_times(ul, (dd_ratio){3600, 1}, &ul);
    if (status == DD_OK)
        status = dd_ratio_over(ul, (dd_ratio){seconds, 1}, &ul);
    return status == DD_OK ? dd_ratio_half_up(ul, 1, &t->rate.ul_per_h) : status;
}

/* u given since the start that a reading stands for, now that everything before it has been passed. False: it cannot be. */
static bool reading_says(const tracer *r, const dd_event *e, int64_t *given)
{
    const dd_trace *t = r->t;
    dd_volume v;
    if (t->ended || dd_quantity_volume(e->value, &v) != DD_OK)
        return false;
    bool left = e->what && e->what[0] == 'l';
    int64_t u = v.ul * DD_U_PER_UL;
    if (left && !t->bag_is_up) { /* it hangs there empty */
        *given = r->fixed;
        return u == 0;
    }
    if (left && u > t->bag_left) { /* an untouched bag may have held more than it says */
        *given = r->fixed;
        return !t->bag_was_read && t->bag_left == t->bag_held && (dd_int128)u * 100000000 <= (dd_int128)t->bag_held * (100000000 + t->order->overfill_micro);
    }
    *given = left ? r->fixed + t->bag_left - u : u;
    if (*given < r->fixed || (*given > r->fixed && r->flowed == 0))
        return false;
    if (left) /* within what this bag holds */
        return true;
    dd_int128 most = (dd_int128)r->content * (100000000 + t->order->overfill_micro); /* per cent x 10^6 */
    return (dd_int128)*given * 100000000 <= most;
}

static bool end_here(tracer *r, dd_run_end why)
{
    if (!r->t->over || r->closed) {
        r->t->why = (uint8_t)why;
        r->t->end = r->at;
    }
    r->t->over = r->t->ended = true;
    r->t->empty_since = DD_NEVER;
    take_down(r, r->at, why == DD_END_REPLACED || why == DD_END_CUT);
    return true;
}

static dd_status ended_by_other(tracer *r, const dd_touch *touch)
{
    dd_trace *t = r->t;
    if (t->ended || (t->over && !r->closed) || (touch->line >= 0 && touch->line != t->line))
        return DD_OK;
    if (r->recording && !touch->replaced) {
        dd_finding *f = dd_work_finding(r->w, DD_FINDING_CUT_SHORT, t->index, t->line, touch->at);
        if (!f)
            return DD_NO_MEMORY;
        f->other = touch->order;
        f->due = t->repeated ? t->due : DD_NEVER;
        f->figure = dd_work_ml(r->to_give == NO_END ? t->bag_left : r->to_give - t->given);
    }
    if (touch->replaced) {
        t->inherited = t->bag_is_up ? t->bag_left : 0; /* for the one that takes over, where the fluid is the same */
        t->inherited_up = t->bag_up;
    }
    return end_here(r, touch->replaced ? DD_END_REPLACED : DD_END_CUT) ? DD_OK : DD_NO_MEMORY;
}

/* A new bag. Where the level in it is read later, the change itself is a fixed point: at what flowed as set, at most what the
 * old bag held. */
static dd_status new_bag(tracer *r, const dd_event *e, bool level_follows)
{
    dd_trace *t = r->t;
    dd_volume v = {t->order->bag_ul};
    if (e->value.unit != DD_UNIT_NONE && dd_quantity_volume(e->value, &v) != DD_OK)
        return DD_TOO_LARGE;
    if (r->closed && level_follows) {
        int64_t held = t->bag_is_up ? t->bag_left : 0;
        if (!fix(r, r->fixed + (r->flowed < held ? r->flowed : held)))
            return DD_NO_MEMORY;
    }
    if (t->bag_is_up)
        take_down(r, r->at, !r->closed || level_follows);
    return hang(r, r->at, v.ul * DD_U_PER_UL, 0, r->at, false) ? DD_OK : DD_NO_MEMORY;
}

static dd_status impossible(tracer *r, size_t event)
{
    return r->recording ? dd_history_impossible(r->w, r->h, event) : DD_OK;
}

/* The same bag, on another line. */
static void move(tracer *r, int16_t line)
{
    r->t->line = line;
    if (r->recording && r->t->bag_is_up)
        r->w->bags[r->t->bag_record].line = line;
}

static dd_status apply(tracer *r, const dd_touch *touch, bool level_follows)
{
    dd_trace *t = r->t;
    if (touch->event == DD_NOT_CHARTED)
        return ended_by_other(r, touch);
    const dd_event *e = r->h->events[touch->event];
    if (e->kind == DD_EVENT_VERIFIED)
        return DD_OK;
    bool fits = !t->ended && (e->kind == DD_EVENT_PAUSED ? !t->paused : e->kind == DD_EVENT_RESUMED ? t->paused : true);
    if (!fits)
        return impossible(r, touch->event);
    if (e->kind == DD_EVENT_PAUSED || e->kind == DD_EVENT_RESUMED)
        t->paused = e->kind == DD_EVENT_PAUSED;
    else if (e->kind == DD_EVENT_MOVED)
        move(r, e->line);
    else if (e->kind == DD_EVENT_STOPPED)
        end_here(r, DD_END_STOP);
    else if (e->kind == DD_EVENT_HUNG)
        return new_bag(r, e, level_follows);
    else if (e->kind == DD_EVENT_RATE) {
        t->charted_rate = t->rate_after_reading = true;
        return charted_rate(t, e->value);
    } else
        return impossible(r, touch->event); /* started or omitted while it runs */
    return DD_OK;
}

static bool is_reading(const tracer *r, size_t touch)
{
    size_t event = r->t->touches[touch].event;
    return event != DD_NOT_CHARTED && r->h->events[event]->kind == DD_EVENT_READING;
}

static dd_status play(tracer *r, size_t from, size_t to, bool level_follows)
{
    dd_status status = DD_OK;
    for (size_t i = from; i < to && status == DD_OK; i++) {
        if (is_reading(r, i))
            continue; /* one that cannot be: passed over */
        if (!go_to(r, r->t->touches[i].at))
            return DD_NO_MEMORY;
        status = apply(r, &r->t->touches[i], level_follows);
    }
    return status;
}

/* The next reading from touch `from` on that can be, or touch_count. Those before it that cannot are said. */
static dd_status next_reading(tracer *r, size_t from, size_t *found)
{
    dd_trace *t = r->t;
    for (*found = from; *found < t->touch_count; ++*found) {
        if (!is_reading(r, *found))
            continue;
        tracer probe = *r;
        dd_trace copy = *t;
        const dd_event *e = r->h->events[t->touches[*found].event];
        int64_t given;
        probe.t = &copy;
        probe.recording = false;
        probe.closed = true;
        dd_status status = play(&probe, from, *found, e->what && e->what[0] == 'l');
        if (status != DD_OK || !go_to(&probe, e->time))
            return status == DD_OK ? DD_NO_MEMORY : status;
        if (reading_says(&probe, e, &given))
            return DD_OK;
        status = dd_history_impossible(r->w, r->h, t->touches[*found].event);
        if (status != DD_OK)
            return status;
    }
    return DD_OK;
}

/* A level above what the bag says it holds: it held that. */
static bool hold_more(tracer *r, const dd_event *e)
{
    dd_volume v;
    if (e->what[0] != 'l' || dd_quantity_volume(e->value, &v) != DD_OK || v.ul * DD_U_PER_UL <= r->t->bag_left)
        return true;
    int64_t more = v.ul * DD_U_PER_UL - r->t->bag_left;
    dd_bag *b = &r->w->bags[r->t->bag_record];
    b->hung.u += more;
    b->left.u += more;
    r->content += more;
    r->t->bag_left = r->t->bag_held = v.ul * DD_U_PER_UL;
    return true;
}

/* What the reading says beside what was set, before the flow is scaled to meet it. */
static bool keep_reading(tracer *r, const dd_event *e, int64_t given)
{
    dd_trace *t = r->t;
    int64_t most = e->what[0] == 'l' ? t->bag_left : r->content - r->fixed, expected = r->flowed < most ? r->flowed : most;
    if (r->to_give != NO_END && expected > r->to_give - r->fixed)
        expected = r->to_give - r->fixed;
    dd_reading *reading = dd_arena_take(r->w->arena, sizeof *reading);
    if (!reading)
        return false;
    *reading = (dd_reading){.event = e, .said_u = given - r->fixed, .expected_u = expected > 0 ? expected : 0, .since = r->fixed_at,
        .flow_s = t->flow_seconds - r->fixed_flow_s};
    t->reading = reading;
    t->rate_after_reading = false;
    return true;
}

/* Where it stands now. */
static void close_reading(tracer *r)
{
    dd_trace *t = r->t;
    if (!t->reading)
        return;
    t->reading->to_go_u = r->to_give == NO_END ? DD_UNKNOWN : r->to_give > t->given ? r->to_give - t->given : 0;
    t->reading->flowed_s = t->flow_seconds;
    t->reading->rate = t->rate;
    t->reading->drops = t->drops;
    t->reading->charted_rate = t->charted_rate;
    t->reading->answered = t->ended || t->rate_after_reading;
    t->reading->over = t->over;
}

static bool first_bag(tracer *r)
{
    dd_trace *t = r->t;
    const dd_order *o = t->order;
    if (t->inherited) {
        int64_t hung = t->inherited;
        t->inherited = 0;
        return hang(r, t->start, hung, 0, t->inherited_up, false);
    }
    bool found = o->hanging_ul != DD_UNKNOWN && o->repeat == DD_ONCE;
    int64_t prime = !found && o->prime_ul != DD_UNKNOWN ? o->prime_ul * DD_U_PER_UL : 0;
    return hang(r, t->start, found ? o->hanging_u : o->bag_ul * DD_U_PER_UL, prime, found && o->hung != DD_NEVER ? o->hung : t->start, found);
}

dd_status dd_trace_run(dd_work *w, dd_history *h, dd_trace *t)
{
    tracer r = {.w = w, .h = h, .t = t, .at = t->start, .fixed_at = t->start, .to_give = dd_meter_to_give(t->order), .recording = true};
    t->end = t->flush_from = t->empty_since = DD_NEVER;
    t->rate = w->rates[t->index][0].set;
    t->drops = w->rates[t->index][0].drops;
    t->flush_left = t->order->flush_u != DD_UNKNOWN ? t->order->flush_u : 0;
    t->bag = t->repeated ? t->occurrence - 1 : 0;
    r.first_bag = w->bag_count;
    if (!first_bag(&r))
        return DD_NO_MEMORY;
    size_t from = 0, reading;
    for (;;) {
        dd_status status = next_reading(&r, from, &reading);
        if (status != DD_OK)
            return status;
        r.closed = reading < t->touch_count;
        bool level = r.closed && h->events[t->touches[reading].event]->what[0] == 'l';
        status = play(&r, from, reading, level);
        if (status != DD_OK)
            return status;
        if (!r.closed)
            break;
        int64_t given;
        const dd_event *e = h->events[t->touches[reading].event];
        if (!go_to(&r, e->time) || !reading_says(&r, e, &given) || !hold_more(&r, e) || !keep_reading(&r, e, given) || !fix(&r, given))
            return DD_NO_MEMORY;
        t->over = false;
        t->bag_was_read = true;
        from = reading + 1;
    }
    if (!go_to(&r, w->from))
        return DD_NO_MEMORY;
    close_reading(&r);
    return DD_OK;
}
