/* quantity.c - reading written quantities, and bringing them to the counts that the engine works in.
 *
 * Reads what nobody could misread and refuses the rest, each kind with a fault of its own: a decimal comma, a missing
 * unit and `lb` are different mistakes and deserve different answers. */
#include "daydrip/quantity.h"

#include <string.h>

#include "whole.h"

#define ONE INT64_C(1000000)
#define DIGITS_BEFORE 9
#define DIGITS_AFTER 6

static const struct unit_facts {
    const char *text;
    int64_t size;
    dd_dimension dimension;
} units[] = {
#define UNIT(id, text, dimension, size, spoken) {text, INT64_C(size), dimension},
#include "unit.def"
#undef UNIT
};

/* What is written for a unit and not read, and what to write instead. Compared without regard to case. Unsafe: on the
 * published lists of error-prone expressions, or not metric; the others are only spelt otherwise. */
static const struct other_spelling {
    const char *text, *instead;
    bool unsafe;
} other_spellings[] = {
    {"lb", "kg", true}, {"lbs", "kg", true}, {"pound", "kg", true}, {"pounds", "kg", true}, {"st", "kg", true}, {"stone", "kg", true},
    {"oz", "g or mL", true}, {"ounce", "g or mL", true}, {"ounces", "g or mL", true}, {"gr", "g", true}, {"grain", "g", true}, {"grains", "g", true},
    {"cc", "mL", true}, {"ccs", "mL", true}, {"c.c.", "mL", true}, {"ccm", "mL", true}, {"cm3", "mL", true}, {"cm^3", "mL", true},
    {"cm\302\263", "mL", true}, {"cbcm", "mL", true}, {"tsp", "mL", true}, {"tbsp", "mL", true}, {"cl", "mL", false}, {"dl", "mL", false},
    {"ul", "mL", false}, {"mcl", "mL", false}, {"\302\265l", "mL", false}, {"\316\274l", "mL", false},
    {"\302\265g", "mcg", true}, {"\316\274g", "mcg", true}, {"ug", "mcg", true}, {"gamma", "mcg", true}, {"\316\263", "mcg", true},
    {"mgm", "mg", true}, {"mgs", "mg", false}, {"mcgs", "mcg", false}, {"kgs", "kg", false}, {"kilo", "kg", false}, {"kilos", "kg", false}, {"gm", "g", true},
    {"gms", "g", true}, {"gram", "g", false}, {"grams", "g", false}, {"ng", "mcg", true}, {"micrograms", "mcg", false}, {"microgram", "mcg", false},
    {"milligrams", "mg", false}, {"milligram", "mg", false}, {"kilogram", "kg", false}, {"kilograms", "kg", false},
    {"u", "units", true}, {"iu", "units", true}, {"i.u.", "units", true}, {"ie", "units", true}, {"ui", "units", true}, {"unit", "units", false},
    {"mu", "units", true}, {"miu", "units", true}, {"munits", "units", true}, {"milliunits", "units", false},
    {"mval", "mEq", false}, {"meqs", "mEq", false}, {"mmols", "mmol", false}, {"mol", "mmol", false}, {"umol", "mmol", false},
    {"\302\265mol", "mmol", true}, {"\316\274mol", "mmol", true}, {"mosmol", "mOsm", false}, {"osm", "mOsm", false},
    {"mls", "mL", false}, {"millilitre", "mL", false}, {"millilitres", "mL", false}, {"milliliter", "mL", false}, {"milliliters", "mL", false},
    {"lt", "L", false}, {"ltr", "L", false}, {"litre", "L", false}, {"litres", "L", false}, {"liter", "L", false}, {"liters", "L", false},
    {"sec", "s", false}, {"secs", "s", false}, {"second", "s", false}, {"seconds", "s", false}, {"m", "min", false}, {"mins", "min", false},
    {"minute", "min", false}, {"minutes", "min", false}, {"'", "min", true}, {"hr", "h", false}, {"hrs", "h", false}, {"hour", "h", false}, {"hours", "h", false},
    {"\302\260", "h", true}, {"d", "day", true}, {"dy", "day", false}, {"24h", "day", false}, {"wk", "week", false}, {"wks", "weeks", false},
    {"mo", "month", false}, {"mth", "month", false}, {"mths", "months", false}, {"yr", "year", false}, {"yrs", "years", false}, {"y", "years", false},
    {"drop", "drops", false}, {"gtts", "gtt", false}, {"dr", "drops", false}, {"dps", "drops", false}, {"mcgtt", "gtt", false}, {"ugtt", "gtt", false},
    {"microdrops", "drops", false}, {"microdrips", "drops", false}, {"macrodrops", "drops", false}, {"dpm", "gtt/min", true}, {"mlh", "mL/h", false},
    {"mlhr", "mL/h", false}, {"mlph", "mL/h", true}, {"mgh", "mg/h", false}, {"percent", "%", false}, {"pct", "%", false}, {"vol%", "%", false},
};

