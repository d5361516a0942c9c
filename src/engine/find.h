/* find.h - findings that can be told once the timeline stands. */
#ifndef DD_FIND_H
#define DD_FIND_H

#include "work.h"

/* Doses closer together than their gap, lines that run dry with nothing to follow, and what the files it calls look for. Runs must be
 * there in the order of their orders, flows by time. */
DD_MUST_USE dd_status dd_find_all(dd_work *work);
/* The last word on all findings made so far: the ward's severities, switches that are off, and what somebody has accepted. */
void dd_find_settle(dd_work *work);

#endif
