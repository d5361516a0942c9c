#include "front.h"

#include <string.h>

#include "names.h"
#include "phrase.h"
#include "picture.h"
#include "upkeep.h"
#include "ways.h"

#define TEXT_CEILING ((size_t)1 << 20)
#define DAY_S INT64_C(86400)

/* ---- whose page ---- */

static void box_row(dd_front *f, const char *left, const char *right)
{
    int w = f->sheet->width, middle = w - 35;
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = 1, .text = "|", .every = true},
        {.at = 2, .width = middle - 3, .after = 1, .text = left}, {.at = middle, .width = 1, .text = "|", .every = true},
        {.at = middle + 2, .width = 31, .text = right, .silent = true}, {.at = w - 1, .width = 1, .text = "|", .every = true}}, 5);
}

static void box_edge(dd_front *f)
{
    dd_bytes *text = dd_phrase_start(f->text);
    size_t middle = (size_t)f->sheet->width - 35;
    dd_bytes_char(text, '+');
    dd_bytes_repeat(text, '-', middle - 1);
    dd_bytes_char(text, '+');
    dd_bytes_repeat(text, '-', 33);
    dd_bytes_char(text, '+');
    dd_sheet_text(f->sheet, 0, 0, dd_phrase_text(text));
}

/* A time long ago needs its date. */
static void add_past(dd_front *f, dd_moment t)
{
    bool near = f->view->now - t < 6 * DAY_S && t - f->view->now < 6 * DAY_S;
    dd_phrase_time(f->text, f->view->plan, t, near ? DD_MOMENT_DAY : DD_MOMENT_DATE_CLOCK);
}

static void add_weight(dd_front *f)
{
    const dd_patient *p = f->timeline->patient;
    static const char *const kinds[] = {[DD_MEASURED] = "", [DD_BIRTH] = " birth weight", [DD_ESTIMATED] = " ESTIMATED", [DD_DRY] = " dry weight"};
    if (p->weight_mg == DD_UNKNOWN) {
        dd_bytes_text(f->text, "WEIGHT: NOT RECORDED");
        return;
    }
    dd_phrase_weight(f->text, p);
    dd_bytes_text(f->text, p->weight_is <= DD_DRY ? kinds[p->weight_is] : "");
}

static void add_times(dd_front *f)
{
    const dd_patient *p = f->timeline->patient;
    if (p->weight_mg != DD_UNKNOWN) {
        dd_bytes_text(f->text, "weighed ");
        if (p->weighed == DD_NEVER)
            dd_bytes_text(f->text, "when? not recorded");
        else
            add_past(f, p->weighed);
    }
    if (p->arrived != DD_NEVER) {
        dd_bytes_text(f->text, f->text->length ? ", arrived " : "arrived ");
        add_past(f, p->arrived);
    }
}

static void set_box(dd_front *f)
{
    const dd_patient *p = f->timeline->patient;
    dd_sheet_together(f->sheet);
    box_edge(f);
    dd_phrase_start(f->text);
    dd_phrase_capitals(f->text, dd_phrase_bed(p));
    if (p->team) {
        dd_bytes_text(f->text, "   team ");
        dd_bytes_text(f->text, p->team);
    }
    box_row(f, dd_phrase_text(f->text), "patient label here, or by hand");
    dd_phrase_start(f->text);
    if (p->age_text)
        dd_phrase_age(f->text, p);
    else
        dd_bytes_text(f->text, "AGE: NOT RECORDED");
    dd_bytes_text(f->text, "   ");
    add_weight(f);
    box_row(f, dd_phrase_text(f->text), "from the name band");
    dd_phrase_start(f->text);
    dd_phrase_allergy(f->text, p);
    box_row(f, dd_phrase_text(f->text), "...............................");
    dd_phrase_start(f->text);
    add_times(f);
    box_row(f, dd_phrase_text(f->text), "band checked by ...... at ..:..");
    box_edge(f);
    dd_sheet_apart(f->sheet);
    if (p->note) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "note: ");
        dd_bytes_text(f->text, p->note);
        dd_sheet_text(f->sheet, 0, 6, dd_phrase_text(f->text));
    }
}

