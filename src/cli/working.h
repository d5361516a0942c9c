/* working.h - the working of one rate, line by line, as a nurse would write it down. */
#ifndef DD_WORKING_H
#define DD_WORKING_H

#include "bytes.h"
#include "worked.h"

/* Appends the working: at most 72 columns of ASCII. `fluid`: the words for the fluid, or NULL. */
void dd_working_write(const dd_worked_inputs *in, const dd_worked *worked, const char *fluid, dd_bytes *out);

/* One line `label       words`, folded at 72 columns between words; a no-break blank (byte 0x1f) keeps a number and its unit
 * together and is written as a blank. */
void dd_working_line(dd_bytes *out, const char *label, const char *words);
void dd_working_end(dd_bytes *out, const char *label, dd_bytes *words); /* the same with what was gathered, which is empty then */

/* Adds an exact number at three decimals, thousands apart, and its unit, kept together. `about ` stands before what is not exact. */
void dd_working_number(dd_bytes *words, dd_ratio value, const char *unit);
/* The same of a figure counted in `by`ths of the unit: uL for mL by 1000. `?` where it does not fit. */
void dd_working_scaled(dd_bytes *words, dd_ratio value, int64_t by, const char *unit);
/* Text whose blanks break no line. */
void dd_working_keep(dd_bytes *words, const char *text);
void dd_working_quantity(dd_bytes *words, dd_quantity q);
/* `8 h`, or `about 131.579 min (2 h 12 min)`. */
void dd_working_span(dd_bytes *words, dd_ratio seconds);

#endif
