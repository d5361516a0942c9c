/* test_number.c - THE formatter: fixed rows, Python's decimal as second opinion, and what must hold for every number. */
#include <criterion/criterion.h>
#include <stdlib.h>

#include "daydrip/quantity.h"
#include "second_number.h"

TestSuite(number);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

#define expect_text(got, length, expected, ...)                                                       \
    do {                                                                                              \
        cr_expect_str_eq(got, expected, __VA_ARGS__);                                                 \
        cr_expect_eq(length, strlen(got), "the length that was returned is that of the text");        \
    } while (0)

Test(number, as_python)
{
    char out[DD_NUMBER_MAX];
    for (size_t i = 0; i < ROWS(second_numbers); i++) {
        const struct second_number *r = &second_numbers[i];
        size_t length = dd_number_ratio(out, r->value, r->decimals, DD_STYLE_PROGRAM);
        expect_text(out, length, r->program, "ratio, row %zu: %s is not %s", i, out, r->program);
        length = dd_number_ratio(out, r->value, r->decimals, DD_STYLE_PERSON);
        expect_text(out, length, r->person, "ratio, row %zu: %s is not %s", i, out, r->person);
    }
    for (size_t i = 0; i < ROWS(second_scaleds); i++) {
        const struct second_scaled *r = &second_scaleds[i];
        size_t length = dd_number_scaled(out, r->value, r->scale, r->decimals, DD_STYLE_PROGRAM);
        expect_text(out, length, r->program, "scaled, row %zu: %s is not %s", i, out, r->program);
        length = dd_number_scaled(out, r->value, r->scale, r->decimals, DD_STYLE_PERSON);
        expect_text(out, length, r->person, "scaled, row %zu: %s is not %s", i, out, r->person);
    }
    for (size_t i = 0; i < ROWS(second_us); i++) {
        const struct second_u *r = &second_us[i];
        size_t length = dd_number_u(out, (dd_u){r->u}, r->decimals, DD_STYLE_PROGRAM);
        expect_text(out, length, r->program, "u, row %zu: %s is not %s", i, out, r->program);
        length = dd_number_u(out, (dd_u){r->u}, r->decimals, DD_STYLE_PERSON);
        expect_text(out, length, r->person, "u, row %zu: %s is not %s", i, out, r->person);
    }
}

Test(number, u)
{
    static const struct {
        int64_t u;
        int decimals;
        const char *text;
    } rows[] = {
        {0, 3, "0"}, {1, 3, "0"}, {1799, 3, "0"}, {1800, 3, "0.001"}, {3600, 3, "0.001"}, {5399, 3, "0.001"}, {5400, 3, "0.002"},
        {-1799, 3, "0"}, {-1800, 3, "-0.001"}, {-5400, 3, "-0.002"}, {3600000, 3, "1"}, {3600000, 0, "1"}, {1800000, 0, "1"}, {1799999, 0, "0"},
        /* 0.4998 mL prints as 0.5 at one decimal, and as 0 without: from the exact amount, not from the 0.5 */
        {1799280, 3, "0.5"}, {1799280, 1, "0.5"}, {1799280, 0, "0"},
        /* 0.0498 mL: 0.05 at three decimals, 0 at one */
        {178200, 3, "0.05"}, {179999, 3, "0.05"}, {179999, 1, "0"}, {180000, 1, "0.1"},
        {360000000000, 3, "100,000"}, {DD_UNKNOWN, 3, "?"}, {4500000000, 1, "1,250"}, {4500360000, 1, "1,250.1"}, {INT64_MAX, 3, "2,562,047,788,015.216"},
        {-INT64_MAX, 0, "-2,562,047,788,015"},
    };
    char out[DD_NUMBER_MAX];
    for (size_t i = 0; i < ROWS(rows); i++) {
        size_t length = dd_number_u(out, (dd_u){rows[i].u}, rows[i].decimals, DD_STYLE_PERSON);
        expect_text(out, length, rows[i].text, "row %zu: %s is not %s", i, out, rows[i].text);
    }
}

/* The printed microlitres are floor((u + 1800) / 3600), for every u around many boundaries. */
Test(number, u_rounds_as_designed)
{
    char out[DD_NUMBER_MAX];
    for (int64_t base = 0; base < 360000000000; base = base * 3 + 3600)
        for (int64_t u = base < 4000 ? 0 : base - 4000; u < base + 4000; u += 7) {
            dd_number_u(out, (dd_u){u}, 3, DD_STYLE_PROGRAM);
            int64_t ul = (u + 1800) / 3600;
            char *point = NULL;
            int64_t got = strtoll(out, &point, 10) * 1000;
            if (*point == '.') {
                int64_t part = 0;
                for (int i = 1; i <= 3; i++)
                    part = part * 10 + (*point != '\0' && point[1] != '\0' ? *++point - '0' : 0);
                got += part;
            }
            cr_assert_eq(got, ul, "%lld u: %s", (long long)u, out);
        }
}

