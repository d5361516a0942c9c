#include <string.h>

#include "session.h"
#include "split.h"
#include "verbs.h"

#define MOST_LEAD (24 * 3600)
#define MOST_REASON ((size_t)4096)

static bool read_lead(const dd_words *words, int64_t *seconds, dd_bytes *err)
{
    const char *text = words->value[DD_OPTION_LEAD], *hint;
    dd_quantity q;
    *seconds = 15 * 60;
    if (!text)
        return true;
    if (dd_quantity_read(text, strlen(text), DD_TAKES_TIME, true, &q, &hint) == DD_QF_NONE && dd_quantity_seconds(q, seconds) == DD_OK &&
        *seconds % 60 == 0 && *seconds <= MOST_LEAD)
        return true;
    dd_words_wrong(err, words, "--lead \"%.60s\": expected whole minutes up to 24 h, such as 15min", text);
    return false;
}

/* What went wrong, said. */
static void say_status(dd_session *s, dd_status status, const dd_bytes *why)
{
    if (status == DD_BAD_INPUT) {
        dd_bytes_text(s->err, "daydrip: ward.csv has no `plan`; reminders need it (a random UUID) so that a task keeps its name\n");
        dd_session_exit(s, DD_EXIT_PLAN);
    } else if (status == DD_CANNOT_READ || status == DD_CANNOT_WRITE) {
        dd_bytes_form(s->err, "daydrip: no calendar was made: %s\n", dd_bytes_data(why, NULL));
        dd_bytes_text(s->err, status == DD_CANNOT_READ ? "         calendars are made by libical; nothing else of daydrip needs it\n" : "");
        dd_session_exit(s, DD_EXIT_FILE);
    } else if (status != DD_OK) {
        dd_session_failed(s, status);
    }
}

int dd_reminders_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    dd_bytes why = DD_BYTES(MOST_REASON);
    const char *split = words->value[DD_OPTION_SPLIT];
    dd_calendar_options options = {.detail = words->value[DD_OPTION_DETAIL] != NULL, .each = words->value[DD_OPTION_EACH] != NULL, .why = &why};
    if (!read_lead(words, &options.lead_s, err))
        return DD_EXIT_USAGE;
    if (split && words->value[DD_OPTION_OUTPUT])
        return dd_words_wrong(err, words, "--split writes a folder, --output a file: one of them");
    if (dd_session_begin(&s, words, DD_CLOCK_MUST, out, err) && dd_session_timelines(&s)) {
        dd_status status = split ? dd_split_write(&s, &options, split) : dd_remind_write(&s.view, &options, out);
        say_status(&s, status, &why);
        if (status == DD_OK) {
            dd_session_not_planned(&s, err);
            if (!split)
                dd_session_deliver(&s);
        }
    }
    dd_bytes_free(&why);
    dd_session_end(&s);
    return s.exit_status;
}
