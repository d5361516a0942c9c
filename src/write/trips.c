#include "trips.h"

#include <stdlib.h>

#include "arena.h"
#include "care.h"
#include "phrase.h"

#define TRIP_S 3600 /* what is needed within so long is fetched in one go, where no rule says how far apart rounds are */

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

static int by_time(const void *left, const void *right)
{
    const dd_wanted *a = left, *b = right;
    int c = MORE(a->item->needed, b->item->needed);
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->item, b->item);
}

dd_status dd_trips_collect(const dd_view *v, dd_arena *arena, const dd_wanted **items, size_t *count)
{
    dd_wanted *all = NULL;
    size_t n = 0, room = 0;
    for (size_t i = 0; i < v->count; i++) {
        const dd_fetch *list;
        size_t list_count;
        if (!v->timelines[i])
            continue;
        dd_status status = dd_fetch_list(v->timelines[i], v->from, v->to, arena, &list, &list_count);
        if (status != DD_OK)
            return status;
        for (size_t k = 0; k < list_count; k++) {
            if (!dd_arena_room(arena, &all, &room, n, sizeof *all))
                return DD_NO_MEMORY;
            all[n++] = (dd_wanted){&list[k], i};
        }
    }
    if (n > 1)
        qsort(all, n, sizeof *all, by_time);
    *items = all;
    *count = n;
    return DD_OK;
}

size_t dd_trips_end(const dd_view *v, const dd_wanted *items, size_t count, size_t first)
{
    int64_t every = dd_care_every(v->timelines[items[first].patient], items[first].item->line);
    dd_moment until = items[first].item->needed + (every > 0 ? every : TRIP_S);
    size_t next = first + 1;
    while (next < count && items[next].item->needed < until)
        next++;
    return next;
}

void dd_trips_when(dd_bytes *out, const dd_view *v, const dd_wanted *first)
{
    dd_bytes_text(out, first->item->needed <= v->now ? "NOW" : "BEFORE ");
    if (first->item->needed > v->now)
        dd_phrase_time(out, v->plan, first->item->needed, DD_MOMENT_DAY);
}
