/* label.c - `label`: what is stuck on bags, sets and dressings, to be cut out (dd_label_write, write.h). */
#include "label.h"

#include <string.h>

#include "glance.h"
#include "list.h"
#include "pagecode.h"
#include "phrase.h"
#include "upkeep.h"

#define TEXT_CEILING ((size_t)1 << 20)
#define INNER (DD_LABEL_WIDTH - 4)
#define BLANK_TIME "........ ..:.."

/* ---- boxes ---- */

void dd_label_edge(dd_label *l)
{
    dd_phrase_start(l->text);
    dd_bytes_char(l->text, '+');
    dd_bytes_repeat(l->text, '-', DD_LABEL_WIDTH - 2);
    dd_bytes_char(l->text, '+');
    dd_sheet_text(l->sheet, 0, 0, dd_phrase_text(l->text));
}

void dd_label_open(dd_label *l)
{
    dd_sheet_together(l->sheet);
    dd_label_edge(l);
}

void dd_label_close(dd_label *l)
{
    dd_label_edge(l);
    dd_sheet_apart(l->sheet);
    dd_sheet_blank(l->sheet);
}

void dd_label_row(dd_label *l)
{
    dd_sheet_row(l->sheet, (const dd_cell[]){{.at = 0, .width = 1, .text = "|", .every = true}, {.at = 2, .width = INNER, .after = 1, .text = dd_phrase_text(l->text)},
        {.at = DD_LABEL_WIDTH - 1, .width = 1, .text = "|", .every = true}}, 3);
}

void dd_label_words(dd_label *l, const char *words)
{
    dd_bytes_text(dd_phrase_start(l->text), words);
    dd_label_row(l);
}

/* A name, and what is known of it; where nobody knows, room to write. */
static void set_time(dd_label *l, const char *name, dd_moment t, const char *behind)
{
    dd_bytes_text(dd_phrase_start(l->text), name);
    if (t == DD_NEVER)
        dd_bytes_text(l->text, BLANK_TIME);
    else
        dd_phrase_time(l->text, l->view->plan, t, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(l->text, behind);
    dd_label_row(l);
}

void dd_label_whose(dd_label *l, int line, bool name)
{
    const dd_patient *p = l->timeline->patient;
    if (l->view->plan->demo)
        dd_label_words(l, "DEMO, NOT FOR CARE");
    dd_phrase_capitals(dd_phrase_start(l->text), dd_phrase_bed(p));
    dd_bytes_text(l->text, "   ");
    dd_bytes_text(l->text, p->lines[line].key);
    dd_label_row(l);
    if (p->lines[line].kind == DD_KIND_ENTERAL)
        dd_label_words(l, "FEEDING TUBE, NOT FOR A VEIN");
    if (!name)
        return;
    dd_label_words(l, "name ...........................");
    dd_phrase_allergy(dd_phrase_start(l->text), p);
    dd_label_row(l);
}

/* ---- bags ---- */

static void add_quantity(dd_bytes *out, dd_quantity q)
{
    char text[2 * DD_NUMBER_MAX];
    size_t length = dd_number_quantity(text, sizeof text, q);
    dd_bytes_add(out, text, length < sizeof text ? length : sizeof text - 1);
}

/* How much of an additive is in a bag of `ul`: what is added per litre, times the bag. */
static bool in_bag(const dd_addition *a, int64_t ul, dd_quantity *out)
{
    dd_ratio below, amount;
    *out = a->amount;
    if (a->per_bag)
        return true;
    out->per = DD_UNIT_NONE;
    out->per_micro = 1000000;
    return ul != DD_UNKNOWN && dd_quantity_below(a->amount, &below) == DD_OK && dd_ratio_make(a->amount.micro, 1, &amount) == DD_OK &&
           dd_ratio_times(amount, (dd_ratio){ul, 1}, &amount) == DD_OK && dd_ratio_over(amount, below, &amount) == DD_OK &&
           dd_ratio_half_up(amount, 1, &out->micro) == DD_OK;
}

static void set_additions(dd_label *l, const dd_order *o, int64_t bag_ul)
{
    for (int i = 0; i < o->mixture->addition_count; i++) {
        const dd_addition *a = &o->mixture->additions[i];
        dd_quantity amount;
        if (!in_bag(a, bag_ul, &amount))
            continue;
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "in it: ");
        dd_bytes_text(l->text, a->words);
        dd_bytes_char(l->text, ' ');
        add_quantity(l->text, amount);
        dd_label_row(l);
    }
}

