/* plan.h - a plan as plain read-only data: what the engine and the writers see.
 *
 * Made by dd_plan_load (src/plan). Everything in it has passed the gate: keys are bound to indexes, quantities are within
 * their ranges, clocks are instants, rules are looked up; nothing downstream checks again. All memory belongs to the plan
 * and goes with it. Texts are NUL-terminated UTF-8 without control characters; an absent text is NULL. */
#ifndef DAYDRIP_PLAN_H
#define DAYDRIP_PLAN_H

#include "message.h"
#include "moment.h"
#include "quantity.h"

typedef enum dd_class { DD_CLASS_NEONATE, DD_CLASS_INFANT, DD_CLASS_CHILD, DD_CLASS_ADULT, DD_CLASS_UNKNOWN } dd_class;
typedef enum dd_line_kind {
    DD_KIND_PERIPHERAL, DD_KIND_MIDLINE, DD_KIND_PICC, DD_KIND_CENTRAL, DD_KIND_UMBILICAL, DD_KIND_INTRAOSSEOUS,
    DD_KIND_SUBCUTANEOUS, DD_KIND_ARTERIAL, DD_KIND_ENTERAL, DD_KIND_COUNT
} dd_line_kind;
/* In the order in which totals list them; the last two are only charted. */
typedef enum dd_category {
    DD_CAT_FLUID, DD_CAT_DRUG, DD_CAT_BLOOD, DD_CAT_NUTRITION, DD_CAT_FLUSH, DD_CAT_FEED, DD_CAT_ORAL, DD_CAT_OTHER, DD_CAT_COUNT
} dd_category;
typedef enum dd_runs { DD_PRIMARY, DD_PIGGYBACK, DD_CONCURRENT } dd_runs;
typedef enum dd_purpose { DD_FOR_MAINTENANCE, DD_FOR_REPLACEMENT, DD_FOR_RESUSCITATION, DD_FOR_TREATMENT } dd_purpose;
typedef enum dd_device { DD_PUMP, DD_SYRINGE, DD_GRAVITY } dd_device;
typedef enum dd_severity { DD_SEV_NONE, DD_NOTE, DD_WATCH, DD_CLARIFY } dd_severity;
typedef enum dd_evidence { DD_EV_READ, DD_EV_MEMORY, DD_EV_DEFAULT, DD_EV_WARD } dd_evidence;
/* What the grams of a fluid's glucose weigh: 1 g of the monohydrate holds 0.909 g of the anhydrous. The two are never converted. */
typedef enum dd_glucose_form { DD_GLUCOSE_NONE, DD_GLUCOSE_ANHYDROUS, DD_GLUCOSE_MONOHYDRATE, DD_GLUCOSE_NOT_STATED } dd_glucose_form;
typedef enum dd_weight_is { DD_MEASURED, DD_BIRTH, DD_ESTIMATED, DD_DRY } dd_weight_is;

/* What is dissolved, per litre; DD_UNKNOWN where nobody said. Ions in nmol/L, glucose in ug/L, osmolarity in nOsm/L: so that
 * times a rate in uL/h it is a whole number of fmol/h (glucose: pg/h), and sums over lines are exact. */
typedef struct dd_composition {
    int64_t sodium, potassium, chloride, calcium, magnesium, phosphate, lactate, acetate, bicarbonate, glucose, osmolarity;
} dd_composition;

/* A fluid of the catalogue: built in (fluid.def) or the ward's own (fluids.csv, which goes first). */
typedef struct dd_fluid {
    const char *key;
    const char *words;   /* how people read it */
    dd_composition has;
    int64_t hang_s;      /* the fluid's own hang time, seconds; 0: not stated */
    const char *source;
    dd_origin at;        /* line 0: built in */
    uint8_t category;    /* dd_category */
    uint8_t evidence;    /* dd_evidence */
    uint8_t glucose_form; /* dd_glucose_form */
    bool diluent_only;   /* water: may not be an order of its own */
} dd_fluid;

typedef struct dd_addition {
    const char *key;      /* as written, lower case */
    const char *words;    /* how people read it; the key where unknown */
    const char *hint;     /* of one that is not known: its name with the nearest known one, as people read it; NULL where it is */
    int16_t additive;     /* index into the built-in additives; -1: not known */
    bool known;           /* an additive or a drug of the lists */
    bool per_bag;         /* `kcl 20 mmol`: in each bag; else per litre */
    dd_quantity amount;
} dd_addition;

/* The `fluid` cell of an order, understood. Orders with the same text share one. */
typedef struct dd_mixture {
    const char *text;     /* as written, trimmed */
    const char *words;    /* as people read it: `glucose 5 % with sodium chloride 0.45 % and potassium chloride 20 mmol/L` */
    const char *drug;     /* drug key where `DRUG amount in FLUID` or an unknown name; else NULL */
    const char *hint;     /* of a drug that is not known: `cefazoline (nearest known name: cefazolin)`; NULL where it is */
    bool drug_known, insulin, vasoactive; /* in the drug's name or an additive's */
    dd_quantity drug_amount; /* unit NONE where there is none */
    int16_t fluid;        /* index into plan->fluids; -1: none (a drug without a carrying fluid) */
    uint32_t number;      /* from 0, in the order of first use */
    uint32_t blend;       /* from 0: those with the same drug, fluid and additives share one, whatever the amounts */
    uint8_t category;     /* default category before the line's kind is looked at */
    uint8_t addition_count;
    const dd_addition *additions;
} dd_mixture;

