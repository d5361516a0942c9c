/* arena.h - memory by lifetime: taken piece by piece, freed whole.
 *
 * One arena for the plan, one per patient's timeline. Pieces are zeroed and aligned for any object. All allocation of
 * the program's own data goes through dd_arena_allocator, which tests replace to make the Nth call fail. */
#ifndef DD_ARENA_H
#define DD_ARENA_H

#include <stdbool.h>
#include <stddef.h>

#include "daydrip/status.h"

typedef struct dd_arena dd_arena;

/* realloc's contract: size 0 frees and returns NULL. */
typedef void *dd_arena_realloc(void *old, size_t size);
extern dd_arena_realloc *dd_arena_allocator;
/* Whether an allocation has failed since the program began: what was made then may lack a word, even where its maker did not notice. Nothing is
 * to be handed to anybody then. */
bool dd_arena_starved(void);

#define DD_ARENA_CEILING ((size_t)4 << 30) /* bytes one arena may hold */

DD_MUST_USE dd_arena *dd_arena_new(void);       /* NULL: no memory */
void dd_arena_free(dd_arena *arena);            /* NULL is harmless */
void dd_arena_reset(dd_arena *arena);           /* everything taken is gone; its blocks are kept for the next use */
DD_MUST_USE void *dd_arena_take(dd_arena *arena, size_t size); /* zeroed; NULL: no memory or the ceiling */
DD_MUST_USE void *dd_arena_take_many(dd_arena *arena, size_t count, size_t size);
/* The same, not zeroed: for what is filled at once. */
DD_MUST_USE void *dd_arena_space(dd_arena *arena, size_t size);
/* A copy with a NUL behind it. */
DD_MUST_USE char *dd_arena_text(dd_arena *arena, const char *text, size_t length);
/* An array that grows: makes room for one more of `size` bytes behind `count` in *items (its room in *room), zeroed. False: no
 * memory; nothing changed. Where it has to move, what was there before stays in the arena. */
DD_MUST_USE bool dd_arena_room(dd_arena *arena, void *items, size_t *room, size_t count, size_t size);
size_t dd_arena_used(const dd_arena *arena);

#endif
