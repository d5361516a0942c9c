/* need.h - the maintenance need of children: by weight, two published rules that differ; in the first 28 days by the day of life. Pure. */
#ifndef DD_NEED_H
#define DD_NEED_H

#include "daydrip/quantity.h"

/* Holliday and Segar 1957: 100 mL/kg/day for the first 10 kg, 50 for the next 10, 20 for each kg above 20.
 * weight_mg: milligrams, 0 to 500 kg. *ul_per_day: exact, microlitres per day; per hour is a 24th of it.
 * DD_TOO_LARGE: the weight is outside; *ul_per_day is as it was. For whom the rule holds is the caller's to know: not
 * under 28 days, not for adults. */
DD_MUST_USE dd_status dd_need_maintenance(int64_t weight_mg, dd_ratio *ul_per_day);

/* The hourly 4-2-1 rule: 4 mL/kg/h for the first 10 kg, 2 for the next 10, 1 for each kg above 20. Not the same as a 24th of
 * the above: 4 % less up to 10 kg, the same at 35 kg, more above that. *ul_per_h: exact, microlitres per hour. Otherwise as above. */
DD_MUST_USE dd_status dd_need_hourly_421(int64_t weight_mg, dd_ratio *ul_per_h);

typedef struct dd_need_range {
    int64_t low_ul_kg, high_ul_kg; /* uL/kg/day */
    int64_t holds_s; /* so many seconds more, above 0 */
    int day;         /* of life; the day of birth is 1 */
} dd_need_range;
/* The range of need.def for a term baby of so many seconds. False: 28 days and more, or no age. */
bool dd_need_day(int64_t age_s, dd_need_range *out);

#endif
