/* soon.c - the summary's part about what comes soon or at once: bags that run dry, the handover, two things in one minute. */
#include "summary.h"

#include <stdlib.h>

#include "phrase.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define HANDOVER_S 900   /* half of the handover half hour */
#define DRY_MOST 6       /* bags that are named */
#define TOGETHER_MOST 12 /* entries of a list; then a count */

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

static const char *bed_of(const dd_summary *m, size_t i)
{
    return dd_phrase_bed(m->view->patients[i]);
}

static void add_dry(dd_bytes *out, const dd_summary *m, const dd_summary_dry *d)
{
    dd_summary_when(out, m->view, d->at);
    dd_bytes_char(out, ' ');
    dd_bytes_text(out, bed_of(m, d->patient));
    dd_bytes_char(out, ' ');
    dd_bytes_text(out, m->view->patients[d->patient]->lines[d->line].key);
}

/* `22:48 bay1-bed2 right-hand`, two beside each other. */
static void set_dries(dd_summary *m)
{
    size_t shown = m->dry_count < DRY_MOST ? m->dry_count : DRY_MOST;
    int middle = m->sheet->width / 2;
    dd_bytes right = DD_BYTES(TEXT_CEILING);
    dd_sheet_title(m->sheet, 0, 0, shown ? "RUNS DRY FIRST" : "RUNS DRY FIRST          no bag in this span", shown ? "What runs dry first" : "No bag runs dry in this span");
    for (size_t i = 0; i < shown; i += 2) {
        dd_sheet_join(m->sheet);
        add_dry(dd_phrase_start(m->text), m, &m->dries[i]);
        dd_phrase_start(&right);
        if (i + 1 < shown)
            add_dry(&right, m, &m->dries[i + 1]);
        dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 1, .width = middle - 2, .after = 6, .text = dd_phrase_text(m->text), .say = "dry"},
            {.at = middle, .after = 6, .text = dd_phrase_text(&right), .say = "dry"}}, 2);
    }
    m->status = right.failed ? DD_NO_MEMORY : m->status;
    dd_bytes_free(&right);
}

static void set_task(dd_summary *m, dd_moment at, size_t patient, const dd_task *todo)
{
    dd_phrase_start(m->text);
    dd_summary_when(m->text, m->view, at);
    dd_bytes_char(m->text, ' ');
    dd_bytes_text(m->text, bed_of(m, patient));
    dd_bytes_char(m->text, ' ');
    dd_todo_title(m->text, m->view->timelines[patient], todo, true);
    dd_sheet_text(m->sheet, 1, 7, dd_phrase_text(m->text));
}

static void set_more(dd_summary *m, size_t more)
{
    char number[DD_NUMBER_MAX];
    if (more == 0)
        return;
    dd_phrase_start(m->text);
    dd_bytes_text(m->text, "and ");
    dd_bytes_add(m->text, number, dd_number_scaled(number, (int64_t)more, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(m->text, " more");
    dd_sheet_text(m->sheet, 1, 7, dd_phrase_text(m->text));
}

/* What falls where the nurses of both shifts stand at the desk. */
static void set_handover(dd_summary *m)
{
    const dd_view *v = m->view;
    dd_moment from = v->to - HANDOVER_S, to = v->to + HANDOVER_S;
    size_t shown = 0;
    dd_phrase_start(m->text);
    dd_bytes_text(m->text, "IN THE HANDOVER HALF HOUR, ");
    dd_phrase_time(m->text, v->plan, from, DD_MOMENT_CLOCK);
    dd_bytes_text(m->text, " to ");
    dd_phrase_time(m->text, v->plan, to, DD_MOMENT_CLOCK);
    if (to > v->plan->end) { /* what starts after it is not known here */
        dd_bytes_text(m->text, "; this plan ends ");
        dd_phrase_time(m->text, v->plan, v->plan->end, DD_MOMENT_CLOCK);
    }
    dd_sheet_title(m->sheet, 0, 2, dd_phrase_text(m->text), NULL);
    dd_sheet_join(m->sheet);
    for (size_t i = 0; i < v->count; i++) {
        const dd_task *items;
        size_t count;
        if (!v->timelines[i])
            continue;
        m->status = dd_todo_make(v->timelines[i], DD_TASKS_FLOW, from, to, m->arena, &items, &count);
        if (m->status != DD_OK)
            return;
        for (size_t k = 0; k < count; k++) {
            if (items[k].kind == DD_TASK_FETCH)
                continue;
            if (shown++ < TOGETHER_MOST)
                set_task(m, items[k].at, i, &items[k]);
        }
    }
    set_more(m, shown > TOGETHER_MOST ? shown - TOGETHER_MOST : 0);
    if (shown == 0)
        dd_sheet_text(m->sheet, 1, 1, "nothing but the round");
}

typedef struct moment_task { const char *team; const dd_summary_task *task; } moment_task;

static int by_team_and_minute(const void *left, const void *right)
{
    const moment_task *a = left, *b = right;
    int c = MORE(a->task->todo->at / 60, b->task->todo->at / 60);
    c = c ? c : dd_summary_by_team(a->team, b->team);
    c = c ? c : MORE(a->task->patient, b->task->patient);
    return c ? c : MORE(a->task, b->task);
}

/* One nurse wanted at two beds in the same minute. */
static void set_together(dd_summary *m)
{
    size_t shown = 0;
    moment_task *all = dd_arena_take_many(m->arena, m->task_count + 1, sizeof *all);
    if (!all) {
        m->status = DD_NO_MEMORY;
        return;
    }
    size_t count = 0;
    for (size_t i = 0; i < m->task_count; i++)
        if (m->tasks[i].todo->kind != DD_TASK_ASK) /* a question is not tied to its minute */
            all[count++] = (moment_task){m->view->patients[m->tasks[i].patient]->team, &m->tasks[i]};
    if (count > 1)
        qsort(all, count, sizeof *all, by_team_and_minute);
    for (size_t i = 0, next; i < count; i = next) {
        bool beds = false;
        for (next = i + 1; next < count && all[next].task->todo->at / 60 == all[i].task->todo->at / 60 &&
                           dd_summary_by_team(all[next].team, all[i].team) == 0; next++)
            beds |= all[next].task->patient != all[i].task->patient;
        if (!beds || shown++ >= TOGETHER_MOST)
            continue;
        if (shown == 1) {
            dd_sheet_title(m->sheet, 0, 0, "TWO THINGS AT ONCE", "Two things at once");
            dd_sheet_join(m->sheet);
        }
        dd_phrase_start(m->text);
        dd_summary_when(m->text, m->view, all[i].task->todo->at);
        if (all[i].team) {
            dd_bytes_char(m->text, ' ');
            dd_summary_team(m->text, all[i].team);
        }
        for (size_t k = i; k < next; k++) {
            dd_bytes_text(m->text, k == i ? "  " : m->sheet->sentences ? " and " : "; ");
            dd_bytes_text(m->text, bed_of(m, all[k].task->patient));
            dd_bytes_char(m->text, ' ');
            dd_todo_title(m->text, m->view->timelines[all[k].task->patient], all[k].task->todo, true);
        }
        dd_sheet_text(m->sheet, 1, 7, dd_phrase_text(m->text));
    }
    set_more(m, shown > TOGETHER_MOST ? shown - TOGETHER_MOST : 0);
    if (shown == 0)
        dd_sheet_title(m->sheet, 0, 24, "TWO THINGS AT ONCE      none in one team in one minute", "Two things at once: none in one team in one minute");
}

/* A line of what stands in m->text; the first one has the heading. */
static void set_two(dd_summary *m, bool *any)
{
    if (!*any)
        dd_sheet_said(m->sheet, "Two nurses are needed");
    dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 0, .width = 23, .text = *any ? "" : "TWO NURSES NEEDED", .silent = true}, {.at = 24, .after = 6, .text = dd_phrase_text(m->text)}}, 2);
    *any = true;
}