/* ---- what is wrong first ---- */

/* By when: never later than it says, so rounded down. */
static void add_deadline(dd_front *f, const dd_finding *finding)
{
    dd_moment by = finding->until != DD_NEVER ? finding->until : finding->at;
    if (by == DD_NEVER || (finding->severity < DD_WATCH && finding->to != DD_NEVER)) /* a note of a span says it already */
        return;
    bool said = f->sheet->sentences;
    dd_bytes_text(f->text, finding->severity < DD_WATCH ? "; at " : by <= f->view->now ? said ? "; do it now" : "; now" : said ? "; do it by " : "; by ");
    if (by > f->view->now || finding->severity < DD_WATCH)
        dd_phrase_time(f->text, f->view->plan, by, DD_MOMENT_DAY);
}

static void set_finding(dd_front *f, const dd_finding *finding)
{
    dd_phrase_start(f->text);
    dd_phrase_finding(f->text, f->timeline, finding);
    add_deadline(f, finding);
    dd_bytes_text(f->text, " [");
    dd_bytes_text(f->text, dd_names_finding(finding->code));
    dd_bytes_char(f->text, ']');
    dd_sheet_together(f->sheet);
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 1, .width = 8, .text = dd_names_severity(finding->severity)},
        {.at = 10, .text = dd_phrase_text(f->text)}}, 2);
    for (int line = 0; dd_ways_line(dd_phrase_start(f->text), f->timeline, finding, line); line++)
        dd_sheet_text(f->sheet, 11, 13, dd_phrase_text(f->text));
    for (int line = 0; dd_ways_chart(dd_phrase_start(f->text), f->timeline, finding, line); line++)
        dd_sheet_row(f->sheet, &(dd_cell){.at = line % 2 ? 3 : 10, .after = 2, .text = dd_phrase_text(f->text), .typed = line % 2}, 1);
    dd_sheet_apart(f->sheet);
}

#define ALIKE_MOST 3 /* notes of one kind that are told one by one */

static void set_more(dd_front *f, size_t more, int code)
{
    char number[DD_NUMBER_MAX];
    dd_number_scaled(number, (int64_t)more, 0, 0, DD_STYLE_PERSON);
    dd_phrase_start(f->text);
    dd_bytes_form(f->text, "%s more of this kind; all stand in `daydrip check` [%s]", number, dd_names_finding(code));
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 1, .width = 8, .text = dd_names_severity(DD_NOTE)}, {.at = 10, .text = dd_phrase_text(f->text)}}, 2);
}

/* What is open, worst first; of notes alike (a night written down in the morning) the first ones. True: there are any. */
static bool set_open(dd_front *f)
{
    const dd_timeline *t = f->timeline;
    size_t notes[DD_FINDING_COUNT] = {0};
    bool any = false;
    for (size_t i = 0; i < t->finding_count; i++) {
        const dd_finding *finding = &t->findings[i];
        if (finding->accepted)
            continue;
        any = true;
        if (finding->severity > DD_NOTE || notes[finding->code]++ < ALIKE_MOST)
            set_finding(f, finding);
    }
    for (int code = 0; code < DD_FINDING_COUNT; code++)
        if (notes[code] > ALIKE_MOST)
            set_more(f, notes[code] - ALIKE_MOST, code);
    return any;
}

/* Somebody has looked into it, and it is still so: by name, in full on the other side. */
static bool set_accepted(dd_front *f)
{
    const dd_timeline *t = f->timeline;
    bool any = false;
    dd_phrase_start(f->text);
    for (size_t i = 0; i < t->finding_count; i++) {
        const dd_finding *finding = &t->findings[i];
        if (!finding->accepted)
            continue;
        dd_bytes_text(f->text, any ? "; " : "accepted and still so, see the back: ");
        any = true;
        dd_bytes_form(f->text, "(%s) %s until ", dd_names_severity(finding->severity), dd_names_finding(finding->code));
        dd_phrase_time(f->text, f->view->plan, finding->accepted->until, DD_MOMENT_DAY);
    }
    if (any)
        dd_sheet_text(f->sheet, 1, 1, dd_phrase_text(f->text));
    return any;
}

