/* volumes.c - of the pages side by side: volumes against the need, then what is to be said of single patients. */
#include "beside.h"
#include "grid.h"
#include "names.h"
#include "phrase.h"

#define ML 1000 /* uL in one */

/* Worst of what the page is about; in brackets where somebody has accepted all of it. */
static const char *sign_of(const dd_timeline *t)
{
    static const char *const open_signs[] = {".", ".", "W", "C"}, *const accepted_signs[] = {".", ".", "(W)", "(C)"};
    uint8_t open = DD_SEV_NONE, accepted = DD_SEV_NONE;
    for (size_t i = 0; i < t->finding_count; i++) {
        const dd_finding *f = &t->findings[i];
        uint8_t *worst = f->accepted ? &accepted : &open;
        if (f->severity > *worst && f->severity <= DD_CLARIFY && dd_beside_about(dd_names_finding(f->code)))
            *worst = f->severity;
    }
    return open >= DD_WATCH ? open_signs[open] : accepted_signs[accepted];
}

/* One cell of the grid, put together in b->text. */
static dd_bytes *cell(dd_beside *b)
{
    return dd_phrase_start(b->text);
}

static void end_cell(dd_beside *b, dd_grid *g)
{
    dd_grid_cell(g, dd_phrase_text(b->text));
}

static void figure_cell(dd_beside *b, dd_grid *g, dd_ratio value, int64_t over, int decimals)
{
    dd_beside_figure(cell(b), value, over, decimals, false);
    end_cell(b, g);
}

static void add_range(dd_bytes *out, dd_ratio low, dd_ratio high, int64_t over)
{
    dd_beside_figure(out, low, over, 0, false);
    dd_bytes_text(out, " to ");
    dd_beside_figure(out, high, over, 0, false);
}

static void who_cells(dd_beside *b, dd_grid *g, const dd_patient *p)
{
    const dd_ratio mg = {p->weight_mg, 1}, none = {0};
    dd_grid_cell(g, dd_phrase_bed(p));
    dd_phrase_age(cell(b), p);
    dd_bytes_text(b->text, p->age_text ? "" : "?");
    end_cell(b, g);
    if (p->weight_mg == DD_UNKNOWN)
        dd_grid_cell(g, "?");
    else
        figure_cell(b, g, p->weight_mg == DD_UNKNOWN ? none : mg, 1000000, 3);
}

static void need_cell(dd_beside *b, dd_grid *g, const dd_sums *s)
{
    cell(b);
    if (s->need.kind == DD_NEED_NONE)
        dd_bytes_char(b->text, '?');
    else if (s->need.kind == DD_NEED_WEIGHT)
        dd_beside_figure(b->text, s->need.low, ML, 0, false);
    else
        add_range(b->text, s->need.low, s->need.high, ML);
    end_cell(b, g);
}

static void set_children(dd_beside *b)
{
    static const dd_column columns[] = {{.head = "bed"}, {.head = "age"}, {.head = "kg", .align = DD_POINT}, {.head = "need", .align = DD_RIGHT},
        {.head = "ordered", .align = DD_RIGHT}, {.head = "all %", .align = DD_RIGHT}, {.head = "maint %", .align = DD_RIGHT},
        {.head = "mL/kg", .align = DD_RIGHT}, {.head = "!"}};
    dd_grid g;
    dd_grid_start(&g, columns, sizeof columns / sizeof *columns);
    for (size_t i = 0; i < b->count; i++) {
        const dd_sums *s = &b->sides[i].sums;
        const dd_ratio none = {0};
        who_cells(b, &g, b->sides[i].patient);
        need_cell(b, &g, s);
        figure_cell(b, &g, s->all_ul_day, ML, 0);
        figure_cell(b, &g, dd_beside_only_fed(s) ? none : s->all_percent, 1, 0);
        figure_cell(b, &g, s->maintenance_percent, 1, 0);
        figure_cell(b, &g, s->all_ul_kg_day, ML, 0);
        dd_grid_cell(&g, sign_of(b->sides[i].timeline));
    }
    dd_sheet_together(b->sheet);
    dd_sheet_text(b->sheet, 0, 1, "VOLUMES in mL a day. all %: of the need; maint %: what is for maintenance, of the need; mL/kg: all that is ordered.");
    dd_grid_write(&g, b->sheet, 0);
    dd_sheet_apart(b->sheet);
}

static void set_adults(dd_beside *b)
{
    static const dd_column columns[] = {{.head = "bed"}, {.head = "age"}, {.head = "kg", .align = DD_POINT}, {.head = "need", .align = DD_RIGHT},
        {.head = "ordered", .align = DD_RIGHT}, {.head = "the day", .align = DD_RIGHT}, {.head = "mL/kg", .align = DD_POINT}, {.head = "!"}};
    dd_grid g;
    dd_grid_start(&g, columns, sizeof columns / sizeof *columns);
    for (size_t i = 0; i < b->count; i++) {
        const dd_sums *s = &b->sides[i].sums;
        who_cells(b, &g, b->sides[i].patient);
        need_cell(b, &g, s);
        figure_cell(b, &g, s->all_ul_day, ML, 0);
        figure_cell(b, &g, s->day_ul_day, ML, 0);
        figure_cell(b, &g, s->day_ul_kg_day, ML, 1);
        dd_grid_cell(&g, sign_of(b->sides[i].timeline));
    }
    dd_sheet_together(b->sheet);
    dd_sheet_text(b->sheet, 0, 1, "VOLUMES in mL a day. the day, and mL/kg: without what replaces losses or is for resuscitation; what is drunk is not in it.");
    dd_grid_write(&g, b->sheet, 0);
    dd_sheet_apart(b->sheet);
}

