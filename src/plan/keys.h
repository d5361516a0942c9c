/* keys.h - keys bound to numbers, so that names are looked up at the same cost however many there are. */
#ifndef DD_KEYS_H
#define DD_KEYS_H

#include <stdint.h>

#include "arena.h"

#define DD_KEYS_NOBODY UINT32_MAX /* no owner */

typedef struct dd_keys_slot {
    const char *key;  /* NUL-terminated; NULL: free */
    uint32_t owner, value;
} dd_keys_slot;

/* A zeroed one is empty. Keys of different owners do not meet. */
typedef struct dd_keys {
    dd_keys_slot *slots;
    size_t room, count; /* room: a power of two */
} dd_keys;

/* Makes room for `count` keys in all. False: no memory. */
DD_MUST_USE bool dd_keys_room(dd_keys *keys, dd_arena *arena, size_t count);
/* The slot of exactly this key, or of one that differs only in capitals; NULL: none. */
const dd_keys_slot *dd_keys_find(const dd_keys *keys, uint32_t owner, const char *key, size_t length);
const dd_keys_slot *dd_keys_like(const dd_keys *keys, uint32_t owner, const char *key, size_t length);
/* Adds a key whose text must last. False: no memory. */
DD_MUST_USE bool dd_keys_add(dd_keys *keys, dd_arena *arena, uint32_t owner, const char *key, uint32_t value);
/* Takes the key away where it has this value. */
void dd_keys_drop(dd_keys *keys, uint32_t owner, const char *key, uint32_t value);
/* Each value becomes the one that stands at its place in `values`. */
void dd_keys_renumber(dd_keys *keys, const uint32_t *values);

#endif
