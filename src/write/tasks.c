/* tasks.c - the front's list of what to do, in time order, with room for the time done and initials. */
#include "front.h"

#include "glance.h"
#include "doses.h"
#include "item.h"
#include "phrase.h"
#include "todo.h"

/* ---- infusions ---- */

/* What comes on a line on which something has ended. After a dose its own flush is in already. The next plan may have more. */
static void set_next_on_line(dd_front *f, const dd_order *o, int line, dd_moment at)
{
    const dd_timeline *t = f->timeline;
    bool flushed = o->flush_ul != DD_UNKNOWN && o->flush_ul > 0;
    if (o->category == DD_CAT_BLOOD)
        dd_item_words(f, "observe the patient");
    if (dd_glance_flows(t, line, at))
        return;
    const dd_run *next = dd_glance_next_run(t, line, at);
    if (!next) {
        dd_item_words(f, flushed ? "lock; nothing follows on this line in this plan" : "flush, lock; no order follows in this plan");
        return;
    }
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, flushed ? "lock; next on it: " : "flush, lock; next on it: ");
    dd_phrase_what(f->text, &t->patient->orders[next->order]);
    dd_bytes_text(f->text, ", ");
    dd_item_clock(f, next->start, DD_MOMENT_DAY);
    dd_item_detail(f);
}

static void set_ends(dd_front *f, const dd_task *item)
{
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    if (item->run->why == DD_END_LIMIT)
        dd_bytes_text(f->text, ": its time is over");
    dd_item_first(f, item->at, true);
    set_next_on_line(f, &f->timeline->patient->orders[item->order], item->line, item->at);
}

static void set_start(dd_front *f, const dd_task *item)
{
    const dd_run *r = item->run;
    const dd_order *o = &f->timeline->patient->orders[item->order];
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    dd_item_first(f, item->at, true);
    dd_todo_start(dd_phrase_start(f->text), f->timeline, r);
    dd_item_detail(f);
    if (o->replaces >= 0) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "takes over from ");
        dd_bytes_text(f->text, f->timeline->patient->orders[o->replaces].key);
        dd_bytes_text(f->text, dd_glance_keeps_bag(f->timeline, r) ? ": the same bag goes on" : ": a new bag");
        dd_item_detail(f);
    }
    if (r->waited) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "due ");
        dd_item_clock(f, r->due, DD_MOMENT_DAY);
        dd_bytes_text(f->text, "; it waits for what runs on this line");
        dd_item_detail(f);
    }
    if (o->category == DD_CAT_BLOOD && o->hang_s > 0) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "down by ");
        dd_item_clock(f, r->start + o->hang_s, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, ", empty or not: ");
        dd_phrase_span(f->text, o->hang_s);
        dd_item_detail(f);
    }
    dd_item_second(f, item);
    dd_item_allergy(f);
    dd_item_note(f, o);
}

static const dd_bag *bag_before(const dd_timeline *t, const dd_bag *b)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == b->order && t->bags[i].number == b->number - 1)
            return &t->bags[i];
    return NULL;
}

static void set_bag(dd_front *f, const dd_task *item)
{
    const dd_bag *b = item->bag, *before = bag_before(f->timeline, b);
    char number[DD_NUMBER_MAX];
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    dd_bytes_text(f->text, ", ");
    dd_bytes_add(f->text, number, dd_number_u(number, b->hung, 3, DD_STYLE_PERSON));
    dd_bytes_text(f->text, " mL");
    dd_item_first(f, item->at, true);
    dd_phrase_start(f->text);
    if (before && before->expired) {
        dd_bytes_text(f->text, f->timeline->patient->orders[item->order].mixture->words);
        dd_bytes_text(f->text, "; the hang time of the one before is over, ");
        dd_phrase_volume(f->text, f->timeline->patient, before->discarded);
        dd_bytes_text(f->text, " mL of it are discarded");
    } else {
        dd_bytes_text(f->text, f->timeline->patient->orders[item->order].mixture->words);
        dd_bytes_text(f->text, "; lasts ");
        if (b->down == DD_NEVER || b->down >= f->view->to) {
            dd_bytes_text(f->text, "past the end of this list");
        } else {
            dd_bytes_text(f->text, "to ");
            dd_item_clock(f, b->down, DD_MOMENT_CLOCK);
        }
    }
    dd_item_detail(f);
    dd_item_second(f, item);
}

static void set_mark(dd_front *f, const dd_task *item)
{
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    const char *why = item->kind == DD_TASK_PAUSE && item->mark->cause < 0 ? dd_glance_pause_reason(f->timeline, item->mark) : NULL;
    if (why) {
        dd_bytes_text(f->text, ": ");
        dd_bytes_text(f->text, why);
    }
    dd_item_first(f, item->at, true);
    dd_item_second(f, item);
}

/* ---- the line and the patient ---- */

/* A dose that nobody charted. */
static void set_ask(dd_front *f, const dd_task *item)
{
    dd_todo_title(dd_phrase_start(f->text), f->timeline, item, false);
    dd_item_first(f, item->at, true);
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "due ");
    dd_item_clock(f, item->due, DD_MOMENT_DAY);
    dd_bytes_text(f->text, ", no entry: ask, chart it; not planned again");
    dd_item_detail(f);
}

