/* rate.h - the verb `rate`: one rate worked out, with the working. */
#ifndef DD_RATE_H
#define DD_RATE_H

#include <stdbool.h>

#include "bytes.h"

/* The texts of the options, NULL where one was not given. */
typedef struct dd_rate_words {
    const char *volume, *over, *rate, *set, *weight, *strength, *dose, *dose_unit, *start, *given, *left, *at, *fluid;
    bool csv; /* --format csv */
} dd_rate_words;

/* Works out all that follows and appends it to `out`. Returns DD_EXIT_DONE; or DD_EXIT_USAGE after saying in `err`, option by
 * option, what was wrong and what was expected: `out` is as it was then. */
int dd_rate_run(const dd_rate_words *words, dd_bytes *out, dd_bytes *err);

#endif