/* ---- what is to be said of one ---- */

static void add_part(dd_bytes *out, const dd_patient *p, const char *what, dd_u volume, bool *any)
{
    if (volume.u <= 0)
        return;
    dd_bytes_text(out, *any ? ", " : "");
    dd_bytes_text(out, what);
    dd_bytes_char(out, ' ');
    dd_phrase_volume(out, p, volume);
    *any = true;
}

static void add_parts(dd_bytes *out, const dd_patient *p, const dd_sums *s)
{
    bool any = false;
    add_part(out, p, "maintenance", s->maintenance, &any);
    add_part(out, p, "other fluids and blood", s->others, &any);
    add_part(out, p, "doses and drugs", s->doses, &any);
    add_part(out, p, "flushes", s->flushes, &any);
    add_part(out, p, "feeds", s->feeds, &any);
    dd_bytes_text(out, " mL");
}

static void set_line(dd_beside *b)
{
    dd_sheet_text(b->sheet, 0, 2, dd_phrase_text(b->text));
}

static dd_bytes *begin_line(dd_beside *b, const dd_patient *p)
{
    dd_phrase_start(b->text);
    dd_bytes_text(b->text, dd_phrase_bed(p));
    dd_bytes_char(b->text, ' ');
    return b->text;
}

static void add_kg_range(dd_bytes *out, int64_t low, int64_t high)
{
    add_range(out, (dd_ratio){low, 1}, (dd_ratio){high, 1}, ML);
}

static void say_day_of_life(dd_beside *b, const dd_patient *p, const dd_day_need *n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes *out = begin_line(b, p);
    dd_bytes_text(out, "by the day of life: day ");
    dd_bytes_add(out, number, dd_number_scaled(number, n->day, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(out, ", ");
    add_kg_range(out, n->low_ul_kg, n->high_ul_kg);
    dd_bytes_text(out, " mL/kg/day (NICE NG29, as quoted, term babies)");
    if (n->changes != DD_NEVER && n->changes < b->view->now + 86400) {
        dd_bytes_text(out, "; from ");
        dd_phrase_time(out, b->view->plan, n->changes, DD_MOMENT_DAY);
        dd_bytes_text(out, ", by the age in the table, ");
        add_kg_range(out, n->then_low_ul_kg, n->then_high_ul_kg);
    }
    dd_bytes_text(out, p->weight_is == DD_BIRTH ? ". Reckoned by birth weight." : ".");
    set_line(b);
}

/* A ceiling that a ward has set stands alone; beside the built-in one stand the other published ones. */
static void say_cap(dd_beside *b, const dd_patient *p, const dd_day_need *n)
{
    char number[2 * DD_NUMBER_MAX];
    dd_bytes *out = begin_line(b, p);
    dd_bytes_text(out, "need above a published ceiling: ");
    size_t length = dd_number_quantity(number, sizeof number, n->cap->low);
    dd_bytes_add(out, number, length < sizeof number ? length : sizeof number - 1);
    if (n->cap->at.line)
        dd_bytes_form(out, " (%s).", n->cap->source);
    else
        dd_bytes_text(out, " (Medecins Sans Frontieres 2021); others: 2,400 mL/day, 100 mL/h.");
    set_line(b);
}

static void say_of(dd_beside *b, const dd_beside_side *side)
{
    const dd_sums *s = &side->sums;
    const dd_patient *p = side->patient;
    if (s->need.kind == DD_NEED_DAY)
        say_day_of_life(b, p, &s->need);
    if (s->need.kind == DD_NEED_NONE) {
        dd_bytes_text(begin_line(b, p), p->age_s == DD_UNKNOWN ? "need not known: no age." : p->weight_mg == DD_UNKNOWN ? "need not known: no weight." :
            "no rule for the need at this age.");
        set_line(b);
    }
    if (s->need.kind == DD_NEED_WEIGHT && s->need.cap && s->for_maintenance)
        say_cap(b, p, &s->need);
    if (dd_beside_only_fed(s)) {
        dd_bytes_text(begin_line(b, p), "feeds only: a share of the need is no measure for feeds.");
        set_line(b);
    } else if (s->others.u > 0) { /* doses and flushes alone go without saying */
        add_parts(begin_line(b, p), p, s);
        set_line(b);
    }
}

static const char *adult_source(const dd_beside *b)
{
    for (size_t i = 0; i < b->count; i++)
        if (b->sides[i].sums.need.rule)
            return b->sides[i].sums.need.rule->source;
    return NULL;
}

void dd_volumes_write(dd_beside *b)
{
    if (b->count == 0)
        return;
    if (b->adults)
        set_adults(b);
    else
        set_children(b);
    for (size_t i = 0; i < b->count; i++)
        say_of(b, &b->sides[i]);
    const char *source = b->adults ? adult_source(b) : "Holliday and Segar 1957";
    if (!source)
        return;
    dd_phrase_start(b->text);
    dd_bytes_text(b->text, "need: ");
    dd_bytes_text(b->text, source);
    dd_bytes_text(b->text, ".  ! C clarify, W watch, (W) accepted.");
    dd_sheet_text(b->sheet, 0, 1, dd_phrase_text(b->text));
}
