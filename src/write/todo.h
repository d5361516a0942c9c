/* todo.h - what needs hands, in time order, read off a timeline: for the list on a patient's front and for the ward summary. */
#ifndef DD_TODO_H
#define DD_TODO_H

#include "bytes.h"
#include "daydrip/write.h"

/* In the order in which things of one second are listed. */
typedef enum dd_todo_kind {
    DD_TODO_FETCH,    /* for the dose `run` */
    DD_TODO_ENDS,     /* `run` is over: its volume is in, or its time */
    DD_TODO_STOP,     /* `run` is stopped by the order */
    DD_TODO_PAUSE,    /* a planned interruption of `line` begins (`mark`) */
    DD_TODO_GOES_ON,  /* `mark` */
    DD_TODO_START,    /* `run` */
    DD_TODO_DOSE,     /* `run` */
    DD_TODO_FEED,     /* `run`, on an enteral line */
    DD_TODO_BAG,      /* `bag` goes up where another one was */
    DD_TODO_STEP,     /* `mark`: another rate */
    DD_TODO_MAY_DRY   /* a gravity bag may be empty from now on */
} dd_todo_kind;

typedef struct dd_todo {
    dd_moment at;
    const dd_run *run;   /* NULL where it is not about one; so `bag` and `mark` */
    const dd_bag *bag;
    const dd_mark *mark;
    int16_t order, line; /* indexes into the patient's */
    uint8_t kind;
} dd_todo;

#define DD_FETCH_BEFORE 900 /* seconds before a dose at which its things are fetched */

/* What is to be done in [from, to), sorted by time, kind, line and order; in `arena`. */
DD_MUST_USE dd_status dd_todo_make(const dd_timeline *timeline, dd_moment from, dd_moment to, dd_arena *arena,
    const dd_todo **items, size_t *count);
/* One line: `DOSE metronidazole 500 mg, left-forearm`, or, where `brief`, `dose metronidazole`. */
void dd_todo_title(dd_bytes *out, const dd_timeline *timeline, const dd_todo *item, bool brief);

/* Where an order's run on a line is of its own: neither repeated nor a piggyback. */
bool dd_todo_is_infusion(const dd_order *order);
bool dd_todo_flows(const dd_timeline *timeline, int line, dd_moment at); /* anything flows on the line in that second */
/* The first run that starts on the line at or after `from`, or NULL. */
const dd_run *dd_todo_next_run(const dd_timeline *timeline, int line, dd_moment from);
/* The bag of an infusion that is up at the timeline's `now`, or NULL. */
const dd_bag *dd_todo_bag_now(const dd_timeline *timeline, int order);
/* When that bag runs dry if its gravity set runs faster or slower than counted by the rule gravity-spread. False: it is no
 * gravity bag, none is up, or it comes down before it could be dry. */
bool dd_todo_spread(const dd_timeline *timeline, int order, dd_moment *fast, dd_moment *slow);
/* How much faster or slower that is, in per cent x 10^6; 0: no rule. */
int64_t dd_todo_spread_share(const dd_timeline *timeline, int order);
/* When the next bag of any infusion runs dry from `now` on (gravity: at the earliest), and of which order; DD_NEVER: none within
 * the plan. */
dd_moment dd_todo_dry_first(const dd_timeline *timeline, int *order);

#endif
