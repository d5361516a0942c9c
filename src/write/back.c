#include "back.h"

#include "checked.h"
#include "grid.h"
#include "intake.h"
#include "ledger.h"
#include "names.h"
#include "phrase.h"
#include "tally.h"

#define TEXT_CEILING ((size_t)1 << 20)
#define DAY_S INT64_C(86400)
#define SHIFTS_MOST 4 /* columns of what was given; a longer plan has one for the whole */

typedef struct back {
    dd_sheet *sheet;
    const dd_view *view;
    const dd_timeline *t;
    const dd_patient *p;
    dd_arena *arena;
    dd_bytes *text;
} back;

static void set_person(back *b)
{
    dd_phrase_start(b->text);
    if (b->p->age_text) {
        dd_phrase_age(b->text, b->p);
        dd_bytes_text(b->text, "   ");
    }
    dd_phrase_weight(b->text, b->p);
    if (b->p->weight_mg != DD_UNKNOWN && b->p->weighed != DD_NEVER) {
        dd_bytes_text(b->text, " weighed ");
        dd_phrase_time(b->text, b->t->plan, b->p->weighed, DD_MOMENT_DAY);
    }
    dd_bytes_text(b->text, "   ");
    dd_phrase_allergy(b->text, b->p);
    dd_sheet_text(b->sheet, 0, 2, dd_phrase_text(b->text));
    dd_sheet_rule(b->sheet);
}

/* ---- bags add up ---- */

typedef struct bag_row {
    const char *label;
    dd_tally hung, prime, given[SHIFTS_MOST], discarded, left;
} bag_row;

static bool is_dose(const dd_order *o)
{
    return o->repeat != DD_ONCE || o->runs == DD_PIGGYBACK;
}

static void add_amount(const back *b, dd_tally *to, int64_t u)
{
    dd_tally_add(to, u, dd_phrase_shown(b->p, (dd_u){u}), false);
}

static void add_bag(const back *b, bag_row *row, const dd_bag *bag, const dd_moment *edges, size_t shifts)
{
    add_amount(b, &row->hung, bag->hung.u);
    add_amount(b, &row->prime, bag->prime.u);
    add_amount(b, &row->discarded, bag->discarded.u);
    add_amount(b, &row->left, bag->left.u);
    for (size_t i = 0; i < shifts; i++)
        add_amount(b, &row->given[i],
                   dd_timeline_given_of(b->t, (dd_given_of){bag->order, DD_PART_BAG, bag->number, bag->due}, edges[i], edges[i + 1]).u);
}

static void set_bag(const back *b, dd_grid *g, const bag_row *row, size_t shifts, bool prime)
{
    dd_grid_cell(g, row->label);
    dd_tally_cell(g, b->p, &row->hung, false, b->text);
    if (prime)
        dd_tally_cell(g, b->p, &row->prime, false, b->text);
    for (size_t i = 0; i < shifts; i++)
        dd_tally_cell(g, b->p, &row->given[i], false, b->text);
    dd_tally_cell(g, b->p, &row->discarded, false, b->text);
    dd_tally_cell(g, b->p, &row->left, false, b->text);
}

