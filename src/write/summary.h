/* summary.h - the ward summary: what is wrong first, a line per patient, what comes together. */
#ifndef DD_SUMMARY_H
#define DD_SUMMARY_H

#include "arena.h"
#include "sheet.h"
#include "todo.h"

/* Something to do, of which patient of the view. */
typedef struct dd_summary_task { const dd_task *todo; size_t patient; } dd_summary_task;
typedef struct dd_summary_hint { const dd_finding *finding; size_t patient; } dd_summary_hint;
typedef struct dd_summary_dry { dd_moment at; size_t patient; int16_t line; } dd_summary_dry;

/* What the parts of the page share. */
typedef struct dd_summary {
    dd_sheet *sheet;
    const dd_view *view;
    dd_arena *arena;
    dd_bytes *text;
    dd_moment from;       /* the lists begin here: the span's beginning, or now where that is later */
    dd_summary_task *tasks;          /* of the span, per patient in time order */
    size_t task_count, task_room;
    size_t *first_task;   /* per patient of the view: where its tasks begin; one more at the end */
    dd_summary_hint *hints;          /* CLARIFY and WATCH */
    size_t hint_count, hint_room, notes, accepted;
    dd_summary_dry *dries;
    size_t dry_count, dry_room;
    bool charted;         /* something is charted of one of them */
    dd_status status;
} dd_summary;

/* Sets the summary on an open section of the sheet. Everything taken from `arena` may be given back afterwards. */
DD_MUST_USE dd_status dd_summary_write(dd_sheet *sheet, const dd_view *view, dd_arena *arena);

/* Its first part alone, for other lists about the view; `ticks`: with a box to tick, and without what is to be watched
 * only after the view's span. */
DD_MUST_USE dd_status dd_summary_first(dd_sheet *sheet, const dd_view *view, const char *title, bool ticks, dd_arena *arena);

/* The parts. */
void dd_soon_write(dd_summary *summary); /* soon.c */

/* A clock; with its weekday where it is a day or more away. */
void dd_summary_when(dd_bytes *out, const dd_view *view, dd_moment t);
int dd_summary_by_team(const char *a, const char *b); /* as strcmp; NULL, no team, comes last */
void dd_summary_team(dd_bytes *out, const char *team); /* `team A`, `no team` */

#endif
