#include "todo.h"

#include <stdlib.h>

#include "arena.h"
#include "phrase.h"
#include "daydrip/rule.h"
#include "whole.h"

#define WHOLE_SHARE INT64_C(100000000) /* 100 %, in per cent x 10^6 */

/* ---- reading a timeline ---- */

bool dd_todo_is_infusion(const dd_order *o)
{
    return o->repeat == DD_ONCE && o->runs != DD_PIGGYBACK;
}

bool dd_todo_flows(const dd_timeline *t, int line, dd_moment at)
{
    for (size_t i = 0; i < t->flow_count && t->flows[i].from <= at; i++)
        if (t->flows[i].line == line && t->flows[i].to > at)
            return true;
    return false;
}

const dd_run *dd_todo_next_run(const dd_timeline *t, int line, dd_moment from)
{
    for (size_t i = 0; i < t->run_count; i++) /* by start, those that never start last */
        if (t->runs[i].line == line && t->runs[i].start != DD_NEVER && t->runs[i].start >= from)
            return &t->runs[i];
    return NULL;
}

const dd_bag *dd_todo_bag_now(const dd_timeline *t, int order)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == order && t->bags[i].left_at_now.u > 0)
            return &t->bags[i];
    return NULL;
}

/* How long `left` lasts at a rate scaled by `share` (100 % is WHOLE_SHARE), through the flows there are and then on at the last
 * rate. Rounded down or up to a whole second. */
static bool dry_at(const dd_timeline *t, int order, int64_t left, int64_t share, bool up, dd_moment *out)
{
    dd_moment at = DD_NEVER;
    int64_t scaled = 0, seconds, gone;
    for (size_t i = 0; i < t->flow_count; i++) {
        const dd_flow *f = &t->flows[i];
        if (f->order != order || f->part != DD_PART_BAG || f->to <= t->now)
            continue;
        dd_moment from = f->from > t->now ? f->from : t->now;
        if (!dd_whole_times(f->rate.ul_per_h, share, &scaled) ||
            !(up ? dd_whole_scale_up(left, WHOLE_SHARE, scaled, &seconds) : dd_whole_scale_down(left, WHOLE_SHARE, scaled, &seconds)))
            return false;
        at = from;
        if (seconds <= f->to - from)
            break;
        if (!dd_whole_scale_down(f->to - from, scaled, WHOLE_SHARE, &gone) || !dd_whole_minus(left, gone, &left))
            return false;
        at = f->to;
    }
    if (at == DD_NEVER || scaled <= 0 ||
        !(up ? dd_whole_scale_up(left, WHOLE_SHARE, scaled, &seconds) : dd_whole_scale_down(left, WHOLE_SHARE, scaled, &seconds)))
        return false;
    return dd_whole_plus(at, seconds, out);
}

int64_t dd_todo_spread_share(const dd_timeline *t, int order)
{
    const dd_rule_about about = dd_rule_of_order(t->plan, t->patient, order);
    return dd_rule_share(dd_rule_find(t->plan, DD_RULE_GRAVITY_SPREAD, &about));
}

bool dd_todo_spread(const dd_timeline *t, int order, dd_moment *fast, dd_moment *slow)
{
    const dd_bag *bag = dd_todo_bag_now(t, order);
    if (t->patient->orders[order].device != DD_GRAVITY || !bag)
        return false;
    int64_t share = dd_todo_spread_share(t, order);
    if (share <= 0 || share >= WHOLE_SHARE)
        return false;
    if (!dry_at(t, order, bag->left_at_now.u, WHOLE_SHARE + share, false, fast) ||
        !dry_at(t, order, bag->left_at_now.u, WHOLE_SHARE - share, true, slow))
        return false;
    return bag->down == DD_NEVER || *fast < bag->down; /* else it comes down first, as it was meant to */
}

dd_moment dd_todo_dry_first(const dd_timeline *t, int *order)
{
    dd_moment first = DD_NEVER, fast, slow;
    for (size_t i = 0; i < t->bag_count; i++) {
        const dd_bag *b = &t->bags[i];
        if (!dd_todo_is_infusion(&t->patient->orders[b->order]))
            continue;
        dd_moment at = b->empty;
        if (b->left_at_now.u > 0 && dd_todo_spread(t, b->order, &fast, &slow))
            at = fast;
        if (at != DD_NEVER && at >= t->now && (first == DD_NEVER || at < first)) {
            first = at;
            *order = b->order;
        }
    }
    return first;
}

/* ---- gathering ---- */

typedef struct gather {
    const dd_timeline *t;
    dd_moment from, to;
    dd_arena *arena;
    dd_todo *items;
    size_t count, room;
} gather;

static bool within(const gather *g, dd_moment at)
{
    return at != DD_NEVER && at >= g->from && at < g->to;
}

