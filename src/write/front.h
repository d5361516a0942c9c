/* front.h - a patient's front page: what to do in the span of the view. */
#ifndef DD_FRONT_H
#define DD_FRONT_H

#include "arena.h"
#include "daydrip/task.h"
#include "sheet.h"

/* What the parts of the page share. */
typedef struct dd_front {
    dd_sheet *sheet;
    const dd_view *view;
    const dd_timeline *timeline;
    dd_arena *arena;
    dd_bytes *text;    /* for texts under construction */
    dd_moment from;    /* the list begins here: the span's beginning, or now where that is later */
    bool long_span;    /* above 24 h: clocks carry the weekday */
    int bed;           /* a list of several beds: columns for the bed, which then stands before every item; 0: a page of one patient, with
                        * blanks to write into */
    bool paper;        /* a list of several beds with blanks too: time, then bed */
    dd_status status;
} dd_front;

/* Sets the page on an open section of the sheet. Everything taken from `arena` may be given back afterwards. */
DD_MUST_USE dd_status dd_front_write(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, dd_arena *arena);

/* The parts. */
void dd_running_write(dd_front *front); /* running.c: what runs at `now`, and the allowance */
void dd_tasks_write(dd_front *front);   /* tasks.c: the list in time order */
/* One item of `count`, with its details; returns how many items it took. */
size_t dd_tasks_item(dd_front *front, const dd_task *items, size_t at, size_t count);

#endif
