/* upkeep.h - what a line needs beside what flows in it: looks at its site, a new set, a new dressing, a new device. By the rules in force,
 * from what lines.csv and the chart say; of a finished timeline. */
#ifndef DD_UPKEEP_H
#define DD_UPKEEP_H

#include "daydrip/timeline.h"

/* By when something is due: `every` seconds after `since`. */
typedef struct dd_upkeep_due {
    dd_moment since, at; /* DD_NEVER: nobody said since when */
    int64_t every;       /* 0: no rule, or not for this kind of line */
    const dd_rule *rule; /* or NULL */
} dd_upkeep_due;

/* What is known of a line: what lines.csv says or the chart, whichever is later; DD_NEVER where neither does. */
typedef struct dd_upkeep {
    dd_moment placed, dressed, set_changed; /* dressed: a dressing that nobody charted went on when the line was placed, at the earliest */
    dd_moment looked;    /* the last look at its site that is charted */
    dd_moment off_since; /* taken out by the chart and not placed again; DD_NEVER: it is in */
    dd_upkeep_due dressing, set, device;
    bool in_use;         /* something flows on it by now */
} dd_upkeep;

dd_upkeep dd_upkeep_of(const dd_timeline *timeline, int line);
bool dd_upkeep_is_off(const dd_timeline *timeline, int line); /* taken out by the chart and not placed again */

/* The look at the site that is due next: the first one after a start on a line that was still or of a drug that is new, else the next
 * while anything runs, else that of a locked line. Only by what flowed up to now. every 0: no rule, or an enteral line that no rule
 * names. */
dd_upkeep_due dd_upkeep_look(const dd_timeline *timeline, int line, const dd_upkeep *care);

#endif
