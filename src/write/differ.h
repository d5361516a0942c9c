/* differ.h - the orders of a plan held against a second table of the same orders, cell by cell and by what the cells mean.
 *
 * A cell is compared where the record has its column and either table has written something in it. Two cells say the same where they
 * are bound to the same: a default that is written out and a blank, 1,000 mL and 1 L, a clock and its date-time. A rate that is worked
 * out in one table (from volume and time, by weight, from a dose) is the same as one that the device would be set to alike; two that
 * are written in one unit are the same only when they are equal. Of volume and time the same holds where one table leaves them to the
 * other two. */
#ifndef DD_DIFFER_H
#define DD_DIFFER_H

#include "daydrip/write.h"
#include "recorded.h"

/* Two cells. Of an order that one table alone has: one entry, of the column `order`. */
typedef struct dd_differ_cell {
    const dd_order *ordered, *recorded;       /* NULL: the table does not have the order */
    const dd_written *orders_row, *record_row; /* as written; NULL likewise */
    const dd_accepted *accepted;              /* a difference that somebody has accepted; or NULL */
    dd_column_id column;
    int rank;                                 /* of a difference: from 0, the worst */
    bool same;
} dd_differ_cell;

/* What is compared. */
typedef struct dd_differ {
    const dd_plan *plan;
    const dd_folder *record;
    dd_recorded_rows *orders_rows, *record_rows;
    dd_moment now;
    dd_arena *arena;
} dd_differ;

/* All cells of one patient that are compared: by order as orders.csv has them, then those of the record alone, and by column. In the
 * arena. */
DD_MUST_USE dd_status dd_differ_patient(dd_differ *differ, const dd_patient *ordered, const dd_patient *recorded, dd_differ_cell **out, size_t *count);

#endif
