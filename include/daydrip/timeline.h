/* timeline.h - what the engine makes of one patient's plan: every flow, bag, dose and finding, exactly.
 *
 * Invariants, walked by dd_timeline_check in debug builds and by the tests:
 *  - for every bag: hung = prime + given + discarded + left;
 *  - flows of one order, occurrence and part never overlap; primary and piggyback flows of one line never overlap;
 *  - a flow's volume is rate x seconds, except that the last second of a bag or flush gives only what was left;
 *  - flows lie in [plan->begins, plan->end) and are sorted by from, line, order, due, part, bag. */
#ifndef DAYDRIP_TIMELINE_H
#define DAYDRIP_TIMELINE_H

#include "plan.h"

typedef struct dd_set_rate {
    dd_rate ordered_nearest; /* ordered, to the nearest uL/h */
    dd_rate set;             /* what the device is set to */
    int32_t drops;           /* drops per minute, gravity; 0 otherwise */
} dd_set_rate;

typedef enum dd_part { DD_PART_BAG, DD_PART_FLUSH } dd_part;
typedef enum dd_basis { DD_CHARTED, DD_PLANNED } dd_basis;

/* The longest stretch of one order, due, part, bag, rate and basis. */
typedef struct dd_flow {
    dd_moment from, to;   /* half-open */
    dd_moment due;        /* of a repeated order; DD_NEVER otherwise */
    dd_u given;           /* above 0 */
    dd_rate rate;         /* as set */
    int32_t bag;          /* number, from 1; 0 for a flush */
    int64_t scale_to, scale_of, scale_at; /* charted and scaled to a reading: by t, floor(scale_to x (scale_at + rate x (t - from)) / scale_of)
                                           * less the same at `from`; scale_of 0: rate x (t - from), at most `given` */
    int16_t order, line;  /* indexes into the patient's */
    uint8_t part, basis;
} dd_flow;

/* One bag from going up to coming down. Volumes in u. What happens after the window's end is not in it. */
typedef struct dd_bag {
    dd_u hung, prime, given, discarded, left; /* at the window's end; `left` is what still hangs, or what was left over */
    dd_u left_at_now;   /* what is in it at `now`; 0 where it is not up then */
    dd_moment up;       /* when it went up; before the window for the one already hanging (hung: what was left when the plan began), DD_NEVER
                         * where nobody knows */
    dd_moment down;     /* when it was empty or taken down, DD_NEVER where it still hangs at the end */
    dd_moment empty;    /* when it ran dry; DD_NEVER where it did not */
    dd_moment due;      /* of a repeated order */
    int32_t number;
    int16_t order, line; /* line: where it is, or was last */
    bool expired;       /* taken down because its hang time was over */
    bool found_hanging; /* up when the plan began */
} dd_bag;

typedef enum dd_run_end {
    DD_END_NONE,      /* still going at the window's end, or cut by it */
    DD_END_VOLUME,    /* its volume is in */
    DD_END_STOP,      /* its `stop` */
    DD_END_REPLACED,  /* another order took over */
    DD_END_LIMIT,     /* blood: its time was over */
    DD_END_CUT,       /* charted: the start of another on its line ended it */
    DD_END_BEYOND,    /* a dose that starts after the window's end */
    DD_END_OMITTED,   /* charted as omitted */
    DD_END_UNKNOWN,   /* a dose past its window without an entry: given or not? */
    DD_END_NEVER      /* never started */
} dd_run_end;

/* The last reading of a run that counts, held against what it was set to give; and where the run stands at `now`. All in u. */
typedef struct dd_reading {
    const dd_event *event;
    int64_t said_u;     /* what had gone in by it since the reading before, or the start */
    int64_t expected_u; /* as it was set, at most its volume and what its bags held */
    dd_moment since;    /* of the reading before, the bag change that it counts from, or the start */
    int64_t flow_s;     /* seconds of flow in between */
    int64_t to_go_u;    /* at now, still to come from bags; DD_UNKNOWN: no volume */
    int64_t flowed_s;   /* seconds of flow by now */
    dd_rate rate;       /* as set at now */
    int32_t drops;      /* drops per minute, gravity; 0 otherwise */
    bool charted_rate;  /* the rate is the chart's */
    bool answered;      /* its rate was charted since, or the chart has ended it */
    bool over;          /* its volume is in */
} dd_reading;

