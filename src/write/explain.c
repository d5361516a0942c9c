#include "explain.h"

#include "names.h"
#include "phrase.h"

#define TEXT_CEILING ((size_t)1 << 20)

/* Columns, counted from the right edge: the words get what is left. */
enum { STEP_WIDTH = 3, VALUE_WIDTH = 17, ORIGIN_WIDTH = 14 };

void dd_explain_title(dd_explain *e, const char *what, const char *printed)
{
    dd_phrase_start(e->text);
    dd_bytes_text(e->text, dd_phrase_bed(e->p));
    dd_bytes_text(e->text, ", ");
    dd_bytes_text(e->text, what);
    dd_bytes_text(e->text, ": ");
    dd_bytes_text(e->text, printed);
    dd_sheet_text(e->sheet, 0, 2, dd_phrase_text(e->text));
    dd_sheet_rule(e->sheet);
}

void dd_explain_step(dd_explain *e, const char *what, const char *value, const char *origin)
{
    char number[DD_NUMBER_MAX];
    int w = e->sheet->width;
    dd_number_scaled(number, ++e->step, 0, 0, DD_STYLE_PERSON);
    dd_sheet_row(e->sheet, (const dd_cell[]){{.at = 0, .width = STEP_WIDTH - 1, .align = DD_RIGHT, .text = number},
        {.at = STEP_WIDTH, .width = w - STEP_WIDTH - VALUE_WIDTH - ORIGIN_WIDTH - 2, .after = 2, .text = what},
        {.at = w - VALUE_WIDTH - ORIGIN_WIDTH - 1, .width = VALUE_WIDTH, .align = DD_RIGHT, .text = value ? value : ""},
        {.at = w - ORIGIN_WIDTH, .width = ORIGIN_WIDTH, .text = origin ? origin : ""}}, 4);
}

void dd_explain_note(dd_explain *e, const char *label, const char *what)
{
    dd_sheet_row(e->sheet, (const dd_cell[]){{.at = 0, .width = 12, .text = label}, {.at = 13, .text = what}}, 2);
}

void dd_explain_second(dd_explain *e, const char *how, const char *value, bool same)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_bytes_form(&text, "%s: %s, %s", how, value, same ? "the same" : "NOT THE SAME: do not rely on this figure");
    dd_explain_note(e, "second way", dd_phrase_text(&text));
    e->differs = e->differs || !same;
    e->text->failed = e->text->failed || text.failed;
    dd_bytes_free(&text);
}

const char *dd_explain_row(dd_explain *e, const char *table, uint32_t line)
{
    char number[DD_NUMBER_MAX];
    dd_phrase_start(e->text);
    dd_bytes_text(e->text, table);
    dd_bytes_char(e->text, ':');
    dd_bytes_add(e->text, number, dd_number_scaled(number, line, 0, 0, DD_STYLE_PROGRAM));
    return dd_phrase_text(e->text);
}

const char *dd_explain_order_row(dd_explain *e, int order)
{
    return dd_explain_row(e, "orders.csv", e->p->orders[order].line_of_file);
}

const char *dd_explain_event_row(dd_explain *e, const dd_event *event)
{
    return dd_explain_row(e, "chart.csv", event->line_of_file);
}

void dd_explain_span(dd_bytes *out, const dd_explain *e, dd_moment from, dd_moment to)
{
    dd_phrase_time(out, e->t->plan, from, DD_MOMENT_DAY);
    dd_bytes_text(out, " to ");
    dd_civil a = dd_moment_local(e->t->plan->zone, from), b = dd_moment_local(e->t->plan->zone, to);
    dd_phrase_time(out, e->t->plan, to, a.day == b.day ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
}

void dd_explain_exact(dd_bytes *out, int64_t u)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_u(number, (dd_u){u}, 3, DD_STYLE_PERSON));
    dd_bytes_text(out, " mL");
}

