#include "worked.h"

#include "need.h"
#include "set.h"

#define DAY_S INT64_C(86400)

typedef struct work {
    const dd_worked_inputs *in;
    dd_worked *out;
    dd_worked_option *about;
} work;

static bool has(dd_quantity q)
{
    return q.unit != DD_UNIT_NONE;
}

static dd_worked_fault fault(work *w, dd_worked_fault what, dd_worked_option first, dd_worked_option second)
{
    w->about[0] = first;
    w->about[1] = second;
    return what;
}

static dd_ratio whole(int64_t n)
{
    return (dd_ratio){n, 1};
}

/* Sets a figure to a x b, a / b, ... and marks it known; false where it does not fit. */
static bool set_times(dd_worked_figure *f, dd_ratio a, dd_ratio b)
{
    return f->has = dd_ratio_times(a, b, &f->exact) == DD_OK;
}

static bool set_over(dd_worked_figure *f, dd_ratio a, dd_ratio b)
{
    return f->has = dd_ratio_over(a, b, &f->exact) == DD_OK;
}

static bool set_plus(dd_worked_figure *f, dd_ratio a, dd_ratio b)
{
    return f->has = dd_ratio_plus(a, b, &f->exact) == DD_OK;
}

static bool set_minus(dd_worked_figure *f, dd_ratio a, dd_ratio b)
{
    return f->has = dd_ratio_minus(a, b, &f->exact) == DD_OK;
}

/* One unit in its dimension's size. */
static dd_ratio one(uint8_t unit)
{
    dd_ratio r = {1, 1};
    dd_quantity q = {.micro = 1000000, .per_micro = 1000000, .unit = unit};
    return dd_quantity_exact(q, &r) == DD_OK ? r : (dd_ratio){1, 1};
}

static bool written(dd_worked_figure *f, dd_quantity q)
{
    return !has(q) || (f->has = dd_quantity_exact(q, &f->exact) == DD_OK);
}

/* A quantity per time, to per hour, in its dimension's size; a part per kg is left as it is. */
static bool hourly(dd_quantity q, dd_worked_figure *f)
{
    dd_ratio above, below;
    return dd_quantity_exact(q, &above) == DD_OK && dd_quantity_below(q, &below) == DD_OK && set_times(f, above, whole(3600)) &&
        set_over(f, f->exact, below);
}

/* ---- the inputs ---- */

static dd_worked_fault read_plain(work *w)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    if (has(in->weight)) {
        dd_ratio exact;
        if (dd_quantity_exact(in->weight, &exact) != DD_OK || !set_over(&out->weight, exact, one(DD_UNIT_KG)))
            return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_WEIGHT, DD_WORKED_WEIGHT);
    }
    if (!written(&out->over, in->over))
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_OVER, DD_WORKED_OVER);
    if (!written(&out->volume, in->volume))
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_VOLUME, DD_WORKED_VOLUME);
    if (in->volume.per_kg && !out->weight.has)
        return fault(w, DD_WORKED_NEEDS, DD_WORKED_VOLUME, DD_WORKED_WEIGHT);
    if (in->volume.per_kg && !set_times(&out->volume, out->volume.exact, out->weight.exact))
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_VOLUME, DD_WORKED_VOLUME);
    if (out->volume.has)
        out->volume_by = DD_WORKED_BY_VOLUME;
    if (!written(&out->given, in->given) || !written(&out->left, in->left))
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_GIVEN, DD_WORKED_LEFT);
    if (out->given.has)
        out->given_by = DD_WORKED_BY_VOLUME;
    if (has(in->strength)) {
        dd_ratio amount, below, number;
        if (dd_ratio_make(in->strength.micro, 1000000, &number) != DD_OK || dd_quantity_below(in->strength, &below) != DD_OK ||
            dd_ratio_over(below, one(DD_UNIT_ML), &amount) != DD_OK || !set_over(&out->strength, number, amount))
            return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_STRENGTH, DD_WORKED_STRENGTH);
    }
    return DD_WORKED_FINE;
}

/* ---- ways to a rate ---- */

