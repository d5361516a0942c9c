/* spoken.h - a mixture in people's words, as pages print it, put into the words of tables. For records alone: orders name their fluids. */
#ifndef DD_SPOKEN_H
#define DD_SPOKEN_H

#include "bytes.h"
#include "desk.h"

/* Whether text is these words, capitals and blanks aside. */
bool dd_spoken_is(const char *text, const char *words);
/* `sodium chloride 0.9 % with potassium chloride 20 mmol/L` becomes `nacl-0.9 + kcl 20 mmol/L`, `cefazolin 1 g in sodium chloride 0.9 %`
 * `cefazolin 1 g in nacl-0.9`. Capitals and blanks do not matter. Appends to `out`; false: it does not begin, or end, with the words of a
 * fluid, and what was appended means nothing. Amounts are not looked at. */
bool dd_spoken_mixture(const dd_folder *folder, const char *text, dd_bytes *out);

#endif
