/* calvalue.h - the kinds of value that stand in a calendar file, read strictly.
 *
 * Each function gives NULL and sets *out, or says in words what is wrong; *out is as it was then. Values are not NUL-terminated. */
#ifndef DD_CALVALUE_H
#define DD_CALVALUE_H

#include "bytes.h"
#include "daydrip/moment.h"
#include "daydrip/status.h"

/* 20261125T080000Z, a date and a time of day that exist, no leap second. */
DD_MUST_USE const char *dd_calvalue_moment(const char *text, size_t length, dd_moment *out);
/* How long before: -PT15M, -PT1H30M, -P1D or PT0S; seconds, whole minutes, at most DD_CALENDAR_LEAD_MAX. */
DD_MUST_USE const char *dd_calvalue_lead(const char *text, size_t length, int64_t *out);
DD_MUST_USE const char *dd_calvalue_sequence(const char *text, size_t length, int32_t *out);
/* A UUID of version 5 in lower case. */
DD_MUST_USE const char *dd_calvalue_uid(const char *text, size_t length);

typedef struct dd_calvalue_place { size_t at, length; } dd_calvalue_place; /* length 0: nowhere in particular */
/* Replaces what is in `out` by the text without its escapes. By a fault `out` is unspecified and *place says where it lies. */
DD_MUST_USE const char *dd_calvalue_text(const char *text, size_t length, dd_bytes *out, dd_calvalue_place *place);

#endif
