#include "differ_list.h"

#include <stdlib.h>
#include <string.h>

#include "list.h"
#include "names.h"
#include "pagecode.h"
#include "phrase.h"
#include "rows.h"
#include "sheet.h"

#define TEXT_CEILING ((size_t)1 << 20)

static const char *cell_text(const dd_written *row, dd_column_id column)
{
    return row ? row->cell[(size_t)column - DD_FIRST_ORDERS] : NULL;
}

/* ---- rows ---- */

dd_status dd_differ_rows_head(dd_bytes *out)
{
    dd_bytes_text(out, "patient,order,column,ordered,recorded,same\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

dd_status dd_differ_rows(const dd_patient *p, const dd_differ_cell *cells, size_t count, dd_bytes *out)
{
    for (size_t i = 0; i < count; i++) {
        const dd_differ_cell *c = &cells[i];
        const char *ordered = cell_text(c->orders_row, c->column), *recorded = cell_text(c->record_row, c->column);
        dd_rows_text(out, p->key);
        dd_bytes_char(out, ',');
        dd_rows_text(out, c->ordered ? c->ordered->key : c->recorded->key);
        dd_bytes_char(out, ',');
        dd_rows_text(out, dd_column_list[c->column].name);
        dd_bytes_char(out, ',');
        dd_rows_text(out, ordered ? ordered : "");
        dd_bytes_char(out, ',');
        dd_rows_text(out, recorded ? recorded : "");
        dd_bytes_text(out, c->same ? ",yes\n" : ",no\n");
    }
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

/* ---- what a cell says, for people ---- */

static void add_moment(dd_bytes *out, const dd_plan *plan, dd_moment t)
{
    dd_phrase_time(out, plan, t, t % 60 ? DD_MOMENT_SECONDS : DD_MOMENT_DATE_CLOCK);
}

/* A quantity as people read it; anything else as it is written. */
static void add_written(dd_bytes *out, dd_column_id column, const char *text)
{
    dd_quantity q;
    unsigned takes = dd_column_list[column].takes;
    if (takes && dd_quantity_read(text, strlen(text), takes, true, &q, NULL) == DD_QF_NONE)
        dd_phrase_quantity(out, q);
    else
        dd_phrase_spaced(out, text);
}

/* `06:00 14:00`, as they stand in the row. */
static void add_clocks(dd_bytes *out, const dd_order *o)
{
    for (uint16_t i = 0; i < o->clock_count; i++) {
        int32_t clock = o->clocks[i];
        dd_bytes_form(out, "%s%02d:%02d", i ? " " : "", (int)(clock / 3600), (int)(clock / 60 % 60));
        if (clock % 60)
            dd_bytes_form(out, ":%02d", (int)(clock % 60));
    }
}

/* One of the words that a column may have. */
static void add_word(dd_bytes *out, dd_column_id column, int index)
{
    const char *word = dd_column_list[column].words;
    for (; index > 0; index--)
        word += strcspn(word, " ") + 1;
    dd_bytes_add(out, word, strcspn(word, " "));
}

/* What holds where nothing is written. */
static void add_blank(dd_bytes *out, const dd_order *o, dd_column_id column)
{
    char number[DD_NUMBER_MAX];
    dd_ratio ml;
    switch ((int)column) {
    case DD_COL_ORDERS_RATE:
        if (o->step_count != 1 || dd_ratio_over(o->steps[0].rate, (dd_ratio){1000, 1}, &ml) != DD_OK)
            break;
        dd_bytes_add(out, number, dd_number_ratio(number, ml, 3, DD_STYLE_PERSON));
        dd_bytes_text(out, " mL/h (worked out)");
        return;
    case DD_COL_ORDERS_VOLUME:
        if (o->volume_ul == DD_UNKNOWN)
            break;
        dd_phrase_ul(out, o->volume_ul);
        dd_bytes_text(out, " (worked out)");
        return;
    case DD_COL_ORDERS_BAG:
        if (o->bag_ul == DD_UNKNOWN)
            break;
        dd_phrase_ul(out, o->bag_ul);
        dd_bytes_text(out, " (the volume)");
        return;
    case DD_COL_ORDERS_SET: dd_bytes_text(out, "pump (blank)"); return;
    case DD_COL_ORDERS_START: dd_bytes_text(out, "the plan's beginning (blank)"); return;
    case DD_COL_ORDERS_RUNS:
        add_word(out, column, o->runs);
        dd_bytes_text(out, " (blank)");
        return;
    case DD_COL_ORDERS_FOR:
        add_word(out, column, o->purpose);
        dd_bytes_text(out, " (blank)");
        return;
    case DD_COL_ORDERS_CATEGORY:
        dd_bytes_text(out, dd_names_category(o->category));
        dd_bytes_text(out, " (blank)");
        return;
    case DD_COL_ORDERS_WINDOW:
    case DD_COL_ORDERS_GAP:
        dd_phrase_span(out, column == DD_COL_ORDERS_WINDOW ? o->window_s : o->gap_s);
        dd_bytes_text(out, " (by rule)");
        return;
    default: break;
    }
    dd_bytes_text(out, "not written");
}

/* An order that the other table does not have: what it is, how fast, how much. */
static void add_order(dd_bytes *out, const dd_order *o, const dd_written *row)
{
    static const dd_column_id parts[] = {DD_COL_ORDERS_RATE, DD_COL_ORDERS_VOLUME, DD_COL_ORDERS_OVER};
    dd_bytes_text(out, o->mixture->words);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        const char *text = cell_text(row, parts[i]);
        if (!text)
            continue;
        dd_bytes_text(out, parts[i] == DD_COL_ORDERS_OVER ? " over " : ", ");
        add_written(out, parts[i], text);
    }
}

static void add_cell(dd_bytes *out, const dd_plan *plan, const dd_order *o, const dd_written *row, dd_column_id column)
{
    const char *text = cell_text(row, column);
    if (!o)
        dd_bytes_text(out, "not there");
    else if (column == DD_COL_ORDERS_ORDER)
        add_order(out, o, row);
    else if (column == DD_COL_ORDERS_FLUID)
        dd_bytes_text(out, o->mixture->words);
    else if (!text)
        add_blank(out, o, column);
    else if (column == DD_COL_ORDERS_TIMES)
        add_clocks(out, o);
    else if (column == DD_COL_ORDERS_START && row->after) {
        if (o->after_s)
            dd_phrase_span(out, o->after_s);
        dd_bytes_text(out, o->after_s ? " after " : "after ");
        dd_bytes_text(out, row->after);
    } else if (column == DD_COL_ORDERS_START)
        add_moment(out, plan, o->start);
    else if (column == DD_COL_ORDERS_STOP && o->stop_kind == DD_STOP_AT)
        add_moment(out, plan, o->stop);
    else if (column == DD_COL_ORDERS_HUNG)
        add_moment(out, plan, o->hung);
    else if (column == DD_COL_ORDERS_ORDERED)
        add_moment(out, plan, o->ordered);
    else
        add_written(out, column, text);
}

/* ---- text ---- */

static int worst_first(const void *left, const void *right)
{
    const dd_differ_cell *a = left, *b = right;
    if (a->same != b->same)
        return a->same - b->same;
    if ((a->accepted != NULL) != (b->accepted != NULL))
        return a->accepted ? 1 : -1;
    if (a->rank != b->rank)
        return a->rank - b->rank;
    if (a->ordered != b->ordered)
        return !b->ordered || (a->ordered && a->ordered < b->ordered) ? -1 : 1;
    return a->recorded < b->recorded ? -1 : a->recorded > b->recorded;
}

#define COLUMN_ORDER 11
#define COLUMN_COLUMN 28
#define COLUMN_ORDERED 38

typedef struct texts { dd_bytes severity, ordered, recorded; } texts;

static void set_difference(dd_sheet *sheet, const dd_view *view, const dd_differ_cell *c, texts *t)
{
    int half = (view->width - COLUMN_ORDERED) / 2;
    dd_phrase_start(&t->severity);
    dd_bytes_text(&t->severity, c->accepted ? "(" : "");
    dd_bytes_text(&t->severity, dd_names_severity(dd_names_finding_severity(DD_FINDING_RECORD_DIFFERS)));
    dd_bytes_text(&t->severity, c->accepted ? ")" : "");
    add_cell(dd_phrase_start(&t->ordered), view->plan, c->ordered, c->orders_row, c->column);
    add_cell(dd_phrase_start(&t->recorded), view->plan, c->recorded, c->record_row, c->column);
    if (cell_text(c->orders_row, c->column) && cell_text(c->record_row, c->column) && strcmp(dd_phrase_text(&t->ordered), dd_phrase_text(&t->recorded)) == 0) { /* two fluids of the same words */
        dd_bytes_text(dd_phrase_start(&t->ordered), cell_text(c->orders_row, c->column));
        dd_bytes_text(dd_phrase_start(&t->recorded), cell_text(c->record_row, c->column));
    }
    dd_sheet_together(sheet);
    dd_sheet_row(sheet, (const dd_cell[]){{.at = 1, .width = COLUMN_ORDER - 2, .text = dd_phrase_text(&t->severity)},
        {.at = COLUMN_ORDER, .width = COLUMN_COLUMN - COLUMN_ORDER - 1, .text = c->ordered ? c->ordered->key : c->recorded->key},
        {.at = COLUMN_COLUMN, .width = COLUMN_ORDERED - COLUMN_COLUMN - 1, .text = dd_column_list[c->column].name},
        {.at = COLUMN_ORDERED, .width = half - 1, .text = dd_phrase_text(&t->ordered)},
        {.at = COLUMN_ORDERED + half, .text = dd_phrase_text(&t->recorded)}}, 5);
    if (c->accepted) {
        dd_phrase_start(&t->ordered);
        dd_bytes_text(&t->ordered, "accepted by ");
        dd_bytes_text(&t->ordered, c->accepted->by);
        dd_bytes_text(&t->ordered, " until ");
        dd_phrase_time(&t->ordered, view->plan, c->accepted->until, DD_MOMENT_DATE_CLOCK);
        dd_bytes_text(&t->ordered, ": ");
        dd_bytes_text(&t->ordered, c->accepted->reason);
        dd_sheet_text(sheet, COLUMN_ORDER, COLUMN_ORDER + 1, dd_phrase_text(&t->ordered));
    }
    dd_sheet_apart(sheet);
}

static void add_count(dd_bytes *out, size_t n, const char *one, const char *many)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
    dd_bytes_char(out, ' ');
    dd_bytes_text(out, n == 1 ? one : many);
}

/* `2 differences; 14 cells of 3 orders say the same` */
static void add_counts(dd_bytes *text, const dd_differ_cell *cells, size_t count)
{
    size_t same = 0, orders = 0, differ;
    const dd_order *last = NULL;
    for (size_t i = 0; i < count; i++) {
        same += cells[i].same;
        orders += cells[i].same && cells[i].ordered != last;
        last = cells[i].same ? cells[i].ordered : last;
    }
    differ = count - same;
    if (differ)
        add_count(text, differ, "difference; ", "differences; ");
    else if (same)
        dd_bytes_text(text, "no difference; ");
    if (same) {
        add_count(text, same, "cell of ", "cells of ");
        add_count(text, orders, "order", "orders");
        dd_bytes_text(text, same == 1 ? " says the same" : " say the same");
    } else {
        dd_bytes_text(text, differ ? "nothing is the same" : "no orders");
    }
}

dd_status dd_differ_line(const dd_differ_list *list, const dd_patient *p, const dd_differ_cell *cells, size_t count, dd_bytes *out)
{
    dd_sheet sheet;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&sheet, out, list->view->width, false, 1);
    dd_bytes_text(&text, dd_phrase_bed(p));
    dd_bytes_text(&text, "   ");
    add_counts(&text, cells, count);
    dd_sheet_text(&sheet, 0, 2, dd_phrase_text(&text));
    bool failed = text.failed;
    dd_bytes_free(&text);
    dd_sheet_pour(&sheet);
    dd_status status = dd_sheet_finish(&sheet);
    return failed ? DD_NO_MEMORY : status;
}

