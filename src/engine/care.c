#include "care.h"

#include <stdlib.h>
#include <string.h>

#include "daydrip/rule.h"

#define LEAST_INTERVAL 60 /* seconds between two looks: a ward's rule of one second would fill no page */
#define HOUR 3600

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

static int64_t rule_seconds(const dd_timeline *t, int line, dd_rule_id id)
{
    const dd_rule_about about = dd_rule_of_patient(t->patient, line);
    return dd_rule_seconds(dd_rule_find(t->plan, id, &about));
}

int64_t dd_care_early(const dd_timeline *t, int line)
{
    return rule_seconds(t, line, DD_RULE_CHECK_EARLY);
}

int64_t dd_care_every(const dd_timeline *t, int line)
{
    int64_t every = rule_seconds(t, line, DD_RULE_ROUND_EVERY);
    return every < LEAST_INTERVAL ? 0 : every;
}

/* ---- rounds ---- */

/* The first round after t: on the local clock, counted from each midnight in steps of `every`. */
static dd_moment next_round(const dd_zone *zone, dd_moment t, int64_t every)
{
    dd_moment hour = dd_moment_next_hour(zone, t);
    if (every < HOUR) { /* inside the hour that t is in */
        dd_civil c = dd_moment_local(zone, t);
        dd_moment inside = t + every - (c.minute * 60 + c.second) % every;
        return inside < hour ? inside : hour;
    }
    int hours = every / HOUR < 24 ? (int)(every / HOUR) : 24;
    while (dd_moment_local(zone, hour).hour % hours != 0)
        hour = dd_moment_next_hour(zone, hour);
    return hour;
}

dd_moment dd_care_round(const dd_timeline *t, int line, dd_moment after, dd_moment until)
{
    int64_t every = dd_care_every(t, line);
    dd_moment last = DD_NEVER;
    if (every == 0)
        return DD_NEVER;
    if (after < until - every - HOUR) /* a round is in every such span but on the night when clocks change */
        after = until - every - HOUR;
    for (dd_moment round = next_round(t->plan->zone, after, every); round <= until; round = next_round(t->plan->zone, round, every))
        last = round;
    return last;
}

/* ---- first looks ---- */

typedef struct span { dd_moment from, to; } span;

typedef struct looks {
    const dd_timeline *t;
    dd_arena *arena;
    dd_moment from;
    dd_look *items;
    size_t count, room;
    span *busy;          /* when anything flows on the line at hand: rising, apart */
    size_t busy_count;
    int64_t early, first, running, locked; /* what the rules say for the line at hand, seconds */
    int64_t every;       /* how far apart `rounds` are, */
    dd_moment *rounds;   /* all after `from`, up to the first behind the plan's end, rising */
    size_t round_count;
} looks;

/* The rounds of the line at hand; nearly always those of the line before. */
static bool find_rounds(looks *l, int line)
{
    const dd_timeline *t = l->t;
    int64_t every = dd_care_every(t, line);
    size_t room = 0;
    if (every == l->every)
        return true;
    l->every = every;
    l->rounds = NULL;
    l->round_count = 0;
    for (dd_moment round = l->from; every > 0 && round <= t->plan->end;) { /* up to the first one behind it: which is the last in time is known */
        round = next_round(t->plan->zone, round, every);
        if (!dd_arena_room(l->arena, &l->rounds, &room, l->round_count, sizeof *l->rounds))
            return false;
        l->rounds[l->round_count++] = round;
    }
    return true;
}

/* As dd_care_round, of the rounds that were found. */
static dd_moment last_round(const looks *l, dd_moment after, dd_moment until)
{
    size_t low = 0, high = l->round_count; /* the first above `until` */
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (l->rounds[middle] <= until)
            low = middle + 1;
        else
            high = middle;
    }
    return low > 0 && l->rounds[low - 1] > after ? l->rounds[low - 1] : DD_NEVER;
}

static dd_look *add(looks *l, dd_look look)
{
    if (!dd_arena_room(l->arena, &l->items, &l->room, l->count, sizeof look))
        return NULL;
    l->items[l->count] = look;
    return &l->items[l->count++];
}

static bool take_line(looks *l, int line)
{
    const dd_timeline *t = l->t;
    l->early = dd_care_early(t, line);
    l->first = rule_seconds(t, line, DD_RULE_SITE_CHECK_FIRST);
    l->running = rule_seconds(t, line, DD_RULE_SITE_CHECK);
    l->locked = rule_seconds(t, line, DD_RULE_SITE_CHECK_LOCKED);
    l->running = l->running > 0 && l->running < LEAST_INTERVAL ? LEAST_INTERVAL : l->running;
    l->locked = l->locked > 0 && l->locked < LEAST_INTERVAL ? LEAST_INTERVAL : l->locked;
    if (l->locked <= 0) /* where nobody says how often a still line is looked at, as if it ran */
        l->locked = l->running;
    l->busy_count = 0;
    for (size_t i = 0; i < t->flow_count; i++) { /* by `from` */
        const dd_flow *f = &t->flows[i];
        if (f->line != line)
            continue;
        span *last = l->busy_count ? &l->busy[l->busy_count - 1] : NULL;
        if (last && f->from <= last->to) {
            last->to = f->to > last->to ? f->to : last->to;
            continue;
        }
        l->busy[l->busy_count++] = (span){f->from, f->to};
    }
    return find_rounds(l, line);
}

