#include "bytes.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "arena.h"

#ifndef DD_BYTES_FIRST
#define DD_BYTES_FIRST ((size_t)4096)
#endif

static bool make_room(dd_bytes *b, size_t more)
{
    if (b->failed)
        return false;
    if (more < b->room - b->length) /* one byte is kept for the NUL */
        return true;
    if (b->length + 1 > b->ceiling || more > b->ceiling - b->length - 1) {
        b->failed = true;
        return false;
    }
    size_t want = b->room ? b->room : DD_BYTES_FIRST;
    while (want <= b->length + more)
        want *= 2;
    if (want > b->ceiling)
        want = b->ceiling;
    char *grown = dd_arena_allocator(b->data, want);
    if (!grown) {
        b->failed = true;
        return false;
    }
    b->data = grown;
    b->room = want;
    return true;
}

void dd_bytes_add(dd_bytes *b, const char *data, size_t length)
{
    if (!make_room(b, length))
        return;
    if (length)
        memcpy(b->data + b->length, data, length);
    b->length += length;
    b->data[b->length] = '\0';
}

void dd_bytes_text(dd_bytes *b, const char *text)
{
    dd_bytes_add(b, text, strlen(text));
}

void dd_bytes_char(dd_bytes *b, char c)
{
    dd_bytes_add(b, &c, 1);
}

void dd_bytes_repeat(dd_bytes *b, char c, size_t count)
{
    if (!make_room(b, count))
        return;
    memset(b->data + b->length, c, count);
    b->length += count;
    b->data[b->length] = '\0';
}

void dd_bytes_form(dd_bytes *b, const char *format, ...)
{
    char small[512];
    va_list args;
    va_start(args, format);
    int n = vsnprintf(small, sizeof small, format, args);
    va_end(args);
    if (n < 0) {
        b->failed = true;
        return;
    }
    if ((size_t)n < sizeof small) {
        dd_bytes_add(b, small, (size_t)n);
        return;
    }
    if (!make_room(b, (size_t)n + 1))
        return;
    va_start(args, format);
    vsnprintf(b->data + b->length, (size_t)n + 1, format, args);
    va_end(args);
    b->length += (size_t)n;
}

void dd_bytes_clear(dd_bytes *b)
{
    b->length = 0;
}

void dd_bytes_free(dd_bytes *b)
{
    if (b->data)
        dd_arena_allocator(b->data, 0);
    *b = DD_BYTES(b->ceiling);
}

dd_bytes *dd_bytes_new(size_t ceiling)
{
    dd_bytes *b = dd_arena_allocator(NULL, sizeof *b);
    if (b)
        *b = DD_BYTES(ceiling);
    return b;
}

const char *dd_bytes_data(const dd_bytes *b, size_t *length)
{
    if (length)
        *length = b->length;
    return b->data ? b->data : "";
}

void dd_bytes_delete(dd_bytes *b)
{
    if (!b)
        return;
    dd_bytes_free(b);
    dd_arena_allocator(b, 0);
}
