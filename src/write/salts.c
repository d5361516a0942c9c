/* salts.c - of the pages side by side: salts and glucose, the worst seconds, and how long there is no glucose. */
#include "beside.h"
#include "grid.h"
#include "phrase.h"

static void figure_cell(dd_beside *b, dd_grid *g, dd_ratio value, int decimals, bool fed, bool least)
{
    if (fed) {
        dd_grid_cell(g, "?");
        return;
    }
    dd_beside_figure(dd_phrase_start(b->text), value, 1, decimals, least);
    dd_grid_cell(g, dd_phrase_text(b->text));
}

/* Sodium of the fluid that the page speaks of, mmol/L. */
static void fluid_cell(dd_beside *b, dd_grid *g, const dd_beside_side *side)
{
    int64_t sodium = side->sums.fluid < 0 ? DD_UNKNOWN : side->patient->orders[side->sums.fluid].has->sodium;
    if (sodium == DD_UNKNOWN) {
        dd_grid_cell(g, side->sums.fluid < 0 ? "n/a" : "?");
        return;
    }
    dd_beside_figure(dd_phrase_start(b->text), (dd_ratio){sodium, 1}, 1000000, 0, false);
    dd_grid_cell(g, dd_phrase_text(b->text));
}

static void set_children(dd_beside *b)
{
    static const dd_column columns[] = {{.head = "bed"}, {.head = "fluid", .align = DD_RIGHT}, {.head = "sodium", .align = DD_POINT},
        {.head = "potassium", .align = DD_POINT}, {.head = "highest", .align = DD_POINT}, {.head = "glucose", .align = DD_POINT},
        {.head = "highest", .align = DD_POINT}};
    dd_grid g;
    dd_grid_start(&g, columns, sizeof columns / sizeof *columns);
    for (size_t i = 0; i < b->count; i++) {
        const dd_sums *s = &b->sides[i].sums;
        bool fed = dd_beside_only_fed(s);
        dd_grid_cell(&g, dd_phrase_bed(b->sides[i].patient));
        fluid_cell(b, &g, &b->sides[i]);
        figure_cell(b, &g, s->content_kg_day[DD_SODIUM], 1, fed, s->unknown[DD_SODIUM]);
        figure_cell(b, &g, s->content_kg_day[DD_POTASSIUM], 1, fed, s->unknown[DD_POTASSIUM]);
        figure_cell(b, &g, s->potassium_most_kg_h, 2, fed, s->unknown[DD_POTASSIUM]);
        figure_cell(b, &g, s->content_kg_day[DD_GLUCOSE], 1, fed, s->unknown[DD_GLUCOSE]);
        figure_cell(b, &g, s->glucose_most_kg_min, 1, fed, s->unknown[DD_GLUCOSE]);
    }
    dd_sheet_together(b->sheet);
    dd_sheet_text(b->sheet, 0, 1, "SALTS AND GLUCOSE by vein, a day per kg: mmol, glucose g. fluid: sodium in mmol/L. highest: mmol/kg/h, glucose "
                                  "mg/kg/min.");
    dd_grid_write(&g, b->sheet, 0);
    dd_sheet_apart(b->sheet);
}

