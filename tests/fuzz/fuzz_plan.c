/* fuzz_plan.c - one input through everything: tables, plan, chart, engine, and every writer.
 *
 * The input is text; inputs.h says how it becomes a folder. What must hold whatever the input: nothing crashes or leaks, every timeline keeps
 * its invariants, the second way to every explained figure comes to the same, and a plan that is carried can be read. */
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "bytes.h"
#include "carry.h"
#include "former.h"
#include "inputs.h"
#include "load.h"
#include "must.h"

#define PLENTY ((size_t)64 << 20)
#define PATIENTS_MOST 12

/* Too large for its ceiling is an answer; out of memory and anything else is not. */
static void fine(dd_status status, const char *what)
{
    must(status == DD_OK || status == DD_TOO_LARGE, what);
}

/* Text for people is plain: tables may bring any UTF-8, but no byte that drives a terminal gets through. */
static void taken(dd_bytes *out, const char *what)
{
    must(!out->failed, what);
    for (size_t i = 0; i < out->length; i++) {
        unsigned char c = (unsigned char)out->data[i];
        must(c >= 0x20 || c == '\n' || c == '\f' || c == '\r', what);
        must(c != 0x7f, what);
    }
    dd_bytes_clear(out);
}

static const dd_moment *hours(const dd_plan *plan, dd_arena *arena, size_t *count)
{
    const dd_moment *edges = NULL;
    fine(dd_timeline_periods(plan, DD_BY_HOUR, arena, &edges, count), "periods");
    return edges;
}

static void rows_of(dd_view *view, const dd_timeline *t, dd_arena *arena, dd_bytes *out)
{
    size_t count = 0, total_count = 0;
    const dd_total *totals = NULL;
    const dd_moment *edges = hours(view->plan, arena, &count);
    fine(dd_rows_schedule(view, t, out), "rows of schedule");
    fine(dd_list_schedule(view, t, out), "list of schedule");
    dd_status status = edges ? dd_timeline_totals(t, edges, count, arena, &totals, &total_count) : DD_TOO_LARGE;
    fine(status, "totals");
    if (status == DD_OK) {
        fine(dd_rows_totals(view, t, totals, total_count, out), "rows of totals");
        fine(dd_list_totals(view, t, totals, total_count, DD_BY_HOUR, out), "list of totals");
    }
    fine(dd_review_rows(view, t, out), "rows of check");
    fine(dd_review_list(view, t, out), "list of check");
    dd_sums sums;
    status = dd_timeline_sums(t, view->plan->begins, view->plan->end, arena, &sums);
    fine(status, "sums");
    if (status == DD_OK)
        fine(dd_beside_rows(t, &sums, out), "rows of maintenance");
    fine(dd_rulelist_patient(view, t->patient, out), "rules of a patient");
    taken(out, "rows of a patient");
    dd_bytes rows = DD_BYTES(PLENTY);
    fine(dd_due_rows(view, t, arena, &rows), "rows of due");
    fine(dd_merge_rows(rows.data ? rows.data : "", rows.length, arena, out), "merge of due");
    dd_bytes_clear(&rows);
    fine(dd_gather_rows(view, t, arena, &rows), "rows of gather");
    fine(dd_merge_rows(rows.data ? rows.data : "", rows.length, arena, out), "merge of gather");
    dd_bytes_free(&rows);
    taken(out, "rows in time order");
}

static void explain(const dd_view *view, const dd_timeline *t, const dd_timeline *planned, dd_bytes *out)
{
    bool differs = false;
    for (int order = -1; order < t->patient->order_count && order < 6; order++)
        for (int kind = 0; kind < DD_FIGURE_COUNT; kind++) {
            if ((kind >= DD_FIGURE_IN) != (order < 0))
                continue;
            dd_figure figure = {.kind = (dd_figure_kind)kind, .order = order, .at = view->now, .from = view->plan->begins, .to = view->plan->end,
                .number = 1, .planned = planned};
            for (size_t i = 0; kind == DD_FIGURE_DOSE && i < t->run_count; i++)
                if (t->runs[i].order == order)
                    figure.at = t->runs[i].due;
            dd_status status = dd_explain_write(view, t, &figure, out, &differs);
            must(status != DD_NO_MEMORY, "explain");
            if (differs)
                fprintf(stderr, "%s", dd_bytes_data(out, NULL));
            must(!differs, "the second way to a figure");
            taken(out, "explain");
        }
}

/* A calendar, and the same brought up to date: nothing has changed, so nothing may be said to have. */
static void reminders_of(dd_view *view, bool each, dd_bytes *out)
{
    dd_arena *arena = dd_arena_new();
    dd_bytes why = DD_BYTES(4096), gone = DD_BYTES(1 << 20);
    dd_calendar_said said = {.why = &why, .gone = &gone};
    dd_calendar_options options = {.lead_s = 900, .detail = true, .each = each, .said = &said};
    dd_former former = {.arena = arena};
    dd_status status = dd_remind_write(view, &options, out);
    must(arena && status != DD_NO_MEMORY && status != DD_CANNOT_WRITE, "reminders");
    if (status == DD_OK && view->count == view->plan->patient_count) {
        must(dd_former_add(&former, out->data, out->length, &why) == DD_OK, "reminders read back, each with a name of its own");
        dd_former_sort(&former);
        options.former = &former;
        options.everyone = view->timelines;
        options.changes_only = true;
        dd_bytes_clear(out);
        said.events = 0;
        status = dd_remind_write(view, &options, out);
        must(status == DD_OK && said.events == 0 && gone.length == 0, "reminders brought up to date");
    }
    taken(out, "reminders");
    dd_bytes_free(&why);
    dd_bytes_free(&gone);
    dd_arena_free(arena);
}

