/* write.h - from timelines to bytes: pages, rows, calendar.
 *
 * Writers take const timelines and give bytes; they compute nothing that the engine owns. Each returns DD_OK, or
 * DD_NO_MEMORY when `out` hit its ceiling or an allocation failed. */
#ifndef DAYDRIP_WRITE_H
#define DAYDRIP_WRITE_H

#include "timeline.h"

typedef struct dd_bytes dd_bytes;
typedef struct dd_folder dd_folder; /* the plan folder as read: for page codes */

/* Which parts of the report. */
typedef enum dd_report_form {
    DD_REPORT_WHOLE, /* the ward summary, then each patient's pages */
    DD_REPORT_BRIEF, /* the ward summary, then the list of the next hours */
    DD_REPORT_HOURS  /* that list alone */
} dd_report_form;

/* What is to be written: a plan, the patients asked for, and how. Owned by the caller. */
typedef struct dd_view {
    const dd_plan *plan;
    const dd_folder *folder;
    const dd_timeline *const *timelines; /* count entries, in table order; NULL where the patient has errors */
    const dd_patient *const *patients;   /* count entries */
    size_t count;
    dd_moment now;          /* --at */
    dd_moment known;        /* --known: what had been written down by then */
    bool known_asked;       /* it was said: entries written down later are none of this page, and not counted on it */
    dd_moment from, to;     /* the span asked for, inside the window */
    dd_moment hours_from, hours_to; /* of the list of the next hours; not looked at by DD_REPORT_WHOLE */
    dd_moment since;        /* back pages say what changed since then */
    const dd_timeline *const *planned; /* the same without the chart, where the working is to be shown; else NULL */
    const char *shift;      /* name of the shift the span is, or NULL */
    const char *team;       /* --team, or NULL */
    int width;              /* 72 or 132 columns */
    bool pages;             /* form feeds between pages */
    bool sentences;         /* the report in labelled sentences, one a line, for whoever has it read out */
    bool header;            /* CSV: write the header row (shard 1) */
    bool csv;               /* --format csv */
    dd_report_form form;
} dd_view;

/* ---- rows that programs read (RFC 4180, LF) and their text for people; one patient at a time ---- */
DD_MUST_USE dd_status dd_rows_schedule_head(dd_bytes *out);
DD_MUST_USE dd_status dd_rows_schedule(const dd_view *view, const dd_timeline *timeline, dd_bytes *out);
DD_MUST_USE dd_status dd_rows_totals_head(dd_bytes *out);
DD_MUST_USE dd_status dd_rows_totals(const dd_view *view, const dd_timeline *timeline, const dd_total *totals, size_t count, dd_bytes *out);
DD_MUST_USE dd_status dd_list_schedule(const dd_view *view, const dd_timeline *timeline, dd_bytes *out);
DD_MUST_USE dd_status dd_list_totals(const dd_view *view, const dd_timeline *timeline, const dd_total *totals, size_t count, dd_period by, dd_bytes *out);

/* Findings, worst first: rows, and a block of text for each patient. */
DD_MUST_USE dd_status dd_review_rows_head(dd_bytes *out);
DD_MUST_USE dd_status dd_review_rows(const dd_view *view, const dd_timeline *timeline, dd_bytes *out);
DD_MUST_USE dd_status dd_review_list(const dd_view *view, const dd_timeline *timeline, dd_bytes *out);

/* Rules: all rows or the ward's looser ones; those that hold for one patient and whom or what each holds for. Rows or text by view->csv. */
DD_MUST_USE dd_status dd_rulelist_rows_head(dd_bytes *out);
DD_MUST_USE dd_status dd_rulelist_all(const dd_view *view, bool looser, dd_bytes *out);
DD_MUST_USE dd_status dd_rulelist_patient(const dd_view *view, const dd_patient *patient, dd_bytes *out);

/* What comes next, and what to fetch for it, in time order over all patients of the view: the list, between heading and end, which are
 * the caller's; and rows. Rows are made patient by patient, each behind a key, and put in order by dd_merge_rows. */
DD_MUST_USE dd_status dd_due_list(const dd_view *view, dd_bytes *out);
DD_MUST_USE dd_status dd_due_rows_head(dd_bytes *out);
DD_MUST_USE dd_status dd_due_rows(const dd_view *view, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out);
DD_MUST_USE dd_status dd_gather_list(const dd_view *view, dd_bytes *out);
DD_MUST_USE dd_status dd_gather_rows_head(dd_bytes *out);
DD_MUST_USE dd_status dd_gather_rows(const dd_view *view, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out);
DD_MUST_USE dd_status dd_merge_rows(const char *rows, size_t length, dd_arena *arena, dd_bytes *out);

