/* hold.h - a code scanned just now, held against the order it is for, the bag it is to hang as, and what bags.csv says of it. */
#ifndef DD_HOLD_H
#define DD_HOLD_H

#include "stock.h"

typedef struct dd_hold {
    dd_stock stock;          /* what the code says, with what its row says */
    const dd_stock *row;     /* its row among the order's; NULL: none */
    const dd_bag *bag;       /* as which it is up or goes up; NULL: the order hangs none from now on */
    dd_moment until;         /* the second after its hang; without a bag `now` */
    size_t rows;             /* rows that the order has */
    bool strange;            /* the order has rows, and none of them is this bag */
    bool is[DD_STOCK_FAULTS];
    const dd_patient *fluid_of, *twice_of; /* whose row it is, anywhere in bags.csv, that DD_STOCK_FLUID and DD_STOCK_TWICE are about */
    const dd_stock *fluid_row, *twice_row;
    bool no_expiry;          /* nobody says when it expires */
} dd_hold;

/* `scanned` has the fields that a code fills. The row that is taken contradicts nothing that it says; of several the one that names
 * its serial number, then its lot, then the next to go up, then the one that is up. Without a row it is the next bag to go up, else
 * the one that is up. */
void dd_hold_make(const dd_timeline *timeline, int order, const dd_stock *scanned, dd_hold *out);
/* Whether anything is to clarify. */
bool dd_hold_fault(const dd_hold *hold);

#endif
