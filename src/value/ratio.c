/* ratio.c - exact fractions in lowest terms, every step checked.
 *
 * Working figures (dose x weight / strength, volume / time) stay exact until they are rounded once. Factors are reduced
 * against each other before they are multiplied, so that 128 bits last as long as the result itself fits. */
#include "daydrip/quantity.h"
#include "whole.h"

__extension__ typedef unsigned __int128 wide;

#define INT128_LOWEST ((dd_int128)((wide)1 << 127))

static wide magnitude(dd_int128 a)
{
    return a < 0 ? -(wide)a : (wide)a;
}

static wide common(wide a, wide b)
{
    while (b > UINT64_MAX) {
        wide rest = a % b;
        a = b;
        b = rest;
    }
    if (b == 0)
        return a;
    /* From here on 64 bits do, which divide many times faster. */
    uint64_t low = (uint64_t)(a % b), high = (uint64_t)b;
    while (low != 0) {
        uint64_t rest = high % low;
        high = low;
        low = rest;
    }
    return high;
}

dd_status dd_ratio_make(dd_int128 num, dd_int128 den, dd_ratio *out)
{
    /* The lowest number has no opposite; nothing in this program comes near it. */
    if (den == 0 || num == INT128_LOWEST || den == INT128_LOWEST)
        return DD_TOO_LARGE;
    if (den < 0) {
        num = -num;
        den = -den;
    }
    dd_int128 divisor = (dd_int128)common(magnitude(num), (wide)den);
    *out = (dd_ratio){num / divisor, den / divisor};
    return DD_OK;
}

dd_status dd_ratio_times(dd_ratio a, dd_ratio b, dd_ratio *out)
{
    dd_int128 cross = (dd_int128)common(magnitude(a.num), (wide)b.den);
    dd_int128 other = (dd_int128)common(magnitude(b.num), (wide)a.den);
    dd_int128 num, den;
    if (__builtin_mul_overflow(a.num / cross, b.num / other, &num) ||
        __builtin_mul_overflow(a.den / other, b.den / cross, &den) || num == INT128_LOWEST)
        return DD_TOO_LARGE;
    *out = (dd_ratio){num, den};
    return DD_OK;
}

dd_status dd_ratio_over(dd_ratio a, dd_ratio b, dd_ratio *out)
{
    if (b.num == 0)
        return DD_TOO_LARGE;
    dd_ratio turned = b.num < 0 ? (dd_ratio){-b.den, -b.num} : (dd_ratio){b.den, b.num};
    return dd_ratio_times(a, turned, out);
}

dd_status dd_ratio_plus(dd_ratio a, dd_ratio b, dd_ratio *out)
{
    dd_int128 shared = (dd_int128)common((wide)a.den, (wide)b.den);
    dd_int128 left, right, num, den;
    if (__builtin_mul_overflow(a.num, b.den / shared, &left) || __builtin_mul_overflow(b.num, a.den / shared, &right) ||
        __builtin_add_overflow(left, right, &num) || __builtin_mul_overflow(a.den / shared, b.den, &den))
        return DD_TOO_LARGE;
    return dd_ratio_make(num, den, out);
}

dd_status dd_ratio_minus(dd_ratio a, dd_ratio b, dd_ratio *out)
{
    b.num = -b.num;
    return dd_ratio_plus(a, b, out);
}

/* Compares whole parts, then the fractions turned upside down (as Euclid would): no product, so nothing can overflow. */
int dd_ratio_compare(dd_ratio a, dd_ratio b)
{
    int sign = 1;
    for (;;) {
        dd_int128 whole_a = dd_whole_floor(a.num, a.den), whole_b = dd_whole_floor(b.num, b.den);
        if (whole_a != whole_b)
            return whole_a < whole_b ? -sign : sign;
        dd_int128 rest_a = a.num - whole_a * a.den, rest_b = b.num - whole_b * b.den;
        if (rest_a == 0 || rest_b == 0)
            return rest_a == rest_b ? 0 : rest_a == 0 ? -sign : sign;
        a = (dd_ratio){a.den, rest_a};
        b = (dd_ratio){b.den, rest_b};
        sign = -sign;
    }
}

typedef enum way { DOWN, HALF_UP, UP } way;

static dd_status round_to(dd_ratio a, int64_t step, way how, int64_t *out)
{
    dd_int128 unit;
    if (step <= 0 || __builtin_mul_overflow(a.den, (dd_int128)step, &unit))
        return DD_TOO_LARGE;
    dd_int128 count = dd_whole_floor(a.num, unit), rest = a.num - count * unit, value;
    if ((how == UP && rest > 0) || (how == HALF_UP && rest >= unit - rest))
        count += 1;
    if (__builtin_mul_overflow(count, (dd_int128)step, &value) || value > INT64_MAX || value < INT64_MIN)
        return DD_TOO_LARGE;
    *out = (int64_t)value;
    return DD_OK;
}

dd_status dd_ratio_half_up(dd_ratio a, int64_t step, int64_t *out)
{
    return round_to(a, step, HALF_UP, out);
}

dd_status dd_ratio_floor(dd_ratio a, int64_t step, int64_t *out)
{
    return round_to(a, step, DOWN, out);
}

dd_status dd_ratio_ceil(dd_ratio a, int64_t step, int64_t *out)
{
    return round_to(a, step, UP, out);
}
