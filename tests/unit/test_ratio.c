/* test_ratio.c - fractions against Python's, and at the edges of 128 bits. */
#include <criterion/criterion.h>

#include "daydrip/quantity.h"
#include "second_ratio.h"

TestSuite(ratio);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

static bool same(dd_ratio a, dd_ratio b)
{
    return a.num == b.num && a.den == b.den;
}

typedef dd_status operation(dd_ratio, dd_ratio, dd_ratio *);

static void check(size_t row, const char *what, operation *call, dd_ratio a, dd_ratio b, bool fits, dd_ratio expected)
{
    const dd_ratio before = {77, 78};
    dd_ratio got = before;
    dd_status status = call(a, b, &got);
    if (fits && status == DD_TOO_LARGE) {
        /* Allowed only where a step on the way cannot fit. */
        cr_expect(call != dd_ratio_times && call != dd_ratio_over, "row %zu: %s does not fit, but it should", row, what);
        cr_expect(same(got, before), "row %zu: %s changed the result", row, what);
        return;
    }
    cr_expect(status == (fits ? DD_OK : DD_TOO_LARGE), "row %zu: status of %s is %d", row, what, (int)status);
    cr_expect(same(got, fits ? expected : before), "row %zu: %s differs", row, what);
}

Test(ratio, as_python)
{
    for (size_t i = 0; i < ROWS(second_ratios); i++) {
        const struct second_ratio *r = &second_ratios[i];
        dd_ratio made;
        cr_assert(dd_ratio_make(r->a.num, r->a.den, &made) == DD_OK && same(made, r->a));
        check(i, "plus", dd_ratio_plus, r->a, r->b, r->fits_plus, r->plus);
        check(i, "minus", dd_ratio_minus, r->a, r->b, r->fits_minus, r->minus);
        check(i, "times", dd_ratio_times, r->a, r->b, r->fits_times, r->times);
        check(i, "over", dd_ratio_over, r->a, r->b, r->fits_over, r->over);
        cr_expect_eq(dd_ratio_compare(r->a, r->b), r->sign, "row %zu: compare", i);
        cr_expect_eq(dd_ratio_compare(r->b, r->a), -r->sign, "row %zu: compare turned", i);
        int64_t down = 1, half = 1, up = 1;
        dd_status status[] = {dd_ratio_floor(r->a, r->step, &down), dd_ratio_half_up(r->a, r->step, &half), dd_ratio_ceil(r->a, r->step, &up)};
        if (r->fits_round) {
            cr_expect(status[0] == DD_OK && down == r->down, "row %zu: floor", i);
            cr_expect(status[1] == DD_OK && half == r->half, "row %zu: half up", i);
            cr_expect(status[2] == DD_OK && up == r->up, "row %zu: ceil", i);
        }
    }
}

/* Small ones must never fail: this is what working figures look like. */
Test(ratio, small_ones_always_fit)
{
    for (int a = -12; a <= 12; a++)
        for (int b = 1; b <= 12; b++)
            for (int c = -12; c <= 12; c++)
                for (int d = 1; d <= 12; d++) {
                    dd_ratio x, y, sum, back, product, whole;
                    cr_assert(dd_ratio_make(a, b, &x) == DD_OK && dd_ratio_make(c, d, &y) == DD_OK);
                    cr_assert(dd_ratio_plus(x, y, &sum) == DD_OK && dd_ratio_minus(sum, y, &back) == DD_OK && same(back, x));
                    cr_assert(dd_ratio_times(x, y, &product) == DD_OK);
                    cr_assert_eq(dd_ratio_over(product, y, &whole), c == 0 ? DD_TOO_LARGE : DD_OK);
                    cr_assert(c == 0 || same(whole, x));
                    cr_assert_eq(dd_ratio_compare(x, y), (a * d > c * b) - (a * d < c * b));
                }
}

Test(ratio, reduces_and_moves_the_sign_up)
{
    static const struct {
        int num, den, to_num, to_den;
    } rows[] = {{6, 4, 3, 2}, {-6, 4, -3, 2}, {6, -4, -3, 2}, {-6, -4, 3, 2}, {0, -7, 0, 1}, {0, 1, 0, 1}, {7, 1, 7, 1}};
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_ratio r;
        cr_assert_eq(dd_ratio_make(rows[i].num, rows[i].den, &r), DD_OK);
        cr_expect(r.num == rows[i].to_num && r.den == rows[i].to_den, "row %zu", i);
    }
}

Test(ratio, refuses_what_does_not_fit)
{
    const dd_int128 most = (dd_int128)(~(unsigned __int128)0 >> 1), least = -most - 1;
    dd_ratio r = {5, 6}, big = {most, 1}, tiny = {1, most};
    int64_t whole = 9;
    cr_expect_eq(dd_ratio_make(1, 0, &r), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_make(least, 1, &r), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_make(1, least, &r), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_plus(big, big, &r), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_times(big, big, &r), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_over(big, tiny, &r), DD_TOO_LARGE);
    cr_expect(same(r, (dd_ratio){5, 6}));
    cr_expect(dd_ratio_times(big, tiny, &r) == DD_OK && same(r, (dd_ratio){1, 1}));
    cr_expect_eq(dd_ratio_compare(big, tiny), 1);
    cr_expect_eq(dd_ratio_compare((dd_ratio){-most, 1}, tiny), -1);
    cr_expect_eq(dd_ratio_compare((dd_ratio){most - 1, most}, (dd_ratio){most - 2, most - 1}), 1);
    cr_expect_eq(dd_ratio_half_up(big, 1, &whole), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_half_up((dd_ratio){1, 2}, 0, &whole), DD_TOO_LARGE);
    cr_expect_eq(dd_ratio_floor((dd_ratio){1, 2}, -1, &whole), DD_TOO_LARGE);
    cr_expect_eq(whole, 9);
    cr_expect(dd_ratio_half_up((dd_ratio){INT64_MAX, 1}, 1, &whole) == DD_OK && whole == INT64_MAX);
    cr_expect_eq(dd_ratio_half_up((dd_ratio){2 * (dd_int128)INT64_MAX + 1, 2}, 1, &whole), DD_TOO_LARGE);
    cr_expect(dd_ratio_floor((dd_ratio){INT64_MIN, 1}, 1, &whole) == DD_OK && whole == INT64_MIN);
}

Test(ratio, halves_go_up)
{
    static const struct {
        int num, den;
        int64_t step, half, down, up;
    } rows[] = {
        {1, 2, 1, 1, 0, 1}, {-1, 2, 1, 0, -1, 0}, {-3, 2, 1, -1, -2, -1}, {49, 100, 1, 0, 0, 1}, {50, 1, 100, 100, 0, 100},
        {4999, 100, 100, 0, 0, 100}, {150, 1, 100, 200, 100, 200}, {200, 1, 100, 200, 200, 200}, {-50, 1, 100, 0, -100, 0}, {-51, 1, 100, -100, -100, 0},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_ratio r;
        int64_t half, down, up;
        cr_assert(dd_ratio_make(rows[i].num, rows[i].den, &r) == DD_OK && dd_ratio_half_up(r, rows[i].step, &half) == DD_OK &&
            dd_ratio_floor(r, rows[i].step, &down) == DD_OK && dd_ratio_ceil(r, rows[i].step, &up) == DD_OK);
        cr_expect(half == rows[i].half && down == rows[i].down && up == rows[i].up, "row %zu: %d %d %d", i, (int)half, (int)down, (int)up);
    }
}
