/* beside.c - patients side by side (dd_beside_write, write.h): the frame of the pages, and the findings that they begin with. */
#include "beside.h"

#include <stdio.h>
#include <string.h>

#include "names.h"
#include "pagecode.h"
#include "phrase.h"
#include "review.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DAY_S INT64_C(86400)

bool dd_beside_only_fed(const dd_sums *s)
{
    return s->vein.u == 0 && s->feeds.u > 0;
}

bool dd_beside_about(const char *finding)
{
    static const char *const codes[] = {"weight-missing", "weight-old", "weight-estimated", "weight-implausible", "weight-changed", "remainder-changed",
        "remainder-negative", "rate-not-settable", "drift", "potassium-strength", "potassium-rate", "potassium-gravity", "osmolarity", "glucose-strength",
        "water", "tonicity", "bolus", "glucose-rate", "glucose-gap", "insulin-alone", "above-maintenance", "below-maintenance", "maintenance-cap",
        "above-allowance", "adult-day", "adult-electrolyte", "urine-low", "urine-high", "overload", "feed-twice"};
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++)
        if (strcmp(codes[i], finding) == 0)
            return true;
    return false;
}

void dd_beside_figure(dd_bytes *out, dd_ratio value, int64_t over, int decimals, bool least)
{
    char number[DD_NUMBER_MAX];
    dd_ratio shown;
    if (value.den == 0 || dd_ratio_over(value, (dd_ratio){over, 1}, &shown) != DD_OK) {
        dd_bytes_text(out, "n/a");
        return;
    }
    dd_bytes_add(out, number, dd_number_ratio(number, shown, decimals, DD_STYLE_PERSON));
    dd_bytes_text(out, least ? "?" : "");
}

/* ---- what stands first ---- */

static void set_finding(dd_beside *b, const dd_timeline *t, const dd_finding *f)
{
    char severity[16];
    snprintf(severity, sizeof severity, f->accepted ? "(%s)" : "%s", dd_names_severity(f->severity));
    dd_phrase_finding(dd_phrase_start(b->text), t, f);
    dd_sheet_together(b->sheet);
    dd_sheet_row(b->sheet, (const dd_cell[]){{.at = 0, .width = 9, .text = severity}, {.at = 10, .width = 10, .after = 1, .text = dd_phrase_bed(t->patient)},
        {.at = 21, .text = dd_phrase_text(b->text)}}, 3);
    dd_sheet_apart(b->sheet);
}

