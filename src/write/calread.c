#include "calread.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "caltext.h"
#include "calvalue.h"
#include "utf8.h"

/* Where we are; the number is the depth. */
typedef enum place { OUTSIDE, IN_CALENDAR, IN_EVENT, IN_ALARM } place;
#define WITHIN(where) (1U << (where))

static const char *const component_names[] = {"", "VCALENDAR", "VEVENT", "VALARM"};

typedef enum property {
    PRODID, VERSION, UID, DTSTAMP, LAST_MODIFIED, SEQUENCE, STATUS, DTSTART, DTEND, SUMMARY, DESCRIPTION, CATEGORIES, TRANSP, ACTION,
    TRIGGER, PROPERTY_COUNT
} property;

/* Every property that is written, and in which components; there each stands exactly once. */
static const struct {
    const char *name;
    size_t length;
    unsigned where;
} properties[PROPERTY_COUNT] = {
#define PROPERTY(id, text, places) [id] = {text, sizeof text - 1, places}
    PROPERTY(PRODID, "PRODID", WITHIN(IN_CALENDAR)),
    PROPERTY(VERSION, "VERSION", WITHIN(IN_CALENDAR)),
    PROPERTY(UID, "UID", WITHIN(IN_EVENT)),
    PROPERTY(DTSTAMP, "DTSTAMP", WITHIN(IN_EVENT)),
    PROPERTY(LAST_MODIFIED, "LAST-MODIFIED", WITHIN(IN_EVENT)),
    PROPERTY(SEQUENCE, "SEQUENCE", WITHIN(IN_EVENT)),
    PROPERTY(STATUS, "STATUS", WITHIN(IN_EVENT)),
    PROPERTY(DTSTART, "DTSTART", WITHIN(IN_EVENT)),
    PROPERTY(DTEND, "DTEND", WITHIN(IN_EVENT)),
    PROPERTY(SUMMARY, "SUMMARY", WITHIN(IN_EVENT)),
    PROPERTY(DESCRIPTION, "DESCRIPTION", WITHIN(IN_EVENT) | WITHIN(IN_ALARM)),
    PROPERTY(CATEGORIES, "CATEGORIES", WITHIN(IN_EVENT)),
    PROPERTY(TRANSP, "TRANSP", WITHIN(IN_EVENT)),
    PROPERTY(ACTION, "ACTION", WITHIN(IN_ALARM)),
    PROPERTY(TRIGGER, "TRIGGER", WITHIN(IN_ALARM)),
#undef PROPERTY
};

struct dd_calread {
    dd_calread_take *take;
    void *user;
    dd_status status;      /* what went wrong first; sticks */
    place in;
    bool over;             /* the calendar has ended */
    unsigned seen[4];      /* by place: bits of the properties read in the component that is open */
    bool alarm;            /* the open event has had its alarm */
    size_t octets, events;
    size_t physical;       /* lines read so far */
    size_t line;           /* where the unfolded line begins that is looked at, from 1 */
    size_t event_line;
    dd_bytes joined;       /* an unfolded line that had folds */
    dd_bytes uid, title, text, category, alarm_text;
    dd_calendar_event event;
    dd_moment stamp;
    char reason[256];
};

