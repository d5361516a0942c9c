#include "scanned.h"

#include <stdio.h>
#include <string.h>

#include "list.h"
#include "phrase.h"
#include "rows.h"
#include "sheet.h"

#define TEXT_CEILING ((size_t)1 << 20)

/* ---- what does not fit ---- */

static void add_line(dd_bytes *out, const dd_stock *row)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_text(out, "bags.csv line ");
    dd_bytes_add(out, number, dd_number_scaled(number, row->line_of_file, 0, 0, DD_STYLE_PROGRAM));
}

static void add_whose(dd_bytes *out, const dd_patient *p, const dd_stock *row)
{
    dd_bytes_text(out, ": ");
    dd_bytes_text(out, dd_phrase_bed(p));
    dd_bytes_text(out, ", ");
    dd_phrase_what(out, &p->orders[row->order]);
    dd_bytes_text(out, ", ");
    add_line(out, row);
}

/* Fault number i as a sentence; nothing where it does not hold. One more than the list: a bag that is none of the order's. */
static void add_fault(dd_bytes *out, const dd_scanned *s, int i)
{
    const dd_hold *h = s->hold;
    const dd_plan *plan = s->timeline->plan;
    if (i == DD_STOCK_FAULTS) {
        if (h->strange)
            dd_bytes_text(out, h->rows == 1 ? "it is not the bag that bags.csv has for this order" : "it is none of the bags that bags.csv has for this order");
        return;
    }
    if (!h->is[i])
        return;
    switch ((dd_stock_fault)i) {
    case DD_STOCK_EXPIRED:
        if (dd_stock_expires(&h->stock) <= s->timeline->now) {
            dd_bytes_text(out, "it has expired: ");
            dd_phrase_expiry(out, plan, dd_stock_expires(&h->stock));
            return;
        }
        dd_bytes_text(out, dd_stock_words(DD_STOCK_EXPIRED));
        dd_bytes_text(out, ": ");
        dd_phrase_expiry(out, plan, dd_stock_expires(&h->stock));
        return;
    case DD_STOCK_LOT: dd_bytes_text(out, "its lot is not the one in bags.csv"); return;
    case DD_STOCK_DATE: dd_bytes_text(out, "its date is not the one in bags.csv"); return;
    case DD_STOCK_VOLUME: dd_bytes_text(out, "its volume is not the one in bags.csv"); return;
    case DD_STOCK_BAG:
        dd_bytes_text(out, dd_stock_words(DD_STOCK_BAG));
        dd_bytes_text(out, ": ");
        dd_phrase_ul(out, dd_stock_volume(&h->stock));
        dd_bytes_text(out, " instead of ");
        dd_phrase_ul(out, s->timeline->patient->orders[s->order].bag_ul);
        return;
    case DD_STOCK_FLUID:
        dd_bytes_text(out, "bags.csv has this trade item number for another fluid");
        add_whose(out, h->fluid_of, h->fluid_row);
        return;
    case DD_STOCK_TWICE:
        dd_bytes_text(out, "bags.csv has this very bag in another row");
        add_whose(out, h->twice_of, h->twice_row);
        return;
    case DD_STOCK_FAULTS: return;
    }
}

/* ---- rows ---- */

static void row(dd_bytes *out, const char *quantity, const char *value, const char *unit)
{
    dd_bytes_form(out, "%s,", quantity);
    dd_rows_text(out, value);
    dd_bytes_form(out, ",%s\n", unit);
}

static void volume_row(dd_bytes *out, const char *quantity, int64_t ul)
{
    char number[DD_NUMBER_MAX];
    dd_number_scaled(number, ul, 3, 3, DD_STYLE_PROGRAM);
    row(out, quantity, number, "mL");
}

static void time_row(dd_bytes *out, const dd_plan *plan, const char *quantity, dd_moment t)
{
    dd_bytes_form(out, "%s,", quantity);
    dd_rows_time(out, plan, t);
    dd_bytes_text(out, ",time\n");
}

/* The names of what is most often in a code; anything else goes by its identifier, ai-240. */
static const char *name_of(const char *ai)
{
    static const struct { const char *ai, *name; } names[] = {{"01", "gtin"}, {"10", "lot"}, {"11", "produced"}, {"13", "packed"}, {"15", "best-before"},
        {"16", "sell-by"}, {"17", "expires"}, {"21", "serial"}, {"30", "count"}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(names[i].ai, ai) == 0)
            return names[i].name;
    return NULL;
}

