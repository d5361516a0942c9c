#include "daydrip/task.h"

#include <stdlib.h>

#include "care.h"
#include "daydrip/rule.h"
#include "glance.h"
#include "upkeep.h"

#define LEAST_CHANGE 900 /* seconds between two changes of a set or a dressing, whatever a ward's rule says */

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

const char *dd_task_word(unsigned kind)
{
    static const char *const words[] = {
#define TASK(id, word, what) word,
#include "daydrip/task.def"
#undef TASK
    };
    return kind < DD_TASK_COUNT ? words[kind] : "";
}

/* A look, a set or a dressing, wherever in the plan it falls: which visit it is done on is not known before all are. */
typedef struct chore {
    dd_task task;
    dd_moment lowest; /* it can be done so early, and what follows from it is still in time */
} chore;

typedef struct gather {
    const dd_timeline *t;
    dd_moment from, to;
    dd_arena *arena;
    dd_task *items;
    size_t count, room;
    chore *chores;
    size_t chore_count, chore_room;
} gather;

/* Of what lies after the plan's end only the start of a dose that was due before it. */
static bool within(const gather *g, const dd_task *task)
{
    bool beyond = g->to == g->t->plan->end && task->run && task->run->why == DD_END_BEYOND && task->at == task->run->start;
    return task->at != DD_NEVER && task->at >= g->from && (task->at < g->to || beyond);
}

static bool add(gather *g, dd_task task)
{
    if (!within(g, &task))
        return true;
    if (!dd_arena_room(g->arena, &g->items, &g->room, g->count, sizeof task))
        return false;
    g->items[g->count++] = task;
    return true;
}

/* A task that is tied to its moment. */
static dd_task tied(dd_task_kind kind, dd_moment at, int order, int line, int32_t n)
{
    return (dd_task){.at = at, .earliest = DD_NEVER, .latest = DD_NEVER, .due = DD_NEVER, .n = n, .order = (int16_t)order, .line = (int16_t)line, .kind = (uint8_t)kind};
}

bool dd_task_takes_two(const dd_order *o, unsigned kind)
{
    bool changes = kind == DD_TASK_START || kind == DD_TASK_DOSE || kind == DD_TASK_HANG || kind == DD_TASK_RATE || kind == DD_TASK_GOES_ON;
    return changes && (o->category == DD_CAT_BLOOD || o->mixture->insulin || o->mixture->vasoactive);
}

static bool add_with_second(gather *g, dd_task task)
{
    dd_task second = task;
    second.of = task.kind;
    second.kind = DD_TASK_SECOND;
    second.earliest = second.latest = DD_NEVER;
    return add(g, task) && (!dd_task_takes_two(&g->t->patient->orders[task.order], task.kind) || add(g, second));
}

/* ---- runs ---- */

static bool is_feed(const dd_timeline *t, const dd_run *r)
{
    return t->patient->orders[r->order].category == DD_CAT_FEED;
}

/* A bag that hung before the plan began is no start. */
static bool found_hanging(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == r->order && t->bags[i].number == 1)
            return t->bags[i].found_hanging;
    return false;
}

/* Which one it is among the doses of its order that are due in the same second, as when two clocks fall together. */
static int32_t same_due(const dd_timeline *t, size_t run)
{
    int32_t n = 1;
    for (size_t i = 0; i < run; i++)
        n += t->runs[i].order == t->runs[run].order && t->runs[i].due == t->runs[run].due;
    return n;
}

static bool add_dose(gather *g, size_t run)
{
    const dd_timeline *t = g->t;
    const dd_run *r = &t->runs[run];
    const dd_order *o = &t->patient->orders[r->order];
    dd_task dose = tied(is_feed(t, r) ? DD_TASK_FEED : DD_TASK_DOSE, r->start, r->order, r->line, same_due(t, run));
    dose.run = r;
    dose.due = r->due;
    if (r->why == DD_END_UNKNOWN) {
        dose.kind = DD_TASK_ASK;
        dose.at = t->now;
        return add(g, dose);
    }
    if (r->due != DD_NEVER) {
        dose.earliest = r->due - o->window_s;
        dose.latest = r->due + o->window_s;
    }
    if (!add_with_second(g, dose))
        return false;
    /* after a dose the line must be seen to only where nothing goes on */
    dose.kind = DD_TASK_ENDS;
    dose.at = r->why == DD_END_BEYOND ? DD_NEVER : r->end;
    dose.earliest = dose.latest = DD_NEVER;
    return is_feed(t, r) || !within(g, &dose) || dd_glance_flows(t, r->line, r->end) || add(g, dose);
}