/* `mL/h/kg` means the same, but one order of the parts keeps columns comparable. */
static const struct turned {
    uint8_t unit, per;
    const char *instead;
} turned[] = {
    {DD_UNIT_ML, DD_UNIT_H, "mL/kg/h"}, {DD_UNIT_ML, DD_UNIT_DAY, "mL/kg/day"}, {DD_UNIT_ML, DD_UNIT_MIN, "mL/kg/min"},
    {DD_UNIT_MCG, DD_UNIT_MIN, "mcg/kg/min"}, {DD_UNIT_MCG, DD_UNIT_H, "mcg/kg/h"}, {DD_UNIT_MG, DD_UNIT_MIN, "mg/kg/min"},
    {DD_UNIT_MG, DD_UNIT_H, "mg/kg/h"}, {DD_UNIT_MG, DD_UNIT_DAY, "mg/kg/day"}, {DD_UNIT_G, DD_UNIT_DAY, "g/kg/day"},
    {DD_UNIT_UNITS, DD_UNIT_H, "units/kg/h"}, {DD_UNIT_MMOL, DD_UNIT_DAY, "mmol/kg/day"}, {DD_UNIT_MMOL, DD_UNIT_H, "mmol/kg/h"},
    {DD_UNIT_MEQ, DD_UNIT_DAY, "mEq/kg/day"}, {DD_UNIT_MEQ, DD_UNIT_H, "mEq/kg/h"},
};

typedef struct cursor {
    const char *at, *end;
} cursor;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same_letters(const char *text, size_t length, const char *word)
{
    if (strlen(word) != length)
        return false;
    for (size_t i = 0; i < length; i++)
        if (lower(text[i]) != lower(word[i]))
            return false;
    return true;
}

static bool begins(cursor c, const char *with)
{
    size_t length = strlen(with);
    return (size_t)(c.end - c.at) >= length && memcmp(c.at, with, length) == 0;
}

static bool digit_follows(cursor c, size_t skip)
{
    return (size_t)(c.end - c.at) > skip && is_digit(c.at[skip]);
}

/* The bytes of one space: plain, no-break (from web pages and spreadsheets), narrow no-break, thin. 0: none. */
static size_t space_bytes(cursor c)
{
    static const char *const spaces[] = {" ", "\t", "\302\240", "\342\200\257", "\342\200\211"};
    for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++)
        if (begins(c, spaces[i]))
            return strlen(spaces[i]);
    return 0;
}

static void skip_spaces(cursor *c)
{
    for (size_t bytes; (bytes = space_bytes(*c)) > 0;)
        c->at += bytes;
}

/* Bytes of something that people write between thousands, where a digit follows it; 0: none. */
static size_t separator_bytes(cursor c)
{
    static const char *const marks[] = {"'", "_", "\342\200\231", " ", "\302\240", "\342\200\257", "\342\200\211"};
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
        if (begins(c, marks[i]) && digit_follows(c, strlen(marks[i])))
            return strlen(marks[i]);
    return 0;
}

/* A comma behind the first digits: `1,000` is a thousand, `83,3` and `0,500` are decimals. */
static dd_quantity_fault comma_fault(cursor c, const char *first, size_t digits)
{
    size_t after = 0;
    while (digit_follows(c, 1 + after))
        after++;
    return after == 3 && digits <= 3 && *first != '0' ? DD_QF_THOUSANDS : DD_QF_COMMA;
}

/* What stands before a number that does not begin with a digit. */
static dd_quantity_fault beginning_fault(cursor c)
{
    static const char *const signs[] = {"-", "+", "\342\210\222", "\342\200\223"}; /* the minus sign and the dash of typesetters too */
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
        if (!begins(c, signs[i]))
            continue;
        c.at += strlen(signs[i]);
        skip_spaces(&c);
        return digit_follows(c, 0) || (begins(c, ".") && digit_follows(c, 1)) ? DD_QF_SIGN : DD_QF_NO_NUMBER;
    }
    if (begins(c, ".") && digit_follows(c, 1))
        return DD_QF_LEADING_POINT;
    if (begins(c, ",") && digit_follows(c, 1))
        return DD_QF_COMMA;
    return DD_QF_NO_NUMBER;
}

