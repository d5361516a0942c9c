#include "arena.h"
#include "list.h"
#include "session.h"
#include "verbs.h"

static dd_status one_patient(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    (void)arena;
    return s->view.csv ? dd_rows_schedule(&s->view, timeline, out) : dd_list_schedule(&s->view, timeline, out);
}

int dd_schedule_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err)) {
        dd_status status = DD_OK;
        if (!s.view.csv)
            status = dd_list_head(&s.view, "SCHEDULE", out);
        else if (s.view.header)
            status = dd_rows_schedule_head(out);
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else if (dd_session_each(&s, one_patient)) {
            if (!s.view.csv && dd_list_end(&s.view, out) != DD_OK)
                dd_session_failed(&s, DD_NO_MEMORY);
            else
                dd_session_deliver(&s);
        }
    }
    dd_session_end(&s);
    return s.exit_status;
}