/* `bag 3 of main, 1,000 mL` */
static void set_fluid(dd_label *l, const dd_order *o, int32_t number, int64_t bag_ul)
{
    char text[DD_NUMBER_MAX];
    dd_label_words(l, o->mixture->words);
    dd_phrase_start(l->text);
    dd_bytes_text(l->text, o->device == DD_SYRINGE ? "syringe" : "bag");
    if (number > 0) {
        dd_number_scaled(text, number, 0, 0, DD_STYLE_PERSON);
        dd_bytes_form(l->text, " %s", text);
    }
    dd_bytes_form(l->text, " of %s, ", o->key);
    dd_phrase_ul(l->text, bag_ul);
    dd_label_row(l);
    set_additions(l, o, bag_ul);
}

/* `80 mL/h`; on a gravity set as it is counted, `21 drops in 60 s = 63 mL/h`. */
static void set_rate(dd_label *l, int order, dd_rate rate)
{
    char number[DD_NUMBER_MAX];
    const dd_order *o = &l->timeline->patient->orders[order];
    const dd_set_rate *rates = l->timeline->rates[order];
    size_t steps = o->step_count ? o->step_count : 1;
    dd_phrase_start(l->text);
    for (size_t i = 0; i < steps; i++)
        if (rates[i].drops > 0 && rates[i].set.ul_per_h == rate.ul_per_h) {
            dd_number_scaled(number, rates[i].drops, 0, 0, DD_STYLE_PERSON);
            dd_bytes_form(l->text, "%s drops in 60 s = ", number);
            break;
        }
    dd_phrase_rate(l->text, rate);
    dd_label_row(l);
    if (steps > 1)
        dd_label_words(l, "the rate changes: see the page");
}

/* By when the hang time is over, for a bag that goes up as planned and for one that does not. */
static void set_hang_time(dd_label *l, const dd_order *o, dd_moment up, bool is_up)
{
    if (o->hang_s <= 0)
        return;
    set_time(l, "down by  ", up == DD_NEVER ? DD_NEVER : up + o->hang_s, "");
    if (is_up && up != DD_NEVER)
        return;
    dd_phrase_start(l->text);
    dd_bytes_text(l->text, " or ");
    dd_phrase_span(l->text, o->hang_s);
    dd_bytes_text(l->text, " after it is hung");
    dd_label_row(l);
}

/* Room for who hung it, and for the second one where it takes two. */
static void set_who(dd_label *l, const dd_order *o, const char *name, dd_moment known)
{
    set_time(l, name, known, known == DD_NEVER ? " by ....." : "");
    if (known != DD_NEVER)
        dd_label_words(l, "         by .....");
    if (dd_task_takes_two(o, DD_TASK_START))
        dd_label_words(l, "second nurse ...................");
}

static const dd_flow *first_flow(const dd_timeline *t, const dd_bag *b)
{
    for (size_t i = 0; i < t->flow_count; i++)
        if (t->flows[i].order == b->order && t->flows[i].bag == b->number && t->flows[i].due == b->due && t->flows[i].part == DD_PART_BAG && t->flows[i].to > t->now)
            return &t->flows[i];
    return NULL;
}

static void set_dry(dd_label *l, const dd_bag *b)
{
    if (b->empty == DD_NEVER)
        dd_label_words(l, b->down == DD_NEVER ? "dry      after this plan" : "dry      no: it comes down first");
    else
        set_time(l, "dry      ", b->empty, "");
}

/* Up before now: it has been labelled. */
static bool was_up(const dd_timeline *t, const dd_bag *b)
{
    return b->left_at_now.u > 0 && (b->up == DD_NEVER || b->up < t->now);
}

static void set_bag(dd_label *l, const dd_bag *b)
{
    const dd_timeline *t = l->timeline;
    const dd_order *o = &t->patient->orders[b->order];
    const dd_flow *flow = first_flow(t, b);
    bool is_up = was_up(t, b);
    dd_label_open(l);
    dd_label_whose(l, b->line, true);
    dd_label_edge(l);
    set_fluid(l, o, b->number, b->hung.u % DD_U_PER_UL == 0 && !b->found_hanging ? b->hung.u / DD_U_PER_UL : o->bag_ul);
    if (flow)
        set_rate(l, b->order, flow->rate);
    dd_label_edge(l);
    if (!is_up)
        set_time(l, "planned  ", b->up, "");
    set_who(l, o, "hung     ", is_up ? b->up : DD_NEVER);
    set_dry(l, b);
    set_hang_time(l, o, b->up, is_up);
    if (o->device == DD_GRAVITY)
        dd_tape_write(l, b);
    dd_label_close(l);
}

