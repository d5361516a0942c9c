/* list.c - schedule and totals as text: a block for each patient that begins with its bed. */
#include "list.h"

#include <string.h>

#include "arena.h"
#include "grid.h"
#include "names.h"
#include "pagecode.h"
#include "phrase.h"
#include "sheet.h"
#include "tally.h"

#define TEXT_CEILING ((size_t)1 << 20)

static dd_status end_of(dd_sheet *s, dd_bytes *text)
{
    bool failed = text->failed;
    dd_bytes_free(text);
    dd_sheet_pour(s);
    dd_status status = dd_sheet_finish(s);
    return failed ? DD_NO_MEMORY : status;
}

dd_status dd_list_head(const dd_view *view, const char *what, dd_bytes *out)
{
    char code[DD_PAGECODE_SIZE];
    dd_status status = dd_pagecode(view, NULL, code);
    if (status != DD_OK)
        return status;
    dd_sheet s;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&s, out, view->width, false, 1);
    dd_phrase_start(&text);
    dd_bytes_text(&text, view->plan->demo ? "DEMO, NOT FOR CARE   " : "");
    dd_phrase_capitals(&text, view->plan->ward ? view->plan->ward : "ward");
    dd_bytes_text(&text, "   ");
    dd_bytes_text(&text, what);
    dd_sheet_text(&s, 0, 2, dd_phrase_text(&text));
    dd_phrase_start(&text);
    dd_phrase_view_span(&text, view);
    dd_sheet_text(&s, 0, 2, dd_phrase_text(&text));
    dd_phrase_start(&text);
    dd_phrase_made(&text, view);
    dd_bytes_text(&text, "   page code ");
    dd_bytes_text(&text, code);
    dd_sheet_text(&s, 0, 2, dd_phrase_text(&text));
    dd_phrase_start(&text);
    if (dd_phrase_clocks_change(&text, view->plan, view->from, view->to))
        dd_sheet_text(&s, 0, 2, dd_phrase_text(&text));
    dd_sheet_pour(&s);
    dd_phrase_start(&text);
    dd_phrase_not_planned(&text, view, view->count);
    if (text.length)
        dd_bytes_add(out, text.data, text.length);
    dd_sheet_rule(&s);
    return end_of(&s, &text);
}

