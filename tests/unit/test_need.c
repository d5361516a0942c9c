/* test_need.c - maintenance by weight, and what a device can be set to. */
#include <criterion/criterion.h>

#include "need.h"
#include "set.h"

TestSuite(need);
TestSuite(set);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

/* The first rows are printed in Holliday and Segar's paper and the ward charts that follow it. */
Test(need, by_weight)
{
    static const struct {
        int64_t mg;
        int day_num, day_den, hour_num, hour_den; /* mL */
    } rows[] = {
        {0, 0, 1, 0, 1},
        {3000000, 300, 1, 12, 1},
        {5000000, 500, 1, 20, 1},
        {10000000, 1000, 1, 40, 1},
        {13000000, 1150, 1, 46, 1},
        {15000000, 1250, 1, 50, 1},
        {20000000, 1500, 1, 60, 1},
        {22000000, 1540, 1, 62, 1},
        {25000000, 1600, 1, 65, 1},
        {36500000, 1830, 1, 153, 2},
        {18500000, 1425, 1, 57, 1},
        {70000000, 2500, 1, 110, 1},
        {500000000, 11100, 1, 540, 1},
        {1, 1, 10000, 1, 250000},
        {9999999, 9999999, 10000, 9999999, 250000},
        {10000001, 20000001, 20000, 20000001, 500000},
        {20000001, 75000001, 50000, 60000001, 1000000},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_ratio day, hour, expected_day, expected_hour;
        cr_assert(dd_need_maintenance(rows[i].mg, &day) == DD_OK && dd_need_hourly_421(rows[i].mg, &hour) == DD_OK);
        cr_assert(dd_ratio_make((dd_int128)rows[i].day_num * 1000, rows[i].day_den, &expected_day) == DD_OK);
        cr_assert(dd_ratio_make((dd_int128)rows[i].hour_num * 1000, rows[i].hour_den, &expected_hour) == DD_OK);
        cr_expect_eq(dd_ratio_compare(day, expected_day), 0, "row %zu, day", i);
        cr_expect_eq(dd_ratio_compare(hour, expected_hour), 0, "row %zu, hour", i);
    }
}

/* Never falls with weight; the hourly rule gives 96 % of a 24th of the daily one up to 10 kg and never more than it, up to
 * where the flatter daily rule falls behind. */
Test(need, rises_with_weight)
{
    dd_ratio last = {0, 1}, day, hour;
    for (int64_t mg = 0; mg <= 100000000; mg += 12345) {
        cr_assert(dd_need_maintenance(mg, &day) == DD_OK && dd_need_hourly_421(mg, &hour) == DD_OK);
        cr_assert(mg == 0 || dd_ratio_compare(day, last) > 0);
        if (mg > 0 && mg <= 10000000) {
            dd_ratio share;
            cr_assert(dd_ratio_times(hour, (dd_ratio){24, 1}, &share) == DD_OK && dd_ratio_over(share, day, &share) == DD_OK);
            cr_assert(share.num == 24 && share.den == 25);
        }
        last = day;
    }
}

Test(need, outside)
{
    dd_ratio day = {5, 6};
    cr_expect_eq(dd_need_maintenance(-1, &day), DD_TOO_LARGE);
    cr_expect_eq(dd_need_maintenance(DD_UNKNOWN, &day), DD_TOO_LARGE);
    cr_expect_eq(dd_need_hourly_421(DD_WEIGHT_MOST_MG + 1, &day), DD_TOO_LARGE);
    cr_expect(day.num == 5 && day.den == 6);
}

