/* calread.h - reads calendar text strictly, in the form that calendar.c writes and no other.
 *
 * It reads back what was just written, and reads a file of unknown origin: whatever is not exactly as this program writes it
 * is refused with the number of the line and a reason, never passed over. Ceilings come before anything else. It knows
 * nothing of libical. */
#ifndef DD_CALREAD_H
#define DD_CALREAD_H

#include "arena.h"
#include "calendar.h"

#define DD_CALREAD_LINE_MAX ((size_t)64 * 1024)            /* octets of one unfolded line */
#define DD_CALREAD_DEPTH_MAX 3                             /* calendar, event, alarm */
#define DD_CALREAD_EVENTS_MAX ((size_t)1000000)
#define DD_CALREAD_FILE_MAX ((size_t)1024 * 1024 * 1024)   /* octets */

typedef struct dd_calread dd_calread;

/* Gets each event when its END has been read; the texts live until it returns. `line`: where the event begins, from 1.
 * What it returns other than DD_OK stops the reading and is what the reader returns. */
typedef dd_status dd_calread_take(void *user, const dd_calendar_event *event, size_t line);

DD_MUST_USE dd_calread *dd_calread_new(dd_calread_take *take, void *user); /* NULL: no memory */
/* Reads the next piece of a file: whole lines with their folds, so that no fold lies between two pieces. DD_BAD_INPUT: refused, see
 * dd_calread_reason. A failure sticks. */
DD_MUST_USE dd_status dd_calread_feed(dd_calread *reader, const char *text, size_t length);
/* How many of the octets make up whole lines with their folds, and can be fed: the rest is kept for the next piece. `last`: nothing comes
 * behind them. */
size_t dd_calread_whole(const char *text, size_t length, bool last);
/* There is no more. DD_BAD_INPUT: something is missing. */
DD_MUST_USE dd_status dd_calread_end(dd_calread *reader);
/* `line 7: ...` where it was refused, else "". One line of plain ASCII, without what could drive a terminal. */
const char *dd_calread_reason(const dd_calread *reader);
void dd_calread_free(dd_calread *reader); /* NULL is harmless */

/* Reads a whole file. *events gets *count events in the order of the file, in `arena`; a UID that stands twice is refused.
 * DD_BAD_INPUT: the reason is appended to `reason`; DD_NO_MEMORY. *events and *count are set only by DD_OK. */
DD_MUST_USE dd_status dd_calread_events(const char *text, size_t length, dd_arena *arena, const dd_calendar_event **events,
    size_t *count, dd_bytes *reason);

#endif