/* A rule in force: a row of rules.csv or of the built-in list. */
typedef struct dd_rule {
    const char *applies;   /* as written */
    const char *value_text;
    const char *source;
    const char *note;
    dd_quantity low, high; /* the value; high.unit NONE where it is not a range */
    const char *fluid;     /* fluid word it applies to, or NULL */
    uint8_t fluid_category; /* that fluid's; DD_CAT_COUNT where there is none */
    const char *value_fluid; /* the value where it is a fluid (flush-fluid), or NULL */
    dd_origin at;          /* line 0: built in */
    uint8_t id;            /* dd_rule_id */
    uint8_t class_word, kind_word, category_word; /* 255: any */
    uint8_t words;         /* how many words; */
    uint8_t rank;          /* the row of the highest rank wins: most words, a fluid before a category */
    uint8_t severity, evidence;
    int8_t on;             /* 1 on, 0 off, -1 not a switch */
} dd_rule;

/* One step of a stepped rate. */
typedef struct dd_step {
    dd_ratio rate;      /* as ordered, uL/h */
    int64_t seconds;    /* of flow; the last step has 0: until the end */
} dd_step;

typedef enum dd_rate_kind { DD_RATE_STEPS, DD_RATE_REMAINDER } dd_rate_kind;
typedef enum dd_start_kind { DD_START_AT, DD_START_AFTER } dd_start_kind;
typedef enum dd_stop_kind { DD_STOP_NONE, DD_STOP_AT, DD_STOP_CLOCK } dd_stop_kind; /* CLOCK: the first after an `after` order's start */
typedef enum dd_repeat_kind { DD_ONCE, DD_EVERY, DD_TIMES } dd_repeat_kind;

/* An order. Volumes are uL; DD_UNKNOWN where the cell was blank. Rules are already looked up for it. */
typedef struct dd_order {
    const char *key;
    const dd_mixture *mixture;
    const dd_composition *has; /* of its bag: fluid and additives, what is added per bag divided by the bag; a drug's own salts are not in it */
    const dd_mixture *flush;   /* what its doses are flushed with; NULL: they are not flushed */
    const char *allergy;       /* the entry of the patient's allergies that it meets; NULL: none */
    const char *allergy_family; /* the family that both stand in; NULL: they share a word */
    const char *allergy_words; /* the entry as a finding names it: `penicillin, family penicillins (from memory)`; NULL: none */
    const char *note;
    const char *rate_text;     /* the cells as written, for explain; NULL where blank */
    const dd_step *steps;      /* step_count entries; one where the rate is plain; none for a remainder */
    const int32_t *clocks;     /* clock_count seconds of the local day, as written; DD_TIMES */
    int64_t volume_ul, bag_ul, hanging_ul, given_ul, prime_ul, flush_ul; /* bag always known */
    int64_t hanging_u, given_u, flush_u; /* the same three to 10 u (1/360 uL), so that a bag goes over into the next plan exactly */
    int64_t over_s;            /* as written, or DD_UNKNOWN */
    int64_t drop_factor_micro; /* gtt/mL x 10^6, DD_GRAVITY only */
    dd_moment hung;            /* when the bag already hanging went up, or DD_NEVER */
    dd_moment start;           /* due start: DD_START_AT. Repeated: where occurrences count from */
    dd_moment stop;            /* DD_STOP_AT */
    dd_moment ordered;         /* or DD_NEVER */
    int64_t after_s;           /* offset after the end of order `after` */
    int64_t every_s;           /* DD_EVERY: 900 and more */
    int64_t interval_s;        /* of a repeated order: `every`, or the smallest difference round a 24 h dial; 0: not repeated */
    int64_t window_s, gap_s;   /* from the order, else by rule; gap 0: none */
    int64_t hang_s;            /* hang-time limit of its bags; 0: none */
    int64_t rate_step_ul_h;    /* what the pump can be set to: multiples of this */
    int64_t settable_difference_micro; /* per cent x 10^6 */
    int64_t overfill_micro;    /* how much more than it says a bag may have held, per cent x 10^6 */
    uint32_t line_of_file;     /* the row in orders.csv: dd_origin {line_of_file, DD_TABLE_ORDERS, column} */
    int32_t stop_clock;        /* DD_STOP_CLOCK: second of the local day */
    int32_t doses;             /* at most so many; 0: no limit */
    int16_t line;              /* index into patient->lines */
    int16_t after;             /* index into patient->orders, or -1 */
    int16_t replaces;          /* index into patient->orders, or -1 */
    int16_t flush_fluid;       /* index into plan->fluids */
    uint16_t step_count, clock_count;
    uint8_t runs, purpose, category, device;
    uint8_t rate_kind, start_kind, stop_kind, repeat;
    bool has_window, has_gap;  /* written in the order, not by rule */
    const dd_rule *hang_rule, *window_rule, *gap_rule, *step_rule, *difference_rule; /* NULL: the order's or the fluid's own */
} dd_order;

