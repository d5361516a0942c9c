#include "uid.h"

#include <string.h>

#include "digest.h"

static int hex(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

static bool dash_at(size_t i)
{
    return i == 8 || i == 13 || i == 18 || i == 23;
}

bool dd_uid_space(const char *uuid, unsigned char out[16])
{
    if (!uuid || strlen(uuid) != DD_UID_SIZE - 1)
        return false;
    unsigned char bytes[16] = {0};
    size_t digits = 0;
    for (size_t i = 0; i < DD_UID_SIZE - 1; i++) {
        if (dash_at(i) != (uuid[i] == '-'))
            return false;
        if (dash_at(i))
            continue;
        int value = hex(uuid[i]);
        if (value < 0)
            return false;
        bytes[digits / 2] = (unsigned char)(bytes[digits / 2] << 4 | value);
        digits++;
    }
    memcpy(out, bytes, sizeof bytes);
    return true;
}

void dd_uid_of(const unsigned char space[16], const char *name, size_t length, char out[DD_UID_SIZE])
{
    char hashed[16 + DD_UID_NAME_MAX];
    uint8_t digest[20];
    if (length > DD_UID_NAME_MAX) /* no name that is made; a longer one would lose its end */
        length = DD_UID_NAME_MAX;
    memcpy(hashed, space, 16);
    memcpy(hashed + 16, name, length);
    dd_digest_sha1(hashed, 16 + length, digest);
    digest[6] = (uint8_t)((digest[6] & 0x0f) | 0x50);
    digest[8] = (uint8_t)((digest[8] & 0x3f) | 0x80);
    size_t half = 0;
    for (size_t i = 0; i < DD_UID_SIZE - 1; i++) {
        if (dash_at(i)) {
            out[i] = '-';
            continue;
        }
        out[i] = "0123456789abcdef"[half % 2 ? digest[half / 2] & 15 : digest[half / 2] >> 4];
        half++;
    }
    out[DD_UID_SIZE - 1] = '\0';
}