static void add_count(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

static void set_findings(dd_beside *b)
{
    size_t shown = 0, others = 0;
    for (int severity = DD_CLARIFY; severity >= DD_NOTE; severity--)
        for (size_t i = 0; i < b->count; i++) {
            const dd_timeline *t = b->sides[i].timeline;
            for (size_t k = 0; k < t->finding_count; k++) {
                const dd_finding *f = &t->findings[k];
                if (f->severity != severity)
                    continue;
                if (!dd_beside_about(dd_names_finding(f->code))) {
                    others++;
                    continue;
                }
                set_finding(b, t, f);
                shown++;
            }
        }
    if (shown == 0)
        dd_sheet_text(b->sheet, 0, 0, "nothing found about these among the kinds of finding that are looked for");
    if (others) {
        dd_phrase_start(b->text);
        add_count(b->text, others);
        dd_bytes_text(b->text, others == 1 ? " finding about something else is not on this page: daydrip check has it" :
            " findings about something else are not on this page: daydrip check has them");
        dd_sheet_text(b->sheet, 0, 0, dd_phrase_text(b->text));
    }
}

/* What of this page's kinds could not be looked for. */
static void set_unchecked(dd_beside *b)
{
    for (size_t i = 0; i < b->count; i++) {
        dd_phrase_start(b->text);
        dd_bytes_text(b->text, dd_phrase_bed(b->sides[i].patient));
        dd_bytes_char(b->text, ' ');
        size_t before = b->text->length;
        dd_review_unchecked_of(b->text, b->sides[i].timeline, dd_beside_about);
        if (b->text->length > before)
            dd_sheet_text(b->sheet, 0, 2, dd_phrase_text(b->text));
    }
}

/* ---- the frame ---- */

static void set_body(dd_beside *b)
{
    const dd_view *v = b->view;
    dd_phrase_start(b->text);
    dd_bytes_text(b->text, "Orders as they stand, carried on for 24 h");
    if (v->now + DAY_S > v->plan->end) {
        dd_bytes_text(b->text, "; the plan ends ");
        dd_phrase_time(b->text, v->plan, v->plan->end, DD_MOMENT_DAY);
    }
    dd_bytes_char(b->text, '.');
    dd_sheet_text(b->sheet, 0, 1, dd_phrase_text(b->text));
    dd_sheet_rule(b->sheet);
    set_findings(b);
    dd_sheet_rule(b->sheet);
    dd_volumes_write(b);
    dd_sheet_rule(b->sheet);
    dd_salts_write(b);
    set_unchecked(b);
}

typedef struct frame {
    dd_sheet sheet;
    dd_bytes made, span, ward, notes;
    char code[DD_PAGECODE_SIZE];
} frame;

static void set_section(frame *r, dd_beside *b, bool last)
{
    static const char *const titles[] = {"CHILDREN, FLUIDS", "ADULTS, FLUIDS"};
    const char *title = titles[b->adults];
    dd_bytes subject = DD_BYTES(TEXT_CEILING);
    dd_phrase_capitals(dd_phrase_start(&subject), dd_phrase_text(&r->ward));
    dd_sheet_open(&r->sheet, &(dd_heading){.demo = b->view->plan->demo, .subject = dd_phrase_text(&subject), .title = title, .span = dd_phrase_text(&r->span),
        .made = dd_phrase_text(&r->made), .code = r->code, .end = title, .notes = dd_phrase_text(&r->notes)});
    set_body(b);
    dd_sheet_close(&r->sheet, last ? "END OF REPORT\n" : NULL);
    dd_bytes_free(&subject);
}

static bool is_adult(const dd_patient *p)
{
    return p->class_at_begin == DD_CLASS_ADULT;
}

/* Of a longer timeline only the sums are kept. */
static dd_status take_sums(const dd_timeline *t, dd_moment from, dd_moment to, dd_arena *scratch, dd_arena *arena, dd_sums *out)
{
    dd_timeline longer;
    const dd_timeline *whole = t;
    dd_status status = DD_OK;
    if (to > t->plan->end) {
        status = dd_timeline_onward(t, to, scratch, &longer);
        whole = &longer;
    }
    if (status == DD_OK)
        status = dd_timeline_sums(whole, from, to, scratch, out);
    dd_interval *gaps = status == DD_OK ? dd_arena_take_many(arena, out->gap_count + 1, sizeof *gaps) : NULL;
    if (!gaps)
        return status == DD_OK ? DD_NO_MEMORY : status;
    for (size_t i = 0; i < out->gap_count; i++)
        gaps[i] = out->gaps[i];
    out->gaps = gaps;
    return DD_OK;
}

/* The sides of one page. */
static dd_status gather(dd_beside *b, dd_arena *arena)
{
    const dd_view *v = b->view;
    const dd_moment to = v->now + DAY_S;
    b->sides = dd_arena_take_many(arena, v->count + 1, sizeof *b->sides);
    dd_arena *scratch = dd_arena_new();
    dd_status status = b->sides && scratch ? DD_OK : DD_NO_MEMORY;
    b->count = 0;
    for (size_t i = 0; i < v->count && status == DD_OK; i++) {
        const dd_timeline *t = v->timelines[i];
        if (!t || is_adult(v->patients[i]) != b->adults)
            continue;
        dd_beside_side *side = &b->sides[b->count++];
        side->timeline = t;
        side->patient = v->patients[i];
        status = take_sums(t, v->now, to, scratch, arena, &side->sums);
        dd_arena_reset(scratch);
    }
    dd_arena_free(scratch);
    return status;
}

static dd_status write_sections(frame *r, const dd_view *view, dd_bytes *text, dd_arena *arena)
{
    dd_beside parts[2];
    dd_status status = DD_OK;
    for (int i = 0; i < 2 && status == DD_OK; i++) {
        parts[i] = (dd_beside){.sheet = &r->sheet, .view = view, .text = text, .adults = i == 1};
        status = gather(&parts[i], arena);
    }
    if (status != DD_OK)
        return status;
    if (parts[0].count > 0 || parts[1].count == 0)
        set_section(r, &parts[0], parts[1].count == 0);
    if (parts[1].count > 0)
        set_section(r, &parts[1], true);
    return DD_OK;
}

dd_status dd_beside_write(const dd_view *view, dd_bytes *out)
{
    const dd_bytes none = DD_BYTES(TEXT_CEILING);
    frame r = {.made = none, .span = none, .ward = none, .notes = none};
    dd_bytes text = none;
    dd_arena *arena = dd_arena_new();
    dd_sheet_start(&r.sheet, out, view->width, view->pages, 2);
    dd_phrase_made(&r.made, view);
    dd_phrase_time(&r.span, view->plan, view->now, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(&r.span, " to ");
    dd_phrase_time(&r.span, view->plan, view->now + DAY_S, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(&r.ward, view->plan->ward ? view->plan->ward : "ward");
    dd_phrase_not_planned(dd_phrase_start(&r.notes), view, view->count);
    dd_status status = arena ? dd_pagecode(view, NULL, r.code) : DD_NO_MEMORY;
    if (status == DD_OK)
        status = write_sections(&r, view, &text, arena);
    if (status == DD_OK && (text.failed || r.made.failed || r.span.failed || r.ward.failed || r.notes.failed))
        status = DD_NO_MEMORY;
    dd_status finished = dd_sheet_finish(&r.sheet);
    dd_bytes_free(&r.made);
    dd_bytes_free(&r.span);
    dd_bytes_free(&r.ward);
    dd_bytes_free(&r.notes);
    dd_bytes_free(&text);
    dd_arena_free(arena);
    return status != DD_OK ? status : finished;
}
