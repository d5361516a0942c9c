/* intake.h - the back page's part on needs: what a patient needs in a day, what the orders give, by kg, and what is published. */
#ifndef DD_INTAKE_H
#define DD_INTAKE_H

#include "arena.h"
#include "sheet.h"

/* Over the whole plan, carried to a day; nothing where the patient has no orders. `text` is for texts under construction. */
DD_MUST_USE dd_status dd_intake_write(dd_sheet *sheet, const dd_timeline *timeline, dd_arena *arena, dd_bytes *text);

#endif
