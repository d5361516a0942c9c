/* regimen.h - published staged regimens: which there are, by whom, and one of them worked out into stages. Pure and exact.
 *
 * regimen.def is the one list; what is computed, listed and refused comes from it. There is no default edition. */
#ifndef DD_REGIMEN_H
#define DD_REGIMEN_H

#include "daydrip/plan.h"
#include "daydrip/quantity.h"

#define DD_REGIMEN_STAGES_MOST 16
#define DD_REGIMEN_PARTS_MOST 6    /* of a deficit */
#define DD_REGIMEN_SPAN_MOST_S INT64_C(345600) /* 96 h, the longest that is published */

/* What the amount of a stage is counted in. */
typedef enum dd_regimen_of {
    DD_OF_ML_KG,   /* mL/kg */
    DD_OF_ML_KG_H, /* mL/kg/h */
    DD_OF_ML,      /* mL, whatever the weight */
    DD_OF_WHOLE,   /* a share of the volume of the formula */
    DD_OF_LEFT,    /* a share of what is left of the deficit; maintenance runs with it */
    DD_OF_TENS,    /* mL/h by area and weight: the rule of tens */
    DD_OF_TABLE    /* mL/h by weight, from the edition's table */
} dd_regimen_of;

typedef enum dd_regimen_route { DD_ROUTE_VEIN, DD_ROUTE_GUT, DD_ROUTE_BLOOD } dd_regimen_route;

typedef struct dd_regimen_stage {
    int32_t num, den; /* the amount, counted in `of` */
    dd_regimen_of of;
    int32_t minutes;  /* 0: until somebody ends it */
    dd_regimen_route route;
    bool subtracts;   /* what it gives is taken off the deficit */
    const char *words; /* what the source adds; "" */
} dd_regimen_stage;

/* For whom a set of stages is. */
typedef struct dd_regimen_class {
    const char *whom;   /* children under 12 months */
    const char *course; /* the word of --course; "": there is but one */
    int64_t from_s, below_s;  /* age; below_s 0: no bound */
    int64_t low_mg, high_mg;  /* weight, both included; 0: no bound */
    int32_t repeat_most;      /* how often the first stage may be repeated */
    const char *repeat;       /* when, and where that stands; "" */
    const dd_regimen_stage *stages;
    size_t stage_count;
} dd_regimen_class;

/* Maintenance by bands of weight: uL/kg/day below so many mg. */
typedef struct dd_regimen_band { int64_t below_mg, ul_kg_day; } dd_regimen_band;
/* One cell of a published table of rates. */
typedef struct dd_regimen_cell { int32_t kg, ml_h; } dd_regimen_cell;

typedef enum dd_regimen_adds { DD_ADDS_UNSAID, DD_ADDS_CHILDREN, DD_ADDS_UNDER_4_YEARS, DD_ADDS_DISPUTED } dd_regimen_adds;

typedef struct dd_regimen_edition {
    const char *name;       /* as the user types it */
    const char *source;     /* title, organisation, year */
    dd_evidence evidence;
    const char *superseded; /* by what; NULL: it is in force as far as was read */
    const char *says;       /* what the stages do not show; NULL: nothing */
    int32_t coefficient_low, coefficient_high; /* burns, mL/kg per %; 0: any */
    int32_t area_from;      /* %; formal resuscitation begins there; 0: not said */
    dd_regimen_adds adds;   /* burns: whether maintenance is added in children */
    int32_t percents[4];    /* of dehydration, those that the edition has; ends with 0; none: any up to 15 */
    int32_t percent_low, percent_high; /* or a range; 0: none */
    int32_t spans[4];       /* minutes of the parts of a deficit that the edition has, one choice each; ends with 0 */
    bool split;             /* the spans are parts that follow each other */
    int64_t cap_mg;         /* maintenance by weight up to this one; 0: no cap */
    int64_t cap_ul_h;       /* hourly maintenance at most; 0: no cap */
    int64_t fixed_ul_h;     /* maintenance whatever the weight; 0: by weight */
    const dd_regimen_band *bands; /* maintenance of the edition's own; NULL: Holliday and Segar */
    size_t band_count;
    const dd_regimen_cell *cells;
    size_t cell_count;
    int32_t sodium_low, sodium_high; /* mmol/L that the table is for */
    int32_t potassium_mmol_l;        /* in what runs; 0: no potassium regimen */
    const dd_regimen_class *classes;
    size_t class_count;
} dd_regimen_edition;

