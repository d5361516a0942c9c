#include "mixlist.h"

#include <string.h>

#include "grid.h"
#include "names.h"
#include "phrase.h"
#include "solute.h"

#define TEXT_CEILING ((size_t)1 << 20)

/* ---- rows ---- */

static void rows_of(dd_bytes *out, const dd_ratio values[DD_MEMBERS], const char *per)
{
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_bytes_text(out, dd_solute_name(i));
        dd_bytes_char(out, ',');
        dd_solute_number(out, dd_solute_scaled(values[i]), DD_STYLE_PROGRAM);
        dd_bytes_char(out, ',');
        dd_bytes_text(out, dd_solute_unit(i));
        dd_bytes_text(out, per);
        dd_bytes_char(out, '\n');
    }
}

dd_status dd_mixlist_rows(const dd_mix *mix, dd_bytes *out)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_text(out, "quantity,value,unit\n");
    rows_of(out, mix->litre, "/L");
    if (mix->bag_ul != DD_UNKNOWN) {
        dd_bytes_text(out, "bag,");
        dd_bytes_add(out, number, dd_number_scaled(number, mix->bag_ul, 3, 3, DD_STYLE_PROGRAM));
        dd_bytes_text(out, ",mL\n");
        rows_of(out, mix->bag, "");
    }
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

/* ---- text ---- */

typedef struct mixlist {
    dd_sheet sheet;
    dd_bytes text;
    const dd_mix *mix;
} mixlist;

/* `kcl 20 mmol/L`, `kcl 10 mmol per bag`: as it was asked for. */
static void add_part(dd_bytes *out, const dd_mix_part *p)
{
    char amount[160];
    dd_bytes_text(out, p->key);
    if (p->amount.unit == DD_UNIT_NONE)
        return;
    size_t length = dd_number_quantity(amount, sizeof amount, p->amount);
    dd_bytes_char(out, ' ');
    dd_bytes_add(out, amount, length < sizeof amount ? length : sizeof amount - 1);
    dd_bytes_text(out, p->per_bag ? " per bag" : "");
}

static void add_cell(mixlist *l, dd_grid *g, dd_ratio value, bool *rounded)
{
    dd_ratio shown = dd_solute_scaled(value);
    *rounded = *rounded || (shown.den && 1000 % shown.den != 0);
    dd_solute_number(dd_phrase_start(&l->text), shown, DD_STYLE_PERSON);
    dd_grid_cell(g, dd_phrase_text(&l->text));
}

static size_t counted(const dd_mix *mix)
{
    size_t n = 0;
    for (size_t k = 0; k < mix->part_count; k++)
        n += mix->parts[k].counted;
    return n;
}

/* Nothing of it is in any part: it needs no row. */
static bool absent(const dd_mix *mix, size_t member)
{
    for (size_t k = 0; k < mix->part_count; k++)
        if (mix->parts[k].counted && mix->parts[k].brings[member].num != 0)
            return false;
    return member != DD_MEMBER_OSMOLARITY && mix->litre[member].den != 0 && mix->litre[member].num == 0;
}

/* The heads of the columns, NUL-terminated one behind the other; how many. */
static size_t add_heads(dd_bytes *heads, const dd_mix *mix, bool parts)
{
    size_t count = 2;
    dd_bytes_add(heads, "\0in 1 L", sizeof "\0in 1 L");
    if (mix->bag_ul != DD_UNKNOWN) {
        dd_bytes_text(heads, "in ");
        dd_phrase_ul(heads, mix->bag_ul);
        dd_bytes_char(heads, '\0');
        count++;
    }
    for (size_t k = 0; parts && k < mix->part_count && count < DD_GRID_COLUMNS; k++)
        if (mix->parts[k].counted) {
            add_part(heads, &mix->parts[k]);
            dd_bytes_char(heads, '\0');
            count++;
        }
    return count;
}

