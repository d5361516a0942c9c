/* gather.c - `gather`: what to fetch, trip by trip and for whom, then how much of each in all. */
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "item.h"
#include "merge.h"
#include "phrase.h"
#include "rows.h"
#include "trips.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DAY_S INT64_C(86400)

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

/* The same thing for all of the ward. */
typedef struct sum {
    const char *what;
    size_t count;
    uint8_t kind;
} sum;

typedef struct gather {
    dd_front front;
    const dd_wanted *items;
    size_t count;
    sum *sums;
    size_t sum_count, sum_room, labels;
} gather;

/* ---- trip by trip ---- */

/* A line with a box to tick, of what stands in front.text. */
static void set_line(gather *g, const char *bed, const char *time, bool box)
{
    dd_front *f = &g->front;
    int text = dd_item_text_column(f), tick = f->sheet->width - 3;
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = f->bed - 1, .after = 1, .text = bed}, {.at = f->bed, .width = text - f->bed - 1, .text = time},
        {.at = text, .width = tick - text - 1, .after = 1, .text = dd_phrase_text(f->text)}, {.at = tick, .text = box ? "[ ]" : NULL}}, 4);
}

/* Where it goes, and whether it gets a label. */
static void add_where(dd_bytes *out, const dd_timeline *t, const dd_fetch *item)
{
    if (item->kind == DD_FETCH_FLUSH)
        return;
    dd_bytes_text(out, "; ");
    dd_bytes_text(out, t->patient->lines[item->line].key);
    dd_bytes_text(out, item->label ? "; label" : "");
}

static void set_item(gather *g, const dd_wanted *w)
{
    dd_front *f = &g->front;
    const dd_timeline *t = f->view->timelines[w->patient];
    dd_bytes time = DD_BYTES((size_t)256);
    char number[DD_NUMBER_MAX];
    dd_phrase_start(f->text);
    if (w->item->kind == DD_FETCH_BAG && w->item->bag > 0) {
        dd_number_scaled(number, w->item->bag, 0, 0, DD_STYLE_PERSON);
        dd_bytes_form(f->text, "bag %s: ", number);
    }
    dd_bytes_text(f->text, w->item->kind == DD_FETCH_SET ? "new " : "");
    dd_fetch_what(f->text, t, w->item);
    add_where(f->text, t, w->item);
    if (w->item->first)
        dd_phrase_time(&time, f->view->plan, w->item->needed, f->long_span ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    set_line(g, w->item->first ? dd_phrase_bed(t->patient) : NULL, dd_phrase_text(&time), true);
    if (time.failed)
        f->status = DD_NO_MEMORY;
    dd_bytes_free(&time);
    dd_fetch_more(dd_phrase_start(f->text), t, w->item);
    if (f->text->length)
        set_line(g, NULL, NULL, false);
    if (dd_fetch_shows_allergy(t, w->item)) {
        dd_phrase_allergy(dd_phrase_start(f->text), t->patient);
        set_line(g, NULL, NULL, false);
    }
}

static void set_trips(gather *g)
{
    dd_front *f = &g->front;
    for (size_t i = 0, next; i < g->count && f->status == DD_OK; i = next) {
        dd_trips_when(dd_phrase_start(f->text), f->view, &g->items[i]);
        dd_sheet_text(f->sheet, 0, 2, dd_phrase_text(f->text));
        dd_sheet_join(f->sheet);
        next = dd_trips_end(f->view, g->items, g->count, i);
        for (size_t k = i; k < next; k++) {
            dd_sheet_together(f->sheet);
            set_item(g, &g->items[k]);
            dd_sheet_apart(f->sheet);
        }
        dd_sheet_rule(f->sheet);
    }
    if (g->count == 0) {
        dd_sheet_text(f->sheet, 0, 0, "nothing to fetch for this span");
        dd_sheet_rule(f->sheet);
    }
}

/* ---- in all ---- */

static int by_what(const void *left, const void *right)
{
    const sum *a = left, *b = right;
    int c = MORE(a->kind, b->kind);
    return c ? c : strcmp(a->what, b->what);
}

static dd_status count_all(gather *g)
{
    dd_front *f = &g->front;
    for (size_t i = 0; i < g->count; i++) {
        const dd_wanted *w = &g->items[i];
        dd_fetch_what(dd_phrase_start(f->text), f->view->timelines[w->patient], w->item);
        const char *what = dd_arena_text(f->arena, dd_phrase_text(f->text), f->text->length);
        if (!what || !dd_arena_room(f->arena, &g->sums, &g->sum_room, g->sum_count, sizeof *g->sums))
            return DD_NO_MEMORY;
        g->sums[g->sum_count++] = (sum){what, 1, w->item->kind};
        g->labels += w->item->label;
    }
    if (g->sum_count > 1)
        qsort(g->sums, g->sum_count, sizeof *g->sums, by_what);
    size_t kept = 0;
    for (size_t i = 0; i < g->sum_count; i++) {
        if (kept && by_what(&g->sums[kept - 1], &g->sums[i]) == 0)
            g->sums[kept - 1].count++;
        else
            g->sums[kept++] = g->sums[i];
    }
    g->sum_count = kept;
    return DD_OK;
}

static void set_sum(gather *g, size_t count, const char *what)
{
    char number[DD_NUMBER_MAX];
    dd_number_scaled(number, (int64_t)count, 0, 0, DD_STYLE_PERSON);
    dd_sheet_row(g->front.sheet, (const dd_cell[]){{.at = 1, .width = 5, .align = DD_RIGHT, .text = number}, {.at = 7, .width = 1, .text = "x"},
        {.at = 9, .after = 1, .text = what}}, 3);
}

static dd_status set_all(gather *g)
{
    dd_status status = count_all(g);
    if (status != DD_OK || g->count == 0)
        return status;
    dd_sheet_text(g->front.sheet, 0, 0, "IN ALL");
    dd_sheet_join(g->front.sheet);
    for (size_t i = 0; i < g->sum_count; i++)
        set_sum(g, g->sums[i].count, g->sums[i].what);
    if (g->labels)
        set_sum(g, g->labels, "label for a bag or syringe");
    dd_sheet_rule(g->front.sheet);
    return DD_OK;
}

dd_status dd_gather_list(const dd_view *view, dd_bytes *out)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet sheet;
    gather g = {.front = {.view = view, .sheet = &sheet, .text = &text, .from = view->from, .bed = dd_item_bed_columns(view), .arena = dd_arena_new()}};
    g.front.long_span = view->to - view->from > DAY_S;
    dd_sheet_start(&sheet, out, view->width, false, 1);
    dd_status status = g.front.arena ? dd_trips_collect(view, g.front.arena, &g.items, &g.count) : DD_NO_MEMORY;
    if (status == DD_OK) {
        set_trips(&g);
        status = g.front.status == DD_OK ? set_all(&g) : g.front.status;
    }
    dd_sheet_text(&sheet, 0, 2, "By the plan as it stands now. Compare each bag, and what it is given through, with the order and the label before it is hung.");
    if (text.failed && status == DD_OK)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    dd_arena_free(g.front.arena);
    dd_sheet_pour(&sheet);
    dd_status finished = dd_sheet_finish(&sheet);
    return status != DD_OK ? status : finished;
}