void dd_explain_duration(dd_bytes *out, int64_t seconds)
{
    const struct { int64_t size; const char *unit; } parts[] = {{3600, " h"}, {60, " min"}, {1, " s"}};
    bool any = false;
    for (size_t i = 0; i < 3; i++) {
        char number[DD_NUMBER_MAX];
        int64_t n = seconds / parts[i].size;
        seconds %= parts[i].size;
        if (n == 0 && (any || i < 2))
            continue;
        dd_bytes_text(out, any ? " " : "");
        dd_bytes_add(out, number, dd_number_scaled(number, n, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(out, parts[i].unit);
        any = true;
    }
}

static void head(dd_explain *e)
{
    dd_phrase_start(e->text);
    dd_bytes_text(e->text, e->view->plan->demo ? "DEMO, NOT FOR CARE   " : "");
    dd_phrase_made(e->text, e->view);
    dd_sheet_text(e->sheet, 0, 2, dd_phrase_text(e->text));
}

static void (*const ways[])(dd_explain *) = {
    [DD_FIGURE_RATE] = dd_explain_rate, [DD_FIGURE_LEFT] = dd_explain_left, [DD_FIGURE_DRY] = dd_explain_dry, [DD_FIGURE_EARLIEST] = dd_explain_dry,
    [DD_FIGURE_LATEST] = dd_explain_dry, [DD_FIGURE_GIVEN] = dd_explain_given, [DD_FIGURE_FLUSH] = dd_explain_given, [DD_FIGURE_BAG] = dd_explain_bag,
    [DD_FIGURE_DOSE] = dd_explain_dose, [DD_FIGURE_IN] = dd_explain_sums, [DD_FIGURE_OUT] = dd_explain_sums, [DD_FIGURE_SUM] = dd_explain_sums,
    [DD_FIGURE_URINE] = dd_explain_urine, [DD_FIGURE_COURSE] = dd_explain_course, [DD_FIGURE_SET] = dd_explain_care, [DD_FIGURE_DRESSING] = dd_explain_care,
    [DD_FIGURE_DEVICE] = dd_explain_care, [DD_FIGURE_ALLOWANCE] = dd_explain_allowance, [DD_FIGURE_NEED] = dd_explain_need,
    [DD_FIGURE_ORDERED] = dd_explain_day, [DD_FIGURE_FLUID] = dd_explain_day, [DD_FIGURE_MAINTENANCE] = dd_explain_day,
    [DD_FIGURE_SODIUM] = dd_explain_day, [DD_FIGURE_POTASSIUM] = dd_explain_day, [DD_FIGURE_CHLORIDE] = dd_explain_day,
    [DD_FIGURE_GLUCOSE] = dd_explain_day, [DD_FIGURE_POTASSIUM_PEAK] = dd_explain_day, [DD_FIGURE_GLUCOSE_PEAK] = dd_explain_day,
};

dd_status dd_explain_write(const dd_view *view, const dd_timeline *timeline, const dd_figure *figure, dd_bytes *out, bool *differs)
{
    dd_sheet sheet;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet_start(&sheet, out, view->width, false, 1);
    dd_explain e = {.sheet = &sheet, .view = view, .t = timeline, .p = timeline->patient, .figure = figure, .text = &text};
    head(&e);
    ways[figure->kind](&e);
    dd_sheet_text(&sheet, 0, 0, "END OF LIST");
    dd_sheet_pour(&sheet);
    bool failed = text.failed, none = e.step == 0;
    dd_bytes_free(&text);
    dd_status status = dd_sheet_finish(&sheet);
    *differs = e.differs;
    return failed ? DD_NO_MEMORY : status != DD_OK ? status : none ? DD_BAD_INPUT : DD_OK;
}

/* ---- under a page ---- */

static void one(dd_explain *e, dd_figure figure)
{
    e->figure = &figure;
    if (e->told++)
        dd_sheet_rule(e->sheet);
    e->step = 0;
    dd_sheet_together(e->sheet);
    ways[figure.kind](e);
    dd_sheet_apart(e->sheet);
}

dd_status dd_explain_page(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, const dd_timeline *planned)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_explain e = {.sheet = sheet, .view = view, .t = timeline, .p = timeline->patient, .text = &text};
    dd_moment now = timeline->now;
    for (int o = 0; o < e.p->order_count; o++) {
        const dd_bag *bag = dd_explain_bag_at(&e, o, now);
        if (!bag)
            continue;
        dd_figure figure = {.order = o, .at = now, .from = timeline->plan->begins, .to = now, .planned = planned};
        figure.kind = DD_FIGURE_RATE;
        one(&e, figure);
        figure.kind = DD_FIGURE_LEFT;
        one(&e, figure);
        if (bag->empty != DD_NEVER) {
            figure.kind = DD_FIGURE_DRY;
            one(&e, figure);
        }
    }
    for (size_t i = 0; i < timeline->run_count; i++) {
        const dd_run *r = &timeline->runs[i];
        if (r->start == DD_NEVER || r->end == DD_NEVER || r->start < view->from || r->start >= view->to || e.p->orders[r->order].runs != DD_PIGGYBACK)
            continue;
        one(&e, (dd_figure){.kind = DD_FIGURE_DOSE, .order = r->order, .at = r->due, .planned = planned});
    }
    for (dd_figure_kind kind = DD_FIGURE_IN; kind <= DD_FIGURE_SUM; kind++)
        one(&e, (dd_figure){.kind = kind, .order = -1, .from = view->from < now ? view->from : timeline->plan->begins, .to = now > timeline->plan->begins ? now : view->to});
    bool failed = text.failed;
    dd_bytes_free(&text);
    return failed ? DD_NO_MEMORY : DD_OK;
}
