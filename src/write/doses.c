#include "doses.h"

#include "item.h"
#include "phrase.h"
#include "todo.h"

const dd_task *dd_doses_told_before(const dd_task *items, size_t count, int order)
{
    for (size_t i = count; i-- > 0;)
        if (items[i].order == order && (items[i].kind == DD_TASK_DOSE || items[i].kind == DD_TASK_FEED))
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
        dd_item_clock(f, stops->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, goes_on ? ", " : "");
    }
    if (goes_on) {
        dd_bytes_text(f->text, "goes on ");
        dd_item_clock(f, goes_on->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, " at ");
        dd_phrase_rate_of(f->text, t, goes_on->order, goes_on->rate);
    }
    dd_item_detail(f);
}

/* Appends when else the dose may start; from when rounded up, until when down. */
static void add_window(dd_front *f, const dd_order *o, const dd_run *r)
{
    if (o->window_s <= 0 && r->start == r->due)
        return;
    dd_bytes_text(f->text, f->text->length ? "; " : "");
    if (r->start != r->due) {
        dd_bytes_text(f->text, "due ");
        dd_item_clock(f, r->due, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, ", ");
    }
    dd_bytes_text(f->text, "may start ");
    dd_item_clock(f, r->due - o->window_s, DD_MOMENT_CLOCK_UP);
    dd_bytes_text(f->text, " to ");
    dd_item_clock(f, r->due + o->window_s, DD_MOMENT_CLOCK);
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
        dd_item_detail(f);
}

static void add_volume_and_flush(dd_front *f, const dd_order *o)
{
    dd_phrase_ul(f->text, o->volume_ul);
    if (o->flush_ul != DD_UNKNOWN && o->flush_ul > 0) {
        dd_bytes_text(f->text, ", flush ");
        dd_phrase_ul(f->text, o->flush_ul);
    }
}

void dd_doses_dose(dd_front *f, const dd_task *item, const dd_task *before)
{
    const dd_run *r = item->run;
    const dd_order *o = &f->timeline->patient->orders[item->order];
    dd_phrase_start(f->text);
    if (before) { /* told once, not again: only what differs */
        dd_bytes_text(f->text, "DOSE ");
        dd_phrase_what(f->text, o);
        dd_bytes_text(f->text, ", as at ");
        dd_item_clock(f, before->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, "; to ");
        dd_item_clock(f, r->end, DD_MOMENT_CLOCK);
        dd_item_first(f, item->at, true);
        if (r->start != r->due)
            set_fluid_and_window(f, o, r, false);
        dd_item_second(f, item);
        dd_item_allergy(f);
        return;
    }
    dd_todo_title(f->text, f->timeline, item, false);
    dd_item_first(f, item->at, true);
    dd_todo_dose(dd_phrase_start(f->text), f->timeline, r);
    dd_item_detail(f);
    set_primary(f, r);
    set_fluid_and_window(f, o, r, true);
    dd_item_second(f, item);
    dd_item_allergy(f);
    dd_item_note(f, o);
}

static bool only_tube(const dd_patient *p)
{
    int tubes = 0;
    for (int i = 0; i < p->line_count; i++)
        tubes += p->lines[i].kind == DD_KIND_ENTERAL;
    return tubes == 1;
}

void dd_doses_feed(dd_front *f, const dd_task *item, const dd_task *before)
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
    dd_item_clock(f, item->run->end, DD_MOMENT_CLOCK);
    dd_item_first(f, item->at, true);
    if (!dd_phrase_no_allergy(p))
        dd_item_allergy(f);
    if (!before)
        dd_item_note(f, &p->orders[item->order]);
}

/* What several doses of one minute need is one errand. Returns how many items it took. */
size_t dd_doses_fetch(dd_front *f, const dd_task *items, size_t count)
{
    size_t n = 0;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "fetch ");
    for (; n < count && items[n].kind == DD_TASK_FETCH && items[n].at / 60 == items[0].at / 60; n++) {
        const dd_order *o = &f->timeline->patient->orders[items[n].order];
        dd_bytes_text(f->text, n > 0 ? "; " : "");
        dd_phrase_what(f->text, o);
        dd_bytes_text(f->text, o->mixture->drug ? " in " : " ");
        add_volume_and_flush(f, o);
    }
    dd_item_first(f, items[0].at, false);
    return n;
}
