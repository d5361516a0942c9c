#include "pagecode.h"

#include "bytes.h"
#include "digest.h"
#include "load.h"

#define CANONICAL_CEILING ((size_t)256 * 1024 * 1024) /* octets of one patient's rows and the ward's tables */

/* The first 40 bits as eight digits of five: no I L O U, so that none is taken for another when it is read aloud. */
static void spell(const unsigned char digest[32], char out[DD_PAGECODE_SIZE])
{
    static const char digits[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    uint64_t bits = 0;
    for (int i = 0; i < 5; i++)
        bits = bits << 8 | digest[i];
    for (int i = 0; i < 8; i++)
        out[i + (i >= 4)] = digits[bits >> (35 - 5 * i) & 31];
    out[4] = '-';
    out[9] = '\0';
}

dd_status dd_pagecode(const dd_folder *folder, int patient, char out[DD_PAGECODE_SIZE])
{
    dd_bytes text = DD_BYTES(CANONICAL_CEILING);
    dd_folder_canonical(folder, -1, &text);
    if (patient >= 0)
        dd_folder_canonical(folder, patient, &text);
    bool failed = text.failed;
    if (!failed) {
        unsigned char digest[32];
        dd_digest_sha256(text.data, text.length, digest);
        spell(digest, out);
    }
    dd_bytes_free(&text);
    return failed ? DD_NO_MEMORY : DD_OK;
}
