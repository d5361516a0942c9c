/* carry_fate.c - what becomes of every order at the end of the plan. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "carry.h"
#include "life.h"
#include "occur.h"

typedef struct settler {
    dd_carry *c;
    const dd_patient *p;
    const dd_timeline *t;
    dd_carry_fate *fates;
    const dd_run **runs;     /* by order, then due */
    size_t *first;           /* per order, into runs; first[order_count] is their number */
    dd_moment *dropped_from; /* per order with doses: another one has taken over; DD_NEVER */
    const char **keys;       /* rows of their own, so far */
    size_t key_count, key_room;
    dd_timeline *longer;     /* this plan, let run on through the next; made when it is needed */
    dd_moment end;           /* of this plan, the beginning of the next */
    bool changed;
} settler;

static bool has_doses(const dd_order *o)
{
    return o->repeat != DD_ONCE || o->runs == DD_PIGGYBACK;
}

static int by_order(const void *left, const void *right)
{
    const dd_run *a = *(const dd_run *const *)left, *b = *(const dd_run *const *)right;
    if (a->order != b->order)
        return a->order < b->order ? -1 : 1;
    if (a->due != b->due)
        return a->due < b->due ? -1 : 1;
    return (a->occurrence > b->occurrence) - (a->occurrence < b->occurrence);
}

static dd_status sort_runs(settler *s)
{
    size_t n = s->t->run_count, at = 0;
    s->runs = dd_arena_take_many(s->c->arena, n + 1, sizeof *s->runs);
    s->first = dd_arena_take_many(s->c->arena, (size_t)s->p->order_count + 1, sizeof *s->first);
    if (!s->runs || !s->first)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < n; i++)
        s->runs[i] = &s->t->runs[i];
    if (n > 1)
        qsort(s->runs, n, sizeof *s->runs, by_order);
    for (int i = 0; i <= s->p->order_count; i++) {
        while (at < n && s->runs[at]->order < i)
            at++;
        s->first[i] = at;
    }
    return DD_OK;
}

const dd_bag *dd_carry_fate_bag(const dd_timeline *t, const dd_run *run)
{
    for (size_t i = t->bag_count; i-- > 0;) {
        const dd_bag *b = &t->bags[i];
        if (b->order == run->order && b->down == DD_NEVER && b->left.u > 0 && (!run->repeated || b->due == run->due))
            return b;
    }
    return NULL;
}

static bool began(const dd_run *r)
{
    return r->goes_on || r->start != DD_NEVER;
}

/* ---- orders with one run ---- */

static void settle_single(settler *s, int i)
{
    const dd_order *o = &s->p->orders[i];
    dd_carry_fate *f = &s->fates[i];
    const dd_run *r = s->first[i] < s->first[i + 1] ? s->runs[s->first[i]] : NULL;
    f->run = r;
    if (!r) { /* due after this plan */
        f->end = DD_CARRY_COMES;
        f->start = o->start;
    } else if (r->goes_on) {
        f->end = DD_CARRY_GOES_ON;
        f->hangs = dd_carry_fate_bag(s->t, r);
    } else if (r->why != DD_END_NEVER) {
        f->end = DD_CARRY_OVER;
        f->ended = r->end;
    } else {
        f->end = r->due != DD_NEVER && r->due < s->end ? DD_CARRY_WAITS : DD_CARRY_COMES;
        f->start = r->due;
    }
}

/* Its `stop` has come, or comes before it starts. */
static void apply_stop(settler *s, int i)
{
    const dd_order *o = &s->p->orders[i];
    dd_carry_fate *f = &s->fates[i];
    dd_moment due = f->start != DD_NEVER ? f->start : f->run ? f->run->due : DD_NEVER, stop = o->stop;
    if (o->stop_kind == DD_STOP_NONE || f->end == DD_CARRY_OVER || has_doses(o))
        return;
    if (o->stop_kind == DD_STOP_CLOCK) {
        if (due == DD_NEVER)
            return;
        stop = dd_moment_clock_after(s->c->plan->zone, due, o->stop_clock);
    }
    if (stop > s->end && (f->end != DD_CARRY_COMES || due == DD_NEVER || stop > due))
        return;
    f->ended = f->end == DD_CARRY_GOES_ON ? s->end : DD_NEVER;
    f->end = DD_CARRY_OVER;
}

