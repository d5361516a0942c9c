/* meter.h - one run of an order, seen alone: its bags, its steps and its flush, second by second of flow.
 *
 * A meter knows nothing of clocks but the moment it is told. In each second in which it flows a bag gives rate x 1 s, or
 * what is left in it, or what the run still has to give, whichever is least; an empty bag is followed by the next one in
 * the next second. So a bag, like a run, is rounded up to a whole second. */
#ifndef DD_METER_H
#define DD_METER_H

#include "daydrip/timeline.h"

typedef struct dd_meter {
    const dd_order *order;
    const dd_set_rate *rates; /* settable rate of each step */
    int64_t to_go;     /* u the run still has to give from bags; INT64_MAX: no volume */
    int64_t flush_left; /* u of flush, after the bags */
    int64_t bag_left;  /* u in the bag that is up; 0: none is, or it is empty */
    int64_t step_left; /* seconds of flow to the next step; INT64_MAX: none */
    dd_moment bag_up;  /* when the bag that is up went up */
    int32_t bag;       /* its number; 0 before the first */
    uint16_t step;
    bool bag_is_up;    /* false before the first bag and once one is empty */
} dd_meter;

/* A meter at the beginning of a run, nothing hung yet. `number`: of the first bag. */
void dd_meter_begin(dd_meter *m, const dd_order *order, const dd_set_rate *rates, int32_t number);
bool dd_meter_in_flush(const dd_meter *m);
bool dd_meter_done(const dd_meter *m);
dd_rate dd_meter_rate(const dd_meter *m);
/* Seconds of flow until something changes: bag or flush empty, volume in, next step. At least 1; INT64_MAX: never. The bag must be up
 * where one is needed. */
int64_t dd_meter_next(const dd_meter *m);
/* Lets it flow for `seconds`, at most dd_meter_next. Returns the u given. */
int64_t dd_meter_flow(dd_meter *m, int64_t seconds);
/* Hangs the next bag at `at`; *hung and *prime get its volume and what priming the set lost, in u. A bag already hanging
 * went up at order->hung, else (nobody knows) at `at`. */
void dd_meter_hang(dd_meter *m, dd_moment at, int64_t *hung, int64_t *prime);
/* When the bag that is up reaches its hang time; INT64_MAX: never. */
dd_moment dd_meter_limit(const dd_meter *m);
/* Seconds a run takes when nothing interrupts it, bag and flush each rounded up. INT64_MAX: it does not end. */
int64_t dd_meter_length(const dd_order *order, const dd_set_rate *rates);
/* The same for what is left of one, from a moment on. */
int64_t dd_meter_rest(const dd_meter *m, dd_moment from);
/* u a run has to give: min(volume, n x bag - prime) - given; INT64_MAX: no volume. */
int64_t dd_meter_to_give(const dd_order *order);

#endif
