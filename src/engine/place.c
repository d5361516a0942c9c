#include "place.h"

#include <stdlib.h>
#include <string.h>

#include "piece.h"

/* The search, in one picture. Doses are sorted by due. A state is "the first dose not yet placed, and which later ones have
 * been placed before it"; G(state, t) is the least cost of everything not yet placed when the line is free from t on, kept
 * as straight pieces over t. States are found forwards from the empty one, G is worked out backwards, and the doses are
 * then read off forwards, taking the earliest start that keeps the optimum.
 *
 * Costs in order of importance, packed so that they add and compare as one number: doses after their window in units of
 * 2^88, seconds away from due in 2^44, seconds early in 1. A week of seconds for 10,000 doses is below 2^34. */
#define COST_LATE ((dd_int128)1 << 88)
#define COST_AWAY ((dd_int128)1 << 44)
#define COST_EARLY ((dd_int128)1)

#define SET_MOST 24 /* doses that may have overtaken one at the same time; DD_PLACE_MOST and those whose windows just touch */

typedef struct state {
    int32_t first;         /* index of the first dose not placed; count: all are */
    uint16_t set_count;
    uint16_t set[SET_MOST]; /* later ones already placed, rising, relative to `first` */
    uint32_t choice, choice_count;
    dd_pieces least;
} state;

typedef struct choice {
    int32_t dose;
    uint32_t next;
} choice;

typedef struct search {
    dd_arena *arena;   /* states, their G; freed when the line is done */
    dd_arena *scratch; /* emptied after each state */
    dd_dose *doses;
    int32_t count;
    const dd_gap_of_line *blocked;
    size_t blocked_count;
    dd_moment begins;
    dd_pieces *cost;   /* per dose */
    dd_moment *opens_later; /* least d - w of this and all later doses */
    state *states;
    size_t state_count, state_room;
    choice *choices;
    size_t choice_count, choice_room;
    uint32_t *table;   /* open addressing: state index + 1 */
    size_t table_size;
    bool in_order;
} search;

static int by_due(const void *left, const void *right)
{
    const dd_dose *a = left, *b = right;
    if (a->due != b->due)
        return a->due < b->due ? -1 : 1;
    if (a->order != b->order)
        return a->order < b->order ? -1 : 1;
    return (a->occurrence > b->occurrence) - (a->occurrence < b->occurrence);
}

/* The first second at or after s at which a dose of this length fits between the pauses. */
static dd_moment fits_from(const search *q, dd_moment s, int64_t length)
{
    for (size_t i = 0; i < q->blocked_count; i++) {
        if (q->blocked[i].to <= s)
            continue;
        if (s + length <= q->blocked[i].from)
            break;
        s = q->blocked[i].to;
    }
    return s;
}

/* Most days nothing competes: every dose starts when due, which costs nothing and is the only choice that does. */
static bool all_when_due(search *q)
{
    dd_moment free_from = q->begins;
    for (int32_t i = 0; i < q->count; i++) {
        dd_dose *d = &q->doses[i];
        if (d->due < free_from || d->due < d->earliest || fits_from(q, d->due, d->length) != d->due)
            return false;
        free_from = d->due + d->length;
    }
    for (int32_t i = 0; i < q->count; i++)
        q->doses[i].start = q->doses[i].due;
    return true;
}

static bool too_many_at_once(const search *q)
{
    for (int32_t i = 0; i < q->count; i++) {
        dd_moment closes = q->doses[i].due + q->doses[i].window;
        int32_t open = 0;
        for (int32_t j = i + 1; j < q->count && q->opens_later[j] < closes; j++)
            open += q->doses[j].due - q->doses[j].window < closes;
        if (open > DD_PLACE_MOST)
            return true;
    }
    return false;
}