/* ---- doses ---- */

static void say_left_behind(settler *s, const dd_run *r)
{
    char due[DD_MOMENT_MAX], start[DD_MOMENT_MAX], end[DD_MOMENT_MAX];
    const char *key = s->p->orders[r->order].key;
    dd_moment_write(end, s->c->plan->zone, s->end, DD_MOMENT_DAY);
    dd_moment_write(due, s->c->plan->zone, r->due, DD_MOMENT_DAY);
    dd_moment_write(start, s->c->plan->zone, r->start, DD_MOMENT_DAY);
    if (r->why == DD_END_BEYOND)
        dd_carry_tell(s->c, s->p, "%s due %s, planned %s, is not in the plan from %s on: the plan before has it", key, due, start, end);
    else if (r->why == DD_END_UNKNOWN)
        dd_carry_tell(s->c, s->p, "%s due %s: given or not?", key, due);
    else
        dd_carry_tell(s->c, s->p, "%s due %s found no place and is not in the plan from %s on: the plan before has it", key, due, end);
}

static void settle_one_dose(settler *s, int i)
{
    const dd_order *o = &s->p->orders[i];
    dd_carry_fate *f = &s->fates[i];
    const dd_run *r = s->first[i] < s->first[i + 1] ? s->runs[s->first[i]] : NULL;
    dd_moment until = o->stop_kind == DD_STOP_AT ? o->stop : INT64_MAX;
    if (s->dropped_from[i] != DD_NEVER && s->dropped_from[i] < until)
        until = s->dropped_from[i];
    f->run = r;
    f->end = DD_CARRY_OVER;
    if (!r && o->start >= s->end && o->start < until) {
        f->end = DD_CARRY_COMES;
        f->start = o->start;
    } else if (r && r->goes_on) {
        f->end = DD_CARRY_GOES_ON;
        f->hangs = dd_carry_fate_bag(s->t, r);
    } else if (r) {
        f->ended = r->end;
        if (r->why == DD_END_BEYOND || r->why == DD_END_UNKNOWN || r->why == DD_END_NEVER)
            say_left_behind(s, r);
    }
}

/* A key that no order of the patient has, also not in other capitals. */
static const char *new_key(settler *s, const char *base)
{
    for (int number = 1; number < 100000; number++) {
        char end[16] = "-rest", key[DD_KEY_MOST + 1];
        if (number > 1)
            snprintf(end, sizeof end, "-rest%d", number);
        snprintf(key, sizeof key, "%.*s%s", (int)(DD_KEY_MOST - strlen(end)), base, end);
        bool taken = false;
        for (int i = 0; i < s->p->order_count && !taken; i++)
            taken = strcasecmp(s->p->orders[i].key, key) == 0;
        for (size_t i = 0; i < s->key_count && !taken; i++)
            taken = strcasecmp(s->keys[i], key) == 0;
        if (taken)
            continue;
        const char *kept = dd_arena_text(s->c->arena, key, strlen(key));
        if (!kept || !dd_arena_room(s->c->arena, &s->keys, &s->key_room, s->key_count, sizeof *s->keys))
            return NULL;
        return s->keys[s->key_count++] = kept;
    }
    return NULL;
}

static bool add_rest(settler *s, int i, const dd_run *r)
{
    dd_carry_fate *f = &s->fates[i];
    const char *before = f->rest_count ? f->rests[f->rest_count - 1].key : NULL, *key = new_key(s, s->p->orders[i].key);
    size_t room = f->rest_room;
    if (!key || !dd_arena_room(s->c->arena, &f->rests, &room, f->rest_count, sizeof *f->rests))
        return false;
    f->rest_room = room;
    f->rests[f->rest_count++] = (dd_carry_rest){.run = r, .key = key, .after = r->goes_on && r->due < s->end ? NULL : before};
    return true;
}