static bool is_volume(const char *ai)
{
    return memcmp(ai, "315", 3) == 0 || memcmp(ai, "316", 3) == 0;
}

static void part_row(dd_bytes *out, const dd_scanned *s, const dd_gs1_part *part)
{
    char other[16], date[16];
    const char *data = s->code->text + part->at, *name = name_of(part->ai);
    dd_civil day;
    if (strcmp(part->ai, "7003") == 0) {
        time_row(out, s->timeline->plan, "expires", dd_gs1_clock(s->code, s->timeline->plan->zone));
    } else if (is_volume(part->ai) && dd_gs1_volume(s->code) != DD_UNKNOWN) {
        volume_row(out, "volume", dd_gs1_volume(s->code));
    } else if (name && dd_gs1_date(s->code, part, &day)) {
        snprintf(date, sizeof date, "%04d-%02d-%02d", day.year % 10000, day.month % 100, day.day % 100);
        row(out, name, date, "date");
    } else {
        snprintf(other, sizeof other, "ai-%s", part->ai);
        row(out, name ? name : other, data, "");
    }
}

dd_status dd_scanned_rows(const dd_scanned *s, dd_bytes *out)
{
    const dd_hold *h = s->hold;
    const dd_plan *plan = s->timeline->plan;
    char number[DD_NUMBER_MAX];
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_bytes_text(out, "quantity,value,unit\n");
    for (size_t i = 0; i < s->code->count; i++)
        part_row(out, s, &s->code->parts[i]);
    volume_row(out, "ordered-bag", s->timeline->patient->orders[s->order].bag_ul);
    if (h->row) {
        dd_number_scaled(number, h->row->line_of_file, 0, 0, DD_STYLE_PROGRAM);
        row(out, "bags-line", number, "");
    }
    if (h->bag) {
        dd_number_scaled(number, h->bag->number, 0, 0, DD_STYLE_PROGRAM);
        row(out, "bag", number, "");
        if (h->bag->up != DD_NEVER)
            time_row(out, plan, "hangs-from", h->bag->up);
        time_row(out, plan, "hangs-to", h->until);
    }
    for (int i = 0; i <= DD_STOCK_FAULTS; i++) {
        add_fault(dd_phrase_start(&text), s, i);
        if (text.length)
            row(out, "clarify", dd_phrase_text(&text), "");
    }
    bool failed = text.failed || out->failed;
    dd_bytes_free(&text);
    return failed ? DD_NO_MEMORY : DD_OK;
}

/* ---- text ---- */

#define COLUMN_WHAT 11

static void labelled(dd_sheet *sheet, const char *label, const dd_bytes *text)
{
    dd_sheet_row(sheet, (const dd_cell[]){{.at = 1, .width = COLUMN_WHAT - 2, .text = label}, {.at = COLUMN_WHAT, .text = dd_phrase_text(text)}}, 2);
}

/* A volume or date of a code as people read it, else as it stands. */
static void add_data(dd_bytes *out, const dd_scanned *s, const dd_gs1_part *part)
{
    dd_civil day;
    char date[16];
    if (is_volume(part->ai) && dd_gs1_volume(s->code) != DD_UNKNOWN) {
        dd_bytes_text(out, "volume ");
        dd_phrase_ul(out, dd_gs1_volume(s->code));
        return;
    }
    dd_bytes_text(out, dd_gs1_words(part));
    dd_bytes_char(out, ' ');
    if (strcmp(part->ai, "7003") == 0) {
        dd_phrase_expiry(out, s->timeline->plan, dd_gs1_clock(s->code, s->timeline->plan->zone));
    } else if (strcmp(part->ai, "8008") != 0 && dd_gs1_date(s->code, part, &day)) {
        snprintf(date, sizeof date, "%04d-%02d-%02d", day.year % 10000, day.month % 100, day.day % 100);
        dd_bytes_text(out, date);
    } else {
        dd_bytes_text(out, s->code->text + part->at);
    }
}

