/* list.h - the text forms for people of `schedule` and `totals`: what stands before and behind the patients' blocks, which
 * dd_list_schedule and dd_list_totals (write.h) give. */
#ifndef DD_LIST_H
#define DD_LIST_H

#include "daydrip/write.h"
#include "sheet.h"

/* The heading: ward, `what` in capitals (SCHEDULE), span, made, page code; then a line for each patient that is not planned. */
DD_MUST_USE dd_status dd_list_head(const dd_view *view, const char *what, dd_bytes *out);
DD_MUST_USE dd_status dd_list_end(const dd_view *view, dd_bytes *out); /* END OF LIST */

/* What each block begins with: `bay1-bed2   67 years   82 kg   ALLERGY: PENICILLIN`. */
void dd_list_patient(dd_sheet *sheet, const dd_patient *patient, dd_bytes *text);
void dd_list_later(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, dd_bytes *text); /* entries that do not count, if any */

/* `urine Wed 07:00 to Wed 18:00: 700 mL / 82 kg / 11 h = 0.78 mL/kg/h`; nothing where none is charted. */
void dd_list_urine(dd_sheet *sheet, const dd_timeline *timeline, dd_bytes *text);

#endif
