/* written.h - findings about who the patient is and what is ordered, as it is written. */
#ifndef DD_WRITTEN_H
#define DD_WRITTEN_H

#include "use.h"

/* Allergies that nobody wrote down and orders that meet one; names that are not known; water by itself. */
DD_MUST_USE dd_status dd_written_find(dd_work *work, const dd_use *uses, size_t count);

#endif
