/* fuzz_calendar.c - a calendar file of unknown origin. What the strict reader takes our own writer can write, and
 * that reads as the same events. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "bytes.h"
#include "calendar.h"
#include "calread.h"
#include "must.h"

#define PLENTY ((size_t)64 << 20)

static bool same(const dd_calendar_event *a, const dd_calendar_event *b)
{
    return strcmp(a->uid, b->uid) == 0 && strcmp(a->title, b->title) == 0 && strcmp(a->text, b->text) == 0 && strcmp(a->category, b->category) == 0
        && a->start == b->start && a->end == b->end && a->last_modified == b->last_modified && a->lead_s == b->lead_s && a->sequence == b->sequence
        && a->state == b->state;
}

static void write_again(const dd_calendar_event *events, size_t count, dd_arena *arena)
{
    dd_bytes out = DD_BYTES(PLENTY), reason = DD_BYTES(PLENTY);
    dd_calendar *writer = NULL;
    const dd_calendar_event *twice = NULL;
    size_t twice_count = 0;
    must(dd_calendar_begin(&out, &writer) == DD_OK, "the calendar's head");
    for (size_t i = 0; i < count; i++)
        must(dd_calendar_add(writer, &events[i]) == DD_OK, "an event that was read can be written");
    must(dd_calendar_end(writer) == DD_OK, "the calendar's end");
    must(dd_calread_events(out.data, out.length, arena, &twice, &twice_count, &reason) == DD_OK, "what is written can be read");
    must(twice_count == count, "as many events");
    for (size_t i = 0; i < count; i++)
        must(same(&events[i], &twice[i]), "the same events");
    dd_calendar_free(writer);
    dd_bytes_free(&out);
    dd_bytes_free(&reason);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    dd_arena *arena = dd_arena_new();
    dd_bytes reason = DD_BYTES(PLENTY);
    const dd_calendar_event *events = NULL;
    size_t count = 0;
    const char *text = (const char *)data;
    dd_status status = dd_calread_events(size ? text : "", size, arena, &events, &count, &reason);
    must(status == DD_OK || status == DD_BAD_INPUT, "read or refused");
    must((status == DD_BAD_INPUT) == (reason.length > 0), "a reason where it is refused");
    for (size_t i = 0; i < reason.length; i++)
        must(reason.data[i] >= ' ' && reason.data[i] < 0x7f, "a reason in plain text");
    if (status == DD_OK)
        write_again(events, count, arena);
    dd_bytes_free(&reason);
    dd_arena_free(arena);
    return 0;
}
