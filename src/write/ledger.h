/* ledger.h - in and out hour by hour: what was charted above, what is planned below with room to write. */
#ifndef DD_LEDGER_H
#define DD_LEDGER_H

#include "arena.h"
#include "sheet.h"

/* Sets the table of the whole plan on an open section: each infusion by itself where there is room, then doses, flushes, feeds and
 * what was charted; shift sums and the whole. `text` is for texts under construction. */
DD_MUST_USE dd_status dd_ledger_write(dd_sheet *sheet, const dd_timeline *timeline, dd_arena *arena, dd_bytes *text);

#endif
