#include "hours.h"

#include <stdlib.h>
#include <string.h>

#include "agenda.h"
#include "checked.h"
#include "item.h"
#include "phrase.h"
#include "summary.h"
#include "trips.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DAY_S INT64_C(86400)
#define HOUR_S 3600

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

void dd_hours_title(dd_bytes *out, const dd_view *v)
{
    char number[DD_NUMBER_MAX];
    int64_t span = v->to - v->from;
    dd_bytes_text(out, "NEXT ");
    if (span == HOUR_S) {
        dd_bytes_text(out, "HOUR");
    } else if (span % HOUR_S == 0) {
        dd_bytes_add(out, number, dd_number_scaled(number, span / HOUR_S, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(out, " HOURS");
    } else {
        dd_phrase_span(out, span);
    }
    if (v->team) {
        dd_bytes_text(out, ", ");
        dd_summary_team(out, v->team);
    }
}

void dd_hours_span(dd_bytes *out, const dd_view *v)
{
    dd_civil from = dd_moment_local(v->plan->zone, v->from), to = dd_moment_local(v->plan->zone, v->to);
    dd_phrase_time(out, v->plan, v->from, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(out, " to ");
    dd_phrase_time(out, v->plan, v->to, from.day == to.day && v->to - v->from < DAY_S ? DD_MOMENT_CLOCK : DD_MOMENT_DATE_CLOCK);
}

/* ---- what to fetch ---- */

typedef struct thing {
    const char *what, *more;
    size_t patient;
    uint8_t kind;
} thing;

static int by_thing(const void *left, const void *right)
{
    const thing *a = left, *b = right;
    int c = MORE(a->kind, b->kind);
    c = c ? c : strcmp(a->what, b->what);
    c = c ? c : strcmp(a->more, b->more);
    return c ? c : MORE(a->patient, b->patient);
}

static const char *keep(dd_front *f)
{
    return dd_arena_text(f->arena, dd_phrase_text(f->text), f->text->length);
}

static bool is_same(const thing *a, const thing *b)
{
    return a->kind == b->kind && strcmp(a->what, b->what) == 0 && strcmp(a->more, b->more) == 0;
}

static void add_count(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

/* `bay1-bed2 x2, bay1-bed3`: for whom the same thing is. */
static void add_beds(dd_front *f, const thing *things, size_t count)
{
    for (size_t i = 0, next; i < count; i = next) {
        for (next = i + 1; next < count && things[next].patient == things[i].patient; next++)
            continue;
        dd_bytes_text(f->text, i ? ", " : "");
        dd_bytes_text(f->text, dd_phrase_bed(f->view->patients[things[i].patient]));
        if (next - i > 1) {
            dd_bytes_text(f->text, " x");
            add_count(f->text, next - i);
        }
    }
}

/* The same thing for several beds is one line. */
static void set_thing(dd_front *f, const thing *things, size_t count)
{
    int w = f->sheet->width, beds = w / 2 + 9;
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    if (count > 1) {
        add_count(&what, count);
        dd_bytes_text(&what, " x ");
    }
    dd_bytes_text(&what, things[0].what);
    dd_bytes_text(&what, *things[0].more ? "; " : "");
    dd_bytes_text(&what, things[0].more);
    dd_phrase_start(f->text);
    add_beds(f, things, count);
    dd_sheet_together(f->sheet);
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 1, .width = beds - 2, .after = 2, .text = dd_phrase_text(&what)},
        {.at = beds, .width = w - beds - 4, .text = dd_phrase_text(f->text)}, {.at = w - 3, .text = "[ ]"}}, 3);
    dd_sheet_apart(f->sheet);
    if (what.failed)
        f->status = DD_NO_MEMORY;
    dd_bytes_free(&what);
}

static void set_trip(dd_front *f, const dd_wanted *items, size_t count)
{
    thing *things = dd_arena_take_many(f->arena, count, sizeof *things);
    for (size_t i = 0; i < count; i++) {
        const dd_timeline *t = f->view->timelines[items[i].patient];
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, items[i].item->kind == DD_FETCH_SET ? "new " : "");
        dd_fetch_what(f->text, t, items[i].item);
        const char *what = keep(f);
        dd_fetch_more(dd_phrase_start(f->text), t, items[i].item);
        const char *more = keep(f);
        if (!things || !what || !more) {
            f->status = DD_NO_MEMORY;
            return;
        }
        things[i] = (thing){what, more, items[i].patient, items[i].item->kind};
    }
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "FETCH ");
    dd_trips_when(f->text, f->view, items);
    dd_sheet_title(f->sheet, 0, 2, dd_phrase_text(f->text), NULL);
    dd_sheet_join(f->sheet);
    if (count > 1)
        qsort(things, count, sizeof *things, by_thing);
    for (size_t i = 0, next; i < count && f->status == DD_OK; i = next) {
        for (next = i + 1; next < count && is_same(&things[next], &things[i]); next++)
            continue;
        set_thing(f, &things[i], next - i);
    }
}

static void set_trips(dd_front *f)
{
    const dd_wanted *items;
    size_t count;
    f->status = dd_trips_collect(f->view, f->arena, &items, &count);
    if (f->status != DD_OK)
        return;
    for (size_t i = 0, next; i < count && f->status == DD_OK; i = next) {
        next = dd_trips_end(f->view, items, count, i);
        set_trip(f, &items[i], next - i);
    }
    if (count == 0)
        dd_sheet_text(f->sheet, 0, 2, "FETCH nothing for these hours");
    dd_sheet_rule(f->sheet);
}

/* ---- the list ---- */

dd_status dd_hours_write(dd_sheet *sheet, const dd_view *view, dd_arena *arena)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_agenda a = {.front = {.view = view, .sheet = sheet, .text = &text, .from = view->from, .bed = dd_item_bed_columns(view), .arena = arena, .paper = true}};
    a.front.long_span = view->to - view->from > DAY_S;
    dd_agenda_size(&a);
    dd_status status = dd_summary_first(sheet, view, "RIGHT NOW", true, arena);
    if (status == DD_OK)
        status = dd_agenda_gather(&a);
    if (status == DD_OK) {
        set_trips(&a.front);
        if (a.front.status == DD_OK)
            dd_agenda_write(&a);
        status = a.front.status == DD_OK ? dd_agenda_after(&a) : a.front.status;
    }
    if (status == DD_OK)
        status = dd_checked_set(sheet, view, true);
    dd_sheet_text(sheet, 0, 0, "A plan only: orders, records, labels, local policy and the second check of a licensed person stand above it.");
    if (text.failed && status == DD_OK)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    return status;
}
