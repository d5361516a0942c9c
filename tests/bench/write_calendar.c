/* write_calendar.c - a calendar of many events written to a file as it grows, then read back from it: write_calendar COUNT FILE.
 * Prints how many, the processor's seconds of writing (each event is read back there too, as it always is) and of reading, and MiB of the
 * file and of memory at most. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "calendar.h"
#include "calread.h"

#define PIECE ((size_t)65536)

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* MiB; not by getrusage, which counts what the program that started this one had. */
static double memory_most(void)
{
    FILE *status = fopen("/proc/self/status", "r");
    char line[256];
    long kib = 0;
    while (status && fgets(line, sizeof line, status))
        if (strncmp(line, "VmHWM:", 6) == 0)
            kib = atol(line + 6);
    if (status)
        fclose(status);
    return (double)kib / 1024;
}

static void fail(const char *why)
{
    fprintf(stderr, "%s\n", why);
    exit(1);
}

static void pour(dd_bytes *out, FILE *file)
{
    if (fwrite(out->data, 1, out->length, file) != out->length)
        fail("cannot write");
    dd_bytes_clear(out);
}

static void write_file(long count, FILE *file)
{
    dd_bytes out = DD_BYTES(PIECE * 8);
    dd_calendar *calendar;
    char uid[48], title[64];
    if (dd_calendar_begin(&out, &calendar) != DD_OK)
        fail("cannot begin");
    for (long i = 0; i < count; i++) {
        snprintf(uid, sizeof uid, "%08lx-e927-568b-95e1-2665a8aea6a2", (unsigned long)i);
        snprintf(title, sizeof title, "bay%ld-bed%ld: dose 22:00", i / 8, i % 8);
        const dd_calendar_event event = {.uid = uid, .title = title, .category = "infusion", .start = 1795748400 + i * 60, .end = 1795749000 + i * 60,
            .last_modified = 1795737600, .lead_s = 900,
            .text = "Get ready at 21:45. What, how much and how fast stand on the printed page, front of BAY1-BED2.\nOver at 22:36, flush included.\n"
                    "The page counts, not this reminder; if the page is missing, go by the order.\nMade Wed 25 Nov 19:00. A plan, not an order.\nPage F3H7-9WKT"};
        if (dd_calendar_add(calendar, &event) != DD_OK)
            fail(dd_calendar_reason(calendar));
        if (out.length > PIECE)
            pour(&out, file);
    }
    if (dd_calendar_end(calendar) != DD_OK)
        fail(dd_calendar_reason(calendar));
    pour(&out, file);
    dd_calendar_free(calendar);
    dd_bytes_free(&out);
}

static dd_status count_event(void *user, const dd_calendar_event *event, size_t line)
{
    (void)event;
    (void)line;
    ++*(long *)user;
    return DD_OK;
}

static void read_file(long count, FILE *file)
{
    static char piece[2 * PIECE];
    size_t kept = 0, whole;
    long seen = 0;
    dd_calread *reader = dd_calread_new(count_event, &seen);
    if (!reader || fseek(file, 0, SEEK_SET) != 0)
        fail("cannot read");
    do {
        kept += fread(piece + kept, 1, sizeof piece - kept, file);
        bool last = feof(file);
        whole = dd_calread_whole(piece, kept, last);
        if (dd_calread_feed(reader, piece, whole) != DD_OK)
            fail(dd_calread_reason(reader));
        kept -= whole;
        memmove(piece, piece + whole, kept);
        if (last)
            whole = 0;
    } while (whole > 0);
    if (dd_calread_end(reader) != DD_OK || seen != count)
        fail("not what was written");
    dd_calread_free(reader);
}

int main(int argc, char **argv)
{
    if (argc != 3)
        fail("usage: write_calendar COUNT FILE");
    long count = atol(argv[1]);
    FILE *file = fopen(argv[2], "w+b");
    if (!file)
        fail("cannot open");
    double start = now();
    write_file(count, file);
    double written = now();
    read_file(count, file);
    double read = now();
    printf("%ld %.3f %.3f %.1f %.1f\n", count, written - start, read - written, (double)ftell(file) / 1048576, memory_most());
    fclose(file);
    return 0;
}