static bool add_infusion(gather *g, const dd_run *r)
{
    const dd_timeline *t = g->t;
    dd_task start = tied(DD_TASK_START, r->start, r->order, r->line, 1), end = tied(DD_TASK_ENDS, r->end, r->order, r->line, 1);
    start.run = end.run = r;
    if (r->start == DD_NEVER)
        return true;
    if (within(g, &start) && !found_hanging(t, r) && !add_with_second(g, start))
        return false;
    if (r->why == DD_END_REPLACED || !within(g, &end))
        return true;
    if (r->why == DD_END_STOP || r->why == DD_END_LIMIT) {
        end.kind = DD_TASK_STOP;
        end.n = 0; /* for good: pauses count from 1 */
    } else if (dd_glance_flows(t, r->line, r->end)) {
        end.kind = DD_TASK_FOLLOWED;
    }
    return add(g, end);
}

/* The same goes on as another order. */
static bool goes_on_as_another(const dd_timeline *t, const dd_run *r)
{
    for (int i = 0; r->why == DD_END_REPLACED && i < t->patient->order_count; i++)
        if (t->patient->orders[i].replaces == r->order)
            return t->patient->orders[i].mixture == t->patient->orders[r->order].mixture;
    return false;
}

static bool add_observe(gather *g, const dd_run *r)
{
    const dd_timeline *t = g->t;
    const dd_rule_about about = dd_rule_of_order(t->plan, t->patient, r->order);
    int64_t after = dd_rule_seconds(dd_rule_find(t->plan, DD_RULE_BLOOD_OBSERVE, &about));
    if (r->start == DD_NEVER || r->why == DD_END_BEYOND)
        return true;
    dd_task first = tied(DD_TASK_OBSERVE, r->start + after, r->order, r->line, 1), last = tied(DD_TASK_OBSERVE_END, r->end, r->order, r->line, 2);
    first.run = last.run = r;
    first.due = last.due = r->repeated ? r->due : DD_NEVER;
    bool runs = after > 0 && (r->end == DD_NEVER || first.at < r->end);
    return (!runs || add(g, first)) && (goes_on_as_another(t, r) || add(g, last));
}

static bool add_run(gather *g, size_t run)
{
    const dd_run *r = &g->t->runs[run];
    const dd_order *o = &g->t->patient->orders[r->order];
    if (o->category == DD_CAT_BLOOD && !add_observe(g, r))
        return false;
    return dd_glance_is_infusion(o) ? add_infusion(g, r) : add_dose(g, run);
}

/* ---- bags and marks ---- */

static bool add_bag(gather *g, const dd_bag *b)
{
    const dd_timeline *t = g->t;
    dd_moment fast, slow;
    if (!dd_glance_is_infusion(&t->patient->orders[b->order]))
        return true;
    dd_task hang = tied(DD_TASK_HANG, b->up, b->order, b->line, b->number);
    hang.bag = b;
    if (b->number > 1 && !b->found_hanging && !add_with_second(g, hang))
        return false;
    if (!dd_glance_spread(t, b, &fast, &slow))
        return true;
    dd_task look = tied(DD_TASK_MAY_DRY, fast, b->order, b->line, b->number);
    look.bag = b;
    look.earliest = fast;
    look.latest = slow;
    return add(g, look);
}

/* It flowed up to that very second: where the charted part meets the planned one nothing needs hands. */
static bool flowed_before(const dd_timeline *t, const dd_mark *m)
{
    for (size_t i = 0; i < t->flow_count && t->flows[i].from < m->at; i++)
        if (t->flows[i].order == m->order && t->flows[i].to >= m->at)
            return true;
    return false;
}

/* The dose that ended on the line in that second, or NULL. */
static const dd_run *dose_that_ended(const dd_timeline *t, int line, dd_moment at)
{
    for (size_t i = 0; i < t->run_count; i++)
        if (t->runs[i].line == line && t->runs[i].end == at && t->runs[i].start != DD_NEVER && !dd_glance_is_infusion(&t->patient->orders[t->runs[i].order]))
            return &t->runs[i];
    return NULL;
}

/* Which of the line's interruptions it is, in time order, those that are over by now included. */
static int32_t number_of_pause(const dd_timeline *t, const dd_mark *m)
{
    const dd_pause *found = NULL;
    int32_t n = 1;
    for (int i = 0; i < t->patient->pause_count; i++) {
        const dd_pause *p = &t->patient->pauses[i];
        bool inside = m->kind == DD_MARK_STOPS ? p->from <= m->at && m->at < p->to : p->from < m->at && m->at <= p->to;
        if (inside && (p->line < 0 || p->line == m->line) && (!found || p->from < found->from))
            found = p;
    }
    for (int i = 0; found && i < t->patient->pause_count; i++) {
        const dd_pause *p = &t->patient->pauses[i];
        n += (p->line < 0 || p->line == m->line) && p->from < found->from;
    }
    for (const dd_mark *other = t->marks; !found && other < m; other++) /* by the chart */
        n += other->order == m->order && other->kind == m->kind && other->cause < 0;
    return n;
}