static void refuse(dd_calread *r, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void refuse(dd_calread *r, const char *format, ...)
{
    int n = snprintf(r->reason, sizeof r->reason, "line %zu: ", r->line);
    va_list args;
    va_start(args, format);
    vsnprintf(r->reason + n, sizeof r->reason - (size_t)n, format, args);
    va_end(args);
    r->status = DD_BAD_INPUT;
}

/* Refuses a word of the file and shows it, as far as it can be shown. */
static void refuse_word(dd_calread *r, const char *what, const char *word, size_t length)
{
    char shown[42];
    size_t n = 0;
    for (; n < length && n < sizeof shown - 2; n++)
        shown[n] = word[n] >= 0x20 && word[n] < 0x7f ? word[n] : '?';
    if (n < length)
        shown[n++] = '~';
    shown[n] = '\0';
    refuse(r, "%s: \"%s\"", what, shown);
}

static bool is(const char *text, size_t length, const char *word)
{
    return length == strlen(word) && memcmp(text, word, length) == 0;
}

/* ---- values ---- */

/* Refuses the value if something is wrong with it. */
static void expect(dd_calread *r, const char *fault, const char *value, size_t length)
{
    if (fault)
        refuse_word(r, fault, value, length);
}

static void read_text(dd_calread *r, const char *value, size_t length, dd_bytes *out)
{
    dd_calvalue_place where;
    const char *fault = dd_calvalue_text(value, length, out, &where);
    if (fault && where.length)
        refuse_word(r, fault, value + where.at, where.length);
    else if (fault)
        refuse(r, "%s", fault);
    else if (out->failed)
        r->status = DD_NO_MEMORY;
}

static void read_uid(dd_calread *r, const char *value, size_t length)
{
    expect(r, dd_calvalue_uid(value, length), value, length);
    dd_bytes_clear(&r->uid);
    dd_bytes_add(&r->uid, value, length);
    if (!r->status && r->uid.failed)
        r->status = DD_NO_MEMORY;
}

static void read_fixed(dd_calread *r, const char *text, size_t length, const char *expected)
{
    if (!is(text, length, expected)) {
        char what[96];
        snprintf(what, sizeof what, "%s is expected", expected);
        refuse_word(r, what, text, length);
    }
}

static void read_property(dd_calread *r, property p, const char *value, size_t length)
{
    switch (p) {
    case PRODID:
        if (!is(value, length, DD_CALENDAR_PRODID))
            refuse_word(r, "this file was made by another program", value, length);
        break;
    case VERSION:
        read_fixed(r, value, length, "2.0");
        break;
    case UID:
        read_uid(r, value, length);
        break;
    case DTSTAMP:
        expect(r, dd_calvalue_moment(value, length, &r->stamp), value, length);
        break;
    case LAST_MODIFIED:
        expect(r, dd_calvalue_moment(value, length, &r->event.last_modified), value, length);
        break;
    case SEQUENCE:
        expect(r, dd_calvalue_sequence(value, length, &r->event.sequence), value, length);
        break;
    case STATUS:
        if (is(value, length, "CANCELLED"))
            r->event.state = DD_CALENDAR_CANCELLED;
        else {
            r->event.state = DD_CALENDAR_CONFIRMED;
            read_fixed(r, value, length, "CONFIRMED");
        }
        break;
    case DTSTART:
        expect(r, dd_calvalue_moment(value, length, &r->event.start), value, length);
        break;
    case DTEND:
        expect(r, dd_calvalue_moment(value, length, &r->event.end), value, length);
        break;
    case SUMMARY:
        read_text(r, value, length, &r->title);
        break;
    case DESCRIPTION:
        read_text(r, value, length, r->in == IN_ALARM ? &r->alarm_text : &r->text);
        break;
    case CATEGORIES:
        read_text(r, value, length, &r->category);
        break;
    case TRANSP:
        read_fixed(r, value, length, "TRANSPARENT");
        break;
    case ACTION:
        read_fixed(r, value, length, "DISPLAY");
        break;
    case TRIGGER:
        expect(r, dd_calvalue_lead(value, length, &r->event.lead_s), value, length);
        break;
    case PROPERTY_COUNT:
        break;
    }
}

/* ---- components ---- */

static bool complete(dd_calread *r)
{
    for (int p = 0; p < PROPERTY_COUNT; p++)
        if (properties[p].where & WITHIN(r->in) && !(r->seen[r->in] >> p & 1)) {
            refuse(r, "%s has no %s", component_names[r->in], properties[p].name);
            return false;
        }
    return true;
}

static void begin(dd_calread *r, const char *name, size_t length)
{
    if (r->in == DD_CALREAD_DEPTH_MAX) {
        refuse(r, "nested deeper than %d", DD_CALREAD_DEPTH_MAX);
        return;
    }
    if (!is(name, length, component_names[r->in + 1])) {
        char what[96];
        snprintf(what, sizeof what, "BEGIN:%s is expected here", component_names[r->in + 1]);
        refuse_word(r, what, name, length);
        return;
    }
    if (r->in == IN_CALENDAR && !complete(r))
        return;
    if (r->in == IN_EVENT && r->alarm) {
        refuse(r, "a second alarm in one event");
        return;
    }
    r->in = (place)(r->in + 1);
    r->seen[r->in] = 0;
    if (r->in == IN_EVENT) {
        if (r->events == DD_CALREAD_EVENTS_MAX) {
            refuse(r, "more than %zu events", DD_CALREAD_EVENTS_MAX);
            return;
        }
        r->events++;
        r->event = (dd_calendar_event){.lead_s = DD_CALENDAR_NO_ALARM};
        r->event_line = r->line;
        r->alarm = false;
    }
    if (r->in == IN_ALARM)
        r->alarm = true;
}

/* What holds between the parts of an event. */
static void end_event(dd_calread *r)
{
    dd_calendar_event *e = &r->event;
    if (e->end <= e->start)
        refuse(r, "the event that begins in line %zu ends before it starts", r->event_line);
    else if (r->stamp != e->last_modified)
        refuse(r, "DTSTAMP and LAST-MODIFIED differ in the event that begins in line %zu", r->event_line);
    else if (r->alarm
        && (r->alarm_text.length != r->title.length + 1 + r->text.length
            || memcmp(r->alarm_text.data, r->title.data, r->title.length) != 0 || r->alarm_text.data[r->title.length] != '\n'
            || memcmp(r->alarm_text.data + r->title.length + 1, r->text.data, r->text.length) != 0))
        refuse(r, "the alarm says something else than the event that begins in line %zu", r->event_line);
    if (r->status)
        return;
    e->uid = r->uid.data;
    e->title = r->title.data;
    e->text = r->text.data;
    e->category = r->category.data;
    r->status = r->take(r->user, e, r->event_line);
}

static void end(dd_calread *r, const char *name, size_t length)
{
    if (!is(name, length, component_names[r->in])) {
        char what[96];
        snprintf(what, sizeof what, "END:%s is expected here", component_names[r->in]);
        refuse_word(r, what, name, length);
        return;
    }
    if (!complete(r))
        return;
    if (r->in == IN_EVENT)
        end_event(r);
    r->in = (place)(r->in - 1);
    if (r->in == OUTSIDE)
        r->over = true;
}

/* ---- lines ---- */

/* One unfolded line, without its end. */
static void read_line(dd_calread *r, const char *line, size_t length)
{
    for (size_t i = 0; i < length;) {
        if (line[i] >= 0x20 && line[i] < 0x7f) {
            i++;
            continue;
        }
        uint32_t code = 0;
        size_t bytes = dd_utf8_read(line + i, length - i, &code);
        if (bytes == 0) {
            refuse(r, "not valid UTF-8");
            return;
        }
        if (code < 0x20 || (code >= 0x7f && code < 0xa0)) {
            refuse(r, "a control character");
            return;
        }
        i += bytes;
    }
    if (r->over) {
        refuse(r, "something follows the end of the calendar");
        return;
    }
    if (length == 0) {
        refuse(r, "an empty line");
        return;
    }
    const char *colon = memchr(line, ':', length);
    if (!colon) {
        refuse_word(r, "a line without a colon", line, length);
        return;
    }
    size_t name = (size_t)(colon - line);
    const char *value = colon + 1;
    size_t value_length = length - name - 1;
    if (is(line, name, "BEGIN")) {
        begin(r, value, value_length);
        return;
    }
    if (r->in == OUTSIDE) {
        refuse_word(r, "BEGIN:VCALENDAR is expected here", line, length);
        return;
    }
    if (is(line, name, "END")) {
        end(r, value, value_length);
        return;
    }
    for (int p = 0; p < PROPERTY_COUNT; p++) {
        if (properties[p].length != name || memcmp(properties[p].name, line, name) != 0 || !(properties[p].where & WITHIN(r->in)))
            continue;
        if (r->seen[r->in] >> p & 1)
            refuse(r, "a second %s in one %s", properties[p].name, component_names[r->in]);
        else if (r->in == IN_EVENT && r->alarm)
            refuse(r, "%s stands behind the alarm, which comes last", properties[p].name);
        else if (r->in == IN_CALENDAR && r->events)
            refuse(r, "%s stands behind an event", properties[p].name);
        else
            read_property(r, (property)p, value, value_length);
        r->seen[r->in] |= 1U << p;
        return;
    }
    char what[96];
    snprintf(what, sizeof what, "this program writes no such line in a %s", component_names[r->in]);
    refuse_word(r, what, line, name);
}

/* The physical line at `text`: its length without CR LF. False: refused. */
static bool physical_line(dd_calread *r, const char *text, size_t left, size_t *length)
{
    size_t look = left < DD_CALREAD_LINE_MAX + 2 ? left : DD_CALREAD_LINE_MAX + 2;
    const char *lf = memchr(text, '\n', look);
    if (!lf && left > DD_CALREAD_LINE_MAX)
        refuse(r, "longer than 64 KiB");
    else if (!lf)
        refuse(r, "the text stops inside a line");
    else if (lf == text || lf[-1] != '\r')
        refuse(r, "a line ends with LF alone, CR LF is expected");
    else if (lf - text - 1 > DD_CALTEXT_LINE)
        refuse(r, "%zu octets, and not folded at %d", (size_t)(lf - text - 1), DD_CALTEXT_LINE);
    else {
        *length = (size_t)(lf - text) - 1;
        return true;
    }
    return false;
}

/* Puts the folded line together that begins at `text`, whose first physical line has `length` octets. Returns how many octets
 * of the text it takes. */
static size_t join(dd_calread *r, const char *text, size_t left, size_t length)
{
    size_t begun = r->line, at = 0;
    bool escaped = false; /* an odd number of backslashes stands before */
    dd_bytes_clear(&r->joined);
    for (size_t skip = 0;; skip = 1) { /* the blank that begins a continuation */
        const char *piece = text + at + skip;
        length -= skip;
        if (r->joined.length + length > DD_CALREAD_LINE_MAX)
            refuse(r, "longer than 64 KiB");
        else if (skip && length == 0)
            refuse(r, "a fold with nothing behind it");
        else if (skip && ((unsigned char)piece[0] & 0xc0) == 0x80)
            refuse(r, "a fold inside a character");
        else if (escaped)
            refuse(r, "a fold inside an escape");
        if (r->status)
            return 0;
        for (size_t i = 0; i < length; i++)
            escaped = !escaped && piece[i] == '\\';
        dd_bytes_add(&r->joined, piece, length);
        if (r->joined.failed) {
            r->status = DD_NO_MEMORY;
            return 0;
        }
        at += skip + length + 2;
        if (at == left || (text[at] != ' ' && text[at] != '\t'))
            break;
        r->physical++;
        r->line = r->physical;
        if (!physical_line(r, text + at, left - at, &length))
            return 0;
    }
    r->line = begun;
    return at;
}

dd_status dd_calread_feed(dd_calread *r, const char *text, size_t length)
{
    if (r->status)
        return r->status;
    r->line = r->physical + 1;
    if (length > DD_CALREAD_FILE_MAX - r->octets) {
        refuse(r, "the file is longer than %zu octets", DD_CALREAD_FILE_MAX);
        return r->status;
    }
    r->octets += length;
    for (size_t at = 0; at < length && !r->status;) {
        size_t one;
        r->physical++;
        r->line = r->physical;
        if (text[at] == ' ' || text[at] == '\t') {
            refuse(r, "a fold where no line has begun");
            break;
        }
        if (!physical_line(r, text + at, length - at, &one))
            break;
        size_t next = at + one + 2;
        if (next < length && (text[next] == ' ' || text[next] == '\t')) {
            next = at + join(r, text + at, length - at, one);
            if (!r->status)
                read_line(r, r->joined.data, r->joined.length);
        } else
            read_line(r, text + at, one);
        at = next;
    }
    return r->status;
}

size_t dd_calread_whole(const char *text, size_t length, bool last)
{
    if (last)
        return length;
    for (size_t at = length; at > 1; at--) /* `at`: where the line behind an LF begins */
        if (at < length && text[at - 1] == '\n' && text[at] != ' ' && text[at] != '\t')
            return at;
    return 0;
}

dd_status dd_calread_end(dd_calread *r)
{
    r->line = r->physical + 1;
    if (!r->status && r->in != OUTSIDE)
        refuse(r, "the text stops before END:%s", component_names[r->in]);
    else if (!r->status && !r->over)
        refuse(r, "there is no calendar");
    return r->status;
}

dd_calread *dd_calread_new(dd_calread_take *take, void *user)
{
    dd_calread *r = dd_arena_allocator(NULL, sizeof *r);
    if (!r)
        return NULL;
    *r = (dd_calread){.take = take, .user = user};
    /* A text is never longer than its line. */
    r->joined = r->uid = r->title = r->text = r->category = r->alarm_text = DD_BYTES(DD_CALREAD_LINE_MAX + 1);
    return r;
}

const char *dd_calread_reason(const dd_calread *r)
{
    return r->reason;
}

void dd_calread_free(dd_calread *r)
{
    if (!r)
        return;
    dd_bytes_free(&r->joined);
    dd_bytes_free(&r->uid);
    dd_bytes_free(&r->title);
    dd_bytes_free(&r->text);
    dd_bytes_free(&r->category);
    dd_bytes_free(&r->alarm_text);
    dd_arena_allocator(r, 0);
}

/* ---- a whole file ---- */

typedef struct gathered {
    dd_arena *arena;
    dd_calendar_event *events;
    size_t count, room;
} gathered;

static dd_status gather(void *user, const dd_calendar_event *event, size_t line)
{
    (void)line;
    gathered *g = user;
    if (!dd_arena_room(g->arena, &g->events, &g->room, g->count, sizeof *g->events))
        return DD_NO_MEMORY;
    dd_calendar_event *kept = &g->events[g->count];
    *kept = *event;
    kept->uid = dd_arena_text(g->arena, event->uid, strlen(event->uid));
    kept->title = dd_arena_text(g->arena, event->title, strlen(event->title));
    kept->text = dd_arena_text(g->arena, event->text, strlen(event->text));
    kept->category = dd_arena_text(g->arena, event->category, strlen(event->category));
    if (!kept->uid || !kept->title || !kept->text || !kept->category)
        return DD_NO_MEMORY;
    g->count++;
    return DD_OK;
}

static int by_uid(const void *a, const void *b)
{
    const dd_calendar_event *const *x = a, *const *y = b;
    return strcmp((*x)->uid, (*y)->uid);
}

/* A UID that stands twice, or NULL where there is none. */
static dd_status find_twice(const gathered *g, const char **uid)
{
    *uid = NULL;
    const dd_calendar_event **sorted = dd_arena_take_many(g->arena, g->count, sizeof *sorted);
    if (!sorted)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < g->count; i++)
        sorted[i] = &g->events[i];
    qsort(sorted, g->count, sizeof *sorted, by_uid);
    for (size_t i = 1; i < g->count && !*uid; i++)
        if (strcmp(sorted[i - 1]->uid, sorted[i]->uid) == 0)
            *uid = sorted[i]->uid;
    return DD_OK;
}

dd_status dd_calread_events(const char *text, size_t length, dd_arena *arena, const dd_calendar_event **events, size_t *count,
    dd_bytes *reason)
{
    gathered g = {.arena = arena};
    dd_calread *r = dd_calread_new(gather, &g);
    if (!r)
        return DD_NO_MEMORY;
    dd_status status = dd_calread_feed(r, text, length);
    if (!status)
        status = dd_calread_end(r);
    if (status == DD_BAD_INPUT)
        dd_bytes_text(reason, dd_calread_reason(r));
    dd_calread_free(r);
    const char *twice = NULL;
    if (!status)
        status = find_twice(&g, &twice);
    if (twice) {
        dd_bytes_form(reason, "two events have the UID %s", twice);
        status = DD_BAD_INPUT;
    }
    if (!status) {
        *events = g.events;
        *count = g.count;
    }
    return status;
}