static dd_worked_fault rate_as_written(work *w, dd_worked_figure *rate)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    dd_quantity q = in->rate;
    dd_dimension dimension = dd_quantity_dimension(q.unit);
    if ((q.per_kg || dimension == DD_DIM_PERCENT) && !out->weight.has)
        return fault(w, DD_WORKED_NEEDS, DD_WORKED_RATE, DD_WORKED_WEIGHT);
    bool fits;
    if (dimension == DD_DIM_PERCENT) {
        dd_ratio share;
        int64_t mg;
        fits = dd_quantity_grams(in->weight, &mg) == DD_OK && dd_need_maintenance(mg, &out->maintenance.exact) == DD_OK &&
            dd_ratio_make(q.micro, INT64_C(2400) * 1000000, &share) == DD_OK && set_times(rate, out->maintenance.exact, share);
        out->maintenance.has = fits;
    } else if (dimension == DD_DIM_DROPS) {
        dd_ratio each;
        if (in->drop_factor_micro <= 0)
            return fault(w, DD_WORKED_NEEDS, DD_WORKED_RATE, DD_WORKED_SET);
        /* drops per hour, each 1 mL / drop factor */
        fits = hourly(q, rate) && dd_ratio_make(INT64_C(1000) * 1000000, in->drop_factor_micro, &each) == DD_OK && set_times(rate, rate->exact, each);
    } else {
        fits = hourly(q, rate) && (!q.per_kg || set_times(rate, rate->exact, out->weight.exact));
    }
    return fits ? DD_WORKED_FINE : fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_RATE, DD_WORKED_RATE);
}

/* dose x weight / strength */
static dd_worked_fault rate_by_dose(work *w, dd_worked_figure *rate)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    if (dd_quantity_dimension(in->dose.unit) != dd_quantity_dimension(in->strength.unit))
        return fault(w, DD_WORKED_OTHER_KIND, DD_WORKED_DOSE, DD_WORKED_STRENGTH);
    if (in->dose.per_kg && !out->weight.has)
        return fault(w, DD_WORKED_NEEDS, DD_WORKED_DOSE, DD_WORKED_WEIGHT);
    if (!hourly(in->dose, &out->dose_hourly) || (in->dose.per_kg && !set_times(&out->dose_hourly, out->dose_hourly.exact, out->weight.exact)) ||
        !set_over(&out->dose_hourly, out->dose_hourly.exact, one(in->strength.unit)) ||
        !set_times(rate, out->dose_hourly.exact, one(DD_UNIT_ML)) || !set_over(rate, rate->exact, out->strength.exact))
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_DOSE, DD_WORKED_DOSE);
    return DD_WORKED_FINE;
}

static dd_status settable(const dd_worked_inputs *in, dd_ratio rate, dd_rate *set, int32_t *drops)
{
    *drops = 0;
    return in->drop_factor_micro > 0 ? dd_set_gravity(rate, in->drop_factor_micro, drops, set) : dd_set_pump(rate, in->step_ul_h, set);
}

static dd_worked_option option_of(dd_worked_way way)
{
    return way == DD_WORKED_BY_DOSE ? DD_WORKED_DOSE : way == DD_WORKED_BY_RATE ? DD_WORKED_RATE : DD_WORKED_OVER;
}

/* Takes a way to the rate: the first that comes is kept, the others must lead to the same setting. */
static dd_worked_fault take_rate(work *w, dd_ratio rate, dd_worked_way way)
{
    dd_worked *out = w->out;
    dd_rate set;
    int32_t drops;
    if (settable(w->in, rate, &set, &drops) != DD_OK)
        return fault(w, DD_WORKED_TOO_LARGE, option_of(way), option_of(way));
    if (out->rate.has) {
        out->clash_by = way;
        out->clash = rate;
        return set.ul_per_h == out->set.ul_per_h && drops == out->drops ? DD_WORKED_FINE
                                                                        : fault(w, DD_WORKED_DISAGREE, option_of(out->rate_by), option_of(way));
    }
    out->rate = (dd_worked_figure){rate, true};
    out->rate_by = way;
    out->set = set;
    out->drops = drops;
    return DD_WORKED_FINE;
}

