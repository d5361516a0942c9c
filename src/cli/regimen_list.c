/* regimen_list.c - which regimens there are, the editions of one side by side, and what is to be known before one is used. */
#include <string.h>

#include "need.h"
#include "regimen_words.h"
#include "sheet.h"
#include "working.h"

#define COLUMN_WHOM 17
#define COLUMN_SAYS 38
#define WORDS_MOST 4000
#define LOAD_MOST_UL INT64_C(500000)
#define FOUR_YEARS_S (INT64_C(4) * 31557600)

/* ---- which there are ---- */

void dd_regimen_names(dd_bytes *out)
{
    dd_sheet sheet;
    dd_bytes text = DD_BYTES(WORDS_MOST);
    dd_sheet_start(&sheet, out, 72, false, 1);
    for (size_t i = 0; i < dd_regimen_count; i++) {
        const dd_regimen *r = &dd_regimens[i];
        dd_bytes_clear(&text);
        dd_bytes_form(&text, "%s; --source", r->what);
        for (size_t k = 0; k < r->edition_count; k++)
            dd_bytes_form(&text, "%s%s", k > 0 ? ", " : " ", r->editions[k].name);
        if (r->free)
            dd_bytes_text(&text, ", or your own");
        dd_sheet_row(&sheet, (const dd_cell[]){{.width = 20, .text = r->name}, {.at = 21, .width = 51, .text = text.data ? text.data : ""}}, 2);
    }
    dd_sheet_pour(&sheet);
    if (dd_sheet_finish(&sheet) != DD_OK || text.failed)
        out->failed = true;
    dd_bytes_free(&text);
}

void dd_regimen_amount(dd_bytes *words, const dd_regimen *regimen, const dd_regimen_stage *stage)
{
    static const char *const units[] = {[DD_OF_ML_KG] = "mL/kg", [DD_OF_ML_KG_H] = "mL/kg/h", [DD_OF_ML] = "mL", [DD_OF_TENS] = "mL/h for each per cent"};
    switch (stage->of) {
    case DD_OF_ML_KG:
    case DD_OF_ML_KG_H:
    case DD_OF_ML:
    case DD_OF_TENS:
        dd_working_number(words, (dd_ratio){stage->num, stage->den}, units[stage->of]);
        return;
    case DD_OF_TABLE:
        dd_bytes_text(words, "the row of the table");
        return;
    case DD_OF_WHOLE:
    case DD_OF_LEFT:
        break;
    }
    if (stage->den == 1)
        dd_bytes_text(words, "all");
    else if (stage->den == 2)
        dd_bytes_text(words, "half");
    else
        dd_bytes_text(words, stage->den == 4 ? "a quarter" : stage->den == 6 ? "a sixth" : stage->den == 3 ? "a third" : stage->den == 5 ? "a fifth" : "a part");
    if (regimen->coefficient == 0 && !(regimen->may & DD_REG_SINCE) && stage->den == 1)
        dd_bytes_text(words, " that is left");
}

/* `30 mL/kg over 1 h, then 70 mL/kg over 5 h: 100 mL/kg over 6 h` */
static void add_stages(dd_bytes *words, const dd_regimen *regimen, const dd_regimen_class *c)
{
    int64_t sum = 0, minutes = 0;
    bool sums = c->stage_count > 1;
    for (size_t i = 0; i < c->stage_count; i++) {
        const dd_regimen_stage *s = &c->stages[i];
        dd_bytes_text(words, i > 0 ? ", then " : "");
        dd_regimen_amount(words, regimen, s);
        if (s->minutes > 0) {
            dd_bytes_text(words, " over ");
            dd_working_span(words, (dd_ratio){s->minutes * INT64_C(60), 1});
        }
        if (*s->words != '\0')
            dd_bytes_form(words, " (%s)", s->words);
        sums = sums && (s->of == DD_OF_ML_KG || s->of == DD_OF_ML) && s->of == c->stages[0].of && s->minutes > 0;
        sum += s->num;
        minutes += s->minutes;
    }
    if (sums) {
        dd_bytes_text(words, ": ");
        dd_working_number(words, (dd_ratio){sum, 1}, c->stages[0].of == DD_OF_ML ? "mL" : "mL/kg");
        dd_bytes_text(words, " in ");
        dd_working_span(words, (dd_ratio){minutes * 60, 1});
    }
    if (c->repeat_most > 0)
        dd_bytes_form(words, "; first stage again: %s", c->repeat);
}

static void part(dd_bytes *words, const char *text)
{
    if (words->length > 0)
        dd_bytes_text(words, "; ");
    dd_bytes_text(words, text);
}

