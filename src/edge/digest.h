/* digest.h - digests and a random identifier. */
#ifndef DD_DIGEST_H
#define DD_DIGEST_H

#include <stddef.h>
#include <stdint.h>

#include "daydrip/status.h"

/* The SHA-256 (32 bytes) and SHA-1 (20 bytes) of some bytes. */
void dd_digest_sha256(const char *bytes, size_t length, uint8_t out[32]);
void dd_digest_sha1(const char *bytes, size_t length, uint8_t out[20]);
/* A random UUID in lower case, NUL behind it. */
void dd_digest_uuid(char out[37]);

#endif