/* The plan as it would go on through the next one: who has to wait for whom then. */
static dd_status run_on(settler *s)
{
    if (s->longer)
        return DD_OK;
    dd_plan *plan = dd_arena_take(s->c->arena, sizeof *plan);
    s->longer = dd_arena_take(s->c->arena, sizeof *s->longer);
    if (!plan || !s->longer)
        return DD_NO_MEMORY;
    *plan = *s->c->plan;
    plan->end += plan->end - plan->begins + 7200; /* where clocks change the next day may be longer */
    return dd_timeline_make(plan, s->p, s->t->now, s->t->known, s->c->arena, s->longer);
}

/* Where the order goes on behind the occurrence due at `last`, and how many doses it has then. */
static dd_status go_on_behind(settler *s, int i, dd_moment last)
{
    const dd_order *o = &s->p->orders[i];
    dd_carry_fate *f = &s->fates[i];
    dd_plan plan = *s->c->plan;
    dd_occurrences dues;
    plan.begins = last + 1;
    plan.end = last + 1 + (o->repeat == DD_EVERY ? o->every_s : 3 * 86400);
    dd_status status = dd_occur_dues(&plan, o, s->dropped_from[i], s->c->arena, &dues);
    if (status != DD_OK)
        return status;
    if (dues.count == 0) {
        f->end = DD_CARRY_OVER;
        return DD_OK;
    }
    f->start = dues.due[0];
    if (o->doses == 0)
        return DD_OK;
    plan.begins = o->start;
    plan.end = f->start;
    status = dd_occur_dues(&plan, o, s->dropped_from[i], s->c->arena, &dues);
    f->doses = o->doses - (int32_t)dues.count;
    return status;
}

/* Occurrences of a concurrent order run one after the other. In the next plan the one that goes on has a row of its own; those that
 * will have to wait for it get one too, since nothing else would make them wait. */
static dd_status queue_behind(settler *s, int i)
{
    dd_status status = run_on(s);
    size_t count = 0;
    if (status != DD_OK)
        return status;
    const dd_run **queue = dd_arena_take_many(s->c->arena, s->longer->run_count + 1, sizeof *queue);
    if (!queue)
        return DD_NO_MEMORY;
    for (size_t k = 0; k < s->longer->run_count; k++)
        if (s->longer->runs[k].order == i && s->longer->runs[k].due >= s->end)
            queue[count++] = &s->longer->runs[k];
    if (count > 1)
        qsort(queue, count, sizeof *queue, by_order);
    size_t n = 0;
    for (; n < count && queue[n]->waited; n++)
        if (!add_rest(s, i, queue[n]))
            return DD_NO_MEMORY;
    if (n > 0)
        dd_carry_say(s->c, s->p, "occurrences of %s wait for each other; %zu of them have rows of their own in the next plan", s->p->orders[i].key, n);
    return n > 0 ? go_on_behind(s, i, queue[n - 1]->due) : DD_OK;
}

static dd_status settle_repeated(settler *s, int i)
{
    const dd_order *o = &s->p->orders[i];
    dd_carry_fate *f = &s->fates[i];
    size_t n = s->first[i + 1] - s->first[i];
    dd_occurrences dues;
    dd_status status = dd_occur_dues(s->c->plan, o, s->dropped_from[i], s->c->arena, &dues);
    if (status != DD_OK)
        return status;
    f->end = dues.last_is_here ? DD_CARRY_OVER : DD_CARRY_REPEATS;
    for (size_t k = 0; k < n; k++) {
        const dd_run *r = s->runs[s->first[i] + k];
        bool waits = r->why == DD_END_NEVER && o->runs == DD_CONCURRENT && r->due < s->end;
        if (r->goes_on || waits) {
            if (!add_rest(s, i, r))
                return DD_NO_MEMORY;
        } else if (r->why == DD_END_BEYOND || r->why == DD_END_UNKNOWN || r->why == DD_END_NEVER) {
            say_left_behind(s, r);
        }
        bool ran = r->why != DD_END_UNKNOWN && r->why != DD_END_OMITTED && r->why != DD_END_NEVER;
        f->ended = !ran || r->end == DD_NEVER ? DD_NEVER : k == 0 || r->end > f->ended ? r->end : f->ended;
    }
    return f->rest_count && o->runs == DD_CONCURRENT && f->end == DD_CARRY_REPEATS ? queue_behind(s, i) : DD_OK;
}

