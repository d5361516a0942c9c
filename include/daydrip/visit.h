/* visit.h - tasks gathered into what somebody goes to once for: the rounds of a team, visits to a bed, and what is tied to its second. */
#ifndef DAYDRIP_VISIT_H
#define DAYDRIP_VISIT_H

#include "task.h"

typedef struct dd_visit_task {
    const dd_task *task;
    size_t patient;             /* index into the timelines */
} dd_visit_task;

typedef struct dd_visit {
    dd_moment at;
    const dd_visit_task *tasks; /* of a round by patient, line and kind. Else of one patient; the first one gives it its name, and what
                                 * stands behind it goes with it: a second nurse, the patient observed when blood is over, what else may
                                 * be done while somebody is there */
    size_t count;               /* 1 and up */
    const char *team;           /* of a round; NULL: patients without a team */
    bool round;
} dd_visit;

/* All tasks in [from, to) that have a word, each in one visit; by time, rounds behind what is tied to that second, then by patient. What
 * the dose itself says, that the line's infusion goes on behind it, is left out where the dose starts from told_from on. `each`: every task is one by
 * itself, and nothing is left out. timelines: `count`, NULL where a patient is not planned. DD_NO_MEMORY: nothing is usable. */
DD_MUST_USE dd_status dd_visit_plan(const dd_timeline *const *timelines, size_t count, dd_moment from, dd_moment told_from, dd_moment to,
    bool each, dd_arena *arena, const dd_visit **visits, size_t *visit_count);

/* When something may be done at a bed, both ends included, and where the moment goes for which it is planned. */
typedef struct dd_visit_span { dd_moment earliest, latest; dd_moment *at; } dd_visit_span;
/* Plans as few visits as there can be, each as late as it can be: sorted by latest, one is made then, and whatever may be done then is. The
 * spans are sorted. */
void dd_visit_cover(dd_visit_span *spans, size_t count);

/* Done at a round, or whenever in its span somebody comes to the bed: looks, sets, dressings. All others are tied to their second. */
bool dd_visit_has_span(const dd_task *task);

#endif
