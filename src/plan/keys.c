#include "keys.h"

#include <string.h>

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Capitals do not count, so that keys which differ only in them meet in one place. */
static uint32_t hash_of(uint32_t owner, const char *key, size_t length)
{
    uint64_t h = UINT64_C(14695981039346656037) ^ owner * UINT64_C(0x9e3779b97f4a7c15);
    for (size_t i = 0; i < length; i++)
        h = (h ^ (unsigned char)lower(key[i])) * UINT64_C(1099511628211);
    h ^= h >> 29;
    return (uint32_t)(h ^ h >> 32);
}

/* Whether the slot's key is this one, or is but for capitals. */
static bool is(const dd_keys_slot *s, uint32_t owner, const char *key, size_t length, bool exact)
{
    if (s->owner != owner)
        return false;
    for (size_t i = 0; i < length; i++) /* ends at the end of a shorter one */
        if (exact ? s->key[i] != key[i] : lower(s->key[i]) != lower(key[i]))
            return false;
    return s->key[length] == '\0';
}

static void put(dd_keys_slot *slots, size_t room, dd_keys_slot slot)
{
    size_t i = hash_of(slot.owner, slot.key, strlen(slot.key)) & (room - 1);
    while (slots[i].key)
        i = (i + 1) & (room - 1);
    slots[i] = slot;
}

bool dd_keys_room(dd_keys *keys, dd_arena *arena, size_t count)
{
    size_t room = keys->room ? keys->room : 16;
    while (room / 2 < count)
        room *= 2;
    if (room == keys->room)
        return true;
    dd_keys_slot *slots = dd_arena_take_many(arena, room, sizeof *slots);
    if (!slots)
        return false;
    for (size_t i = 0; i < keys->room; i++)
        if (keys->slots[i].key)
            put(slots, room, keys->slots[i]);
    keys->slots = slots;
    keys->room = room;
    return true;
}

static dd_keys_slot *look(const dd_keys *keys, uint32_t owner, const char *key, size_t length, bool exact)
{
    if (!keys->room)
        return NULL;
    for (size_t i = hash_of(owner, key, length) & (keys->room - 1); keys->slots[i].key; i = (i + 1) & (keys->room - 1))
        if (is(&keys->slots[i], owner, key, length, exact))
            return &keys->slots[i];
    return NULL;
}

const dd_keys_slot *dd_keys_find(const dd_keys *keys, uint32_t owner, const char *key, size_t length)
{
    return look(keys, owner, key, length, true);
}

const dd_keys_slot *dd_keys_like(const dd_keys *keys, uint32_t owner, const char *key, size_t length)
{
    return look(keys, owner, key, length, false);
}

bool dd_keys_add(dd_keys *keys, dd_arena *arena, uint32_t owner, const char *key, uint32_t value)
{
    if (!dd_keys_room(keys, arena, keys->count + 1))
        return false;
    put(keys->slots, keys->room, (dd_keys_slot){key, owner, value});
    keys->count++;
    return true;
}

void dd_keys_drop(dd_keys *keys, uint32_t owner, const char *key, uint32_t value)
{
    dd_keys_slot *s = look(keys, owner, key, strlen(key), true);
    if (s && s->value == value)
        s->owner = DD_KEYS_NOBODY; /* what stands behind it must still be found */
}

void dd_keys_renumber(dd_keys *keys, const uint32_t *values)
{
    for (size_t i = 0; i < keys->room; i++)
        if (keys->slots[i].key && keys->slots[i].owner != DD_KEYS_NOBODY)
            keys->slots[i].value = values[keys->slots[i].value];
}
