/* checked.h - what was looked for and what could not be: no page may read as if everything had been checked. */
#ifndef DD_CHECKED_H
#define DD_CHECKED_H

#include "bytes.h"
#include "daydrip/write.h"
#include "sheet.h"

/* `Checked: 4 patients for 62 kinds of finding.`, then what could not be looked for, for want of data; where `codes`, kinds that are not
 * looked for by name, and how many rules of the ward are looser than the built-in ones. Paragraphs, each ended by LF. */
void dd_checked_write(dd_bytes *out, const dd_view *view, bool codes);
/* `Not checked for want of data: salts not known (bay3-cot1 feed).`, or nothing. Needs the view's timelines. */
void dd_checked_unchecked(dd_bytes *out, const dd_view *view);
/* The same on a sheet. */
DD_MUST_USE dd_status dd_checked_set(dd_sheet *sheet, const dd_view *view, bool codes);

#endif