static void set_first(dd_front *f)
{
    const dd_timeline *t = f->timeline;
    char count[DD_NUMBER_MAX];
    dd_sheet_title(f->sheet, 0, 0, "FIRST", "What is found, worst first");
    dd_sheet_join(f->sheet);
    bool any = set_open(f);
    if (t->without_overtaking)
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 1, .width = 8, .text = "NOTE"},
            {.at = 10, .text = "so many doses on one line that not every order of giving them was tried: they stand in due order"}}, 2);
    if (!set_accepted(f) && !any && !t->without_overtaking) {
        dd_number_scaled(count, DD_FINDING_SOUGHT, 0, 0, DD_STYLE_PERSON);
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "none of the ");
        dd_bytes_text(f->text, count);
        dd_bytes_text(f->text, " kinds of finding that are looked for; what could not be looked for stands on the back");
        dd_sheet_text(f->sheet, 1, 1, dd_phrase_text(f->text));
    }
    dd_phrase_start(f->text);
    if (dd_phrase_later(f->text, f->view, &f->timeline, 1))
        dd_sheet_text(f->sheet, 1, 1, dd_phrase_text(f->text));
    dd_phrase_start(f->text);
    if (dd_phrase_clocks_change(f->text, f->view->plan, f->view->from, f->view->to))
        dd_sheet_text(f->sheet, 1, 1, dd_phrase_text(f->text));
    dd_sheet_rule(f->sheet);
}

/* ---- lines ---- */

#define COLUMN_PLACED 14
#define COLUMN_GAUGE 31
#define COLUMN_DRESSING 38
#define COLUMN_SET 55

/* `Tue 1 Dec 14:10`, `?` where nobody said since when, `n/a` where no rule holds. */
static const char *due_text(dd_front *f, const dd_upkeep_due *due, dd_bytes *out)
{
    dd_phrase_start(out);
    if (due->every <= 0)
        dd_bytes_text(out, "n/a");
    else if (due->at == DD_NEVER)
        dd_bytes_text(out, "?");
    else {
        dd_bytes_text(out, due->at <= f->view->now ? "OVERDUE " : "");
        dd_phrase_time(out, f->view->plan, due->at, DD_MOMENT_DATE_CLOCK);
    }
    return dd_phrase_text(out);
}

/* The site in words only where the key does not already say it: `left-forearm`, left forearm. */
static bool says_more(const char *site, const char *key)
{
    for (; *site && *key; site++, key++) {
        char a = *site, b = *key;
        if ((a == ' ' || a == '-' || a == '_') && (b == ' ' || b == '-' || b == '_'))
            continue;
        if ((a | 0x20) != (b | 0x20))
            return true;
    }
    return *site || *key;
}

static void add_part(dd_bytes *out, const char *before, const char *part)
{
    if (!part)
        return;
    dd_bytes_text(out, out->length ? ", " : "");
    dd_bytes_text(out, before);
    dd_bytes_text(out, part);
}

