#include "nearest.h"

#include <string.h>

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* A name is near when a third of it at most is wrong. */
dd_nearest dd_nearest_begin(const char *word, size_t length)
{
    return (dd_nearest){word, length, NULL, length > DD_NEAREST_MOST ? 0 : (int)(length / 3 + 1) + (length > 2)};
}

/* Letters to change, add, leave out or swap with the neighbour, or `limit` where there are as many. */
static int distance(const char *a, size_t m, const char *b, size_t n, int limit)
{
    if (m > DD_NEAREST_MOST || n > DD_NEAREST_MOST || (m > n ? m - n : n - m) >= (size_t)limit)
        return limit;
    int rows[3][DD_NEAREST_MOST + 1];
    int *before = rows[0], *last = rows[1], *now = rows[2];
    for (size_t j = 0; j <= n; j++)
        last[j] = (int)j;
    for (size_t i = 1; i <= m; i++) {
        now[0] = (int)i;
        for (size_t j = 1; j <= n; j++) {
            int best = last[j - 1] + (lower(a[i - 1]) != lower(b[j - 1]));
            if (last[j] + 1 < best)
                best = last[j] + 1;
            if (now[j - 1] + 1 < best)
                best = now[j - 1] + 1;
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]) && before[j - 2] + 1 < best)
                best = before[j - 2] + 1;
            now[j] = best;
        }
        int *free_row = before;
        before = last;
        last = now;
        now = free_row;
    }
    return last[n];
}

void dd_nearest_offer(dd_nearest *nearest, const char *candidate, size_t length)
{
    int d = distance(nearest->word, nearest->length, candidate, length, nearest->distance);
    if (d < nearest->distance) {
        nearest->distance = d;
        nearest->best = candidate;
    }
}

void dd_nearest_list(dd_nearest *nearest, const char *words, size_t *best_length)
{
    for (const char *p = words; *p;) {
        size_t length = strcspn(p, " ");
        const char *best = nearest->best;
        dd_nearest_offer(nearest, p, length);
        if (nearest->best != best)
            *best_length = length;
        p += length;
        p += strspn(p, " ");
    }
}
