#include "rulelist.h"

#include <string.h>

#include "arena.h"
#include "daydrip/rule.h"
#include "list.h"
#include "names.h"
#include "phrase.h"
#include "rows.h"
#include "sheet.h"

#define TEXT_CEILING ((size_t)1 << 20)

/* Columns of the list. */
enum { COLUMN_FOR = 1, COLUMN_VALUE = 26, COLUMN_SEVERITY = 48, COLUMN_ROW = 57 };

typedef struct rulelist {
    dd_sheet sheet;
    dd_bytes text;
    const dd_view *view;
    dd_bytes *out;
    const dd_patient *patient; /* NULL: whole list */
} rulelist;

static void add_row_place(dd_bytes *out, const dd_rule *r)
{
    char number[DD_NUMBER_MAX];
    if (r->at.line == 0) {
        dd_bytes_text(out, "built in");
        return;
    }
    dd_bytes_text(out, "rules.csv:");
    dd_bytes_add(out, number, dd_number_scaled(number, r->at.line, 0, 0, DD_STYLE_PROGRAM));
}

/* A share of what, where the value alone does not say it. */
static const char *of_what(const dd_rule *r)
{
    return r->id == DD_RULE_DOSE_GAP ? " of the interval" : "";
}

/* The value as people read it: `2,000 mL/day`, `25 to 30 mL/kg/day`, `on`. */
static void add_value(dd_bytes *out, const dd_rule *r)
{
    char text[2 * DD_NUMBER_MAX];
    if (r->low.unit == DD_UNIT_NONE) {
        dd_bytes_text(out, r->value_text);
        return;
    }
    if (r->high.unit != DD_UNIT_NONE) {
        dd_bytes_add(out, text, dd_number_scaled(text, r->low.micro, 6, 6, DD_STYLE_PERSON));
        dd_bytes_text(out, " to ");
    }
    size_t length = dd_number_quantity(text, sizeof text, r->high.unit != DD_UNIT_NONE ? r->high : r->low);
    dd_bytes_add(out, text, length < sizeof text ? length : sizeof text - 1);
    dd_bytes_text(out, of_what(r));
}

/* ---- one row ---- */

static void set_row(rulelist *l, const char *holds_for, const dd_rule *r)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING), place = DD_BYTES(64);
    const dd_rule *tighter = r && r->at.line ? dd_rule_looser_than(l->view->plan, r) : NULL;
    dd_sheet_together(&l->sheet);
    if (r) {
        add_value(&value, r);
        add_row_place(&place, r);
    }
    dd_sheet_row(&l->sheet, (const dd_cell[]){{.at = COLUMN_FOR, .width = COLUMN_VALUE - COLUMN_FOR - 1, .after = 1, .text = holds_for},
        {.at = COLUMN_VALUE, .width = COLUMN_SEVERITY - COLUMN_VALUE - 1, .after = 1, .text = r ? dd_phrase_text(&value) : "no rule"},
        {.at = COLUMN_SEVERITY, .width = COLUMN_ROW - COLUMN_SEVERITY - 1, .text = r ? dd_names_severity(r->severity) : ""},
        {.at = COLUMN_ROW, .text = r ? dd_phrase_text(&place) : ""}}, 4);
    if (r) {
        dd_phrase_start(&l->text);
        dd_bytes_text(&l->text, r->source);
        dd_bytes_text(&l->text, r->evidence == DD_EV_MEMORY ? "; from memory" : "");
        if (r->note && *r->note) {
            dd_bytes_text(&l->text, "; ");
            dd_bytes_text(&l->text, r->note);
        }
        dd_sheet_text(&l->sheet, COLUMN_FOR + 3, COLUMN_FOR + 3, dd_phrase_text(&l->text));
    }
    if (tighter) {
        dd_phrase_start(&l->text);
        dd_bytes_text(&l->text, "LOOSER than built in for ");
        dd_bytes_text(&l->text, *tighter->applies ? tighter->applies : "everybody");
        dd_bytes_text(&l->text, ": ");
        add_value(&l->text, tighter);
        dd_sheet_text(&l->sheet, COLUMN_FOR + 3, COLUMN_FOR + 3, dd_phrase_text(&l->text));
    }
    dd_sheet_apart(&l->sheet);
    dd_bytes_free(&value);
    dd_bytes_free(&place);
}

