#include "former.h"

#include <stdlib.h>
#include <string.h>

#include "calread.h"

dd_status dd_former_add(dd_former *former, const char *bytes, size_t length, dd_bytes *reason)
{
    const dd_calendar_event *events;
    size_t count;
    dd_status status = dd_calread_events(bytes, length, former->arena, &events, &count, reason);
    for (size_t i = 0; status == DD_OK && i < count; i++) {
        if (!dd_arena_room(former->arena, &former->events, &former->room, former->count, sizeof *former->events))
            return DD_NO_MEMORY;
        former->events[former->count++].event = events[i];
    }
    return status;
}

static int by_uid(const void *left, const void *right)
{
    const dd_former_event *a = left, *b = right;
    return strcmp(a->event.uid, b->event.uid);
}

void dd_former_sort(dd_former *former)
{
    if (former->count > 1)
        qsort(former->events, former->count, sizeof *former->events, by_uid);
}

dd_former_event *dd_former_find(const dd_former *former, const char *uid)
{
    const dd_former_event key = {.event.uid = uid};
    return former->count ? bsearch(&key, former->events, former->count, sizeof *former->events, by_uid) : NULL;
}
