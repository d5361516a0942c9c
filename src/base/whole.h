/* whole.h - whole-number arithmetic that says when it does not fit, instead of wrapping.
 *
 * True: *out is set. False: the exact result does not fit (or the divisor is not above 0); *out is as it was.
 * Products are taken in 128 bits: two volumes above 843 mL, in u, would not fit 64. */
#ifndef DD_WHOLE_H
#define DD_WHOLE_H

#include "daydrip/quantity.h"

DD_MUST_USE static inline bool dd_whole_plus(int64_t a, int64_t b, int64_t *out)
{
    int64_t r;
    if (__builtin_add_overflow(a, b, &r))
        return false;
    *out = r;
    return true;
}

DD_MUST_USE static inline bool dd_whole_minus(int64_t a, int64_t b, int64_t *out)
{
    int64_t r;
    if (__builtin_sub_overflow(a, b, &r))
        return false;
    *out = r;
    return true;
}

DD_MUST_USE static inline bool dd_whole_times(int64_t a, int64_t b, int64_t *out)
{
    int64_t r;
    if (__builtin_mul_overflow(a, b, &r))
        return false;
    *out = r;
    return true;
}

/* a x b / c, rounded: down, up, or halves up (towards plus infinity). c > 0. */
DD_MUST_USE bool dd_whole_scale_down(int64_t a, int64_t b, int64_t c, int64_t *out);
DD_MUST_USE bool dd_whole_scale_up(int64_t a, int64_t b, int64_t c, int64_t *out);
DD_MUST_USE bool dd_whole_scale_half_up(int64_t a, int64_t b, int64_t c, int64_t *out);

/* Division of 128-bit numbers, den > 0. */
dd_int128 dd_whole_floor(dd_int128 num, dd_int128 den);
dd_int128 dd_whole_ceil(dd_int128 num, dd_int128 den);

#endif
