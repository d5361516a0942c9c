/* task.h - everything that needs hands, read off a finished timeline: one list that pages, rows and reminders share. */
#ifndef DAYDRIP_TASK_H
#define DAYDRIP_TASK_H

#include "timeline.h"

typedef enum dd_task_kind {
#define TASK(id, word, what) DD_TASK_##id,
#include "task.def"
#undef TASK
    DD_TASK_COUNT
} dd_task_kind;

typedef struct dd_task {
    dd_moment at;      /* when hands are needed, as planned */
    dd_moment earliest, latest; /* the span in which it may be done, `latest` included; DD_NEVER: it is tied to `at`. A dose: its window */
    dd_moment due;     /* of a dose, or of the dose that it is about; DD_NEVER: about none, or not known */
    const dd_run *run; /* what it is about, the timeline's; NULL where it is not about one. So are `bag` and `mark` */
    const dd_bag *bag;
    const dd_mark *mark;
    int32_t n;         /* with `due` (of a dose), else alone, it tells a task from all others of its word, order and line, however often the
                        * plan is made again: of a hang the bag's number, of a rate the number of the step, of an interruption which of the
                        * line's it is, else a count from 1 */
    int16_t order, line; /* indexes into the patient's; order -1: about the line alone */
    uint8_t kind;      /* dd_task_kind */
    uint8_t of;        /* SECOND: the kind of the task that needs two */
    bool round;        /* LOOK, FIRST_LOOK, SET, DRESSING: done at a round of the team */
} dd_task;

/* Which are wanted; combined with |. */
enum { DD_TASKS_FLOW = 1 << 0, DD_TASKS_CARE = 1 << 1, DD_TASKS_ALL = DD_TASKS_FLOW | DD_TASKS_CARE }; /* CARE: looks, sets, dressings */

/* What is to be done in [from, to), sorted by time, kind, line, order, due and n; in `arena`. Where `to` is the plan's end, with the doses
 * that are due before it and may start after it. What may be done in a span is planned for its last round, else for its latest time.
 * Looks from `from` on, or from the timeline's now where that is earlier, see care.h. DD_NO_MEMORY: nothing is usable. */
DD_MUST_USE dd_status dd_task_list(const dd_timeline *timeline, unsigned which, dd_moment from, dd_moment to, dd_arena *arena, const dd_task **tasks, size_t *count);
/* `hang`, `dose` ...; "" for what is for pages alone. Static. */
const char *dd_task_word(unsigned kind);
/* Whether `kind` of this order takes two nurses: blood, insulin, drugs that act on heart and vessels. Common practice; local policy goes
 * before it. */
bool dd_task_takes_two(const dd_order *order, unsigned kind);

#endif
