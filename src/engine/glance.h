/* glance.h - what a finished timeline says at a glance: what flows on a line, which bag is up, when it may be dry. */
#ifndef DD_GLANCE_H
#define DD_GLANCE_H

#include "daydrip/timeline.h"

/* Where an order's run on a line is of its own: neither repeated nor a piggyback. */
bool dd_glance_is_infusion(const dd_order *order);
bool dd_glance_flows(const dd_timeline *timeline, int line, dd_moment at); /* anything flows on the line in that second */
/* The first run that starts on the line at or after `from`, or NULL. */
const dd_run *dd_glance_next_run(const dd_timeline *timeline, int line, dd_moment from);
/* The bag of an infusion that is up at the timeline's `now`, or NULL. */
const dd_bag *dd_glance_bag_now(const dd_timeline *timeline, int order);
/* What is in a bag now, or in one that is still to go up once it is primed, in u; *since: from when on it is counted, DD_NEVER where that
 * is not known. */
int64_t dd_glance_left(const dd_timeline *timeline, const dd_bag *bag, dd_moment *since);
/* What should be in the bag at `at`, now or later. False: it is not up then, is empty, or nobody knows since when it is counted. */
bool dd_glance_level(const dd_timeline *timeline, const dd_bag *bag, dd_moment at, dd_u *left);
/* When a bag that is up, or is still to go up, runs dry if its gravity set runs faster or slower than counted by the rule
 * gravity-spread. False: it is no gravity bag, is over, or comes down before it could be dry. */
bool dd_glance_spread(const dd_timeline *timeline, const dd_bag *bag, dd_moment *fast, dd_moment *slow);
/* How much faster or slower that is, in per cent x 10^6; 0: no rule. */
int64_t dd_glance_spread_share(const dd_timeline *timeline, int order);
/* When the next bag of any infusion runs dry from `now` on (gravity: at the earliest), and of which order; DD_NEVER: none within
 * the plan. */
dd_moment dd_glance_dry_first(const dd_timeline *timeline, int *order);
/* Whether the run of an infusion begins with a bag that was up before. */
bool dd_glance_keeps_bag(const dd_timeline *timeline, const dd_run *run);
/* Why the line is stopped by a planned interruption, or NULL: nobody said. */
const char *dd_glance_pause_reason(const dd_timeline *timeline, const dd_mark *mark);
/* The rate that the mark changes from, uL/h; 0: nothing flowed before. */
int64_t dd_glance_rate_before(const dd_timeline *timeline, const dd_mark *mark);

#endif