/* One row: what a litre and the bag hold, then what each part brings. */
static void add_row(mixlist *l, dd_grid *g, size_t member, bool parts, bool *rounded)
{
    const dd_mix *mix = l->mix;
    dd_bytes_text(dd_phrase_start(&l->text), dd_solute_name(member));
    dd_bytes_text(&l->text, ", ");
    dd_bytes_text(&l->text, dd_solute_unit(member));
    dd_grid_cell(g, dd_phrase_text(&l->text));
    add_cell(l, g, mix->litre[member], rounded);
    if (mix->bag_ul != DD_UNKNOWN)
        add_cell(l, g, mix->bag[member], rounded);
    for (size_t k = 0; parts && k < mix->part_count; k++)
        if (mix->parts[k].counted)
            add_cell(l, g, mix->parts[k].brings[member], rounded);
}

static void set_grid(mixlist *l)
{
    const dd_mix *mix = l->mix;
    dd_column columns[DD_GRID_COLUMNS];
    dd_bytes heads = DD_BYTES(TEXT_CEILING), none = DD_BYTES(TEXT_CEILING);
    bool parts = counted(mix) > 1, rounded = false;
    size_t count = add_heads(&heads, mix, parts), totals = mix->bag_ul == DD_UNKNOWN ? 2 : 3;
    dd_grid grid;
    dd_bytes_text(&none, "");
    if (!heads.failed && !none.failed) {
        const char *head = heads.data;
        for (size_t c = 0; c < count; c++, head += strlen(head) + 1)
            columns[c] = (dd_column){.head = head, .align = c ? DD_POINT : DD_LEFT, .bar = c == totals};
        dd_grid_start(&grid, columns, count);
        for (size_t i = 0; i < DD_MEMBERS; i++) {
            if (absent(mix, i)) {
                dd_bytes_text(&none, none.length ? ", " : "none of: ");
                dd_bytes_text(&none, dd_solute_name(i));
            } else {
                add_row(l, &grid, i, parts, &rounded);
            }
        }
        dd_grid_write(&grid, &l->sheet, 0);
        if (none.length)
            dd_sheet_text(&l->sheet, 0, 2, dd_phrase_text(&none));
        if (parts)
            dd_sheet_text(&l->sheet, 0, 2, "Behind the bar: what each part brings to 1 L.");
        if (rounded)
            dd_sheet_text(&l->sheet, 0, 2, "Each figure is rounded by itself, at the third decimal.");
    }
    l->text.failed = l->text.failed || heads.failed || none.failed;
    dd_bytes_free(&heads);
    dd_bytes_free(&none);
}

static void set_fluid(mixlist *l, const dd_fluid *f)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_text(&l->text, f->words);
    dd_bytes_text(&l->text, "; ");
    if (f->at.line) {
        dd_bytes_text(&l->text, "the ward's own, fluids.csv line ");
        dd_bytes_add(&l->text, number, dd_number_scaled(number, f->at.line, 0, 0, DD_STYLE_PERSON));
    } else {
        dd_bytes_text(&l->text, "built in");
    }
    if (f->has.glucose > 0) {
        dd_bytes_text(&l->text, f->glucose_form == DD_GLUCOSE_NOT_STATED ? "; form of its glucose " : "; glucose weighed as ");
        dd_bytes_text(&l->text, dd_solute_form(f->glucose_form));
    }
    dd_bytes_text(&l->text, "; ");
    dd_bytes_text(&l->text, f->source);
    dd_solute_evidence(&l->text, f->evidence);
}

/* Grams and mEq become mmol; what that goes by. */
static void add_conversion(dd_bytes *out, const dd_mix_part *p)
{
    dd_ratio each;
    const dd_additive *a = p->additive;
    dd_dimension d = dd_quantity_dimension(p->amount.unit);
    if (a->grams) {
        dd_bytes_text(out, "; glucose weighed as anhydrous");
    } else if (d == DD_DIM_MASS && dd_ratio_make(a->weighs_ug, a->of, &each) == DD_OK) {
        dd_bytes_text(out, "; 1 mmol weighs ");
        dd_solute_exact(out, each, "mg");
    } else if (d == DD_DIM_CHARGE) {
        dd_bytes_text(out, "; 1 mmol is ");
        dd_solute_exact(out, (dd_ratio){a->valence, 1}, "mEq");
    }
}

