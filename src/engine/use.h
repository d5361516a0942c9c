/* use.h - which order is given on which line, and from when. */
#ifndef DD_USE_H
#define DD_USE_H

#include "work.h"

/* One for each order and line on which it flows in the window; one for its own line where it is only to come. What was replaced or
 * omitted before it began has none. */
typedef struct dd_use {
    dd_moment at;         /* the first second in which it flows there, else when it is due, else the plan's beginning */
    int16_t order, line;
    bool first;           /* the earliest of this order; of equals the one on its own line */
} dd_use;

/* By order, then line. Runs and flows must be there. */
DD_MUST_USE dd_status dd_use_make(dd_work *work, const dd_use **uses, size_t *count);

#endif
