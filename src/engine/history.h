/* history.h - the chart of one patient as far as it counts: what had happened by `now` and was written down by `known`. */
#ifndef DD_HISTORY_H
#define DD_HISTORY_H

#include "place.h"
#include "work.h"

typedef struct dd_history dd_history;
struct dd_history {
    const dd_event **events; /* those that count, by time, then row */
    size_t count;
    bool *impossible;        /* per event: it cannot be, and does not count */
    size_t later;            /* entries from after `now` that were written down by `known` */
    size_t unwritten;        /* entries written down after `known` */
    bool about_orders;       /* some are: the chart counts for this patient */
    dd_gap_of_line **off;    /* per line: from `removed` to the next `placed`; the last may have no end (DD_FOR_EVER) */
    size_t *off_count;
};

#define DD_FOR_EVER ((dd_moment)1 << 60)

DD_MUST_USE dd_status dd_history_make(dd_work *work, dd_history *out);
/* An event that cannot be: a finding, once. */
DD_MUST_USE dd_status dd_history_impossible(dd_work *work, dd_history *history, size_t event);
/* The u of a charted intake or output; grams count as mL (a weighed nappy). False: it was not measured. */
bool dd_history_measure(const dd_event *event, int64_t *u);
/* Whether t lies in one of the gaps; *next is lowered to the first edge after t. */
bool dd_history_in(const dd_gap_of_line *gaps, size_t count, dd_moment t, dd_moment *next);

#endif
