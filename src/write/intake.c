#include "intake.h"

#include "beside.h"
#include "daydrip/rule.h"
#include "grid.h"
#include "list.h"
#include "phrase.h"

#define ML 1000 /* uL in one */

typedef struct intake {
    dd_sheet *sheet;
    const dd_timeline *t;
    const dd_patient *p;
    dd_bytes *text;
    dd_grid grid;
    dd_sums s;
} intake;

/* `1,776 mL`, `0.46 mmol`; n/a where it is not known. */
static void figure_cell(intake *k, dd_ratio value, int64_t over, int decimals, bool least, const char *unit)
{
    dd_phrase_start(k->text);
    dd_beside_figure(k->text, value, over, decimals, least);
    if (value.den != 0) {
        dd_bytes_char(k->text, ' ');
        dd_bytes_text(k->text, unit);
    }
    dd_grid_cell(&k->grid, dd_phrase_text(k->text));
}

/* The limit of a rule that holds for the patient, as it is written; `words` stands before it. */
static void rule_cell(intake *k, dd_rule_id id, const char *words)
{
    const dd_rule_about about = dd_rule_of_patient(k->p, -1);
    const dd_rule *rule = dd_rule_find(k->t->plan, id, &about);
    dd_phrase_start(k->text);
    if (rule) {
        dd_bytes_text(k->text, words);
        dd_phrase_spaced(k->text, rule->value_text);
    } else {
        dd_bytes_text(k->text, "n/a");
    }
    dd_grid_cell(&k->grid, dd_phrase_text(k->text));
}

static void content_row(intake *k, const char *what, dd_ratio day, dd_ratio kg, bool least, const char *unit, dd_rule_id id, const char *words)
{
    dd_grid_cell(&k->grid, what);
    figure_cell(k, day, 1, 0, least, unit);
    figure_cell(k, kg, 1, 2, least, unit);
    if (id == DD_RULE_COUNT)
        dd_grid_cell(&k->grid, words);
    else
        rule_cell(k, id, words);
}

static void percent_cell(intake *k, dd_ratio percent)
{
    dd_phrase_start(k->text);
    dd_beside_figure(k->text, percent, 1, 0, false);
    dd_bytes_text(k->text, percent.den != 0 ? " % of the need" : "");
    dd_grid_cell(&k->grid, dd_phrase_text(k->text));
}

static void need_row(intake *k)
{
    const dd_day_need *need = &k->s.need;
    dd_phrase_start(k->text);
    dd_grid_cell(&k->grid, "need by weight");
    dd_beside_figure(k->text, need->low, ML, 0, false);
    if (need->kind == DD_NEED_DAY) {
        dd_bytes_text(k->text, " to ");
        dd_beside_figure(k->text, need->high, ML, 0, false);
    }
    dd_bytes_text(k->text, " mL");
    dd_grid_cell(&k->grid, dd_phrase_text(k->text));
    dd_ratio kg = {0};
    if (need->kind == DD_NEED_WEIGHT && dd_ratio_over(need->low, (dd_ratio){k->p->weight_mg, 1000000}, &kg) != DD_OK)
        kg = (dd_ratio){0};
    figure_cell(k, need->kind == DD_NEED_DAY ? (dd_ratio){need->low_ul_kg, 1} : kg, ML, 1, false, "mL");
    dd_grid_cell(&k->grid, need->kind == DD_NEED_DAY ? "by day of life, NICE NG29" : "Holliday and Segar 1957");
}

static void child_rows(intake *k)
{
    const dd_sums *s = &k->s;
    if (s->need.kind == DD_NEED_WEIGHT || s->need.kind == DD_NEED_DAY)
        need_row(k);
    dd_grid_cell(&k->grid, "ordered, all");
    figure_cell(k, s->all_ul_day, ML, 0, false, "mL");
    figure_cell(k, s->all_ul_kg_day, ML, 1, false, "mL");
    percent_cell(k, s->all_percent);
    dd_grid_cell(&k->grid, "for maintenance");
    figure_cell(k, s->maintenance_ul_day, ML, 0, false, "mL");
    dd_grid_cell(&k->grid, "");
    percent_cell(k, s->maintenance_percent);
    content_row(k, "sodium by vein", s->content_day[DD_SODIUM], s->content_kg_day[DD_SODIUM], s->unknown[DD_SODIUM], "mmol", DD_RULE_COUNT, "n/a");
    content_row(k, "potassium by vein", s->content_day[DD_POTASSIUM], s->content_kg_day[DD_POTASSIUM], s->unknown[DD_POTASSIUM], "mmol", DD_RULE_COUNT, "n/a");
    dd_grid_cell(&k->grid, k->sheet->sentences ? "potassium, highest in an hour" : "  highest in an hour");
    figure_cell(k, s->potassium_most_h, 1, 2, s->unknown[DD_POTASSIUM], "mmol/h");
    figure_cell(k, s->potassium_most_kg_h, 1, 3, s->unknown[DD_POTASSIUM], "mmol/h");
    rule_cell(k, DD_RULE_POTASSIUM_RATE_MAX, "at most ");
    content_row(k, "glucose by vein", s->content_day[DD_GLUCOSE], s->content_kg_day[DD_GLUCOSE], s->unknown[DD_GLUCOSE], "g", DD_RULE_COUNT, "n/a");
    dd_grid_cell(&k->grid, k->sheet->sentences ? "glucose, highest in a minute" : "  highest in a minute");
    dd_grid_cell(&k->grid, "");
    figure_cell(k, s->glucose_most_kg_min, 1, 2, s->unknown[DD_GLUCOSE], "mg");
    rule_cell(k, DD_RULE_GIR_MAX, "at most ");
}

