/* remind.c - reminders for the calendar that people already carry: what is to be done, gathered by the engine (visit.h), put into words by
 * reminder.c, written one event at a time. */
#include "remind.h"

#include <string.h>

#include "arena.h"
#include "bytes.h"
#include "reminder.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define EVENT_LASTS 600 /* seconds; long enough to be seen in a calendar */
#define CATEGORY "infusion"

/* What rings from now on: nothing that is over is reminded of. */
static dd_moment first_moment(const dd_view *view, const dd_calendar_options *options)
{
    dd_moment first = view->now + options->lead_s;
    return first > view->from ? first : view->from;
}

static dd_status say_each(dd_reminder *r, dd_arena *arena, dd_remind_take *take, void *user)
{
    const dd_view *view = r->view;
    const dd_visit *visits;
    size_t count;
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_status status = dd_visit_plan(view->timelines, view->count, first_moment(view, r->options), view->to, r->options->each, arena, &visits, &count);
    for (size_t i = 0; status == DD_OK && i < count; i++) {
        status = dd_reminder_say(r, &visits[i]);
        if (status != DD_OK)
            break;
        dd_bytes_clear(&text);
        dd_bytes_add(&text, r->text.data, r->text.length);
        dd_reminder_end(&text, view->plan, view->now, r->code);
        status = text.failed ? DD_NO_MEMORY
                             : take(user, &(dd_calendar_event){.uid = r->uid, .title = r->title.data, .text = text.data, .category = CATEGORY,
                                              .start = visits[i].at, .end = visits[i].at + EVENT_LASTS, .last_modified = view->now,
                                              .lead_s = r->options->lead_s});
    }
    dd_bytes_free(&text);
    return status;
}

dd_status dd_remind_each(const dd_view *view, const dd_calendar_options *options, dd_remind_take *take, void *user)
{
    dd_reminder r = {0};
    if (options->lead_s < 0 || options->lead_s > DD_CALENDAR_LEAD_MAX || options->lead_s % 60 != 0)
        return DD_TOO_LARGE;
    dd_arena *arena = dd_arena_new();
    dd_status status = arena ? dd_reminder_start(&r, view, options, arena) : DD_NO_MEMORY;
    if (status == DD_OK)
        status = say_each(&r, arena, take, user);
    dd_reminder_free(&r);
    dd_arena_free(arena);
    return status;
}

/* ---- one file ---- */

typedef struct one_file { dd_calendar *calendar; } one_file;

static dd_status add(void *user, const dd_calendar_event *event)
{
    one_file *f = user;
    return dd_calendar_add(f->calendar, event);
}

dd_status dd_remind_write(const dd_view *view, const dd_calendar_options *options, dd_bytes *out)
{
    one_file f = {0};
    size_t before = out->length;
    dd_status status = dd_calendar_begin(out, &f.calendar);
    if (status == DD_OK)
        status = dd_remind_each(view, options, add, &f);
    if (status == DD_OK)
        status = dd_calendar_end(f.calendar);
    if (f.calendar && options->why)
        dd_bytes_text(options->why, dd_calendar_reason(f.calendar));
    if (status && out->data) { /* whole or not at all */
        out->length = before;
        out->data[before] = '\0';
    }
    dd_calendar_free(f.calendar);
    return status;
}
