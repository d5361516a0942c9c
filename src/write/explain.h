/* explain.h - one printed figure, derived step by step, and a second, independent way to it. Shared by the parts of `explain`. */
#ifndef DD_EXPLAIN_H
#define DD_EXPLAIN_H

#include "sheet.h"

typedef struct dd_explain {
    dd_sheet *sheet;
    const dd_view *view;
    const dd_timeline *t;
    const dd_patient *p;
    const dd_figure *figure;
    dd_bytes *text;   /* for texts under construction */
    int step;
    int told;         /* figures explained under a page so far */
    bool differs;     /* the second way came to something else: never seen, and not hidden */
} dd_explain;

/* The working under a patient's pages: of what runs now its rate, what is left and when it runs dry, of the doses of the span their times,
 * and the sums so far. `planned` as in dd_figure. */
DD_MUST_USE dd_status dd_explain_page(dd_sheet *sheet, const dd_view *view, const dd_timeline *timeline, const dd_timeline *planned);

/* ---- explain.c: the frame ---- */
void dd_explain_title(dd_explain *e, const char *what, const char *printed); /* `left-forearm runs dry: Thu 26 Nov 01:42:00, printed 01:42` */
/* One numbered step; origin such as `orders.csv:6`, value and origin NULL or "" where there is none. */
void dd_explain_step(dd_explain *e, const char *what, const char *value, const char *origin);
void dd_explain_note(dd_explain *e, const char *label, const char *what);    /* `rounding     none in this figure` */
/* The second way to the same: says so, or that it differs. */
void dd_explain_second(dd_explain *e, const char *how, const char *value, bool same);
/* Where a row comes from; the text lasts until the next call of either. */
const char *dd_explain_order_row(dd_explain *e, int order);
const char *dd_explain_event_row(dd_explain *e, const dd_event *event);
const char *dd_explain_row(dd_explain *e, const char *table, uint32_t line);
void dd_explain_span(dd_bytes *out, const dd_explain *e, dd_moment from, dd_moment to); /* `14:00 to 14:36` */
void dd_explain_exact(dd_bytes *out, int64_t u); /* mL, to the microlitre */
void dd_explain_duration(dd_bytes *out, int64_t seconds); /* `3 h 48 min 34 s` */
/* A step: what a rule says, and who says so. */
void dd_explain_rule_step(dd_explain *e, const dd_rule *rule);
void dd_explain_gap(dd_explain *e, int order, dd_moment from, dd_moment to); /* a step: nothing flows, and why */

/* ---- the figures ---- */
void dd_explain_rate(dd_explain *e);   /* explain_rate.c */
void dd_explain_given(dd_explain *e);  /* explain_volume.c: given, flush, left, bag */
void dd_explain_left(dd_explain *e);
void dd_explain_bag(dd_explain *e);
void dd_explain_sums(dd_explain *e);   /* explain_sums.c: in, out, sum, urine */
void dd_explain_urine(dd_explain *e);
void dd_explain_dry(dd_explain *e);    /* explain_time.c: dry, earliest, latest, dose */
void dd_explain_dose(dd_explain *e);
void dd_explain_day(dd_explain *e);    /* explain_day.c: needs and orders */
void dd_explain_care(dd_explain *e);   /* explain_care.c: set, dressing, device */
void dd_explain_need(dd_explain *e);   /* explain_need.c: need, allowance */
void dd_explain_allowance(dd_explain *e);
void dd_explain_course(dd_explain *e); /* explain_course.c */

/* What flows of an order (and bag, where `bag` is not NULL) give in [from, to): a step each, gaps named; the sum in u. */
int64_t dd_explain_pieces(dd_explain *e, int order, int part, const dd_bag *bag, dd_moment from, dd_moment to, int sign);
/* What one piece gives in [from, to), second by second, u. */
int64_t dd_explain_piece(const dd_flow *flow, dd_moment from, dd_moment to);
/* The same, added up second by second. */
int64_t dd_explain_seconds(const dd_explain *e, int order, int part, const dd_bag *bag, dd_moment from, dd_moment to);
const dd_bag *dd_explain_bag_at(const dd_explain *e, int order, dd_moment at); /* the bag that is up, or NULL */

#endif
