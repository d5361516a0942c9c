/* checked.h - what was looked for and what could not be: no page may read as if everything had been checked. */
#ifndef DD_CHECKED_H
#define DD_CHECKED_H

#include "bytes.h"
#include "daydrip/write.h"

/* `Checked: 4 patients, 11 kinds of finding (named on the last page) and nothing else: ...`, then which data are not there; where
 * `codes`, every kind by its code. Paragraphs, each ended by LF. */
void dd_checked_write(dd_bytes *out, const dd_view *view, bool codes);

#endif
