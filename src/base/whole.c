#include "whole.h"

dd_int128 dd_whole_floor(dd_int128 num, dd_int128 den)
{
    dd_int128 q = num / den;
    return num % den < 0 ? q - 1 : q;
}

dd_int128 dd_whole_ceil(dd_int128 num, dd_int128 den)
{
    return -dd_whole_floor(-num, den);
}

static bool narrow(dd_int128 wide, int64_t *out)
{
    if (wide > INT64_MAX || wide < INT64_MIN)
        return false;
    *out = (int64_t)wide;
    return true;
}

bool dd_whole_scale_down(int64_t a, int64_t b, int64_t c, int64_t *out)
{
    return c > 0 && narrow(dd_whole_floor((dd_int128)a * b, c), out);
}

bool dd_whole_scale_up(int64_t a, int64_t b, int64_t c, int64_t *out)
{
    return c > 0 && narrow(dd_whole_ceil((dd_int128)a * b, c), out);
}

/* Halves up: floor(x + 1/2) = floor((2 a b + c) / 2 c); |2 a b| stays below 2^127. */
bool dd_whole_scale_half_up(int64_t a, int64_t b, int64_t c, int64_t *out)
{
    if (c <= 0)
        return false;
    dd_int128 product = (dd_int128)a * b, q = dd_whole_floor(product, c), rest = product - q * c;
    return narrow(rest >= c - rest ? q + 1 : q, out);
}