/* ---- orders that take over ---- */

/* When the order is due, as far as that is known now. */
static dd_moment due_of(const settler *s, int i)
{
    const dd_order *o = &s->p->orders[i];
    const dd_run *r = s->fates[i].run;
    if (o->repeat != DD_ONCE)
        return s->first[i] < s->first[i + 1] ? s->runs[s->first[i]]->due : o->start;
    return s->fates[i].start != DD_NEVER ? s->fates[i].start : r ? r->due : o->start_kind == DD_START_AT ? o->start : DD_NEVER;
}

static void find_dropped(settler *s)
{
    for (int i = 0; i < s->p->order_count; i++)
        s->dropped_from[i] = DD_NEVER;
    for (int i = 0; i < s->p->order_count; i++) {
        const dd_order *o = &s->p->orders[i];
        if (o->replaces < 0 || !has_doses(&s->p->orders[o->replaces]))
            continue;
        const dd_run *r = s->first[i] < s->first[i + 1] ? s->runs[s->first[i]] : NULL;
        if (o->start_kind == DD_START_AT)
            s->dropped_from[o->replaces] = o->start;
        else if (r && began(r))
            s->dropped_from[o->replaces] = r->start != DD_NEVER ? r->start : s->end - 1;
    }
}

/* Order i takes over from x in the second in which the next plan begins: what would happen then is written down already, since a row
 * of the next plan can only begin with its own bag. */
static void hand_over(settler *s, int i, int x)
{
    dd_carry_fate *f = &s->fates[i], *from = &s->fates[x];
    const dd_order *o = &s->p->orders[i];
    if (from->end == DD_CARRY_GOES_ON && !has_doses(o)) {
        f->first = true;
        bool same = from->hangs && dd_life_same_fluid(s->p->orders[x].mixture, o->mixture);
        if (same && from->hangs->left.u <= o->bag_ul * DD_U_PER_UL) {
            f->hangs = from->hangs;
            f->took_bag = true;
        } else if (same) {
            dd_carry_say(s->c, s->p, "%s takes over from %s with a new bag: more is left than its bag holds", o->key, s->p->orders[x].key);
        }
        f->end = DD_CARRY_WAITS;
        f->start = s->end;
    }
    from->ended = from->end == DD_CARRY_GOES_ON ? s->end : DD_NEVER;
    from->end = DD_CARRY_OVER;
    from->hangs = NULL;
    s->changed = true;
}

/* Order i is over, and x, which it took over from, was still to come: it does not come any more. */
static void drop_unstarted(settler *s, int i, int x)
{
    const dd_run *r = s->fates[i].run;
    if (!r || r->why == DD_END_OMITTED || r->why == DD_END_UNKNOWN || r->due == DD_NEVER || r->due >= s->end || has_doses(&s->p->orders[x]))
        return;
    if (s->fates[x].end != DD_CARRY_COMES && s->fates[x].end != DD_CARRY_WAITS)
        return;
    s->fates[x].end = DD_CARRY_OVER;
    s->changed = true;
}

static void settle_replaced(settler *s)
{
    for (int i = 0; i < s->p->order_count; i++) {
        int x = s->p->orders[i].replaces;
        if (x >= 0 && s->fates[i].end == DD_CARRY_OVER)
            drop_unstarted(s, i, x);
        if (x < 0 || s->fates[i].end == DD_CARRY_OVER || s->fates[i].replaced)
            continue;
        dd_moment due = due_of(s, i);
        bool by_now = due != DD_NEVER && due <= s->end;
        if (has_doses(&s->p->orders[x])) {
            s->fates[i].replaced = s->fates[x].end == DD_CARRY_OVER || (s->dropped_from[x] != DD_NEVER && s->dropped_from[x] <= s->end);
            continue;
        }
        if (s->fates[x].end == DD_CARRY_OVER || by_now)
            s->fates[i].replaced = true;
        if (s->fates[x].end != DD_CARRY_OVER && by_now)
            hand_over(s, i, x);
    }
}

