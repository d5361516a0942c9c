/* strong.h - findings about how strong a bag is for the line it runs on, and for what it is given. */
#ifndef DD_STRONG_H
#define DD_STRONG_H

#include "use.h"

/* Potassium, osmolarity and glucose of what runs on a line; potassium on gravity; sodium of a child's maintenance. */
DD_MUST_USE dd_status dd_strong_find(dd_work *work, const dd_use *uses, size_t count);
/* An ion of a bag, nmol/L, in the unit in which a rule counts it (mmol or mEq; it has one charge), rounded half up to 0.001. */
dd_quantity dd_strong_ion(int64_t nmol_per_l, const dd_rule *rule);
/* Glucose, ug/L, as g in 100 mL: 10^7 of those are 1 %. Rounded the same. */
dd_quantity dd_strong_percent(int64_t ug_per_l);

#endif
