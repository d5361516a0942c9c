/* fluidlist.c - the catalogue: fluids and what may be added to them, with their sources (dd_fluidlist_*, write.h). */
#include <string.h>

#include "names.h"
#include "pagecode.h"
#include "phrase.h"
#include "rows.h"
#include "sheet.h"
#include "solute.h"

#define TEXT_CEILING ((size_t)64 << 20) /* bytes of the whole list as rows, from which its code is made */
#define COLUMN_CATEGORY 59              /* leaves room for the longest: `diluent only` */

static const char *category(const dd_fluid *f)
{
    return f->diluent_only ? "diluent only" : dd_names_category(f->category);
}

/* The ward's own fluid of the same name goes before a built-in one, which then is in no list. */
static bool hidden(const dd_plan *plan, const dd_fluid *fluid)
{
    for (const dd_fluid *f = plan->fluids; f < fluid && f->at.line; f++)
        if (strcmp(f->key, fluid->key) == 0)
            return true;
    return false;
}

static void add_count(dd_bytes *out, size_t count, const char *what)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)count, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(out, what);
}

/* ---- rows ---- */

static void add_cells(dd_bytes *out, const char *const *texts, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        dd_rows_text(out, texts[i]);
        dd_bytes_char(out, ',');
    }
}

static void fluid_row(dd_bytes *out, const dd_fluid *f)
{
    char number[DD_NUMBER_MAX];
    add_cells(out, (const char *const[]){f->key, f->words, category(f)}, 3);
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_solute_number(out, dd_solute_of(&f->has, i), DD_STYLE_PROGRAM);
        dd_bytes_char(out, ',');
        if (i == DD_MEMBER_GLUCOSE)
            add_cells(out, (const char *const[]){dd_solute_form(f->glucose_form)}, 1);
    }
    dd_ratio hours;
    if (f->hang_s && dd_ratio_make(f->hang_s, 3600, &hours) == DD_OK)
        dd_rows_ratio(out, hours);
    dd_bytes_char(out, ',');
    add_cells(out, (const char *const[]){f->source, dd_names_evidence(f->evidence)}, 2);
    if (f->at.line) {
        dd_bytes_text(out, "fluids.csv:");
        dd_bytes_add(out, number, dd_number_scaled(number, f->at.line, 0, 0, DD_STYLE_PROGRAM));
    } else {
        dd_bytes_text(out, "built in");
    }
    dd_bytes_char(out, '\n');
}

static const char *counts_word(const dd_additive *a)
{
    static const char *const words[] = {"salt", "phosphate", "potassium", "sodium", "glucose"};
    return words[a->counts];
}

static void additive_row(dd_bytes *out, const dd_additive *a)
{
    dd_ratio weight;
    add_cells(out, (const char *const[]){a->key, a->words, counts_word(a), a->grams ? "1 g" : "1 mmol"}, 4);
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_solute_number(out, dd_solute_brings(a, i), DD_STYLE_PROGRAM);
        dd_bytes_char(out, ',');
    }
    if (a->weighs_ug && dd_ratio_make(a->weighs_ug, a->of, &weight) == DD_OK)
        dd_rows_ratio(out, weight);
    dd_bytes_char(out, ',');
    if (a->valence)
        dd_rows_ratio(out, (dd_ratio){a->valence, 1});
    dd_bytes_char(out, ',');
    add_cells(out, (const char *const[]){a->source}, 1);
    dd_bytes_text(out, dd_names_evidence(a->evidence));
    dd_bytes_char(out, '\n');
}

