#define _DEFAULT_SOURCE 1 /* madvise */
#include "arena.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* Tests build with tiny blocks, so that every edge of a block is met. */
#ifndef DD_ARENA_BLOCK
#define DD_ARENA_BLOCK ((size_t)64 * 1024)
#endif
#define FIRST_BLOCK (DD_ARENA_BLOCK < 4096 ? DD_ARENA_BLOCK : (size_t)4096) /* then twice as large each time, up to DD_ARENA_BLOCK */
#define MOST_SPARE ((size_t)64) /* blocks kept at a reset */
#define LARGE ((size_t)2 << 20)   /* of such a block the system may make large pages */
#define ALIGN ((size_t)16)

typedef struct block {
    struct block *next;
    size_t size;
    size_t used, end; /* pieces are taken from the front, texts from the end, where they need no alignment; between is free */
} block;

struct dd_arena {
    block *first; /* the one that is filled now */
    block *spare; /* of DD_ARENA_BLOCK bytes, from before the last reset */
    size_t held, spare_count, next_size;
};

static _Atomic bool starved;

static void *plain_realloc(void *old, size_t size)
{
    if (size == 0) {
        free(old);
        return NULL;
    }
    void *memory = realloc(old, size);
    if (!memory)
        starved = true;
    return memory;
}

bool dd_arena_starved(void)
{
    return starved;
}

dd_arena_realloc *dd_arena_allocator = plain_realloc;

/* Asks for large pages, where the system gives them: each small one of a large ward's plan is met for the first time, and that takes
 * as long as filling it. Advice: whatever becomes of it, the memory is there. */
static void ask_large_pages(void *memory, size_t size)
{
#ifdef MADV_HUGEPAGE
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), from = (uintptr_t)memory & ~(page - 1);
    if (size >= LARGE)
        (void)madvise((void *)from, (uintptr_t)memory + size - from, MADV_HUGEPAGE);
#else
    (void)memory, (void)size;
#endif
}

static size_t rounded(size_t n)
{
    return (n + ALIGN - 1) & ~(ALIGN - 1);
}

#define HEAD rounded(sizeof(block))

dd_arena *dd_arena_new(void)
{
    dd_arena *a = dd_arena_allocator(NULL, sizeof *a);
    if (a)
        *a = (dd_arena){0};
    return a;
}

static void free_blocks(block *b)
{
    while (b) {
        block *next = b->next;
        dd_arena_allocator(b, 0);
        b = next;
    }
}

void dd_arena_free(dd_arena *a)
{
    if (!a)
        return;
    free_blocks(a->first);
    free_blocks(a->spare);
    dd_arena_allocator(a, 0);
}

/* Blocks of the common size are kept, so that work done patient by patient does not ask the system for the same memory again
 * and again. */
void dd_arena_reset(dd_arena *a)
{
    for (block *b = a->first, *next; b; b = next) {
        next = b->next;
        if (b->size == DD_ARENA_BLOCK && a->spare_count < MOST_SPARE) {
            b->next = a->spare;
            a->spare = b;
            a->spare_count++;
        } else {
            a->held -= b->size;
            dd_arena_allocator(b, 0);
        }
    }
    a->first = NULL;
}

static block *new_block(dd_arena *a, size_t want)
{
    block *b = a->spare;
    if (b && want + HEAD <= DD_ARENA_BLOCK) {
        a->spare = b->next;
        a->spare_count--;
        *b = (block){a->first, DD_ARENA_BLOCK, HEAD, DD_ARENA_BLOCK};
        return a->first = b;
    }
    size_t size = a->next_size ? a->next_size : FIRST_BLOCK;
    a->next_size = size * 2 < DD_ARENA_BLOCK ? size * 2 : DD_ARENA_BLOCK;
    if (size < want + HEAD)
        size = want + HEAD;
    if (a->held > DD_ARENA_CEILING - size)
        return NULL;
    b = dd_arena_allocator(NULL, size);
    if (!b)
        return NULL;
    ask_large_pages(b, size);
    *b = (block){a->first, size, HEAD, size};
    a->held += size;
    return a->first = b;
}

static block *with_room(dd_arena *a, size_t want)
{
    block *b = a->first;
    return b && b->end - b->used >= want ? b : new_block(a, want);
}

void *dd_arena_space(dd_arena *a, size_t size)
{
    if (size > DD_ARENA_CEILING)
        return NULL;
    size_t want = rounded(size ? size : 1);
    block *b = with_room(a, want);
    if (!b)
        return NULL;
    void *p = (char *)b + b->used;
    b->used += want;
    return p;
}

void *dd_arena_take(dd_arena *a, size_t size)
{
    void *p = dd_arena_space(a, size);
    return p ? memset(p, 0, size) : NULL;
}

void *dd_arena_take_many(dd_arena *a, size_t count, size_t size)
{
    size_t bytes;
    if (__builtin_mul_overflow(count, size, &bytes))
        return NULL;
    return dd_arena_take(a, bytes);
}

char *dd_arena_text(dd_arena *a, const char *text, size_t length)
{
    block *b = length < DD_ARENA_CEILING ? with_room(a, length + 1) : NULL;
    if (!b)
        return NULL;
    b->end -= length + 1;
    char *p = (char *)b + b->end;
    if (length)
        memcpy(p, text, length);
    p[length] = '\0';
    return p;
}

/* Makes a piece larger where it stands: it was taken last, and what is behind it is free. */
static bool grow_here(dd_arena *a, char *piece, size_t size, size_t want)
{
    block *b = a->first;
    if (!b || piece + rounded(size) != (char *)b + b->used || b->end - b->used < rounded(want) - rounded(size))
        return false;
    b->used += rounded(want) - rounded(size);
    memset(piece + size, 0, want - size);
    return true;
}

bool dd_arena_room(dd_arena *a, void *items, size_t *room, size_t count, size_t size)
{
    if (count < *room)
        return true;
    size_t more = *room ? *room * 2 : 8;
    void *old, *grown;
    memcpy(&old, items, sizeof old);
    if (*room && more <= DD_ARENA_CEILING / size && grow_here(a, old, *room * size, more * size)) {
        *room = more;
        return true;
    }
    grown = dd_arena_take_many(a, more, size);
    if (!grown)
        return false;
    if (count)
        memcpy(grown, old, count * size);
    memcpy(items, &grown, sizeof grown);
    *room = more;
    return true;
}

size_t dd_arena_used(const dd_arena *a)
{
    return a->held;
}
