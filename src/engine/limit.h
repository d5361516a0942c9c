/* limit.h - comparing what was worked out with what a rule says, exactly and with the one tolerance. */
#ifndef DD_LIMIT_H
#define DD_LIMIT_H

#include "daydrip/timeline.h"

/* What a rate written in a rule comes to for a patient, per hour, in the size of its dimension (uL, ng, umol; milliequivalents of an
 * ion of one charge count as millimoles). DD_BAD_INPUT: it cannot be said for want of *missing, a weight, or because the unit is not a
 * `wanted` per time. */
DD_MUST_USE dd_status dd_limit_hourly(dd_quantity q, dd_dimension wanted, int64_t weight_mg, dd_ratio *out, dd_want *missing);
/* An hourly figure written as the rule's value is, half up to the third decimal. */
DD_MUST_USE dd_status dd_limit_figure(dd_ratio hourly, dd_quantity like, dd_dimension wanted, int64_t weight_mg, dd_quantity *out);

/* Beyond the limit by more than the tolerance: 1 % of the limit, or what one step of the device comes to, whichever is larger. */
bool dd_limit_above(dd_ratio value, dd_ratio limit, dd_ratio step);
bool dd_limit_below(dd_ratio value, dd_ratio limit, dd_ratio step);

/* A share as per cent, half up to 0.01. */
DD_MUST_USE dd_status dd_limit_percent(dd_ratio share, dd_quantity *out);

#endif
