/* weave.h - all runs of one patient laid over each other on the lines there are. */
#ifndef DD_WEAVE_H
#define DD_WEAVE_H

#include "life.h"
#include "place.h"

typedef struct dd_weave_line {
    const dd_gap_of_line *pauses; /* union of the planned pauses: rising, not touching */
    size_t pause_count, pause;    /* pause: the first that has not ended */
    int32_t primary, piggyback;   /* the life that has the line, -1: none */
    bool is_off;                  /* taken out by the chart and not placed again: nothing flows in the plan */
} dd_weave_line;

typedef struct dd_weave_due { dd_moment at; int32_t life; } dd_weave_due;

/* The state of the weaving. Lives stand in order of orders, then occurrence. */
typedef struct dd_weave {
    dd_work *work;
    dd_life *lives;
    int32_t life_count;
    size_t life_room;
    dd_weave_line *lines;
    int32_t *first_life;        /* per order; first_life[order_count] is life_count */
    int32_t *runs_left;         /* per order: planned runs not over */
    bool *last_is_here;         /* per order: no run of it is due after the window */
    int32_t *dependant, *next_dependant; /* orders that begin after this one; -1 ends the list */
    dd_weave_due *coming;       /* a heap, soonest first */
    int32_t coming_count;
    int32_t *on, *waiting, *fresh; /* lives that have their line; that wait; that fell due in this second */
    int32_t on_count, waiting_count;
} dd_weave;

/* Makes the lives and their records: dues and pauses (lineup.c). */
DD_MUST_USE dd_status dd_lineup_make(dd_work *work, dd_weave *weave);
/* Places the doses that are still to come. */
DD_MUST_USE dd_status dd_lineup_place(dd_weave *weave);
/* Lets the window pass, from work->from to its end; doses that start after it are only recorded. The work then has its flows, bags, runs, marks and the findings of the way. */
DD_MUST_USE dd_status dd_weave_run(dd_weave *weave);
/* When the run of order `order` that is alone took its line; DD_NEVER: it did not. */
dd_moment dd_weave_took(const dd_weave *weave, int order);

#endif
