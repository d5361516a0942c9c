/* caltext.h - text fit for a calendar, and the folding of its lines (RFC 5545, 3.1). */
#ifndef DD_CALTEXT_H
#define DD_CALTEXT_H

#include <stdbool.h>

#include "bytes.h"

#define DD_CALTEXT_LINE 75 /* octets of a written line at most, its CR LF not counted */

/* Appends `text` so that no calendar program stumbles over it:
 *  - invalid UTF-8 becomes U+FFFD, a backslash `/`, a control character `?`, a tab and U+2028/9 a space;
 *  - marks that turn the direction of writing, and others that cannot be seen, are left out;
 *  - a newline (LF, CR LF, CR) stays one LF where `lines` is true, and becomes a space where it is not;
 *  - at most `most` characters (above 0) are written; what is longer ends with `~` as its last one.
 * What comes out goes through unchanged a second time. */
void dd_caltext_clean(dd_bytes *out, const char *text, size_t most, bool lines);

/* Appends one unfolded line of `length` octets, folded so that no line has more than DD_CALTEXT_LINE octets and no fold falls
 * inside a character or an escape or leaves an empty line, and CR LF. */
void dd_caltext_fold(dd_bytes *out, const char *line, size_t length);

/* Takes the folds out of `text` (every CR LF SP goes) and appends its lines folded anew. `text` is changed. Whatever stands
 * behind the last CR LF is a line too. */
void dd_caltext_refold(dd_bytes *out, char *text, size_t length);

#endif