/* What it costs to start dose d at each second: not before its window, nothing at its due time, never in a pause. */
static bool dose_cost(search *q, const dd_dose *d, dd_pieces *out)
{
    dd_moment open = d->due - d->window, late = d->due + d->window + 1, low = open > d->earliest ? open : d->earliest;
    const dd_moment bends[] = {q->begins, low, d->due, d->due + 1, late};
    dd_moment t = q->begins;
    size_t b = 0;
    *out = (dd_pieces){0};
    for (;;) { /* from bend to bend: the window's, and each pause's */
        while (b < q->blocked_count && q->blocked[b].to <= t)
            b++;
        bool in_pause = b < q->blocked_count && t + d->length > q->blocked[b].from;
        dd_int128 value, slope;
        if (t < low || in_pause) {
            value = DD_PIECE_NEVER;
            slope = 0;
        } else if (t <= d->due) {
            value = (COST_AWAY + COST_EARLY) * (d->due - t);
            slope = t == d->due ? COST_AWAY : -(COST_AWAY + COST_EARLY);
        } else {
            value = COST_AWAY * (t - d->due) + (t >= late ? COST_LATE : 0);
            slope = COST_AWAY;
        }
        if (!dd_piece_add(q->arena, out, t, value, slope))
            return false;
        dd_moment next = DD_NEVER;
        for (size_t i = 0; i < sizeof bends / sizeof *bends; i++)
            if (bends[i] > t && (next == DD_NEVER || bends[i] < next))
                next = bends[i];
        if (b < q->blocked_count) {
            dd_moment edge = in_pause ? q->blocked[b].to : q->blocked[b].from - d->length + 1;
            if (next == DD_NEVER || edge < next)
                next = edge;
        }
        if (next == DD_NEVER)
            return true;
        t = next;
    }
}

static uint32_t hash_of(const state *s)
{
    uint32_t h = 2166136261u ^ (uint32_t)s->first;
    for (uint16_t i = 0; i < s->set_count; i++)
        h = (h * 16777619u) ^ s->set[i];
    return h * 2654435761u;
}

static bool same_state(const state *a, const state *b)
{
    return a->first == b->first && a->set_count == b->set_count && memcmp(a->set, b->set, a->set_count * sizeof *a->set) == 0;
}

/* A table twice as large, every state put in again. */
static bool grow_table(search *q)
{
    size_t size = q->table_size ? q->table_size * 2 : 256;
    uint32_t *table = dd_arena_take_many(q->arena, size, sizeof *table);
    if (!table)
        return false;
    for (size_t i = 0; i < q->state_count; i++) {
        size_t slot = hash_of(&q->states[i]) & (size - 1);
        while (table[slot])
            slot = (slot + 1) & (size - 1);
        table[slot] = (uint32_t)i + 1;
    }
    q->table = table;
    q->table_size = size;
    return true;
}

static dd_status find_state(search *q, const state *wanted, uint32_t *out)
{
    if (q->state_count * 2 >= q->table_size && !grow_table(q))
        return DD_NO_MEMORY;
    size_t slot = hash_of(wanted) & (q->table_size - 1);
    while (q->table[slot]) {
        if (same_state(&q->states[q->table[slot] - 1], wanted)) {
            *out = q->table[slot] - 1;
            return DD_OK;
        }
        slot = (slot + 1) & (q->table_size - 1);
    }
    if (q->state_count >= DD_PLACE_STATES)
        return DD_TOO_LARGE;
    if (!dd_arena_room(q->arena, &q->states, &q->state_room, q->state_count, sizeof *q->states))
        return DD_NO_MEMORY;
    q->states[q->state_count] = *wanted;
    *out = (uint32_t)q->state_count++;
    q->table[slot] = *out + 1;
    return DD_OK;
}

static bool is_placed(const state *s, int32_t dose)
{
    for (uint16_t i = 0; i < s->set_count; i++)
        if (s->first + s->set[i] == dose)
            return true;
    return false;
}

/* The state after `dose` is placed next. False: more have overtaken one dose than a state holds. */
static bool state_after(const search *q, const state *s, int32_t dose, state *out)
{
    *out = (state){.first = s->first};
    if (dose == s->first) {
        int32_t first = s->first + 1;
        while (first < q->count && is_placed(s, first))
            first++;
        out->first = first;
        for (uint16_t i = 0; i < s->set_count; i++)
            if (s->first + s->set[i] > first)
                out->set[out->set_count++] = (uint16_t)(s->first + s->set[i] - first);
        return true;
    }
    if (s->set_count == SET_MOST || dose - s->first > UINT16_MAX)
        return false;
    uint16_t mine = (uint16_t)(dose - s->first);
    bool in = false;
    for (uint16_t i = 0; i < s->set_count; i++) {
        if (!in && s->set[i] > mine) {
            out->set[out->set_count++] = mine;
            in = true;
        }
        out->set[out->set_count++] = s->set[i];
    }
    if (!in)
        out->set[out->set_count++] = mine;
    return true;
}

