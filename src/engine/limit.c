#include "limit.h"

/* q's number left out: what 1 of its unit comes to per hour. */
static dd_status hourly_unit(dd_quantity q, dd_dimension wanted, int64_t weight_mg, dd_ratio *out, dd_want *missing)
{
    dd_ratio below, hour = {3600, 1};
    dd_dimension is = dd_quantity_dimension(q.unit);
    if (is == DD_DIM_CHARGE && wanted == DD_DIM_MOLE)
        is = wanted;
    bool fits = is == wanted && dd_quantity_dimension(q.per) == DD_DIM_TIME;
    *missing = fits ? DD_WANT_WEIGHT : DD_WANT_UNIT;
    if (!fits || (q.per_kg && weight_mg == DD_UNKNOWN))
        return DD_BAD_INPUT;
    q.micro = 1000000;
    dd_status status = dd_quantity_exact(q, out);
    if (status == DD_OK)
        status = dd_quantity_below(q, &below);
    if (status == DD_OK)
        status = dd_ratio_over(hour, below, &hour);
    if (status == DD_OK)
        status = dd_ratio_times(*out, hour, out);
    return status == DD_OK && q.per_kg ? dd_ratio_times(*out, (dd_ratio){weight_mg, 1000000}, out) : status;
}

dd_status dd_limit_hourly(dd_quantity q, dd_dimension wanted, int64_t weight_mg, dd_ratio *out, dd_want *missing)
{
    dd_status status = hourly_unit(q, wanted, weight_mg, out, missing);
    return status == DD_OK ? dd_ratio_times(*out, (dd_ratio){q.micro, 1000000}, out) : status;
}

dd_status dd_limit_figure(dd_ratio hourly, dd_quantity like, dd_dimension wanted, int64_t weight_mg, dd_quantity *out)
{
    dd_ratio unit;
    dd_want missing;
    *out = like;
    dd_status status = hourly_unit(like, wanted, weight_mg, &unit, &missing);
    if (status == DD_OK)
        status = dd_ratio_over(hourly, unit, &unit);
    if (status == DD_OK)
        status = dd_ratio_times(unit, (dd_ratio){1000000, 1}, &unit);
    return status == DD_OK ? dd_ratio_half_up(unit, 1000, &out->micro) : status;
}

static dd_ratio tolerance(dd_ratio limit, dd_ratio step)
{
    dd_ratio share;
    if (dd_ratio_times(limit, (dd_ratio){1, 100}, &share) != DD_OK)
        return step;
    return dd_ratio_compare(step, share) > 0 ? step : share;
}

/* Where the sum does not fit, nothing is forgiven. */
bool dd_limit_above(dd_ratio value, dd_ratio limit, dd_ratio step)
{
    dd_ratio edge;
    if (dd_ratio_plus(limit, tolerance(limit, step), &edge) != DD_OK)
        edge = limit;
    return dd_ratio_compare(value, edge) > 0;
}

bool dd_limit_below(dd_ratio value, dd_ratio limit, dd_ratio step)
{
    dd_ratio edge;
    if (dd_ratio_minus(limit, tolerance(limit, step), &edge) != DD_OK)
        edge = limit;
    return dd_ratio_compare(value, edge) < 0;
}

dd_status dd_limit_percent(dd_ratio share, dd_quantity *out)
{
    *out = (dd_quantity){.per_micro = 1000000, .unit = DD_UNIT_PERCENT, .per = DD_UNIT_NONE};
    dd_status status = dd_ratio_times(share, (dd_ratio){100000000, 1}, &share);
    return status == DD_OK ? dd_ratio_half_up(share, 10000, &out->micro) : status;
}
