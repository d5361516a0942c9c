/* rates.h - what each order's device is set to, and the rate that the allowance leaves. */
#ifndef DD_RATES_H
#define DD_RATES_H

#include "work.h"

/* Fills work->rates: every step of every order; the remainder's one entry with one device step, for the first pass. */
DD_MUST_USE dd_status dd_rates_make(dd_work *work);
/* What the order's device is set to for a rate in uL/h. */
DD_MUST_USE dd_status dd_rates_settable(const dd_order *order, dd_ratio ordered, dd_set_rate *out);
/* Rates that cannot be set close enough to the ordered ones. */
DD_MUST_USE dd_status dd_rates_judge(dd_work *work);

typedef struct dd_rates_left {
    int64_t others_u;  /* what everything else puts in, in the window */
    int64_t seconds;   /* T: seconds in which the remainder order flows */
} dd_rates_left;

/* The remainder's rate from a pass in which it flowed at any rate: floor to the device step of what is left of the allowance,
 * over T. 0 where nothing is left. `beside_u` is taken off as well. */
DD_MUST_USE dd_status dd_rates_remainder(dd_work *work, int order, int64_t beside_u, dd_rates_left *left);
/* u of doses of which nobody knows whether they were given. */
int64_t dd_rates_unknown_doses(const dd_work *work);

#endif