/* Doses by order, all bags in one row: each is a bag of its own. */
static void set_order_bags(back *b, dd_grid *g, int order, const dd_moment *edges, size_t shifts, bool prime, bool *off)
{
    const dd_order *o = &b->p->orders[order];
    bag_row sum = {0};
    int64_t count = 0;
    for (size_t i = 0; i < b->t->bag_count; i++) {
        const dd_bag *bag = &b->t->bags[i];
        char number[DD_NUMBER_MAX];
        bag_row one = {0};
        if (bag->order != order)
            continue;
        count++;
        add_bag(b, is_dose(o) ? &sum : &one, bag, edges, shifts);
        if (is_dose(o))
            continue;
        dd_bytes label = DD_BYTES(1024);
        dd_bytes_form(&label, "%s bag ", o->key);
        dd_bytes_add(&label, number, dd_number_scaled(number, bag->number, 0, 0, DD_STYLE_PERSON));
        one.label = dd_phrase_text(&label);
        set_bag(b, g, &one, shifts, prime);
        int64_t parts = one.prime.printed_ul + one.discarded.printed_ul + one.left.printed_ul;
        for (size_t k = 0; k < shifts; k++)
            parts += one.given[k].printed_ul;
        *off = *off || parts != one.hung.printed_ul;
        dd_bytes_free(&label);
    }
    if (!is_dose(o) || count == 0)
        return;
    char number[DD_NUMBER_MAX];
    dd_bytes label = DD_BYTES(1024);
    dd_bytes_form(&label, "%s, ", o->key);
    dd_bytes_add(&label, number, dd_number_scaled(number, count, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(&label, count == 1 ? " bag" : " bags");
    sum.label = dd_phrase_text(&label);
    set_bag(b, g, &sum, shifts, prime);
    dd_bytes_free(&label);
}

static dd_status set_bags(back *b)
{
    const dd_moment *edges;
    size_t shifts;
    dd_status status = dd_timeline_periods(b->t->plan, DD_BY_SHIFT, b->arena, &edges, &shifts);
    if (status != DD_OK || b->t->bag_count == 0)
        return status;
    const dd_moment whole[] = {b->t->plan->begins, b->t->plan->end};
    bool prime = false, off = false, by_shift = shifts <= SHIFTS_MOST;
    for (size_t i = 0; i < b->t->bag_count; i++)
        prime = prime || b->t->bags[i].prime.u > 0;
    dd_column columns[SHIFTS_MOST + 5];
    char heads[SHIFTS_MOST][48];
    size_t n = 0, given = by_shift ? shifts : 1;
    columns[n++] = (dd_column){.head = "BAGS ADD UP", .align = DD_LEFT};
    columns[n++] = (dd_column){.head = "hung =", .align = DD_POINT, .say = "hung", .unit = " mL"};
    if (prime)
        columns[n++] = (dd_column){.head = "prime", .align = DD_POINT, .unit = " mL"};
    for (size_t i = 0; i < given; i++) {
        char clock[DD_MOMENT_MAX];
        dd_moment_write(clock, b->t->plan->zone, by_shift ? edges[i] : whole[0], DD_MOMENT_CLOCK);
        dd_bytes head = DD_BYTES(sizeof heads[i]);
        dd_bytes_text(&head, !by_shift ? "given" : b->sheet->sentences ? "given from " : "from ");
        dd_bytes_text(&head, by_shift ? clock : "");
        size_t length = head.length < sizeof heads[i] ? head.length : sizeof heads[i] - 1;
        for (size_t k = 0; k < length; k++)
            heads[i][k] = head.data[k];
        heads[i][length] = '\0';
        dd_bytes_free(&head);
        columns[n++] = (dd_column){.head = heads[i], .align = DD_POINT, .unit = " mL"};
    }
    columns[n++] = (dd_column){.head = "wasted", .align = DD_POINT, .unit = " mL"};
    columns[n++] = (dd_column){.head = "left", .align = DD_POINT, .unit = " mL"};
    dd_grid g;
    dd_sheet_together(b->sheet);
    dd_grid_start(&g, columns, n);
    for (int o = 0; o < b->p->order_count; o++)
        set_order_bags(b, &g, o, by_shift ? edges : whole, given, prime, &off);
    dd_sheet_said(b->sheet, "Bags add up: what was hung is what was primed, given, wasted and left");
    dd_grid_write(&g, b->sheet, 0);
    dd_phrase_start(b->text);
    dd_bytes_text(b->text, "in mL; left: what is in it at ");
    dd_phrase_time(b->text, b->t->plan, b->t->plan->end, DD_MOMENT_DAY);
    dd_bytes_text(b->text, off ? ". Each figure is rounded by itself: not all parts make the bag to the last digit." : ".");
    dd_sheet_text(b->sheet, 1, 1, dd_phrase_text(b->text));
    dd_sheet_apart(b->sheet);
    return DD_OK;
}

/* ---- what changed ---- */

static bool is_change(const dd_event *e)
{
    switch ((dd_event_kind)e->kind) {
    case DD_EVENT_STARTED: case DD_EVENT_PAUSED: case DD_EVENT_RESUMED: case DD_EVENT_RATE: case DD_EVENT_HUNG: case DD_EVENT_STOPPED:
    case DD_EVENT_OMITTED: case DD_EVENT_MOVED: case DD_EVENT_PLACED: case DD_EVENT_REMOVED: case DD_EVENT_DRESSED: case DD_EVENT_SET_CHANGED:
    case DD_EVENT_WEIGHED: case DD_EVENT_STRUCK: return true;
    case DD_EVENT_VERIFIED: case DD_EVENT_READING: case DD_EVENT_CHECKED: case DD_EVENT_INTAKE: case DD_EVENT_OUTPUT: case DD_EVENT_COUNT: break;
    }
    return false;
}

/* The doses of an order are told together. */
static bool is_alike(const dd_event *a, const dd_event *b)
{
    return a->kind == DD_EVENT_STARTED && b->kind == DD_EVENT_STARTED && a->order == b->order && a->order >= 0;
}

static bool told_before(const back *b, size_t at)
{
    for (size_t i = 0; i < at; i++)
        if (b->t->events[i]->time >= b->view->since && is_alike(b->t->events[i], b->t->events[at]))
            return true;
    return false;
}

static void set_changes(back *b)
{
    bool any = false;
    dd_phrase_start(b->text);
    dd_bytes_text(b->text, b->sheet->sentences ? "Changed since " : "CHANGED since ");
    dd_phrase_time(b->text, b->t->plan, b->view->since, DD_MOMENT_DAY);
    dd_bytes_text(b->text, ": ");
    for (size_t i = 0; i < b->t->event_count; i++) {
        const dd_event *e = b->t->events[i];
        if (!is_change(e) || e->time < b->view->since || told_before(b, i))
            continue;
        dd_bytes_text(b->text, any ? "; " : "");
        any = true;
        dd_phrase_event(b->text, b->t, e);
        for (size_t k = i + 1; k < b->t->event_count; k++)
            if (is_alike(e, b->t->events[k])) {
                dd_bytes_text(b->text, ", ");
                dd_phrase_time(b->text, b->t->plan, b->t->events[k]->time, b->t->events[k]->time - e->time < DAY_S ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
            }
    }
    dd_bytes_text(b->text, any ? "." : "nothing is charted.");
    dd_sheet_title(b->sheet, 0, 1, dd_phrase_text(b->text), NULL);
}

/* ---- findings that somebody has looked into, and what was looked for ---- */

static void set_accepted(back *b)
{
    bool any = false;
    for (size_t i = 0; i < b->t->finding_count; i++) {
        const dd_finding *f = &b->t->findings[i];
        if (!f->accepted)
            continue;
        any = true;
        dd_phrase_start(b->text);
        dd_bytes_form(b->text, "ACCEPTED (%s) %s: ", dd_names_severity(f->severity), dd_names_finding(f->code));
        dd_phrase_finding(b->text, b->t, f);
        dd_bytes_text(b->text, "; by ");
        dd_bytes_text(b->text, f->accepted->by);
        dd_bytes_text(b->text, " until ");
        dd_phrase_time(b->text, b->t->plan, f->accepted->until, DD_MOMENT_DATE_CLOCK);
        dd_bytes_text(b->text, ": ");
        dd_bytes_text(b->text, f->accepted->reason);
        dd_sheet_text(b->sheet, 0, 1, dd_phrase_text(b->text));
    }
    if (!any)
        dd_sheet_text(b->sheet, 0, 1, "FOUND AND ACCEPTED: none.");
}

dd_status dd_back_write(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, dd_arena *arena)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    back b = {.sheet = sheet, .view = view, .t = timeline, .p = timeline->patient, .arena = arena, .text = &text};
    set_person(&b);
    dd_status status = dd_ledger_write(sheet, timeline, arena, &text);
    dd_sheet_rule(sheet);
    if (status == DD_OK && timeline->patient->order_count > 0) {
        status = dd_intake_write(sheet, timeline, arena, &text);
        dd_sheet_rule(sheet);
    }
    if (status == DD_OK)
        status = set_bags(&b);
    dd_sheet_rule(sheet);
    set_changes(&b);
    set_accepted(&b);
    const dd_view one = {.plan = view->plan, .folder = view->folder, .timelines = &timeline, .patients = (const dd_patient *const *)&timeline->patient, .count = 1};
    if (status == DD_OK)
        status = dd_checked_set(sheet, &one, false);
    bool failed = text.failed;
    dd_bytes_free(&text);
    return failed ? DD_NO_MEMORY : status;
}
