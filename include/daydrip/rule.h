/* rule.h - limits and intervals: what each is called, and which row holds for whom.
 *
 * The rows are plan->rules: the ward's own first, then the built-in ones of rule.def, each with its source. */
#ifndef DAYDRIP_RULE_H
#define DAYDRIP_RULE_H

#include "plan.h"

typedef enum dd_rule_id {
#define RULE_NAME(id, name, kind, looser, purpose) DD_RULE_##id,
#include "rule.def"
    DD_RULE_COUNT
} dd_rule_id;

/* What a value is; rule.def says how each is written. */
typedef enum dd_rule_kind {
    DD_RK_AGE, DD_RK_TIME, DD_RK_RATE, DD_RK_RATE_PER_KG, DD_RK_RATE_PER_KG_RANGE, DD_RK_RATE_PER_KG_OR_OFF, DD_RK_VOLUME,
    DD_RK_VOLUME_OR_PER_KG, DD_RK_MASS_RANGE, DD_RK_CONCENTRATION, DD_RK_CONCENTRATION_RANGE, DD_RK_OSMOLARITY, DD_RK_STRENGTH,
    DD_RK_DOSE_RATE, DD_RK_SHARE, DD_RK_SWITCH, DD_RK_FLUID
} dd_rule_kind;

/* Which other value lets more pass. */
typedef enum dd_rule_looser { DD_LOOSER_NEITHER, DD_LOOSER_HIGHER, DD_LOOSER_LOWER, DD_LOOSER_WIDER, DD_LOOSER_OFF } dd_rule_looser;

typedef struct dd_rule_name { const char *name, *purpose; dd_rule_kind kind; dd_rule_looser looser; } dd_rule_name;
extern const dd_rule_name dd_rule_names[DD_RULE_COUNT];

/* Published figures that contradict a built-in row. */
typedef struct dd_rule_other { dd_rule_id id; const char *applies, *say; dd_evidence evidence; } dd_rule_other;
extern const dd_rule_other dd_rule_others[];
extern const size_t dd_rule_other_count;

#define DD_RULE_ANY 255 /* a class, kind or category word that is not there */

/* What a rule is looked up for; DD_RULE_ANY and NULL where it is not known or does not apply. */
typedef struct dd_rule_about {
    const char *fluid; /* key of the base fluid */
    uint8_t class_word, kind_word, category_word;
} dd_rule_about;

/* The rule that holds: of the ward's rows, where any holds, else of the built-in ones, the one with most words, a fluid before
 * a category. NULL: none. */
const dd_rule *dd_rule_find(const dd_plan *plan, dd_rule_id id, const dd_rule_about *about);
/* The same among the ward's rows alone, or the built-in ones alone. */
const dd_rule *dd_rule_find_of(const dd_plan *plan, dd_rule_id id, const dd_rule_about *about, bool ward);
/* What it is about: a patient's class and, where it is given (else -1), a line's kind, or an order's line, category and fluid. */
dd_rule_about dd_rule_of_patient(const dd_patient *patient, int line);
dd_rule_about dd_rule_of_order(const dd_plan *plan, const dd_patient *patient, int order);
/* Whether there is somebody for whom both rows, of one rule, could hold. */
bool dd_rule_meet(const dd_rule *a, const dd_rule *b);
/* The built-in row in whose place a row of the ward stands and which would not let pass what it lets pass; NULL: none. A value that
 * cannot be compared (mL and mL/kg) counts as looser: somebody has to look. */
const dd_rule *dd_rule_looser_than(const dd_plan *plan, const dd_rule *ward);
/* Its value as a time in seconds; 0: no rule, or not a time. */
int64_t dd_rule_seconds(const dd_rule *rule);
/* Its value as a share, per cent x 10^6; 0: no rule, or not a share. */
#define DD_WHOLE_SHARE INT64_C(100000000) /* 100 % */
int64_t dd_rule_share(const dd_rule *rule);
/* A switch that is on. */
bool dd_rule_is_on(const dd_rule *rule);

#endif
