#include "pour.h"

#include <errno.h>
#include <string.h>

#include "calread.h"
#include "file.h"

#define PIECE ((size_t)128 * 1024) /* octets read back at a time; the longest line, with its folds, is shorter */
#define FIRST_SUM UINT64_C(14695981039346656037)

typedef struct pour {
    dd_session *s;
    const char *path;      /* NULL: standard output */
    dd_file_writing file;
    uint64_t sum, read_sum; /* of the octets written, and of those that came back */
    size_t events;
    bool said;             /* what is wrong is said already */
} pour;

/* FNV-1a: enough to see that a disk gave back something else than it got. */
static uint64_t sum_of(uint64_t sum, const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++)
        sum = (sum ^ (unsigned char)bytes[i]) * UINT64_C(1099511628211);
    return sum;
}

static dd_status say(pour *p, const char *why)
{
    dd_bytes_form(p->s->err, "daydrip: %s: %s\n", p->path ? p->path : "standard output", why);
    dd_session_exit(p->s, DD_EXIT_FILE);
    p->said = true;
    return DD_CANNOT_WRITE;
}

static dd_status drain(void *user, dd_bytes *out)
{
    pour *p = user;
    if (out->failed)
        return DD_NO_MEMORY;
    p->sum = sum_of(p->sum, out->data ? out->data : "", out->length);
    if (!p->path && !dd_session_write(p->s, out)) {
        p->said = true;
        return DD_CANNOT_WRITE;
    }
    if (p->path && dd_file_more(&p->file, out->data ? out->data : "", out->length) != DD_OK)
        return say(p, strerror(errno));
    dd_bytes_clear(out);
    return DD_OK;
}

/* ---- read back ---- */

static dd_status count_event(void *user, const dd_calendar_event *event, size_t line)
{
    (void)event;
    (void)line;
    pour *p = user;
    p->events++;
    return DD_OK;
}

/* Gives the whole file to the reader. */
static dd_status read_file(pour *p, dd_calread *reader, char *piece)
{
    size_t at = 0, kept = 0;
    for (;;) {
        ssize_t n = dd_file_again(&p->file, piece + kept, PIECE - kept, at);
        if (n < 0)
            return say(p, strerror(errno));
        p->read_sum = sum_of(p->read_sum, piece + kept, (size_t)n);
        at += (size_t)n;
        kept += (size_t)n;
        bool last = kept < PIECE;
        size_t whole = dd_calread_whole(piece, kept, last);
        dd_status status = dd_calread_feed(reader, piece, whole);
        if (status == DD_OK && !last && whole > 0) {
            memmove(piece, piece + whole, kept - whole);
            kept -= whole;
            continue;
        }
        return status == DD_OK ? dd_calread_end(reader) : status;
    }
}

/* What stands on the disk must be what was meant, before it takes the place of what was there. */
static dd_status read_back(pour *p, size_t events)
{
    char *piece = dd_arena_space(p->s->arena, PIECE);
    dd_calread *reader = dd_calread_new(count_event, p);
    dd_status status = piece && reader ? read_file(p, reader, piece) : DD_NO_MEMORY;
    if (status == DD_BAD_INPUT)
        status = say(p, dd_calread_reason(reader));
    else if (status == DD_OK && (p->events != events || p->read_sum != p->sum))
        status = say(p, "what was written does not read back");
    dd_calread_free(reader);
    return status;
}

dd_status dd_pour_calendar(dd_session *s, const dd_calendar_options *options)
{
    const char *path = s->words->value[DD_OPTION_OUTPUT];
    pour p = {.s = s, .path = path && strcmp(path, "-") != 0 ? path : NULL, .sum = FIRST_SUM, .read_sum = FIRST_SUM};
    dd_calendar_options grows = *options;
    grows.drain = drain;
    grows.drain_user = &p;
    dd_status status = p.path && dd_file_begin(&p.file, p.path) != DD_OK ? say(&p, strerror(errno)) : DD_OK;
    if (status != DD_OK)
        return DD_OK;
    status = dd_remind_write(&s->view, &grows, s->out);
    if (status == DD_OK)
        status = drain(&p, s->out);
    if (status == DD_OK && p.path)
        status = read_back(&p, options->said->events);
    if (p.path && status != DD_OK)
        dd_file_drop(&p.file);
    else if (p.path && dd_file_place(&p.file, false) != DD_OK)
        status = say(&p, strerror(errno));
    return p.said ? DD_OK : status;
}
