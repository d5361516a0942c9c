/* test_quantity.c - what is read as a quantity and what is not, and why not. */
#include <criterion/criterion.h>

#include "daydrip/quantity.h"

TestSuite(quantity);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])
#define ANY 0xffffU
#define MICRO 1000000

static const struct {
    const char *text;
    unsigned takes; /* the kinds it is */
    int64_t micro, per_micro;
    dd_unit unit, per;
    bool per_kg;
} good[] = {
    {"500 mL", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 500 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"500mL", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 500 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"500  ml", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 500 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"500 ML", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 500 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"500\302\240mL", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 500 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"1 L", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, MICRO, MICRO, DD_UNIT_L, DD_UNIT_NONE, false},
    {"1.5l", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 1500000, MICRO, DD_UNIT_L, DD_UNIT_NONE, false},
    {"0.000001 mL", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 1, MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"000000500 mL", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 500 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_NONE, false},
    {"640 g", DD_TAKES_MASS | DD_TAKES_AMOUNT | DD_TAKES_GRAMS_AS_ML, 640 * INT64_C(1000000), MICRO, DD_UNIT_G, DD_UNIT_NONE, false},
    {"18.5 kg", DD_TAKES_MASS, 18500000, MICRO, DD_UNIT_KG, DD_UNIT_NONE, false},
    {"500 mg", DD_TAKES_MASS | DD_TAKES_AMOUNT, 500 * INT64_C(1000000), MICRO, DD_UNIT_MG, DD_UNIT_NONE, false},
    {"20 mmol", DD_TAKES_AMOUNT, 20 * MICRO, MICRO, DD_UNIT_MMOL, DD_UNIT_NONE, false},
    {"20 mEq", DD_TAKES_AMOUNT, 20 * MICRO, MICRO, DD_UNIT_MEQ, DD_UNIT_NONE, false},
    {"25000 units", DD_TAKES_AMOUNT, 25000 * INT64_C(1000000), MICRO, DD_UNIT_UNITS, DD_UNIT_NONE, false},
    {"83.3 mL/h", DD_TAKES_RATE, 83300000, MICRO, DD_UNIT_ML, DD_UNIT_H, false},
    {"83.3 mL / h", DD_TAKES_RATE, 83300000, MICRO, DD_UNIT_ML, DD_UNIT_H, false},
    {"5 mL/min", DD_TAKES_RATE, 5 * MICRO, MICRO, DD_UNIT_ML, DD_UNIT_MIN, false},
    {"1800 mL/day", DD_TAKES_RATE, 1800 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_DAY, false},
    {"4 mL/kg/h", DD_TAKES_RATE_KG | DD_TAKES_DOSE_DAY, 4 * MICRO, MICRO, DD_UNIT_ML, DD_UNIT_H, true},
    {"120 mL/kg/day", DD_TAKES_RATE_KG | DD_TAKES_DOSE_DAY, 120 * MICRO, MICRO, DD_UNIT_ML, DD_UNIT_DAY, true},
    {"20 mL/kg", DD_TAKES_VOLUME_KG, 20 * MICRO, MICRO, DD_UNIT_ML, DD_UNIT_NONE, true},
    {"31 gtt/min", DD_TAKES_DROP_RATE, 31 * MICRO, MICRO, DD_UNIT_GTT, DD_UNIT_MIN, false},
    {"31 drops/min", DD_TAKES_DROP_RATE, 31 * MICRO, MICRO, DD_UNIT_DROPS, DD_UNIT_MIN, false},
    {"20 gtt/mL", DD_TAKES_DROP_FACTOR, 20 * MICRO, MICRO, DD_UNIT_GTT, DD_UNIT_ML, false},
    {"20 drops/ml", DD_TAKES_DROP_FACTOR, 20 * MICRO, MICRO, DD_UNIT_DROPS, DD_UNIT_ML, false},
    {"8 h", DD_TAKES_TIME | DD_TAKES_AGE, 8 * MICRO, MICRO, DD_UNIT_H, DD_UNIT_NONE, false},
    {"45min", DD_TAKES_TIME, 45 * MICRO, MICRO, DD_UNIT_MIN, DD_UNIT_NONE, false},
    {"90 s", DD_TAKES_TIME, 90 * MICRO, MICRO, DD_UNIT_S, DD_UNIT_NONE, false},
    {"1 day", DD_TAKES_TIME | DD_TAKES_AGE, MICRO, MICRO, DD_UNIT_DAY, DD_UNIT_NONE, false},
    {"4 days", DD_TAKES_TIME | DD_TAKES_AGE, 4 * MICRO, MICRO, DD_UNIT_DAYS, DD_UNIT_NONE, false},
    {"6 weeks", DD_TAKES_AGE, 6 * MICRO, MICRO, DD_UNIT_WEEKS, DD_UNIT_NONE, false},
    {"10 months", DD_TAKES_AGE, 10 * MICRO, MICRO, DD_UNIT_MONTHS, DD_UNIT_NONE, false},
    {"7 years", DD_TAKES_AGE, 7 * MICRO, MICRO, DD_UNIT_YEARS, DD_UNIT_NONE, false},
    {"1 year", DD_TAKES_AGE, MICRO, MICRO, DD_UNIT_YEAR, DD_UNIT_NONE, false},
    {"5 mcg/kg/min", DD_TAKES_DOSE_RATE | DD_TAKES_DOSE_DAY, 5 * MICRO, MICRO, DD_UNIT_MCG, DD_UNIT_MIN, true},
    {"1200 units/h", DD_TAKES_DOSE_RATE, 1200 * INT64_C(1000000), MICRO, DD_UNIT_UNITS, DD_UNIT_H, false},
    {"3 mmol/kg/day", DD_TAKES_DOSE_RATE | DD_TAKES_DOSE_DAY, 3 * MICRO, MICRO, DD_UNIT_MMOL, DD_UNIT_DAY, true},
    {"400 mg/250 mL", DD_TAKES_STRENGTH, 400 * INT64_C(1000000), 250 * INT64_C(1000000), DD_UNIT_MG, DD_UNIT_ML, false},
    {"400mg/250ml", DD_TAKES_STRENGTH, 400 * INT64_C(1000000), 250 * INT64_C(1000000), DD_UNIT_MG, DD_UNIT_ML, false},
    {"1.6 mg/mL", DD_TAKES_STRENGTH, 1600000, MICRO, DD_UNIT_MG, DD_UNIT_ML, false},
    {"25000 units/0.5 L", DD_TAKES_STRENGTH, 25000 * INT64_C(1000000), 500000, DD_UNIT_UNITS, DD_UNIT_L, false},
    {"20 mmol/L", DD_TAKES_STRENGTH, 20 * MICRO, MICRO, DD_UNIT_MMOL, DD_UNIT_L, false},
    {"50 g/L", DD_TAKES_STRENGTH, 50 * MICRO, MICRO, DD_UNIT_G, DD_UNIT_L, false},
    {"308 mOsm/L", DD_TAKES_OSMOLARITY, 308 * INT64_C(1000000), MICRO, DD_UNIT_MOSM, DD_UNIT_L, false},
    {"75 %", DD_TAKES_PERCENT, 75 * MICRO, MICRO, DD_UNIT_PERCENT, DD_UNIT_NONE, false},
    {"75%", DD_TAKES_PERCENT, 75 * MICRO, MICRO, DD_UNIT_PERCENT, DD_UNIT_NONE, false},
    {"100 L", DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, 100 * MICRO, MICRO, DD_UNIT_L, DD_UNIT_NONE, false},
    {"10000 mL/h", DD_TAKES_RATE, 10000 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_H, false},
    {"240000 mL/day", DD_TAKES_RATE, 240000 * INT64_C(1000000), MICRO, DD_UNIT_ML, DD_UNIT_DAY, false},
    {"166.666666 mL/min", DD_TAKES_RATE, 166666666, MICRO, DD_UNIT_ML, DD_UNIT_MIN, false},
    {"500 kg", DD_TAKES_MASS, 500 * INT64_C(1000000), MICRO, DD_UNIT_KG, DD_UNIT_NONE, false},
};