static void set_row(dd_sheet *sheet, const dd_scanned *s, dd_bytes *text)
{
    const dd_stock *r = s->hold->row;
    dd_phrase_start(text);
    if (!r) {
        dd_bytes_text(text, s->hold->rows ? "other bags for this order" : "no row for this order: nothing to hold lot and date against");
        labelled(sheet, "bags.csv", text);
        return;
    }
    char number[DD_NUMBER_MAX];
    dd_bytes_text(text, "line ");
    dd_bytes_add(text, number, dd_number_scaled(number, r->line_of_file, 0, 0, DD_STYLE_PERSON));
    if (r->lot || r->code_lot) {
        dd_bytes_text(text, ", lot ");
        dd_bytes_text(text, r->lot ? r->lot : r->code_lot);
    }
    if (dd_stock_expires(r) != DD_NEVER) {
        dd_bytes_text(text, ", expires ");
        dd_phrase_expiry(text, s->timeline->plan, dd_stock_expires(r));
    }
    if (dd_stock_volume(r) != DD_UNKNOWN) {
        dd_bytes_text(text, ", ");
        dd_phrase_ul(text, dd_stock_volume(r));
    }
    labelled(sheet, "bags.csv", text);
}

static void set_hang(dd_sheet *sheet, const dd_scanned *s, dd_bytes *text)
{
    const dd_hold *h = s->hold;
    char number[DD_NUMBER_MAX];
    dd_phrase_start(text);
    if (!h->bag) {
        dd_bytes_text(text, "the plan hangs no further bag of this order; its date is held against now");
        labelled(sheet, "hangs", text);
        return;
    }
    dd_bytes_text(text, "as bag ");
    dd_bytes_add(text, number, dd_number_scaled(number, h->bag->number, 0, 0, DD_STYLE_PERSON));
    if (h->bag->up != DD_NEVER) {
        dd_bytes_text(text, ", from ");
        dd_phrase_time(text, s->timeline->plan, h->bag->up, DD_MOMENT_DATE_CLOCK);
    }
    dd_bytes_text(text, h->until == s->timeline->plan->end ? " to the plan's end, " : " to ");
    dd_phrase_time(text, s->timeline->plan, h->until, DD_MOMENT_DATE_CLOCK);
    labelled(sheet, "hangs", text);
}

static void set_order(dd_sheet *sheet, const dd_scanned *s, dd_bytes *text)
{
    const dd_patient *p = s->timeline->patient;
    const dd_order *o = &p->orders[s->order];
    dd_phrase_start(text);
    dd_bytes_text(text, o->key);
    dd_bytes_text(text, " on ");
    dd_bytes_text(text, p->lines[o->line].key);
    dd_bytes_text(text, ": ");
    dd_bytes_text(text, o->mixture->words);
    dd_bytes_text(text, ", bags of ");
    dd_phrase_ul(text, o->bag_ul);
    labelled(sheet, "order", text);
}

dd_status dd_scanned_list(const dd_view *view, const dd_scanned *s, dd_bytes *out)
{
    dd_sheet sheet;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&sheet, out, view->width, false, 1);
    dd_list_patient(&sheet, s->timeline->patient, &text);
    set_order(&sheet, s, &text);
    for (size_t i = 0; i < s->code->count; i++) {
        add_data(dd_phrase_start(&text), s, &s->code->parts[i]);
        labelled(&sheet, i ? "" : "the code", &text);
    }
    set_row(&sheet, s, &text);
    set_hang(&sheet, s, &text);
    for (int i = 0; i <= DD_STOCK_FAULTS; i++) {
        add_fault(dd_phrase_start(&text), s, i);
        if (text.length)
            labelled(&sheet, "CLARIFY", &text);
    }
    if (!dd_hold_fault(s->hold))
        dd_sheet_text(&sheet, 1, 3, "Nothing of this contradicts the order.");
    dd_phrase_start(&text);
    dd_bytes_text(&text, "Not looked for: ");
    if (s->hold->no_expiry)
        dd_bytes_text(&text, "expiry, which neither the code nor bags.csv says; ");
    if (dd_stock_volume(&s->hold->stock) == DD_UNKNOWN)
        dd_bytes_text(&text, "volume, which neither says; ");
    dd_bytes_text(&text, "what is in the bag, which no code says. Read the label.");
    dd_sheet_text(&sheet, 1, 3, dd_phrase_text(&text));
    dd_sheet_rule(&sheet);
    bool failed = text.failed;
    dd_bytes_free(&text);
    dd_sheet_pour(&sheet);
    dd_status status = dd_sheet_finish(&sheet);
    return failed ? DD_NO_MEMORY : status;
}
