/* changes.h - what an entry of the chart changes in the plan: which bag now runs dry when, when the next dose is. */
#ifndef DD_CHANGES_H
#define DD_CHANGES_H

#include "daydrip/write.h"

/* Appends a line for each thing that is different in `after`: the same patient, the same now, one or more entries later. Nothing where
 * nothing is. */
DD_MUST_USE dd_status dd_changes_write(const dd_timeline *before, const dd_timeline *after, dd_bytes *out);

#endif