dd_status dd_differ_block(const dd_differ_list *list, const dd_patient *p, dd_differ_cell *cells, size_t count, dd_bytes *out)
{
    const dd_view *view = list->view;
    dd_sheet sheet;
    texts t = {.severity = DD_BYTES(64), .ordered = DD_BYTES(TEXT_CEILING), .recorded = DD_BYTES(TEXT_CEILING)};
    dd_sheet_start(&sheet, out, view->width, false, 1);
    dd_list_patient(&sheet, p, &t.ordered);
    add_counts(dd_phrase_start(&t.ordered), cells, count);
    dd_sheet_text(&sheet, 1, 3, dd_phrase_text(&t.ordered));
    dd_sheet_join(&sheet);
    qsort(cells, count, sizeof *cells, worst_first);
    dd_sheet_row(&sheet, (const dd_cell[]){{.at = COLUMN_ORDER, .text = "order"}, {.at = COLUMN_COLUMN, .text = "column"},
            {.at = COLUMN_ORDERED, .text = "ordered"}, {.at = COLUMN_ORDERED + (view->width - COLUMN_ORDERED) / 2, .text = "recorded"}}, 4);
    dd_sheet_join(&sheet);
    for (size_t i = 0; i < count && !cells[i].same; i++)
        set_difference(&sheet, view, &cells[i], &t);
    dd_sheet_rule(&sheet);
    bool failed = t.severity.failed || t.ordered.failed || t.recorded.failed;
    dd_bytes_free(&t.severity);
    dd_bytes_free(&t.ordered);
    dd_bytes_free(&t.recorded);
    dd_sheet_pour(&sheet);
    dd_status status = dd_sheet_finish(&sheet);
    return failed ? DD_NO_MEMORY : status;
}

