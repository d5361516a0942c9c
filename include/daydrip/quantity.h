/* quantity.h - volumes, rates and written quantities: exact integers, the unit in the type.
 *
 * Nothing here is floating point. A volume that flows is counted in units u of 1/3600 microlitre, because then
 * rate (uL/h) x time (s) is exact: one microlitre per hour for one second is one u. Derived quantities
 * (mL/kg x kg, volume / time, dose / strength) are exact fractions until they are rounded once, half up. */
#ifndef DAYDRIP_QUANTITY_H
#define DAYDRIP_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "status.h"

__extension__ typedef __int128 dd_int128;

#define DD_U_PER_UL INT64_C(3600)    /* u in a microlitre */
#define DD_UNKNOWN INT64_MIN         /* a value that nobody knows; never the same as zero */
#define DD_VOLUME_MOST_UL INT64_C(100000000) /* ceilings of what can be written: 100 L, */
#define DD_RATE_MOST_UL_H INT64_C(10000000)  /* 10 L/h, */
#define DD_WEIGHT_MOST_MG INT64_C(500000000) /* 500 kg */

/* One-member structs, so that a volume and a rate cannot be swapped. */
typedef struct dd_volume { int64_t ul; } dd_volume; /* microlitres, 0 to 100 L; balances may be negative */
typedef struct dd_u { int64_t u; } dd_u;            /* 1/3600 microlitre; 100 L are 3.6e11 */
typedef struct dd_rate { int64_t ul_per_h; } dd_rate; /* microlitres per hour, 0 to 10 L/h */

/* An exact fraction in lowest terms, den > 0. The unit is said where one is used. */
typedef struct dd_ratio { dd_int128 num, den; } dd_ratio;

/* Units are listed in unit.def; the enum is made from it. */
typedef enum dd_unit {
#define UNIT(id, text, dimension, size, spoken) DD_UNIT_##id,
#include "unit.def"
#undef UNIT
    DD_UNIT_COUNT
} dd_unit;

typedef enum dd_dimension {
    DD_DIM_NONE,
    DD_DIM_VOLUME,     /* size in microlitres */
    DD_DIM_MASS,       /* size in nanograms */
    DD_DIM_MOLE,       /* mmol; size in micromoles */
    DD_DIM_CHARGE,     /* mEq; size in micro-equivalents */
    DD_DIM_ACTIVITY,   /* units of activity, only of the same drug comparable */
    DD_DIM_TIME,       /* size in seconds */
    DD_DIM_AGE,        /* days, months, years; size in seconds */
    DD_DIM_DROPS,      /* size in drops */
    DD_DIM_OSMOLE,     /* mOsm; size in micro-osmoles */
    DD_DIM_PERCENT     /* size 1 */
} dd_dimension;

/* A written quantity: number, unit, and what it is "per".  `83.3 mL/h` is {83300000, ML, per_kg false, per H, 1000000};
 * `400 mg/250 mL` is {400000000, MG, false, ML, 250000000}; `5 mcg/kg/min` has per_kg true. */
typedef struct dd_quantity {
    int64_t micro;     /* the number x 10^6; 0 to 999,999,999.999999 */
    int64_t per_micro; /* the number of the unit below the stroke x 10^6; 1,000,000 where none is written */
    uint8_t unit;      /* dd_unit above the stroke; DD_UNIT_NONE: no quantity here */
    uint8_t per;       /* dd_unit below the stroke, a time, a volume or NONE */
    bool per_kg;
} dd_quantity;

/* What kinds of quantity a place takes; combined with |. */
typedef enum dd_takes {
    DD_TAKES_VOLUME = 1 << 0,      /* 500 mL, 1 L */
    DD_TAKES_VOLUME_KG = 1 << 1,   /* 20 mL/kg */
    DD_TAKES_RATE = 1 << 2,        /* mL/h mL/min mL/day */
    DD_TAKES_RATE_KG = 1 << 3,     /* mL/kg/h mL/kg/day mL/kg/min */
    DD_TAKES_DROP_RATE = 1 << 4,   /* gtt/min drops/min */
    DD_TAKES_DROP_FACTOR = 1 << 5, /* gtt/mL drops/mL */
    DD_TAKES_TIME = 1 << 6,        /* s min h day (days too) */
    DD_TAKES_AGE = 1 << 7,         /* h day days week weeks month months year years */
    DD_TAKES_MASS = 1 << 8,        /* kg g mg mcg */
    DD_TAKES_AMOUNT = 1 << 9,      /* mass, mmol, mEq, units */
    DD_TAKES_DOSE_RATE = 1 << 10,  /* amount, optionally /kg, per min h day */
    DD_TAKES_STRENGTH = 1 << 11,   /* amount per volume */
    DD_TAKES_PERCENT = 1 << 12,    /* 75 % */
    DD_TAKES_OSMOLARITY = 1 << 13, /* mOsm/L */
    DD_TAKES_DOSE_DAY = 1 << 14,   /* mmol/kg/day, mL/kg/day as limits: any amount or volume per kg per time */
    DD_TAKES_GRAMS_AS_ML = 1 << 15 /* an output: volume, or grams counted as mL */
} dd_takes;

