/* remind.h - reminders as events, one by one: dd_remind_write (write.h) puts them into one file, others show or part them. */
#ifndef DD_REMIND_H
#define DD_REMIND_H

#include "calendar.h"
#include "daydrip/write.h"

/* Gets each event; it lives until the call returns. What it returns other than DD_OK stops, and is what comes back. */
typedef dd_status dd_remind_take(void *user, const dd_calendar_event *event);

/* Every reminder of the view's span whose alarm does not lie before the view's now, in time order.
 *
 * Where there is a former calendar, an event that has not changed keeps SEQUENCE and LAST-MODIFIED, and says that it was made then; one that
 * has (time, title, text, alarm or status; the page code is not looked at) gets the next SEQUENCE. One that has changed and is so near
 * that its alarm would be over rings at its own time; one that has not is left out. Then what is kept, and, unless `apart`, what went away, as
 * cancelled. The states of the former's events are set.
 *
 * DD_BAD_INPUT: the plan has no id that is a UUID; DD_TOO_LARGE: the lead is not whole minutes from 0 to 24 h. */
DD_MUST_USE dd_status dd_remind_each(const dd_view *view, const dd_calendar_options *options, dd_remind_take *take, void *user);

#endif
