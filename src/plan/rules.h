/* rules.h - limits and intervals: the built-in ones, the ward's own, and which one holds. */
#ifndef DD_RULES_H
#define DD_RULES_H

#include "daydrip/plan.h"

typedef enum dd_rule_id {
#define RULE_NAME(id, name, kind, purpose) DD_RULE_##id,
#include "rule.def"
    DD_RULE_COUNT
} dd_rule_id;

typedef enum dd_rule_kind {
    DD_RK_AGE, DD_RK_TIME, DD_RK_RATE, DD_RK_RATE_PER_KG, DD_RK_RATE_PER_KG_RANGE, DD_RK_RATE_PER_KG_OR_OFF, DD_RK_VOLUME,
    DD_RK_VOLUME_OR_PER_KG, DD_RK_MASS_RANGE, DD_RK_CONCENTRATION, DD_RK_CONCENTRATION_RANGE, DD_RK_OSMOLARITY, DD_RK_STRENGTH,
    DD_RK_DOSE_RATE, DD_RK_SHARE, DD_RK_SWITCH, DD_RK_FLUID
} dd_rule_kind;

typedef struct dd_rule_name { const char *name, *purpose; dd_rule_kind kind; } dd_rule_name;
extern const dd_rule_name dd_rules_names[DD_RULE_COUNT];

#define DD_RULES_ANY 255 /* a class, kind or category word that is not there */

/* What a rule is looked up for; DD_RULES_ANY and NULL where it is not known or does not apply. */
typedef struct dd_rule_about {
    const char *fluid; /* key of the base fluid */
    uint8_t class_word, kind_word, category_word;
} dd_rule_about;

typedef struct dd_folder dd_folder;
/* The rule that holds: of the ward's rows, where any holds, else of the built-in ones, the one with most words, a fluid before
 * a category. NULL: none. */
const dd_rule *dd_rules_find(const dd_folder *folder, dd_rule_id id, const dd_rule_about *about);
/* The same among the ward's rows alone, or the built-in ones alone. */
const dd_rule *dd_rules_find_of(const dd_folder *folder, dd_rule_id id, const dd_rule_about *about, bool ward);

#endif