static bool was_still(const looks *l, dd_moment start)
{
    for (size_t i = 0; i < l->busy_count; i++)
        if (l->busy[i].from < start && l->busy[i].to >= start)
            return false;
    return true;
}

static bool same_drug(const dd_mixture *a, const dd_mixture *b)
{
    return a == b || (a->drug && b->drug && strcmp(a->drug, b->drug) == 0);
}

/* A dose of it was due before the plan, and after it was ordered. */
static bool given_before(const dd_timeline *t, const dd_run *run)
{
    const dd_order *o = &t->patient->orders[run->order];
    dd_moment before = DD_NEVER;
    if (o->repeat == DD_EVERY)
        return o->start < t->plan->begins;
    for (int i = 0; o->repeat == DD_TIMES && i < o->clock_count; i++) {
        dd_moment due = dd_moment_clock_until(t->plan->zone, run->due - 1, o->clocks[i]);
        before = due > before ? due : before;
    }
    return o->ordered != DD_NEVER && before != DD_NEVER && before >= o->ordered;
}

/* Whether this run brings a drug (or blood, nutrition, an additive) that the patient has not had yet, as far as the plan knows. */
static bool is_new_drug(const dd_timeline *t, size_t run)
{
    const dd_run *r = &t->runs[run];
    const dd_order *o = &t->patient->orders[r->order];
    bool drug = o->category == DD_CAT_DRUG || o->category == DD_CAT_BLOOD || o->category == DD_CAT_NUTRITION || o->mixture->addition_count > 0;
    if (!drug || given_before(t, r))
        return false;
    for (size_t i = 0; i < run; i++) /* by start */
        if (same_drug(t->patient->orders[t->runs[i].order].mixture, o->mixture))
            return false;
    return true;
}

/* The last charted look at a line up to `until`; DD_NEVER: there is none. */
static dd_moment charted_look(const dd_timeline *t, int line, dd_moment until)
{
    dd_moment last = DD_NEVER;
    for (size_t i = 0; i < t->event_count && t->events[i]->time <= until; i++)
        if (t->events[i]->line == line && t->events[i]->kind == DD_EVENT_CHECKED)
            last = t->events[i]->time;
    return last;
}

/* Whether what flows from then on, on a line that was still, has started there: its run begins, it was moved here, or the line is new. Else
 * it only goes on after a stop. */
static bool starts_there(const dd_timeline *t, const dd_flow *f, dd_moment still_since, dd_moment placed)
{
    if (placed != DD_NEVER && placed <= f->from && (still_since == DD_NEVER || placed >= still_since))
        return true;
    const dd_flow *before = NULL;
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < f->from; i++)
        if (t->flows[i].order == f->order && t->flows[i].due == f->due)
            before = &t->flows[i];
    return !before || before->line != f->line;
}

/* The run that a flow belongs to. */
static const dd_run *run_of(const dd_timeline *t, const dd_flow *f)
{
    for (size_t i = 0; i < t->run_count; i++)
        if (t->runs[i].order == f->order && (!t->runs[i].repeated || t->runs[i].due == f->due))
            return &t->runs[i];
    return NULL;
}

/* What was moved away again is looked at where it is. */
static bool is_still_here(const dd_timeline *t, const dd_flow *f)
{
    const dd_run *r = run_of(t, f);
    return !r || r->line == f->line;
}

/* How often anything was charted by then that brings a run to another site. */
static int32_t moves_by(const dd_timeline *t, dd_moment at)
{
    int32_t n = 1;
    for (size_t i = 0; i < t->event_count && t->events[i]->time <= at; i++)
        n += t->events[i]->kind == DD_EVENT_MOVED || t->events[i]->kind == DD_EVENT_PLACED;
    return n;
}

static bool add_first_look(looks *l, int line, const dd_run *r, dd_moment began, int32_t moved)
{
    dd_moment latest = began + l->first, looked = charted_look(l->t, line, l->from);
    if (latest < l->from || latest >= l->t->plan->end || (looked != DD_NEVER && looked >= latest - l->early))
        return true;
    dd_moment round = last_round(l, latest - l->early - 1, latest);
    bool rides = round != DD_NEVER;
    return add(l, (dd_look){.at = rides ? round : latest, .earliest = latest - l->early, .latest = latest, .first_of = r, .moved = moved, .line = (int16_t)line, .round = rides});
}

