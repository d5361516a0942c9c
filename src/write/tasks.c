/* tasks.c - the front's list of what to do, in time order, with room for the time done and initials. */
#include "front.h"
#include "phrase.h"
#include "todo.h"

#include <string.h>

static const char done_blank[] = "..:..", by_blank[] = "....";

static int text_column(const dd_front *f)
{
    return f->long_span ? 11 : 7;
}

static int done_column(const dd_front *f)
{
    return f->sheet->width - 14;
}

static void add_clock(dd_front *f, dd_moment t, dd_moment_style style)
{
    dd_phrase_time(f->text, f->view->plan, t, style);
}

/* A line of details, under the first line of its item. */
static void set_detail(dd_front *f)
{
    int at = text_column(f);
    dd_sheet_row(f->sheet, &(dd_cell){.at = at, .width = done_column(f) - at - 1, .after = 1, .text = dd_phrase_text(f->text)}, 1);
}

static void set_words(dd_front *f, const char *words)
{
    dd_bytes_text(dd_phrase_start(f->text), words);
    set_detail(f);
}

/* The first line: time, what, and blanks to write into where hands do something. What stands in f->text. */
static void set_item(dd_front *f, dd_moment at, bool blanks)
{
    dd_bytes clock = DD_BYTES((size_t)256);
    int text = text_column(f), done = done_column(f);
    dd_phrase_time(&clock, f->view->plan, at, f->long_span ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = text - 1, .text = dd_phrase_text(&clock)},
        {.at = text, .width = done - text - 1, .after = 1, .text = dd_phrase_text(f->text)}, {.at = done, .text = blanks ? done_blank : NULL},
        {.at = done + 10, .text = blanks ? by_blank : NULL}}, 4);
    if (clock.failed)
        f->status = DD_NO_MEMORY;
    dd_bytes_free(&clock);
}

/* Room for the second nurse, on a line of its own. */
static void set_second_nurse(dd_front *f, const char *words)
{
    int text = text_column(f), done = done_column(f);
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = text, .width = done - text - 1, .after = 1, .text = words}, {.at = done, .text = "2nd"},
        {.at = done + 10, .text = by_blank}}, 3);
}

static void set_note(dd_front *f, const dd_order *o)
{
    if (!o->note)
        return;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "note: ");
    dd_bytes_text(f->text, o->note);
    set_detail(f);
}

/* ---- doses ---- */

/* The rate a run begins with; later steps have items of their own. */
static void add_first_rate(dd_front *f, const dd_run *r)
{
    dd_phrase_set_rate(f->text, f->timeline->rates[r->order][0]);
}

/* The dose of the same order that is listed before this one, or NULL. */
static const dd_todo *told_before(const dd_todo *items, size_t count, int order)
{
    for (size_t i = count; i-- > 0;)
        if (items[i].order == order && (items[i].kind == DD_TODO_DOSE || items[i].kind == DD_TODO_FEED))
            return &items[i];
    return NULL;
}

/* `primary stops 22:00, goes on 22:36 at 80 mL/h`, as far as it is so. */
static void set_primary(dd_front *f, const dd_run *r)
{
    const dd_timeline *t = f->timeline;
    const dd_mark *stops = NULL, *goes_on = NULL;
    for (size_t i = 0; i < t->mark_count; i++) {
        const dd_mark *m = &t->marks[i];
        if (m->line != r->line || m->cause < 0)
            continue;
        if (m->kind == DD_MARK_STOPS && m->at == r->start)
            stops = m;
        if (m->kind == DD_MARK_GOES_ON && m->at == r->end)
            goes_on = m;
    }
    if (!stops && !goes_on)
        return;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "primary ");
    if (stops) {
        dd_bytes_text(f->text, "stops ");
        add_clock(f, stops->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, goes_on ? ", " : "");
    }
    if (goes_on) {
        dd_bytes_text(f->text, "goes on ");
        add_clock(f, goes_on->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, " at ");
        dd_phrase_rate_of(f->text, t, goes_on->order, goes_on->rate);
    }
    set_detail(f);
}