/* One run of an order: the whole of a single one, or one occurrence of a repeated one. */
typedef struct dd_run {
    const dd_reading *reading; /* NULL: none counts */
    dd_moment due;      /* when it should start; DD_NEVER: an `after` whose time never came */
    dd_moment start;    /* when it starts; charted, it may be before the window; DD_NEVER: it does not */
    dd_moment end;      /* the second after its last flow (flush included); DD_NEVER: not by the window's end (piggybacks: always known) */
    dd_moment flush_from; /* when the flush begins; DD_NEVER: none */
    dd_u given;         /* within the window, flush not included */
    int32_t occurrence; /* 1, 2, ... among the planned ones of a repeated order; 0 otherwise */
    int16_t order, line;
    uint8_t why;        /* dd_run_end */
    bool repeated;
    bool charted;       /* its start is charted */
    bool keeps_line;    /* it began, and no entry has ended it: what replaces it goes on where it is, or was last */
    bool held;          /* charted as paused, now and in the plan */
    bool waited;        /* started later than due because something else ran */
    /* Of a run that has its line at the window's end and goes on over it (goes_on); zero otherwise. */
    bool goes_on;
    bool charted_rate;  /* its rate is the chart's, and has no steps */
    uint16_t step;      /* index of the step it is in */
    int32_t drops;      /* drops per minute, gravity; 0 otherwise */
    dd_rate rate;       /* as set at the window's end */
    int64_t to_go_u;    /* u still to come from bags; DD_UNKNOWN: no volume */
    int64_t flush_left_u; /* u of flush still to come */
    int64_t step_left_s; /* seconds of flow to the next step; 0: there is none */
} dd_run;

/* When what an order flows at changes without a bag change: a step, or going on after a stop. For the list of things to do. */
typedef enum dd_mark_kind { DD_MARK_STOPS, DD_MARK_GOES_ON, DD_MARK_STEP } dd_mark_kind;
typedef struct dd_mark {
    dd_moment at;
    dd_moment due;    /* of a repeated order; DD_NEVER otherwise */
    dd_rate rate;     /* from then on; 0 for DD_MARK_STOPS */
    int32_t step;     /* STEP: its number, from 2: the first begins with the run; 0 otherwise */
    int16_t order, line;
    int16_t cause;    /* STOPS, GOES_ON: index of the order (a piggyback) that is the reason; -1: a pause */
    uint8_t kind;
} dd_mark;

typedef enum dd_finding_code {
#define FINDING(id, code, severity, rule, sentence) DD_FINDING_##id,
#include "finding.def"
    DD_FINDING_COUNT
} dd_finding_code;
#define DD_FINDING_SOUGHT (DD_FINDING_COUNT - 1) /* that a timeline may have: all but RECORD_DIFFERS, which needs a second table */

/* Why no rate is offered that would end an infusion on time; see refusal.def. */
typedef enum dd_refusal {
    DD_REFUSAL_NONE, /* one is offered */
#define REFUSAL(id, text) DD_REFUSAL_##id,
#include "refusal.def"
    DD_REFUSAL_COUNT
} dd_refusal;

