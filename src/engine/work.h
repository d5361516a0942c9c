/* work.h - what the parts of the engine share while one timeline is made. */
#ifndef DD_WORK_H
#define DD_WORK_H

#include "arena.h"
#include "daydrip/timeline.h"

typedef struct dd_work {
    const dd_plan *plan;
    const dd_patient *patient;
    dd_moment now, known;
    dd_moment from;        /* where the plan begins: begins, or now where the chart counts */
    struct dd_history *history; /* NULL: everything is planned */
    const struct dd_history *chart; /* the same, where no entry is about an order too: for what was taken in */
    const dd_set_rate *remainder; /* the rate that an order with the rate `remainder` has anyway; NULL: it is worked out */
    dd_arena *arena;
    dd_set_rate **rates;   /* per order, per step; the remainder's is filled in between */
    dd_moment *dropped_from; /* per order: from then on its doses are another order's; DD_NEVER */
    dd_flow *flows;
    size_t flow_count, flow_room;
    dd_bag *bags;
    size_t bag_count, bag_room;
    dd_run *runs;
    size_t run_count, run_room;
    dd_mark *marks;
    size_t mark_count, mark_room;
    dd_finding *findings;
    size_t finding_count, finding_room;
    dd_unchecked *unchecked;
    size_t unchecked_count, unchecked_room;
    dd_moment remainder_ended; /* where nothing is left for it: when it gave its line back while it still flowed; DD_NEVER */
    bool in_order; /* a line's doses were placed without overtaking */
    bool trial;    /* a timeline that only tries out another rate */
} dd_work;

/* The engine has no message for running out of memory: a false from here ends in DD_NO_MEMORY. Each makes room for one more,
 * zeroed, and returns it; NULL: no memory. The pointer holds until the next call of the same function. */
DD_MUST_USE dd_flow *dd_work_flow(dd_work *w);
DD_MUST_USE dd_bag *dd_work_bag(dd_work *w);
DD_MUST_USE dd_run *dd_work_run(dd_work *w);
DD_MUST_USE dd_mark *dd_work_mark(dd_work *w);
/* A finding with its built-in severity, about order and line (-1: none), at a moment; figure and limit blank. */
DD_MUST_USE dd_finding *dd_work_finding(dd_work *w, dd_finding_code code, int order, int line, dd_moment at);

/* A finding of a rule: with the rule's severity where it has one. Rule NULL: as above. */
DD_MUST_USE dd_finding *dd_work_finding_by(dd_work *w, dd_finding_code code, const dd_rule *rule, int order, int line, dd_moment at);
/* Notes that `code` was not looked for, once for each order (-1: the patient). False: no memory. */
DD_MUST_USE bool dd_work_unchecked(dd_work *w, dd_finding_code code, dd_want want, int order);
/* The same of a line; and of the patient where something is known all the same: the figure is at least so much. */
DD_MUST_USE bool dd_work_unchecked_line(dd_work *w, dd_finding_code code, dd_want want, int line);
DD_MUST_USE bool dd_work_unchecked_but(dd_work *w, dd_finding_code code, dd_want want, dd_quantity least);

/* Whether a figure passes its limit, by more than the hundredth part of it or than `step` (one step of the device for the time it ran),
 * whichever is larger. All in one unit, none below 0. */
bool dd_work_above(dd_ratio figure, dd_ratio limit, dd_ratio step);
bool dd_work_below(dd_ratio figure, dd_ratio limit, dd_ratio step);

/* One step of the order's device, uL/h: what a limit on a rate may be missed by. A drop a minute on a gravity set, rounded up. */
int64_t dd_work_step(const dd_order *order);

/* Figures of findings. */
dd_quantity dd_work_quantity(int64_t micro, dd_unit unit); /* the number x 10^6 */
dd_quantity dd_work_ml(int64_t u);            /* u, half up to the uL */
dd_quantity dd_work_minutes(int64_t seconds); /* to the second */
dd_quantity dd_work_percent(int64_t part, int64_t whole); /* half up to 0.01; whole above 0 */

#endif
