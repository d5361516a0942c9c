/* nearest.h - the known name that a misspelled one is nearest to. */
#ifndef DD_NEAREST_H
#define DD_NEAREST_H

#include <stddef.h>

#define DD_NEAREST_MOST 48 /* bytes of a word that are compared; longer ones have no nearest */

typedef struct dd_nearest {
    const char *word;  /* what was written */
    size_t length;
    const char *best;  /* the nearest candidate so far; NULL: none is near enough */
    int distance;      /* letters to change, swap, add or leave out */
} dd_nearest;

dd_nearest dd_nearest_begin(const char *word, size_t length);
/* Offers one candidate; capitals do not count. Of equally near ones the first stays. */
void dd_nearest_offer(dd_nearest *nearest, const char *candidate, size_t length);
/* Offers each word of a list separated by blanks; the best one then points into the list. */
void dd_nearest_list(dd_nearest *nearest, const char *words, size_t *best_length);

#endif