/* ---- rows ---- */

dd_status dd_gather_rows_head(dd_bytes *out)
{
    dd_bytes_text(out, "needed,patient,line,order,item,detail,bag,volume_ml,allergies\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

static void add_row(dd_bytes *out, const dd_timeline *t, const dd_fetch *item, dd_bytes *text)
{
    char number[DD_NUMBER_MAX];
    const dd_patient *p = t->patient;
    dd_merge_key(out, item->needed);
    dd_rows_time(out, t->plan, item->needed);
    dd_bytes_char(out, ',');
    dd_rows_text(out, p->key);
    dd_bytes_char(out, ',');
    dd_rows_text(out, p->lines[item->line].key);
    dd_bytes_char(out, ',');
    dd_rows_text(out, item->order >= 0 ? p->orders[item->order].key : "");
    dd_bytes_char(out, ',');
    dd_bytes_text(out, dd_fetch_word(item->kind));
    dd_bytes_char(out, ',');
    dd_fetch_what(dd_phrase_start(text), t, item);
    dd_rows_text(out, dd_phrase_text(text));
    dd_bytes_char(out, ',');
    if (item->bag > 0)
        dd_bytes_add(out, number, dd_number_scaled(number, item->bag, 0, 0, DD_STYLE_PROGRAM));
    dd_bytes_char(out, ',');
    if (item->volume.u > 0)
        dd_bytes_add(out, number, dd_number_u(number, item->volume, 3, DD_STYLE_PROGRAM));
    dd_bytes_char(out, ',');
    dd_rows_text(out, p->allergies ? p->allergies : "not recorded");
    dd_bytes_char(out, '\n');
}

dd_status dd_gather_rows(const dd_view *view, const dd_timeline *t, dd_arena *arena, dd_bytes *out)
{
    const dd_fetch *items;
    size_t count;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_status status = dd_fetch_list(t, view->from, view->to, arena, &items, &count);
    for (size_t i = 0; status == DD_OK && i < count; i++)
        add_row(out, t, &items[i], &text);
    if (text.failed || out->failed)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    return status;
}