static dd_worked_fault find_rate(work *w)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    dd_worked_figure rate = {0};
    dd_worked_fault wrong = DD_WORKED_FINE;
    if (has(in->over) && (has(in->left) || has(in->volume))) {
        /* uL / s x 3600 */
        if (!set_over(&rate, has(in->left) ? out->left.exact : out->volume.exact, out->over.exact) || !set_times(&rate, rate.exact, whole(3600)))
            return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_OVER, DD_WORKED_OVER);
        wrong = take_rate(w, rate.exact, has(in->left) ? DD_WORKED_BY_LEFT : DD_WORKED_BY_VOLUME);
    }
    if (wrong == DD_WORKED_FINE && has(in->dose) && has(in->strength)) {
        wrong = rate_by_dose(w, &rate);
        if (wrong == DD_WORKED_FINE)
            wrong = take_rate(w, rate.exact, DD_WORKED_BY_DOSE);
    }
    if (wrong == DD_WORKED_FINE && has(in->rate)) {
        wrong = rate_as_written(w, &rate);
        if (wrong == DD_WORKED_FINE)
            wrong = take_rate(w, rate.exact, DD_WORKED_BY_RATE);
    }
    if (wrong == DD_WORKED_FINE && out->rate.has && in->drop_factor_micro > 0) {
        out->drops_exact.has = dd_set_exact_drops(out->rate.exact, in->drop_factor_micro, &out->drops_exact.exact) == DD_OK;
        if (!out->drops_exact.has)
            return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_SET, DD_WORKED_SET);
    }
    return wrong;
}

/* ---- times and volumes ---- */

/* The first `clock` at or after `from`, or the last at or before it. */
static int64_t near(int64_t from, int64_t clock, bool after)
{
    int64_t ahead = ((clock - from) % DAY_S + DAY_S) % DAY_S;
    return after || ahead == 0 ? from + ahead : from + ahead - DAY_S;
}

/* Start and `at` on one line of time; where neither has a date, day 0 is that of the start. */
static dd_worked_fault settle_times(work *w, int64_t *start, int64_t *at)
{
    const dd_worked_inputs *in = w->in;
    *start = in->start.seconds;
    *at = in->at.seconds;
    if (!in->start.has || !in->at.has)
        return DD_WORKED_FINE;
    if (!in->at.has_date)
        *at = near(*start, *at, true);
    else if (!in->start.has_date)
        *start = near(*at, *start, false);
    if (*at < *start)
        return fault(w, DD_WORKED_EARLIER, DD_WORKED_AT, DD_WORKED_START);
    w->out->elapsed = (dd_worked_figure){whole(*at - *start), true};
    return DD_WORKED_FINE;
}

static dd_worked_fault find_volumes(work *w)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    dd_ratio sum;
    if (has(in->given) && has(in->left)) {
        if (dd_ratio_plus(out->given.exact, out->left.exact, &sum) != DD_OK)
            return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_GIVEN, DD_WORKED_LEFT);
        if (out->volume.has && dd_ratio_compare(sum, out->volume.exact) != 0)
            return fault(w, DD_WORKED_NOT_THE_SUM, DD_WORKED_GIVEN, DD_WORKED_LEFT);
        if (!out->volume.has) {
            out->volume = (dd_worked_figure){sum, true};
            out->volume_by = DD_WORKED_BY_LEFT;
        }
    } else if (!out->volume.has && out->rate.has && out->over.has && !has(in->left)) {
        if (!set_times(&out->volume, out->rate.exact, out->over.exact) || !set_over(&out->volume, out->volume.exact, whole(3600)))
            return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_OVER, DD_WORKED_OVER);
        out->volume_by = DD_WORKED_BY_RATE;
    }
    if (out->volume.has && dd_ratio_compare(out->volume.exact, whole(DD_VOLUME_MOST_UL)) > 0)
        return fault(w, DD_WORKED_TOO_LARGE, out->volume_by == DD_WORKED_BY_RATE ? DD_WORKED_OVER : DD_WORKED_VOLUME, DD_WORKED_VOLUME);
    if (out->volume.has && out->given.has && dd_ratio_compare(out->given.exact, out->volume.exact) > 0)
        return fault(w, DD_WORKED_MORE, DD_WORKED_GIVEN, DD_WORKED_VOLUME);
    if (out->volume.has && out->left.has && dd_ratio_compare(out->left.exact, out->volume.exact) > 0)
        return fault(w, DD_WORKED_MORE, DD_WORKED_LEFT, DD_WORKED_VOLUME);
    return DD_WORKED_FINE;
}