typedef struct dd_line {
    const char *key;
    const char *site, *gauge, *catheter, *dressing, *note; /* NULL where blank */
    dd_moment placed, dressed, set_changed;                /* DD_NEVER where blank */
    uint32_t line_of_file;
    uint8_t kind;     /* dd_line_kind */
} dd_line;

/* A planned interruption: nothing flows on the line in [from, to). */
typedef struct dd_pause {
    dd_moment from, to;
    const char *why;
    uint32_t line_of_file;
    int16_t line;     /* index into patient->lines; -1: all of them */
} dd_pause;

/* What happened: a row of chart.csv, well-formed. Given its meaning by the engine. */
typedef enum dd_event_kind {
#define EVENT(id, text, about, takes) DD_EVENT_##id,
#include "event.def"
#undef EVENT
    DD_EVENT_COUNT
} dd_event_kind;

typedef struct dd_event {
    const char *entry;
    const char *what, *value_text, *by, *note;
    dd_moment time, entered, due; /* entered: its default is time; due DD_NEVER where blank */
    dd_quantity value;            /* unit NONE where the value is a word or blank */
    uint32_t line_of_file;
    int32_t strikes;              /* index into patient->events, or -1 */
    int16_t order, line;          /* indexes, or -1 */
    uint8_t kind;                 /* dd_event_kind */
    bool unmeasured;
} dd_event;

/* A bag at hand: a row of bags.csv. */
typedef struct dd_stock {
    const char *code, *lot;  /* NULL where blank; the code as scanned */
    dd_moment expires;       /* the first second in which it must not be up; DD_NEVER where blank */
    int64_t volume_ul;       /* DD_UNKNOWN where blank */
    const char *gtin, *code_lot, *serial; /* what the code says; NULL where it does not: trade item number of 14 digits, */
    dd_moment code_expires;  /* the first second in which it has expired, or DD_NEVER, */
    int64_t code_volume_ul;  /* net volume, or DD_UNKNOWN */
    uint32_t line_of_file;   /* 0: not a row, a code scanned just now */
    int16_t order;
} dd_stock;

/* A finding that somebody has looked into: a row of accepted.csv. */
typedef struct dd_accepted {
    const char *finding;     /* its code */
    const char *reason, *by;
    dd_quantity up_to;       /* unit NONE: any figure */
    dd_moment until;         /* holds before it */
    uint32_t line_of_file;
    int16_t order, line;     /* indexes, -1: blank */
} dd_accepted;

/* What the ward's pharmacy says of two in one lumen: a row of apart.csv. Names in lower case, `a` the lower one. */
typedef struct dd_pair {
    const char *a, *b, *source;
    uint32_t line_of_file;
    bool together;           /* may meet; else they are to be kept apart */
} dd_pair;

typedef struct dd_patient {
    const char *key, *bed, *allergies, *team, *note; /* bed: the key where blank; allergies NULL: not recorded */
    const char *age_text;
    const dd_line *lines;
    const dd_order *orders;  /* in the order of orders.csv */
    const dd_pause *pauses;
    const dd_event *events;
    const dd_stock *stock;       /* in file order */
    const dd_accepted *accepted; /* in file order */
    int64_t age_s;           /* at the plan's beginning, seconds; DD_UNKNOWN where blank */
    int64_t weight_mg;       /* milligrams; DD_UNKNOWN where blank */
    int64_t allowance_ul_day; /* per day; DD_UNKNOWN where blank */
    int64_t forward_ul;      /* signed; 0 where blank */
    const char *allowance_text, *sex;
    dd_moment weighed, arrived;
    uint32_t line_of_file;
    uint32_t errors;         /* in its rows; above 0: nothing of it is planned */
    uint16_t line_count, order_count, pause_count;
    uint32_t event_count, stock_count, accepted_count;
    uint8_t class_at_begin;  /* dd_class */
    uint8_t weight_is;
    bool forward_known;
} dd_patient;

typedef struct dd_shift { const char *name; int32_t second_of_day; } dd_shift;

typedef struct dd_plan {
    const char *ward;        /* ward's name */
    const char *id;          /* the plan's UUID, or NULL */
    const char *folder;      /* as the user named it */
    const dd_zone *zone;
    dd_moment begins, end;
    bool demo;
    const dd_shift *shifts;  /* rising by second_of_day */
    size_t shift_count;
    const dd_fluid *fluids;  /* the ward's own first, then the built-in ones */
    size_t fluid_count;
    const dd_rule *rules;    /* the ward's own first, then the built-in ones */
    size_t rule_count;
    const dd_rule *const *rules_by_id; /* the same, by id: those of an id from rule_first[id] up to rule_first[id + 1]; see rule.h */
    const size_t *rule_first;
    const dd_pair *pairs;    /* apart.csv, by a, then b */
    size_t pair_count;
    const dd_patient *patients; /* in the order of patients.csv */
    size_t patient_count;
} dd_plan;

#endif
