/* pour.h - one calendar, written as it grows: to its file, which is read back before it is put in place, or to standard output. */
#ifndef DD_POUR_H
#define DD_POUR_H

#include "session.h"

/* What could not be written is said and is in the session's exit status; what comes back otherwise is as by dd_remind_write (write.h). */
DD_MUST_USE dd_status dd_pour_calendar(dd_session *session, const dd_calendar_options *options);

#endif
