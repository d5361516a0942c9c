#include "session.h"
#include "verbs.h"

static dd_status one_patient(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    (void)arena;
    return s->view.csv ? dd_review_rows(&s->view, timeline, out) : dd_review_list(&s->view, timeline, out);
}

int dd_check_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    return dd_session_list(words, out, err, "CHECK", dd_review_rows_head, one_patient);
}
