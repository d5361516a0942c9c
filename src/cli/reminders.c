/* reminders.c - the verb remind: one calendar file, a folder of one file per event, or a list for the screen. */
#include <errno.h>
#include <string.h>

#include "file.h"
#include "former.h"
#include "list.h"
#include "pour.h"
#include "session.h"
#include "split.h"
#include "verbs.h"

#define MOST_LEAD (24 * 3600)
#define MOST_REASON ((size_t)4096)
#define MOST_GONE ((size_t)64 << 20)
#define MOST_FORMER ((size_t)256 << 20) /* octets of a calendar that is brought up to date */
/* How many alarms phones keep: some only the next 64 of a calendar, others some 500 of all. */
#define ALARMS_SOME 60
#define ALARMS_OTHERS 400

typedef struct reminders {
    dd_session s;
    dd_calendar_options options;
    dd_calendar_said said;
    dd_former former;
    dd_bytes why, gone;
    const char *split, *update;
    bool list;
} reminders;

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

/* What goes together. */
static bool settle(reminders *m, const dd_words *words, dd_bytes *err)
{
    m->split = words->value[DD_OPTION_SPLIT];
    m->update = words->value[DD_OPTION_UPDATE];
    m->list = words->value[DD_OPTION_LIST] != NULL;
    m->options = (dd_calendar_options){.detail = words->value[DD_OPTION_DETAIL] != NULL, .each = words->value[DD_OPTION_EACH] != NULL,
        .changes_only = words->value[DD_OPTION_CHANGES_ONLY] != NULL, .said = &m->said};
    m->said = (dd_calendar_said){.why = &m->why, .gone = &m->gone};
    const char *wrong = NULL;
    if (m->split && words->value[DD_OPTION_OUTPUT])
        wrong = "--split writes a folder, --output a file: one of them";
    else if (m->split && m->update)
        wrong = "--split brings its folder up to date by itself; --update is for one file";
    else if (m->split && m->list)
        wrong = "--list shows what would ring, --split writes it: one of them";
    else if (m->list && m->update)
        wrong = "--list shows what would ring, --update writes what changed: one of them";
    else if (m->options.changes_only && !m->update)
        wrong = "--changes-only needs --update: the calendar that there is";
    if (wrong)
        dd_words_wrong(err, words, "%s", wrong);
    return !wrong && read_lead(words, &m->options.lead_s, err);
}

/* The timelines of all patients of the plan, those that were not asked for too: what is theirs did not go away. */
static dd_status make_everyone(reminders *m)
{
    dd_session *s = &m->s;
    const dd_timeline **list = dd_arena_take_many(s->arena, s->plan->patient_count + 1, sizeof *list);
    dd_status status = list ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0, k = 0; status == DD_OK && i < s->plan->patient_count; i++) {
        const dd_patient *p = &s->plan->patients[i];
        if (k < s->view.count && s->patients[k] == p) {
            list[i] = s->view.timelines[k++];
            continue;
        }
        dd_timeline *t = p->errors ? NULL : dd_arena_take(s->arena, sizeof *t);
        if (!p->errors)
            status = t ? dd_timeline_make(s->plan, p, s->view.now, s->view.known, s->arena, t) : DD_NO_MEMORY;
        list[i] = t;
    }
    m->options.everyone = list;
    return status;
}

/* The calendar that is brought up to date. False: said already. */
static bool read_former(reminders *m)
{
    dd_session *s = &m->s;
    char *bytes;
    size_t length;
    m->former.arena = s->arena;
    m->options.former = &m->former;
    dd_file_end end = dd_file_read(m->update, MOST_FORMER, s->arena, &bytes, &length);
    if (end == DD_FILE_READ) {
        dd_status status = dd_former_add(&m->former, bytes, length, &m->why);
        if (status == DD_OK) {
            dd_former_sort(&m->former);
            return true;
        }
        if (status == DD_NO_MEMORY) {
            dd_session_failed(s, status);
            return false;
        }
        dd_bytes_form(s->err, "daydrip: %s: %s\n         expected a calendar as remind writes it, and nobody has changed\n", m->update, dd_bytes_data(&m->why, NULL));
    } else {
        dd_bytes_form(s->err, "daydrip: %s: %s\n", m->update, end == DD_FILE_TOO_LARGE ? "larger than a calendar of reminders can be" : strerror(errno));
    }
    dd_session_exit(s, DD_EXIT_FILE);
    return false;
}

