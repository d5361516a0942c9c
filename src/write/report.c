/* report.c - the report: ward summary, then a front and a back per patient, or a list of the next hours per team (dd_report_write, write.h). */
#include <stdlib.h>

#include "back.h"
#include "bytes.h"
#include "checked.h"
#include "explain.h"
#include "front.h"
#include "hours.h"
#include "pagecode.h"
#include "phrase.h"
#include "sheet.h"
#include "summary.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define NOT_PLANNED_MOST 6 /* patients without a plan that every page names one by one; the summary names all */

typedef struct report {
    const dd_view *view;
    dd_sheet sheet;
    dd_arena *arena; /* of one page; emptied after it */
    dd_bytes made, span, whole, ward, all_notes, notes, closing;
} report;

static void free_report(report *r)
{
    dd_bytes_free(&r->made);
    dd_bytes_free(&r->span);
    dd_bytes_free(&r->whole);
    dd_bytes_free(&r->ward);
    dd_bytes_free(&r->all_notes);
    dd_bytes_free(&r->notes);
    dd_bytes_free(&r->closing);
    dd_arena_free(r->arena);
}

static bool start_report(report *r, const dd_view *view, dd_bytes *out)
{
    const dd_bytes none = DD_BYTES(TEXT_CEILING);
    *r = (report){.view = view, .arena = dd_arena_new(), .made = none, .span = none, .whole = none, .ward = none, .all_notes = none, .notes = none, .closing = none};
    dd_sheet_start(&r->sheet, out, view->width, view->pages && !view->sentences, 3 * view->count + 1);
    r->sheet.sentences = view->sentences;
    dd_phrase_made(&r->made, view);
    dd_phrase_view_span(&r->span, view);
    dd_phrase_span(&r->whole, view->plan->end - view->plan->begins);
    dd_bytes_text(&r->whole, " from ");
    dd_phrase_time(&r->whole, view->plan, view->plan->begins, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(&r->whole, ", all in mL");
    dd_bytes_text(&r->ward, view->plan->ward ? view->plan->ward : "ward");
    dd_bytes_text(&r->all_notes, "");
    dd_phrase_not_planned(&r->all_notes, view, view->count);
    dd_bytes_text(&r->notes, "");
    dd_phrase_not_planned(&r->notes, view, NOT_PLANNED_MOST);
    dd_checked_write(&r->closing, view, true);
    dd_bytes_text(&r->closing, "END OF REPORT\n");
    return r->arena && !r->made.failed && !r->span.failed && !r->whole.failed && !r->ward.failed && !r->all_notes.failed && !r->notes.failed && !r->closing.failed;
}

static dd_status write_summary(report *r, bool last)
{
    char code[DD_PAGECODE_SIZE];
    dd_bytes subject = DD_BYTES(TEXT_CEILING), title = DD_BYTES(TEXT_CEILING);
    dd_phrase_capitals(&subject, r->ward.data);
    dd_bytes_text(&title, "WARD SUMMARY");
    if (r->view->team) {
        dd_bytes_text(&title, ", team ");
        dd_bytes_text(&title, r->view->team);
    }
    dd_status status = dd_pagecode(r->view, NULL, code);
    if (status == DD_OK && (subject.failed || title.failed))
        status = DD_NO_MEMORY;
    if (status == DD_OK) {
        dd_sheet_open(&r->sheet, &(dd_heading){.demo = r->view->plan->demo, .subject = subject.data, .title = title.data, .span = r->span.data,
            .made = r->made.data, .code = code, .end = "WARD SUMMARY", .notes = r->all_notes.data});
        status = dd_summary_write(&r->sheet, r->view, r->arena);
        dd_sheet_close(&r->sheet, last ? r->closing.data : NULL);
    }
    dd_bytes_free(&subject);
    dd_bytes_free(&title);
    return status;
}

/* A patient's front and back: what to do, and the record. */
static dd_status write_patient(report *r, size_t i, bool last)
{
    const dd_patient *p = r->view->patients[i];
    char code[DD_PAGECODE_SIZE];
    dd_bytes subject = DD_BYTES(TEXT_CEILING);
    dd_phrase_capitals(&subject, dd_phrase_bed(p));
    dd_status status = dd_pagecode(r->view, p, code);
    if (status == DD_OK && subject.failed)
        status = DD_NO_MEMORY;
    dd_heading heading = {.demo = r->view->plan->demo, .subject = subject.data, .title = "THIS SHIFT", .span = r->span.data, .ward = r->ward.data,
                          .made = r->made.data, .code = code, .end = subject.data, .notes = r->notes.data};
    if (status == DD_OK) {
        dd_sheet_open(&r->sheet, &heading);
        status = dd_front_write(&r->sheet, r->view, r->view->timelines[i], r->arena);
        dd_sheet_close(&r->sheet, NULL);
    }
    heading.title = "IN AND OUT";
    heading.span = r->whole.data;
    if (status == DD_OK) {
        dd_arena_reset(r->arena);
        dd_sheet_open(&r->sheet, &heading);
        status = dd_back_write(&r->sheet, r->view, r->view->timelines[i], r->arena);
        dd_sheet_close(&r->sheet, last && !r->view->planned ? r->closing.data : NULL);
    }
    heading.title = "WORKING";
    heading.span = r->span.data;
    if (status == DD_OK && r->view->planned) {
        dd_sheet_open(&r->sheet, &heading);
        status = dd_explain_page(&r->sheet, r->view, r->view->timelines[i], r->view->planned[i]);
        dd_sheet_close(&r->sheet, last ? r->closing.data : NULL);
    }
    dd_bytes_free(&subject);
    return status;
}

/* ---- the next hours ---- */

static int by_team(const void *left, const void *right)
{
    const dd_patient *a = *(const dd_patient *const *)left, *b = *(const dd_patient *const *)right;
    int c = dd_summary_by_team(a->team, b->team);
    return c ? c : (a > b) - (a < b);
}

/* The list of one team. */
static dd_status write_hours(report *r, const dd_view *view, bool last)
{
    char code[DD_PAGECODE_SIZE];
    dd_bytes subject = DD_BYTES(TEXT_CEILING), title = DD_BYTES(TEXT_CEILING), span = DD_BYTES(TEXT_CEILING), notes = DD_BYTES(TEXT_CEILING);
    dd_phrase_capitals(&subject, r->ward.data);
    dd_hours_title(&title, view);
    dd_hours_span(&span, view);
    dd_bytes_text(&notes, "");
    dd_phrase_not_planned(&notes, view, view->count);
    dd_status status = dd_pagecode(view, NULL, code);
    if (status == DD_OK && (subject.failed || title.failed || span.failed || notes.failed))
        status = DD_NO_MEMORY;
    if (status == DD_OK) {
        dd_sheet_open(&r->sheet, &(dd_heading){.demo = view->plan->demo, .subject = subject.data, .title = title.data, .span = span.data, .made = r->made.data,
            .code = code, .end = title.data, .notes = notes.data});
        status = dd_hours_write(&r->sheet, view, r->arena);
        dd_sheet_close(&r->sheet, last ? view->form == DD_REPORT_HOURS ? "END OF LIST" : "END OF REPORT" : NULL);
    }
    dd_bytes_free(&subject);
    dd_bytes_free(&title);
    dd_bytes_free(&span);
    dd_bytes_free(&notes);
    return status;
}

/* Each team has its own list. */
static dd_status write_teams(report *r)
{
    const dd_view *v = r->view;
    dd_arena *kept = dd_arena_new();
    const dd_patient **patients = kept ? dd_arena_take_many(kept, v->count + 1, sizeof *patients) : NULL;
    const dd_timeline **timelines = kept ? dd_arena_take_many(kept, v->count + 1, sizeof *timelines) : NULL;
    const dd_timeline **of = kept ? dd_arena_take_many(kept, v->plan->patient_count + 1, sizeof *of) : NULL; /* per patient of the plan */
    dd_status status = patients && timelines && of ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; status == DD_OK && i < v->count; i++) {
        patients[i] = v->patients[i];
        of[v->patients[i] - v->plan->patients] = v->timelines[i];
    }
    if (status == DD_OK && v->count > 1)
        qsort(patients, v->count, sizeof *patients, by_team);
    for (size_t i = 0; status == DD_OK && i < v->count; i++)
        timelines[i] = of[patients[i] - v->plan->patients];
    for (size_t i = 0, next; status == DD_OK && i < v->count; i = next) {
        for (next = i + 1; next < v->count && dd_summary_by_team(patients[next]->team, patients[i]->team) == 0; next++)
            continue;
        dd_view team = *v;
        team.patients = patients + i;
        team.timelines = timelines + i;
        team.count = next - i;
        team.team = patients[i]->team;
        team.shift = NULL;
        team.from = v->hours_from;
        team.to = v->hours_to;
        dd_arena_reset(r->arena);
        status = write_hours(r, &team, next == v->count);
    }
    dd_arena_free(kept);
    return status;
}

static dd_status write_patients(report *r, size_t last)
{
    dd_status status = DD_OK;
    for (size_t i = 0; status == DD_OK && i < r->view->count; i++) {
        dd_arena_reset(r->arena);
        if (r->view->timelines[i])
            status = write_patient(r, i, i == last);
    }
    return status;
}

dd_status dd_report_write(const dd_view *view, dd_bytes *out)
{
    report r;
    size_t last = view->count; /* the last patient that has a page */
    bool patients = view->form == DD_REPORT_WHOLE;
    for (size_t i = 0; i < view->count && patients; i++)
        if (view->timelines[i])
            last = i;
    dd_status status = start_report(&r, view, out) ? DD_OK : DD_NO_MEMORY;
    if (status == DD_OK && view->form != DD_REPORT_HOURS)
        status = write_summary(&r, last == view->count && (patients || view->count == 0));
    if (status == DD_OK)
        status = patients ? write_patients(&r, last) : write_teams(&r);
    dd_status finished = dd_sheet_finish(&r.sheet);
    free_report(&r);
    return status != DD_OK ? status : finished;
}