/* `by Thu 06:40; last changed Wed 25 Nov 06:40` */
static void set_change(dd_front *f, const dd_task *item)
{
    const dd_line *line = &f->timeline->patient->lines[item->line];
    dd_todo_title(dd_phrase_start(f->text), f->timeline, item, false);
    dd_item_first(f, item->at, true);
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, item->latest < f->view->now ? "OVERDUE since " : "by ");
    dd_item_clock(f, item->latest, DD_MOMENT_DAY);
    if (item->kind == DD_TASK_DRESSING && line->dressing) {
        dd_bytes_text(f->text, "; ");
        dd_bytes_text(f->text, line->dressing);
    }
    dd_bytes_text(f->text, "; ");
    dd_todo_since(f->text, f->timeline, item);
    dd_item_detail(f);
}

static void set_plain(dd_front *f, const dd_task *item)
{
    dd_todo_title(dd_phrase_start(f->text), f->timeline, item, false);
    dd_item_first(f, item->at, true);
    if (item->latest != DD_NEVER && item->latest < f->view->now) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "OVERDUE since ");
        dd_item_clock(f, item->latest, DD_MOMENT_DAY);
        dd_item_detail(f);
    }
}

size_t dd_tasks_item(dd_front *f, const dd_task *items, size_t at, size_t count)
{
    const dd_task *item = &items[at];
    switch ((dd_task_kind)item->kind) {
    case DD_TASK_FETCH:
        return dd_doses_fetch(f, item, count - at);
    case DD_TASK_ASK:
        set_ask(f, item);
        break;
    case DD_TASK_ENDS:
    case DD_TASK_FOLLOWED:
    case DD_TASK_STOP:
        set_ends(f, item);
        break;
    case DD_TASK_START:
        set_start(f, item);
        break;
    case DD_TASK_DOSE:
        dd_doses_dose(f, item, dd_doses_told_before(items, at, item->order));
        break;
    case DD_TASK_FEED:
        dd_doses_feed(f, item, dd_doses_told_before(items, at, item->order));
        break;
    case DD_TASK_HANG:
        set_bag(f, item);
        break;
    case DD_TASK_PAUSE:
    case DD_TASK_GOES_ON:
    case DD_TASK_AFTER_DOSE:
    case DD_TASK_RATE:
        set_mark(f, item);
        break;
    case DD_TASK_SET:
    case DD_TASK_DRESSING:
        set_change(f, item);
        break;
    case DD_TASK_MAY_DRY: case DD_TASK_OBSERVE: case DD_TASK_OBSERVE_END: case DD_TASK_FIRST_LOOK: case DD_TASK_LOOK:
        set_plain(f, item);
        break;
    case DD_TASK_SECOND: case DD_TASK_COUNT: /* beside the task that takes two */
        break;
    }
    return 1;
}

/* A gravity infusion that was found behind or ahead: its drops are counted again at once. */
static bool set_recounts(dd_front *f)
{
    const dd_timeline *t = f->timeline;
    char number[DD_NUMBER_MAX];
    bool any = false;
    for (size_t i = 0; i < t->finding_count && f->from == f->view->now; i++) {
        const dd_finding *found = &t->findings[i];
        const dd_course *c = found->course;
        if (!c || found->accepted || c->reading->over || c->reading->drops <= 0 || c->refusal == DD_REFUSAL_STOPPED)
            continue;
        dd_number_scaled(number, c->reading->drops, 0, 0, DD_STYLE_PERSON);
        dd_bytes_form(dd_phrase_start(f->text), "%s: count again, ", t->patient->lines[found->line].key);
        dd_bytes_form(f->text, c->reading->drops == 1 ? "%s drop in 60 s" : "%s drops in 60 s", number);
        dd_item_first(f, f->from, true);
        any = true;
    }
    return any;
}

void dd_tasks_write(dd_front *f)
{
    const dd_task *items;
    size_t count;
    int done = dd_item_done_column(f);
    dd_status status = dd_todo_make(f->timeline, DD_TASKS_ALL, f->from, f->view->to, f->arena, &items, &count);
    if (status != DD_OK) {
        f->status = status;
        return;
    }
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "TO DO");
    if (f->from != f->view->from) {
        dd_bytes_text(f->text, " from ");
        dd_item_clock(f, f->from, DD_MOMENT_CLOCK);
    }
    dd_bytes_text(f->text, ", in time order");
    dd_sheet_said(f->sheet, dd_phrase_text(f->text));
    if (!f->sheet->sentences)
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = done - 1, .text = dd_phrase_text(f->text)}, {.at = done, .text = "done at"},
            {.at = done + 10, .text = "by"}}, 3);
    dd_sheet_join(f->sheet);
    bool any = set_recounts(f) || count > 0;
    for (size_t i = 0; i < count;) {
        dd_sheet_together(f->sheet);
        i += dd_tasks_item(f, items, i, count);
        dd_sheet_apart(f->sheet);
    }
    if (!any)
        dd_item_words(f, "nothing in this span but rounds");
    dd_sheet_rule(f->sheet);
}
