#include "progress.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

#define SOON_MS 2000 /* what takes less is not worth a word */
#define AGAIN_MS 250

static int64_t now_ms(void)
{
    struct timespec t;
    return clock_gettime(CLOCK_MONOTONIC, &t) == 0 ? (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000 : 0;
}

void dd_progress_begin(dd_progress *p)
{
    *p = (dd_progress){.heard = isatty(STDERR_FILENO) == 1};
    if (p->heard)
        p->began_ms = now_ms();
}

void dd_progress_streams(dd_progress *p)
{
    p->heard = p->heard && isatty(STDOUT_FILENO) != 1;
}

void dd_progress_patients(dd_progress *p, size_t done, size_t of)
{
    int64_t now = p->heard ? now_ms() : 0;
    if (!p->heard || now - p->began_ms < SOON_MS || now - p->said_ms < AGAIN_MS)
        return;
    p->said_ms = now;
    p->shown = true;
    fprintf(stderr, "\rdaydrip: %zu of %zu patients", done, of); /* only ever longer: it covers what stood there */
    fflush(stderr);
}

void dd_progress_end(dd_progress *p)
{
    if (!p->shown)
        return;
    fputs("\r\033[K", stderr);
    fflush(stderr);
    p->shown = false;
}
