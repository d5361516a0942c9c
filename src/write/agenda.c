#include "agenda.h"

#include <stdlib.h>

#include "item.h"
#include "phrase.h"
#include "summary.h"
#include "todo.h"

#define DAY_S INT64_C(86400)
#define AFTER_MOST 4 /* what comes soon after the list */

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

/* Rounds behind what is tied to that second. */
static int by_time(const void *left, const void *right)
{
    const dd_agenda_entry *a = left, *b = right;
    int c = MORE(a->at, b->at);
    c = c ? c : MORE(a->round, b->round);
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->item, b->item);
}

static bool add(dd_agenda *a, dd_agenda_entry e)
{
    if (!dd_arena_room(a->front.arena, &a->entries, &a->room, a->count, sizeof e))
        return false;
    a->entries[a->count++] = e;
    return true;
}

/* A patient's tasks but those that another line of the list says. */
static dd_status gather_patient(dd_agenda *a, size_t i)
{
    const dd_view *v = a->front.view;
    const dd_timeline *t = v->timelines[i];
    const dd_task *all;
    size_t count, n = 0;
    dd_status status = dd_task_list(t, DD_TASKS_ALL, a->front.from, v->to, a->front.arena, &all, &count);
    dd_task *list = status == DD_OK ? dd_arena_take_many(a->front.arena, count + 1, sizeof *list) : NULL;
    if (!list)
        return DD_NO_MEMORY;
    for (size_t k = 0; k < count; k++) {
        if (dd_todo_in_grid(&all[k])) {
            if (!dd_rounds_add(&a->rounds, a->front.arena, (dd_rounds_look){&all[k], v->patients[i]->team, i}))
                return DD_NO_MEMORY;
        } else if (all[k].kind == DD_TASK_AFTER_DOSE || !dd_todo_told(t, &all[k], a->front.from)) {
            if (!add(a, (dd_agenda_entry){all[k].at, i, n, false}))
                return DD_NO_MEMORY;
            list[n++] = all[k];
        }
    }
    a->lists[i] = (dd_agenda_list){list, n};
    return DD_OK;
}

dd_status dd_agenda_gather(dd_agenda *a)
{
    const dd_view *v = a->front.view;
    a->lists = dd_arena_take_many(a->front.arena, v->count + 1, sizeof *a->lists);
    dd_status status = a->lists ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; status == DD_OK && i < v->count; i++)
        if (v->timelines[i])
            status = gather_patient(a, i);
    dd_rounds_sort(&a->rounds);
    for (size_t first = 0; status == DD_OK && first < a->rounds.count; first = dd_rounds_end(&a->rounds, first))
        if (!add(a, (dd_agenda_entry){a->rounds.looks[first].task->at, 0, first, true}))
            status = DD_NO_MEMORY;
    if (a->count > 1)
        qsort(a->entries, a->count, sizeof *a->entries, by_time);
    return status;
}

/* `6 beds, 9 lines` */
void dd_agenda_size(dd_agenda *a)
{
    const dd_view *v = a->front.view;
    char number[DD_NUMBER_MAX];
    int64_t beds = 0, lines = 0;
    for (size_t i = 0; i < v->count; i++)
        if (v->timelines[i]) {
            beds++;
            lines += v->patients[i]->line_count;
        }
    dd_number_scaled(number, beds, 0, 0, DD_STYLE_PERSON);
    dd_bytes_form(dd_phrase_start(a->front.text), "%s %s, ", number, beds == 1 ? "bed" : "beds");
    dd_number_scaled(number, lines, 0, 0, DD_STYLE_PERSON);
    dd_bytes_form(a->front.text, "%s %s", number, lines == 1 ? "line" : "lines");
    dd_sheet_text(a->front.sheet, 0, 2, dd_phrase_text(a->front.text));
    dd_sheet_rule(a->front.sheet);
}

