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

typedef struct counting { const dd_view *view; const dd_patient *patient; } counting;

/* Of the chart only what had happened and was written down counts, so that a page can be made again later with its code. Events
 * stand in the order of the file. */
static bool counts(const void *data, uint32_t line)
{
    const counting *c = data;
    const dd_patient *p = c->patient;
    uint32_t low = 0, high = p->event_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (p->events[middle].line_of_file < line)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == p->event_count || p->events[low].line_of_file != line)
        return false;
    const dd_event *e = &p->events[low];
    if (e->kind == DD_EVENT_STRUCK || e->time > c->view->now || e->entered > c->view->known)
        return false;
    for (uint32_t i = low + 1; i < p->event_count; i++)
        if (p->events[i].kind == DD_EVENT_STRUCK && p->events[i].strikes == (int32_t)low && p->events[i].entered <= c->view->known)
            return false;
    return true;
}

static void add_patient(const dd_view *view, const dd_patient *p, dd_bytes *text)
{
    counting c = {view, p};
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        dd_canon_rows(view->folder, (int)(p - view->plan->patients), (dd_table)t, t == DD_TABLE_CHART ? counts : NULL, &c, text);
}

void dd_pagecode_of(const char *text, size_t length, char out[DD_PAGECODE_SIZE])
{
    unsigned char digest[32];
    dd_digest_sha256(text, length, digest);
    spell(digest, out);
}

dd_status dd_pagecode(const dd_view *view, const dd_patient *patient, char out[DD_PAGECODE_SIZE])
{
    dd_bytes text = DD_BYTES(CANONICAL_CEILING);
    dd_folder_canonical(view->folder, -1, &text);
    for (size_t i = 0; !patient && i < view->count; i++)
        add_patient(view, view->patients[i], &text);
    if (patient)
        add_patient(view, patient, &text);
    bool failed = text.failed;
    if (!failed)
        dd_pagecode_of(text.data, text.length, out);
    dd_bytes_free(&text);
    return failed ? DD_NO_MEMORY : DD_OK;
}
