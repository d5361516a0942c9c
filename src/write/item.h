/* item.h - what the items of a list in time order are put together from: the first line with its time, and details under it. */
#ifndef DD_ITEM_H
#define DD_ITEM_H

#include "front.h"

int dd_item_bed_columns(const dd_view *view); /* for the bed and the blanks behind it, in a list of several beds */
int dd_item_bed_column(const dd_front *front);
int dd_item_time_column(const dd_front *front);
int dd_item_text_column(const dd_front *front);
int dd_item_done_column(const dd_front *front); /* where the blanks begin; behind the page where there are none */
int dd_item_by_column(const dd_front *front);   /* and those for initials */
/* The first line, of what stands in front->text; `blanks`: hands do something, with room for when and who. */
void dd_item_first(dd_front *front, dd_moment at, bool blanks);
void dd_item_round(dd_front *front, dd_moment at); /* the same of a round: no bed */
void dd_item_detail(dd_front *front); /* a line under it, of what stands in front->text */
void dd_item_words(dd_front *front, const char *words);
void dd_item_clock(dd_front *front, dd_moment t, dd_moment_style style); /* appended to front->text */
void dd_item_second(dd_front *front, const dd_task *item);  /* where it takes two */
void dd_item_allergy(dd_front *front);                      /* on a page with other beds */
void dd_item_note(dd_front *front, const dd_order *order);  /* its note, where it has one */

#endif