static bool add_after_dose(gather *g, dd_task task)
{
    const dd_timeline *t = g->t;
    task.kind = DD_TASK_AFTER_DOSE;
    task.run = dose_that_ended(t, task.line, task.at);
    task.n = 1;
    if (task.run) {
        task.due = task.run->due;
        task.n = same_due(t, (size_t)(task.run - t->runs));
    }
    return add(g, task);
}

static bool add_mark(gather *g, const dd_mark *m)
{
    static const uint8_t kinds[] = {[DD_MARK_STOPS] = DD_TASK_PAUSE, [DD_MARK_GOES_ON] = DD_TASK_GOES_ON, [DD_MARK_STEP] = DD_TASK_RATE};
    dd_task task = tied(kinds[m->kind], m->at, m->order, m->line, m->step);
    task.mark = m;
    task.due = m->due;
    if (!within(g, &task) || (m->kind == DD_MARK_GOES_ON && flowed_before(g->t, m)))
        return true;
    if (m->kind == DD_MARK_STEP && dd_glance_rate_before(g->t, m) == m->rate.ul_per_h) /* ordered differently, set the same */
        return true;
    if (m->kind != DD_MARK_STEP && m->cause >= 0) /* that it stops the start of the dose says */
        return m->kind == DD_MARK_STOPS || add_after_dose(g, task);
    if (m->kind != DD_MARK_STEP)
        task.n = number_of_pause(g->t, m);
    return add_with_second(g, task);
}

/* ---- care of the line ---- */

static bool add_chore(gather *g, dd_task task, dd_moment lowest)
{
    if (!dd_arena_room(g->arena, &g->chores, &g->chore_room, g->chore_count, sizeof *g->chores))
        return false;
    g->chores[g->chore_count++] = (chore){task, lowest};
    return true;
}

static int32_t charted_since_begin(const dd_timeline *t, int line, int kind)
{
    int32_t n = 0;
    for (size_t i = 0; i < t->event_count; i++)
        n += t->events[i]->line == line && t->events[i]->kind == kind && t->events[i]->time >= t->plan->begins;
    return n;
}

/* A set or a dressing, each time that it falls due: on the last round in time. One that is overdue is to be changed now. `once`: because
 * of a fluid that was in it, which says nothing of the next one. */
static bool add_changes(gather *g, int line, dd_task_kind kind, int event, dd_upkeep_due due, bool once)
{
    const dd_timeline *t = g->t;
    dd_moment now = t->now > t->plan->begins ? t->now : t->plan->begins;
    int32_t n = charted_since_begin(t, line, event);
    int64_t lasts = due.every < LEAST_CHANGE ? LEAST_CHANGE : due.every;
    if (due.at == DD_NEVER)
        return true;
    for (dd_moment latest = due.at, at; latest < t->plan->end; latest = at + lasts) {
        dd_task task = tied(kind, DD_NEVER, -1, line, ++n);
        task.latest = latest;
        task.earliest = latest - dd_care_every(t, line);
        dd_moment round = dd_care_round(t, line, (task.earliest > now ? task.earliest : now) - 1, latest);
        task.round = round != DD_NEVER;
        at = task.round ? round : latest > now ? latest : now;
        task.at = at;
        dd_moment lowest = task.earliest > now ? task.earliest : now;
        bool last = once || lowest + lasts >= t->plan->end; /* else the one after it would come earlier too */
        if (!add_chore(g, task, last && lowest < at ? lowest : at))
            return false;
        if (once)
            break;
    }
    return true;
}

static bool add_all_changes(gather *g)
{
    for (int line = 0; line < g->t->patient->line_count; line++) {
        const dd_upkeep care = dd_upkeep_of(g->t, line);
        if (care.off_since == DD_NEVER && !(add_changes(g, line, DD_TASK_SET, DD_EVENT_SET_CHANGED, care.set, care.set.since != care.set_changed) &&
                                            add_changes(g, line, DD_TASK_DRESSING, DD_EVENT_DRESSED, care.dressing, false)))
            return false;
    }
    return true;
}

