/* beside.h - the pages on which patients stand side by side: needs by weight against what is ordered. */
#ifndef DD_BESIDE_H
#define DD_BESIDE_H

#include "arena.h"
#include "sheet.h"

/* One patient of the page. */
typedef struct dd_beside_side {
    const dd_timeline *timeline;
    const dd_patient *patient;
    dd_sums sums;      /* over 24 h from now */
} dd_beside_side;

/* What the parts of a page share. */
typedef struct dd_beside {
    dd_sheet *sheet;
    const dd_view *view;
    dd_beside_side *sides; /* those of this page, in table order */
    size_t count;
    dd_bytes *text;        /* for texts under construction */
    bool adults;
} dd_beside;

/* Whether nothing goes in by vein, and feeds do: what they hold is not known. */
bool dd_beside_only_fed(const dd_sums *sums);
/* Whether a finding belongs on these pages: what bears on a day's fluid, its salts and the weight it is reckoned by. */
bool dd_beside_about(const char *finding);

/* A figure with so many decimals, `over` times smaller; `n/a` where it is not there, `?` behind it where it is a least amount. */
void dd_beside_figure(dd_bytes *out, dd_ratio value, int64_t over, int decimals, bool least);

/* The parts. */
void dd_volumes_write(dd_beside *beside); /* volumes.c: volumes against the need, and what is to be said of each */
void dd_salts_write(dd_beside *beside);   /* salts.c: salts, glucose, worst seconds, gaps */

#endif
