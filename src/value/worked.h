/* worked.h - one rate worked out: from what is known about an infusion to all that follows from it. Pure and exact.
 *
 * What was written goes in as it was read; what comes out are exact fractions, and by which way each was reached, so that a
 * page can show the working. Nothing is rounded but what a device is set to and the end. */
#ifndef DD_WORKED_H
#define DD_WORKED_H

#include "daydrip/quantity.h"

typedef enum dd_worked_option {
    DD_WORKED_VOLUME, DD_WORKED_OVER, DD_WORKED_RATE, DD_WORKED_SET, DD_WORKED_WEIGHT, DD_WORKED_STRENGTH, DD_WORKED_DOSE,
    DD_WORKED_DOSE_UNIT, DD_WORKED_START, DD_WORKED_GIVEN, DD_WORKED_LEFT, DD_WORKED_AT, DD_WORKED_FLUID
} dd_worked_option;

/* A time of the local clock, without a zone. */
typedef struct dd_worked_time {
    int64_t seconds; /* with a date since 1970-01-01 00:00 of the local clock, else of the day, 0 to 86399 */
    bool has, has_date;
} dd_worked_time;

/* What is known. A quantity of unit NONE is not. */
typedef struct dd_worked_inputs {
    dd_quantity volume;    /* DD_TAKES_VOLUME or _VOLUME_KG */
    dd_quantity over;      /* DD_TAKES_TIME, above 0 */
    dd_quantity rate;      /* DD_TAKES_RATE, _RATE_KG, _DROP_RATE; unit PERCENT: of the maintenance need by weight */
    dd_quantity weight;    /* DD_TAKES_MASS, above 0 */
    dd_quantity strength;  /* DD_TAKES_STRENGTH, above 0 */
    dd_quantity dose;      /* DD_TAKES_DOSE_RATE */
    dd_quantity dose_unit; /* DD_TAKES_DOSE_RATE, its number not looked at */
    dd_quantity given;     /* DD_TAKES_VOLUME; at `at`, else at `start` */
    dd_quantity left;      /* likewise */
    dd_worked_time start, at;
    int64_t drop_factor_micro; /* drops per mL x 10^6 of a gravity set; 0: a pump or syringe */
    int64_t step_ul_h;         /* what that can be set to, above 0 */
    dd_ratio glucose_ug_l;     /* of the fluid; denominator 0: no fluid was named */
} dd_worked_inputs;

typedef enum dd_worked_way { DD_WORKED_NO_WAY, DD_WORKED_BY_VOLUME, DD_WORKED_BY_LEFT, DD_WORKED_BY_DOSE, DD_WORKED_BY_RATE, DD_WORKED_BY_TIME } dd_worked_way;

typedef struct dd_worked_figure {
    dd_ratio exact;
    bool has;
} dd_worked_figure;

typedef struct dd_worked {
    dd_worked_figure weight;      /* kg */
    dd_worked_figure over;        /* s */
    dd_worked_figure rate;        /* uL/h, at most 10 L/h */
    dd_worked_figure maintenance; /* uL/day, where the rate is a part of it */
    dd_worked_figure drops_exact; /* drops/min, gravity */
    dd_worked_figure volume;      /* uL, all of it */
    dd_worked_figure duration;    /* s, of all of it */
    dd_worked_figure elapsed;     /* s, from start to at */
    dd_worked_figure given, left; /* uL */
    dd_worked_figure left_for;    /* s */
    dd_worked_figure strength;    /* its amount's unit, per mL */
    dd_worked_figure dose_hourly; /* of the dose that was written: the strength's unit per h */
    dd_worked_figure dose;        /* in dose_unit */
    dd_worked_figure per_kg;      /* uL/kg/h */
    dd_worked_figure glucose;     /* mg/kg/min */
    dd_quantity dose_unit;        /* its number is 1 */
    dd_worked_way rate_by;        /* BY_VOLUME (and over), BY_LEFT (and over), BY_DOSE, BY_RATE */
    dd_worked_way volume_by;      /* BY_VOLUME (written), BY_LEFT (and given), BY_RATE (and over) */
    dd_worked_way given_by;       /* BY_VOLUME (written), BY_LEFT (volume less left), BY_TIME (start, at) */
    dd_rate set;                  /* where rate.has */
    int32_t drops;                /* per minute, gravity; 0 otherwise */
    dd_worked_time ends;          /* with a date half up to the second; a clock to the minute */
    int32_t day_offset;           /* days from that of start (of `at` where there is none) to that of ends */
    dd_worked_way clash_by;       /* DD_WORKED_DISAGREE: what the rate of `rate` disagrees with, */
    dd_ratio clash;               /* and its rate */
} dd_worked;

typedef enum dd_worked_fault {
    DD_WORKED_FINE,
    DD_WORKED_NOTHING,     /* nothing follows */
    DD_WORKED_NEEDS,       /* about[0] needs about[1] */
    DD_WORKED_OTHER_KIND,  /* the amounts of about[0] and about[1] cannot be converted: mg and units */
    DD_WORKED_DISAGREE,    /* two ways give rates that a device would be set differently for */
    DD_WORKED_MORE,        /* about[0] is more than about[1] */
    DD_WORKED_NOT_THE_SUM, /* given and left do not make the volume */
    DD_WORKED_EARLIER,     /* `at` lies before `start` */
    DD_WORKED_TOO_LARGE    /* about[0] leads above 10 L/h or 100 L, or to more digits than there are */
} dd_worked_fault;

/* Works out all that follows. Anything but DD_WORKED_FINE: *out is not to be used, but for the clash; `about` names the
 * options where the fault says so. Of three that say the same (volume, over, rate) the time is kept exactly; all must
 * agree to what the device can be set to. */
DD_MUST_USE dd_worked_fault dd_worked_out(const dd_worked_inputs *in, dd_worked *out, dd_worked_option about[2]);

#endif
