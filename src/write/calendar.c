#include "calendar.h"

#include <stdio.h>
#include <string.h>

#include "arena.h"
#include "calmake.h"
#include "calread.h"
#include "caltext.h"

#define SHORT_TEXT_CEILING ((size_t)4096) /* a title or category: 170 characters of at most 4 bytes */
#define TEXT_CEILING ((size_t)65536)      /* an event's text: 8,000 characters */
#define CATEGORY_MAX 60                   /* characters */

struct dd_calendar {
    dd_bytes *out;
    dd_calmake *maker;
    dd_calread *reader;
    dd_status status;                     /* what went wrong first; sticks */
    dd_calendar_event meant;              /* what the event being written must read back as */
    bool read_back;                       /* it did */
    dd_bytes title, text, category, alarm; /* as cleaned; `alarm` is the title, a newline and the text */
    char reason[320];
};

static dd_status fail(dd_calendar *w, dd_status status, const char *reason)
{
    w->status = status;
    snprintf(w->reason, sizeof w->reason, "%s", reason);
    return status;
}

/* Called by the reader for the event that was just written. */
static dd_status hold_against_meant(void *user, const dd_calendar_event *read, size_t line)
{
    (void)line;
    dd_calendar *w = user;
    const dd_calendar_event *meant = &w->meant;
    if (strcmp(read->uid, meant->uid) != 0 || strcmp(read->title, meant->title) != 0 || strcmp(read->text, meant->text) != 0
        || strcmp(read->category, meant->category) != 0 || read->start != meant->start || read->end != meant->end
        || read->last_modified != meant->last_modified || read->lead_s != meant->lead_s || read->sequence != meant->sequence
        || read->state != meant->state)
        return DD_CANNOT_WRITE;
    w->read_back = true;
    return DD_OK;
}

/* ---- the writer ---- */

/* Appends nothing of what was begun at `before`. */
static dd_status take_back(dd_calendar *w, size_t before, dd_status status, const char *reason)
{
    if (w->out->data && before <= w->out->length) {
        w->out->length = before;
        w->out->data[before] = '\0';
    }
    return fail(w, status, reason);
}

/* What was appended since `before`, given to the reader. */
static dd_status read_back(dd_calendar *w, size_t before)
{
    if (w->out->failed)
        return take_back(w, before, DD_NO_MEMORY, "no memory, or the calendar is too large");
    dd_status status = dd_calread_feed(w->reader, w->out->data + before, w->out->length - before);
    if (status == DD_NO_MEMORY)
        return take_back(w, before, status, "no memory");
    if (status == DD_OK)
        return DD_OK;
    char reason[320];
    snprintf(reason, sizeof reason, "what was written does not read back: %s",
        status == DD_BAD_INPUT ? dd_calread_reason(w->reader) : "an event means something else");
    return take_back(w, before, DD_CANNOT_WRITE, reason);
}

dd_status dd_calendar_begin(dd_bytes *out, dd_calendar **writer)
{
    *writer = NULL;
    dd_calendar *w = dd_arena_allocator(NULL, sizeof *w);
    if (!w)
        return DD_NO_MEMORY;
    *w = (dd_calendar){.out = out, .title = DD_BYTES(SHORT_TEXT_CEILING), .text = DD_BYTES(TEXT_CEILING),
        .category = DD_BYTES(SHORT_TEXT_CEILING), .alarm = DD_BYTES(SHORT_TEXT_CEILING + TEXT_CEILING)};
    w->reader = dd_calread_new(hold_against_meant, w);
    if (!w->reader) {
        dd_calendar_free(w);
        return DD_NO_MEMORY;
    }
    dd_status status = dd_calmake_open(&w->maker, w->reason, sizeof w->reason);
    if (status == DD_CANNOT_READ) { /* it can still say why */
        w->status = status;
        *writer = w;
        return status;
    }
    size_t before = out->length;
    if (!status) {
        dd_bytes_text(out, "BEGIN:VCALENDAR\r\nPRODID:" DD_CALENDAR_PRODID "\r\nVERSION:2.0\r\n");
        status = read_back(w, before);
    }
    if (status) {
        dd_calendar_free(w);
        return status;
    }
    *writer = w;
    return DD_OK;
}

static bool moment_fits(dd_moment t)
{
    return t >= DD_CALENDAR_FIRST && t <= DD_CALENDAR_LAST;
}

static bool lead_fits(int64_t lead_s)
{
    return lead_s == DD_CALENDAR_NO_ALARM || (lead_s >= 0 && lead_s <= DD_CALENDAR_LEAD_MAX && lead_s % 60 == 0);
}

dd_status dd_calendar_add(dd_calendar *w, const dd_calendar_event *event)
{
    if (w->status)
        return w->status;
    if (!moment_fits(event->start) || !moment_fits(event->end) || !moment_fits(event->last_modified) || event->start >= event->end
        || event->sequence < 0 || !lead_fits(event->lead_s))
        return fail(w, DD_TOO_LARGE, "a time, sequence or lead is outside its range");
    dd_bytes_clear(&w->title);
    dd_bytes_clear(&w->text);
    dd_bytes_clear(&w->category);
    dd_bytes_clear(&w->alarm);
    dd_caltext_clean(&w->title, event->title, DD_CALENDAR_TITLE_MAX, false);
    dd_caltext_clean(&w->text, event->text, DD_CALENDAR_TEXT_MAX, true);
    dd_caltext_clean(&w->category, event->category, CATEGORY_MAX, false);
    dd_bytes_add(&w->alarm, w->title.data, w->title.length);
    dd_bytes_char(&w->alarm, '\n');
    dd_bytes_add(&w->alarm, w->text.data, w->text.length);
    if (w->title.failed || w->text.failed || w->category.failed || w->alarm.failed)
        return fail(w, DD_NO_MEMORY, "no memory");
    if (!w->title.length || !w->text.length || !w->category.length)
        return fail(w, DD_TOO_LARGE, "a title, text or category is empty");
    w->meant = *event;
    w->meant.title = w->title.data;
    w->meant.text = w->text.data;
    w->meant.category = w->category.data;
    w->read_back = false;
    size_t before = w->out->length;
    if (!dd_calmake_append(w->maker, w->out, &w->meant, w->alarm.data))
        return take_back(w, before, DD_NO_MEMORY, "no memory, or the calendar is too large");
    dd_status status = read_back(w, before);
    if (!status && !w->read_back)
        return take_back(w, before, DD_CANNOT_WRITE, "what was written does not read back: no event");
    return status;
}

dd_status dd_calendar_end(dd_calendar *w)
{
    if (w->status)
        return w->status;
    size_t before = w->out->length;
    dd_bytes_text(w->out, "END:VCALENDAR\r\n");
    dd_status status = read_back(w, before);
    if (!status && dd_calread_end(w->reader))
        return take_back(w, before, DD_CANNOT_WRITE, dd_calread_reason(w->reader));
    return status;
}

const char *dd_calendar_reason(const dd_calendar *w)
{
    return w->reason;
}

void dd_calendar_free(dd_calendar *w)
{
    if (!w)
        return;
    dd_calmake_free(w->maker);
    dd_calread_free(w->reader);
    dd_bytes_free(&w->title);
    dd_bytes_free(&w->text);
    dd_bytes_free(&w->category);
    dd_bytes_free(&w->alarm);
    dd_arena_allocator(w, 0);
}
