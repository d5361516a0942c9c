/* ways.h - what is to be done about a finding: an infusion that is behind or ahead, how it ran and the ways to go on; a dose of which nobody
 * knows, how it is charted. */
#ifndef DD_WAYS_H
#define DD_WAYS_H

#include "bytes.h"
#include "daydrip/timeline.h"

/* A line each, from 0 on: `it ran at 17.7 drops/min since Wed 15:00, set to 21 drops/min`; how it is carried on; which rate would end it on
 * time, or why none is offered. False: no more lines; at once for a finding about anything else. */
bool dd_ways_line(dd_bytes *out, const dd_timeline *timeline, const dd_finding *finding, int line);

/* Of a dose of which nobody knows: what it is to be charted as, a line of words and then the command each; as above. */
bool dd_ways_chart(dd_bytes *out, const dd_timeline *timeline, const dd_finding *finding, int line);

#endif
