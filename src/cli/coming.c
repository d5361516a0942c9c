/* coming.c - the verbs about what comes, over all patients in time order: due and gather. */
#include "list.h"
#include "session.h"
#include "verbs.h"

#define ROWS_CEILING ((size_t)2 << 30) /* bytes of all rows */

typedef struct coming {
    const char *title;
    dd_status (*head)(dd_bytes *out);
    dd_status (*list)(const dd_view *view, dd_bytes *out);
    dd_session_work *rows;
} coming;

/* Rows come by patient and are put in time order when all are there. */
static bool write_rows(dd_session *s, const coming *c)
{
    dd_bytes rows = DD_BYTES(ROWS_CEILING);
    s->kept = &rows;
    bool fine = dd_session_each(s, c->rows);
    dd_status status = rows.failed ? DD_NO_MEMORY : fine && s->view.header ? c->head(s->out) : DD_OK;
    if (fine && status == DD_OK)
        status = dd_merge_rows(rows.data ? rows.data : "", rows.length, s->arena, s->out);
    dd_bytes_free(&rows);
    if (status != DD_OK)
        dd_session_failed(s, status);
    return fine && status == DD_OK;
}

static bool write_text(dd_session *s, const coming *c)
{
    if (!dd_session_timelines(s))
        return false;
    dd_status status = dd_list_head(&s->view, c->title, s->out);
    if (status == DD_OK)
        status = c->list(&s->view, s->out);
    if (status == DD_OK)
        status = dd_list_end(&s->view, s->out);
    if (status != DD_OK)
        dd_session_failed(s, status);
    return status == DD_OK;
}

static int run(const dd_words *words, const coming *c, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_MUST, out, err) && dd_span_from_now(&s)) {
        s.bare = s.view.csv; /* the list ends with how many findings there are */
        if (s.view.csv ? write_rows(&s, c) : write_text(&s, c))
            dd_session_deliver(&s);
    }
    dd_session_end(&s);
    return s.exit_status;
}

static dd_status due_rows(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    return dd_due_rows(&s->view, timeline, arena, out);
}

int dd_due_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    static const coming due = {"DUE", dd_due_rows_head, dd_due_list, due_rows};
    return run(words, &due, out, err);
}

static dd_status gather_rows(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    return dd_gather_rows(&s->view, timeline, arena, out);
}

int dd_gather_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    static const coming gather = {"GATHER", dd_gather_rows_head, dd_gather_list, gather_rows};
    return run(words, &gather, out, err);
}