/* What runs now and takes two whenever its rate or bag is changed: `on any change: bay3-bed1 insulin`. */
static void set_on_change(dd_summary *m, bool *any)
{
    bool first = true;
    dd_phrase_start(m->text);
    for (size_t i = 0; i < m->view->count; i++) {
        const dd_timeline *t = m->view->timelines[i];
        for (size_t k = 0; t && k < t->flow_count; k++) {
            const dd_flow *f = &t->flows[k];
            const dd_order *o = &t->patient->orders[f->order];
            if (f->from > m->view->now || f->to <= m->view->now || f->part != DD_PART_BAG || !dd_task_takes_two(o, DD_TASK_RATE))
                continue;
            dd_bytes_text(m->text, first ? "on any change: " : ", ");
            dd_bytes_text(m->text, bed_of(m, i));
            dd_bytes_char(m->text, ' ');
            dd_bytes_text(m->text, o->mixture->drug ? o->mixture->drug : o->mixture->words);
            first = false;
        }
    }
    if (!first)
        set_two(m, any);
}

/* Blood, insulin, and what acts on heart and vessels is checked by two at every change. */
static void set_two_nurses(dd_summary *m)
{
    bool any = false;
    for (size_t i = 0; i < m->task_count; i++) {
        const dd_summary_task *task = &m->tasks[i];
        const dd_task *todo = task->todo;
        if (todo->order < 0 || !dd_task_takes_two(&m->view->patients[task->patient]->orders[todo->order], todo->kind))
            continue;
        const dd_order *o = &m->view->patients[task->patient]->orders[todo->order];
        dd_phrase_start(m->text);
        dd_summary_when(m->text, m->view, todo->at);
        dd_bytes_char(m->text, ' ');
        dd_bytes_text(m->text, bed_of(m, task->patient));
        dd_bytes_char(m->text, ' ');
        dd_phrase_what(m->text, o);
        if (todo->kind == DD_TASK_HANG || todo->kind == DD_TASK_RATE || todo->kind == DD_TASK_GOES_ON) {
            dd_bytes_text(m->text, todo->kind == DD_TASK_HANG ? ", new bag" : todo->kind == DD_TASK_RATE ? ", new rate" : ", goes on");
        } else if (o->volume_ul != DD_UNKNOWN) {
            dd_bytes_text(m->text, ", ");
            dd_phrase_ul(m->text, o->volume_ul);
        }
        set_two(m, &any);
    }
    set_on_change(m, &any);
    if (!any)
        dd_sheet_title(m->sheet, 0, 24, "TWO NURSES NEEDED       for no change of blood, insulin or drugs that act on heart and vessels; else by local policy", "Two nurses are needed for no change of blood, insulin or drugs that act on heart and vessels; else by local policy");
}

void dd_soon_write(dd_summary *m)
{
    set_dries(m);
    set_handover(m);
    if (m->status == DD_OK)
        set_together(m);
    set_two_nurses(m);
}
