/* agenda.h - the list of a view with several beds: everything that needs hands in time order, with the looks at sites gathered into the
 * rounds of each team, and what comes soon after it. */
#ifndef DD_AGENDA_H
#define DD_AGENDA_H

#include "front.h"
#include "rounds.h"

/* One item of the list: a patient's task, or a round. */
typedef struct dd_agenda_entry {
    dd_moment at;
    size_t patient, item; /* into the view, and its list; of a round: its number among the rounds */
    bool round;
} dd_agenda_entry;

typedef struct dd_agenda_list { const dd_task *items; size_t count; } dd_agenda_list;

typedef struct dd_agenda {
    dd_front front; /* the timeline is that of the item at hand; set by the caller: view, sheet, text, arena, from, bed, long_span, paper */
    dd_agenda_list *lists; /* per patient of the view */
    dd_agenda_entry *entries;
    size_t count, room;
    dd_rounds rounds;
} dd_agenda;

DD_MUST_USE dd_status dd_agenda_gather(dd_agenda *agenda);
void dd_agenda_size(dd_agenda *agenda); /* `6 beds, 9 lines` */
/* The list; what went wrong stands in front.status. */
void dd_agenda_write(dd_agenda *agenda);
DD_MUST_USE dd_status dd_agenda_after(dd_agenda *agenda);

#endif
