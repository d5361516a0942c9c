/* content.h - what is dissolved in a bag: the fluid's own and what is added, per litre. Internal to src/plan. */
#ifndef DD_CONTENT_H
#define DD_CONTENT_H

#include "catalogue.h"
#include "order.h"

/* What the bag of an order holds. Needs mixture and bag. Reports an additive whose amount says nothing about its salts (grams of a
 * salt that is weighed in more than one form, mEq of phosphate). NULL: reported, or no memory. */
const dd_composition *dd_content_read(dd_order_row *r);

/* ---- the steps of it, for who shows the working or compares ---- */
/* An amount in nmol of what the additive counts, or in ug where it is weighed by the gram (glucose). False: it does not say. */
bool dd_content_amount(const dd_additive *a, dd_quantity q, dd_ratio *out);
/* Adds what an addition brings to a litre to the sums (units as above); nothing where it is no additive of the list. False: reported. */
bool dd_content_add(dd_order_row *r, const dd_addition *n, dd_ratio sums[DD_MEMBERS]);
/* An addition that is not known and is measured like a salt: nothing is known of what the bag holds. */
bool dd_content_strange(const dd_addition *n);
/* Whether something is added per bag, so that the bag has to be known. */
bool dd_content_by_bag(const dd_mixture *m);

#endif
