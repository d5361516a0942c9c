/* bytes.h - text that grows, up to a ceiling named at birth.
 *
 * Failure sticks: after the first one that found no room nothing more is added, `failed` stays set and the caller looks
 * once at the end. A zeroed dd_bytes with a ceiling is an empty one. */
#ifndef DD_BYTES_H
#define DD_BYTES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct dd_bytes dd_bytes;
struct dd_bytes {
    char *data; /* a NUL stands behind `length` bytes once anything was added */
    size_t length, room, ceiling;
    bool failed;
};

#define DD_BYTES(limit) ((dd_bytes){.ceiling = (limit)})

void dd_bytes_add(dd_bytes *b, const char *data, size_t length);
void dd_bytes_text(dd_bytes *b, const char *text);       /* NUL-terminated */
void dd_bytes_char(dd_bytes *b, char c);
void dd_bytes_repeat(dd_bytes *b, char c, size_t count);
void dd_bytes_form(dd_bytes *b, const char *format, ...) __attribute__((format(printf, 2, 3)));
void dd_bytes_clear(dd_bytes *b); /* length 0, memory kept */
void dd_bytes_free(dd_bytes *b);
/* For those who see only the public headers (daydrip.h). */
dd_bytes *dd_bytes_new(size_t ceiling);
const char *dd_bytes_data(const dd_bytes *b, size_t *length);
void dd_bytes_delete(dd_bytes *b);

#endif
