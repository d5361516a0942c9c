/* order.h - one row of orders.csv while it is read; shared by orders.c (cells), rate.c (rate, volume, time) and when.c (starts,
 * stops, repeats, intervals). */
#ifndef DD_ORDER_H
#define DD_ORDER_H

#include "desk.h"
#include "needs.h"

typedef struct dd_order_row {
    dd_folder *f;
    dd_sheet *s;
    const dd_patient *patient; /* never NULL: a row of nobody is not read further */
    dd_order *order;
    dd_order_desk *desk;
    const dd_line *line;       /* NULL: not known, reported */
    dd_rule_about about;       /* what rules are looked up for */
    dd_quantity strength;      /* unit NONE: blank */
    dd_ratio volume; /* exact, uL; where one is written */
    bool bag_written;
} dd_order_row;

/* Fills rate, volume, over, steps; needs device, category and bag. */
void dd_rate_read(dd_order_row *r);
/* Fills start, stop, hung, repeats, ordered; needs nothing else. */
void dd_when_read(dd_order_row *r);
/* Fills window, gap, hang time by rule; needs everything else. */
void dd_when_rules(dd_order_row *r);

#endif