static void set_line(dd_front *f, int line, dd_bytes *dressing, dd_bytes *set)
{
    const dd_line *l = &f->timeline->patient->lines[line];
    const dd_upkeep care = dd_upkeep_of(f->timeline, line);
    const dd_upkeep_due none = {.at = DD_NEVER};
    bool off = care.off_since != DD_NEVER;
    const char *dressing_due = due_text(f, off ? &none : &care.dressing, dressing);
    const char *set_due = due_text(f, off ? &none : &care.set, set);
    dd_phrase_start(f->text);
    if (off) {
        dd_bytes_text(f->text, "out ");
        dd_phrase_time(f->text, f->view->plan, care.off_since, DD_MOMENT_DAY);
    } else if (care.placed == DD_NEVER) {
        dd_bytes_char(f->text, '?');
    } else {
        dd_phrase_time(f->text, f->view->plan, care.placed, DD_MOMENT_DATE_CLOCK);
    }
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = COLUMN_PLACED - 1, .after = 1, .text = l->key},
        {.at = COLUMN_PLACED, .width = COLUMN_GAUGE - COLUMN_PLACED - 1, .text = dd_phrase_text(f->text), .say = off ? "" : "placed"},
        {.at = COLUMN_GAUGE, .width = COLUMN_DRESSING - COLUMN_GAUGE - 1, .text = l->gauge ? l->gauge : "?", .say = "gauge"},
        {.at = COLUMN_DRESSING, .width = COLUMN_SET - COLUMN_DRESSING - 1, .text = dressing_due, .say = "dressing due"},
        {.at = COLUMN_SET, .text = set_due, .say = "set due"}}, 5);
    dd_phrase_start(f->text);
    if (l->site && says_more(l->site, l->key))
        add_part(f->text, "", l->site);
    add_part(f->text, "catheter ", l->catheter);
    if (!off && care.device.at != DD_NEVER) {
        add_part(f->text, "", care.device.at <= f->view->now ? "device OVERDUE " : "device to be replaced by ");
        dd_phrase_time(f->text, f->view->plan, care.device.at, DD_MOMENT_DATE_CLOCK);
    }
    add_part(f->text, "", l->note);
    if (f->text->length)
        dd_sheet_text(f->sheet, 2, 2, dd_phrase_text(f->text));
}

static void set_lines(dd_front *f)
{
    dd_bytes dressing = DD_BYTES(TEXT_CEILING), set = DD_BYTES(TEXT_CEILING);
    dd_sheet_said(f->sheet, "Lines");
    if (!f->sheet->sentences)
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .text = "LINES"}, {.at = COLUMN_PLACED, .text = "placed"},
            {.at = COLUMN_GAUGE, .text = "gauge"}, {.at = COLUMN_DRESSING, .text = "dressing due"}, {.at = COLUMN_SET, .text = "set due"}}, 5);
    for (int line = 0; line < f->timeline->patient->line_count; line++)
        set_line(f, line, &dressing, &set);
    if (dressing.failed || set.failed)
        f->status = DD_NO_MEMORY;
    dd_bytes_free(&dressing);
    dd_bytes_free(&set);
}

static void set_grids(dd_front *f)
{
    bool tube = false;
    for (int line = 0; line < f->timeline->patient->line_count; line++)
        tube |= f->timeline->patient->lines[line].kind == DD_KIND_ENTERAL;
    dd_sheet_together(f->sheet);
    dd_sheet_title(f->sheet, 0, 7, tube ? "SITES  each round: 0 clean, R red, S swollen, P pain, L leaks; tube: cm"
                                        : "SITES  write at each round: 0 clean, R red, S swollen, P pain, L leaks", "When sites are looked at");
    f->status = f->status == DD_OK ? dd_picture_sites(f->sheet, f->timeline, f->from, f->view->to, f->arena) : f->status;
    dd_sheet_apart(f->sheet);
    dd_sheet_rule(f->sheet);
    dd_sheet_together(f->sheet);
    dd_picture_flows(f->sheet, f->timeline, f->from, f->view->to);
    dd_sheet_apart(f->sheet);
    dd_sheet_rule(f->sheet);
}

dd_status dd_front_write(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, dd_arena *arena)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_front f = {.sheet = sheet, .view = view, .timeline = timeline, .arena = arena, .text = &text, .status = DD_OK};
    f.from = view->now > view->from && view->now < view->to ? view->now : view->from;
    f.long_span = view->to - f.from > DAY_S;
    set_box(&f);
    set_first(&f);
    dd_running_write(&f);
    dd_tasks_write(&f);
    if (timeline->patient->line_count > 0) {
        set_grids(&f);
        dd_sheet_together(sheet);
        set_lines(&f);
    }
    dd_sheet_form(sheet, "given over by .................  taken over by ................. ..:..");
    dd_sheet_apart(sheet);
    dd_status status = text.failed ? DD_NO_MEMORY : f.status;
    dd_bytes_free(&text);
    return status;
}