/* What came to flow here by the chart without having started here. */
static bool add_looks_after_moves(looks *l, int line)
{
    const dd_timeline *t = l->t;
    dd_moment placed = dd_upkeep_of(t, line).placed, last_end = DD_NEVER;
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < t->now; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->line != line)
            continue;
        bool still = last_end == DD_NEVER ? !dd_upkeep_ran_before(t, f) : f->from > last_end;
        const dd_run *r = still && starts_there(t, f, last_end, placed) ? run_of(t, f) : NULL;
        last_end = f->to > last_end ? f->to : last_end;
        if (r && r->line == line && r->start != f->from && !add_first_look(l, line, r, f->from, moves_by(t, f->from)))
            return false;
    }
    return true;
}

/* It started here, or will. */
static bool started_here(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->flow_count && r->start < t->now && t->flows[i].from <= r->start; i++)
        if (t->flows[i].order == r->order && t->flows[i].from == r->start)
            return t->flows[i].line == r->line;
    return true;
}

static bool add_first_looks(looks *l, int line)
{
    const dd_timeline *t = l->t;
    if (l->first <= 0 || t->patient->lines[line].kind == DD_KIND_ENTERAL)
        return true;
    for (size_t i = 0; i < t->run_count; i++) {
        const dd_run *r = &t->runs[i];
        if (r->line != line || r->start == DD_NEVER || r->start >= t->plan->end || r->why == DD_END_BEYOND || dd_upkeep_found_hanging(t, r->order))
            continue;
        if (((was_still(l, r->start) && started_here(t, r)) || is_new_drug(t, i)) && !add_first_look(l, line, r, r->start, 0))
            return false;
    }
    return !t->chart_counts || add_looks_after_moves(l, line);
}

/* The first looks that no round is in time for, in the fewest visits to the bed, with what else is to be done in such a span. */
static bool share_visits(looks *l, const dd_visit_span *others, size_t other_count)
{
    size_t n = 0;
    dd_visit_span *spans = dd_arena_take_many(l->arena, l->count + other_count + 1, sizeof *spans);
    if (!spans)
        return false;
    for (size_t i = 0; i < l->count; i++)
        if (!l->items[i].round)
            spans[n++] = (dd_visit_span){l->items[i].earliest, l->items[i].latest, &l->items[i].at};
    for (size_t i = 0; i < other_count; i++)
        spans[n++] = others[i];
    dd_visit_cover(spans, n);
    return true;
}

/* ---- the look that is due ---- */

static void take_earlier(dd_upkeep_due *best, const dd_rule *rule, dd_moment since)
{
    dd_upkeep_due other = dd_upkeep_from(rule, since);
    if (other.every > 0 && (best->every == 0 || other.at < best->at))
        *best = other;
}

dd_upkeep_due dd_care_look(const dd_timeline *t, int line, const dd_upkeep *known)
{
    const dd_rule *first = dd_upkeep_rule(t, DD_RULE_SITE_CHECK_FIRST, line), *regular = dd_upkeep_rule(t, DD_RULE_SITE_CHECK, line);
    const dd_rule *locked = dd_upkeep_rule(t, DD_RULE_SITE_CHECK_LOCKED, line);
    int64_t in_time = dd_rule_seconds(first) - dd_care_early(t, line); /* from then on a look is the first look */
    dd_upkeep_due best = {.since = DD_NEVER, .at = DD_NEVER};
    dd_moment seen = t->plan->begins, last_end = DD_NEVER; /* where nobody has looked yet, as if somebody had when it began */
    for (int i = 0; i < 3; i++) {
        dd_moment other = i == 0 ? t->patient->arrived : i == 1 ? known->placed : known->looked;
        seen = other > seen ? other : seen; /* DD_NEVER is below every moment */
    }
    take_earlier(&best, locked ? locked : regular, seen); /* where nobody says how often a still line is looked at, as if it ran */
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < t->now; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->line != line)
            continue;
        bool before = dd_upkeep_ran_before(t, f), still = last_end == DD_NEVER ? !before : f->from > last_end;
        if (still && starts_there(t, f, last_end, known->placed) && seen < f->from + in_time && is_still_here(t, f))
            take_earlier(&best, first, f->from);
        if (still && f->from >= seen)
            take_earlier(&best, regular, f->from);
        else if (f->from <= seen && f->to > seen)
            take_earlier(&best, regular, seen);
        last_end = f->to > last_end ? f->to : last_end;
    }
    for (size_t i = 0; i < t->run_count && t->runs[i].start != DD_NEVER && t->runs[i].start < t->now; i++)
        if (t->runs[i].line == line && seen < t->runs[i].start + in_time && !dd_upkeep_found_hanging(t, t->runs[i].order) && is_new_drug(t, i))
            take_earlier(&best, first, t->runs[i].start);
    return best;
}