/* ---- lines ---- */

static bool is_out(const settler *s, int line)
{
    bool out = false;
    for (size_t i = 0; i < s->t->event_count; i++) {
        const dd_event *e = s->t->events[i];
        if (e->line == line && (e->kind == DD_EVENT_REMOVED || e->kind == DD_EVENT_PLACED))
            out = e->kind == DD_EVENT_REMOVED;
    }
    return out;
}

/* Where the order would run by this plan: what replaces one that was moved goes where that is, as in weave.c, and in the next plan
 * both rows must name the same line. `depth`: of one that replaces one that replaces ... */
static int16_t line_of(const settler *s, int i, int depth)
{
    const dd_order *o = &s->p->orders[i];
    const dd_carry_fate *f = &s->fates[i];
    int x = o->replaces;
    if (f->run && (f->end == DD_CARRY_GOES_ON || (f->end == DD_CARRY_WAITS && !f->first)))
        return f->run->line;
    if (x < 0 || has_doses(o) || has_doses(&s->p->orders[x]) || depth > s->p->order_count)
        return o->line;
    const dd_carry_fate *from = &s->fates[x];
    if (from->end == DD_CARRY_COMES || from->end == DD_CARRY_WAITS)
        return line_of(s, x, depth + 1);
    bool place = from->run && from->run->keeps_line && (from->end == DD_CARRY_GOES_ON || !is_out(s, from->run->line));
    return place ? from->run->line : o->line;
}

/* ---- orders that begin after others ---- */

static void settle_after(settler *s)
{
    for (int i = 0; i < s->p->order_count; i++) {
        const dd_order *o = &s->p->orders[i];
        dd_carry_fate *f = &s->fates[i];
        if (f->end != DD_CARRY_COMES || f->start != DD_NEVER || f->after || o->after < 0)
            continue;
        const dd_carry_fate *x = &s->fates[o->after];
        if (x->end != DD_CARRY_OVER)
            continue;
        s->changed = true;
        if (x->rest_count) {
            f->after = x->rests[x->rest_count - 1].key;
        } else if (x->ended != DD_NEVER) {
            f->start = x->ended + o->after_s;
            f->end = f->start < s->end ? DD_CARRY_WAITS : DD_CARRY_COMES;
            apply_stop(s, i);
        } else {
            f->end = DD_CARRY_OVER;
            dd_carry_tell(s->c, s->p, "%s was not carried on: it begins after %s, which did not run", o->key, s->p->orders[o->after].key);
        }
    }
}

/* ---- what a person has to know ---- */

static void say_running(settler *s, const dd_run *r, const dd_bag *hangs)
{
    const dd_order *o = &s->p->orders[r->order];
    char end[DD_MOMENT_MAX], begins[DD_MOMENT_MAX];
    dd_moment_write(end, s->c->plan->zone, s->end, DD_MOMENT_DAY);
    dd_moment_write(begins, s->c->plan->zone, s->c->plan->begins, DD_MOMENT_DAY);
    if (r->held)
        dd_carry_tell(s->c, s->p, "by the chart %s stood paused at %s; from then on it is planned to run until a pause is charted", o->key, end);
    if (hangs && hangs->found_hanging && o->hung == DD_NEVER)
        dd_carry_tell(s->c, s->p, "nobody wrote down when the bag of %s went up; its hang time counts from %s", o->key, begins);
    if (!r->charted_rate)
        return;
    bool drops = o->device == DD_GRAVITY;
    if (r->rate.ul_per_h == 0)
        dd_carry_tell(s->c, s->p, "by the chart %s stood at 0 mL/h at %s; from then on it is planned at the ordered rate until 0 mL/h is charted", o->key, end);
    else if (o->rate_kind != DD_RATE_REMAINDER && (drops ? r->drops == 0 : r->rate.ul_per_h % o->rate_step_ul_h != 0))
        dd_carry_tell(s->c, s->p, "%s goes on at the nearest rate that its %s can be set to, not quite as charted", o->key, drops ? "set" : "pump");
}