void dd_agenda_write(dd_agenda *a)
{
    dd_front *f = &a->front;
    dd_sheet_said(f->sheet, "To do, in time order");
    if (!f->sheet->sentences)
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = dd_item_bed_column(f), .text = "bed"}, {.at = dd_item_time_column(f), .text = "time"},
            {.at = dd_item_text_column(f), .text = "what"}, {.at = dd_item_done_column(f), .text = "done"}, {.at = dd_item_by_column(f), .text = "by"}}, f->paper ? 5 : 3);
    dd_sheet_join(f->sheet);
    for (size_t i = 0; i < a->count && f->status == DD_OK; i++) {
        const dd_agenda_entry *e = &a->entries[i];
        dd_sheet_together(f->sheet);
        if (e->round) {
            dd_rounds_write(&a->rounds, f, e->item);
        } else {
            f->timeline = f->view->timelines[e->patient];
            dd_tasks_item(f, a->lists[e->patient].items, e->item, a->lists[e->patient].count); /* one: errands are not in this list */
        }
        dd_sheet_apart(f->sheet);
    }
    if (a->count == 0)
        dd_sheet_text(f->sheet, 0, 0, "nothing in this span");
    dd_sheet_rule(f->sheet);
}

/* ---- what comes after ---- */

/* The first things after the list, as far as the plan goes; of the looks at sites only the first round. */
typedef struct after {
    struct next_task { const dd_task *task; size_t patient; } *next;
    size_t count, room;
    dd_moment round;
} after;

static int by_next(const void *left, const void *right)
{
    const struct next_task *a = left, *b = right;
    int c = MORE(a->task->at, b->task->at);
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->task, b->task);
}

static dd_status gather_after(dd_agenda *a, after *later)
{
    const dd_view *v = a->front.view;
    for (size_t i = 0; i < v->count && v->to < v->plan->end; i++) {
        const dd_task *all;
        size_t n;
        if (!v->timelines[i])
            continue;
        dd_status status = dd_task_list(v->timelines[i], DD_TASKS_ALL, v->to, v->plan->end, a->front.arena, &all, &n);
        for (size_t k = 0, taken = 0; status == DD_OK && k < n && taken < AFTER_MOST; k++) {
            if (dd_todo_in_grid(&all[k]) && (later->round == DD_NEVER || all[k].at < later->round))
                later->round = all[k].at;
            if (all[k].kind == DD_TASK_LOOK || all[k].kind == DD_TASK_FIRST_LOOK || dd_todo_told(v->timelines[i], &all[k], v->to))
                continue;
            if (!dd_arena_room(a->front.arena, &later->next, &later->room, later->count, sizeof *later->next))
                return DD_NO_MEMORY;
            later->next[later->count++] = (struct next_task){&all[k], i};
            taken++;
        }
        if (status != DD_OK)
            return status;
    }
    if (later->count > 1)
        qsort(later->next, later->count, sizeof *later->next, by_next);
    return DD_OK;
}

static void add_when(dd_agenda *a, dd_moment at)
{
    dd_phrase_time(a->front.text, a->front.view->plan, at, at - a->front.view->to < DAY_S ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
    dd_bytes_char(a->front.text, ' ');
}

dd_status dd_agenda_after(dd_agenda *a)
{
    dd_front *f = &a->front;
    const dd_view *v = f->view;
    after later = {.round = DD_NEVER};
    dd_status status = gather_after(a, &later);
    if (status != DD_OK)
        return status;
    bool any = later.count > 0 || later.round != DD_NEVER;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "AFTER ");
    dd_phrase_time(f->text, v->plan, v->to, DD_MOMENT_DAY);
    dd_bytes_text(f->text, v->to == v->plan->end ? ": this plan ends then; what comes next stands in the next one" : any ? ": " : ": nothing in this plan");
    if (later.round != DD_NEVER) {
        add_when(a, later.round);
        dd_bytes_text(f->text, later.count ? "round; " : "round");
    }
    for (size_t i = 0; i < later.count && i < AFTER_MOST; i++) {
        const struct next_task *next = &later.next[i];
        dd_bytes_text(f->text, i ? "; " : "");
        add_when(a, next->task->at);
        dd_bytes_text(f->text, dd_phrase_bed(v->patients[next->patient]));
        dd_bytes_char(f->text, ' ');
        dd_todo_title(f->text, v->timelines[next->patient], next->task, true);
    }
    dd_sheet_text(f->sheet, 0, 2, dd_phrase_text(f->text));
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "This list is out of date after ");
    dd_phrase_time(f->text, v->plan, v->to, DD_MOMENT_DAY);
    dd_bytes_text(f->text, ", or as soon as anything goes otherwise than it says.");
    dd_sheet_text(f->sheet, 0, 2, dd_phrase_text(f->text));
    dd_sheet_rule(f->sheet);
    return DD_OK;
}
