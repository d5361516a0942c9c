/* maintenance.h - the verb `maintenance WEIGHT`: what a child of that weight needs in a day, by two published rules. */
#ifndef DD_MAINTENANCE_H
#define DD_MAINTENANCE_H

#include <stdbool.h>

#include "bytes.h"

typedef struct dd_maintenance_words {
    const char *weight; /* `18.5kg`; NULL: not given */
    bool csv;           /* --format csv */
} dd_maintenance_words;

/* Appends the need to `out`. Returns DD_EXIT_DONE, or DD_EXIT_USAGE after saying in `err` what was wrong: `out` is as it was. */
int dd_maintenance_run(const dd_maintenance_words *words, dd_bytes *out, dd_bytes *err);

#endif
