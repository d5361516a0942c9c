/* ruling.h - the value of a rule in force that no order carries: intervals of lines and sites, the spread of gravity sets. */
#ifndef DD_RULING_H
#define DD_RULING_H

#include "rules.h"

/* For a line of a patient; `category` and `fluid` DD_RULES_ANY and NULL where the rule is not about what flows. A time in
 * seconds, or a share in per cent x 10^6; 0 where no rule holds. */
int64_t dd_ruling_seconds(const dd_folder *folder, dd_rule_id id, const dd_patient *patient, int line, uint8_t category, const char *fluid);
int64_t dd_ruling_share(const dd_folder *folder, dd_rule_id id, const dd_patient *patient, int line, uint8_t category, const char *fluid);

#endif
