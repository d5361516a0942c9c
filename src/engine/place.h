/* place.h - when doses start: the exact optimum for the piggybacks of one line.
 *
 * Each dose has a due time d, a window w and a length p. Its start s is a whole second, s >= d - w, s >= earliest; [s, s + p)
 * touches no other dose and no pause. Doses of one order start in due order, and so do two doses whose windows do not
 * overlap. Of all such choices: fewest doses after their window; least sum of |s - d|; least sum of what they are early;
 * then the earlier start, the earlier due, the earlier row. */
#ifndef DD_PLACE_H
#define DD_PLACE_H

#include "arena.h"
#include "daydrip/moment.h"

typedef struct dd_dose {
    dd_moment due, start; /* start is the result */
    int64_t window, length; /* seconds; length above 0 */
    dd_moment earliest;   /* s is not before */
    int32_t order;        /* row of orders.csv */
    int32_t occurrence;
} dd_dose;

typedef struct dd_gap_of_line { dd_moment from, to; } dd_gap_of_line; /* half-open; nothing may flow */

/* More later doses than this with windows that open before a dose's own closes, and the line's doses are placed in due order. */
#define DD_PLACE_MOST 13
/* States that are looked at, at the most; a ceiling that no line within DD_PLACE_MOST has met. */
#define DD_PLACE_STATES ((size_t)1 << 21)

/* Sorts `doses` by due, order and occurrence and sets every start. `blocked`: rising, not touching. *in_order is set where the doses
 * were placed without overtaking. */
DD_MUST_USE dd_status dd_place_doses(dd_dose *doses, size_t count, const dd_gap_of_line *blocked, size_t blocked_count, bool *in_order);

#endif