static void adult_rows(intake *k)
{
    const dd_sums *s = &k->s;
    dd_grid_cell(&k->grid, "fluid for the day");
    figure_cell(k, s->day_ul_day, ML, 0, false, "mL");
    figure_cell(k, s->day_ul_kg_day, ML, 1, false, "mL");
    rule_cell(k, DD_RULE_MAINTENANCE, "");
    content_row(k, "sodium", s->day_content_day[DD_SODIUM], s->day_content_kg_day[DD_SODIUM], s->day_unknown[DD_SODIUM], "mmol",
                DD_RULE_MAINTENANCE_ELECTROLYTE, "about ");
    content_row(k, "chloride", s->day_content_day[DD_CHLORIDE], s->day_content_kg_day[DD_CHLORIDE], s->day_unknown[DD_CHLORIDE], "mmol",
                DD_RULE_MAINTENANCE_ELECTROLYTE, "about ");
    content_row(k, "potassium", s->day_content_day[DD_POTASSIUM], s->day_content_kg_day[DD_POTASSIUM], s->day_unknown[DD_POTASSIUM], "mmol",
                DD_RULE_MAINTENANCE_ELECTROLYTE, "about ");
    dd_grid_cell(&k->grid, k->sheet->sentences ? "potassium, highest by all lines" : "  highest, all lines");
    figure_cell(k, s->potassium_most_h, 1, 2, s->unknown[DD_POTASSIUM], "mmol/h");
    figure_cell(k, s->potassium_most_kg_h, 1, 3, s->unknown[DD_POTASSIUM], "mmol/h");
    rule_cell(k, DD_RULE_POTASSIUM_RATE_MAX, "at most ");
    content_row(k, "glucose", s->content_day[DD_GLUCOSE], s->content_kg_day[DD_GLUCOSE], s->unknown[DD_GLUCOSE], "g", DD_RULE_COUNT, "n/a");
    dd_grid_cell(&k->grid, "ordered, all");
    figure_cell(k, s->all_ul_day, ML, 0, false, "mL");
    figure_cell(k, s->all_ul_kg_day, ML, 1, false, "mL");
    dd_grid_cell(&k->grid, "n/a");
}

dd_status dd_intake_write(dd_sheet *sheet, const dd_timeline *t, dd_arena *arena, dd_bytes *text)
{
    static const dd_column columns[] = {{.head = "NEEDS AND ORDERS", .align = DD_LEFT}, {.head = "in a day", .align = DD_RIGHT}, {.head = "per kg", .align = DD_RIGHT}, {.head = "published", .align = DD_LEFT}};
    intake k = {.sheet = sheet, .t = t, .p = t->patient, .text = text};
    if (t->patient->order_count == 0)
        return DD_OK;
    dd_status status = dd_timeline_sums(t, t->plan->begins, t->plan->end, arena, &k.s);
    if (status != DD_OK)
        return status;
    dd_sheet_together(sheet);
    dd_grid_start(&k.grid, columns, sizeof columns / sizeof *columns);
    if (t->patient->class_at_begin == DD_CLASS_ADULT)
        adult_rows(&k);
    else
        child_rows(&k);
    dd_sheet_said(sheet, "Needs and orders, by day");
    dd_grid_write(&k.grid, sheet, 0);
    dd_list_urine(sheet, t, text);
    dd_sheet_text(sheet, 1, 1, t->patient->class_at_begin == DD_CLASS_ADULT
        ? "For the day: without what replaces losses or is for resuscitation, and without what is drunk. ? at least so much. A drug's own salts are not counted."
        : "? at least so much. What feeds hold and a drug's own salts are not counted.");
    dd_sheet_apart(sheet);
    return DD_OK;
}
