/* rows.h - cells of rows that programs read, for the writers of tables beside rows.c. */
#ifndef DD_ROWS_H
#define DD_ROWS_H

#include "bytes.h"
#include "daydrip/write.h"

/* A text, quoted only where RFC 4180 needs it, a ' before what a spreadsheet would take for a formula. */
void dd_rows_text(dd_bytes *out, const char *text);
void dd_rows_time(dd_bytes *out, const dd_plan *plan, dd_moment t); /* local with offset; nothing for DD_NEVER */
/* Number, blank, unit as tables have it: `41 mmol/L`, half up at the third decimal; nothing where there is none. */
void dd_rows_quantity(dd_bytes *out, dd_quantity q);
/* An exact fraction as a plain decimal, half up at the third; nothing where its denominator is 0. */
void dd_rows_ratio(dd_bytes *out, dd_ratio value);

#endif