/* ---- regular looks ---- */

/* The latest time of the next regular look after the one at `seen`; DD_NEVER: no rule. */
static dd_moment look_by(const looks *l, dd_moment seen)
{
    dd_moment by = l->locked > 0 ? seen + l->locked : DD_NEVER;
    for (size_t i = 0; i < l->busy_count && l->running > 0; i++)
        if (l->busy[i].to > seen) {
            dd_moment flows = l->busy[i].from > seen ? l->busy[i].from : seen;
            return by == DD_NEVER || flows + l->running < by ? flows + l->running : by;
        }
    return by;
}

/* When the site was last looked at, and by when it is overdue (DD_NEVER: it is not): by the chart where that counts, else as if it had been
 * at `from`. */
static dd_moment last_look(const looks *l, int line, dd_moment *overdue)
{
    const dd_timeline *t = l->t;
    const dd_upkeep care = dd_upkeep_of(t, line);
    dd_moment looked = charted_look(t, line, l->from);
    *overdue = DD_NEVER;
    bool tube = t->patient->lines[line].kind == DD_KIND_ENTERAL; /* the rules are about veins: it is looked at, but never overdue */
    if (looked == DD_NEVER && (!t->chart_counts || l->from < t->now || tube))
        looked = l->from;
    else if (looked == DD_NEVER) /* as the finding has it */
        looked = t->plan->begins > t->patient->arrived ? t->plan->begins : t->patient->arrived;
    if (t->chart_counts && l->from == t->now) {
        dd_moment by = dd_care_look(t, line, &care).at;
        *overdue = by != DD_NEVER && by < t->now ? by : DD_NEVER;
    }
    return care.placed > looked ? care.placed : looked;
}

static bool add_regular_looks(looks *l, int line, size_t firsts)
{
    const dd_timeline *t = l->t;
    dd_moment overdue, seen = last_look(l, line, &overdue);
    for (;;) {
        dd_moment by = look_by(l, seen), next = DD_NEVER;
        if (overdue != DD_NEVER && (by == DD_NEVER || overdue < by))
            by = overdue;
        overdue = DD_NEVER;
        if (by == DD_NEVER)
            return true;
        dd_moment after = seen > l->from ? seen : l->from; /* nothing is planned for a time that is over */
        dd_moment round = last_round(l, after, by), at = round != DD_NEVER ? round : by > l->from ? by : l->from;
        for (size_t i = 0; i < firsts; i++) /* a first look in between is a look */
            if (l->items[i].line == line && l->items[i].at > seen && l->items[i].at <= at && (next == DD_NEVER || l->items[i].at < next))
                next = l->items[i].at;
        if (next == DD_NEVER) {
            if (at > t->plan->end) /* the round in its last second belongs to both shifts */
                return true;
            if (!add(l, (dd_look){.at = at, .earliest = (at < by ? at : by) - l->early, .latest = by, .line = (int16_t)line, .round = round != DD_NEVER}))
                return false;
        }
        seen = next != DD_NEVER ? next : at;
    }
}

static int by_line(const void *left, const void *right)
{
    const dd_look *a = left, *b = right;
    int c = MORE(a->line, b->line);
    c = c ? c : MORE(a->at, b->at);
    c = c ? c : MORE(!a->first_of, !b->first_of);
    return c ? c : MORE(a->latest, b->latest);
}

dd_status dd_care_looks(const dd_timeline *t, dd_moment from, const dd_visit_span *others, size_t other_count, dd_arena *arena, const dd_look **out,
    size_t *count)
{
    looks l = {.t = t, .arena = arena, .every = -1, .from = from > t->plan->begins ? from : t->plan->begins};
    bool room = true;
    l.busy = dd_arena_take_many(arena, t->flow_count + 1, sizeof *l.busy);
    bool *off = dd_arena_take_many(arena, (size_t)t->patient->line_count + 1, sizeof *off);
    if (!l.busy || !off)
        return DD_NO_MEMORY;
    for (int line = 0; line < t->patient->line_count && room; line++) {
        off[line] = dd_upkeep_is_off(t, line);
        room = off[line] || (take_line(&l, line) && add_first_looks(&l, line));
    }
    size_t firsts = l.count;
    room = room && share_visits(&l, others, other_count);
    for (int line = 0; line < t->patient->line_count && room; line++)
        room = off[line] || (take_line(&l, line) && add_regular_looks(&l, line, firsts));
    if (!room)
        return DD_NO_MEMORY;
    if (l.count > 1)
        qsort(l.items, l.count, sizeof *l.items, by_line);
    *out = l.items;
    *count = l.count;
    return DD_OK;
}
