/* daily.h - findings about a day's sums: maintenance of children, an adult's day. */
#ifndef DD_DAILY_H
#define DD_DAILY_H

#include "work.h"

/* Flows and runs must be there. */
DD_MUST_USE dd_status dd_daily_find(dd_work *work);

#endif
