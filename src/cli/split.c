#include "split.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "calendar.h"
#include "calvalue.h"
#include "file.h"
#include "remind.h"
#include "uid.h"

#define MOST_EVENT ((size_t)1 << 20) /* octets of a file with one event */
#define ENDING ".ics"

typedef struct split {
    dd_session *s;
    const dd_calendar_options *options;
    const char *folder;
    dd_arena *arena;     /* for one file at a time */
    dd_bytes file;
    char (*uids)[DD_UID_SIZE]; /* written, or there already */
    size_t count, room;
    const char *failed;  /* what could not be read or written */
} split;

static dd_status failed_at(split *p, const char *path)
{
    int why = errno;
    p->failed = dd_arena_text(p->s->arena, path, strlen(path));
    errno = why;
    return DD_CANNOT_READ;
}

/* One whole calendar with this event alone. */
static dd_status make_file(split *p, const dd_calendar_event *event)
{
    dd_calendar *calendar;
    dd_bytes_clear(&p->file);
    dd_status status = dd_calendar_begin(&p->file, &calendar);
    if (status == DD_OK)
        status = dd_calendar_add(calendar, event);
    if (status == DD_OK)
        status = dd_calendar_end(calendar);
    if (calendar)
        dd_bytes_text(p->options->why, dd_calendar_reason(calendar));
    dd_calendar_free(calendar);
    return status;
}

static char *path_of(split *p, const char *uid)
{
    char name[DD_UID_SIZE + sizeof ENDING];
    memcpy(name, uid, DD_UID_SIZE - 1);
    memcpy(name + DD_UID_SIZE - 1, ENDING, sizeof ENDING);
    return dd_file_join(p->arena, p->folder, name);
}

static dd_status write_event(void *user, const dd_calendar_event *event)
{
    split *p = user;
    char *there;
    size_t length;
    dd_arena_reset(p->arena);
    dd_status status = make_file(p, event);
    char *path = status == DD_OK ? path_of(p, event->uid) : NULL;
    if (!path || !dd_arena_room(p->s->arena, &p->uids, &p->room, p->count, sizeof *p->uids))
        return status == DD_OK ? DD_NO_MEMORY : status;
    memcpy(p->uids[p->count++], event->uid, DD_UID_SIZE);
    if (dd_file_read(path, MOST_EVENT, p->arena, &there, &length) == DD_FILE_READ && length == p->file.length && memcmp(there, p->file.data, length) == 0)
        return DD_OK;
    return dd_file_write(path, p->file.data, p->file.length, true) == DD_OK ? DD_OK : failed_at(p, path);
}

static int by_uid(const void *a, const void *b)
{
    return memcmp(a, b, DD_UID_SIZE);
}

/* `UID.ics`, a UUID such as reminders have. */
static bool has_our_name(const char *name)
{
    size_t length = strlen(name);
    return length == DD_UID_SIZE - 1 + sizeof ENDING - 1 && strcmp(name + DD_UID_SIZE - 1, ENDING) == 0 && !dd_calvalue_uid(name, DD_UID_SIZE - 1);
}

/* Whether this program wrote it: other people's events may have such names. */
static bool is_ours(split *p, const char *path)
{
    static const char head[] = "BEGIN:VCALENDAR\r\nPRODID:" DD_CALENDAR_PRODID "\r\n";
    char *bytes;
    size_t length;
    return dd_file_read(path, MOST_EVENT, p->arena, &bytes, &length) == DD_FILE_READ && length > sizeof head && memcmp(bytes, head, sizeof head - 1) == 0;
}

static dd_status remove_stale(split *p)
{
    const char **names;
    size_t count;
    if (dd_file_list(p->folder, p->s->arena, &names, &count) != DD_OK)
        return failed_at(p, p->folder);
    if (p->count > 1)
        qsort(p->uids, p->count, sizeof *p->uids, by_uid);
    for (size_t i = 0; i < count; i++) {
        char uid[DD_UID_SIZE];
        if (!has_our_name(names[i]))
            continue;
        memcpy(uid, names[i], DD_UID_SIZE - 1);
        uid[DD_UID_SIZE - 1] = '\0';
        if (p->count && bsearch(uid, p->uids, p->count, sizeof *p->uids, by_uid))
            continue;
        dd_arena_reset(p->arena);
        char *path = path_of(p, uid);
        if (!path)
            return DD_NO_MEMORY;
        if (is_ours(p, path) && unlink(path) != 0)
            return failed_at(p, path);
    }
    return DD_OK;
}

dd_status dd_split_write(dd_session *s, const dd_calendar_options *options, const char *folder)
{
    split p = {.s = s, .options = options, .folder = folder, .arena = dd_arena_new(), .file = DD_BYTES(MOST_EVENT)};
    dd_status status = !p.arena ? DD_NO_MEMORY : mkdir(folder, 0700) != 0 && errno != EEXIST ? failed_at(&p, folder) : DD_OK;
    if (status == DD_OK)
        status = dd_remind_each(&s->view, options, write_event, &p);
    if (status == DD_OK)
        status = remove_stale(&p);
    if (p.failed) {
        dd_bytes_form(s->err, "daydrip: %s: %s\n", p.failed, strerror(errno));
        dd_session_exit(s, DD_EXIT_FILE);
        status = DD_OK;
    }
    dd_bytes_free(&p.file);
    dd_arena_free(p.arena);
    return status;
}
