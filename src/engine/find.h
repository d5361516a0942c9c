/* find.h - findings that can be told once the timeline stands. */
#ifndef DD_FIND_H
#define DD_FIND_H

#include "work.h"

/* Doses closer together than their gap, lines that run dry with nothing to follow, and what the files it calls look for. Runs must be
 * there in the order of their orders, flows by time. */
DD_MUST_USE dd_status dd_find_all(dd_work *work);
/* The parts that look at the finished timeline, by theme. */
DD_MUST_USE dd_status dd_weighing_find(dd_work *work, const dd_timeline *timeline); /* weighing.c */
DD_MUST_USE dd_status dd_charted_find(dd_work *work, const dd_timeline *timeline);  /* charted.c */
DD_MUST_USE dd_status dd_balance_find(dd_work *work, const dd_timeline *timeline);  /* balance.c */
DD_MUST_USE dd_status dd_sites_find(dd_work *work, const dd_timeline *timeline);    /* sites.c */
DD_MUST_USE dd_status dd_course_find(dd_work *work, const dd_timeline *timeline);   /* course.c */
/* All of them; runs, flows and bags must stand in `timeline` in their order. */
DD_MUST_USE dd_status dd_find_finished(dd_work *work, const dd_timeline *timeline);
/* Once all findings are settled: how those that are behind or ahead can go on (course.c). */
DD_MUST_USE dd_status dd_course_choose(dd_work *work, const dd_timeline *timeline);
/* A timeline that only tries something out: as dd_timeline_make, but without looking for ways to go on (timeline.c). */
DD_MUST_USE dd_status dd_timeline_trial(const dd_plan *plan, const dd_patient *patient, dd_moment now, dd_moment known, dd_arena *arena, dd_timeline *out);
/* Whether a figure is no worse than another one of the same finding: worse is farther on the side of the limit on which it lies. A blank
 * one allows any. */
bool dd_find_within(const dd_finding *finding, dd_quantity up_to);
/* The last word on all findings made so far: the ward's severities, switches that are off, and what somebody has accepted. */
void dd_find_settle(dd_work *work);

#endif
