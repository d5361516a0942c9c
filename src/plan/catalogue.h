/* catalogue.h - what is built in: fluids, additives, names of drugs. */
#ifndef DD_CATALOGUE_H
#define DD_CATALOGUE_H

#include <stdbool.h>
#include <stddef.h>

#include "daydrip/plan.h"

typedef enum dd_additive_counts { DD_COUNTS_SALT, DD_COUNTS_PHOSPHATE, DD_COUNTS_POTASSIUM, DD_COUNTS_SODIUM, DD_COUNTS_GLUCOSE } dd_additive_counts;

/* What `of` micromol (mg of glucose) of the amount bring into the bag: micromoles, glucose in mg, osmoles in micro-osmoles. */
typedef struct dd_additive {
    const char *key, *words, *source;
    int32_t sodium, potassium, chloride, calcium, magnesium, phosphate, lactate, acetate, bicarbonate, glucose, osmoles;
    int32_t of;
    int32_t weighs_ug;   /* 0: a mass is not understood */
    int32_t valence;     /* mEq in 1 mmol; 0: mEq are not understood */
    dd_additive_counts counts;
    bool grams;          /* the unit of the amount is g; else mmol */
    uint8_t evidence;
} dd_additive;

typedef enum dd_drug_flag { DD_DRUG_NONE, DD_DRUG_INSULIN, DD_DRUG_VASOACTIVE } dd_drug_flag;
typedef struct dd_drug { const char *name; dd_drug_flag flag; } dd_drug;

/* Members of dd_composition are counted from 0 in its order. */
#define DD_MEMBERS 11
enum { DD_MEMBER_POTASSIUM = 1, DD_MEMBER_GLUCOSE = 9, DD_MEMBER_OSMOLARITY = 10 };

extern const dd_additive dd_catalogue_additives[];
extern const size_t dd_catalogue_additive_count;
extern const dd_drug dd_catalogue_drugs[];
extern const size_t dd_catalogue_drug_count;

/* Index of an additive by its key in lower case; -1: none. */
int dd_catalogue_additive(const char *key, size_t length);
/* The drug of this name in lower case; NULL: none. */
const dd_drug *dd_catalogue_drug(const char *name, size_t length);
/* The known drug, additive or fluid whose name is nearest; NULL: none is near. */
const char *dd_catalogue_nearest(const dd_plan *plan, const char *name, size_t length);
/* A member of a composition: nmol/L, glucose ug/L, osmolarity nOsm/L, or DD_UNKNOWN. */
int64_t dd_catalogue_member(const dd_composition *has, size_t member);
void dd_catalogue_set_member(dd_composition *has, size_t member, int64_t value);
/* The same of an additive: umol, mg, uOsm that come with `of` of its amount. */
int32_t dd_catalogue_brings(const dd_additive *additive, size_t member);
/* The names of categories as they are written in tables; NULL outside. */
const char *dd_catalogue_category(unsigned category);

#endif
