/* former.h - what an earlier calendar of ours holds: so that what did not change keeps its number, and what went away is told. */
#ifndef DD_FORMER_H
#define DD_FORMER_H

#include "arena.h"
#include "calendar.h"

/* What has become of an event. */
typedef enum dd_former_state {
    DD_FORMER_AHEAD,     /* not known yet */
    DD_FORMER_MET,       /* it is asked for again, changed or not */
    DD_FORMER_ELSEWHERE, /* it is in the plan, but was not asked for: another patient, another span */
    DD_FORMER_KEPT,      /* of a patient whose rows have errors: nobody can tell */
    DD_FORMER_OVER,      /* its time is over */
    DD_FORMER_GONE       /* nothing in the plan has its name any more */
} dd_former_state;

typedef struct dd_former_event {
    dd_calendar_event event; /* its texts are in the arena */
    dd_former_state state;
    bool altered;            /* somebody else wrote it anew: no more is believed of it than number, time and title */
} dd_former_event;

/* Zeroed but for the arena it is empty. */
typedef struct dd_former {
    dd_arena *arena;
    dd_former_event *events; /* once sorted: by UID */
    size_t count, room;
} dd_former;

/* Adds what a file holds, by our own strict reader. DD_BAD_INPUT: it is refused, `reason` gets why, and nothing was added; DD_NO_MEMORY. */
DD_MUST_USE dd_status dd_former_add(dd_former *former, const char *bytes, size_t length, dd_bytes *reason);
/* When all is added, before the first look. */
void dd_former_sort(dd_former *former);
dd_former_event *dd_former_find(const dd_former *former, const char *uid); /* NULL: there is none */

#endif
