/* session.h - a plan loaded, the patients and the span that were asked for, and the work done patient by patient. */
#ifndef DD_SESSION_H
#define DD_SESSION_H

#include "daydrip/write.h"
#include "file.h"
#include "load.h"
#include "progress.h"
#include "words.h"

typedef struct dd_session {
    const dd_words *words;
    dd_bytes *out, *err;
    dd_arena *arena;
    dd_folder *folder;
    const dd_plan *plan;
    const dd_patient **patients; /* asked for, in table order; those with errors too */
    dd_view view;                /* timelines NULL until dd_session_timelines */
    int jobs;
    bool bare;                   /* what is shown has no findings: none are looked for */
    int exit_status;             /* the worst so far */
    dd_progress progress;
    dd_file_writing file;        /* of --output, where patients are written to it as they come */
    bool writing;                /* it is open */
    dd_bytes *kept;              /* where not NULL, dd_session_each keeps here what patients give, and hands on nothing */
    size_t to_clarify;           /* patients that dd_session_each met with a CLARIFY that nobody has accepted */
} dd_session;

typedef enum dd_clock_use { DD_CLOCK_OR_BEGIN, DD_CLOCK_MUST } dd_clock_use;

/* Loads the plan and settles how it is written; for verbs about no patient and no moment. Where no plan is named and none is needed,
 * the plan is empty and has what is built in. False: as below. */
bool dd_session_open(dd_session *s, const dd_words *words, bool needs_plan, dd_bytes *out, dd_bytes *err);
/* Loads the plan and settles what was asked for. False: said already, exit_status says how to leave. `use`: whether a clock
 * outside the plan's span is refused (pages, reminders) or the beginning is taken. Free with dd_session_end either way. */
bool dd_session_begin(dd_session *s, const dd_words *words, dd_clock_use use, dd_bytes *out, dd_bytes *err);
void dd_session_end(dd_session *s);

/* Raises the exit status in the order of status.h. Returns the worst. */
int dd_session_exit(dd_session *s, int status);
/* What a status of the library means for the person, said; and the exit status. */
int dd_session_failed(dd_session *s, dd_status status);

/* Makes the timeline of every patient asked for that has no errors; view.timelines is set. */
bool dd_session_timelines(dd_session *s);

/* The same without the chart: view.planned is set. */
bool dd_session_planned(dd_session *s);
/* A moment at which nothing of a plan's chart had been written down. */
#define DD_SESSION_UNCHARTED(plan) ((plan)->begins - INT64_C(3650) * 86400)

/* Works through the patients asked for, `jobs` at a time, each with its own memory, and hands the bytes on in table order: to
 * standard output, or to the file that is to take its place whole, as they come. */
typedef dd_status dd_session_work(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out);
bool dd_session_each(dd_session *s, dd_session_work *work);

/* A verb that gives rows or a list, patient by patient: heading (CSV: `head`), each patient by `work`, the list's end. Returns the
 * exit status. */
int dd_session_list(const dd_words *words, dd_bytes *out, dd_bytes *err, const char *title, dd_status head(dd_bytes *out), dd_session_work *work);

/* Hands s->out over: to the file of --output, whole or not at all, or to standard output. */
bool dd_session_deliver(dd_session *s);

/* Writes bytes to standard output now. False: said already. */
bool dd_session_write(dd_session *s, const dd_bytes *bytes);

/* `NOT PLANNED: bay1-bed2, 1 error` lines for a text output. */
void dd_session_not_planned(const dd_session *s, dd_bytes *out);

/* Reads a time as people say it: a clock, or a weekday and clock, is the first such at or after `after`. NULL, or what is wrong. */
const char *dd_span_read(const dd_zone *zone, const char *text, dd_moment after, dd_moment *out);
/* The span asked for, into view.now, from, to, shift (span.c). */
bool dd_span_settle(dd_session *s, dd_clock_use use);
/* Cuts off what is over. False: nothing is left, said already. */
bool dd_span_from_now(dd_session *s);

#endif
