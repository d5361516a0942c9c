/* trace.h - what one run really did: from its charted start to now, by the events about it.
 *
 * Between two fixed points (the start, each reading, and where the level in the bag is read each bag change) the run flows as it was
 * set, and what flowed is scaled to meet the second one: neither the volume nor an empty bag stops it there. After the last
 * fixed point it flows as set until its volume is in or the bag that is up is empty.
 *
 * A run that started before the plan began is worked out from there. What flowed then has left its bags and counts towards its
 * volume, and stands nowhere: the plan shows its own window. */
#ifndef DD_TRACE_H
#define DD_TRACE_H

#include "history.h"
#include "meter.h"

#define DD_NOT_CHARTED ((size_t)-1)

/* Something about one run: an event of the chart, or the start of another run that ends it. */
typedef struct dd_touch {
    dd_moment at;
    size_t event;  /* index into the history; DD_NOT_CHARTED: ended by another */
    int16_t order; /* that other */
    int16_t line;  /* ended only while it is on this line; -1: whatever the line */
    bool replaced; /* by an order that replaces it */
} dd_touch;

typedef struct dd_trace {
    const dd_order *order;
    dd_moment start, due, end; /* end: DD_NEVER while it has not ended */
    int16_t index, line;       /* line: where it is now */
    int32_t occurrence;
    bool repeated, paused;
    bool over;                 /* its volume is in, or it has ended otherwise */
    bool ended;                /* by the chart: stopped, or by the start of another */
    uint8_t why;
    int64_t given;             /* u from bags since its start */
    int64_t given_before;      /* of those, before the plan began */
    int64_t flow_seconds;
    dd_rate rate;              /* as set now */
    bool charted_rate;
    bool rate_after_reading;   /* charted at or after the last reading */
    dd_reading *reading;       /* the last one that counts, or NULL */
    int32_t drops;
    int32_t bag;               /* number of the last bag */
    size_t bag_record;
    int64_t bag_left, bag_held; /* u in the bag that is up, now and when it went up */
    dd_moment bag_up;
    bool bag_is_up;
    bool bag_was_read;         /* a reading has been about the bag that is up */
    int64_t flush_left;
    dd_moment flush_from;
    dd_moment empty_since;     /* the bag ran empty and no next one was charted; DD_NEVER */
    const dd_touch *touches;
    size_t touch_count;
    const dd_gap_of_line *const *stops; /* per line: when a dose keeps it from flowing; NULL: nothing does */
    const size_t *stop_count;
    int64_t inherited;         /* u in the bag taken over from the order it replaces; 0: none */
    dd_moment inherited_up;
} dd_trace;

/* Works it out. Its flows and bags are written into the work as charted ones. */
DD_MUST_USE dd_status dd_trace_run(dd_work *work, dd_history *history, dd_trace *trace);

#endif
