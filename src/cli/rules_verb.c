/* rules_verb.c - `rules`: the limits and intervals, and which row each came from. */
#include "list.h"
#include "session.h"
#include "verbs.h"

/* The patients asked for by name, else the whole list. A patient with errors has no orders to look rules up for. */
static dd_status write_rules(dd_session *s, dd_bytes *out)
{
    dd_status status = s->view.csv ? dd_rulelist_rows_head(out) : dd_list_head(&s->view, "RULES", out);
    if (status != DD_OK)
        return status;
    if (!s->words->patients) {
        status = dd_rulelist_all(&s->view, s->words->value[DD_OPTION_LOOSER] != NULL, out);
    } else {
        for (size_t i = 0; status == DD_OK && i < s->view.count; i++)
            if (s->patients[i]->errors == 0)
                status = dd_rulelist_patient(&s->view, s->patients[i], out);
    }
    return status == DD_OK && !s->view.csv ? dd_list_end(&s->view, out) : status;
}

int dd_rules_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    if (words->patients && words->value[DD_OPTION_LOOSER])
        return dd_words_wrong(err, words, "--looser lists the ward's rows; leave out --patient");
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err)) {
        dd_status status = write_rules(&s, out);
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else
            dd_session_deliver(&s);
    }
    dd_session_end(&s);
    return s.exit_status;
}