/* The rows of the record that are compared have a code of their own beside the page's, which is about the plan. */
static dd_status record_code(const dd_differ_list *list, char out[DD_PAGECODE_SIZE])
{
    const dd_plan *record = dd_folder_plan(list->record);
    dd_view view = {.plan = record, .folder = list->record, .now = list->view->now, .known = list->view->known, .count = list->view->count};
    const dd_patient **patients = calloc(view.count + 1, sizeof *patients);
    if (!patients)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < view.count; i++)
        patients[i] = &record->patients[list->view->patients[i] - list->view->plan->patients];
    view.patients = patients;
    dd_status status = dd_pagecode(&view, NULL, out);
    free(patients);
    return status;
}

dd_status dd_differ_head(const dd_differ_list *list, dd_bytes *out)
{
    char code[DD_PAGECODE_SIZE];
    dd_status status = record_code(list, code);
    if (status != DD_OK)
        return status;
    dd_sheet sheet;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    const dd_plan *plan = dd_folder_plan(list->record);
    dd_sheet_start(&sheet, out, list->view->width, false, 1);
    dd_bytes_text(dd_phrase_start(&text), "held against ");
    dd_bytes_text(&text, dd_recorded_name(list->record));
    dd_bytes_text(&text, ", code ");
    dd_bytes_text(&text, code);
    dd_sheet_text(&sheet, 0, 2, dd_phrase_text(&text));
    dd_phrase_start(&text);
    for (int id = DD_COL_ORDERS_FLUID; id <= DD_COL_ORDERS_NOTE; id++)
        if (!dd_recorded_has(list->record, (dd_column_id)id)) {
            dd_bytes_text(&text, text.length ? ", " : "not compared, it has no such columns: ");
            dd_bytes_text(&text, dd_column_list[id].name);
        }
    if (text.length)
        dd_sheet_text(&sheet, 0, 2, dd_phrase_text(&text));
    for (size_t i = 0; i < list->view->count; i++) {
        const dd_patient *p = list->view->patients[i], *recorded = &plan->patients[p - list->view->plan->patients];
        if (p->errors || !recorded->errors)
            continue;
        dd_bytes_text(dd_phrase_start(&text), "NOT COMPARED: ");
        dd_bytes_text(&text, dd_phrase_bed(p));
        dd_bytes_text(&text, ", ");
        add_count(&text, recorded->errors, "error", "errors");
        dd_sheet_text(&sheet, 0, 2, dd_phrase_text(&text));
    }
    dd_sheet_rule(&sheet);
    bool failed = text.failed;
    dd_bytes_free(&text);
    dd_sheet_pour(&sheet);
    status = dd_sheet_finish(&sheet);
    return failed ? DD_NO_MEMORY : status;
}