/* What no round is in time for. NULL: no memory. */
static dd_visit_span *off_rounds(gather *g, size_t *count)
{
    dd_visit_span *spans = dd_arena_take_many(g->arena, g->chore_count + 1, sizeof *spans);
    *count = 0;
    for (size_t i = 0; spans && i < g->chore_count; i++)
        if (!g->chores[i].task.round)
            spans[(*count)++] = (dd_visit_span){g->chores[i].lowest, g->chores[i].task.at, &g->chores[i].task.at};
    return spans;
}

/* How early it can be without the next look at the site being late; and not so early that it falls together with the one before. */
static dd_moment lowest_of(const dd_look *looks, size_t i, size_t count)
{
    const dd_look *l = &looks[i];
    const dd_look *before = i > 0 && looks[i - 1].line == l->line ? &looks[i - 1] : NULL, *next = i + 1 < count && looks[i + 1].line == l->line ? &looks[i + 1] : NULL;
    dd_moment lowest = l->at, least = before ? before->at + 1 : l->earliest;
    if (next && !next->first_of && next->latest > next->at) /* the next is counted from this one */
        lowest = l->at - (next->latest - next->at);
    lowest = lowest > l->earliest ? lowest : l->earliest;
    lowest = lowest > least ? lowest : least;
    return lowest < l->at ? lowest : l->at;
}

static dd_status add_looks(gather *g)
{
    const dd_timeline *t = g->t;
    const dd_look *looks;
    size_t count, other_count;
    int32_t n = 0;
    const dd_visit_span *others = off_rounds(g, &other_count);
    dd_status status = others ? dd_care_looks(t, g->from < t->now ? g->from : t->now, others, other_count, g->arena, &looks, &count) : DD_NO_MEMORY;
    for (size_t i = 0; status == DD_OK && i < count; i++) { /* by line */
        const dd_look *l = &looks[i];
        if (i == 0 || l->line != looks[i - 1].line)
            n = charted_since_begin(t, l->line, DD_EVENT_CHECKED);
        dd_task task = tied(DD_TASK_LOOK, l->at, -1, l->line, ++n);
        task.earliest = l->earliest;
        task.latest = l->latest;
        task.round = l->round;
        if (l->first_of) {
            task.kind = DD_TASK_FIRST_LOOK;
            task.run = l->first_of;
            task.order = l->first_of->order;
            task.due = l->first_of->repeated ? l->first_of->due : DD_NEVER;
            task.n = -l->moved; /* 0: the one after its start; bags that may be dry count from 1 */
        }
        if (!add_chore(g, task, lowest_of(looks, i, count)))
            status = DD_NO_MEMORY;
    }
    return status;
}

/* Sets and dressings, then looks, and what no round is in time for in the fewest visits to the bed. */
static dd_status add_visits(gather *g)
{
    size_t count = 0;
    dd_status status = add_all_changes(g) ? add_looks(g) : DD_NO_MEMORY;
    dd_visit_span *spans = status == DD_OK ? off_rounds(g, &count) : NULL;
    if (!spans)
        return DD_NO_MEMORY;
    dd_visit_cover(spans, count);
    for (size_t i = 0; i < g->chore_count; i++)
        if (!add(g, g->chores[i].task))
            return DD_NO_MEMORY;
    return DD_OK;
}

/* ---- the list ---- */

static int by_time(const void *left, const void *right)
{
    const dd_task *a = left, *b = right;
    int c = MORE(a->at, b->at);
    c = c ? c : MORE(a->kind, b->kind);
    c = c ? c : MORE(a->line, b->line);
    c = c ? c : MORE(a->order, b->order);
    c = c ? c : MORE(a->due, b->due);
    return c ? c : MORE(a->n, b->n);
}

dd_status dd_task_list(const dd_timeline *t, unsigned which, dd_moment from, dd_moment to, dd_arena *arena, const dd_task **tasks, size_t *count)
{
    gather g = {.t = t, .from = from, .to = to, .arena = arena};
    bool room = true, flow = which & DD_TASKS_FLOW;
    for (size_t i = 0; i < t->run_count && room && flow; i++)
        room = add_run(&g, i);
    for (size_t i = 0; i < t->bag_count && room && flow; i++)
        room = add_bag(&g, &t->bags[i]);
    for (size_t i = 0; i < t->mark_count && room && flow; i++)
        room = add_mark(&g, &t->marks[i]);
    dd_status status = room ? DD_OK : DD_NO_MEMORY;
    if (status == DD_OK && (which & DD_TASKS_CARE))
        status = add_visits(&g);
    if (status != DD_OK)
        return status;
    if (g.count > 1)
        qsort(g.items, g.count, sizeof *g.items, by_time);
    *tasks = g.items;
    *count = g.count;
    return DD_OK;
}