Test(number, ratio_at_the_edges)
{
    const dd_int128 most = (dd_int128)(~(unsigned __int128)0 >> 1);
    static const struct {
        dd_ratio value;
        int decimals;
        const char *text;
    } rows[] = {
        {{0, 1}, 6, "0"}, {{1, 3}, 3, "0.333"}, {{2, 3}, 3, "0.667"}, {{-1, 3}, 0, "0"}, {{-1, 2}, 0, "-1"}, {{1, 2}, 0, "1"}, {{125, 2}, 1, "62.5"},
        {{1, 2000000}, 6, "0.000001"}, {{1, 2000001}, 6, "0"}, {{1000, 1}, 3, "1,000"}, {{999, 1}, 0, "999"}, {{1999, 2}, 0, "1,000"}, {{5, 1}, -1, "5"},
        {{1, 0}, 2, "?"}, {{1, 3}, 99, "0.333333"}, {{18446744073708, 1}, 6, "18,446,744,073,708"}, {{18446744073709, 1}, 6, "18,446,744,073,709"}, {{18446744073710, 1}, 6, "?"}, {{18446744073710, 1}, 0, "18,446,744,073,710"},
    };
    char out[DD_NUMBER_MAX];
    for (size_t i = 0; i < ROWS(rows); i++) {
        size_t length = dd_number_ratio(out, rows[i].value, rows[i].decimals, DD_STYLE_PERSON);
        expect_text(out, length, rows[i].text, "row %zu: %s is not %s", i, out, rows[i].text);
    }
    dd_number_ratio(out, (dd_ratio){most - 1, most}, 6, DD_STYLE_PROGRAM);
    cr_expect_str_eq(out, "1");
    dd_number_ratio(out, (dd_ratio){most / 3, most}, 6, DD_STYLE_PROGRAM);
    cr_expect_str_eq(out, "0.333333");
    dd_number_ratio(out, (dd_ratio){most, 1}, 0, DD_STYLE_PROGRAM);
    cr_expect_str_eq(out, "?");
    dd_number_scaled(out, DD_UNKNOWN, 3, 3, DD_STYLE_PROGRAM);
    cr_expect_str_eq(out, "?");
    dd_number_scaled(out, INT64_MAX, 0, 0, DD_STYLE_PERSON);
    cr_expect_str_eq(out, "9,223,372,036,854,775,807");
    dd_number_scaled(out, -INT64_MAX, 6, 6, DD_STYLE_PERSON);
    cr_expect_str_eq(out, "-9,223,372,036,854.775807");
}

/* What the list of error-prone expressions forbids never appears. */
Test(number, is_safe)
{
    char out[DD_NUMBER_MAX];
    uint64_t random = 1;
    for (int i = 0; i < 200000; i++) {
        random = random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        int64_t value = (int64_t)(random >> (1 + i % 60));
        if (i % 3 == 0)
            value = -value;
        size_t length = dd_number_scaled(out, value, i % 7, (i / 7) % 7, DD_STYLE_PERSON);
        const char *digits = out + (out[0] == '-'), *point = strchr(out, '.');
        cr_assert(digits[0] >= '0' && digits[0] <= '9', "%s", out);
        cr_assert(digits[0] != '0' || digits[1] == '.' || digits[1] == '\0', "%s", out);
        cr_assert(point == NULL || (out[length - 1] != '0' && point[1] != '\0'), "%s", out);
        cr_assert(strcmp(out, "-0") != 0);
        size_t whole = point == NULL ? strlen(digits) : (size_t)(point - digits);
        for (size_t j = 0; j < whole; j++)
            cr_assert((digits[j] == ',') == (whole > 3 && (whole - j) % 4 == 0), "%s", out);
    }
}

Test(number, quantities)
{
    static const struct {
        dd_quantity q;
        const char *text;
    } rows[] = {
        {{83300000, 1000000, DD_UNIT_ML, DD_UNIT_H, false}, "83.3 mL/h"},
        {{31000000, 1000000, DD_UNIT_GTT, DD_UNIT_MIN, false}, "31 drops/min"},
        {{20000000, 1000000, DD_UNIT_DROPS, DD_UNIT_ML, false}, "20 drops/mL"},
        {{1000000000, 1000000, DD_UNIT_ML, DD_UNIT_NONE, false}, "1,000 mL"},
        {{400000000, 250000000, DD_UNIT_MG, DD_UNIT_ML, false}, "400 mg/250 mL"},
        {{5000000, 1000000, DD_UNIT_MCG, DD_UNIT_MIN, true}, "5 mcg/kg/min"},
        {{20000000, 1000000, DD_UNIT_ML, DD_UNIT_NONE, true}, "20 mL/kg"},
        {{25000000000, 1000000, DD_UNIT_UNITS, DD_UNIT_NONE, false}, "25,000 units"},
        {{500000, 1000000, DD_UNIT_L, DD_UNIT_NONE, false}, "0.5 L"},
        {{1000000, 1000000, DD_UNIT_DAYS, DD_UNIT_NONE, false}, "1 day"},
        {{4000000, 1000000, DD_UNIT_DAY, DD_UNIT_NONE, false}, "4 days"},
        {{1500000, 1000000, DD_UNIT_YEAR, DD_UNIT_NONE, false}, "1.5 years"},
        {{80000000, 1000000, DD_UNIT_PERCENT, DD_UNIT_NONE, false}, "80 %"},
        {{0, 1000000, DD_UNIT_ML, DD_UNIT_NONE, false}, "0 mL"},
        {{1, 1000000, DD_UNIT_ML, DD_UNIT_H, false}, "0.000001 mL/h"},
        {{0, 0, DD_UNIT_NONE, DD_UNIT_NONE, false}, ""},
        {{0, 0, 200, 200, false}, ""},
    };
    char out[64], small[8];
    for (size_t i = 0; i < ROWS(rows); i++) {
        size_t length = dd_number_quantity(out, sizeof out, rows[i].q);
        expect_text(out, length, rows[i].text, "row %zu: %s is not %s", i, out, rows[i].text);
    }
    cr_expect_eq(dd_number_quantity(small, sizeof small, rows[0].q), 9);
    cr_expect_str_eq(small, "", "never cut");
    cr_expect_eq(dd_number_quantity(small, 8, rows[6].q), 8);
    cr_expect_str_eq(small, "");
    cr_expect_eq(dd_number_quantity(NULL, 0, rows[0].q), 9);
}
