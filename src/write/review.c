#include "review.h"

#include "list.h"
#include "names.h"
#include "phrase.h"
#include "rows.h"
#include "sheet.h"
#include "ways.h"

#define TEXT_CEILING ((size_t)1 << 20)

void dd_review_unchecked(dd_bytes *out, const dd_timeline *t)
{
    dd_review_unchecked_of(out, t, NULL);
}

void dd_review_unchecked_of(dd_bytes *out, const dd_timeline *t, bool (*about)(const char *finding))
{
    bool any = false;
    for (size_t i = 0; i < t->unchecked_count; i++) {
        const dd_unchecked *u = &t->unchecked[i];
        if (about && !about(dd_names_finding(u->code)))
            continue;
        dd_bytes_text(out, any ? ", " : "not looked for: ");
        any = true;
        dd_bytes_text(out, dd_names_finding(u->code));
        dd_bytes_text(out, " (");
        if (u->order >= 0) {
            dd_bytes_text(out, t->patient->orders[u->order].key);
            dd_bytes_text(out, ": ");
        }
        if (u->line >= 0) {
            dd_bytes_text(out, t->patient->lines[u->line].key);
            dd_bytes_text(out, ": ");
        }
        dd_bytes_text(out, dd_names_want(u->want));
        if (u->least.unit != DD_UNIT_NONE) {
            dd_bytes_text(out, ", at least ");
            dd_phrase_quantity(out, u->least);
        }
        dd_bytes_char(out, ')');
    }
}

/* ---- text ---- */

static void add_severity(dd_bytes *out, const dd_finding *f)
{
    dd_bytes_text(out, f->accepted ? "(" : "");
    dd_bytes_text(out, dd_names_severity(f->severity));
    dd_bytes_text(out, f->accepted ? ")" : "");
}

#define COLUMN_AT 11   /* behind the longest severity, in brackets */
#define COLUMN_WHAT 23 /* behind `Thu 1 Dec 05:08`, without the date most times */

static void set_finding(dd_sheet *s, const dd_timeline *t, const dd_finding *f, dd_bytes *text)
{
    dd_bytes severity = DD_BYTES(64), at = DD_BYTES(DD_MOMENT_MAX);
    dd_sheet_together(s);
    add_severity(&severity, f);
    dd_phrase_time(&at, t->plan, f->at, DD_MOMENT_DAY);
    dd_phrase_finding(dd_phrase_start(text), t, f);
    dd_bytes_text(text, " [");
    dd_bytes_text(text, dd_names_finding(f->code));
    dd_bytes_char(text, ']');
    dd_sheet_row(s, (const dd_cell[]){{.at = 1, .width = COLUMN_AT - 2, .text = dd_phrase_text(&severity)},
        {.at = COLUMN_AT, .width = COLUMN_WHAT - COLUMN_AT - 1, .text = dd_phrase_text(&at)}, {.at = COLUMN_WHAT, .text = dd_phrase_text(text)}}, 3);
    for (int line = 0; dd_ways_line(dd_phrase_start(text), t, f, line); line++)
        dd_sheet_text(s, COLUMN_WHAT, COLUMN_WHAT + 1, dd_phrase_text(text));
    dd_phrase_start(text);
    dd_phrase_source(text, f);
    if (text->length)
        dd_sheet_text(s, COLUMN_WHAT, COLUMN_WHAT + 1, dd_phrase_text(text));
    if (f->accepted) {
        dd_phrase_start(text);
        dd_bytes_text(text, "accepted by ");
        dd_bytes_text(text, f->accepted->by);
        dd_bytes_text(text, " until ");
        dd_phrase_time(text, t->plan, f->accepted->until, DD_MOMENT_DATE_CLOCK);
        dd_bytes_text(text, ": ");
        dd_bytes_text(text, f->accepted->reason);
        dd_sheet_text(s, COLUMN_WHAT, COLUMN_WHAT + 1, dd_phrase_text(text));
    }
    dd_sheet_apart(s);
    dd_bytes_free(&severity);
    dd_bytes_free(&at);
}

dd_status dd_review_list(const dd_view *view, const dd_timeline *t, dd_bytes *out)
{
    dd_sheet s;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&s, out, view->width, false, 1);
    dd_list_patient(&s, t->patient, &text);
    dd_list_later(&s, view, t, &text);
    for (size_t i = 0; i < t->finding_count; i++)
        set_finding(&s, t, &t->findings[i], &text);
    if (t->finding_count == 0)
        dd_sheet_text(&s, 1, 3, "no finding");
    dd_review_unchecked(dd_phrase_start(&text), t);
    if (text.length)
        dd_sheet_text(&s, 1, 3, dd_phrase_text(&text));
    dd_sheet_rule(&s);
    bool failed = text.failed;
    dd_bytes_free(&text);
    dd_sheet_pour(&s);
    dd_status status = dd_sheet_finish(&s);
    return failed ? DD_NO_MEMORY : status;
}

/* ---- rows ---- */

dd_status dd_review_rows_head(dd_bytes *out)
{
    dd_bytes_text(out, "patient,order,line,finding,severity,at,figure,limit,message,source\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

dd_status dd_review_rows(const dd_view *view, const dd_timeline *t, dd_bytes *out)
{
    const dd_patient *p = t->patient;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    (void)view;
    for (size_t i = 0; i < t->finding_count; i++) {
        const dd_finding *f = &t->findings[i];
        dd_rows_text(out, p->key);
        dd_bytes_char(out, ',');
        dd_rows_text(out, f->order >= 0 ? p->orders[f->order].key : "");
        dd_bytes_char(out, ',');
        dd_rows_text(out, f->line >= 0 ? p->lines[f->line].key : "");
        dd_bytes_char(out, ',');
        dd_bytes_text(out, dd_names_finding(f->code));
        dd_bytes_char(out, ',');
        add_severity(out, f);
        dd_bytes_char(out, ',');
        dd_rows_time(out, t->plan, f->at);
        dd_bytes_char(out, ',');
        dd_rows_quantity(out, f->figure);
        dd_bytes_char(out, ',');
        dd_rows_quantity(out, f->limit);
        dd_bytes_char(out, ',');
        dd_phrase_finding(dd_phrase_start(&text), t, f);
        dd_bytes line = DD_BYTES(TEXT_CEILING);
        for (int k = 0; dd_ways_line(dd_phrase_start(&line), t, f, k); k++) {
            dd_bytes_text(&text, "; ");
            dd_bytes_text(&text, dd_phrase_text(&line));
        }
        dd_bytes_free(&line);
        dd_rows_text(out, dd_phrase_text(&text));
        dd_bytes_char(out, ',');
        dd_phrase_source(dd_phrase_start(&text), f);
        dd_rows_text(out, dd_phrase_text(&text));
        dd_bytes_char(out, '\n');
    }
    bool failed = text.failed || out->failed;
    dd_bytes_free(&text);
    return failed ? DD_NO_MEMORY : DD_OK;
}
