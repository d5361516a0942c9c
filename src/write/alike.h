/* alike.h - whether two orders mean the same: what is in the bag, how strong, how fast, how much, how long. differ.h says what counts as
 * the same. Both orders are of one patient and stand on the same fluids; bags are known. */
#ifndef DD_ALIKE_H
#define DD_ALIKE_H

#include "daydrip/plan.h"

/* Fluid, drug and additives. Amounts for a bag and amounts in a volume compare by the bag of the order that has them for a bag. */
bool dd_alike_fluid(const dd_order *ordered, const dd_order *recorded);
/* a, b: the cells `strength`, NULL where blank: then it is the amount of the drug in the bag. */
bool dd_alike_strength(const dd_order *ordered, const dd_order *recorded, const char *a, const char *b);
bool dd_alike_rate(const dd_order *ordered, const dd_order *recorded);
/* a, b: whether the cell is written; else it follows from rate and time, or from rate and volume. */
bool dd_alike_volume(const dd_order *ordered, const dd_order *recorded, bool a, bool b);
bool dd_alike_over(const dd_order *ordered, const dd_order *recorded, bool a, bool b);

#endif