/* An infusion that is behind or ahead of what it was set to give, and the ways to go on from now. */
typedef struct dd_course {
    const dd_reading *reading;
    dd_u said, should;    /* as the reading says it, since the start or left in the bag, and what it should have said */
    dd_moment since;      /* it ran so since then */
    dd_ratio ran;         /* what it really ran at, uL/h */
    dd_ratio ran_drops;   /* the same as drops per minute; den 0: not a gravity set */
    dd_moment ends;       /* where it is carried on as it is set; DD_NEVER: not within this plan, or it has no end */
    dd_set_rate offer;    /* what would end it on time, as the device can be set; `ordered_nearest`: before it was made settable */
    dd_moment offer_ends; /* DD_NEVER: not within this plan */
    dd_quantity change;   /* how much faster or slower that is than now, in per cent */
    const dd_rule *rule;  /* that says how far a rate may be changed, or NULL */
    uint8_t refusal;      /* dd_refusal */
    uint8_t limit;        /* dd_finding_code of what it would break, where that is the refusal */
} dd_course;

/* Something that does not fit. Figure and limit are written by dd_number_quantity or the moment functions. */
typedef struct dd_finding {
    dd_moment at;        /* the moment it is about */
    dd_moment until;     /* by when; DD_NEVER where there is none */
    dd_moment to;        /* where it is about a span: the second after it; DD_NEVER else */
    dd_quantity figure, limit; /* unit NONE: none */
    dd_moment due;       /* of the dose it is about, or DD_NEVER */
    const dd_rule *rule; /* or NULL */
    const dd_event *event; /* the entry it is about, or NULL */
    const dd_stock *stock; /* the row of bags.csv it is about, or NULL */
    const dd_accepted *accepted; /* the row that accepts it, or NULL */
    const dd_course *course; /* of an infusion behind or ahead; NULL else */
    const char *word;    /* a name that the sentence ends with (the nearest drug, the allergy), or NULL */
    const char *source;  /* where there is no rule: who says so, or NULL */
    int16_t order, other, line; /* indexes, -1: none; other: the second order it is about */
    uint8_t code, severity;
} dd_finding;

/* Something that could not be looked at because a datum is missing: silence is not safety. */
typedef enum dd_want {
#define WANT(id, text) DD_WANT_##id,
#include "want.def"
    DD_WANT_COUNT
} dd_want;
typedef struct dd_unchecked {
    dd_quantity least; /* what is known all the same: it is at least so much; unit NONE: nothing */
    int16_t order;     /* index, -1: about the patient, or a line */
    int16_t line;      /* index, -1: not about a line */
    uint8_t code;      /* dd_finding_code that was not looked for */
    uint8_t want;      /* dd_want: what is missing */
} dd_unchecked;

typedef struct dd_timeline {
    const dd_plan *plan;
    const dd_patient *patient;
    dd_moment now;
    dd_moment known;
    bool chart_counts;     /* something about an order is charted: before `now` the chart says what happened */
    const dd_flow *flows;  /* as rows: the longest stretches */
    size_t flow_count;
    const dd_flow *pieces; /* the same, cut where a reading changes the scale: for sums inside a row */
    size_t piece_count;
    const dd_event *const *events; /* entries that count, by time */
    size_t event_count;
    size_t later_entries;     /* entries of after `now` that were written down by `known`: they do not count */
    size_t unwritten_entries; /* entries written down after `known` */
    const dd_bag *bags;    /* by order, then number */
    size_t bag_count;
    const dd_run *runs;    /* by start (those that never start last), line, order, due */
    size_t run_count;
    const dd_mark *marks;  /* by at, line, order */
    size_t mark_count;
    const dd_finding *findings; /* worst first, then at, order, line */
    size_t finding_count;
    const dd_unchecked *unchecked; /* by code, then order */
    size_t unchecked_count;
    const dd_set_rate *const *rates; /* per order: step_count entries (1 for a remainder) */
    dd_u remainder_others; /* what everything but the remainder order puts in; for explain */
    int64_t remainder_flow_s; /* T: seconds the remainder order flows */
    dd_rate remainder_rate;
    int16_t remainder_order; /* -1: none */
    bool without_overtaking; /* a line had too many doses at once to try every order */
} dd_timeline;