/* Appends when else the dose may start; from when rounded up, until when down. */
static void add_window(dd_front *f, const dd_order *o, const dd_run *r)
{
    if (o->window_s <= 0 && r->start == r->due)
        return;
    dd_bytes_text(f->text, f->text->length ? "; " : "");
    if (r->start != r->due) {
        dd_bytes_text(f->text, "due ");
        add_clock(f, r->due, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, ", ");
    }
    dd_bytes_text(f->text, "may start ");
    add_clock(f, r->due - o->window_s, DD_MOMENT_CLOCK_UP);
    dd_bytes_text(f->text, " to ");
    add_clock(f, r->due + o->window_s, DD_MOMENT_CLOCK);
}

/* What it is dissolved in, and its window: one line where they fit. */
static void set_fluid_and_window(dd_front *f, const dd_order *o, const dd_run *r, bool fluid)
{
    dd_phrase_start(f->text);
    if (fluid && o->mixture->fluid >= 0 && o->mixture->drug) {
        dd_bytes_text(f->text, "in ");
        dd_bytes_text(f->text, f->view->plan->fluids[o->mixture->fluid].words);
    }
    add_window(f, o, r);
    if (f->text->length)
        set_detail(f);
}

static void add_volume_and_flush(dd_front *f, const dd_order *o)
{
    dd_phrase_ul(f->text, o->volume_ul);
    if (o->flush_ul != DD_UNKNOWN && o->flush_ul > 0) {
        dd_bytes_text(f->text, ", flush ");
        dd_phrase_ul(f->text, o->flush_ul);
    }
}

static void set_dose(dd_front *f, const dd_todo *item, const dd_todo *before)
{
    const dd_run *r = item->run;
    const dd_order *o = &f->timeline->patient->orders[item->order];
    dd_phrase_start(f->text);
    if (before) { /* told once, not again: only what differs */
        dd_bytes_text(f->text, "DOSE ");
        dd_phrase_what(f->text, o);
        dd_bytes_text(f->text, ", as at ");
        add_clock(f, before->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, "; to ");
        add_clock(f, r->end, DD_MOMENT_CLOCK);
        set_item(f, item->at, true);
        if (r->start != r->due)
            set_fluid_and_window(f, o, r, false);
        return;
    }
    dd_todo_title(f->text, f->timeline, item, false);
    set_item(f, item->at, true);
    dd_phrase_start(f->text);
    dd_phrase_ul(f->text, o->volume_ul);
    dd_bytes_text(f->text, " at ");
    add_first_rate(f, r);
    dd_bytes_text(f->text, " to ");
    add_clock(f, r->flush_from != DD_NEVER ? r->flush_from : r->end, DD_MOMENT_CLOCK);
    if (r->flush_from != DD_NEVER) {
        dd_bytes_text(f->text, ", flush ");
        dd_phrase_ul(f->text, o->flush_ul);
        dd_bytes_text(f->text, " to ");
        add_clock(f, r->end, DD_MOMENT_CLOCK);
    }
    set_detail(f);
    set_primary(f, r);
    set_fluid_and_window(f, o, r, true);
    set_note(f, o);
}

static bool only_tube(const dd_patient *p)
{
    int tubes = 0;
    for (int i = 0; i < p->line_count; i++)
        tubes += p->lines[i].kind == DD_KIND_ENTERAL;
    return tubes == 1;
}

static void set_feed(dd_front *f, const dd_todo *item, const dd_todo *before)
{
    const dd_patient *p = f->timeline->patient;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "FEED ");
    dd_phrase_ul(f->text, p->orders[item->order].volume_ul);
    if (!only_tube(p)) {
        dd_bytes_text(f->text, ", ");
        dd_bytes_text(f->text, p->lines[item->line].key);
    }
    if (p->lines[item->line].kind == DD_KIND_ENTERAL)
        dd_bytes_text(f->text, ", check the tube first");
    dd_bytes_text(f->text, "; to ");
    add_clock(f, item->run->end, DD_MOMENT_CLOCK);
    set_item(f, item->at, true);
    if (!before)
        set_note(f, &p->orders[item->order]);
}

