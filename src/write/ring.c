/* ring.c - what would ring, as a list for the screen (dd_ring_list, write.h): what a calendar would say, one reminder after the other. */
#include <string.h>

#include "bytes.h"
#include "phrase.h"
#include "remind.h"
#include "sheet.h"

#define TEXT_CEILING ((size_t)1 << 20)
#define DAY_S INT64_C(86400)

typedef struct ring {
    const dd_view *view;
    dd_sheet sheet;
    dd_bytes text;
    int column; /* where titles begin */
    dd_moment_style style;
} ring;

/* Lines of an event's text that say more than its title; the others are the same for all. */
static bool says_more(const char *line, size_t length)
{
    static const char *const begins[] = {"Sites: ", "Sets to change: ", "Dressings to change: ", "To do: ", "Over at ", "NOT PLANNED", "The clocks change"};
    for (size_t i = 0; i < sizeof begins / sizeof *begins; i++)
        if (length >= strlen(begins[i]) && memcmp(line, begins[i], strlen(begins[i])) == 0)
            return true;
    return false;
}

static dd_status set_event(void *user, const dd_calendar_event *event)
{
    ring *r = user;
    dd_sheet_together(&r->sheet);
    dd_phrase_time(dd_phrase_start(&r->text), r->view->plan, event->start - event->lead_s, r->style);
    dd_sheet_row(&r->sheet, (const dd_cell[]){{.at = 0, .width = r->column - 1, .text = dd_phrase_text(&r->text)},
        {.at = r->column, .after = 1, .text = event->title}}, 2);
    for (const char *line = event->text, *end; line; line = end ? end + 1 : NULL) {
        end = strchr(line, '\n');
        size_t length = end ? (size_t)(end - line) : strlen(line);
        if (!says_more(line, length))
            continue;
        dd_phrase_start(&r->text);
        dd_bytes_add(&r->text, line, length);
        dd_sheet_text(&r->sheet, r->column, r->column + 1, dd_phrase_text(&r->text));
    }
    dd_sheet_apart(&r->sheet);
    return r->text.failed ? DD_NO_MEMORY : DD_OK;
}

dd_status dd_ring_list(const dd_view *view, const dd_calendar_options *options, dd_bytes *out)
{
    bool days = view->to - view->from >= DAY_S;
    ring r = {.view = view, .text = DD_BYTES(TEXT_CEILING), .column = days ? 11 : 7, .style = days ? DD_MOMENT_DAY : DD_MOMENT_CLOCK};
    dd_sheet_start(&r.sheet, out, view->width, false, 1);
    dd_sheet_row(&r.sheet, (const dd_cell[]){{.at = 0, .text = "rings"}, {.at = r.column, .text = "what the calendar shows"}}, 2);
    dd_status status = dd_remind_each(view, options, set_event, &r);
    if (options->said->events == 0)
        dd_sheet_text(&r.sheet, 0, 0, "nothing rings in this span");
    dd_sheet_rule(&r.sheet);
    dd_sheet_pour(&r.sheet);
    dd_status end = dd_sheet_finish(&r.sheet);
    dd_bytes_free(&r.text);
    return status == DD_OK ? end : status;
}
