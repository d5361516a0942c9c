/* upkeep.h - what a line needs beside what flows in it: a new set, a new dressing, a new device; looks stand in care.h. By the rules in force,
 * from what lines.csv and the chart say; of a finished timeline. */
#ifndef DD_UPKEEP_H
#define DD_UPKEEP_H

#include "daydrip/rule.h"
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

/* `since` and what a rule makes of it. */
dd_upkeep_due dd_upkeep_from(const dd_rule *rule, dd_moment since);
/* The rule for a line. Rules without a word are about veins: they do not hold for a feeding tube. */
const dd_rule *dd_upkeep_rule(const dd_timeline *timeline, dd_rule_id id, int line);
bool dd_upkeep_found_hanging(const dd_timeline *timeline, int order); /* its first bag was up when the plan began */
/* Whether the run that the flow belongs to had begun before the plan. */
bool dd_upkeep_ran_before(const dd_timeline *timeline, const dd_flow *flow);

#endif
