/* inputs.h - files that are only in memory: what a fuzzed input's tables are read from, and what is written goes to. */
#ifndef DD_INPUTS_H
#define DD_INPUTS_H

#include <stddef.h>

#define DD_INPUTS_MOST 24 /* files of one folder */

/* A text becomes a folder: `== orders.csv` begins a table, `== minutes` a number of minutes. What is not named is as in the usual plan; a table
 * of which the heading says `absent` is not there. The text must outlive the reading. */
void dd_inputs_set(const char *text, size_t length);
/* Minutes from the plan's beginning to now. */
long dd_inputs_minutes(void);
/* From here on the folder is what was written into it. */
void dd_inputs_clear(void);
void dd_inputs_add(const char *name, const char *bytes, size_t length);

#endif