/* What is wrong with a written quantity. Each has its own message (message.def). */
typedef enum dd_quantity_fault {
    DD_QF_NONE,
    DD_QF_NO_NUMBER,      /* does not begin with a digit */
    DD_QF_COMMA,          /* 83,3 mL/h */
    DD_QF_LEADING_POINT,  /* .5 mL */
    DD_QF_TRAILING_POINT, /* 5. mL */
    DD_QF_SIGN,           /* -5 mL */
    DD_QF_THOUSANDS,      /* 1 000 mL, 1'000 mL, 1_000 mL, 1,000 mL */
    DD_QF_EXPONENT,       /* 1.23E+13 */
    DD_QF_DIGITS,         /* more than 9 before or 6 after the point */
    DD_QF_NO_UNIT,        /* 80 */
    DD_QF_UNIT_UNKNOWN,   /* 80 foo; 80 KG, 80 hrs: `hint` names what was probably meant */
    DD_QF_UNIT_UNSAFE,    /* lb, cc, ug with a Greek letter, IU, U: `hint` names the right one */
    DD_QF_UNIT_WRONG,     /* a known unit that does not belong here; mL/h/kg: `hint` is mL/kg/h */
    DD_QF_ZERO,           /* 0 where only more than 0 makes sense */
    DD_QF_TOO_LARGE       /* above 100 L, 10 L/h, 500 kg */
} dd_quantity_fault;

/* Reads a whole trimmed cell as one quantity. `takes` is a set of dd_takes; `zero` says whether 0 may stand.
 * Returns the fault (DD_QF_NONE: *out is set). *hint, where not NULL, gets a static text: the unit to write instead, or
 * NULL. Never allocates. */
dd_quantity_fault dd_quantity_read(const char *text, size_t length, unsigned takes, bool zero, dd_quantity *out, const char **hint);

/* Conversions; each DD_TOO_LARGE where it does not fit. The caller has made sure of the dimension by `takes`. */
DD_MUST_USE dd_status dd_quantity_exact(dd_quantity q, dd_ratio *out); /* in the dimension's size (see dd_dimension), per-parts left out */
DD_MUST_USE dd_status dd_quantity_volume(dd_quantity q, dd_volume *out); /* half up to whole uL */
DD_MUST_USE dd_status dd_quantity_seconds(dd_quantity q, int64_t *out);  /* half up to whole seconds; months are 30.4375 days */
DD_MUST_USE dd_status dd_quantity_grams(dd_quantity q, int64_t *milligrams); /* a mass, half up to whole mg */
DD_MUST_USE dd_status dd_quantity_below(dd_quantity q, dd_ratio *out); /* what is below the stroke, in its dimension's size: seconds or
                                                                        * microlitres; 1 where nothing is */
/* -1, 0, 1 in *out; false: they do not compare (another dimension, one per kg and one not). */
bool dd_quantity_compare(dd_quantity a, dd_quantity b, int *out);
dd_dimension dd_quantity_dimension(uint8_t unit); /* of a dd_unit */
const char *dd_quantity_unit(uint8_t unit);       /* a dd_unit as written in tables, `gtt`; static */

/* ---- fractions: all arithmetic checked, DD_TOO_LARGE on overflow, *out untouched then ---- */
DD_MUST_USE dd_status dd_ratio_make(dd_int128 num, dd_int128 den, dd_ratio *out); /* den of 0 is DD_TOO_LARGE */
DD_MUST_USE dd_status dd_ratio_times(dd_ratio a, dd_ratio b, dd_ratio *out);
DD_MUST_USE dd_status dd_ratio_over(dd_ratio a, dd_ratio b, dd_ratio *out);
DD_MUST_USE dd_status dd_ratio_plus(dd_ratio a, dd_ratio b, dd_ratio *out);
DD_MUST_USE dd_status dd_ratio_minus(dd_ratio a, dd_ratio b, dd_ratio *out);
int dd_ratio_compare(dd_ratio a, dd_ratio b); /* -1, 0, 1 */
DD_MUST_USE dd_status dd_ratio_half_up(dd_ratio a, int64_t step, int64_t *out); /* to a multiple of step (> 0), halves up */
DD_MUST_USE dd_status dd_ratio_floor(dd_ratio a, int64_t step, int64_t *out);
DD_MUST_USE dd_status dd_ratio_ceil(dd_ratio a, int64_t step, int64_t *out);

/* ---- THE number formatter: every number that a person or a program reads comes from here ---- */
typedef enum dd_style {
    DD_STYLE_PERSON, /* 1,000 and 0.5: thousands separated by commas, no trailing zeros */
    DD_STYLE_PROGRAM /* 1000 and 0.5: plain decimals, no trailing zeros */
} dd_style;
#define DD_NUMBER_MAX 64 /* bytes a formatted number takes at most, its NUL included */

/* Writes the exact fraction, half up (away from zero for negative ones) at `decimals` (0 to 6), without trailing zeros.
 * Returns the length. What does not fit 64 bits after scaling is written as "?" (cannot happen for values that passed
 * the gate). */
size_t dd_number_ratio(char out[DD_NUMBER_MAX], dd_ratio value, int decimals, dd_style style);
/* The same for value x 10^-scale, scale 0 to 6. DD_UNKNOWN is written as "?", here and in dd_number_u. */
size_t dd_number_scaled(char out[DD_NUMBER_MAX], int64_t value, int scale, int decimals, dd_style style);
/* A volume in mL from its exact u: first floor((u + 1800) / 3600) microlitres, then `decimals` (0 to 3) of a mL, each half up
 * from the exact amount. */
size_t dd_number_u(char out[DD_NUMBER_MAX], dd_u value, int decimals, dd_style style);
/* A written quantity as people read it, `83.3 mL/h`, `31 drops/min`, `1,000 mL`. `out` of `room` bytes, cut never: returns
 * the length that is needed. */
size_t dd_number_quantity(char *out, size_t room, dd_quantity q);

#endif
