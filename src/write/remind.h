/* remind.h - reminders as events, one by one: dd_remind_write (write.h) puts them into one file, others show or part them. */
#ifndef DD_REMIND_H
#define DD_REMIND_H

#include "calendar.h"
#include "daydrip/write.h"

/* Gets each event, in time order; it lives until the call returns. What it returns other than DD_OK stops, and is what comes back. */
typedef dd_status dd_remind_take(void *user, const dd_calendar_event *event);

/* Every reminder of the view's span whose alarm does not lie before the view's now. DD_BAD_INPUT: the plan has no id that is a UUID;
 * DD_TOO_LARGE: the lead is not whole minutes from 0 to 24 h. */
DD_MUST_USE dd_status dd_remind_each(const dd_view *view, const dd_calendar_options *options, dd_remind_take *take, void *user);

#endif
