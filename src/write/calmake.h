/* calmake.h - one event's text by libical, which is loaded when the first calendar is made and by nothing else: with what it needs
 * itself it takes longer to load than most of what the command does takes. */
#ifndef DD_CALMAKE_H
#define DD_CALMAKE_H

#include "calendar.h"

typedef struct dd_calmake dd_calmake;

/* Loads libical. DD_CANNOT_READ: it cannot be loaded, and `why` says so; DD_NO_MEMORY. *maker is NULL then. */
DD_MUST_USE dd_status dd_calmake_open(dd_calmake **maker, char *why, size_t room);
/* Appends the event's VEVENT, folded; its alarm says alarm_text. False: memory ran out, or the ceiling of `out` was hit. */
DD_MUST_USE bool dd_calmake_append(const dd_calmake *maker, dd_bytes *out, const dd_calendar_event *event, const char *alarm_text);
void dd_calmake_free(dd_calmake *maker); /* NULL is harmless */

#endif
