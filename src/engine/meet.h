/* meet.h - findings about what meets in one lumen. */
#ifndef DD_MEET_H
#define DD_MEET_H

#include "use.h"

/* Blood with anything but sodium chloride 0.9 %, what the ward keeps apart, what nobody has a verdict about. Flows must be sorted by
 * time. */
DD_MUST_USE dd_status dd_meet_find(dd_work *work, const dd_use *uses, size_t count);

#endif