static void say_all(settler *s)
{
    for (int i = 0; i < s->p->order_count; i++) {
        const dd_carry_fate *f = &s->fates[i];
        if (f->end == DD_CARRY_GOES_ON)
            say_running(s, f->run, f->hangs);
        for (uint32_t k = 0; k < f->rest_count; k++)
            if (f->rests[k].run->goes_on)
                say_running(s, f->rests[k].run, dd_carry_fate_bag(s->t, f->rests[k].run));
    }
}

/* ---- lines that are out ---- */

static bool is_used(const settler *s, int line)
{
    for (int i = 0; i < s->p->order_count; i++) {
        const dd_carry_fate *f = &s->fates[i];
        if (f->end != DD_CARRY_OVER && f->line == line)
            return true;
        for (uint32_t k = 0; k < f->rest_count; k++)
            if (f->rests[k].run->line == line)
                return true;
    }
    for (uint16_t i = 0; i < s->p->pause_count; i++)
        if (s->p->pauses[i].line == line && s->p->pauses[i].to > s->end)
            return true;
    return false;
}

static void settle_lines(settler *s, bool *gone)
{
    for (int i = 0; i < s->p->line_count; i++) {
        gone[i] = is_out(s, i);
        if (gone[i] && is_used(s, i)) {
            char end[DD_MOMENT_MAX];
            gone[i] = false;
            dd_moment_write(end, s->c->plan->zone, s->end, DD_MOMENT_DAY);
            dd_carry_tell(s->c, s->p, "the line %s was out at %s, and orders or pauses still name it; from then on it is planned to flow until that is charted", s->p->lines[i].key, end);
        }
    }
}

dd_status dd_carry_fate_settle(dd_carry *c, size_t patient)
{
    const dd_patient *p = &c->plan->patients[patient];
    settler s = {.c = c, .p = p, .t = c->timelines[patient], .end = c->plan->end};
    size_t orders = (size_t)p->order_count + 1;
    s.fates = dd_arena_take_many(c->arena, orders, sizeof *s.fates);
    s.dropped_from = dd_arena_take_many(c->arena, orders, sizeof *s.dropped_from);
    bool *gone = dd_arena_take_many(c->arena, (size_t)p->line_count + 1, sizeof *gone);
    if (!s.fates || !s.dropped_from || !gone)
        return DD_NO_MEMORY;
    dd_status status = sort_runs(&s);
    if (status != DD_OK)
        return status;
    find_dropped(&s);
    for (int i = 0; i < p->order_count && status == DD_OK; i++) {
        s.fates[i].start = s.fates[i].ended = DD_NEVER;
        if (!has_doses(&p->orders[i]))
            settle_single(&s, i);
        else if (p->orders[i].repeat == DD_ONCE)
            settle_one_dose(&s, i);
        else
            status = settle_repeated(&s, i);
        apply_stop(&s, i);
    }
    s.changed = true;
    while (status == DD_OK && s.changed) { /* each round settles one more order at least */
        s.changed = false;
        settle_after(&s);
        settle_replaced(&s);
    }
    for (int i = 0; i < p->order_count; i++)
        s.fates[i].line = line_of(&s, i, 0);
    say_all(&s);
    settle_lines(&s, gone);
    c->fates[patient] = (dd_carry_fates){.orders = s.fates, .line_gone = gone};
    for (int i = 0; i < p->order_count; i++)
        c->fates[patient].waiting |= s.fates[i].end == DD_CARRY_WAITS && p->orders[i].runs == DD_PRIMARY;
    return status;
}