static bool add(gather *g, dd_todo item)
{
    if (!dd_arena_room(g->arena, &g->items, &g->room, g->count, sizeof item))
        return false;
    g->items[g->count++] = item;
    return true;
}

static bool is_feed(const dd_timeline *t, const dd_run *r)
{
    return t->patient->orders[r->order].category == DD_CAT_FEED;
}

static bool gather_dose(gather *g, const dd_run *r)
{
    dd_todo item = {.at = r->start, .run = r, .order = r->order, .line = r->line};
    if (!within(g, r->start))
        return true;
    item.kind = is_feed(g->t, r) ? DD_TODO_FEED : DD_TODO_DOSE;
    if (!add(g, item))
        return false;
    if (item.kind == DD_TODO_FEED || r->start == g->from)
        return true;
    item.kind = DD_TODO_FETCH;
    item.at = r->start - g->from < DD_FETCH_BEFORE ? g->from : r->start - DD_FETCH_BEFORE;
    return add(g, item);
}

/* A bag that hung before the plan began is no start. */
static bool found_hanging(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == r->order && t->bags[i].number == 1)
            return t->bags[i].found_hanging;
    return false;
}

static bool gather_run(gather *g, const dd_run *r)
{
    const dd_order *o = &g->t->patient->orders[r->order];
    dd_todo item = {.run = r, .order = r->order, .line = r->line};
    if (!dd_todo_is_infusion(o)) {
        if (!gather_dose(g, r))
            return false;
        /* after a dose the line must be seen to only where nothing goes on */
        item.at = r->end;
        item.kind = DD_TODO_ENDS;
        return is_feed(g->t, r) || !within(g, r->end) || dd_todo_flows(g->t, r->line, r->end) || add(g, item);
    }
    item.at = r->start;
    item.kind = DD_TODO_START;
    if (within(g, r->start) && !found_hanging(g->t, r) && !add(g, item))
        return false;
    item.at = r->end;
    item.kind = r->why == DD_END_STOP ? DD_TODO_STOP : DD_TODO_ENDS;
    return r->start == DD_NEVER || !within(g, r->end) || r->why == DD_END_REPLACED || add(g, item);
}

static bool gather_bag(gather *g, const dd_bag *b)
{
    if (!dd_todo_is_infusion(&g->t->patient->orders[b->order]) || b->number < 2 || !within(g, b->up))
        return true;
    return add(g, (dd_todo){.at = b->up, .bag = b, .order = b->order, .line = b->line, .kind = DD_TODO_BAG});
}

/* A dose tells itself that the primary stops and goes on; only for one that began before this list does the going on stand
 * alone. */
static bool told_by_dose(const gather *g, const dd_mark *m)
{
    if (m->cause < 0)
        return false;
    if (m->kind == DD_MARK_STOPS)
        return true;
    for (size_t i = 0; i < g->t->run_count; i++) {
        const dd_run *r = &g->t->runs[i];
        if (r->line == m->line && r->end == m->at && r->start != DD_NEVER && !dd_todo_is_infusion(&g->t->patient->orders[r->order]))
            return r->start >= g->from;
    }
    return false;
}

/* It flowed up to that very second: where the charted part meets the planned one nothing needs hands. */
static bool flowed_before(const gather *g, const dd_mark *m)
{
    for (size_t i = 0; i < g->t->flow_count && g->t->flows[i].from < m->at; i++)
        if (g->t->flows[i].order == m->order && g->t->flows[i].to >= m->at)
            return true;
    return false;
}

static bool gather_mark(gather *g, const dd_mark *m)
{
    static const uint8_t kinds[] = {[DD_MARK_STOPS] = DD_TODO_PAUSE, [DD_MARK_GOES_ON] = DD_TODO_GOES_ON, [DD_MARK_STEP] = DD_TODO_STEP};
    if (!within(g, m->at) || (m->kind != DD_MARK_STEP && told_by_dose(g, m)) || (m->kind == DD_MARK_GOES_ON && flowed_before(g, m)))
        return true;
    return add(g, (dd_todo){.at = m->at, .mark = m, .order = m->order, .line = m->line, .kind = kinds[m->kind]});
}

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

static int by_time(const void *left, const void *right)
{
    const dd_todo *a = left, *b = right;
    int c = MORE(a->at, b->at);
    c = c ? c : MORE(a->kind, b->kind);
    c = c ? c : MORE(a->line, b->line);
    c = c ? c : MORE(a->order, b->order);
    return c ? c : MORE(a->run ? a->run->due : 0, b->run ? b->run->due : 0);
}