Test(quantity, reads_what_is_good)
{
    for (size_t i = 0; i < ROWS(good); i++) {
        const char *hint = "untouched";
        dd_quantity q;
        dd_quantity_fault fault = dd_quantity_read(good[i].text, strlen(good[i].text), ANY, false, &q, &hint);
        cr_assert_eq(fault, DD_QF_NONE, "%s: fault %d", good[i].text, (int)fault);
        cr_expect_null(hint, "%s", good[i].text);
        cr_expect(q.micro == good[i].micro && q.per_micro == good[i].per_micro && q.unit == good[i].unit && q.per == good[i].per &&
            q.per_kg == good[i].per_kg, "%s is read as something else", good[i].text);
    }
}

/* Each place takes its own kinds and no others. */
Test(quantity, each_place_takes_its_kinds)
{
    for (size_t i = 0; i < ROWS(good); i++)
        for (unsigned bit = 1; bit <= DD_TAKES_GRAMS_AS_ML; bit <<= 1) {
            dd_quantity q, before;
            memset(&q, 0x55, sizeof q);
            before = q;
            dd_quantity_fault fault = dd_quantity_read(good[i].text, strlen(good[i].text), bit, false, &q, NULL);
            cr_expect_eq(fault, good[i].takes & bit ? DD_QF_NONE : DD_QF_UNIT_WRONG, "%s at kind %#x: fault %d", good[i].text, bit, (int)fault);
            cr_expect(fault == DD_QF_NONE || memcmp(&q, &before, sizeof q) == 0, "%s: written in spite of its fault", good[i].text);
        }
}