static dd_worked_fault find_given(work *w)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    bool fits = true;
    if (!has(in->given) && has(in->left) && out->volume.has) {
        fits = set_minus(&out->given, out->volume.exact, out->left.exact);
        out->given_by = DD_WORKED_BY_LEFT;
    } else if (!has(in->given) && !has(in->left) && out->elapsed.has && out->rate.has) {
        fits = set_times(&out->given, out->rate.exact, out->elapsed.exact) && set_over(&out->given, out->given.exact, whole(3600));
        if (fits && out->volume.has && dd_ratio_compare(out->given.exact, out->volume.exact) > 0)
            out->given.exact = out->volume.exact;
        out->given_by = DD_WORKED_BY_TIME;
    }
    if (fits && !out->left.has && out->volume.has && out->given.has)
        fits = set_minus(&out->left, out->volume.exact, out->given.exact);
    if (fits && out->rate.has && out->rate.exact.num > 0) {
        if (out->left.has)
            fits = set_times(&out->left_for, out->left.exact, whole(3600)) && set_over(&out->left_for, out->left_for.exact, out->rate.exact);
        /* Where the rate is for what is left, the whole was never meant to run at it. */
        if (fits && out->volume.has && out->rate_by != DD_WORKED_BY_LEFT)
            fits = set_times(&out->duration, out->volume.exact, whole(3600)) && set_over(&out->duration, out->duration.exact, out->rate.exact);
    }
    return fits ? DD_WORKED_FINE : fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_RATE, DD_WORKED_RATE);
}

/* What was written as given or left holds at `at`, else at the start (what the bag held when it went up). */
static dd_worked_fault find_end(work *w, int64_t start, int64_t at)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    bool by_left = has(in->given) || has(in->left);
    bool from_at = by_left && in->at.has;
    dd_worked_figure rest = by_left ? out->left_for : out->duration, end = {0};
    if (!(from_at || in->start.has) || !rest.has)
        return DD_WORKED_FINE;
    bool has_date = in->start.has_date || in->at.has_date;
    int64_t seconds;
    if (!set_plus(&end, rest.exact, whole(from_at ? at : start)) || dd_ratio_half_up(end.exact, has_date ? 1 : 60, &seconds) != DD_OK)
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_START, DD_WORKED_START);
    int64_t day = seconds / DAY_S, first = (in->start.has ? start : at) / DAY_S;
    out->ends = (dd_worked_time){.seconds = has_date ? seconds : seconds % DAY_S, .has = true, .has_date = has_date};
    if (day - first > INT32_MAX)
        return fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_START, DD_WORKED_START);
    out->day_offset = (int32_t)(day - first);
    return DD_WORKED_FINE;
}

/* ---- doses ---- */