/* Fluids, the ward's own first, or the additives, one row each; as pages: fluids and additives, or the additives alone. Of the view
 * only plan, width and pages are looked at. */
DD_MUST_USE dd_status dd_fluidlist_rows(const dd_view *view, bool additives, dd_bytes *out);
DD_MUST_USE dd_status dd_fluidlist_pages(const dd_view *view, bool additives, dd_bytes *out);

/* ---- pages ---- */
/* The report, or the parts of it that view->form says. The list of the next hours is one for each team. */
DD_MUST_USE dd_status dd_report_write(const dd_view *view, dd_bytes *out);
/* Labels to be cut out, for what goes up in the view's span and for the lines; with `steps`, lists to tick. */
DD_MUST_USE dd_status dd_label_write(const dd_view *view, bool steps, dd_bytes *out);

/* ---- one figure explained ---- */
typedef enum dd_figure_kind {
#define FIGURE(id, name, about, which, what) DD_FIGURE_##id,
#include "figure.def"
    DD_FIGURE_COUNT
} dd_figure_kind;
/* What is asked: of one patient's timeline. Times inside the plan. */
typedef struct dd_figure {
    dd_figure_kind kind;
    int order;            /* index, -1: about the patient or a line */
    int line;             /* index, of a figure about a line; else -1 */
    dd_moment at;         /* TIME; DOSE: its due time */
    dd_moment from, to;   /* PERIOD */
    int32_t number;       /* NUMBER */
    const dd_timeline *planned; /* the same patient without the chart: where the rate of a remainder comes from */
} dd_figure;
/* *differs: the second way to the figure came to something else. DD_BAD_INPUT: there is no such figure (no bag is up, no such dose);
 * `out` then says so in words. */
DD_MUST_USE dd_status dd_explain_write(const dd_view *view, const dd_timeline *timeline, const dd_figure *figure, dd_bytes *out, bool *differs);

/* Patients side by side: needs against orders, children first, adults on a page of their own. Over 24 h from view->now, the orders
 * carried on where the plan ends before that. */
DD_MUST_USE dd_status dd_beside_write(const dd_view *view, dd_bytes *out);
/* The same figures over the plan's window, a row for each patient. */
DD_MUST_USE dd_status dd_beside_rows_head(dd_bytes *out);
DD_MUST_USE dd_status dd_beside_rows(const dd_timeline *timeline, const dd_sums *sums, dd_bytes *out);

/* ---- the calendar (RFC 5545) ---- */
typedef struct dd_former dd_former; /* an earlier calendar (former.h) */
/* What there is to say beside the calendar. */
typedef struct dd_calendar_said {
    dd_bytes *why;         /* the reason, in words, of a DD_CANNOT_READ or DD_CANNOT_WRITE */
    dd_bytes *gone;        /* a line for each event that went away, for those whose calendar takes no cancellation */
    size_t events, alarms; /* written; of the events those that ring */
    bool foreign;          /* with DD_BAD_INPUT: `former` is a calendar of another plan */
    size_t kept;           /* of an earlier calendar, because their patient is not planned */
} dd_calendar_said;
/* Takes what is in `out` away, as the calendar grows; called before `out` gets large, and never in the middle of an event. */
typedef dd_status dd_calendar_drain(void *user, dd_bytes *out);
typedef struct dd_calendar_options {
    int64_t lead_s;        /* alarm so long before: whole minutes */
    bool detail;           /* titles with line, fluid and rate */
    bool each;             /* every task by itself; else looks, sets and dressings by round and visit, a second nurse with the task */
    bool changes_only;     /* of what `former` holds only what changed */
    bool apart;            /* a file for each event: what went away is not written as cancelled */
    dd_former *former;     /* or NULL. With it: */
    const dd_timeline *const *everyone; /* of all patients of the plan, in table order; NULL where one has errors */
    dd_calendar_said *said; /* never NULL */
    dd_calendar_drain *drain; /* or NULL: the calendar is whole in `out`, or not at all */
    void *drain_user;
} dd_calendar_options;
/* Beside the statuses above: DD_CANNOT_READ, libical cannot be loaded (nothing else needs it); DD_CANNOT_WRITE, an event does not
 * read back as it was meant; DD_BAD_INPUT, the plan has no identifier, or
 * see `foreign`; DD_TOO_LARGE, an option or a time is outside its range. */
DD_MUST_USE dd_status dd_remind_write(const dd_view *view, const dd_calendar_options *options, dd_bytes *out);
/* What would ring, as a list for the screen, between heading and end, which are the caller's. */
DD_MUST_USE dd_status dd_ring_list(const dd_view *view, const dd_calendar_options *options, dd_bytes *out);

#endif
