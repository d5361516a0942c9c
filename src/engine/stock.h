/* stock.h - bags at hand, rows of bags.csv or codes just scanned, held against the orders and bags that they are for.
 *
 * The rows of one order are its bags in the order in which they go up: the first row is the bag that is up when the plan begins, or
 * goes up first. */
#ifndef DD_STOCK_H
#define DD_STOCK_H

#include "work.h"

typedef enum dd_stock_fault {
    DD_STOCK_EXPIRED, /* expires while it is up; where it has no turn in this plan, has expired */
    DD_STOCK_LOT,     /* the lot of its row is not the one in its code */
    DD_STOCK_DATE,    /* likewise the date; a time before the code's end is that of a bag made up */
    DD_STOCK_VOLUME,  /* likewise the volume */
    DD_STOCK_BAG,     /* its volume is not that of the order's bag */
    DD_STOCK_FLUID,   /* its trade item number stands for another fluid too */
    DD_STOCK_TWICE,   /* the same trade item number and serial number in another row */
    DD_STOCK_FAULTS
} dd_stock_fault;

/* What does not fit, in words that end a sentence; static. */
const char *dd_stock_words(dd_stock_fault fault);
/* The first second in which it must not be up: the sooner of its row's and its code's. DD_NEVER: neither says. */
dd_moment dd_stock_expires(const dd_stock *stock);
/* Its volume, uL: its row's, else its code's; DD_UNKNOWN. */
int64_t dd_stock_volume(const dd_stock *stock);

/* Whether a fault that needs no other row holds. `bag`: the one it hangs, or is to hang, as; NULL: none in this plan. `until`: the
 * second after its hang; without a bag `now`. */
bool dd_stock_has(const dd_plan *plan, const dd_order *order, const dd_stock *stock, dd_stock_fault fault, const dd_bag *bag, dd_moment until);
/* Two rows of one trade item number, and one of them is then for a wrong fluid. */
bool dd_stock_other_fluid(const dd_stock *a, const dd_order *of_a, const dd_stock *b, const dd_order *of_b);
/* Two rows of one and the same bag. */
bool dd_stock_same(const dd_stock *a, const dd_stock *b);

/* The bag of an order that stands at place `place` (from 0) among those that come from its own rows; NULL: it has fewer. *down: the second
 * after its hang, in the order that takes it over too; DD_NEVER where it hangs still. Bags are sorted as a timeline has them. */
const dd_bag *dd_stock_bag(const dd_patient *patient, const dd_bag *bags, size_t count, int order, size_t place, dd_moment *down);
/* The place of a row among those of its order. */
size_t dd_stock_place(const dd_patient *patient, const dd_stock *stock);

/* Findings of all rows of the patient. */
DD_MUST_USE dd_status dd_stock_find(dd_work *work);

#endif