static void set_added(mixlist *l, const dd_mix_part *p)
{
    if (p->additive) {
        dd_bytes_text(&l->text, p->words);
        add_conversion(&l->text, p);
        dd_bytes_text(&l->text, "; ");
        dd_solute_additive(&l->text, p->additive);
        dd_bytes_text(&l->text, "; ");
        dd_bytes_text(&l->text, p->additive->source);
        dd_solute_evidence(&l->text, p->additive->evidence);
        return;
    }
    dd_bytes_text(&l->text, p->known ? "a drug" : "no fluid, additive or drug of the lists");
    const char *near = p->hint ? strstr(p->hint, " (") : NULL; /* behind the name, which stands there already */
    if (near) {
        dd_bytes_text(&l->text, near);
    }
    dd_bytes_text(&l->text, p->counted ? "; what it brings is not known, so what the bag holds is not" : "; what salts it brings is not known and not counted");
}

/* Grams of two forms make no sum that anybody could use without knowing it. */
static bool two_forms(const dd_mix *mix)
{
    bool fluid = false, added = false;
    for (size_t k = 0; k < mix->part_count; k++) {
        const dd_mix_part *p = &mix->parts[k];
        bool some = p->counted && p->brings[DD_MEMBER_GLUCOSE].num != 0;
        fluid = fluid || (some && p->fluid && p->fluid->glucose_form != DD_GLUCOSE_ANHYDROUS);
        added = added || (some && p->additive);
    }
    return fluid && added;
}

static void set_working(mixlist *l)
{
    const dd_mix *mix = l->mix;
    bool added = false;
    for (size_t k = 0; k < mix->part_count; k++) {
        const dd_mix_part *p = &mix->parts[k];
        add_part(dd_phrase_start(&l->text), p);
        dd_bytes_text(&l->text, ": ");
        if (p->fluid)
            set_fluid(l, p->fluid);
        else
            set_added(l, p);
        dd_sheet_text(&l->sheet, 0, 2, dd_phrase_text(&l->text));
        added = added || !p->fluid;
    }
    if (mix->mixture->fluid < 0)
        dd_sheet_text(&l->sheet, 0, 2, "No fluid carries it, so nothing is known of what the bag holds.");
    if (two_forms(mix))
        dd_sheet_text(&l->sheet, 0, 2, "The glucose is weighed in two forms, which are added as they are and not converted: 1 g of monohydrate holds 0.909 g of anhydrous.");
    if (added)
        dd_sheet_text(&l->sheet, 0, 2, "What is added takes up room too; its own volume is not counted.");
    dd_sheet_text(&l->sheet, 0, 2, "Worked out from what was typed; it doses nobody. Hold it against the order, the label and a second check.");
}

dd_status dd_mixlist_text(const dd_view *view, const dd_mix *mix, dd_bytes *out)
{
    mixlist l = {.text = DD_BYTES(TEXT_CEILING), .mix = mix};
    dd_sheet_start(&l.sheet, out, view->width, false, 1);
    if (view->plan->demo)
        dd_sheet_text(&l.sheet, 0, 2, "DEMO, NOT FOR CARE");
    dd_sheet_text(&l.sheet, 0, 2, mix->mixture->words);
    dd_sheet_rule(&l.sheet);
    set_grid(&l);
    dd_sheet_rule(&l.sheet);
    set_working(&l);
    dd_sheet_pour(&l.sheet);
    bool failed = l.text.failed;
    dd_bytes_free(&l.text);
    dd_status status = dd_sheet_finish(&l.sheet);
    return failed ? DD_NO_MEMORY : status;
}