/* NICE NG29, the day of birth as day 1: 50 to 60, 70 to 80, 80 to 100, 100 to 120, and 120 to 150 mL/kg/day from day 5 to day 28. */
Test(need, by_day_of_life)
{
    static const struct { int64_t age_h; int day, low, high, changes_h; } rows[] = {
        {0, 1, 50, 60, 24}, {23, 1, 50, 60, 24}, {24, 2, 70, 80, 48}, {48, 3, 80, 100, 72}, {71, 3, 80, 100, 72}, {72, 4, 100, 120, 96},
        {84, 4, 100, 120, 96}, {96, 5, 120, 150, 672}, {671, 28, 120, 150, 672},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_need_range r;
        cr_assert(dd_need_day(rows[i].age_h * 3600, &r));
        cr_expect(r.day == rows[i].day && r.low_ul_kg == rows[i].low * 1000 && r.high_ul_kg == rows[i].high * 1000
            && r.holds_s == (rows[i].changes_h - rows[i].age_h) * 3600, "row %zu: day %d, %d to %d", i, r.day, (int)r.low_ul_kg, (int)r.high_ul_kg);
    }
    dd_need_range r;
    cr_assert(dd_need_day(INT64_C(24) * 3600 - 1, &r) && r.day == 1 && r.holds_s == 1);
    cr_expect(!dd_need_day(INT64_C(28) * 86400, &r) && !dd_need_day(-1, &r));
}

Test(set, pump)
{
    static const struct {
        int num, den;
        int64_t step, set;
    } rows[] = {
        {250000, 3, 100, 83300}, {83350, 1, 100, 83400}, {83349, 1, 100, 83300}, {30, 1, 100, 100}, {1, 1000, 100, 100}, {0, 1, 100, 0},
        {62500, 1, 1000, 63000}, {62500, 1, 100, 62500}, {10000000, 1, 100, 10000000}, {151, 100, 1, 2}, {149, 100, 1, 1},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_ratio exact;
        dd_rate rate;
        cr_assert(dd_ratio_make(rows[i].num, rows[i].den, &exact) == DD_OK && dd_set_pump(exact, rows[i].step, &rate) == DD_OK);
        cr_expect_eq(rate.ul_per_h, rows[i].set, "row %zu: %d", i, (int)rate.ul_per_h);
    }
    dd_rate rate = {7};
    cr_expect_eq(dd_set_pump((dd_ratio){10000001, 1}, 100, &rate), DD_TOO_LARGE);
    cr_expect_eq(dd_set_pump((dd_ratio){-1, 1}, 100, &rate), DD_TOO_LARGE);
    cr_expect_eq(dd_set_pump((dd_ratio){1, 1}, 0, &rate), DD_TOO_LARGE);
    cr_expect_eq(rate.ul_per_h, 7);
}

/* Rows of a published table (Medecins Sans Frontieres, maintenance in children, 24 h), and edges. */
Test(set, gravity)
{
    static const struct {
        int num, den;          /* uL/h */
        int64_t factor_micro;
        int32_t drops;
        int64_t rate;
    } rows[] = {
        {350000, 24, 60000000, 15, 15000}, {750000, 24, 60000000, 31, 31000}, {1500000, 24, 60000000, 63, 63000}, {1500000, 24, 20000000, 21, 63000},
        {62500, 1, 20000000, 21, 63000}, {125000, 1, 15000000, 31, 124000}, {1, 1, 20000000, 1, 3000}, {0, 1, 20000000, 0, 0},
        {100000, 1, 13000000, 22, 101538}, {10000000, 1, 60000000, 10000, 10000000}, {1499, 1, 20000000, 1, 3000}, {4500, 1, 20000000, 2, 6000},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_ratio exact;
        dd_rate rate;
        int32_t drops;
        cr_assert(dd_ratio_make(rows[i].num, rows[i].den, &exact) == DD_OK && dd_set_gravity(exact, rows[i].factor_micro, &drops, &rate) == DD_OK);
        cr_expect(drops == rows[i].drops && rate.ul_per_h == rows[i].rate, "row %zu: %d drops, %d", i, (int)drops, (int)rate.ul_per_h);
    }
    dd_rate rate = {7};
    int32_t drops = 8;
    cr_expect_eq(dd_set_gravity((dd_ratio){10000001, 1}, 20000000, &drops, &rate), DD_TOO_LARGE);
    cr_expect_eq(dd_set_gravity((dd_ratio){1000, 1}, 0, &drops, &rate), DD_TOO_LARGE);
    cr_expect_eq(dd_set_drops(-1, 20000000, &rate), DD_TOO_LARGE);
    cr_expect_eq(dd_set_drops(INT32_MAX, 1, &rate), DD_TOO_LARGE);
    cr_expect(rate.ul_per_h == 7 && drops == 8);
}
