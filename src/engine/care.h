/* care.h - the looks at sites that are to come, and the rounds of a team that they are gathered into; of a finished timeline. What is
 * known of a line, and by when its set and dressing are due: upkeep.h. */
#ifndef DD_CARE_H
#define DD_CARE_H

#include "arena.h"
#include "daydrip/timeline.h"
#include "daydrip/visit.h"
#include "upkeep.h"

/* By when a site must be looked at next, by what flowed up to now: the first look after a start on a line that was still or new, or of a
 * drug that is new, else the next while anything runs, else that of a locked line. every 0: no rule, or an enteral line that no rule names.
 * `known`: of dd_upkeep_of. */
dd_upkeep_due dd_care_look(const dd_timeline *timeline, int line, const dd_upkeep *known);

/* One look at a site; of an enteral line, at the tube. */
typedef struct dd_look {
    dd_moment at;               /* planned: at a round where one is in time */
    dd_moment earliest, latest; /* when it may be done, `latest` included */
    const dd_run *first_of;     /* the first look after this start; NULL: one of the regular looks */
    int32_t moved;              /* first_of came to flow here in its midst: this tells the look from others after that start; 0: it started */
    int16_t line;
    bool round;                 /* at a round of the team */
} dd_look;

/* Every look from `from` (or from the plan's beginning where that is later) to the plan's end, by line, then time:
 *  - at a site on which anything runs, the last round in time by the rule site-check, so that no longer than that passes; on a line
 *    that is still, by site-check-locked; where no round is in time, at the latest time itself. One that is overdue by what is charted is
 *    due at `from`. Where nothing is charted, they are counted from `from`, when one shift gives over to the next;
 *  - the first look after a start, by site-check-first: on a line that was still, or of a drug that is new; and by the chart after what runs
 *    was moved here, or goes on where the line was placed anew. It is done on a round that is early by no more than the rule check-early,
 *    else in the fewest visits to the bed, `others` (whose `at` is set) included. */
DD_MUST_USE dd_status dd_care_looks(const dd_timeline *timeline, dd_moment from, const dd_visit_span *others, size_t other_count, dd_arena *arena,
    const dd_look **looks, size_t *count);

/* The last round at or before `until`, and after `after`; DD_NEVER: there is none. */
dd_moment dd_care_round(const dd_timeline *timeline, int line, dd_moment after, dd_moment until);
int64_t dd_care_every(const dd_timeline *timeline, int line); /* how far apart the rounds are, seconds; 0: there are none */
/* How long before its latest time a look may be done, seconds. */
int64_t dd_care_early(const dd_timeline *timeline, int line);

#endif
