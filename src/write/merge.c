#include "merge.h"

#include <stdlib.h>
#include <string.h>

#include "arena.h"

/* Seconds since year 0, so that all keys are of one length and in order as text. */
#define KEY 12
#define YEAR_0 INT64_C(-62167219200)

void dd_merge_key(dd_bytes *out, dd_moment at)
{
    dd_bytes_form(out, "%0*lld", KEY, (long long)(at - YEAR_0));
}

static int by_key(const void *left, const void *right)
{
    const char *a = *(const char *const *)left, *b = *(const char *const *)right;
    int c = memcmp(a, b, KEY);
    return c ? c : (a > b) - (a < b); /* in table order where they are due together */
}

dd_status dd_merge_rows(const char *rows, size_t length, dd_arena *arena, dd_bytes *out)
{
    size_t count = 0, n = 0;
    const char *end = rows + length;
    for (size_t i = 0; i < length; i++)
        count += rows[i] == '\n';
    const char **starts = dd_arena_take_many(arena, count + 1, sizeof *starts);
    if (!starts)
        return DD_NO_MEMORY;
    for (const char *row = rows; row < end; row = (const char *)memchr(row, '\n', (size_t)(end - row)) + 1)
        starts[n++] = row;
    if (n > 1)
        qsort(starts, n, sizeof *starts, by_key);
    for (size_t i = 0; i < n; i++) {
        const char *row = starts[i] + KEY, *last = memchr(row, '\n', (size_t)(end - row));
        dd_bytes_add(out, row, (size_t)(last - row) + 1);
    }
    return out->failed ? DD_NO_MEMORY : DD_OK;
}