/* The dose in the unit that was asked for: what the rate brings, else the written one in another unit. */
static dd_worked_fault find_dose(work *w)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    bool flows = out->rate.has && out->strength.has;
    if (!flows && !has(in->dose)) {
        if (has(in->dose_unit))
            return fault(w, DD_WORKED_NEEDS, DD_WORKED_DOSE_UNIT, has(in->strength) ? DD_WORKED_RATE : DD_WORKED_STRENGTH);
        return DD_WORKED_FINE;
    }
    if (!flows && !has(in->dose_unit))
        return fault(w, DD_WORKED_NEEDS, DD_WORKED_DOSE, DD_WORKED_STRENGTH);
    dd_quantity unit = has(in->dose_unit) ? in->dose_unit
        : has(in->dose)                   ? in->dose
                                          : (dd_quantity){.unit = in->strength.unit, .per = DD_UNIT_H};
    unit.micro = unit.per_micro = 1000000;
    out->dose_unit = unit;
    uint8_t from = flows ? in->strength.unit : in->dose.unit;
    if (dd_quantity_dimension(unit.unit) != dd_quantity_dimension(from))
        return fault(w, DD_WORKED_OTHER_KIND, DD_WORKED_DOSE_UNIT, flows ? DD_WORKED_STRENGTH : DD_WORKED_DOSE);
    bool per_kg = !flows && in->dose.per_kg, fits;
    if (per_kg != unit.per_kg && !out->weight.has)
        return fault(w, DD_WORKED_NEEDS, has(in->dose_unit) ? DD_WORKED_DOSE_UNIT : DD_WORKED_DOSE, DD_WORKED_WEIGHT);
    /* per hour, in the dimension's size */
    if (flows)
        fits = set_times(&out->dose, out->rate.exact, out->strength.exact) && set_over(&out->dose, out->dose.exact, one(DD_UNIT_ML)) &&
            set_times(&out->dose, out->dose.exact, one(from));
    else
        fits = hourly(in->dose, &out->dose);
    if (fits && per_kg && !unit.per_kg)
        fits = set_times(&out->dose, out->dose.exact, out->weight.exact);
    if (fits && !per_kg && unit.per_kg)
        fits = set_over(&out->dose, out->dose.exact, out->weight.exact);
    fits = fits && set_over(&out->dose, out->dose.exact, one(unit.unit)) && set_times(&out->dose, out->dose.exact, one(unit.per)) &&
        set_over(&out->dose, out->dose.exact, whole(3600));
    return fits ? DD_WORKED_FINE : fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_DOSE_UNIT, DD_WORKED_DOSE_UNIT);
}

static dd_worked_fault find_per_kg(work *w)
{
    const dd_worked_inputs *in = w->in;
    dd_worked *out = w->out;
    bool fluid = in->glucose_ug_l.den != 0;
    if (fluid && !out->weight.has)
        return fault(w, DD_WORKED_NEEDS, DD_WORKED_FLUID, DD_WORKED_WEIGHT);
    if (fluid && !out->rate.has)
        return fault(w, DD_WORKED_NEEDS, DD_WORKED_FLUID, DD_WORKED_RATE);
    if (!out->weight.has || !out->rate.has)
        return DD_WORKED_FINE;
    bool fits = set_over(&out->per_kg, out->rate.exact, out->weight.exact);
    /* uL/kg/h x ug/L is 10^-9 mg/kg/h */
    if (fits && fluid)
        fits = set_times(&out->glucose, out->per_kg.exact, in->glucose_ug_l) && set_over(&out->glucose, out->glucose.exact, whole(60000000000));
    return fits ? DD_WORKED_FINE : fault(w, DD_WORKED_TOO_LARGE, DD_WORKED_WEIGHT, DD_WORKED_WEIGHT);
}

static bool nothing(const dd_worked *out)
{
    return !out->rate.has && !out->volume.has && !out->given.has && !out->left.has && !out->strength.has && !out->dose.has;
}

dd_worked_fault dd_worked_out(const dd_worked_inputs *in, dd_worked *out, dd_worked_option about[2])
{
    work w = {in, out, about};
    int64_t start, at;
    *out = (dd_worked){.dose_unit = {.per_micro = 1000000}};
    dd_worked_fault wrong = read_plain(&w);
    if (wrong == DD_WORKED_FINE)
        wrong = find_rate(&w);
    if (wrong == DD_WORKED_FINE)
        wrong = settle_times(&w, &start, &at);
    if (wrong == DD_WORKED_FINE)
        wrong = find_volumes(&w);
    if (wrong == DD_WORKED_FINE)
        wrong = find_given(&w);
    if (wrong == DD_WORKED_FINE)
        wrong = find_end(&w, start, at);
    if (wrong == DD_WORKED_FINE)
        wrong = find_dose(&w);
    if (wrong == DD_WORKED_FINE)
        wrong = find_per_kg(&w);
    if (wrong == DD_WORKED_FINE && in->at.has && !in->start.has && !has(in->given) && !has(in->left))
        wrong = fault(&w, DD_WORKED_NEEDS, DD_WORKED_AT, DD_WORKED_START);
    return wrong == DD_WORKED_FINE && nothing(out) ? DD_WORKED_NOTHING : wrong;
}