static dd_status add_choice(search *q, uint32_t from, int32_t dose)
{
    state after;
    uint32_t next = 0;
    state here = q->states[from];
    if (!state_after(q, &here, dose, &after))
        return DD_TOO_LARGE;
    dd_status status = find_state(q, &after, &next);
    if (status != DD_OK)
        return status;
    if (!dd_arena_room(q->arena, &q->choices, &q->choice_room, q->choice_count, sizeof *q->choices))
        return DD_NO_MEMORY;
    q->choices[q->choice_count++] = (choice){dose, next};
    q->states[from].choice_count++;
    return DD_OK;
}

static bool same_order_waits(const search *q, const state *s, int32_t dose)
{
    for (int32_t k = s->first; k < dose; k++)
        if (q->doses[k].order == q->doses[dose].order && !is_placed(s, k))
            return true;
    return false;
}

/* All states that can be reached, each with the doses that may come next. */
static dd_status find_states(search *q)
{
    uint32_t index;
    state empty = {0};
    dd_status status = find_state(q, &empty, &index);
    for (uint32_t at = 0; status == DD_OK && at < q->state_count; at++) {
        state here = q->states[at];
        q->states[at].choice = (uint32_t)q->choice_count;
        dd_moment closes = INT64_MAX; /* the earliest end of a window among those that would be overtaken */
        for (int32_t j = here.first; j < q->count && status == DD_OK; j++) {
            if (q->opens_later[j] > closes || (q->in_order && j > here.first))
                break;
            if (is_placed(&here, j))
                continue;
            if (q->doses[j].due - q->doses[j].window <= closes && !same_order_waits(q, &here, j))
                status = add_choice(q, at, j);
            dd_moment end = q->doses[j].due + q->doses[j].window;
            if (end < closes)
                closes = end;
        }
    }
    return status;
}

/* G of one state from the G of the states after it. */
static bool work_out(search *q, state *s)
{
    if (s->first == q->count)
        return dd_piece_add(q->arena, &s->least, q->begins, 0, 0);
    dd_pieces best = {0};
    for (uint32_t c = 0; c < s->choice_count; c++) {
        const choice *ch = &q->choices[s->choice + c];
        dd_pieces with, least, smaller;
        if (!dd_piece_sum(q->scratch, &q->cost[ch->dose], &q->states[ch->next].least, q->doses[ch->dose].length, &with) ||
            !dd_piece_least_from(q->scratch, &with, &least))
            return false;
        if (c == 0) {
            best = least;
            continue;
        }
        if (!dd_piece_smaller(q->scratch, &best, &least, &smaller))
            return false;
        best = smaller;
    }
    s->least.at = dd_arena_take_many(q->arena, best.count, sizeof *best.at);
    if (!s->least.at)
        return false;
    memcpy(s->least.at, best.at, best.count * sizeof *best.at);
    s->least.count = s->least.room = best.count;
    dd_arena_reset(q->scratch);
    return true;
}

/* Forwards: of all choices that keep the optimum, the earliest start, then the earliest due, then row (the order of `doses`). */
static bool read_off(search *q)
{
    uint32_t at = 0;
    dd_moment t = q->begins;
    while (q->states[at].first < q->count) {
        const state *s = &q->states[at];
        dd_int128 least = dd_piece_at(&s->least, t);
        const choice *best = NULL;
        dd_moment start = DD_NEVER;
        for (uint32_t c = 0; c < s->choice_count; c++) {
            const choice *ch = &q->choices[s->choice + c];
            dd_pieces with;
            if (!dd_piece_sum(q->scratch, &q->cost[ch->dose], &q->states[ch->next].least, q->doses[ch->dose].length, &with))
                return false;
            dd_moment first = dd_piece_first(&with, t, least);
            if (first != DD_NEVER && (!best || first < start || (first == start && ch->dose < best->dose))) {
                best = ch;
                start = first;
            }
        }
        if (!best)
            return false; /* cannot be: the last piece of every cost is finite */
        q->doses[best->dose].start = start;
        t = start + q->doses[best->dose].length;
        at = best->next;
        dd_arena_reset(q->scratch);
    }
    return true;
}