/* Written for people and read again it is the same amount, thousands apart, which are never read. */
Test(quantity, written_and_read_is_the_same)
{
    for (size_t i = 0; i < ROWS(good); i++) {
        dd_quantity q, again;
        char text[128], plain[128];
        size_t kept = 0;
        cr_assert_eq(dd_quantity_read(good[i].text, strlen(good[i].text), ANY, false, &q, NULL), DD_QF_NONE);
        size_t length = dd_number_quantity(text, sizeof text, q);
        for (size_t j = 0; j < length; j++)
            if (text[j] != ',')
                plain[kept++] = text[j];
        dd_quantity_fault fault = dd_quantity_read(plain, kept, good[i].takes, false, &again, NULL);
        cr_assert_eq(fault, DD_QF_NONE, "%s printed as %s: fault %d", good[i].text, text, (int)fault);
        dd_ratio a, b;
        cr_assert(dd_quantity_exact(q, &a) == DD_OK && dd_quantity_exact(again, &b) == DD_OK);
        cr_expect(dd_ratio_compare(a, b) == 0 && q.per == again.per && q.per_micro == again.per_micro && q.per_kg == again.per_kg, "%s", text);
    }
}

Test(quantity, refuses_what_is_not)
{
    static const struct {
        const char *text;
        dd_quantity_fault fault;
        const char *hint;
    } rows[] = {
        {"", DD_QF_NO_NUMBER, NULL}, {"mL", DD_QF_NO_NUMBER, NULL}, {"about 5 mL", DD_QF_NO_NUMBER, NULL}, {"-", DD_QF_NO_NUMBER, NULL},
        {".", DD_QF_NO_NUMBER, NULL}, {",", DD_QF_NO_NUMBER, NULL}, {"~5 mL", DD_QF_NO_NUMBER, NULL},
        {"83,3 mL/h", DD_QF_COMMA, NULL}, {"0,5 mL", DD_QF_COMMA, NULL}, {"0,500 mL", DD_QF_COMMA, NULL}, {",5 mL", DD_QF_COMMA, NULL},
        {"1,25 L", DD_QF_COMMA, NULL}, {"5, mL", DD_QF_COMMA, NULL}, {"1,2345 L", DD_QF_COMMA, NULL}, {"1000,500 mL", DD_QF_COMMA, NULL},
        {"1.6 mg/2,5 mL", DD_QF_COMMA, NULL},
        {"1,000 mL", DD_QF_THOUSANDS, NULL}, {"1,000,000 mL", DD_QF_THOUSANDS, NULL}, {"1 000 mL", DD_QF_THOUSANDS, NULL},
        {"1'000 mL", DD_QF_THOUSANDS, NULL}, {"1_000 mL", DD_QF_THOUSANDS, NULL}, {"1\302\240000 mL", DD_QF_THOUSANDS, NULL},
        {"1\342\200\257000 mL", DD_QF_THOUSANDS, NULL}, {"1\342\200\231000 mL", DD_QF_THOUSANDS, NULL}, {"1.000.000 mL", DD_QF_THOUSANDS, NULL},
        {"1.000,5 mL", DD_QF_THOUSANDS, NULL}, {"25,000 units/500 mL", DD_QF_THOUSANDS, NULL}, {"5 mg/1,000 mL", DD_QF_THOUSANDS, NULL},
        {".5 mL", DD_QF_LEADING_POINT, NULL}, {"5. mL", DD_QF_TRAILING_POINT, NULL}, {"5.mL", DD_QF_TRAILING_POINT, NULL}, {"5.", DD_QF_TRAILING_POINT, NULL},
        {"1 mg/.5 mL", DD_QF_LEADING_POINT, NULL},
        {"-5 mL", DD_QF_SIGN, NULL}, {"+5 mL", DD_QF_SIGN, NULL}, {"- 5 mL", DD_QF_SIGN, NULL}, {"\342\210\2225 mL", DD_QF_SIGN, NULL}, {"-.5 mL", DD_QF_SIGN, NULL},
        {"1.23E+13", DD_QF_EXPONENT, NULL}, {"1e3 mL", DD_QF_EXPONENT, NULL}, {"5E-2 mL", DD_QF_EXPONENT, NULL},
        {"1234567890 mL", DD_QF_DIGITS, NULL}, {"0000000001 mL", DD_QF_DIGITS, NULL}, {"1.1234567 mL", DD_QF_DIGITS, NULL}, {"1.0000000 mL", DD_QF_DIGITS, NULL},
        {"99999999999999999999999999 mL", DD_QF_DIGITS, NULL}, {"0.00000000000000000000000001 mL", DD_QF_DIGITS, NULL},
        {"80", DD_QF_NO_UNIT, NULL}, {"0", DD_QF_NO_UNIT, NULL}, {"80 mL/", DD_QF_NO_UNIT, NULL}, {"400 mg/250", DD_QF_NO_UNIT, NULL}, {"5 /h", DD_QF_NO_UNIT, NULL},
        {"5 mL//h", DD_QF_NO_UNIT, NULL}, {"5 mL/kg/", DD_QF_NO_UNIT, NULL}, {"5 mL/ /h", DD_QF_NO_UNIT, NULL},
        {"80 foo", DD_QF_UNIT_UNKNOWN, NULL}, {"80 mL h", DD_QF_UNIT_UNKNOWN, NULL}, {"80 mL per h", DD_QF_UNIT_UNKNOWN, NULL}, {"80 e", DD_QF_UNIT_UNKNOWN, NULL},
        {"5 mL-h", DD_QF_UNIT_UNKNOWN, NULL}, {"5 m L", DD_QF_UNIT_UNKNOWN, NULL},
        {"18 KG", DD_QF_UNIT_UNKNOWN, "kg"}, {"18 Kg", DD_QF_UNIT_UNKNOWN, "kg"}, {"5 MG", DD_QF_UNIT_UNKNOWN, "mg"}, {"8 H", DD_QF_UNIT_UNKNOWN, "h"},
        {"20 meq", DD_QF_UNIT_UNKNOWN, "mEq"}, {"20 MMOL/L", DD_QF_UNIT_UNKNOWN, "mmol"}, {"8 hrs", DD_QF_UNIT_UNKNOWN, "h"}, {"80 mL/hr", DD_QF_UNIT_UNKNOWN, "h"},
        {"5 mg.", DD_QF_UNIT_UNKNOWN, "mg"}, {"5 mLs", DD_QF_UNIT_UNKNOWN, "mL"}, {"1 litre", DD_QF_UNIT_UNKNOWN, "L"}, {"1 unit", DD_QF_UNIT_UNKNOWN, "units"},
        {"30 minutes", DD_QF_UNIT_UNKNOWN, "min"}, {"20 gtts/min", DD_QF_UNIT_UNKNOWN, "gtt"}, {"5 Units", DD_QF_UNIT_UNKNOWN, "units"},
        {"150 lb", DD_QF_UNIT_UNSAFE, "kg"}, {"150lbs", DD_QF_UNIT_UNSAFE, "kg"}, {"11 st", DD_QF_UNIT_UNSAFE, "kg"}, {"5 cc", DD_QF_UNIT_UNSAFE, "mL"},
        {"5 CC", DD_QF_UNIT_UNSAFE, "mL"}, {"5 ccm", DD_QF_UNIT_UNSAFE, "mL"}, {"5 cm3", DD_QF_UNIT_UNSAFE, "mL"}, {"5 cm\302\263", DD_QF_UNIT_UNSAFE, "mL"},
        {"5 \302\265g", DD_QF_UNIT_UNSAFE, "mcg"}, {"5 \316\274g/kg/min", DD_QF_UNIT_UNSAFE, "mcg"}, {"5 ug", DD_QF_UNIT_UNSAFE, "mcg"},
        {"5 U", DD_QF_UNIT_UNSAFE, "units"}, {"5 u/h", DD_QF_UNIT_UNSAFE, "units"}, {"5 IU", DD_QF_UNIT_UNSAFE, "units"}, {"80 cc/h", DD_QF_UNIT_UNSAFE, "mL"},
        {"3 d", DD_QF_UNIT_UNSAFE, "day"}, {"5 mg/d", DD_QF_UNIT_UNSAFE, "day"}, {"20 dpm", DD_QF_UNIT_UNSAFE, "gtt/min"},
        {"5 mL/h/kg", DD_QF_UNIT_WRONG, "mL/kg/h"}, {"5 mcg/min/kg", DD_QF_UNIT_WRONG, "mcg/kg/min"}, {"1800 mL/24 h", DD_QF_UNIT_WRONG, "day"},
        {"2 L/day", DD_QF_UNIT_WRONG, "mL"}, {"5 mL/week", DD_QF_UNIT_WRONG, NULL}, {"5 mL/mL", DD_QF_UNIT_WRONG, NULL}, {"5 mg/kg", DD_QF_UNIT_WRONG, NULL},
        {"5 mg/70 kg", DD_QF_UNIT_WRONG, NULL}, {"5 mL/12 h", DD_QF_UNIT_WRONG, NULL}, {"5 h/mL", DD_QF_UNIT_WRONG, NULL}, {"5 mg/kg/mL", DD_QF_UNIT_WRONG, NULL},
        {"5 mL/kg/kg", DD_QF_UNIT_WRONG, NULL}, {"5 mg/kg/kg/h", DD_QF_UNIT_WRONG, NULL}, {"5 mL/h/day", DD_QF_UNIT_WRONG, NULL}, {"20 gtt/h", DD_QF_UNIT_WRONG, NULL},
        {"20 gtt/L", DD_QF_UNIT_WRONG, NULL}, {"20 gtt/2 mL", DD_QF_UNIT_WRONG, NULL}, {"20 gtt", DD_QF_UNIT_WRONG, NULL}, {"5 %/h", DD_QF_UNIT_WRONG, NULL},
        {"5 kg/h", DD_QF_UNIT_WRONG, NULL}, {"300 mOsm", DD_QF_UNIT_WRONG, NULL}, {"5 mL/s", DD_QF_UNIT_WRONG, NULL},
        {"0 mL", DD_QF_ZERO, NULL}, {"0.000 mL/h", DD_QF_ZERO, NULL}, {"0 %", DD_QF_ZERO, NULL}, {"5 mg/0 mL", DD_QF_ZERO, NULL},
        {"100.000001 L", DD_QF_TOO_LARGE, NULL}, {"100001 mL", DD_QF_TOO_LARGE, NULL}, {"10000.1 mL/h", DD_QF_TOO_LARGE, NULL}, {"166.666667 mL/min", DD_QF_TOO_LARGE, NULL},
        {"240000.1 mL/day", DD_QF_TOO_LARGE, NULL}, {"500.000001 kg", DD_QF_TOO_LARGE, NULL}, {"500001 g", DD_QF_TOO_LARGE, NULL}, {"1 mg/101 L", DD_QF_TOO_LARGE, NULL},
        {"999999999 mL", DD_QF_TOO_LARGE, NULL}, {"999999999 kg", DD_QF_TOO_LARGE, NULL},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        const char *hint = "untouched";
        dd_quantity q;
        dd_quantity_fault fault = dd_quantity_read(rows[i].text, strlen(rows[i].text), ANY & ~(unsigned)DD_TAKES_GRAMS_AS_ML, false, &q, &hint);
        cr_expect_eq(fault, rows[i].fault, "\"%s\": fault %d, not %d", rows[i].text, (int)fault, (int)rows[i].fault);
        cr_expect(rows[i].hint == hint || (rows[i].hint != NULL && hint != NULL && strcmp(rows[i].hint, hint) == 0), "\"%s\": hint %s", rows[i].text,
            hint == NULL ? "none" : hint);
    }
}