/* What several doses of one minute need is one errand. Returns how many items it took. */
static size_t set_fetch(dd_front *f, const dd_todo *items, size_t count)
{
    size_t n = 0;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "fetch ");
    for (; n < count && items[n].kind == DD_TODO_FETCH && items[n].at / 60 == items[0].at / 60; n++) {
        const dd_order *o = &f->timeline->patient->orders[items[n].order];
        dd_bytes_text(f->text, n > 0 ? "; " : "");
        dd_phrase_what(f->text, o);
        dd_bytes_text(f->text, o->mixture->drug ? " in " : " ");
        add_volume_and_flush(f, o);
    }
    set_item(f, items[0].at, false);
    return n;
}

/* ---- infusions ---- */

/* What comes on a line on which something has ended. After a dose its own flush is in already. The next plan may have more. */
static void set_next_on_line(dd_front *f, const dd_order *o, int line, dd_moment at)
{
    const dd_timeline *t = f->timeline;
    bool flushed = o->flush_ul != DD_UNKNOWN && o->flush_ul > 0;
    if (dd_todo_flows(t, line, at))
        return;
    const dd_run *next = dd_todo_next_run(t, line, at);
    if (!next) {
        set_words(f, flushed ? "lock; nothing follows on this line in this plan" : "flush, lock; no order follows in this plan");
        return;
    }
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, flushed ? "lock; next on it: " : "flush, lock; next on it: ");
    dd_phrase_what(f->text, &t->patient->orders[next->order]);
    dd_bytes_text(f->text, ", ");
    add_clock(f, next->start, DD_MOMENT_DAY);
    set_detail(f);
}

static void set_ends(dd_front *f, const dd_todo *item)
{
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    if (item->run->why == DD_END_LIMIT)
        dd_bytes_text(f->text, ": its time is over");
    set_item(f, item->at, true);
    set_next_on_line(f, &f->timeline->patient->orders[item->order], item->line, item->at);
}

/* The order begins with a bag that was up before. */
static bool keeps_bag(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == r->order && t->bags[i].number == 1)
            return t->bags[i].up == DD_NEVER || t->bags[i].up < r->start;
    return false;
}

static void set_start(dd_front *f, const dd_todo *item)
{
    const dd_run *r = item->run;
    const dd_order *o = &f->timeline->patient->orders[item->order];
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    set_item(f, item->at, true);
    dd_phrase_start(f->text);
    if (o->volume_ul != DD_UNKNOWN) {
        dd_phrase_ul(f->text, o->volume_ul);
        dd_bytes_text(f->text, " at ");
    }
    add_first_rate(f, r);
    if (f->timeline->rates[item->order][0].drops > 0) {
        dd_bytes_text(f->text, " (");
        dd_phrase_rate(f->text, f->timeline->rates[item->order][0].set);
        dd_bytes_char(f->text, ')');
    }
    if (o->bag_ul != DD_UNKNOWN && o->bag_ul != o->volume_ul) {
        dd_bytes_text(f->text, o->volume_ul == DD_UNKNOWN || o->volume_ul > o->bag_ul ? ", bags of " : ", bag of ");
        dd_phrase_ul(f->text, o->bag_ul);
    }
    if (r->end != DD_NEVER) {
        dd_bytes_text(f->text, ", to ");
        add_clock(f, r->end, r->end - item->at < 86400 ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
    }
    set_detail(f);
    if (o->replaces >= 0) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "takes over from ");
        dd_bytes_text(f->text, f->timeline->patient->orders[o->replaces].key);
        dd_bytes_text(f->text, keeps_bag(f->timeline, r) ? ": the same bag goes on" : ": a new bag");
        set_detail(f);
    }
    if (r->waited) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "due ");
        add_clock(f, r->due, DD_MOMENT_DAY);
        dd_bytes_text(f->text, "; it waits for what runs on this line");
        set_detail(f);
    }
    if (o->category == DD_CAT_BLOOD && o->hang_s > 0) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "down by ");
        add_clock(f, r->start + o->hang_s, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, ", empty or not: ");
        dd_phrase_span(f->text, o->hang_s);
        set_detail(f);
    }
    if (o->category == DD_CAT_BLOOD)
        set_second_nurse(f, "second nurse; observe the first 15 min");
    set_note(f, o);
}

