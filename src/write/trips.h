/* trips.h - what the tasks of a view need, patient after patient in time order, and which of it is fetched in one go. */
#ifndef DD_TRIPS_H
#define DD_TRIPS_H

#include "fetch.h"

typedef struct dd_wanted {
    const dd_fetch *item;
    size_t patient; /* of the view */
} dd_wanted;

/* What is needed in the view's span, by time, then patient; in `arena`. */
DD_MUST_USE dd_status dd_trips_collect(const dd_view *view, dd_arena *arena, const dd_wanted **items, size_t *count);
/* Where the trip that begins with `first` ends: it is for what is needed within one round of its first thing. */
size_t dd_trips_end(const dd_view *view, const dd_wanted *items, size_t count, size_t first);
/* `NOW`, `BEFORE Wed 20:00` */
void dd_trips_when(dd_bytes *out, const dd_view *view, const dd_wanted *first);

#endif
