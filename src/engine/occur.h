/* occur.h - when the doses of a repeated order are due. */
#ifndef DD_OCCUR_H
#define DD_OCCUR_H

#include "arena.h"
#include "daydrip/plan.h"

typedef struct dd_occurrences {
    const dd_moment *due; /* rising; those with begins <= due < min(end, stop, dropped_from) */
    size_t count;
    bool last_is_here; /* no dose of the order is due at or after the window's end */
    bool any_before;   /* one was due before the window; it belongs to the plan before */
} dd_occurrences;

#define DD_OCCUR_MOST ((size_t)20000) /* doses of one order in one plan: 168 h at every 15 min are 672 */

/* `dropped_from`: from this second on another order has taken over; DD_NEVER: none has. A single piggyback is one occurrence at
 * its start. */
DD_MUST_USE dd_status dd_occur_dues(const dd_plan *plan, const dd_order *order, dd_moment dropped_from, dd_arena *arena, dd_occurrences *out);

#endif
