#include "utf8.h"

size_t dd_utf8_read(const char *text, size_t length, uint32_t *code)
{
    const unsigned char *s = (const unsigned char *)text;
    if (s[0] < 0x80) {
        *code = s[0];
        return 1;
    }
    if (s[0] < 0xc2 || s[0] > 0xf4)
        return 0;
    size_t n = s[0] >= 0xf0 ? 4 : s[0] >= 0xe0 ? 3 : 2;
    if (n > length)
        return 0;
    uint32_t value = s[0] & (0x7fU >> n);
    for (size_t i = 1; i < n; i++) {
        if ((s[i] & 0xc0) != 0x80)
            return 0;
        value = value << 6 | (s[i] & 0x3fU);
    }
    if ((n == 3 && value < 0x800) || (n == 4 && (value < 0x10000 || value > 0x10ffff)) || (value >= 0xd800 && value < 0xe000))
        return 0;
    *code = value;
    return n;
}