/* One figure of intake or output in one period. */
typedef struct dd_total {
    dd_moment from, to;
    dd_u volume;
    uint32_t unknown;   /* entries without a measure, doses not known to have been given */
    uint8_t out;        /* 0 in, 1 out */
    uint8_t category;   /* dd_category; of an output dd_output */
    uint8_t basis;
} dd_total;

typedef enum dd_period { DD_BY_HOUR, DD_BY_SHIFT, DD_BY_DAY } dd_period;

typedef struct dd_arena dd_arena;

/* Makes the timeline of one patient: what had happened by `now` and was written down by `known` (usually the same), and what
 * is planned from `now` on. Pure: the same plan, patient and moments give the same bytes. All memory of the result
 * is in `arena`. DD_NO_MEMORY: nothing is usable. The patient must have no errors. Now outside the window is allowed. */
DD_MUST_USE dd_status dd_timeline_make(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_moment known, dd_arena *arena, dd_timeline *out);
/* The same without findings, for what shows none: half the time. An order with the rate `remainder` flows as *remainder says; NULL:
 * its rate is worked out. */
DD_MUST_USE dd_status dd_timeline_bare(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_moment known, const dd_set_rate *remainder,
    dd_arena *arena, dd_timeline *out);

/* The periods of the window, cut at its ends: hours of the local clock, shifts, or days from the plan's beginning.
 * *edges gets count + 1 rising moments in `arena`. */
DD_MUST_USE dd_status dd_timeline_periods(const dd_plan *plan, dd_period by, dd_arena *arena, const dd_moment **edges, size_t *count);
/* Totals for periods given by count + 1 rising edges, rows by from, in before out, category, charted first; only rows with
 * volume or unknowns. */
DD_MUST_USE dd_status dd_timeline_totals(const dd_timeline *timeline, const dd_moment *edges, size_t count, dd_arena *arena, const dd_total **totals, size_t *total_count);
/* Charted urine, and the time it was over: from the plan's beginning, or when the patient came, to the last entry of urine. */
typedef struct dd_urine {
    dd_u volume;        /* what was measured */
    dd_moment from, to; /* to: DD_NEVER where there is no entry */
    uint32_t unknown;   /* entries without a measure */
    dd_ratio ul_per_kg_h; /* exact, uL/kg/h; den 0: under an hour, or no weight */
} dd_urine;
dd_urine dd_timeline_urine(const dd_timeline *timeline);
/* The volume of an entry of intake, output or a bag, in u; grams count as mL. False: unmeasured. */
bool dd_timeline_measure(const dd_event *event, int64_t *u);
/* u given by one order in [from, to); bag and flush. */
dd_u dd_timeline_given(const dd_timeline *timeline, int order, dd_moment from, dd_moment to);
/* The same of what is asked for: one part or both, one bag or all of them. */
typedef struct dd_given_of {
    int order;      /* index */
    int part;       /* dd_part, or -1: bag and flush */
    int32_t bag;    /* its number; 0: all */
    dd_moment due;  /* of that bag; DD_NEVER */
} dd_given_of;
dd_u dd_timeline_given_of(const dd_timeline *timeline, dd_given_of of, dd_moment from, dd_moment to);

/* ---- what goes in by all lines together ---- */
/* What a patient needs in a day. Adults and babies under 28 days have a range, children one figure by weight. */
typedef enum dd_need_kind {
    DD_NEED_NONE,   /* no age, or no weight */
    DD_NEED_WEIGHT, /* Holliday and Segar, 28 days to the class's end */
    DD_NEED_DAY,    /* by day of life */
    DD_NEED_ADULT   /* the rule `maintenance` */
} dd_need_kind;
typedef struct dd_day_need {
    dd_ratio low, high;     /* uL/day; the same for DD_NEED_WEIGHT */
    dd_ratio hourly_421;    /* uL/h by the other rule; DD_NEED_WEIGHT only, den 0 else */
    int64_t low_ul_kg, high_ul_kg; /* DD_NEED_DAY and DD_NEED_ADULT: uL/kg/day */
    int64_t then_low_ul_kg, then_high_ul_kg; /* DD_NEED_DAY: from `changes` on */
    dd_moment changes;      /* when the next range begins; DD_NEVER: none before 28 days */
    const dd_rule *rule;    /* DD_NEED_ADULT, or NULL */
    const dd_rule *cap;     /* the published ceiling that the need is above, or NULL */
    int day;                /* of life, DD_NEED_DAY */
    uint8_t kind;           /* dd_need_kind */
} dd_day_need;
DD_MUST_USE dd_status dd_timeline_need(const dd_plan *plan, const dd_patient *patient, dd_moment at, dd_day_need *out);

