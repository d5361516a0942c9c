/* excess.h - findings about what goes in over the whole plan: the allowance, and what rates drift by. */
#ifndef DD_EXCESS_H
#define DD_EXCESS_H

#include "work.h"

/* Flows and runs must be there. */
DD_MUST_USE dd_status dd_excess_find(dd_work *work);

#endif