static void set_dose(dd_label *l, const dd_task *task)
{
    const dd_timeline *t = l->timeline;
    const dd_order *o = &t->patient->orders[task->order];
    dd_label_open(l);
    dd_label_whose(l, task->line, true);
    dd_label_edge(l);
    set_fluid(l, o, 0, o->volume_ul);
    set_rate(l, task->order, t->rates[task->order][0].set);
    if (o->flush_ul != DD_UNKNOWN && o->flush_ul > 0) {
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "flush ");
        dd_phrase_ul(l->text, o->flush_ul);
        dd_bytes_char(l->text, ' ');
        dd_bytes_text(l->text, o->flush_fluid >= 0 ? t->plan->fluids[o->flush_fluid].words : "");
        dd_label_row(l);
    }
    dd_label_edge(l);
    set_time(l, "due      ", task->due, "");
    if (task->at != task->due)
        set_time(l, "planned  ", task->at, "");
    if (task->latest != DD_NEVER && task->latest > task->earliest) {
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "start    ");
        dd_phrase_time(l->text, t->plan, task->earliest, DD_MOMENT_CLOCK_UP);
        dd_bytes_text(l->text, " to ");
        dd_phrase_time(l->text, t->plan, task->latest, DD_MOMENT_CLOCK);
        dd_label_row(l);
    }
    set_who(l, o, "started  ", DD_NEVER);
    dd_moment over = task->run->flush_from != DD_NEVER ? task->run->flush_from : task->run->end;
    if (over != DD_NEVER) { /* else the plan ends first */
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "runs     ");
        dd_phrase_span(l->text, over - task->run->start);
        dd_label_row(l);
    }
    dd_label_close(l);
}

static const dd_bag *bag_of(const dd_timeline *t, const dd_task *task)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == task->order && (task->kind == DD_TASK_HANG ? t->bags[i].number == task->n : t->bags[i].up == task->at))
            return &t->bags[i];
    return NULL;
}

static void set_bags(dd_label *l, const dd_task *tasks, size_t count)
{
    const dd_timeline *t = l->timeline;
    for (size_t i = 0; i < t->bag_count; i++) /* a bag that is up has its label; its tape counts from what is in it now */
        if (was_up(t, &t->bags[i]) && dd_glance_is_infusion(&t->patient->orders[t->bags[i].order]) && t->patient->orders[t->bags[i].order].device == DD_GRAVITY)
            set_bag(l, &t->bags[i]);
    for (size_t i = 0; i < count; i++) {
        const dd_bag *bag = tasks[i].kind == DD_TASK_HANG || tasks[i].kind == DD_TASK_START ? bag_of(t, &tasks[i]) : NULL;
        if (tasks[i].kind == DD_TASK_DOSE)
            set_dose(l, &tasks[i]);
        else if (bag && !was_up(t, bag))
            set_bag(l, bag);
    }
}

/* ---- lines ---- */

static bool falls_due(const dd_task *tasks, size_t count, int line, dd_task_kind kind)
{
    for (size_t i = 0; i < count; i++)
        if (tasks[i].line == line && tasks[i].kind == kind)
            return true;
    return false;
}

/* By when to change it; where it is new, how long it may stay. */
static void set_change_by(dd_label *l, bool is_new, const dd_upkeep_due *due)
{
    if (due->every <= 0) {
        dd_label_words(l, "change by local policy");
        return;
    }
    if (!is_new && due->at != DD_NEVER) {
        set_time(l, "change by ", due->at, "");
        return;
    }
    dd_phrase_start(l->text);
    dd_bytes_text(l->text, "change after ");
    dd_phrase_span(l->text, due->every);
    dd_label_row(l);
    dd_label_words(l, "that is  " BLANK_TIME);
}