static void write_row(rulelist *l, const char *holds_for, const dd_rule *r)
{
    dd_bytes *out = l->out;
    const dd_rule *tighter = r->at.line ? dd_rule_looser_than(l->view->plan, r) : NULL;
    dd_rows_text(out, l->patient ? l->patient->key : "");
    dd_bytes_char(out, ',');
    dd_rows_text(out, l->patient ? holds_for : "");
    dd_bytes_char(out, ',');
    dd_bytes_text(out, dd_rule_names[r->id].name);
    dd_bytes_char(out, ',');
    dd_rows_text(out, r->applies);
    dd_bytes_char(out, ',');
    dd_rows_text(out, r->value_text);
    dd_bytes_char(out, ',');
    dd_bytes_text(out, dd_names_severity(r->severity));
    dd_bytes_char(out, ',');
    dd_rows_text(out, r->source);
    dd_bytes_char(out, ',');
    dd_bytes_text(out, dd_names_evidence(r->evidence));
    dd_bytes_char(out, ',');
    dd_rows_text(out, r->note ? r->note : "");
    dd_bytes_char(out, ',');
    add_row_place(out, r);
    dd_bytes_char(out, ',');
    dd_rows_text(out, tighter ? tighter->value_text : "");
    dd_bytes_char(out, '\n');
}

static void give(rulelist *l, const char *holds_for, const dd_rule *r)
{
    if (!l->view->csv)
        set_row(l, holds_for, r);
    else if (r)
        write_row(l, holds_for, r);
}

static void set_name(rulelist *l, size_t id)
{
    if (l->view->csv)
        return;
    dd_phrase_start(&l->text);
    dd_bytes_text(&l->text, dd_rule_names[id].name);
    dd_bytes_text(&l->text, ": ");
    dd_bytes_text(&l->text, dd_rule_names[id].purpose);
    dd_sheet_text(&l->sheet, 0, 2, dd_phrase_text(&l->text));
    dd_sheet_join(&l->sheet);
}

static void set_others(rulelist *l, size_t id)
{
    for (size_t i = 0; !l->view->csv && i < dd_rule_other_count; i++) {
        const dd_rule_other *o = &dd_rule_others[i];
        if (o->id != id)
            continue;
        dd_phrase_start(&l->text);
        dd_bytes_text(&l->text, "others say");
        dd_bytes_text(&l->text, *o->applies ? ", " : "");
        dd_bytes_text(&l->text, o->applies);
        dd_bytes_text(&l->text, ": ");
        dd_bytes_text(&l->text, o->say);
        dd_bytes_text(&l->text, o->evidence == DD_EV_MEMORY ? "; from memory" : "");
        dd_sheet_text(&l->sheet, COLUMN_FOR, COLUMN_FOR + 2, dd_phrase_text(&l->text));
    }
}

/* ---- the whole list ---- */

static void give_all(rulelist *l, bool looser)
{
    const dd_plan *plan = l->view->plan;
    for (size_t id = 0; id < DD_RULE_COUNT; id++) {
        bool named = false;
        for (size_t i = plan->rule_first[id]; i < plan->rule_first[id + 1]; i++) {
            const dd_rule *r = plan->rules_by_id[i];
            if (looser && (r->at.line == 0 || !dd_rule_looser_than(plan, r)))
                continue;
            if (!named)
                set_name(l, id);
            named = true;
            give(l, *r->applies ? r->applies : "everybody", r);
        }
        if (named)
            set_others(l, id);
    }
}

/* ---- what holds for a patient ---- */

/* How finely a rule is to be looked up: some row of it names a kind of line, or a category or fluid. */
typedef enum fine { FOR_PATIENT, FOR_LINES, FOR_ORDERS } fine;

static fine fineness(const dd_plan *plan, size_t id)
{
    fine f = FOR_PATIENT;
    for (size_t i = plan->rule_first[id]; i < plan->rule_first[id + 1]; i++) {
        const dd_rule *r = plan->rules_by_id[i];
        if (r->fluid || r->category_word != DD_RULE_ANY)
            return FOR_ORDERS;
        if (r->kind_word != DD_RULE_ANY)
            f = FOR_LINES;
    }
    return f;
}

