/* must.h - what every target has: its one function, and how it says that something does not hold. */
#ifndef DD_MUST_H
#define DD_MUST_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static inline void must(bool holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "does not hold: %s\n", what);
    abort();
}

#endif
