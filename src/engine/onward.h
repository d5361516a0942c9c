/* onward.h - the same orders in a plan that ends later. */
#ifndef DD_ONWARD_H
#define DD_ONWARD_H

#include "work.h"

/* While the findings of a timeline are made: its orders carried on to the first whole hour from the plan's beginning at or after
 * `until`, as dd_timeline_onward does. */
DD_MUST_USE dd_status dd_onward_make(const dd_work *work, dd_moment until, dd_timeline *out);

#endif