dd_status dd_list_end(const dd_view *view, dd_bytes *out)
{
    (void)view;
    dd_bytes_text(out, "END OF LIST\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

/* `bay1-bed2   67 years   82 kg   ALLERGY: PENICILLIN` */
void dd_list_patient(dd_sheet *s, const dd_patient *p, dd_bytes *text)
{
    dd_phrase_start(text);
    dd_bytes_text(text, dd_phrase_bed(p));
    dd_bytes_text(text, "   ");
    if (p->age_text) {
        dd_phrase_age(text, p);
        dd_bytes_text(text, "   ");
    }
    dd_phrase_weight(text, p);
    dd_bytes_text(text, "   ");
    dd_phrase_allergy(text, p);
    dd_sheet_text(s, 0, 2, dd_phrase_text(text));
    dd_sheet_join(s);
}

void dd_list_later(dd_sheet *s, const dd_view *view, const dd_timeline *t, dd_bytes *text)
{
    if (!dd_phrase_later(dd_phrase_start(text), view, &t, 1))
        return;
    dd_sheet_text(s, 1, 3, dd_phrase_text(text));
    dd_sheet_join(s);
}

/* ---- schedule ---- */

static bool shown(const dd_view *view, const dd_flow *flow, int order)
{
    return flow->order == order && flow->to > view->from && flow->from < view->to;
}

static const char *time_cell(dd_bytes *text, const dd_plan *plan, dd_moment t)
{
    dd_phrase_time(dd_phrase_start(text), plan, t, DD_MOMENT_DAY);
    return dd_phrase_text(text);
}

static void set_flow(dd_grid *g, const dd_timeline *t, const dd_flow *f, bool due, dd_bytes *text)
{
    char number[DD_NUMBER_MAX];
    dd_grid_cell(g, time_cell(text, t->plan, f->from));
    dd_grid_cell(g, time_cell(text, t->plan, f->to));
    if (due)
        dd_grid_cell(g, f->due == DD_NEVER ? "" : time_cell(text, t->plan, f->due));
    if (f->part == DD_PART_FLUSH) {
        dd_grid_cell(g, "flush");
    } else {
        dd_number_scaled(number, f->bag, 0, 0, DD_STYLE_PERSON);
        dd_grid_cell(g, number);
    }
    dd_number_scaled(number, f->rate.ul_per_h, 3, 3, DD_STYLE_PERSON);
    dd_grid_cell(g, number);
    dd_phrase_volume(dd_phrase_start(text), t->patient, f->given);
    dd_grid_cell(g, dd_phrase_text(text));
    dd_phrase_start(text);
    dd_bytes_text(text, f->basis == DD_CHARTED ? "charted" : "planned");
    if (f->line != t->patient->orders[f->order].line) {
        dd_bytes_text(text, ", on ");
        dd_bytes_text(text, t->patient->lines[f->line].key);
    }
    dd_grid_cell(g, dd_phrase_text(text));
}

/* `main on left-arm: glucose 5 % with ..., primary, pump` and its flows. */
static void set_order(dd_sheet *s, const dd_view *view, const dd_timeline *t, int order, dd_bytes *text)
{
    const dd_order *o = &t->patient->orders[order];
    static const char *const runs[] = {"primary", "piggyback", "concurrent"};
    dd_phrase_start(text);
    dd_bytes_text(text, o->key);
    dd_bytes_text(text, " on ");
    dd_bytes_text(text, t->patient->lines[o->line].key);
    dd_bytes_text(text, ": ");
    dd_bytes_text(text, o->mixture->words);
    dd_bytes_text(text, o->runs <= DD_CONCURRENT ? ", " : "");
    dd_bytes_text(text, o->runs <= DD_CONCURRENT ? runs[o->runs] : "");
    dd_bytes_text(text, ", ");
    dd_bytes_text(text, dd_names_device(o->device));
    if (t->rates[order][0].drops > 0) {
        dd_bytes_text(text, ", ");
        dd_phrase_set_rate(text, t->rates[order][0]);
    }
    dd_sheet_text(s, 1, 3, dd_phrase_text(text));
    dd_sheet_join(s);

    bool due = o->repeat != DD_ONCE, any = false;
    const dd_column with_due[] = {{.head = "from", .align = DD_LEFT}, {.head = "to", .align = DD_LEFT}, {.head = "due", .align = DD_LEFT}, {.head = "bag", .align = DD_RIGHT},
        {.head = "mL/h", .align = DD_POINT}, {.head = "mL", .align = DD_POINT}, {.head = "", .align = DD_LEFT}};
    const dd_column without[] = {{.head = "from", .align = DD_LEFT}, {.head = "to", .align = DD_LEFT}, {.head = "bag", .align = DD_RIGHT}, {.head = "mL/h", .align = DD_POINT},
        {.head = "mL", .align = DD_POINT}, {.head = "", .align = DD_LEFT}};
    dd_grid g;
    dd_grid_start(&g, due ? with_due : without, due ? 7 : 6);
    for (size_t i = 0; i < t->flow_count; i++)
        if (shown(view, &t->flows[i], order)) {
            set_flow(&g, t, &t->flows[i], due, text);
            any = true;
        }
    dd_grid_write(&g, s, 3);
    if (!any)
        dd_sheet_text(s, 3, 5, "nothing flows in this span");
    for (size_t i = 0; i < t->run_count; i++) {
        const dd_run *run = &t->runs[i];
        if (run->order != order || (run->why != DD_END_BEYOND && run->why != DD_END_NEVER) || view->to < t->plan->end)
            continue;
        dd_phrase_start(text);
        dd_bytes_text(text, "due ");
        dd_phrase_time(text, t->plan, run->due, DD_MOMENT_DAY);
        dd_bytes_text(text, run->why == DD_END_NEVER ? ": does not start" : ": starts after this plan, ");
        if (run->why == DD_END_BEYOND)
            dd_phrase_time(text, t->plan, run->start, DD_MOMENT_DAY);
        dd_sheet_text(s, 3, 5, dd_phrase_text(text));
    }
}

dd_status dd_list_schedule(const dd_view *view, const dd_timeline *t, dd_bytes *out)
{
    dd_sheet s;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&s, out, view->width, false, 1);
    dd_list_patient(&s, t->patient, &text);
    dd_list_later(&s, view, t, &text);
    for (int o = 0; o < t->patient->order_count; o++)
        set_order(&s, view, t, o, &text);
    if (t->patient->order_count == 0)
        dd_sheet_text(&s, 1, 3, "no orders");
    dd_sheet_rule(&s);
    return end_of(&s, &text);
}

/* ---- totals ---- */

#define PARTS (DD_CAT_COUNT + DD_OUTPUTS) /* inputs, then outputs */

/* One row: a period and basis with its parts. In the row of all rows printed_ul of `in` and `out` is what the printed rows make. */
typedef struct row { dd_tally parts[PARTS], in, out, balance; } row;

static const char *part_name(int part)
{
    return part < DD_CAT_COUNT ? dd_names_category(part) : dd_names_output(part - DD_CAT_COUNT);
}

static int part_of(const dd_total *total)
{
    return total->out ? DD_CAT_COUNT + total->category : total->category;
}

static void count_total(row *r, const dd_patient *p, const dd_total *total)
{
    int64_t printed = dd_phrase_shown(p, total->volume);
    bool spoilt = total->unknown > 0;
    dd_tally_add(&r->parts[part_of(total)], total->volume.u, printed, spoilt);
    dd_tally_add(total->out ? &r->out : &r->in, total->volume.u, printed, spoilt);
    dd_tally_add(&r->balance, total->out ? -total->volume.u : total->volume.u, 0, spoilt);
}

static void count_row(row *all, const dd_patient *p, const row *r)
{
    for (int i = 0; i < PARTS; i++)
        dd_tally_add(&all->parts[i], r->parts[i].u, r->parts[i].printed_ul, r->parts[i].spoilt);
    dd_tally_add(&all->in, r->in.u, dd_phrase_shown(p, (dd_u){r->in.u}), r->in.spoilt);
    dd_tally_add(&all->out, r->out.u, dd_phrase_shown(p, (dd_u){r->out.u}), r->out.spoilt);
    dd_tally_add(&all->balance, r->balance.u, 0, r->balance.spoilt);
}

static void set_row(dd_grid *g, const dd_patient *p, const row *r, const bool *used, bool outs, dd_bytes *text)
{
    for (int i = 0; i < PARTS; i++) {
        if (i == DD_CAT_COUNT)
            dd_tally_cell(g, p, &r->in, false, text);
        if (used[i])
            dd_tally_cell(g, p, &r->parts[i], true, text);
    }
    if (outs)
        dd_tally_cell(g, p, &r->out, true, text);
}

/* The row's own parts do not make its IN or OUT, as printed. */
static bool row_is_off(const dd_patient *p, const row *r)
{
    return r->in.printed_ul != dd_phrase_shown(p, (dd_u){r->in.u}) || r->out.printed_ul != dd_phrase_shown(p, (dd_u){r->out.u});
}

static void set_totals(dd_sheet *s, const dd_timeline *t, const dd_total *totals, size_t count, dd_period by, dd_bytes *text)
{
    const dd_patient *p = t->patient;
    bool used[PARTS] = {false}, charted = false, outs = false;
    for (size_t i = 0; i < count; i++) {
        used[part_of(&totals[i])] = true;
        charted |= totals[i].basis == DD_CHARTED;
        outs |= totals[i].out;
    }
    dd_column columns[PARTS + 5];
    size_t n = 0;
    columns[n++] = (dd_column){.head = by == DD_BY_HOUR ? "hour" : by == DD_BY_SHIFT ? "shift from" : "day from", .align = DD_LEFT};
    for (int i = 0; i < PARTS; i++) {
        if (i == DD_CAT_COUNT)
            columns[n++] = (dd_column){.head = "IN", .align = DD_POINT};
        if (used[i])
            columns[n++] = (dd_column){.head = part_name(i), .align = DD_POINT};
    }
    if (outs)
        columns[n++] = (dd_column){.head = "OUT", .align = DD_POINT};
    columns[n++] = (dd_column){.head = "SUM", .align = DD_POINT};
    for (size_t i = 0; i < n; i++) /* the bar stands behind IN */
        columns[i].bar = i > 0 && strcmp(columns[i - 1].head, "IN") == 0;

    row all = {0};
    bool off = false;
    int told = -1;
    dd_grid g;
    dd_grid_start(&g, columns, n);
    for (size_t first = 0, next; first < count; first = next) {
        for (next = first; next < count && totals[next].from == totals[first].from; next++)
            continue;
        for (int basis = DD_CHARTED; basis <= DD_PLANNED; basis++) {
            row r = {0};
            bool any = false;
            for (size_t i = first; i < next; i++)
                if (totals[i].basis == basis) {
                    count_total(&r, p, &totals[i]);
                    any = true;
                }
            if (!any)
                continue;
            count_row(&all, p, &r);
            off |= row_is_off(p, &r);
            if (charted && told != basis) { /* a heading inside the table */
                dd_grid_cell(&g, basis == DD_CHARTED ? "CHARTED" : "PLANNED");
                for (size_t c = 1; c < n; c++)
                    dd_grid_cell(&g, "");
                told = basis;
            }
            dd_grid_cell(&g, time_cell(text, t->plan, totals[first].from));
            set_row(&g, p, &r, used, outs, text);
            dd_tally_cell(&g, p, &all.balance, false, text);
        }
    }
    dd_grid_cell(&g, "all");
    set_row(&g, p, &all, used, outs, text);
    dd_tally_cell(&g, p, &all.balance, false, text);
    dd_grid_write(&g, s, 1);
    for (int i = 0; i < PARTS; i++)
        dd_tally_rounding(s, p, &all.parts[i], part_name(i), text);
    dd_tally_rounding(s, p, &all.in, "IN", text);
    dd_tally_rounding(s, p, &all.out, "OUT", text);
    if (off)
        dd_sheet_text(s, 1, 2, "In a row each figure is rounded by itself: not all parts make IN or OUT to the last digit.");
    if (!outs) /* nothing charted is not the same as nothing lost */
        dd_sheet_text(s, 1, 3, "No output is charted: SUM is what went in.");
    if (all.in.spoilt)
        dd_sheet_text(s, 1, 3, "? not all that went in was measured or charted: the true IN and SUM are higher");
    if (all.out.spoilt)
        dd_sheet_text(s, 1, 3, "? not all that came out was measured: the true OUT is higher, the true SUM lower");
}

/* `urine Wed 07:00 to Wed 18:00: 700 mL / 82 kg / 11 h = 0.78 mL/kg/h` */
void dd_list_urine(dd_sheet *s, const dd_timeline *t, dd_bytes *text)
{
    char part[DD_MOMENT_MAX > DD_NUMBER_MAX ? DD_MOMENT_MAX : DD_NUMBER_MAX];
    dd_urine urine = dd_timeline_urine(t);
    if (urine.to == DD_NEVER)
        return;
    dd_phrase_start(text);
    dd_moment_write(part, t->plan->zone, urine.from, DD_MOMENT_DAY);
    dd_bytes_form(text, "urine %s to ", part);
    dd_moment_write(part, t->plan->zone, urine.to, DD_MOMENT_DAY);
    dd_bytes_form(text, "%s: ", part);
    dd_number_u(part, urine.volume, 1, DD_STYLE_PERSON);
    dd_bytes_form(text, "%s%s mL", part, urine.unknown ? "?" : "");
    if (t->patient->weight_mg == DD_UNKNOWN) {
        dd_bytes_text(text, "; per kg ?: no weight");
    } else if (urine.ul_per_kg_h.den == 0) {
        dd_bytes_text(text, "; per hour ?: under an hour");
    } else {
        dd_number_scaled(part, t->patient->weight_mg, 6, 3, DD_STYLE_PERSON);
        dd_bytes_form(text, " / %s kg / ", part);
        dd_moment_span(part, urine.to - urine.from);
        dd_ratio ml = {urine.ul_per_kg_h.num, urine.ul_per_kg_h.den * 1000};
        dd_bytes_form(text, "%s = ", part);
        dd_number_ratio(part, ml, 2, DD_STYLE_PERSON);
        dd_bytes_form(text, "%s%s mL/kg/h", part, urine.unknown ? "?" : "");
        if (urine.unknown)
            dd_bytes_text(text, "; not all was measured, the true figure is higher");
    }
    dd_sheet_text(s, 1, 3, dd_phrase_text(text));
    dd_sheet_join(s);
}

dd_status dd_list_totals(const dd_view *view, const dd_timeline *t, const dd_total *totals, size_t count, dd_period by, dd_bytes *out)
{
    dd_sheet s;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&s, out, view->width, false, 1);
    dd_list_patient(&s, t->patient, &text);
    dd_list_later(&s, view, t, &text);
    dd_phrase_forward(dd_phrase_start(&text), t->patient);
    if (text.length) {
        dd_sheet_text(&s, 1, 3, dd_phrase_text(&text));
        dd_sheet_join(&s);
    }
    if (count == 0)
        dd_sheet_text(&s, 1, 3, "nothing in or out in this span");
    else
        set_totals(&s, t, totals, count, by, &text);
    dd_list_urine(&s, t, &text);
    dd_sheet_rule(&s);
    return end_of(&s, &text);
}