static void all_rows(const dd_plan *plan, bool additives, dd_bytes *out)
{
    dd_bytes_text(out, additives ? "additive,words,counts,amount" : "fluid,words,category");
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_bytes_char(out, ',');
        dd_bytes_text(out, additives && i == DD_MEMBER_OSMOLARITY ? "osmoles" : dd_solute_name(i));
        dd_bytes_text(out, i == DD_MEMBER_GLUCOSE ? "_g" : i == DD_MEMBER_OSMOLARITY ? "_mosm" : "_mmol");
        dd_bytes_text(out, additives ? "" : "_per_l");
        dd_bytes_text(out, i == DD_MEMBER_GLUCOSE && !additives ? ",glucose_form" : "");
    }
    dd_bytes_text(out, additives ? ",weight_mg,charge_meq,source,evidence\n" : ",hang_time_h,source,evidence,row\n");
    for (size_t i = 0; !additives && i < plan->fluid_count; i++)
        if (!hidden(plan, &plan->fluids[i]))
            fluid_row(out, &plan->fluids[i]);
    for (size_t i = 0; additives && i < dd_catalogue_additive_count; i++)
        additive_row(out, &dd_catalogue_additives[i]);
}

dd_status dd_fluidlist_rows(const dd_view *view, bool additives, dd_bytes *out)
{
    all_rows(view->plan, additives, out);
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

/* ---- pages ---- */

typedef struct fluidlist {
    dd_sheet sheet;
    dd_bytes text;
    const dd_view *view;
} fluidlist;

static void set_fluid(fluidlist *l, const dd_fluid *f)
{
    char number[DD_NUMBER_MAX];
    dd_sheet_together(&l->sheet);
    dd_sheet_row(&l->sheet, (const dd_cell[]){{.width = COLUMN_CATEGORY - 1, .after = 2, .text = f->key},
        {.at = COLUMN_CATEGORY, .width = 72 - COLUMN_CATEGORY, .align = DD_RIGHT, .text = category(f)}}, 2);
    if (strcmp(f->words, f->key) != 0)
        dd_sheet_text(&l->sheet, 2, 4, f->words);
    dd_phrase_start(&l->text);
    dd_solute_fluid(&l->text, f);
    if (f->hang_s) {
        dd_bytes_text(&l->text, ", hang time ");
        dd_phrase_span(&l->text, f->hang_s);
    }
    dd_sheet_text(&l->sheet, 2, 4, dd_phrase_text(&l->text));
    dd_bytes_text(dd_phrase_start(&l->text), f->source);
    dd_solute_evidence(&l->text, f->evidence);
    if (f->at.line) {
        dd_bytes_text(&l->text, "; the ward's own, fluids.csv line ");
        dd_bytes_add(&l->text, number, dd_number_scaled(number, f->at.line, 0, 0, DD_STYLE_PERSON));
        for (const dd_fluid *b = f + 1, *end = l->view->plan->fluids + l->view->plan->fluid_count; b < end; b++)
            if (!b->at.line && strcmp(b->key, f->key) == 0)
                dd_bytes_text(&l->text, ", instead of the one built in");
    }
    dd_sheet_text(&l->sheet, 2, 4, dd_phrase_text(&l->text));
    dd_sheet_blank(&l->sheet);
    dd_sheet_apart(&l->sheet);
}

/* The ways in which its amount can be written. */
static void add_ways(dd_bytes *out, const dd_additive *a)
{
    dd_ratio mmol;
    if (a->grams) {
        dd_bytes_text(out, "Amount in g alone.");
        return;
    }
    dd_bytes_text(out, "Amount in mmol");
    if (a->valence > 1)
        dd_bytes_text(out, " or mEq (2 mEq are 1 mmol)");
    else if (a->valence)
        dd_bytes_text(out, " or mEq (the same number)");
    if (a->weighs_ug && dd_ratio_make((dd_int128)a->of * 1000, a->weighs_ug, &mmol) == DD_OK) {
        dd_bytes_text(out, " or g (1 g is ");
        dd_solute_exact(out, mmol, "mmol");
        dd_bytes_char(out, ')');
    }
    dd_bytes_text(out, a->valence || a->weighs_ug ? "." : " alone.");
}

static void set_additive(fluidlist *l, const dd_additive *a)
{
    dd_sheet_together(&l->sheet);
    dd_sheet_text(&l->sheet, 0, 2, a->key);
    dd_sheet_text(&l->sheet, 2, 4, a->words);
    dd_phrase_start(&l->text);
    dd_solute_additive(&l->text, a);
    dd_bytes_text(&l->text, ". ");
    add_ways(&l->text, a);
    dd_sheet_text(&l->sheet, 2, 4, dd_phrase_text(&l->text));
    dd_bytes_text(dd_phrase_start(&l->text), a->source);
    dd_solute_evidence(&l->text, a->evidence);
    dd_sheet_text(&l->sheet, 2, 4, dd_phrase_text(&l->text));
    dd_sheet_blank(&l->sheet);
    dd_sheet_apart(&l->sheet);
}

/* `1 of the ward's own, 95 built in` */
static void add_span(dd_bytes *out, const dd_plan *plan, bool additives)
{
    size_t own = 0, built_in = 0;
    if (additives) {
        add_count(out, dd_catalogue_additive_count, " built in");
        return;
    }
    for (size_t i = 0; i < plan->fluid_count; i++) {
        own += plan->fluids[i].at.line != 0;
        built_in += plan->fluids[i].at.line == 0 && !hidden(plan, &plan->fluids[i]);
    }
    if (own)
        add_count(out, own, " of the ward's own, ");
    add_count(out, built_in, " built in");
}

/* The page code stands for the rows of the list: the same list as rows, whoever asks for it. */
static bool make_code(const dd_plan *plan, bool additives, char code[DD_PAGECODE_SIZE])
{
    dd_bytes rows = DD_BYTES(TEXT_CEILING);
    all_rows(plan, additives, &rows);
    bool fine = !rows.failed;
    if (fine)
        dd_pagecode_of(rows.data, rows.length, code);
    dd_bytes_free(&rows);
    return fine;
}

static dd_status section(fluidlist *l, bool additives, const char *closing)
{
    static const char *const notes[] = {
        "In a litre. A salt or glucose that is not named is 0; one with ? is not known. 1 g of glucose monohydrate holds 0.909 g of anhydrous "
        "glucose. A hang time stands where a source states it. From memory: not read in a source. The label on the bag goes first.",
        "What 1 mmol or 1 g brings into the bag. An additive's own volume is not counted. "
        "From memory: not read in a source. The label on the ampoule goes first."};
    const dd_plan *plan = l->view->plan;
    char code[DD_PAGECODE_SIZE];
    dd_bytes subject = DD_BYTES(TEXT_CEILING), span = DD_BYTES(TEXT_CEILING);
    dd_phrase_capitals(&subject, plan->ward ? plan->ward : "catalogue");
    add_span(&span, plan, additives);
    bool fine = make_code(plan, additives, code) && !subject.failed && !span.failed;
    if (fine) {
        const char *title = additives ? "ADDITIVES" : "FLUIDS";
        dd_sheet_open(&l->sheet, &(dd_heading){.demo = plan->demo, .subject = subject.data, .title = title, .span = span.data, .code = code,
                                               .end = additives ? "additives" : "fluids", .notes = notes[additives]});
        dd_sheet_rule(&l->sheet);
        for (size_t i = 0; !additives && i < plan->fluid_count; i++)
            if (!hidden(plan, &plan->fluids[i]))
                set_fluid(l, &plan->fluids[i]);
        for (size_t i = 0; additives && i < dd_catalogue_additive_count; i++)
            set_additive(l, &dd_catalogue_additives[i]);
        dd_sheet_close(&l->sheet, closing);
    }
    dd_bytes_free(&subject);
    dd_bytes_free(&span);
    return fine ? DD_OK : DD_NO_MEMORY;
}

dd_status dd_fluidlist_pages(const dd_view *view, bool additives, dd_bytes *out)
{
    static const char end[] = "END OF LIST\n";
    fluidlist l = {.text = DD_BYTES(TEXT_CEILING), .view = view};
    dd_sheet_start(&l.sheet, out, view->width, view->pages, view->plan->fluid_count / 8 + 8);
    dd_status status = additives ? DD_OK : section(&l, false, NULL);
    if (status == DD_OK)
        status = section(&l, true, end);
    bool failed = l.text.failed;
    dd_bytes_free(&l.text);
    dd_status finished = dd_sheet_finish(&l.sheet);
    return failed ? DD_NO_MEMORY : status == DD_OK ? finished : status;
}
