#include "due.h"

#include "arena.h"
#include "glance.h"
#include "merge.h"
#include "phrase.h"
#include "rows.h"
#include "todo.h"

#define TEXT_CEILING ((size_t)1 << 20)

static void add_whole(dd_bytes *out, int64_t value)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, value, 0, 0, DD_STYLE_PERSON));
}

static void add_day(dd_bytes *out, const dd_timeline *t, dd_moment at)
{
    dd_phrase_time(out, t->plan, at, DD_MOMENT_DAY);
}

/* `, 80 mL/h`: what the bag first flows at. */
static void add_bag_rate(dd_bytes *out, const dd_timeline *t, const dd_bag *b)
{
    for (size_t i = 0; i < t->flow_count; i++)
        if (t->flows[i].order == b->order && t->flows[i].bag == b->number && t->flows[i].from >= b->up) {
            dd_bytes_text(out, ", ");
            dd_phrase_rate_of(out, t, b->order, t->flows[i].rate);
            return;
        }
}

static void add_hang(dd_bytes *out, const dd_timeline *t, const dd_bag *b)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_text(out, "bag ");
    add_whole(out, b->number);
    dd_bytes_text(out, ", ");
    dd_bytes_add(out, number, dd_number_u(number, b->hung, 3, DD_STYLE_PERSON));
    dd_bytes_text(out, " mL: ");
    dd_bytes_text(out, t->patient->orders[b->order].mixture->words);
    add_bag_rate(out, t, b);
}

/* What comes on a line on which something has ended. */
static void add_next(dd_bytes *out, const dd_timeline *t, const dd_task *task)
{
    const dd_run *next = dd_glance_next_run(t, task->line, task->at);
    if (!next) {
        dd_bytes_text(out, "; nothing follows in this plan");
        return;
    }
    dd_bytes_text(out, "; next: ");
    dd_phrase_what(out, &t->patient->orders[next->order]);
    dd_bytes_text(out, ", ");
    add_day(out, t, next->start);
}

static void add_change(dd_bytes *out, const dd_timeline *t, const dd_task *task)
{
    const char *dressing = t->patient->lines[task->line].dressing;
    if (task->kind == DD_TASK_DRESSING && dressing) {
        dd_bytes_text(out, dressing);
        dd_bytes_text(out, "; ");
    }
    dd_todo_since(out, t, task);
}

/* About a run, a bag or a mark of an order. */
static void add_about_order(dd_bytes *out, const dd_timeline *t, const dd_task *task)
{
    const dd_order *o = &t->patient->orders[task->order];
    const char *why = task->kind == DD_TASK_PAUSE ? dd_glance_pause_reason(t, task->mark) : NULL;
    if (task->kind == DD_TASK_HANG) {
        add_hang(out, t, task->bag);
        return;
    }
    if (task->kind == DD_TASK_ASK)
        dd_bytes_text(out, "given or not? no entry: ");
    else if (task->kind == DD_TASK_SECOND)
        dd_bytes_form(out, "for %s: ", dd_task_word(task->of));
    else if (task->kind == DD_TASK_MAY_DRY)
        dd_bytes_text(out, "may be dry from now on: ");
    else if (task->kind == DD_TASK_FIRST_LOOK)
        dd_bytes_text(out, "first look at the site after the start of ");
    else if (task->kind == DD_TASK_OBSERVE)
        dd_bytes_text(out, "after the start of ");
    else if (task->kind == DD_TASK_OBSERVE_END)
        dd_bytes_text(out, "at the end of ");
    dd_phrase_what(out, o);
    if (task->kind == DD_TASK_DOSE || task->kind == DD_TASK_FEED || task->kind == DD_TASK_START) {
        dd_bytes_text(out, ": ");
        if (task->kind == DD_TASK_START)
            dd_todo_start(out, t, task->run);
        else
            dd_todo_dose(out, t, task->run);
    } else if (task->kind == DD_TASK_RATE) {
        dd_bytes_text(out, ": ");
        dd_todo_rate(out, t, task);
    } else if (task->kind == DD_TASK_GOES_ON || task->kind == DD_TASK_AFTER_DOSE) {
        dd_bytes_text(out, ": ");
        dd_phrase_rate_of(out, t, task->order, task->mark->rate);
    } else if (task->kind == DD_TASK_ENDS) {
        add_next(out, t, task);
    } else if (task->kind == DD_TASK_STOP && task->run->why == DD_END_LIMIT) {
        dd_bytes_text(out, ": its time is over");
    } else if (why) {
        dd_bytes_text(out, ": ");
        dd_bytes_text(out, why);
    }
}

void dd_due_detail(dd_bytes *out, const dd_timeline *t, const dd_task *task)
{
    if (task->kind == DD_TASK_SET || task->kind == DD_TASK_DRESSING)
        add_change(out, t, task);
    else if (task->kind == DD_TASK_LOOK)
        dd_bytes_text(out, t->patient->lines[task->line].kind == DD_KIND_ENTERAL ? "tube" : "site");
    else
        add_about_order(out, t, task);
}

dd_status dd_due_rows_head(dd_bytes *out)
{
    dd_bytes_text(out, "at,patient,line,order,task,detail,basis,earliest,latest\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

static void add_row(dd_bytes *out, const dd_timeline *t, const dd_task *task, dd_bytes *text)
{
    const dd_patient *p = t->patient;
    dd_rows_time(out, t->plan, task->at);
    dd_bytes_char(out, ',');
    dd_rows_text(out, p->key);
    dd_bytes_char(out, ',');
    dd_rows_text(out, p->lines[task->line].key);
    dd_bytes_char(out, ',');
    dd_rows_text(out, task->order >= 0 ? p->orders[task->order].key : "");
    dd_bytes_char(out, ',');
    dd_bytes_text(out, dd_task_word(task->kind));
    dd_bytes_char(out, ',');
    dd_due_detail(dd_phrase_start(text), t, task);
    dd_rows_text(out, dd_phrase_text(text));
    dd_bytes_text(out, ",planned,"); /* nothing that is over is due */
    dd_rows_time(out, t->plan, task->earliest);
    dd_bytes_char(out, ',');
    dd_rows_time(out, t->plan, task->latest);
    dd_bytes_char(out, '\n');
}

dd_status dd_due_rows(const dd_view *view, const dd_timeline *t, dd_arena *arena, dd_bytes *out)
{
    const dd_task *tasks;
    size_t count;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_status status = dd_task_list(t, DD_TASKS_ALL, view->from, view->to, arena, &tasks, &count);
    for (size_t i = 0; status == DD_OK && i < count; i++) {
        if (!*dd_task_word(tasks[i].kind))
            continue;
        dd_merge_key(out, tasks[i].at);
        add_row(out, t, &tasks[i], &text);
    }
    if (text.failed || out->failed)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    return status;
}