/* Digits, and a point with digits; *micro gets the number x 10^6. The cursor stands behind it afterwards. */
static dd_quantity_fault read_number(cursor *c, int64_t *micro)
{
    const char *first = c->at;
    if (!digit_follows(*c, 0))
        return beginning_fault(*c);
    size_t before = 0, after = 0;
    int64_t value = 0;
    bool too_many = false;
    for (; digit_follows(*c, 0); c->at++) {
        if (++before > DIGITS_BEFORE)
            too_many = true;
        else
            value = value * 10 + (*c->at - '0');
    }
    if (begins(*c, ","))
        return comma_fault(*c, first, before);
    if (separator_bytes(*c) > 0)
        return DD_QF_THOUSANDS;
    if (begins(*c, ".")) {
        c->at++;
        if (!digit_follows(*c, 0))
            return DD_QF_TRAILING_POINT;
        for (; digit_follows(*c, 0); c->at++) {
            if (++after > DIGITS_AFTER)
                too_many = true;
            else if (!too_many)
                value = value * 10 + (*c->at - '0');
        }
        /* A second separator: 1.000.000 or 1.000,5. */
        if (begins(*c, ".") || begins(*c, ",") || separator_bytes(*c) > 0)
            return DD_QF_THOUSANDS;
    }
    if ((begins(*c, "e") || begins(*c, "E")) && (digit_follows(*c, 1) || ((begins(*c, "e+") || begins(*c, "E+") || begins(*c, "e-") || begins(*c, "E-")) && digit_follows(*c, 2))))
        return DD_QF_EXPONENT;
    if (too_many)
        return DD_QF_DIGITS;
    for (; after < DIGITS_AFTER; after++)
        value *= 10;
    *micro = value;
    return DD_QF_NONE;
}

/* One unit as far as the next stroke. *out is DD_UNIT_NONE where it is faulty. */
static dd_quantity_fault read_unit(cursor *c, uint8_t *out, const char **hint)
{
    const char *first = c->at, *stop = first;
    while (stop < c->end && *stop != '/')
        stop++;
    c->at = stop;
    while (stop > first && (stop[-1] == ' ' || stop[-1] == '\t'))
        stop--;
    size_t length = (size_t)(stop - first);
    if (length == 0)
        return DD_QF_NO_UNIT;
    for (uint8_t i = DD_UNIT_NONE + 1; i < DD_UNIT_COUNT; i++) {
        bool any_case = units[i].dimension == DD_DIM_VOLUME;
        if (any_case ? same_letters(first, length, units[i].text) : strlen(units[i].text) == length && memcmp(units[i].text, first, length) == 0) {
            *out = i;
            return DD_QF_NONE;
        }
    }
    for (size_t i = 0; i < sizeof other_spellings / sizeof other_spellings[0]; i++)
        if (same_letters(first, length, other_spellings[i].text)) {
            *hint = other_spellings[i].instead;
            return other_spellings[i].unsafe ? DD_QF_UNIT_UNSAFE : DD_QF_UNIT_UNKNOWN;
        }
    for (uint8_t i = DD_UNIT_NONE + 1; i < DD_UNIT_COUNT; i++)
        if (same_letters(first, length, units[i].text) || (first[length - 1] == '.' && same_letters(first, length - 1, units[i].text)))
            *hint = units[i].text;
    return DD_QF_UNIT_UNKNOWN;
}

/* What stands below the last stroke: a unit, perhaps with a number of its own (`400 mg/250 mL`). */
static dd_quantity_fault read_below(cursor *c, dd_quantity *q, const char **hint)
{
    skip_spaces(c);
    bool counted = digit_follows(*c, 0) || beginning_fault(*c) != DD_QF_NO_NUMBER;
    if (counted) {
        dd_quantity_fault fault = read_number(c, &q->per_micro);
        if (fault != DD_QF_NONE)
            return fault;
        skip_spaces(c);
    }
    dd_quantity_fault fault = read_unit(c, &q->per, hint);
    if (fault != DD_QF_NONE)
        return fault;
    if (!counted || units[q->per].dimension == DD_DIM_VOLUME)
        return counted && q->per_micro == 0 ? DD_QF_ZERO : DD_QF_NONE;
    if (q->per == DD_UNIT_H && q->per_micro == 24 * ONE)
        *hint = "day";
    return DD_QF_UNIT_WRONG;
}

