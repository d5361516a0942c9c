#include "list.h"
#include "session.h"
#include "verbs.h"

#define ROWS_CEILING ((size_t)2 << 30) /* bytes of all rows */

static dd_status one_patient(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    return dd_due_rows(&s->view, timeline, arena, out);
}

/* Rows come by patient and are put in time order when all are there. */
static bool write_rows(dd_session *s)
{
    dd_bytes rows = DD_BYTES(ROWS_CEILING);
    s->kept = &rows;
    bool fine = dd_session_each(s, one_patient);
    dd_status status = rows.failed ? DD_NO_MEMORY : fine && s->view.header ? dd_due_rows_head(s->out) : DD_OK;
    if (fine && status == DD_OK)
        status = dd_due_merge(rows.data ? rows.data : "", rows.length, s->arena, s->out);
    dd_bytes_free(&rows);
    if (status != DD_OK)
        dd_session_failed(s, status);
    return fine && status == DD_OK;
}

static bool write_text(dd_session *s)
{
    if (!dd_session_timelines(s))
        return false;
    dd_status status = dd_list_head(&s->view, "DUE", s->out);
    if (status == DD_OK)
        status = dd_due_list(&s->view, s->out);
    if (status == DD_OK)
        status = dd_list_end(&s->view, s->out);
    if (status != DD_OK)
        dd_session_failed(s, status);
    return status == DD_OK;
}

int dd_due_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_MUST, out, err) && dd_span_from_now(&s) && (s.view.csv ? write_rows(&s) : write_text(&s)))
        dd_session_deliver(&s);
    dd_session_end(&s);
    return s.exit_status;
}
