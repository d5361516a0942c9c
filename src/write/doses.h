/* doses.h - the items of a list that are about doses and feeds. */
#ifndef DD_DOSES_H
#define DD_DOSES_H

#include "front.h"

/* The dose of the same order that is listed before, or NULL. */
const dd_task *dd_doses_told_before(const dd_task *items, size_t count, int order);
/* `before`: the one that has told the details already, or NULL. */
void dd_doses_dose(dd_front *front, const dd_task *item, const dd_task *before);
void dd_doses_feed(dd_front *front, const dd_task *item, const dd_task *before);
/* What several doses of one minute need is one errand. Returns how many items it took. */
size_t dd_doses_fetch(dd_front *front, const dd_task *items, size_t count);

#endif
