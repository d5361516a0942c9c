/* back.h - a patient's back page: the record. */
#ifndef DD_BACK_H
#define DD_BACK_H

#include "arena.h"
#include "sheet.h"

/* Sets the page on an open section of the sheet: whose it is, in and out hour by hour, whether the bags add up, what changed since
 * `since`, what was accepted, what was looked for and what could not be. */
DD_MUST_USE dd_status dd_back_write(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, dd_arena *arena);

#endif
