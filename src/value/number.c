/* number.c - THE number formatter.
 *
 * Every number that a person or a program reads is written here, so that all of them look alike: a zero before the point,
 * no zero at the end, halves away from zero. Reports write hundreds of thousands of rows: no printf, and 64-bit division
 * wherever the value fits. */
#include <string.h>

#include "daydrip/quantity.h"

__extension__ typedef unsigned __int128 wide;

static const uint64_t power_of_ten[] = {1, 10, 100, 1000, 10000, 100000, 1000000};
#define DECIMALS_MAX 6

static int within(int value, int most)
{
    return value < 0 ? 0 : value > most ? most : value;
}

static size_t unknown(char *out)
{
    out[0] = '?';
    out[1] = '\0';
    return 1;
}

/* Writes amount x 10^-decimals. Made from the right, then moved to the front. */
static size_t put(char out[DD_NUMBER_MAX], bool negative, uint64_t amount, int decimals, dd_style style)
{
    char room[DD_NUMBER_MAX], *end = room + sizeof room, *at = end;
    while (decimals > 0 && amount % 10 == 0) {
        amount /= 10;
        decimals--;
    }
    negative = negative && amount != 0;
    if (decimals > 0) {
        for (; decimals > 0; decimals--) {
            *--at = (char)('0' + amount % 10);
            amount /= 10;
        }
        *--at = '.';
    }
    int group = 0;
    do {
        if (style == DD_STYLE_PERSON && group == 3) {
            *--at = ',';
            group = 0;
        }
        *--at = (char)('0' + amount % 10);
        amount /= 10;
        group++;
    } while (amount != 0);
    if (negative)
        *--at = '-';
    size_t length = (size_t)(end - at);
    memcpy(out, at, length);
    out[length] = '\0';
    return length;
}

static uint64_t magnitude(int64_t value)
{
    return value < 0 ? -(uint64_t)value : (uint64_t)value;
}

/* Halves go away from zero, for amounts that lost their sign already. */
static uint64_t divide_half_up(uint64_t amount, uint64_t by)
{
    uint64_t whole = amount / by, rest = amount % by;
    return rest >= by - rest ? whole + 1 : whole;
}

size_t dd_number_scaled(char out[DD_NUMBER_MAX], int64_t value, int scale, int decimals, dd_style style)
{
    if (value == DD_UNKNOWN)
        return unknown(out);
    scale = within(scale, DECIMALS_MAX);
    decimals = within(decimals, DECIMALS_MAX);
    uint64_t amount = magnitude(value);
    if (decimals < scale) {
        amount = divide_half_up(amount, power_of_ten[scale - decimals]);
        scale = decimals;
    }
    return put(out, value < 0, amount, scale, style);
}

size_t dd_number_u(char out[DD_NUMBER_MAX], dd_u value, int decimals, dd_style style)
{
    if (value.u == DD_UNKNOWN)
        return unknown(out);
    decimals = within(decimals, 3);
    uint64_t amount = divide_half_up(magnitude(value.u), (uint64_t)DD_U_PER_UL * power_of_ten[3 - decimals]);
    return put(out, value.u < 0, amount, decimals, style);
}

/* The next decimal digit of *rest / den, rest < den. Added up in tenths, because *rest x 10 may not fit. */
static unsigned next_digit(wide *rest, wide den)
{
    wide sum = 0;
    unsigned digit = 0;
    for (int i = 0; i < 10; i++) {
        sum += *rest;
        if (sum >= den) {
            sum -= den;
            digit++;
        }
    }
    *rest = sum;
    return digit;
}

size_t dd_number_ratio(char out[DD_NUMBER_MAX], dd_ratio value, int decimals, dd_style style)
{
    if (value.den <= 0)
        return unknown(out);
    decimals = within(decimals, DECIMALS_MAX);
    bool negative = value.num < 0;
    wide num = negative ? -(wide)value.num : (wide)value.num, den = (wide)value.den;
    if (num <= UINT64_MAX / power_of_ten[DECIMALS_MAX] && den <= UINT64_MAX)
        return put(out, negative, divide_half_up((uint64_t)num * power_of_ten[decimals], (uint64_t)den), decimals, style);
    wide whole = num / den, rest = num % den;
    if (whole >= UINT64_MAX / power_of_ten[decimals])
        return unknown(out);
    uint64_t amount = (uint64_t)whole;
    for (int i = 0; i < decimals; i++)
        amount = amount * 10 + next_digit(&rest, den);
    if (rest >= den - rest)
        amount++;
    return put(out, negative, amount, decimals, style);
}

/* ---- quantities ---- */

static const char *const spoken[] = {
#define UNIT(id, text, dimension, size, spoken) spoken,
#include "unit.def"
#undef UNIT
};

/* `1 day` but `4 days`, however it was written. */
static const char *counted(dd_quantity q)
{
    static const struct {
        uint8_t one, many;
    } pairs[] = {{DD_UNIT_DAY, DD_UNIT_DAYS}, {DD_UNIT_WEEK, DD_UNIT_WEEKS}, {DD_UNIT_MONTH, DD_UNIT_MONTHS}, {DD_UNIT_YEAR, DD_UNIT_YEARS}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (q.unit == pairs[i].one || q.unit == pairs[i].many)
            return spoken[q.micro == 1000000 ? pairs[i].one : pairs[i].many];
    return spoken[q.unit];
}

size_t dd_number_quantity(char *out, size_t room, dd_quantity q)
{
    char text[2 * DD_NUMBER_MAX + 64], *at = text;
    if (q.unit >= DD_UNIT_COUNT || q.per >= DD_UNIT_COUNT)
        q.unit = q.per = DD_UNIT_NONE;
    if (q.unit != DD_UNIT_NONE) {
        at += dd_number_scaled(at, q.micro, 6, 6, DD_STYLE_PERSON);
        *at++ = ' ';
        const char *unit = counted(q);
        memcpy(at, unit, strlen(unit));
        at += strlen(unit);
        if (q.per_kg) {
            memcpy(at, "/kg", 3);
            at += 3;
        }
        if (q.per != DD_UNIT_NONE) {
            *at++ = '/';
            if (q.per_micro != 1000000) {
                at += dd_number_scaled(at, q.per_micro, 6, 6, DD_STYLE_PERSON);
                *at++ = ' ';
            }
            memcpy(at, spoken[q.per], strlen(spoken[q.per]));
            at += strlen(spoken[q.per]);
        }
    }
    size_t length = (size_t)(at - text);
    if (length < room) {
        memcpy(out, text, length);
        out[length] = '\0';
    } else if (room > 0) {
        out[0] = '\0';
    }
    return length;
}
