/* life.h - the life of one run: it takes its line, bags go up and come down, it flows, it ends; everything is written
 * down in the work's flows, bags, runs and marks as it happens. When to do which is weave.c's. */
#ifndef DD_LIFE_H
#define DD_LIFE_H

#include "meter.h"
#include "work.h"

typedef enum dd_life_state {
    DD_LIFE_COMING,  /* not due yet, or after an order that has not ended */
    DD_LIFE_WAITING, /* due, and something is in its way */
    DD_LIFE_ON,      /* has its line; flows unless the line is stopped */
    DD_LIFE_OVER
} dd_life_state;

#define DD_NOT_YET ((size_t)-1)

typedef struct dd_life {
    const dd_order *order;
    dd_meter meter;
    dd_moment due;        /* DD_NEVER: not known yet */
    dd_moment start_at;   /* when it is to start: due, for a piggyback the placed start */
    dd_moment stop;       /* INT64_MAX: none */
    dd_moment took;       /* when it got its line */
    int64_t length;       /* of a piggyback, seconds */
    size_t run;           /* its record */
    size_t bag, flow;     /* records of the bag that is up and of the last flow; DD_NOT_YET: none */
    int32_t occurrence;
    int16_t index, line;  /* of the order, of its line */
    uint8_t state;
    bool repeated, flowed;
    bool charted;            /* began before now, by the chart */
    bool held;               /* charted as paused: does not flow until the chart says so */
    bool flowing;            /* in the stretch just worked on */
    int16_t stopped_before;  /* the order whose dose stopped it last; -1: a pause */
    int64_t inherited;    /* u in a bag taken over; 0: none */
    dd_moment inherited_up;
} dd_life;

/* Every one false / not DD_OK: no memory. */
DD_MUST_USE bool dd_life_enter(dd_work *w, dd_life *l);               /* makes its record */
DD_MUST_USE bool dd_life_start(dd_work *w, dd_life *l, dd_moment at);  /* takes its line; a bag already hanging is up */
/* A bag must be up to flow at `at`: hangs one where none is, and changes one whose time is over. */
DD_MUST_USE bool dd_life_ready(dd_work *w, dd_life *l, dd_moment at);
DD_MUST_USE bool dd_life_flow(dd_work *w, dd_life *l, dd_moment from, dd_moment to);
DD_MUST_USE bool dd_life_finish(dd_work *w, dd_life *l, dd_moment at, dd_run_end why);
/* Ends x and hands its bag to `next`, where fluid and bag allow. */
DD_MUST_USE bool dd_life_hand_over(dd_work *w, dd_life *x, dd_life *next, dd_moment at);
/* The line stops or lets go on what flowed. `cause`: the order that is the reason, -1: a pause. */
DD_MUST_USE bool dd_life_mark(dd_work *w, dd_life *l, dd_moment at, bool goes_on, int cause);
/* The same fluid, however it was written. */
bool dd_life_same_fluid(const dd_mixture *a, const dd_mixture *b);
void dd_life_at_now(dd_work *w, dd_life *l);
/* The window's end: what hangs, hangs, and how far it is goes into its record. */
void dd_life_cut(dd_work *w, dd_life *l);

#endif
