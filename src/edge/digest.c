#include "digest.h"

#include <glib.h>
#include <string.h>

/* GLib takes lengths of gssize: longer input goes in pieces. */
static void digest(GChecksumType type, const char *bytes, size_t length, uint8_t *out, size_t room)
{
    GChecksum *sum = g_checksum_new(type);
    while (length) {
        size_t n = length < ((size_t)1 << 30) ? length : (size_t)1 << 30;
        g_checksum_update(sum, (const guchar *)bytes, (gssize)n);
        bytes += n;
        length -= n;
    }
    gsize size = room;
    g_checksum_get_digest(sum, out, &size);
    g_checksum_free(sum);
}

void dd_digest_sha256(const char *bytes, size_t length, uint8_t out[32])
{
    digest(G_CHECKSUM_SHA256, bytes, length, out, 32);
}

void dd_digest_sha1(const char *bytes, size_t length, uint8_t out[20])
{
    digest(G_CHECKSUM_SHA1, bytes, length, out, 20);
}

void dd_digest_uuid(char out[37])
{
    char *text = g_uuid_string_random();
    size_t length = strlen(text);
    memcpy(out, text, length < 36 ? length + 1 : 37);
    out[36] = '\0';
    g_free(text);
}
