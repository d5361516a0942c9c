/* test_arena.c - memory in arenas: whatever is taken in whatever order, every piece keeps what was put into it. */
#include <criterion/criterion.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "arena.h"

#define STEPS 3000
#define ARRAYS 5

typedef struct piece {
    unsigned char *at;
    size_t size;
    unsigned char fill;
} piece;

static uint64_t state;

static size_t chance(size_t below)
{
    state = state * UINT64_C(6364136223846793005) + 1442695040888963407u;
    return (size_t)(state >> 33) % below;
}

static bool all(const unsigned char *at, size_t size, unsigned char byte)
{
    for (size_t i = 0; i < size; i++)
        if (at[i] != byte)
            return false;
    return true;
}

/* Pieces, texts and arrays that grow, mixed by chance; each is filled with a byte of its own and looked at in the end. */
static void mix(dd_arena *arena)
{
    static piece pieces[STEPS];
    struct { uint32_t *items; size_t room, count; } arrays[ARRAYS];
    size_t count = 0;
    memset(arrays, 0, sizeof arrays);
    for (size_t step = 0; step < STEPS; step++) {
        unsigned char fill = (unsigned char)(1 + chance(255));
        size_t size = chance(20) ? chance(60) : chance(100) ? chance(700) : chance(300000), what = chance(10);
        if (what < 4) {
            size_t k = chance(ARRAYS);
            cr_assert(dd_arena_room(arena, &arrays[k].items, &arrays[k].room, arrays[k].count, sizeof *arrays[k].items));
            cr_assert_gt(arrays[k].room, arrays[k].count);
            cr_assert_eq(arrays[k].items[arrays[k].count], 0, "not zeroed");
            arrays[k].items[arrays[k].count] = (uint32_t)(arrays[k].count * 7 + k + 1);
            arrays[k].count++;
            continue;
        }
        piece *p = &pieces[count++];
        *p = (piece){.size = size, .fill = fill};
        if (what < 7) {
            char *text = malloc(size + 1);
            memset(text, fill, size);
            p->at = (unsigned char *)dd_arena_text(arena, text, size);
            free(text);
            cr_assert(p->at);
            cr_assert_eq(p->at[size], 0);
        } else {
            p->at = what < 9 ? dd_arena_take(arena, size) : dd_arena_space(arena, size);
            cr_assert(p->at);
            cr_assert_eq((uintptr_t)p->at % 16, 0, "not aligned");
            cr_assert(what == 9 || all(p->at, size, 0), "not zeroed");
            memset(p->at, fill, size);
        }
    }
    for (size_t i = 0; i < count; i++)
        cr_assert(all(pieces[i].at, pieces[i].size, pieces[i].fill), "piece %zu of %zu bytes was written over", i, pieces[i].size);
    for (size_t k = 0; k < ARRAYS; k++)
        for (size_t i = 0; i < arrays[k].count; i++)
            cr_assert_eq(arrays[k].items[i], (uint32_t)(i * 7 + k + 1), "array %zu, item %zu", k, i);
}

Test(arena, nothing_is_written_over)
{
    dd_arena *arena = dd_arena_new();
    cr_assert(arena);
    for (state = 1; state < 20; state += 2) {
        uint64_t seed = state;
        mix(arena);
        dd_arena_reset(arena);
        state = seed;
    }
    dd_arena_free(arena);
}

Test(arena, an_array_alone_grows_where_it_stands)
{
    dd_arena *arena = dd_arena_new();
    uint64_t *items = NULL;
    size_t room = 0;
    cr_assert(dd_arena_room(arena, &items, &room, 0, sizeof *items));
    const uint64_t *first = items;
    for (size_t count = 1; count < 16; count++) { /* 128 bytes: they fit the smallest block */
        cr_assert(dd_arena_room(arena, &items, &room, count, sizeof *items));
        cr_expect_eq(items, first);
    }
    dd_arena_free(arena);
}

Test(arena, refuses_what_cannot_be)
{
    dd_arena *arena = dd_arena_new();
    cr_expect_null(dd_arena_take(arena, DD_ARENA_CEILING + 1));
    cr_expect_null(dd_arena_space(arena, SIZE_MAX));
    cr_expect_null(dd_arena_text(arena, "", SIZE_MAX));
    cr_expect_null(dd_arena_take_many(arena, SIZE_MAX / 2, 4));
    dd_arena_free(arena);
}