static void set_line(dd_label *l, int line, const dd_task *tasks, size_t count)
{
    static const char *const kinds[DD_KIND_COUNT] = {"peripheral", "midline", "PICC", "central", "umbilical", "intraosseous", "subcutaneous", "arterial", "feeding tube"};
    const dd_line *of = &l->timeline->patient->lines[line];
    const dd_upkeep care = dd_upkeep_of(l->timeline, line);
    bool placed = care.off_since == DD_NEVER && care.placed != DD_NEVER && care.placed <= l->view->now, tube = of->kind == DD_KIND_ENTERAL;
    bool new_set = falls_due(tasks, count, line, DD_TASK_SET), new_dressing = falls_due(tasks, count, line, DD_TASK_DRESSING);
    dd_label_open(l);
    dd_label_whose(l, line, false);
    dd_phrase_start(l->text);
    if (!tube || !of->site)
        dd_bytes_text(l->text, of->kind < DD_KIND_COUNT ? kinds[of->kind] : "line");
    if (of->site) {
        dd_bytes_text(l->text, tube ? "" : ", ");
        dd_bytes_text(l->text, of->site);
    }
    dd_bytes_text(l->text, of->gauge && strstr(of->gauge, "Fr") ? ", " : ", gauge ");
    dd_bytes_text(l->text, of->gauge ? of->gauge : "......");
    dd_label_row(l);
    set_time(l, "placed   ", placed ? care.placed : DD_NEVER, "");
    if (!tube) {
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "dressing ");
        dd_bytes_text(l->text, of->dressing ? of->dressing : "...............");
        dd_label_row(l);
        dd_moment dressed = placed && !new_dressing ? care.dressed : DD_NEVER;
        set_time(l, "dressed  ", dressed, "");
        set_change_by(l, dressed == DD_NEVER, &care.dressing);
    }
    dd_label_words(l, "by ......");
    dd_label_close(l);
    dd_label_open(l);
    dd_label_whose(l, line, false);
    dd_moment set = placed && !new_set ? care.set_changed : DD_NEVER;
    set_time(l, "SET from ", set, "");
    set_change_by(l, set == DD_NEVER, &care.set);
    dd_label_words(l, "by ......");
    dd_label_close(l);
}

/* ---- the whole ---- */

static dd_status set_patient(dd_label *l, bool steps)
{
    const dd_view *v = l->view;
    const dd_task *tasks;
    size_t count;
    dd_status status = dd_task_list(l->timeline, DD_TASKS_ALL, v->from, v->to, l->arena, &tasks, &count);
    if (status != DD_OK)
        return status;
    dd_sheet_text(l->sheet, 0, 0, "To be cut out. A label says what the plan says: compare it with the order, the bag and the name band before it is stuck on.");
    dd_sheet_blank(l->sheet);
    set_bags(l, tasks, count);
    for (int line = 0; line < l->timeline->patient->line_count; line++)
        set_line(l, line, tasks, count);
    if (steps)
        dd_steps_write(l);
    return DD_OK;
}

static dd_status one_patient(dd_label *l, size_t i, const char *made, const char *span, const char *ward, const char *notes, bool steps, bool last)
{
    const dd_view *v = l->view;
    char code[DD_PAGECODE_SIZE];
    dd_bytes subject = DD_BYTES(TEXT_CEILING);
    l->timeline = v->timelines[i];
    dd_phrase_capitals(&subject, dd_phrase_bed(v->patients[i]));
    dd_status status = dd_pagecode(v, v->patients[i], code);
    if (status == DD_OK && subject.failed)
        status = DD_NO_MEMORY;
    if (status == DD_OK) {
        dd_sheet_open(l->sheet, &(dd_heading){.demo = v->plan->demo, .subject = subject.data, .title = "LABELS", .span = span, .ward = ward, .made = made, .code = code,
            .end = subject.data, .notes = notes});
        status = set_patient(l, steps);
        dd_sheet_close(l->sheet, last ? "END OF LIST\n" : NULL);
    }
    dd_bytes_free(&subject);
    return status;
}

dd_status dd_label_write(const dd_view *view, bool steps, dd_bytes *out)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING), made = DD_BYTES(TEXT_CEILING), span = DD_BYTES(TEXT_CEILING), notes = DD_BYTES(TEXT_CEILING);
    dd_sheet sheet;
    dd_label l = {.sheet = &sheet, .view = view, .text = &text, .arena = dd_arena_new()};
    size_t last = view->count;
    for (size_t i = 0; i < view->count; i++)
        if (view->timelines[i])
            last = i;
    if (last == view->count) { /* nobody is planned: only that is said */
        dd_status status = dd_list_head(view, "LABELS", out);
        dd_arena_free(l.arena);
        return status == DD_OK ? dd_list_end(view, out) : status;
    }
    dd_sheet_start(&sheet, out, view->width, view->pages, view->count);
    dd_phrase_made(&made, view);
    dd_phrase_view_span(&span, view);
    dd_bytes_text(&notes, "");
    dd_phrase_not_planned(&notes, view, view->count);
    dd_status status = l.arena && !made.failed && !span.failed && !notes.failed ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; status == DD_OK && i < view->count; i++) {
        dd_arena_reset(l.arena);
        if (view->timelines[i])
            status = one_patient(&l, i, made.data, span.data, view->plan->ward ? view->plan->ward : "ward", notes.data, steps, i == last);
    }
    if (status == DD_OK && text.failed)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    dd_bytes_free(&made);
    dd_bytes_free(&span);
    dd_bytes_free(&notes);
    dd_arena_free(l.arena);
    dd_status finished = dd_sheet_finish(&sheet);
    return status != DD_OK ? status : finished;
}