/* What an edition has beside stages. */
static void add_facts(dd_bytes *words, const dd_regimen_edition *e)
{
    if (e->coefficient_low > 0) {
        part(words, "");
        dd_bytes_form(words, e->coefficient_low == e->coefficient_high ? "%d" : "%d to %d", (int)e->coefficient_low, (int)e->coefficient_high);
        dd_bytes_text(words, "\x1fmL/kg for each per cent");
    }
    if (e->area_from > 0) {
        part(words, "");
        dd_bytes_form(words, "from %d\x1f%% of the body on", (int)e->area_from);
    }
    if (e->adds != DD_ADDS_UNSAID)
        part(words, e->adds == DD_ADDS_CHILDREN ? "maintenance added" : e->adds == DD_ADDS_UNDER_4_YEARS ? "maintenance added under 4 years only"
                                                                                                  : "maintenance for all, or under 1 year only: disputed in what it cites");
    if (e->split)
        part(words, "two parts");
    else if (e->spans[0] > 0) {
        part(words, "over ");
        for (size_t i = 0; i < 4 && e->spans[i] > 0; i++) {
            dd_bytes_text(words, i > 0 ? " or " : "");
            dd_working_span(words, (dd_ratio){e->spans[i] * INT64_C(60), 1});
        }
    }
    if (e->says != NULL)
        part(words, e->says);
    if (e->superseded != NULL) {
        part(words, "SUPERSEDED: ");
        dd_bytes_text(words, e->superseded);
    }
    if (e->evidence == DD_EV_MEMORY)
        part(words, "from memory, not read");
}

void dd_regimen_list(const dd_regimen *r, dd_bytes *out)
{
    dd_sheet sheet;
    dd_bytes whom = DD_BYTES(WORDS_MOST), says = DD_BYTES(WORDS_MOST), source = DD_BYTES(WORDS_MOST);
    dd_sheet_start(&sheet, out, 72, false, 1);
    dd_sheet_text(&sheet, 0, 2, r->title);
    dd_sheet_text(&sheet, 0, 2, "These differ. There is no default: name the one that is ordered.");
    dd_sheet_rule(&sheet);
    dd_sheet_row(&sheet, (const dd_cell[]){{.width = COLUMN_WHOM - 1, .text = "--source"}, {.at = COLUMN_WHOM, .width = COLUMN_SAYS - COLUMN_WHOM - 1, .text = "for"},
        {.at = COLUMN_SAYS, .width = 72 - COLUMN_SAYS, .text = "says"}}, 3);
    dd_sheet_rule(&sheet);
    for (size_t i = 0; i < r->edition_count; i++) {
        const dd_regimen_edition *e = &r->editions[i];
        for (size_t k = 0; k < e->class_count; k++) {
            const dd_regimen_class *c = &e->classes[k];
            dd_bytes_clear(&whom);
            dd_bytes_clear(&says);
            dd_bytes_text(&whom, c->whom);
            if (*c->course != '\0')
                dd_bytes_form(&whom, "; --course %s", c->course);
            add_stages(&says, r, c);
            if (k == 0)
                add_facts(&says, e);
            dd_sheet_row(&sheet, (const dd_cell[]){{.width = COLUMN_WHOM - 1, .text = k == 0 ? e->name : ""},
                {.at = COLUMN_WHOM, .width = COLUMN_SAYS - COLUMN_WHOM - 1, .text = whom.data ? whom.data : ""},
                {.at = COLUMN_SAYS, .width = 72 - COLUMN_SAYS, .text = says.data ? says.data : ""}}, 3);
        }
    }
    dd_sheet_rule(&sheet);
    for (size_t i = 0; i < r->edition_count; i++) {
        dd_bytes_clear(&source);
        dd_bytes_form(&source, "%s: %s", r->editions[i].name, r->editions[i].source);
        dd_sheet_text(&sheet, 0, 2, source.data ? source.data : "");
    }
    if (r->free)
        dd_sheet_text(&sheet, 0, 2, "Another source may be named too; nothing of it can then be held against what it says.");
    dd_bytes_clear(&source);
    dd_bytes_form(&source, "Who decides: %s", r->decides);
    dd_sheet_text(&sheet, 0, 2, source.data ? source.data : "");
    dd_sheet_text(&sheet, 0, 2, "It doses nobody and replaces no order, label, local policy or second check.");
    dd_sheet_text(&sheet, 0, 0, "END OF LIST");
    dd_sheet_pour(&sheet);
    if (dd_sheet_finish(&sheet) != DD_OK || whom.failed || says.failed || source.failed)
        out->failed = true;
    dd_bytes_free(&whom);
    dd_bytes_free(&says);
    dd_bytes_free(&source);
}

