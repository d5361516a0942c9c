#include "set.h"

/* uL/h x (drops/mL x 10^6) is this many times drops per minute: 1000 uL in a mL, 60 min in an hour, 10^6 in a micro. */
#define DROPS_SCALE INT64_C(60000000000)

static bool possible(dd_ratio ul_per_h)
{
    return ul_per_h.num >= 0 && ul_per_h.den > 0 &&
        dd_ratio_compare(ul_per_h, (dd_ratio){DD_RATE_MOST_UL_H, 1}) <= 0;
}

dd_status dd_set_pump(dd_ratio ul_per_h, int64_t step_ul_h, dd_rate *out)
{
    int64_t set;
    if (step_ul_h <= 0 || !possible(ul_per_h) || dd_ratio_half_up(ul_per_h, step_ul_h, &set) != DD_OK)
        return DD_TOO_LARGE;
    if (set < step_ul_h && ul_per_h.num > 0)
        set = step_ul_h;
    out->ul_per_h = set;
    return DD_OK;
}

dd_status dd_set_exact_drops(dd_ratio ul_per_h, int64_t drop_factor_micro, dd_ratio *out)
{
    dd_ratio factor;
    if (drop_factor_micro <= 0 || !possible(ul_per_h) || dd_ratio_make(drop_factor_micro, DROPS_SCALE, &factor) != DD_OK)
        return DD_TOO_LARGE;
    return dd_ratio_times(ul_per_h, factor, out);
}

dd_status dd_set_drops(int32_t drops, int64_t drop_factor_micro, dd_rate *out)
{
    dd_ratio exact;
    int64_t rate;
    if (drops < 0 || drop_factor_micro <= 0 ||
        dd_ratio_make((dd_int128)drops * DROPS_SCALE, drop_factor_micro, &exact) != DD_OK ||
        dd_ratio_half_up(exact, 1, &rate) != DD_OK || rate > DD_RATE_MOST_UL_H)
        return DD_TOO_LARGE;
    out->ul_per_h = rate;
    return DD_OK;
}

dd_status dd_set_gravity(dd_ratio ul_per_h, int64_t drop_factor_micro, int32_t *drops, dd_rate *out)
{
    dd_ratio exact;
    int64_t whole;
    dd_status status = dd_set_exact_drops(ul_per_h, drop_factor_micro, &exact);
    if (status != DD_OK || dd_ratio_half_up(exact, 1, &whole) != DD_OK || whole > INT32_MAX)
        return DD_TOO_LARGE;
    if (whole < 1 && ul_per_h.num > 0)
        whole = 1;
    status = dd_set_drops((int32_t)whole, drop_factor_micro, out);
    if (status == DD_OK)
        *drops = (int32_t)whole;
    return status;
}