Test(quantity, zero_and_ceilings_of_outputs)
{
    dd_quantity q;
    cr_expect(dd_quantity_read("0 mL/h", 6, DD_TAKES_RATE, true, &q, NULL) == DD_QF_NONE && q.micro == 0);
    cr_expect(dd_quantity_read("0 mg/mL", 7, DD_TAKES_STRENGTH, true, &q, NULL) == DD_QF_NONE);
    cr_expect_eq(dd_quantity_read("5 mg/0 mL", 9, DD_TAKES_STRENGTH, true, &q, NULL), DD_QF_ZERO);
    cr_expect_eq(dd_quantity_read("100000 g", 8, DD_TAKES_GRAMS_AS_ML, false, &q, NULL), DD_QF_NONE);
    cr_expect_eq(dd_quantity_read("100001 g", 8, DD_TAKES_GRAMS_AS_ML, false, &q, NULL), DD_QF_TOO_LARGE);
}

/* Only `length` bytes are looked at, and every beginning of a good text is either good or a fault. */
Test(quantity, looks_no_further_than_its_length)
{
    for (size_t i = 0; i < ROWS(good); i++) {
        size_t length = strlen(good[i].text);
        for (size_t cut = 0; cut <= length; cut++) {
            char *copy = malloc(cut + 1); /* a sanitizer watches its end */
            cr_assert_not_null(copy);
            memcpy(copy, good[i].text, cut);
            dd_quantity q = {0};
            dd_quantity_fault fault = dd_quantity_read(copy, cut, ANY, true, &q, NULL);
            cr_expect(fault <= DD_QF_TOO_LARGE);
            copy = realloc(copy, cut + 8);
            cr_assert_not_null(copy);
            memcpy(copy + cut, "999 mL/h", 8);
            dd_quantity other = {0};
            cr_expect_eq(dd_quantity_read(copy, cut, ANY, true, &other, NULL), fault);
            cr_expect_eq(memcmp(&q, &other, sizeof q), 0);
            free(copy);
        }
    }
}

