/* todo.h - tasks as pages list them: which stand in the list of a patient's front, and the one line that names each. */
#ifndef DD_TODO_H
#define DD_TODO_H

#include "bytes.h"
#include "daydrip/task.h"
#include "daydrip/write.h"

#define DD_FETCH_BEFORE 900 /* seconds before a dose at which its things are fetched */

/* What is to be done in [from, to) but what stands in the grid of sites, with an errand before each dose; sorted as tasks are; in
 * `arena`. */
DD_MUST_USE dd_status dd_todo_make(const dd_timeline *timeline, unsigned which, dd_moment from, dd_moment to, dd_arena *arena,
    const dd_task **items, size_t *count);
bool dd_todo_in_grid(const dd_task *task); /* a look at a round */
/* Another item of a list that begins at `from` says it. */
bool dd_todo_told(const dd_timeline *timeline, const dd_task *task, dd_moment from);
/* One line: `DOSE metronidazole 500 mg, left-forearm`, or, where `brief`, `dose metronidazole`. */
void dd_todo_title(dd_bytes *out, const dd_timeline *timeline, const dd_task *item, bool brief);
/* How a dose runs: `100 mL at 200 mL/h to 22:30, flush 20 mL to 22:36`. */
void dd_todo_dose(dd_bytes *out, const dd_timeline *timeline, const dd_run *run);
/* How an infusion begins: `280 mL at 120 mL/h, bag of 290 mL, to 22:20`. */
void dd_todo_start(dd_bytes *out, const dd_timeline *timeline, const dd_run *run);
/* What an item's rate becomes: `down to 28.1 mL/h`. */
void dd_todo_rate(dd_bytes *out, const dd_timeline *timeline, const dd_task *item);
/* Since when a set or a dressing that is to be changed counts: `last changed Tue 24 Nov 10:00`, `what is in it wants a new one, in it from ...`. */
void dd_todo_since(dd_bytes *out, const dd_timeline *timeline, const dd_task *item);

#endif