/* ---- remarks ---- */

typedef struct saying { const dd_regimen_ask *ask; dd_regimen_say *say; void *to; dd_bytes words; } saying;

static void said(saying *s, const char *label)
{
    s->say(s->to, label, s->words.data ? s->words.data : "");
    dd_bytes_clear(&s->words);
}

static void of_burns(saying *s)
{
    const dd_regimen_ask *k = s->ask;
    const dd_regimen_edition *e = k->in.edition;
    if (e->area_from > 0 && dd_ratio_compare(k->in.area, (dd_ratio){e->area_from, 1}) < 0) {
        dd_bytes_form(&s->words, "%s begins at %d\x1f%% of the body; here ", e->name, (int)e->area_from);
        dd_working_number(&s->words, k->in.area, "%");
        said(s, "WATCH");
    }
    bool none = k->in.need == DD_REGIMEN_NONE, young = k->age_s != DD_UNKNOWN && k->age_s < FOUR_YEARS_S;
    if (e->adds == DD_ADDS_CHILDREN && none) {
        dd_bytes_form(&s->words, "%s adds maintenance in children; none was asked for", e->name);
        said(s, "CLARIFY");
    } else if (e->adds == DD_ADDS_UNDER_4_YEARS && (k->age_s == DD_UNKNOWN || young == none)) {
        dd_bytes_form(&s->words, "%s adds maintenance under 4 years and not above%s", e->name, k->age_s == DD_UNKNOWN ? "; the age was not said" : none ? "; none was asked for" : "; some was asked for");
        said(s, "CLARIFY");
    } else if (e->adds == DD_ADDS_DISPUTED) {
        dd_bytes_text(&s->words, "maintenance in all children, or under 1 year only: what it cites disagrees");
        said(s, "NOTE");
    }
}

/* Fluid of a child with ketoacidosis against the usual daily need. */
static void of_ketoacidosis(saying *s)
{
    const dd_regimen_ask *k = s->ask;
    dd_ratio day, share;
    for (size_t i = 0; i < k->result.count; i++) {
        const dd_regimen_step *step = &k->result.steps[i];
        if (step->stage->of == DD_OF_ML_KG && dd_ratio_compare(step->volume, (dd_ratio){LOAD_MOST_UL, 1}) > 0) {
            dd_bytes_form(&s->words, "stage\x1f%d is more than 500\x1fmL, the most in one load of another source (Acute and Critical Care 2023)", (int)i + 1);
            said(s, "WATCH");
        }
        if (step->stage->of == DD_OF_LEFT && dd_need_maintenance(k->in.weight_mg, &day) == DD_OK && dd_ratio_times(step->rate, (dd_ratio){24, 1}, &share) == DD_OK &&
            dd_ratio_over(share, day, &share) == DD_OK && dd_ratio_compare(share, (dd_ratio){3, 2}) > 0) {
            dd_bytes_form(&s->words, "stage\x1f%d runs at ", (int)i + 1);
            dd_working_number(&s->words, share, "times");
            dd_bytes_text(&s->words, " the usual daily need by weight; rarely above 1.5 to 2 (consensus of ADA and ESPE, no year)");
            said(s, "WATCH");
        }
    }
}

bool dd_regimen_remarks(const dd_regimen_ask *ask, dd_regimen_say *say, void *to)
{
    saying s = {.ask = ask, .say = say, .to = to, .words = DD_BYTES(WORDS_MOST)};
    const dd_regimen_edition *e = ask->in.edition;
    if (e != NULL && e->superseded != NULL) {
        dd_bytes_form(&s.words, "%s is out of date: %s. Kept to read old charts by", e->name, e->superseded);
        said(&s, "SUPERSEDED");
    }
    for (size_t i = 0; i < ask->result.count; i++)
        if (strstr(ask->result.steps[i].stage->words, "from memory") != NULL) {
            dd_bytes_form(&s.words, "stage\x1f%d: %s", (int)i + 1, ask->result.steps[i].stage->words);
            said(&s, "CLARIFY");
        }
    if (e != NULL && ask->in.regimen->needs & DD_REG_AREA)
        of_burns(&s);
    if (ask->in.regimen->needs & DD_REG_PERCENT)
        of_ketoacidosis(&s);
    bool said_all = !s.words.failed;
    dd_bytes_free(&s.words);
    return said_all;
}