/* Everything behind the number. */
static dd_quantity_fault read_units(cursor *c, dd_quantity *q, const char **hint)
{
    dd_quantity_fault fault = read_unit(c, &q->unit, hint);
    if (fault != DD_QF_NONE || c->at == c->end)
        return fault;
    c->at++;
    fault = read_below(c, q, hint);
    if (fault != DD_QF_NONE)
        return fault;
    if (q->per == DD_UNIT_KG && q->per_micro == ONE) {
        q->per_kg = true;
        q->per = DD_UNIT_NONE;
        if (c->at == c->end)
            return DD_QF_NONE;
        c->at++;
        fault = read_below(c, q, hint);
        if (fault != DD_QF_NONE)
            return fault;
    }
    if (c->at == c->end)
        return DD_QF_NONE;
    c->at++;
    skip_spaces(c);
    uint8_t third = DD_UNIT_NONE;
    fault = read_unit(c, &third, hint);
    if (fault != DD_QF_NONE)
        return fault;
    if (third == DD_UNIT_KG && !q->per_kg && c->at == c->end)
        for (size_t i = 0; i < sizeof turned / sizeof turned[0]; i++)
            if (turned[i].unit == q->unit && turned[i].per == q->per)
                *hint = turned[i].instead;
    return DD_QF_UNIT_WRONG;
}

static bool is_amount(uint8_t unit)
{
    return (units[unit].dimension == DD_DIM_MASS && unit != DD_UNIT_KG) || units[unit].dimension == DD_DIM_MOLE ||
        units[unit].dimension == DD_DIM_CHARGE || units[unit].dimension == DD_DIM_ACTIVITY;
}

/* A stretch of time, as a number above the stroke and below it. */
static bool is_span(uint8_t unit)
{
    return units[unit].dimension == DD_DIM_TIME || unit == DD_UNIT_DAYS;
}

static bool is_rate_time(uint8_t unit)
{
    return unit == DD_UNIT_MIN || unit == DD_UNIT_H || unit == DD_UNIT_DAY;
}

static unsigned plain_kinds(dd_quantity q)
{
    unsigned kinds = 0;
    if (q.per_kg)
        return units[q.unit].dimension == DD_DIM_VOLUME ? DD_TAKES_VOLUME_KG : 0;
    if (units[q.unit].dimension == DD_DIM_VOLUME)
        kinds |= DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML;
    if (is_span(q.unit))
        kinds |= DD_TAKES_TIME;
    if (units[q.unit].dimension == DD_DIM_AGE || q.unit == DD_UNIT_DAY || q.unit == DD_UNIT_H)
        kinds |= DD_TAKES_AGE;
    if (units[q.unit].dimension == DD_DIM_MASS)
        kinds |= DD_TAKES_MASS;
    if (q.unit == DD_UNIT_G)
        kinds |= DD_TAKES_GRAMS_AS_ML;
    if (is_amount(q.unit))
        kinds |= DD_TAKES_AMOUNT;
    if (units[q.unit].dimension == DD_DIM_PERCENT)
        kinds |= DD_TAKES_PERCENT;
    return kinds;
}

/* Which of dd_takes a quantity is. */
static unsigned kinds_of(dd_quantity q)
{
    if (q.per == DD_UNIT_NONE)
        return plain_kinds(q);
    if (is_rate_time(q.per)) {
        if (q.unit == DD_UNIT_ML)
            return q.per_kg ? DD_TAKES_RATE_KG | DD_TAKES_DOSE_DAY : DD_TAKES_RATE;
        if (is_amount(q.unit))
            return q.per_kg ? DD_TAKES_DOSE_RATE | DD_TAKES_DOSE_DAY : DD_TAKES_DOSE_RATE;
        return units[q.unit].dimension == DD_DIM_DROPS && q.per == DD_UNIT_MIN && !q.per_kg ? DD_TAKES_DROP_RATE : 0;
    }
    if (units[q.per].dimension != DD_DIM_VOLUME || q.per_kg)
        return 0;
    if (is_amount(q.unit))
        return DD_TAKES_STRENGTH;
    if (q.per_micro != ONE)
        return 0;
    if (units[q.unit].dimension == DD_DIM_DROPS && q.per == DD_UNIT_ML)
        return DD_TAKES_DROP_FACTOR;
    return units[q.unit].dimension == DD_DIM_OSMOLE ? DD_TAKES_OSMOLARITY : 0;
}

/* 100 L, 10 L/h (a rate per kg likewise: no patient weighs less than that makes sense of), 500 kg; 100 kg where grams count
 * as mL. */
