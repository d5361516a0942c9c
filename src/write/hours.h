/* hours.h - the next hours of a team on paper: what is wrong now, what to fetch first, then everything in time order with room to write. */
#ifndef DD_HOURS_H
#define DD_HOURS_H

#include "arena.h"
#include "sheet.h"

/* Sets the list of the view, its span and its patients, on an open section of the sheet. Everything taken from `arena` may be given back
 * afterwards. */
DD_MUST_USE dd_status dd_hours_write(dd_sheet *sheet, const dd_view *view, dd_arena *arena);
/* `NEXT 4 HOURS, team A`, and `Wed 25 Nov 19:00 to 23:00` */
void dd_hours_title(dd_bytes *out, const dd_view *view);
void dd_hours_span(dd_bytes *out, const dd_view *view);

#endif
