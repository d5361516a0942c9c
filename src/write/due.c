/* due.c - `due` as text: what is wrong first, then everything that needs hands, bed by bed in time order, with the looks at sites gathered
 * into the rounds of each team. */
#include "due.h"

#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "checked.h"
#include "front.h"
#include "item.h"
#include "phrase.h"
#include "rounds.h"
#include "summary.h"
#include "todo.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DAY_S INT64_C(86400)
#define AFTER_MOST 4 /* what comes soon after the list */

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

/* One item of the list: a patient's task, or a round. */
typedef struct entry {
    dd_moment at;
    size_t patient, item; /* into the view, and its list; of a round: its number among the rounds */
    bool round;
} entry;

typedef struct due_list { const dd_task *items; size_t count; } due_list;

typedef struct due {
    dd_front front; /* the timeline is that of the item at hand */
    due_list *lists; /* per patient of the view */
    entry *entries;
    size_t count, room;
    dd_rounds rounds;
} due;

/* Rounds behind what is tied to that second. */
static int by_time(const void *left, const void *right)
{
    const entry *a = left, *b = right;
    int c = MORE(a->at, b->at);
    c = c ? c : MORE(a->round, b->round);
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->item, b->item);
}

static bool add(due *d, entry e)
{
    if (!dd_arena_room(d->front.arena, &d->entries, &d->room, d->count, sizeof e))
        return false;
    d->entries[d->count++] = e;
    return true;
}

/* A patient's tasks but those that another line of the list says. */
static dd_status gather_patient(due *d, size_t i)
{
    const dd_view *v = d->front.view;
    const dd_timeline *t = v->timelines[i];
    const dd_task *all;
    size_t count, n = 0;
    dd_status status = dd_task_list(t, DD_TASKS_ALL, d->front.from, v->to, d->front.arena, &all, &count);
    dd_task *list = status == DD_OK ? dd_arena_take_many(d->front.arena, count + 1, sizeof *list) : NULL;
    if (!list)
        return DD_NO_MEMORY;
    for (size_t k = 0; k < count; k++) {
        if (dd_todo_in_grid(&all[k])) {
            if (!dd_rounds_add(&d->rounds, d->front.arena, (dd_rounds_look){&all[k], v->patients[i]->team, i}))
                return DD_NO_MEMORY;
        } else if (all[k].kind == DD_TASK_AFTER_DOSE || !dd_todo_told(t, &all[k], d->front.from)) {
            if (!add(d, (entry){all[k].at, i, n, false}))
                return DD_NO_MEMORY;
            list[n++] = all[k];
        }
    }
    d->lists[i] = (due_list){list, n};
    return DD_OK;
}

static dd_status gather(due *d)
{
    const dd_view *v = d->front.view;
    d->lists = dd_arena_take_many(d->front.arena, v->count + 1, sizeof *d->lists);
    dd_status status = d->lists ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; status == DD_OK && i < v->count; i++)
        if (v->timelines[i])
            status = gather_patient(d, i);
    dd_rounds_sort(&d->rounds);
    for (size_t first = 0; status == DD_OK && first < d->rounds.count; first = dd_rounds_end(&d->rounds, first))
        if (!add(d, (entry){d->rounds.looks[first].task->at, 0, first, true}))
            status = DD_NO_MEMORY;
    if (d->count > 1)
        qsort(d->entries, d->count, sizeof *d->entries, by_time);
    return status;
}

/* `6 beds, 9 lines` */
static void set_size(due *d)
{
    const dd_view *v = d->front.view;
    char number[DD_NUMBER_MAX];
    int64_t beds = 0, lines = 0;
    for (size_t i = 0; i < v->count; i++)
        if (v->timelines[i]) {
            beds++;
            lines += v->patients[i]->line_count;
        }
    dd_number_scaled(number, beds, 0, 0, DD_STYLE_PERSON);
    dd_bytes_form(dd_phrase_start(d->front.text), "%s %s, ", number, beds == 1 ? "bed" : "beds");
    dd_number_scaled(number, lines, 0, 0, DD_STYLE_PERSON);
    dd_bytes_form(d->front.text, "%s %s", number, lines == 1 ? "line" : "lines");
    dd_sheet_text(d->front.sheet, 0, 2, dd_phrase_text(d->front.text));
    dd_sheet_rule(d->front.sheet);
}

