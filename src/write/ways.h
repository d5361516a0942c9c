/* ways.h - an infusion that is behind or ahead: how it ran, and the ways to go on. */
#ifndef DD_WAYS_H
#define DD_WAYS_H

#include "bytes.h"
#include "daydrip/timeline.h"

/* A line each, from 0 on: `it ran at 17.7 drops/min since Wed 15:00, set to 21 drops/min`; how it is carried on; which rate would end it on
 * time, or why none is offered. False: no more lines; at once for a finding about anything else. */
bool dd_ways_line(dd_bytes *out, const dd_timeline *timeline, const dd_finding *finding, int line);

#endif
