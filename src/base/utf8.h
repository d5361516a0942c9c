/* utf8.h - one character of UTF-8 at a time. */
#ifndef DD_UTF8_H
#define DD_UTF8_H

#include <stddef.h>
#include <stdint.h>

/* How many bytes (1 to 4) the character at text[0] takes; *code is set to its number. 0: no valid UTF-8 stands there (cut short,
 * over-long, a surrogate, above U+10FFFF); *code is untouched. `length` is above 0 and nothing behind it is read. */
size_t dd_utf8_read(const char *text, size_t length, uint32_t *code);

#endif
