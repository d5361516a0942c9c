/* tally.h - a printed sum: what it is exactly, what its printed parts make, and whether an unknown spoils it. */
#ifndef DD_TALLY_H
#define DD_TALLY_H

#include "grid.h"

typedef struct dd_tally {
    int64_t u;          /* exact */
    int64_t printed_ul; /* what the printed parts make */
    bool spoilt;        /* a part is not known */
} dd_tally;

void dd_tally_add(dd_tally *to, int64_t u, int64_t printed_ul, bool spoilt);
/* `634`, `634?`; `?` alone where nothing but the unknown is there; where `blank`, nothing for nothing. */
void dd_tally_cell(dd_grid *grid, const dd_patient *patient, const dd_tally *value, bool blank, dd_bytes *text);
/* Sums are rounded from the exact amounts, so printed parts may miss a printed sum: `Printed rows of main make 254.8, the sum is 254.9:
 * rounding.` Nothing where they meet. */
void dd_tally_rounding(dd_sheet *sheet, const dd_patient *patient, const dd_tally *column, const char *name, dd_bytes *text);

#endif