typedef enum dd_content { DD_SODIUM, DD_POTASSIUM, DD_CHLORIDE, DD_GLUCOSE, DD_CONTENTS } dd_content;
typedef struct dd_interval { dd_moment from, to; } dd_interval;

/* Sums over all lines in [from, to). By vein: through all lines but enteral ones; what a feed holds counts nowhere. A content that
 * nobody stated counts as 0 and `unknown` says so: the sum is then a least amount. A fraction with den 0 is not known, for want
 * of a weight, an age or a figure. */
typedef struct dd_sums {
    dd_moment from, to;
    dd_u all;               /* everything ordered, feeds and flushes too */
    dd_u vein, feeds, maintenance; /* by vein; by tube, category feed; bags that are for maintenance */
    dd_u doses, flushes, others;   /* by vein, the rest of it: drugs, flushes; fluids that are not for maintenance, blood */
    dd_u day;               /* all but what replaces losses or is for resuscitation: what an adult's day is judged by */
    dd_int128 content[DD_CONTENTS]; /* by vein, exact: u x nmol/L, glucose u x ug/L: a 3600th is fmol, pg */
    bool unknown[DD_CONTENTS];      /* something that is not known of it ran by vein */
    bool day_unknown[DD_CONTENTS];  /* or went in with `day` */
    dd_int128 potassium_most, glucose_most; /* at the worst second: fmol/h, pg/h */
    const dd_interval *gaps;    /* without glucose by vein, in time order */
    size_t gap_count;
    int64_t longest_gap_s;  /* 0: none */
    int16_t fluid;          /* the order that gives most of what is for maintenance, else most by vein; -1: none */
    bool for_maintenance;   /* the patient has an order for maintenance */
    bool insulin;           /* insulin runs */
    dd_day_need need;       /* at `from` */
    /* the same for pages and rows; per day: x 24 h / span */
    dd_ratio all_ul_day, all_ul_kg_day, maintenance_ul_day, day_ul_day, day_ul_kg_day;
    dd_ratio all_percent, maintenance_percent; /* of a need by weight */
    dd_ratio content_day[DD_CONTENTS], content_kg_day[DD_CONTENTS]; /* mmol/day, glucose g/day, as far as known; per kg */
    dd_ratio day_content_day[DD_CONTENTS], day_content_kg_day[DD_CONTENTS]; /* the same of what `day` holds */
    dd_ratio potassium_most_h, potassium_most_kg_h; /* mmol/h, mmol/kg/h */
    dd_ratio glucose_most_kg_min; /* mg/kg/min */
} dd_sums;
DD_MUST_USE dd_status dd_timeline_sums(const dd_timeline *timeline, dd_moment from, dd_moment to, dd_arena *arena, dd_sums *out);

/* The same orders in a plan that ends later: at the first whole hour from the plan's beginning at or after `until`. An order with the
 * rate `remainder` keeps the rate that it has. No findings. The plan is copied; all memory is in `arena`. */
DD_MUST_USE dd_status dd_timeline_onward(const dd_timeline *timeline, dd_moment until, dd_arena *arena, dd_timeline *out);

/* The first invariant that does not hold, in words, or NULL. */
const char *dd_timeline_check(const dd_timeline *timeline);

#endif