static void set_entries(due *d)
{
    dd_front *f = &d->front;
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .text = "bed"}, {.at = f->bed, .text = "time"}, {.at = dd_item_text_column(f), .text = "what"}}, 3);
    dd_sheet_join(f->sheet);
    for (size_t i = 0; i < d->count && f->status == DD_OK; i++) {
        const entry *e = &d->entries[i];
        if (e->round) {
            dd_rounds_write(&d->rounds, f, e->item);
            continue;
        }
        f->timeline = f->view->timelines[e->patient];
        dd_tasks_item(f, d->lists[e->patient].items, e->item, d->lists[e->patient].count); /* one: errands are not in this list */
    }
    if (d->count == 0)
        dd_sheet_text(f->sheet, 0, 0, "nothing in this span");
    dd_sheet_rule(f->sheet);
}

/* ---- what comes after ---- */

typedef struct next_task { const dd_task *task; size_t patient; } next_task;

static int by_next(const void *left, const void *right)
{
    const next_task *a = left, *b = right;
    int c = MORE(a->task->at, b->task->at);
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->task, b->task);
}

/* The first things after the list, as far as the plan goes. */
static dd_status set_after(due *d)
{
    dd_front *f = &d->front;
    const dd_view *v = f->view;
    next_task *next = NULL;
    size_t count = 0, room = 0;
    for (size_t i = 0; i < v->count && v->to < v->plan->end; i++) {
        const dd_task *all;
        size_t n;
        if (!v->timelines[i])
            continue;
        dd_status status = dd_task_list(v->timelines[i], DD_TASKS_FLOW, v->to, v->plan->end, f->arena, &all, &n);
        for (size_t k = 0, taken = 0; status == DD_OK && k < n && taken < AFTER_MOST; k++) {
            if (dd_todo_told(v->timelines[i], &all[k], v->to))
                continue;
            if (!dd_arena_room(f->arena, &next, &room, count, sizeof *next))
                return DD_NO_MEMORY;
            next[count++] = (next_task){&all[k], i};
            taken++;
        }
        if (status != DD_OK)
            return status;
    }
    if (count > 1)
        qsort(next, count, sizeof *next, by_next);
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "AFTER ");
    dd_phrase_time(f->text, v->plan, v->to, DD_MOMENT_DAY);
    dd_bytes_text(f->text, v->to == v->plan->end ? ": this plan ends then; what comes next stands in the next one" : count ? ": " : ": nothing in this plan");
    for (size_t i = 0; i < count && i < AFTER_MOST; i++) {
        dd_bytes_text(f->text, i ? "; " : "");
        dd_phrase_time(f->text, v->plan, next[i].task->at, next[i].task->at - v->to < DAY_S ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
        dd_bytes_char(f->text, ' ');
        dd_bytes_text(f->text, dd_phrase_bed(v->patients[next[i].patient]));
        dd_bytes_char(f->text, ' ');
        dd_todo_title(f->text, v->timelines[next[i].patient], next[i].task, true);
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

dd_status dd_due_list(const dd_view *view, dd_bytes *out)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet sheet;
    due d = {.front = {.view = view, .sheet = &sheet, .text = &text, .from = view->from, .bed = dd_item_bed_columns(view), .arena = dd_arena_new()}};
    d.front.long_span = view->to - view->from > DAY_S;
    dd_sheet_start(&sheet, out, view->width, false, 1);
    dd_status status = d.front.arena ? dd_summary_first(&sheet, view, d.front.arena) : DD_NO_MEMORY;
    if (status == DD_OK)
        status = gather(&d);
    if (status == DD_OK) {
        set_size(&d);
        set_entries(&d);
        status = d.front.status == DD_OK ? set_after(&d) : d.front.status;
    }
    if (status == DD_OK)
        status = dd_checked_set(&sheet, view, true); /* no list may read as if everything had been looked for */
    if (text.failed && status == DD_OK)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    dd_arena_free(d.front.arena);
    dd_sheet_pour(&sheet);
    dd_status finished = dd_sheet_finish(&sheet);
    return status != DD_OK ? status : finished;
}
