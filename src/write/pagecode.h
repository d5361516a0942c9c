/* pagecode.h - the short code by which a printed page says what it was made from. */
#ifndef DD_PAGECODE_H
#define DD_PAGECODE_H

#include "daydrip/write.h"

#define DD_PAGECODE_SIZE 10 /* bytes of a code with its NUL: F3H7-9WKT */

/* The code of a patient's pages; `patient` NULL: of a page about all of the view's patients. Made from the canonical text of the
 * ward's tables and the patients' rows, of the chart only the entries that count for the view, so that an entry for another
 * bed, or a later one, does not change it. DD_NO_MEMORY: an allocation failed or the text is above its ceiling; `out` is untouched. */
DD_MUST_USE dd_status dd_pagecode(const dd_view *view, const dd_patient *patient, char out[DD_PAGECODE_SIZE]);
/* The code of a page that was made from no rows of a plan: that of any text which stands for what it shows. */
void dd_pagecode_of(const char *text, size_t length, char out[DD_PAGECODE_SIZE]);

#endif
