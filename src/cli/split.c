#include "split.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "calendar.h"
#include "calvalue.h"
#include "file.h"
#include "former.h"
#include "remind.h"
#include "uid.h"

#define MOST_EVENT ((size_t)1 << 20) /* octets of a file with one event */
#define ENDING ".ics"

typedef struct split {
    dd_session *s;
    dd_calendar_options options;
    const char *folder;
    dd_arena *arena;     /* for one file at a time */
    dd_former former;    /* what is in the folder */
    dd_bytes file;
    const char *failed;  /* what could not be read or written */
} split;

static dd_status failed_at(split *p, const char *path)
{
    int why = errno;
    p->failed = dd_arena_text(p->s->arena, path, strlen(path));
    errno = why;
    return DD_CANNOT_READ;
}

static char *path_of(split *p, const char *uid)
{
    char name[DD_UID_SIZE + sizeof ENDING];
    memcpy(name, uid, DD_UID_SIZE - 1);
    memcpy(name + DD_UID_SIZE - 1, ENDING, sizeof ENDING);
    return dd_file_join(p->arena, p->folder, name);
}

/* ---- what is there ---- */

/* `UID.ics`, a UUID such as reminders have. Other people's events may have such names too. */
static bool has_our_name(const char *name)
{
    size_t length = strlen(name);
    return length == DD_UID_SIZE - 1 + sizeof ENDING - 1 && strcmp(name + DD_UID_SIZE - 1, ENDING) == 0 && !dd_calvalue_uid(name, DD_UID_SIZE - 1);
}

/* The value in the first line that begins so, without what it is folded into; NULL: there is none. */
static const char *value_of(const char *bytes, const char *begins, size_t *length)
{
    for (const char *line = bytes; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncmp(line, begins, strlen(begins)) != 0)
            continue;
        line += strlen(begins);
        *length = strcspn(line, "\r\n");
        return line;
    }
    return NULL;
}

/* One of ours that somebody else has written anew, as servers and phones do when an alarm is put off: it stands for itself with its number
 * and time, and nothing else of it is believed, so that it counts as changed. False: it is not ours. */
static bool read_altered(split *p, const char *uid, const char *bytes, dd_calendar_event *event)
{
    size_t length;
    const char *value = value_of(bytes, "UID:", &length);
    if (!value || length != DD_UID_SIZE - 1 || memcmp(value, uid, length) != 0 || !strstr(bytes, "\nCATEGORIES:infusion"))
        return false;
    *event = (dd_calendar_event){.text = "", .title = "", .category = "", .start = p->s->view.now, .lead_s = DD_CALENDAR_NO_ALARM};
    event->uid = dd_arena_text(p->s->arena, uid, DD_UID_SIZE - 1);
    value = value_of(bytes, "SEQUENCE:", &length);
    if (value && dd_calvalue_sequence(value, length, &event->sequence))
        event->sequence = 0;
    value = value_of(bytes, "DTSTART:", &length);
    if (value && dd_calvalue_moment(value, length, &event->start))
        event->start = p->s->view.now;
    value = value_of(bytes, "SUMMARY:", &length);
    if (value)
        event->title = dd_arena_text(p->s->arena, value, length);
    return event->uid && event->title;
}

static dd_status read_file(split *p, const char *name)
{
    char uid[DD_UID_SIZE], *bytes;
    size_t length, before = p->former.count;
    memcpy(uid, name, DD_UID_SIZE - 1);
    uid[DD_UID_SIZE - 1] = '\0';
    dd_arena_reset(p->arena);
    char *path = path_of(p, uid);
    if (!path)
        return DD_NO_MEMORY;
    dd_file_end end = dd_file_read(path, MOST_EVENT, p->arena, &bytes, &length);
    if (end == DD_FILE_REFUSED)
        return failed_at(p, path);
    if (end != DD_FILE_READ)
        return end == DD_FILE_NO_MEMORY ? DD_NO_MEMORY : DD_OK;
    dd_bytes reason = DD_BYTES((size_t)4096);
    dd_status status = dd_former_add(&p->former, bytes, length, &reason);
    dd_bytes_free(&reason);
    bool its_own = status == DD_OK && p->former.count == before + 1 && strcmp(p->former.events[before].event.uid, uid) == 0;
    if (its_own || (status != DD_OK && status != DD_BAD_INPUT))
        return status;
    p->former.count = before;
    dd_calendar_event event;
    if (!read_altered(p, uid, bytes, &event))
        return DD_OK;
    if (!dd_arena_room(p->s->arena, &p->former.events, &p->former.room, p->former.count, sizeof *p->former.events))
        return DD_NO_MEMORY;
    p->former.events[p->former.count++] = (dd_former_event){.event = event, .altered = true};
    return DD_OK;
}

static dd_status read_folder(split *p)
{
    const char **names;
    size_t count;
    if (dd_file_list(p->folder, p->s->arena, &names, &count) != DD_OK)
        return failed_at(p, p->folder);
    dd_status status = DD_OK;
    for (size_t i = 0; status == DD_OK && i < count; i++)
        if (has_our_name(names[i]))
            status = read_file(p, names[i]);
    dd_former_sort(&p->former);
    return status;
}

/* ---- what is to be there ---- */

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
    if (calendar && status != DD_OK)
        dd_bytes_text(p->options.said->why, dd_calendar_reason(calendar));
    dd_calendar_free(calendar);
    return status;
}

/* A file that would not change is not touched: sync tools look at its time. */
static dd_status write_event(void *user, const dd_calendar_event *event)
{
    split *p = user;
    char *there;
    size_t length;
    dd_arena_reset(p->arena);
    dd_status status = make_file(p, event);
    char *path = status == DD_OK ? path_of(p, event->uid) : NULL;
    if (!path)
        return status == DD_OK ? DD_NO_MEMORY : status;
    if (dd_file_read(path, MOST_EVENT, p->arena, &there, &length) == DD_FILE_READ && length == p->file.length && memcmp(there, p->file.data, length) == 0)
        return DD_OK;
    return dd_file_write(path, p->file.data, p->file.length, true) == DD_OK ? DD_OK : failed_at(p, path);
}

static dd_status remove_stale(split *p)
{
    for (size_t i = 0; i < p->former.count; i++) {
        if (p->former.events[i].state != DD_FORMER_OVER && p->former.events[i].state != DD_FORMER_GONE)
            continue;
        dd_arena_reset(p->arena);
        char *path = path_of(p, p->former.events[i].event.uid);
        if (!path)
            return DD_NO_MEMORY;
        if (unlink(path) != 0 && errno != ENOENT)
            return failed_at(p, path);
    }
    return DD_OK;
}

dd_status dd_split_write(dd_session *s, const dd_calendar_options *options, const char *folder)
{
    split p = {.s = s, .options = *options, .folder = folder, .arena = dd_arena_new(), .former.arena = s->arena, .file = DD_BYTES(MOST_EVENT)};
    p.options.apart = true;
    p.options.former = &p.former;
    dd_status status = !p.arena ? DD_NO_MEMORY : mkdir(folder, 0700) != 0 && errno != EEXIST ? failed_at(&p, folder) : read_folder(&p);
    if (status == DD_OK)
        status = dd_remind_each(&s->view, &p.options, write_event, &p);
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