dd_status dd_todo_make(const dd_timeline *t, dd_moment from, dd_moment to, dd_arena *arena, const dd_todo **items, size_t *count)
{
    gather g = {.t = t, .from = from, .to = to, .arena = arena};
    bool room = true;
    for (size_t i = 0; i < t->run_count && room; i++)
        room = gather_run(&g, &t->runs[i]);
    for (size_t i = 0; i < t->bag_count && room; i++)
        room = gather_bag(&g, &t->bags[i]);
    for (size_t i = 0; i < t->mark_count && room; i++)
        room = gather_mark(&g, &t->marks[i]);
    for (int o = 0; o < t->patient->order_count && room; o++) {
        dd_moment fast, slow;
        if (dd_todo_is_infusion(&t->patient->orders[o]) && dd_todo_spread(t, o, &fast, &slow) && within(&g, fast))
            room = add(&g, (dd_todo){.at = fast, .order = (int16_t)o, .line = t->patient->orders[o].line, .kind = DD_TODO_MAY_DRY});
    }
    if (!room)
        return DD_NO_MEMORY;
    if (g.count > 1)
        qsort(g.items, g.count, sizeof *g.items, by_time);
    *items = g.items;
    *count = g.count;
    return DD_OK;
}

/* ---- titles ---- */

static void add_bag_number(dd_bytes *out, int32_t number)
{
    char text[DD_NUMBER_MAX];
    dd_bytes_text(out, "bag ");
    dd_bytes_add(out, text, dd_number_scaled(text, number, 0, 0, DD_STYLE_PERSON));
}

/* The rate that the mark changes from, to say whether it goes up or down. */
static int64_t rate_before(const dd_timeline *t, const dd_mark *m)
{
    int64_t rate = 0;
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < m->at; i++)
        if (t->flows[i].order == m->order && t->flows[i].part == DD_PART_BAG)
            rate = t->flows[i].rate.ul_per_h;
    return rate;
}

static void add_words(dd_bytes *out, bool brief, const char *loud, const char *quiet)
{
    dd_bytes_text(out, brief ? quiet : loud);
}

void dd_todo_title(dd_bytes *out, const dd_timeline *t, const dd_todo *item, bool brief)
{
    const dd_order *o = &t->patient->orders[item->order];
    const char *line = t->patient->lines[item->line].key;
    bool name_line = !brief; /* the brief form stands beside a bed and says only what kind of thing comes */
    switch ((dd_todo_kind)item->kind) {
    case DD_TODO_FETCH:
        dd_bytes_text(out, "fetch ");
        dd_phrase_what(out, o);
        name_line = false;
        break;
    case DD_TODO_ENDS:
        if (item->run->why == DD_END_LIMIT) {
            add_words(out, brief, "STOP ", "stop ");
            dd_phrase_what(out, o);
        } else if (dd_todo_is_infusion(o)) {
            dd_bytes_text(out, line);
            add_words(out, brief, " DRY: ", " dry: ");
            dd_phrase_what(out, o);
            name_line = false;
        } else {
            dd_phrase_what(out, o);
            dd_bytes_text(out, " ends");
        }
        break;
    case DD_TODO_STOP:
        add_words(out, brief, "STOP ", "stop ");
        dd_phrase_what(out, o);
        break;
    case DD_TODO_PAUSE:
        add_words(out, brief, "PAUSE ", "pause ");
        dd_phrase_what(out, o);
        break;
    case DD_TODO_GOES_ON:
        add_words(out, brief, "GOES ON ", "goes on: ");
        dd_phrase_what(out, o);
        break;
    case DD_TODO_START:
        add_words(out, brief, "START ", "start ");
        dd_phrase_what(out, o);
        break;
    case DD_TODO_DOSE:
        add_words(out, brief, "DOSE ", "dose ");
        if (brief && o->mixture->drug)
            dd_bytes_text(out, o->mixture->drug);
        else
            dd_phrase_what(out, o);
        break;
    case DD_TODO_FEED:
        add_words(out, brief, "FEED ", "feed ");
        dd_phrase_ul(out, o->volume_ul);
        break;
    case DD_TODO_BAG:
        add_words(out, brief, "CHANGE BAG to ", "change to ");
        add_bag_number(out, item->bag->number);
        break;
    case DD_TODO_STEP:
        add_words(out, brief, "RATE ", "rate ");
        dd_bytes_text(out, rate_before(t, item->mark) > item->mark->rate.ul_per_h ? "down to " : "up to ");
        dd_phrase_rate_of(out, t, item->order, item->mark->rate);
        if (!brief) {
            dd_bytes_text(out, ": ");
            dd_phrase_what(out, o);
        }
        break;
    case DD_TODO_MAY_DRY:
        dd_bytes_text(out, line);
        dd_bytes_text(out, " may be dry from now on: look");
        name_line = false;
        break;
    }
    if (name_line) {
        dd_bytes_text(out, ", ");
        dd_bytes_text(out, line);
    }
}
