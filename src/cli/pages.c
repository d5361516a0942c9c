#include "session.h"
#include "verbs.h"

#define BRIEF_S 14400 /* how far the list of a brief report goes */

/* Which parts are asked for, and what hours the list covers. */
static bool settle_form(dd_session *s)
{
    const dd_words *w = s->words;
    bool hours = w->value[DD_OPTION_COMING], brief = w->value[DD_OPTION_BRIEF];
    if (hours && brief) {
        dd_session_exit(s, dd_words_wrong(s->err, w, "--next gives the list of the next hours alone, --brief the ward summary and the list; one of them at a time"));
        return false;
    }
    if ((hours || brief) && w->value[DD_OPTION_WORKING]) {
        dd_session_exit(s, dd_words_wrong(s->err, w, "--working stands under the pages of patients; there are none with --%s", hours ? "next" : "brief"));
        return false;
    }
    if (hours && !dd_span_from_now(s))
        return false;
    s->view.sentences = w->value[DD_OPTION_SENTENCES];
    s->view.form = hours ? DD_REPORT_HOURS : brief ? DD_REPORT_BRIEF : DD_REPORT_WHOLE;
    s->view.hours_from = s->view.now;
    s->view.hours_to = hours ? s->view.to : s->plan->end - s->view.now < BRIEF_S ? s->plan->end : s->view.now + BRIEF_S;
    return true;
}

int dd_pages_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    if (dd_session_begin(&s, words, DD_CLOCK_MUST, out, err) && settle_form(&s) && dd_session_timelines(&s)
        && (!words->value[DD_OPTION_WORKING] || dd_session_planned(&s))) {
        dd_status status = dd_report_write(&s.view, out);
        if (status != DD_OK)
            dd_session_failed(&s, status);
        else
            dd_session_deliver(&s);
    }
    dd_session_end(&s);
    return s.exit_status;
}