Test(quantity, conversions)
{
    static const struct {
        const char *text;
        int64_t volume, seconds, milligrams;
    } rows[] = {
        {"1 L", 1000000, -1, -1}, {"83.3 mL", 83300, -1, -1}, {"0.0005 mL", 1, -1, -1}, {"0.000499 mL", 0, -1, -1}, {"100 L", 100000000, -1, -1},
        {"8 h", -1, 28800, -1}, {"1.5 min", -1, 90, -1}, {"0.5 s", -1, 1, -1}, {"0.49 s", -1, 0, -1}, {"2 days", -1, 172800, -1}, {"1 week", -1, 604800, -1},
        {"1 month", -1, 2629800, -1}, {"2 years", -1, 63115200, -1}, {"999999999.999999 h", -1, INT64_C(3600000000000), -1},
        {"18.5 kg", -1, -1, 18500000}, {"640 g", -1, -1, 640000}, {"0.5 mg", -1, -1, 1}, {"499 mcg", -1, -1, 0}, {"500 kg", -1, -1, 500000000},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_quantity q;
        dd_volume volume = {0};
        int64_t value = 0;
        cr_assert_eq(dd_quantity_read(rows[i].text, strlen(rows[i].text), ANY, false, &q, NULL), DD_QF_NONE);
        if (rows[i].volume >= 0)
            cr_expect(dd_quantity_volume(q, &volume) == DD_OK && volume.ul == rows[i].volume, "%s: %lld", rows[i].text, (long long)volume.ul);
        if (rows[i].seconds >= 0)
            cr_expect(dd_quantity_seconds(q, &value) == DD_OK && value == rows[i].seconds, "%s: %lld", rows[i].text, (long long)value);
        if (rows[i].milligrams >= 0)
            cr_expect(dd_quantity_grams(q, &value) == DD_OK && value == rows[i].milligrams, "%s: %lld", rows[i].text, (long long)value);
    }
    dd_quantity q;
    dd_ratio exact;
    cr_assert_eq(dd_quantity_read("0.000001 mg/250 mL", 18, DD_TAKES_STRENGTH, false, &q, NULL), DD_QF_NONE);
    cr_expect(dd_quantity_exact(q, &exact) == DD_OK && exact.num == 1 && exact.den == 1, "a picogram is a millionth of a microgram");
    cr_expect(dd_quantity_below(q, &exact) == DD_OK && exact.num == 250000 && exact.den == 1, "250 mL are 250000 uL");
    cr_assert_eq(dd_quantity_read("5 mL/h", 6, DD_TAKES_RATE, false, &q, NULL), DD_QF_NONE);
    cr_expect(dd_quantity_below(q, &exact) == DD_OK && exact.num == 3600 && exact.den == 1);
    cr_assert_eq(dd_quantity_read("5 mL", 4, DD_TAKES_VOLUME, false, &q, NULL), DD_QF_NONE);
    cr_expect(dd_quantity_below(q, &exact) == DD_OK && exact.num == 1 && exact.den == 1);
    cr_expect_str_eq(dd_quantity_unit(DD_UNIT_GTT), "gtt");
    cr_expect_str_eq(dd_quantity_unit(250), "");
    cr_expect_eq(dd_quantity_dimension(DD_UNIT_MEQ), DD_DIM_CHARGE);
    cr_expect_eq(dd_quantity_dimension(250), DD_DIM_NONE);
    q.unit = 250;
    cr_expect_eq(dd_quantity_exact(q, &exact), DD_TOO_LARGE);
}