static const dd_rule *holding(const rulelist *l, size_t id, fine f, int subject)
{
    const dd_rule_about about = f == FOR_ORDERS ? dd_rule_of_order(l->view->plan, l->patient, subject)
                                                : dd_rule_of_patient(l->patient, f == FOR_LINES ? subject : -1);
    return dd_rule_find(l->view->plan, (dd_rule_id)id, &about);
}

static void give_rule(rulelist *l, size_t id)
{
    const dd_patient *p = l->patient;
    fine f = fineness(l->view->plan, id);
    int count = f == FOR_PATIENT ? 1 : f == FOR_LINES ? p->line_count : p->order_count;
    dd_bytes subjects = DD_BYTES(TEXT_CEILING);
    set_name(l, id);
    for (int i = 0; i < count; i++) {
        const dd_rule *r = holding(l, id, f, i);
        bool told = false;
        for (int k = 0; k < i && !told; k++)
            told = holding(l, id, f, k) == r;
        if (told)
            continue;
        bool all = true;
        dd_phrase_start(&subjects);
        for (int k = 0; k < count; k++) {
            if (f == FOR_PATIENT || holding(l, id, f, k) != r) {
                all = all && f == FOR_PATIENT;
                continue;
            }
            dd_bytes_text(&subjects, subjects.length ? ", " : "");
            dd_bytes_text(&subjects, f == FOR_LINES ? p->lines[k].key : p->orders[k].key);
        }
        give(l, all ? f == FOR_PATIENT ? "the patient" : f == FOR_LINES ? "all lines" : "all orders" : dd_phrase_text(&subjects), r);
    }
    if (count == 0 && !l->view->csv)
        dd_sheet_text(&l->sheet, COLUMN_FOR, COLUMN_FOR, f == FOR_LINES ? "no lines" : "no orders");
    set_others(l, id);
    dd_bytes_free(&subjects);
}

/* ---- the parts that a verb asks for ---- */

dd_status dd_rulelist_rows_head(dd_bytes *out)
{
    dd_bytes_text(out, "patient,for,rule,applies,value,severity,source,evidence,note,row,looser_than\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

static dd_status finish(rulelist *l)
{
    bool failed = l->text.failed || l->out->failed;
    dd_bytes_free(&l->text);
    if (!l->view->csv)
        dd_sheet_pour(&l->sheet);
    dd_status status = dd_sheet_finish(&l->sheet);
    return failed ? DD_NO_MEMORY : status;
}

dd_status dd_rulelist_all(const dd_view *view, bool looser, dd_bytes *out)
{
    rulelist l = {.text = DD_BYTES(TEXT_CEILING), .view = view, .out = out};
    dd_sheet_start(&l.sheet, out, view->width, false, 1);
    give_all(&l, looser);
    if (!view->csv) {
        dd_rulelist_count(dd_phrase_start(&l.text), view->plan);
        dd_sheet_rule(&l.sheet);
        dd_sheet_text(&l.sheet, 0, 2, l.text.length ? dd_phrase_text(&l.text) : "the ward has no rules of its own");
    }
    return finish(&l);
}

dd_status dd_rulelist_patient(const dd_view *view, const dd_patient *patient, dd_bytes *out)
{
    rulelist l = {.text = DD_BYTES(TEXT_CEILING), .view = view, .out = out, .patient = patient};
    dd_sheet_start(&l.sheet, out, view->width, false, 1);
    if (!view->csv)
        dd_list_patient(&l.sheet, patient, &l.text);
    for (size_t id = 0; id < DD_RULE_COUNT; id++)
        give_rule(&l, id);
    if (!view->csv)
        dd_sheet_rule(&l.sheet);
    return finish(&l);
}

void dd_rulelist_count(dd_bytes *out, const dd_plan *plan)
{
    char number[DD_NUMBER_MAX];
    int64_t own = 0, looser = 0;
    for (size_t i = 0; i < plan->rule_count; i++)
        if (plan->rules[i].at.line) {
            own++;
            looser += dd_rule_looser_than(plan, &plan->rules[i]) != NULL;
        }
    if (own == 0)
        return;
    dd_bytes_text(out, "rules.csv: ");
    dd_bytes_add(out, number, dd_number_scaled(number, own, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(out, own == 1 ? " rule of the ward's own, " : " rules of the ward's own, ");
    dd_bytes_add(out, number, dd_number_scaled(number, looser, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(out, " looser than built in");
}