typedef enum dd_regimen_takes {
    DD_REG_AGE = 1 << 0, DD_REG_WEIGHT = 1 << 1, DD_REG_REPEAT = 1 << 2, DD_REG_COURSE = 1 << 3, DD_REG_AREA = 1 << 4, DD_REG_COEFFICIENT = 1 << 5,
    DD_REG_MAINTENANCE = 1 << 6, DD_REG_SINCE = 1 << 7, DD_REG_GIVEN = 1 << 8, DD_REG_PERCENT = 1 << 9, DD_REG_OVER = 1 << 10,
    DD_REG_SPLIT = 1 << 11, DD_REG_BEFORE = 1 << 12, DD_REG_SODIUM = 1 << 13
} dd_regimen_takes;

typedef struct dd_regimen {
    const char *name, *title, *what; /* rehydration-c; REHYDRATION, PLAN C; one line for the list */
    const char *decides;             /* who must decide, and what is looked at */
    unsigned needs, may;             /* dd_regimen_takes */
    bool free;                       /* a source of the user's own may be named too */
    int32_t coefficient;             /* mL/kg per % that the formula itself has; 0: none */
    const char *purpose;             /* of its orders, the column `for` */
    const dd_regimen_edition *editions;
    size_t edition_count;
} dd_regimen;

extern const dd_regimen dd_regimens[];
extern const size_t dd_regimen_count;

/* By name, capitals alike. NULL: there is none. */
const dd_regimen *dd_regimen_find(const char *name);
const dd_regimen_edition *dd_regimen_edition_find(const dd_regimen *regimen, const char *name);

typedef enum dd_regimen_need { DD_REGIMEN_NONE, DD_REGIMEN_DAILY, DD_REGIMEN_HOURLY, DD_REGIMEN_RATE, DD_REGIMEN_EDITION } dd_regimen_need; /* how maintenance is found */

typedef struct dd_regimen_inputs {
    const dd_regimen *regimen;
    const dd_regimen_edition *edition; /* NULL: a source of the user's own, of a regimen that is free */
    const dd_regimen_class *class_;    /* NULL with edition */
    int64_t weight_mg;                 /* DD_UNKNOWN: not given, where no stage goes by weight */
    int32_t repeat;
    dd_ratio coefficient, area, percent; /* mL/kg per %, %, %; den 0: not given */
    dd_ratio rate;                       /* uL/h, of DD_REGIMEN_RATE */
    dd_ratio given;                      /* uL; den 0: nothing */
    int64_t lost_mg;                     /* weight before less weight now; DD_UNKNOWN: by percent */
    int64_t since_s;                     /* from the burn */
    int64_t parts_s[DD_REGIMEN_PARTS_MOST]; /* of a deficit; part_count 0: the stages of the class */
    size_t part_count;
    dd_regimen_need need;
} dd_regimen_inputs;

typedef struct dd_regimen_step {
    const dd_regimen_stage *stage; /* of regimen.def, or of the parts that were asked for (then belonging to the result) */
    bool again;           /* the first stage, repeated */
    bool open;            /* no end: rate alone */
    bool with_maintenance;
    dd_ratio formula;     /* uL before what was given is taken off; only of burns */
    dd_ratio own;         /* uL without maintenance */
    dd_ratio maintenance; /* uL */
    dd_ratio volume;      /* uL, both */
    dd_ratio rate;        /* uL/h, both */
    int64_t over_s, from_s; /* from_s: since the beginning of the first stage */
} dd_regimen_step;

typedef struct dd_regimen_result {
    dd_regimen_stage parts[DD_REGIMEN_PARTS_MOST];
    dd_regimen_step steps[DD_REGIMEN_STAGES_MOST];
    size_t count;
    bool has_whole;       /* a formula or a deficit */
    dd_ratio whole, left; /* uL: of the formula or the deficit; less what was given and what stages subtract */
    dd_ratio maintenance; /* uL/h */
    bool has_maintenance;
    dd_ratio total;       /* uL of the stages that end */
    int64_t total_s;
    bool all_end;
} dd_regimen_result;

typedef enum dd_regimen_fault {
    DD_REGIMEN_FINE,
    DD_REGIMEN_MORE,      /* more given than `whole`, or than is due in the first stage of a burn (its `formula`) */
    DD_REGIMEN_OVER,      /* since the burn: the first stage's time is over */
    DD_REGIMEN_NO_CELL,   /* no cell of the table for this weight */
    DD_REGIMEN_TOO_LARGE  /* above 10 L/h or 100 L, or more digits than there are */
} dd_regimen_fault;

/* Works the stages out. Of anything but DD_REGIMEN_FINE only `whole` and the first step's `formula` may be looked at, where the
 * fault is about them. *out points into itself: it is not to be copied. */
DD_MUST_USE dd_regimen_fault dd_regimen_work_out(const dd_regimen_inputs *in, dd_regimen_result *out);

#endif
