#include "daydrip/visit.h"

#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "glance.h"

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

bool dd_visit_has_span(const dd_task *task)
{
    return task->kind == DD_TASK_LOOK || task->kind == DD_TASK_FIRST_LOOK || task->kind == DD_TASK_SET || task->kind == DD_TASK_DRESSING;
}

/* ---- the fewest visits ---- */

static int by_latest(const void *left, const void *right)
{
    const dd_visit_span *a = left, *b = right;
    int c = MORE(a->latest, b->latest);
    return c ? c : MORE(a->earliest, b->earliest);
}

void dd_visit_cover(dd_visit_span *spans, size_t count)
{
    dd_moment visit = DD_NEVER;
    if (count > 1)
        qsort(spans, count, sizeof *spans, by_latest);
    for (size_t i = 0; i < count; i++) {
        if (visit == DD_NEVER || spans[i].earliest > visit)
            visit = spans[i].latest;
        *spans[i].at = visit;
    }
}

/* ---- gathering ---- */

/* A task on its way into a visit. */
typedef struct member {
    dd_visit_task it;
    const char *team;
    size_t lead, number; /* in the patient's list: the task that it goes with (itself where with none), and its own */
    bool round;
} member;

typedef struct gathering {
    const dd_timeline *t;  /* the patient at hand */
    const dd_task *tasks;
    size_t patient;
    dd_moment from, told_from;
    bool each;
    dd_arena *arena;
    member *members;
    size_t count, room;
} gathering;

/* The task of this order in this second whose kind is one of two; `own` where there is none. */
static size_t lead_of(const gathering *g, size_t count, size_t own, unsigned kind, unsigned or_kind)
{
    const dd_task *task = &g->tasks[own];
    for (size_t i = 0; i < count; i++)
        if (g->tasks[i].at == task->at && g->tasks[i].order == task->order && (g->tasks[i].kind == kind || g->tasks[i].kind == or_kind))
            return i;
    return own;
}

/* The first of what may be done in a span that is planned for this second, at no round. */
static size_t first_of_visit(const gathering *g, size_t own)
{
    size_t first = own;
    for (size_t i = own; i-- > 0 && g->tasks[i].at == g->tasks[own].at;)
        if (dd_visit_has_span(&g->tasks[i]) && !g->tasks[i].round)
            first = i;
    return first;
}

/* Which task it goes with. What always comes in the same second as another is said with it: only what can never move apart may share a
 * name, or a task that moves would seem to be gone. */
static size_t goes_with(const gathering *g, size_t count, size_t own)
{
    const dd_task *task = &g->tasks[own];
    if (g->each)
        return own;
    if (task->kind == DD_TASK_SECOND)
        return lead_of(g, count, own, task->of, task->of);
    if (task->kind == DD_TASK_OBSERVE_END)
        return lead_of(g, count, own, DD_TASK_ENDS, DD_TASK_STOP);
    return dd_visit_has_span(task) && !task->round ? first_of_visit(g, own) : own;
}

static bool is_wanted(const gathering *g, const dd_task *task)
{
    bool told = task->kind == DD_TASK_AFTER_DOSE && task->run && task->run->start >= g->told_from;
    return *dd_task_word(task->kind) && (g->each || !told);
}

static dd_status gather_patient(gathering *g, dd_moment to)
{
    size_t count;
    dd_status status = dd_task_list(g->t, DD_TASKS_ALL, g->from, to, g->arena, &g->tasks, &count);
    for (size_t i = 0; status == DD_OK && i < count; i++) {
        const dd_task *task = &g->tasks[i];
        if (!is_wanted(g, task))
            continue;
        if (!dd_arena_room(g->arena, &g->members, &g->room, g->count, sizeof *g->members))
            return DD_NO_MEMORY;
        g->members[g->count++] = (member){.it = {task, g->patient}, .team = g->t->patient->team, .lead = goes_with(g, count, i), .number = i,
            .round = !g->each && dd_visit_has_span(task) && task->round};
    }
    return status;
}

static int by_team(const char *a, const char *b)
{
    return !a || !b ? MORE(!a, !b) : strcmp(a, b);
}

static int by_visit(const void *left, const void *right)
{
    const member *a = left, *b = right;
    int c = MORE(a->it.task->at, b->it.task->at);
    c = c ? c : MORE(a->round, b->round);
    if (c == 0 && a->round) {
        c = by_team(a->team, b->team);
        c = c ? c : MORE(a->it.patient, b->it.patient);
        c = c ? c : MORE(a->it.task->line, b->it.task->line);
        c = c ? c : MORE(a->it.task->kind, b->it.task->kind);
    }
    c = c ? c : MORE(a->it.patient, b->it.patient);
    c = c ? c : MORE(a->lead, b->lead);
    return c ? c : MORE(a->number, b->number);
}

static bool same_visit(const member *a, const member *b)
{
    if (a->it.task->at != b->it.task->at || a->round != b->round)
        return false;
    return a->round ? by_team(a->team, b->team) == 0 : a->it.patient == b->it.patient && a->lead == b->lead;
}

/* Cuts the sorted members into visits. */
static dd_status cut(const gathering *g, const dd_visit **visits, size_t *visit_count)
{
    dd_visit_task *tasks = dd_arena_take_many(g->arena, g->count + 1, sizeof *tasks);
    dd_visit *list = dd_arena_take_many(g->arena, g->count + 1, sizeof *list);
    size_t n = 0;
    if (!tasks || !list)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < g->count; i++) {
        const member *m = &g->members[i];
        tasks[i] = m->it;
        if (i == 0 || !same_visit(m, m - 1))
            list[n++] = (dd_visit){.at = m->it.task->at, .tasks = &tasks[i], .team = m->round ? m->team : NULL, .round = m->round};
        list[n - 1].count++;
    }
    *visits = list;
    *visit_count = n;
    return DD_OK;
}

dd_status dd_visit_plan(const dd_timeline *const *timelines, size_t count, dd_moment from, dd_moment told_from, dd_moment to, bool each,
    dd_arena *arena, const dd_visit **visits, size_t *visit_count)
{
    gathering g = {.from = from, .told_from = told_from, .each = each, .arena = arena};
    for (size_t i = 0; i < count; i++) {
        g.t = timelines[i];
        g.patient = i;
        if (g.t && gather_patient(&g, to) != DD_OK)
            return DD_NO_MEMORY;
    }
    if (g.count > 1)
        qsort(g.members, g.count, sizeof *g.members, by_visit);
    return cut(&g, visits, visit_count);
}