/* What went wrong, said. */
static void say_status(reminders *m, dd_status status)
{
    dd_session *s = &m->s;
    if (status == DD_BAD_INPUT && m->said.foreign) {
        dd_bytes_form(s->err, "daydrip: %s: its events are not of this plan\n         expected the calendar that remind made from this folder\n", m->update);
        dd_session_exit(s, DD_EXIT_FILE);
    } else if (status == DD_BAD_INPUT) {
        dd_bytes_text(s->err, "daydrip: ward.csv has no `plan`; reminders need it (a random UUID) so that a task keeps its name\n");
        dd_session_exit(s, DD_EXIT_PLAN);
    } else if (status == DD_CANNOT_READ || status == DD_CANNOT_WRITE) {
        dd_bytes_form(s->err, "daydrip: no calendar was made: %s\n", dd_bytes_data(&m->why, NULL));
        dd_bytes_text(s->err, status == DD_CANNOT_READ ? "         calendars are made by libical; nothing else of daydrip needs it\n" : "");
        dd_session_exit(s, DD_EXIT_FILE);
    } else if (status != DD_OK) {
        dd_session_failed(s, status);
    }
}

/* What is to be known beside the calendar. */
static void say_rest(reminders *m, dd_bytes *err)
{
    const dd_calendar_said *said = &m->said;
    dd_session_not_planned(&m->s, err);
    if (said->kept)
        dd_bytes_form(err, "daydrip: %zu reminder%s of beds that are not planned now: left as they were, go by the orders\n", said->kept, said->kept == 1 ? "" : "s");
    if (m->gone.length) {
        dd_bytes_text(err, "daydrip: no longer in the plan; where the calendar does not take it away, delete by hand:\n");
        dd_bytes_add(err, m->gone.data, m->gone.length);
    }
    if (m->s.words->value[DD_OPTION_QUIET] || said->alarms <= ALARMS_SOME)
        return;
    dd_bytes_form(err, "daydrip: %zu alarms: phones that hand the next 64 alarms to their system do not ring for the later ones until the\n"
        "         calendar is opened again", said->alarms);
    dd_bytes_text(err, said->alarms > ALARMS_OTHERS ? "; phones that take about 500 alarms in all may go silent altogether" : "");
    dd_bytes_text(err, ".\n         Ask for one team, fewer beds or a shorter span\n");
}

static dd_status write_list(reminders *m, dd_bytes *out)
{
    char number[DD_NUMBER_MAX];
    dd_status status = dd_list_head(&m->s.view, "REMINDERS", out);
    if (status == DD_OK)
        status = dd_ring_list(&m->s.view, &m->options, out);
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)m->said.alarms, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(out, m->said.alarms == 1 ? " alarm\n" : " alarms\n");
    return status == DD_OK ? dd_list_end(&m->s.view, out) : status;
}

int dd_reminders_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    reminders m = {.why = DD_BYTES(MOST_REASON), .gone = DD_BYTES(MOST_GONE)};
    if (!settle(&m, words, err))
        return DD_EXIT_USAGE;
    if (dd_session_begin(&m.s, words, DD_CLOCK_MUST, out, err) && dd_session_timelines(&m.s) && (!m.update || read_former(&m))) {
        dd_status status = m.update || m.split ? make_everyone(&m) : DD_OK;
        if (status == DD_OK)
            status = m.split ? dd_split_write(&m.s, &m.options, m.split) : m.list ? write_list(&m, out) : dd_pour_calendar(&m.s, &m.options);
        say_status(&m, status);
        if (status == DD_OK && m.s.exit_status != DD_EXIT_FILE) {
            say_rest(&m, err);
            if (m.list)
                dd_session_deliver(&m.s);
        }
    }
    dd_bytes_free(&m.why);
    dd_bytes_free(&m.gone);
    dd_session_end(&m.s);
    return m.s.exit_status;
}
