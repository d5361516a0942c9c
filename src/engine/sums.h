/* sums.h - what runs by all lines together, as step functions of time, and sums over a span. */
#ifndef DD_SUMS_H
#define DD_SUMS_H

#include "arena.h"
#include "daydrip/timeline.h"

/* Flows of one patient, in any order. */
typedef struct dd_sums_flows {
    const dd_plan *plan;
    const dd_patient *patient;
    const dd_flow *flows;
    size_t count;
} dd_sums_flows;

/* A stretch of time in which nothing changes. */
typedef struct dd_stretch {
    dd_moment from, to;
    dd_int128 potassium, glucose; /* by vein, fmol/h and pg/h, as far as known */
    dd_int128 potassium_step, glucose_step; /* what one step more of a device would bring of it, the most of all that run */
    uint16_t potassium_kinds, glucose_kinds; /* a bit for each kind of line that it comes through */
    int16_t potassium_order, glucose_order; /* the one order that it comes from; -1: none, or several */
    bool insulin;
    bool infusion; /* a fluid or nutrition by vein: more than doses */
    bool fed;      /* a feed, or nutrition of which the glucose is not known: it cannot be said that no glucose runs */
} dd_stretch;

/* The stretches that tile [from, to), `from` below `to`, in time order. */
DD_MUST_USE dd_status dd_sums_stretches(const dd_sums_flows *f, dd_moment from, dd_moment to, dd_arena *arena, const dd_stretch **out, size_t *count);

/* Amounts over a span. */
typedef struct dd_sums_amounts {
    dd_int128 content[DD_CONTENTS]; /* as in dd_sums */
    bool unknown[DD_CONTENTS];
    int64_t all_u;
} dd_sums_amounts;
/* Which flows count. */
typedef bool dd_sums_counts(const dd_patient *patient, const dd_flow *flow);
DD_MUST_USE dd_status dd_sums_amount(const dd_sums_flows *f, dd_moment from, dd_moment to, dd_sums_counts *counts, dd_sums_amounts *out);
/* What one step of a device comes to over the time for which what counts of its order runs in the span, in u: the most of any order. */
DD_MUST_USE dd_status dd_sums_steps(const dd_sums_flows *f, dd_moment from, dd_moment to, dd_sums_counts *counts, dd_arena *arena, dd_ratio *out);

/* Whether a flow goes by vein: through any line but an enteral one. */
bool dd_sums_by_vein(const dd_patient *patient, const dd_flow *flow);
/* Whether it counts for an adult's day: not what replaces losses, nor what is for resuscitation. */
bool dd_sums_of_day(const dd_patient *patient, const dd_flow *flow);
/* What is in a litre of what flows. */
const dd_composition *dd_sums_holds(const dd_plan *plan, const dd_patient *patient, const dd_flow *flow);
/* One of the contents, DD_UNKNOWN where nobody said. */
int64_t dd_sums_content(const dd_composition *c, dd_content content);
/* One step of the order's device, uL/h. */
int64_t dd_sums_step(const dd_order *order);

#endif
