/* total.h - how much of a flow was in by a moment. */
#ifndef DD_TOTAL_H
#define DD_TOTAL_H

#include "daydrip/timeline.h"

/* u of a flow in [from, to). Only its last second may give less than its rate. */
int64_t dd_total_given(const dd_flow *flow, dd_moment from, dd_moment to);

#endif
