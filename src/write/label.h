/* label.h - labels to be cut out: boxes of one width on a sheet. */
#ifndef DD_LABEL_H
#define DD_LABEL_H

#include "arena.h"
#include "daydrip/task.h"
#include "sheet.h"

#define DD_LABEL_WIDTH 36

/* What the boxes share. */
typedef struct dd_label {
    dd_sheet *sheet;
    const dd_view *view;
    const dd_timeline *timeline;
    dd_arena *arena;
    dd_bytes *text; /* for texts under construction */
} dd_label;

void dd_label_open(dd_label *label); /* the upper edge; the box stays on one page until it is closed */
void dd_label_edge(dd_label *label); /* an edge inside */
void dd_label_close(dd_label *label);
void dd_label_row(dd_label *label);  /* what stands in label->text; it wraps */
void dd_label_words(dd_label *label, const char *words);

/* Whose it is: bed, line, room for the name, and DEMO where it is one. `name`: with room for the name and what the patient may not get. */
void dd_label_whose(dd_label *label, int line, bool name);

/* tape.c: what should be left in a gravity bag, hour by hour; rows inside a box. False: it is none that is up or goes up. */
bool dd_tape_write(dd_label *label, const dd_bag *bag);
/* steps.c: lists to tick while a line is placed and an infusion started; no box. */
void dd_steps_write(dd_label *label);

#endif