static bool too_large(dd_quantity q, unsigned kinds)
{
    dd_int128 amount = (dd_int128)q.micro * units[q.unit].size, limit;
    if (units[q.unit].dimension == DD_DIM_VOLUME)
        limit = q.per == DD_UNIT_NONE ? (dd_int128)DD_VOLUME_MOST_UL : (dd_int128)DD_RATE_MOST_UL_H * units[q.per].size;
    else if (units[q.unit].dimension == DD_DIM_MASS)
        limit = (dd_int128)(kinds & DD_TAKES_GRAMS_AS_ML ? DD_VOLUME_MOST_UL : DD_WEIGHT_MOST_MG) * units[DD_UNIT_MG].size;
    else
        return false;
    if (units[q.unit].dimension == DD_DIM_VOLUME && q.per != DD_UNIT_NONE)
        amount *= units[DD_UNIT_H].size;
    if (amount > limit * ONE)
        return true;
    return units[q.per].dimension == DD_DIM_VOLUME && (dd_int128)q.per_micro * units[q.per].size > (dd_int128)DD_VOLUME_MOST_UL * ONE;
}

dd_quantity_fault dd_quantity_read(const char *text, size_t length, unsigned takes, bool zero, dd_quantity *out, const char **hint)
{
    const char *unused;
    if (hint == NULL)
        hint = &unused;
    *hint = NULL;
    dd_quantity q = {.per_micro = ONE, .unit = DD_UNIT_NONE, .per = DD_UNIT_NONE};
    cursor c = {text, text + length};
    dd_quantity_fault fault = read_number(&c, &q.micro);
    if (fault != DD_QF_NONE)
        return fault;
    skip_spaces(&c);
    fault = read_units(&c, &q, hint);
    if (fault != DD_QF_NONE)
        return fault;
    unsigned kinds = kinds_of(q) & takes;
    if (kinds == 0) {
        if (q.unit == DD_UNIT_L && is_rate_time(q.per))
            *hint = "mL";
        return DD_QF_UNIT_WRONG;
    }
    if (q.micro == 0 && !zero)
        return DD_QF_ZERO;
    if (too_large(q, kinds))
        return DD_QF_TOO_LARGE;
    *out = q;
    return DD_QF_NONE;
}

/* ---- conversions ---- */

dd_status dd_quantity_exact(dd_quantity q, dd_ratio *out)
{
    if (q.unit >= DD_UNIT_COUNT)
        return DD_TOO_LARGE;
    return dd_ratio_make((dd_int128)q.micro * units[q.unit].size, ONE, out);
}

dd_status dd_quantity_below(dd_quantity q, dd_ratio *out)
{
    if (q.per >= DD_UNIT_COUNT)
        return DD_TOO_LARGE;
    return dd_ratio_make((dd_int128)q.per_micro * units[q.per].size, ONE, out);
}

dd_dimension dd_quantity_dimension(uint8_t unit)
{
    return unit < DD_UNIT_COUNT ? units[unit].dimension : DD_DIM_NONE;
}

const char *dd_quantity_unit(uint8_t unit)
{
    return unit < DD_UNIT_COUNT ? units[unit].text : "";
}

/* micro x size in another size, half up. */
static dd_status in_size(dd_quantity q, int64_t size, int64_t *out)
{
    dd_ratio exact, scale;
    if (dd_quantity_exact(q, &exact) != DD_OK || dd_ratio_make(1, size, &scale) != DD_OK || dd_ratio_times(exact, scale, &exact) != DD_OK)
        return DD_TOO_LARGE;
    return dd_ratio_half_up(exact, 1, out);
}

dd_status dd_quantity_volume(dd_quantity q, dd_volume *out)
{
    return in_size(q, 1, &out->ul);
}

dd_status dd_quantity_seconds(dd_quantity q, int64_t *out)
{
    return in_size(q, 1, out);
}

dd_status dd_quantity_grams(dd_quantity q, int64_t *milligrams)
{
    return in_size(q, units[DD_UNIT_MG].size, milligrams);
}

/* Both in the exact size of their dimension and of what stands below the stroke. */
bool dd_quantity_compare(dd_quantity a, dd_quantity b, int *out)
{
    dd_ratio x, y, below;
    if (a.unit == DD_UNIT_NONE || b.unit == DD_UNIT_NONE || dd_quantity_dimension(a.unit) != dd_quantity_dimension(b.unit) || a.per_kg != b.per_kg
        || dd_quantity_dimension(a.per) != dd_quantity_dimension(b.per))
        return false;
    if (dd_quantity_exact(a, &x) != DD_OK || dd_quantity_below(a, &below) != DD_OK || dd_ratio_over(x, below, &x) != DD_OK
        || dd_quantity_exact(b, &y) != DD_OK || dd_quantity_below(b, &below) != DD_OK || dd_ratio_over(y, below, &y) != DD_OK)
        return false;
    *out = dd_ratio_compare(x, y);
    return true;
}
