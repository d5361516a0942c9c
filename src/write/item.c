#include "item.h"

#include "phrase.h"

static const char done_blank[] = "..:..", by_blank[] = "....";

#define BED_LEAST 10
#define BED_MOST 24 /* a longer one wraps */

int dd_item_bed_columns(const dd_view *v)
{
    size_t most = BED_LEAST;
    for (size_t i = 0; i < v->count; i++) {
        size_t length = dd_sheet_length(dd_phrase_bed(v->patients[i])) + 2;
        most = length > most ? length : most;
    }
    return most < BED_MOST ? (int)most : BED_MOST;
}

static int time_columns(const dd_front *f)
{
    return f->long_span ? 11 : 7;
}

int dd_item_text_column(const dd_front *f)
{
    return f->bed + time_columns(f);
}

static bool has_blanks(const dd_front *f)
{
    return !f->bed || f->paper;
}

int dd_item_bed_column(const dd_front *f)
{
    return f->paper ? time_columns(f) : 0;
}

int dd_item_time_column(const dd_front *f)
{
    return f->paper ? 0 : f->bed;
}

/* Where the blanks begin; behind the page where there are none. */
int dd_item_done_column(const dd_front *f)
{
    return !has_blanks(f) ? f->sheet->width + 1 : f->sheet->width - (f->bed ? 11 : 14);
}

int dd_item_by_column(const dd_front *f)
{
    return dd_item_done_column(f) + (f->bed ? 7 : 10);
}

void dd_item_clock(dd_front *f, dd_moment t, dd_moment_style style)
{
    dd_phrase_time(f->text, f->view->plan, t, style);
}

/* A line of details, under the first line of its item. */
void dd_item_detail(dd_front *f)
{
    int at = dd_item_text_column(f);
    dd_sheet_row(f->sheet, &(dd_cell){.at = at, .width = dd_item_done_column(f) - at - 1, .after = 1, .text = dd_phrase_text(f->text)}, 1);
}

void dd_item_words(dd_front *f, const char *words)
{
    dd_bytes_text(dd_phrase_start(f->text), words);
    dd_item_detail(f);
}

/* The first line: bed where others are on the page, time, what, and blanks to write into where hands do something. What stands in
 * f->text. */
static void first_line(dd_front *f, dd_moment at, const char *bed, bool blanks)
{
    dd_bytes clock = DD_BYTES((size_t)256);
    int text = dd_item_text_column(f), done = dd_item_done_column(f);
    dd_cell cells[5];
    size_t n = 0;
    dd_phrase_time(&clock, f->view->plan, at, f->long_span ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    if (f->bed)
        cells[n++] = (dd_cell){.at = dd_item_bed_column(f), .width = f->bed - 1, .after = 1, .text = bed ? bed : dd_phrase_bed(f->timeline->patient)};
    cells[n++] = (dd_cell){.at = dd_item_time_column(f), .width = time_columns(f) - 1, .text = dd_phrase_text(&clock)};
    cells[n++] = (dd_cell){.at = text, .width = done - text - 1, .after = 1, .text = dd_phrase_text(f->text)};
    if (blanks && has_blanks(f)) {
        cells[n++] = (dd_cell){.at = done, .text = done_blank};
        cells[n++] = (dd_cell){.at = dd_item_by_column(f), .text = by_blank};
    }
    dd_sheet_row(f->sheet, cells, n);
    if (clock.failed)
        f->status = DD_NO_MEMORY;
    dd_bytes_free(&clock);
}

void dd_item_first(dd_front *f, dd_moment at, bool blanks)
{
    first_line(f, at, NULL, blanks);
}

void dd_item_round(dd_front *f, dd_moment at)
{
    first_line(f, at, "ROUND", true);
}

/* Where it takes two: room for the second one on a line of its own. */
void dd_item_second(dd_front *f, const dd_task *item)
{
    int text = dd_item_text_column(f), done = dd_item_done_column(f);
    if (!dd_task_takes_two(&f->timeline->patient->orders[item->order], item->kind))
        return;
    if (!has_blanks(f))
        dd_item_words(f, "second nurse");
    else
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = text, .width = done - text - 1, .text = "second nurse"}, {.at = done, .text = "2nd", .silent = true},
            {.at = dd_item_by_column(f), .text = by_blank}}, 3);
}

/* On a page with other beds: what the patient may not get, beside every dose and start. */
void dd_item_allergy(dd_front *f)
{
    if (!f->bed)
        return;
    dd_phrase_allergy(dd_phrase_start(f->text), f->timeline->patient);
    dd_bytes_text(f->text, f->timeline->patient->allergies ? "" : ", clarify first");
    dd_item_detail(f);
}

void dd_item_note(dd_front *f, const dd_order *o)
{
    if (!o->note)
        return;
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "note: ");
    dd_bytes_text(f->text, o->note);
    dd_item_detail(f);
}
