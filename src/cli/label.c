#include "session.h"
#include "verbs.h"

int dd_label_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_MUST, out, err) && dd_span_from_now(&s) && dd_session_timelines(&s)) {
        dd_status status = dd_label_write(&s.view, words->value[DD_OPTION_STEPS] != NULL, out);
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else
            dd_session_deliver(&s);
    }
    dd_session_end(&s);
    return s.exit_status;
}
