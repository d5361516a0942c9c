/* picture.h - two grids over the hours of a span: sites to be marked at each round, and what flows when. */
#ifndef DD_PICTURE_H
#define DD_PICTURE_H

#include "arena.h"
#include "sheet.h"

/* A row for each line, a column for each full hour in (from, to]: `..` where the site is to be looked at, `--` where not. */
DD_MUST_USE dd_status dd_picture_sites(dd_sheet *sheet, const dd_timeline *timeline, dd_moment from, dd_moment to, dd_arena *arena);
/* A row for each line and, under it, for its doses and what runs beside; one mark is 15 min. Then the marks that were used. */
void dd_picture_flows(dd_sheet *sheet, const dd_timeline *timeline, dd_moment from, dd_moment to);

#endif