/* What all patients give together. */
static void pages_of(dd_view *view, dd_bytes *out)
{
    fine(dd_report_write(view, out), "report");
    taken(out, "report");
    view->width = 132;
    fine(dd_due_list(view, out), "due");
    fine(dd_gather_list(view, out), "gather");
    fine(dd_beside_write(view, out), "maintenance");
    fine(dd_label_write(view, true, out), "labels");
    fine(dd_rulelist_all(view, false, out), "rules");
    fine(dd_fluidlist_rows(view, false, out), "fluids");
    taken(out, "pages");
    reminders_of(view, false, out);
    reminders_of(view, true, out);
}

/* The next plan, read like any other. */
static void carry(const dd_folder *folder, dd_view *view, dd_arena *arena)
{
    dd_bytes said = DD_BYTES(PLENTY), tables[DD_TABLE_COUNT];
    dd_carry c = {.folder = folder, .plan = view->plan, .timelines = view->timelines, .arena = arena, .said = &said,
        .id = "2ed6657d-e927-468b-95e1-2665a8aea6a2"};
    dd_status status = dd_carry_begin(&c);
    fine(status, "carry");
    for (int i = 0; i < DD_TABLE_COUNT; i++)
        tables[i] = DD_BYTES(PLENTY);
    if (status == DD_OK) {
        dd_inputs_clear();
        for (int i = 0; i < DD_TABLE_COUNT && status == DD_OK; i++) {
            bool there = false;
            char name[64];
            status = dd_carry_table(&c, (dd_table)i, &tables[i], &there);
            fine(status, "carried table");
            snprintf(name, sizeof name, "%s.csv", dd_column_table((dd_table)i)->name);
            if (there)
                dd_inputs_add(name, tables[i].data, tables[i].length);
        }
        dd_folder *next = NULL;
        if (status == DD_OK)
            status = dd_folder_read("next", &next);
        must(status != DD_NO_MEMORY, "reading the next plan");
        for (size_t i = 0; next && dd_folder_usable(next) && i < dd_folder_plan(next)->patient_count && i < PATIENTS_MOST; i++) {
            const dd_plan *plan = dd_folder_plan(next);
            dd_timeline t;
            if (plan->patients[i].errors == 0)
                fine(dd_timeline_make(plan, &plan->patients[i], plan->begins, plan->begins, arena, &t), "timeline of the next plan");
        }
        dd_folder_free(next);
    }
    for (int i = 0; i < DD_TABLE_COUNT; i++)
        dd_bytes_free(&tables[i]);
    dd_bytes_free(&said);
}

static void plan_through(const dd_folder *folder, dd_arena *arena, dd_bytes *out)
{
    const dd_plan *plan = dd_folder_plan(folder);
    dd_moment now = plan->begins + dd_inputs_minutes() * 60;
    if (now > plan->end)
        now = plan->end;
    dd_timeline made[PATIENTS_MOST], planned[PATIENTS_MOST];
    const dd_timeline *list[PATIENTS_MOST] = {NULL}, *before[PATIENTS_MOST] = {NULL};
    const dd_patient *patients[PATIENTS_MOST];
    dd_view view = {.plan = plan, .folder = folder, .timelines = list, .patients = patients, .now = now, .known = now, .from = plan->begins,
        .to = plan->end, .since = plan->begins, .planned = before, .width = 72, .pages = true, .header = true};
    for (; view.count < plan->patient_count && view.count < PATIENTS_MOST; view.count++) {
        size_t i = view.count;
        patients[i] = &plan->patients[i];
        if (patients[i]->errors)
            continue;
        dd_status status = dd_timeline_make(plan, patients[i], now, now, arena, &made[i]);
        fine(status, "timeline");
        if (status == DD_OK)
            status = dd_timeline_make(plan, patients[i], plan->begins, plan->begins - INT64_C(3650) * 86400, arena, &planned[i]);
        fine(status, "timeline without the chart");
        if (status != DD_OK)
            return;
        must(!dd_timeline_check(&made[i]), "what holds for every timeline");
        list[i] = &made[i];
        before[i] = &planned[i];
        rows_of(&view, list[i], arena, out);
        explain(&view, list[i], before[i], out);
    }
    pages_of(&view, out);
    if (view.count == plan->patient_count && dd_folder_errors(folder) == 0)
        carry(folder, &view, arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    dd_folder *folder = NULL;
    dd_bytes out = DD_BYTES(PLENTY);
    dd_arena *arena = dd_arena_new();
    dd_inputs_set((const char *)data, size);
    dd_status status = dd_folder_read("plan", &folder);
    must(arena && folder && status != DD_NO_MEMORY, "reading the folder");
    dd_folder_show(folder, &out);
    taken(&out, "messages");
    if (dd_folder_usable(folder))
        plan_through(folder, arena, &out);
    dd_folder_free(folder);
    dd_arena_free(arena);
    dd_bytes_free(&out);
    return 0;
}