static void set_adults(dd_beside *b)
{
    static const dd_column columns[] = {{.head = "bed"}, {.head = "fluid", .align = DD_RIGHT}, {.head = "sodium", .align = DD_POINT},
        {.head = "potassium", .align = DD_POINT}, {.head = "chloride", .align = DD_POINT}, {.head = "highest", .align = DD_POINT},
        {.head = "glucose", .align = DD_POINT}};
    dd_grid g;
    dd_grid_start(&g, columns, sizeof columns / sizeof *columns);
    for (size_t i = 0; i < b->count; i++) {
        const dd_sums *s = &b->sides[i].sums;
        bool fed = dd_beside_only_fed(s);
        dd_grid_cell(&g, dd_phrase_bed(b->sides[i].patient));
        fluid_cell(b, &g, &b->sides[i]);
        figure_cell(b, &g, s->day_content_kg_day[DD_SODIUM], 2, fed, s->day_unknown[DD_SODIUM]);
        figure_cell(b, &g, s->day_content_kg_day[DD_POTASSIUM], 2, fed, s->day_unknown[DD_POTASSIUM]);
        figure_cell(b, &g, s->day_content_kg_day[DD_CHLORIDE], 2, fed, s->day_unknown[DD_CHLORIDE]);
        figure_cell(b, &g, s->potassium_most_h, 2, fed, s->unknown[DD_POTASSIUM]);
        figure_cell(b, &g, s->content_day[DD_GLUCOSE], 0, fed, s->unknown[DD_GLUCOSE]);
    }
    dd_sheet_together(b->sheet);
    dd_sheet_text(b->sheet, 0, 1, "SALTS AND GLUCOSE. fluid: sodium in mmol/L; sodium, potassium, chloride: mmol/kg/day, about 1 of each, of what counts "
                                  "for the day; highest: potassium by vein in mmol/h; glucose: g/day.");
    dd_grid_write(&g, b->sheet, 0);
    dd_sheet_apart(b->sheet);
}

/* ---- gaps ---- */

static void add_count(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

/* `36 min, 3 times`; `36 min and shorter, 4 times`. */
static void add_gaps(dd_bytes *out, const dd_sums *s)
{
    bool alike = true;
    for (size_t i = 0; i < s->gap_count; i++)
        alike = alike && s->gaps[i].to - s->gaps[i].from == s->longest_gap_s;
    dd_phrase_span(out, s->longest_gap_s);
    dd_bytes_text(out, alike ? "" : " and shorter");
    if (s->gap_count > 1) {
        dd_bytes_text(out, ", ");
        add_count(out, s->gap_count);
        dd_bytes_text(out, " times");
    }
}

typedef enum group { NEVER_RUNS, STOPS, NEVER_STOPS, NOT_KNOWN, OTHERS } group;

static group group_of(const dd_sums *s)
{
    if (s->vein.u == 0)
        return s->feeds.u > 0 ? NOT_KNOWN : OTHERS;
    if (s->unknown[DD_GLUCOSE])
        return NOT_KNOWN;
    return s->glucose_most == 0 ? NEVER_RUNS : s->gap_count > 0 ? STOPS : NEVER_STOPS;
}

static void set_group(dd_beside *b, group which, const char *head)
{
    bool any = false;
    dd_phrase_start(b->text);
    for (size_t i = 0; i < b->count; i++) {
        const dd_sums *s = &b->sides[i].sums;
        if (group_of(s) != which)
            continue;
        dd_bytes_text(b->text, any ? which == STOPS ? "; " : ", " : head);
        dd_bytes_text(b->text, dd_phrase_bed(b->sides[i].patient));
        any = true;
        if (which != STOPS)
            continue;
        dd_bytes_char(b->text, ' ');
        add_gaps(b->text, s);
    }
    dd_bytes_char(b->text, '.');
    if (any)
        dd_sheet_text(b->sheet, 0, 2, dd_phrase_text(b->text));
}

static void set_gaps(dd_beside *b)
{
    set_group(b, NEVER_RUNS, "No glucose at all by vein: ");
    set_group(b, STOPS, "Glucose stops: ");
    set_group(b, NEVER_STOPS, "Glucose never stops: ");
    set_group(b, NOT_KNOWN, "Glucose not known: ");
}

void dd_salts_write(dd_beside *b)
{
    bool least = false;
    if (b->count == 0)
        return;
    if (b->adults)
        set_adults(b);
    else
        set_children(b);
    if (!b->adults)
        set_gaps(b);
    for (size_t i = 0; i < b->count; i++)
        for (int c = 0; c < DD_CONTENTS; c++)
            least = least || b->sides[i].sums.unknown[c] || (b->adults && b->sides[i].sums.day_unknown[c]);
    dd_sheet_text(b->sheet, 0, 1, "Highest: the sum over all lines at the worst second. A drug's own salts and what feeds hold are not counted.");
    if (least)
        dd_sheet_text(b->sheet, 0, 1, "? behind a number: at least so much, for something else went in of which the contents are not known.");
}