/* No bytes can do harm. */
Test(quantity, any_bytes)
{
    static const char *const pieces[] = {"5", "0", ".", ",", " ", "/", "mL", "kg", "h", "mg", "\302\265", "E", "-", "%", "min", "\xff", "999999999", "'", "\342\200", "gtt"};
    uint64_t random = 7;
    for (int i = 0; i < 200000; i++) {
        char text[128];
        size_t length = 0;
        for (int j = 0; j < 8; j++) {
            random = random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            const char *piece = pieces[(random >> 33) % ROWS(pieces)];
            memcpy(text + length, piece, strlen(piece));
            length += strlen(piece);
            dd_quantity q;
            if (dd_quantity_read(text, length, ANY, true, &q, NULL) != DD_QF_NONE)
                continue;
            dd_ratio exact;
            char out[128];
            cr_assert(q.unit > DD_UNIT_NONE && q.unit < DD_UNIT_COUNT && q.per < DD_UNIT_COUNT && q.micro >= 0 && q.per_micro > 0);
            cr_assert(q.micro < INT64_C(1000000000) * MICRO && q.per_micro < INT64_C(1000000000) * MICRO);
            cr_assert_eq(dd_quantity_exact(q, &exact), DD_OK);
            cr_assert(dd_number_quantity(out, sizeof out, q) > 0 && out[0] != '\0');
        }
    }
}