static dd_status solve(search *q)
{
    q->states = NULL;
    q->choices = NULL;
    q->table = NULL;
    q->state_count = q->state_room = q->choice_count = q->choice_room = q->table_size = 0;
    dd_status status = find_states(q);
    if (status != DD_OK)
        return status;
    for (size_t i = q->state_count; i-- > 0;)
        if (!work_out(q, &q->states[i]))
            return DD_NO_MEMORY;
    return read_off(q) ? DD_OK : DD_NO_MEMORY;
}

/* Most doses compete in small groups: those of which each is due before the one before it would be over. Each group is placed as if
 * there were no other. Where no two of them meet then, that is the optimum of all: no group can cost less, and none can start earlier at
 * the same cost. *apart false: they meet, and have to be placed together. */
static dd_status solve_groups(search *q, bool *apart)
{
    dd_status status = DD_OK;
    dd_moment over = q->begins; /* the groups so far */
    *apart = true;
    for (int32_t from = 0, to; status == DD_OK && *apart && from < q->count; from = to) {
        dd_moment end = q->doses[from].due + q->doses[from].length;
        for (to = from + 1; to < q->count && q->doses[to].due < end; to++)
            end = q->doses[to].due + q->doses[to].length;
        if (from == 0 && to == q->count) {
            *apart = false;
            return DD_OK;
        }
        search group = *q;
        group.doses += from;
        group.cost += from;
        group.opens_later += from;
        group.count = to - from;
        if (!all_when_due(&group))
            status = solve(&group);
        end = over;
        for (int32_t i = 0; i < group.count && status == DD_OK; i++) {
            *apart = *apart && group.doses[i].start >= over;
            if (group.doses[i].start + group.doses[i].length > end)
                end = group.doses[i].start + group.doses[i].length;
        }
        over = end;
    }
    return status;
}

static dd_status prepare(search *q)
{
    q->cost = dd_arena_take_many(q->arena, (size_t)q->count, sizeof *q->cost);
    q->opens_later = dd_arena_take_many(q->arena, (size_t)q->count, sizeof *q->opens_later);
    if (!q->cost || !q->opens_later)
        return DD_NO_MEMORY;
    for (int32_t i = q->count; i-- > 0;) {
        const dd_dose *d = &q->doses[i];
        dd_moment opens = d->due - d->window;
        q->opens_later[i] = i + 1 < q->count && q->opens_later[i + 1] < opens ? q->opens_later[i + 1] : opens;
        if (!dose_cost(q, d, &q->cost[i]))
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

dd_status dd_place_doses(dd_dose *doses, size_t count, const dd_gap_of_line *blocked, size_t blocked_count, bool *in_order)
{
    *in_order = false;
    if (count == 0)
        return DD_OK;
    if (count > INT32_MAX / 2)
        return DD_TOO_LARGE;
    qsort(doses, count, sizeof *doses, by_due);
    search q = {.doses = doses, .count = (int32_t)count, .blocked = blocked, .blocked_count = blocked_count};
    q.begins = doses[0].earliest;
    for (size_t i = 1; i < count; i++)
        if (doses[i].earliest < q.begins)
            q.begins = doses[i].earliest;
    if (all_when_due(&q))
        return DD_OK;
    q.arena = dd_arena_new();
    q.scratch = dd_arena_new();
    dd_status status = q.arena && q.scratch ? prepare(&q) : DD_NO_MEMORY;
    if (status == DD_OK) {
        bool apart;
        q.in_order = too_many_at_once(&q);
        status = solve_groups(&q, &apart);
        if (status == DD_TOO_LARGE || (status == DD_OK && !apart))
            status = solve(&q);
        if (status == DD_TOO_LARGE && !q.in_order) {
            q.in_order = true;
            status = solve(&q);
        }
    }
    *in_order = q.in_order;
    dd_arena_free(q.scratch);
    dd_arena_free(q.arena);
    return status;
}
