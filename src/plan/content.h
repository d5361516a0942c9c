/* content.h - what is dissolved in a bag: the fluid's own and what is added, per litre. Internal to src/plan. */
#ifndef DD_CONTENT_H
#define DD_CONTENT_H

#include "order.h"

/* What the bag of an order holds. Needs mixture and bag. Reports an additive whose amount says nothing about its salts (grams of a
 * salt that is weighed in more than one form, mEq of phosphate). NULL: reported, or no memory. */
const dd_composition *dd_content_read(dd_order_row *r);

#endif
