/* needs.h - written rates to exact microlitres per hour: per kg, a share of maintenance, drops, doses. */
#ifndef DD_NEEDS_H
#define DD_NEEDS_H

#include "cells.h"
#include "daydrip/plan.h"

#define DD_NEEDS_RATE_MOST INT64_C(10000000)    /* uL/h: 10 L/h */
#define DD_NEEDS_VOLUME_MOST INT64_C(100000000) /* uL: 100 L */

typedef struct dd_unit_shape { dd_dimension dimension; int64_t size; const char *text; } dd_unit_shape;
dd_unit_shape dd_needs_unit(unsigned unit);

/* Whether text is `80% maintenance`; *share: per cent x 10^6. */
bool dd_needs_is_share(const char *text, size_t length, int64_t *share);
/* A share of maintenance by weight, uL/h. Reports at `column` of the row that is read: no weight, no age, not for this age. */
bool dd_needs_share(dd_sheet *sheet, dd_column_id column, const char *shown, int64_t share, const dd_patient *patient, dd_ratio *out);
/* A volume per time, per kg or not, uL/h. Reports a weight that is missing. */
bool dd_needs_rate(dd_sheet *sheet, dd_column_id column, const char *shown, dd_quantity q, const dd_patient *patient, dd_ratio *out);
/* Drops per minute through a set, uL/h. drop_factor_micro above 0. */
bool dd_needs_drops(dd_quantity q, int64_t drop_factor_micro, dd_ratio *out);
/* A dose rate, uL/h, in a mixture of `amount` (in the size of its dimension) per microlitre. Reports a weight that is missing. */
bool dd_needs_dose(dd_sheet *sheet, dd_column_id column, const char *shown, dd_quantity q, const dd_patient *patient, dd_ratio amount_per_ul,
                   dd_ratio *out);
/* Amount per microlitre of a written strength such as 400 mg/250 mL. */
bool dd_needs_strength(dd_quantity q, dd_ratio *amount_per_ul);

#endif
