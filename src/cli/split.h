/* split.h - reminders as a folder of one file per event, the form that sync tools carry to a calendar server. */
#ifndef DD_SPLIT_H
#define DD_SPLIT_H

#include "session.h"

/* Writes UID.ics for each event; a file that would not change is not touched. Then removes those of our own files in the folder whose event
 * went away. The folder is made where it is not there. What could not
 * be written is said and is in the session's exit status; what comes back otherwise is as by dd_remind_write (write.h). */
DD_MUST_USE dd_status dd_split_write(dd_session *session, const dd_calendar_options *options, const char *folder);

#endif
