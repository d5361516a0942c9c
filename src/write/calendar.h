/* calendar.h - a calendar file (RFC 5545), written one event at a time and read back as it is written.
 *
 * Every event goes through libical alone, so that 100,000 of them need no more memory than one; its text is folded anew
 * (caltext.h), appended, and given at once to our own strict reader (calread.h). What the reader understands must be what
 * was meant, or the event is taken out again and the writer fails. */
#ifndef DD_CALENDAR_H
#define DD_CALENDAR_H

#include "bytes.h"
#include "daydrip/moment.h"
#include "daydrip/status.h"

#define DD_CALENDAR_PRODID "-//daydrip//infusion reminders//EN"
#define DD_CALENDAR_TITLE_MAX 170                   /* characters */
#define DD_CALENDAR_TEXT_MAX 8000                   /* characters; escaped, it stays far below the reader's longest line */
#define DD_CALENDAR_LEAD_MAX INT64_C(86400)         /* seconds */
#define DD_CALENDAR_NO_ALARM INT64_C(-1)
#define DD_CALENDAR_FIRST INT64_C(-62135596800)     /* 0001-01-01T00:00:00Z */
#define DD_CALENDAR_LAST INT64_C(32535215999)       /* 3000-12-31T23:59:59Z; libical writes later ones as zeros */

typedef enum dd_calendar_state { DD_CALENDAR_CONFIRMED, DD_CALENDAR_CANCELLED } dd_calendar_state;

/* One event. DTSTAMP is `last_modified` too: in a file without METHOD the two mean the same (RFC 5545, 3.8.7.2), and an event that
 * did not change then keeps all its bytes. */
typedef struct dd_calendar_event {
    const char *uid;         /* a UUID of version 5, lower case */
    const char *title;       /* one line; written as dd_caltext_clean makes it */
    const char *text;        /* lines separated by LF, not empty; likewise */
    const char *category;    /* one, not empty; likewise */
    dd_moment start, end;    /* UTC; start < end */
    dd_moment last_modified; /* UTC */
    int64_t lead_s;          /* the alarm so many seconds before: whole minutes, 0 to DD_CALENDAR_LEAD_MAX; or DD_CALENDAR_NO_ALARM */
    int32_t sequence;        /* 0 and up */
    uint8_t state;           /* dd_calendar_state */
} dd_calendar_event;

typedef struct dd_calendar dd_calendar;

/* Appends the head of a file to `out`, which must live until dd_calendar_free and belongs to the caller. Between two calls
 * the caller may take what is in `out` away (write it to a file and clear it). DD_NO_MEMORY: *writer is NULL. DD_CANNOT_READ: libical
 * cannot be loaded; nothing was appended, and *writer is there to say why and to be freed. */
DD_MUST_USE dd_status dd_calendar_begin(dd_bytes *out, dd_calendar **writer);
/* Appends one event; its texts are not kept. DD_TOO_LARGE: a field is outside its range; DD_CANNOT_WRITE: what was written does
 * not read back as what was meant; DD_NO_MEMORY: `out` hit its ceiling or an allocation failed. Nothing was appended then,
 * dd_calendar_reason says why, and every later call gives the same status. */
DD_MUST_USE dd_status dd_calendar_add(dd_calendar *writer, const dd_calendar_event *event);
/* Appends the end. A file without events is a head and an end: calendar programs take it, and show nothing. */
DD_MUST_USE dd_status dd_calendar_end(dd_calendar *writer);
/* Why the writer failed, in words; "" where it did not. Lives as long as the writer. */
const char *dd_calendar_reason(const dd_calendar *writer);
void dd_calendar_free(dd_calendar *writer); /* NULL is harmless */

#endif
