/* set.h - what a device can be set to for an ordered rate. Pure. */
#ifndef DD_SET_H
#define DD_SET_H

#include "daydrip/quantity.h"

/* All rates are uL/h, from 0 to DD_RATE_MOST_UL_H; steps are above 0; a drop factor is drops per mL x 10^6, above 0.
 * DD_TOO_LARGE: something is outside; results are as they were. */

/* A pump or syringe: the ordered rate to a multiple of step_ul_h, half up, at least one step (0 stays 0). */
DD_MUST_USE dd_status dd_set_pump(dd_ratio ul_per_h, int64_t step_ul_h, dd_rate *out);

/* A gravity set: whole drops per minute, half up, at least 1 (0 stays 0), and the rate that they deliver. */
DD_MUST_USE dd_status dd_set_gravity(dd_ratio ul_per_h, int64_t drop_factor_micro, int32_t *drops, dd_rate *out);

/* What `drops` per minute deliver: drops x 60 / (drops per mL) mL/h, half up to the nearest uL/h. */
DD_MUST_USE dd_status dd_set_drops(int32_t drops, int64_t drop_factor_micro, dd_rate *out);

/* The exact drops per minute of a rate. */
DD_MUST_USE dd_status dd_set_exact_drops(dd_ratio ul_per_h, int64_t drop_factor_micro, dd_ratio *out);

#endif