static const dd_bag *bag_before(const dd_timeline *t, const dd_bag *b)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == b->order && t->bags[i].number == b->number - 1)
            return &t->bags[i];
    return NULL;
}

static void set_bag(dd_front *f, const dd_todo *item)
{
    const dd_bag *b = item->bag, *before = bag_before(f->timeline, b);
    char number[DD_NUMBER_MAX];
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    dd_bytes_text(f->text, ", ");
    dd_bytes_add(f->text, number, dd_number_u(number, b->hung, 3, DD_STYLE_PERSON));
    dd_bytes_text(f->text, " mL");
    set_item(f, item->at, true);
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
            add_clock(f, b->down, DD_MOMENT_CLOCK);
        }
    }
    set_detail(f);
}

static const char *pause_reason(const dd_timeline *t, const dd_mark *m)
{
    for (int i = 0; i < t->patient->pause_count; i++) {
        const dd_pause *p = &t->patient->pauses[i];
        if ((p->line < 0 || p->line == m->line) && p->from <= m->at && m->at < p->to)
            return p->why;
    }
    return NULL;
}

static void set_mark(dd_front *f, const dd_todo *item)
{
    dd_phrase_start(f->text);
    dd_todo_title(f->text, f->timeline, item, false);
    if (item->kind == DD_TODO_GOES_ON) {
        dd_bytes_text(f->text, " at ");
        dd_phrase_rate_of(f->text, f->timeline, item->order, item->mark->rate);
    }
    const char *why = item->kind == DD_TODO_PAUSE && item->mark->cause < 0 ? pause_reason(f->timeline, item->mark) : NULL;
    if (why) {
        dd_bytes_text(f->text, ": ");
        dd_bytes_text(f->text, why);
    }
    set_item(f, item->at, true);
}

/* Lists the item at `at` of `count`; returns how many items it took. */
static size_t set_todo(dd_front *f, const dd_todo *items, size_t at, size_t count)
{
    const dd_todo *item = &items[at];
    switch ((dd_todo_kind)item->kind) {
    case DD_TODO_FETCH:
        return set_fetch(f, item, count - at);
    case DD_TODO_ENDS:
    case DD_TODO_STOP:
        set_ends(f, item);
        break;
    case DD_TODO_START:
        set_start(f, item);
        break;
    case DD_TODO_DOSE:
        set_dose(f, item, told_before(items, at, item->order));
        break;
    case DD_TODO_FEED:
        set_feed(f, item, told_before(items, at, item->order));
        break;
    case DD_TODO_BAG:
        set_bag(f, item);
        break;
    case DD_TODO_PAUSE:
    case DD_TODO_GOES_ON:
    case DD_TODO_STEP:
        set_mark(f, item);
        break;
    case DD_TODO_MAY_DRY:
        dd_phrase_start(f->text);
        dd_todo_title(f->text, f->timeline, item, false);
        set_item(f, item->at, true);
        break;
    }
    return 1;
}

void dd_tasks_write(dd_front *f)
{
    const dd_todo *items;
    size_t count;
    int done = done_column(f);
    dd_status status = dd_todo_make(f->timeline, f->from, f->view->to, f->arena, &items, &count);
    if (status != DD_OK) {
        f->status = status;
        return;
    }
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "TO DO");
    if (f->from != f->view->from) {
        dd_bytes_text(f->text, " from ");
        add_clock(f, f->from, DD_MOMENT_CLOCK);
    }
    dd_bytes_text(f->text, ", in time order");
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = done - 1, .text = dd_phrase_text(f->text)}, {.at = done, .text = "done at"},
        {.at = done + 10, .text = "by"}}, 3);
    dd_sheet_join(f->sheet);
    for (size_t i = 0; i < count;) {
        dd_sheet_together(f->sheet);
        i += set_todo(f, items, i, count);
        dd_sheet_apart(f->sheet);
    }
    if (count == 0)
        set_words(f, "nothing in this span but rounds");
    dd_sheet_rule(f->sheet);
}
