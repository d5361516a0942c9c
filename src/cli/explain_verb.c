/* explain_verb.c - `explain BED ...`: one printed figure, derived step by step. (`explain CODE` is meaning.c.) */
#include <stdlib.h>
#include <string.h>

#include "session.h"
#include "verbs.h"

typedef enum about { ABOUT_ORDER, ABOUT_LINE, ABOUT_PATIENT } about;
typedef enum which { WHICH_NOTHING, WHICH_TIME, WHICH_PERIOD, WHICH_NUMBER, WHICH_DOSE } which;

static const struct figure_row { const char *name, *what; about about; which which; } figures[] = {
#define FIGURE(id, name, about, which, what) {name, what, ABOUT_##about, WHICH_##which},
#include "daydrip/figure.def"
};

/* `what`, or `"word" what`. */
static bool wrong(dd_session *s, const char *word, const char *what)
{
    dd_session_exit(s, word ? dd_words_wrong(s->err, s->words, "\"%.60s\" %s", word, what) : dd_words_wrong(s->err, s->words, "%s", what));
    return false;
}

static const dd_patient *find_patient(const dd_session *s, const char *name)
{
    for (size_t i = 0; i < s->plan->patient_count; i++)
        if (strcmp(s->plan->patients[i].key, name) == 0 || strcmp(s->plan->patients[i].bed, name) == 0)
            return &s->plan->patients[i];
    return NULL;
}

/* On a line: the primary that began there last before now, else whatever did, else its first order. */
static int order_on(const dd_timeline *t, int line)
{
    int found = -1;
    for (size_t i = 0; i < t->run_count; i++) {
        const dd_run *r = &t->runs[i];
        if (r->line == line && r->start != DD_NEVER && r->start <= t->now
            && (found < 0 || t->patient->orders[r->order].runs == DD_PRIMARY || t->patient->orders[found].runs != DD_PRIMARY))
            found = r->order;
    }
    for (int o = 0; found < 0 && o < t->patient->order_count; o++)
        if (t->patient->orders[o].line == line)
            found = o;
    return found;
}

static int find_order(const dd_timeline *t, const char *name)
{
    for (int o = 0; o < t->patient->order_count; o++)
        if (strcmp(t->patient->orders[o].key, name) == 0)
            return o;
    for (int l = 0; l < t->patient->line_count; l++)
        if (strcmp(t->patient->lines[l].key, name) == 0)
            return order_on(t, l);
    return -1;
}

static int find_line(const dd_patient *p, const char *name)
{
    for (int l = 0; l < p->line_count; l++)
        if (strcmp(p->lines[l].key, name) == 0)
            return l;
    return -1;
}

static bool find_figure(dd_session *s, const char *name, dd_figure *f)
{
    for (size_t i = 0; i < DD_FIGURE_COUNT; i++)
        if (strcmp(figures[i].name, name) == 0) {
            f->kind = (dd_figure_kind)i;
            return true;
        }
    return wrong(s, name, "is no figure; explain --help lists them");
}

/* `15`: the first such hour of the plan; `day`: a shift; `all`; nothing: from the beginning to now. */
static bool read_period(dd_session *s, const char *text, dd_figure *f)
{
    const dd_plan *plan = s->plan;
    f->from = plan->begins;
    f->to = !text ? s->view.now : plan->end;
    if (!text || strcmp(text, "all") == 0)
        return f->from < f->to || wrong(s, NULL, "nothing has happened yet: say which period");
    const dd_moment *edges;
    size_t count;
    char *end;
    long hour = strtol(text, &end, 10);
    bool clock = end != text && hour >= 0 && hour <= 23 && (*end == '\0' || strcmp(end, ":00") == 0);
    if (dd_timeline_periods(plan, clock ? DD_BY_HOUR : DD_BY_SHIFT, s->arena, &edges, &count) != DD_OK) {
        dd_session_failed(s, DD_NO_MEMORY);
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        dd_civil local = dd_moment_local(plan->zone, edges[i]);
        int32_t second = local.hour * 3600 + local.minute * 60 + local.second;
        bool here = clock && local.hour == hour;
        const char *name = plan->shift_count ? plan->shifts[plan->shift_count - 1].name : "";
        for (size_t k = 0; !clock && k < plan->shift_count; k++)
            if (plan->shifts[k].second_of_day <= second)
                name = plan->shifts[k].name;
        if (!here && (clock || strcmp(name, text) != 0))
            continue;
        f->from = edges[i];
        f->to = edges[i + 1];
        return true;
    }
    return wrong(s, text, "is no hour such as 15, no shift of this ward, and not all");
}

static bool read_which(dd_session *s, const char *text, dd_figure *f)
{
    which takes = figures[f->kind].which;
    const char *why = NULL;
    char *end;
    f->at = s->view.now;
    if (takes == WHICH_PERIOD)
        return read_period(s, text, f);
    if (takes == WHICH_NOTHING)
        return !text || wrong(s, text, "is one word too many");
    if (!text)
        return takes == WHICH_TIME || wrong(s, NULL, takes == WHICH_NUMBER ? "say which bag, by its number" : "say which dose, by the time when it is due");
    if (takes == WHICH_NUMBER) {
        long number = strtol(text, &end, 10);
        f->number = (int32_t)number;
        return (*end == '\0' && number >= 1 && number <= 1000000) || wrong(s, text, "is no number of a bag");
    }
    why = dd_span_read(s->plan->zone, text, s->plan->begins, &f->at);
    return !why || wrong(s, text, "is no time such as 14:00 or \"Thu 06:00\"");
}

static bool understand(dd_session *s, const dd_timeline *t, dd_figure *f)
{
    char **rest = s->words->rest;
    int count = s->words->rest_count, at = 1;
    *f = (dd_figure){.order = -1, .line = -1};
    bool second = false; /* the figure is the second word: about the patient */
    for (size_t i = 0; i < DD_FIGURE_COUNT; i++)
        second = second || (figures[i].about == ABOUT_PATIENT && strcmp(figures[i].name, rest[1]) == 0);
    if (!second || (count > 2 && find_order(t, rest[1]) >= 0)) {
        f->order = find_order(t, rest[at]);
        f->line = find_line(t->patient, rest[at]);
        if (f->order < 0 && f->line < 0)
            return wrong(s, rest[at], "is neither an order nor a line of this patient, nor a figure about the patient");
        if (++at >= count)
            return wrong(s, rest[at - 1], "has several figures: say which; explain --help lists them");
    }
    if (!find_figure(s, rest[at], f))
        return false;
    about wanted = figures[f->kind].about;
    bool said = f->order >= 0 || f->line >= 0;
    if ((wanted != ABOUT_PATIENT) != said)
        return wrong(s, rest[at], !said ? "is about an order or a line: say which" : "is about the patient: leave out the order");
    if (wanted == ABOUT_LINE ? f->line < 0 : wanted == ABOUT_ORDER && f->order < 0)
        return wrong(s, rest[at], wanted == ABOUT_LINE ? "is about a line: say which" : "is about an order: no order is written for this line");
    if (at + 2 < count)
        return wrong(s, rest[at + 2], "is one word too many");
    return read_which(s, at + 1 < count ? rest[at + 1] : NULL, f);
}

int dd_explain_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_session s;
    dd_timeline t, planned;
    dd_figure figure;
    bool differs = false;
    if (words->rest_count < 2)
        return dd_meaning_verb(words, out, err);
    if (dd_session_begin(&s, words, DD_CLOCK_OR_BEGIN, out, err)) {
        const dd_patient *p = find_patient(&s, words->rest[0]);
        dd_status status = !p || p->errors ? DD_OK : dd_timeline_make(s.plan, p, s.view.now, s.view.known, s.arena, &t);
        if (!p)
            wrong(&s, words->rest[0], "is no patient and no bed of this plan");
        else if (p->errors)
            dd_session_exit(&s, DD_EXIT_PLAN); /* said when the plan was read */
        else if (status != DD_OK)
            dd_session_failed(&s, status);
        else if (understand(&s, &t, &figure)) {
            status = dd_timeline_make(s.plan, p, s.plan->begins, DD_SESSION_UNCHARTED(s.plan), s.arena, &planned);
            figure.planned = &planned;
            if (status == DD_OK)
                status = dd_explain_write(&s.view, &t, &figure, out, &differs);
            if (status == DD_NO_MEMORY || status == DD_TOO_LARGE)
                dd_session_failed(&s, status);
            else if (differs || status == DD_BAD_INPUT)
                dd_session_exit(&s, status == DD_BAD_INPUT ? DD_EXIT_USAGE : DD_EXIT_CLARIFY);
        }
    }
    dd_session_end(&s);
    return s.exit_status;
}

void dd_explain_figures(dd_bytes *out)
{
    for (size_t i = 0; i < DD_FIGURE_COUNT; i++) {
        static const char *const whiches[] = {"", " [TIME]", " [PERIOD]", " N", " DUE"};
        char words[64];
        dd_bytes line = DD_BYTES(sizeof words);
        dd_bytes_form(&line, "%s%s%s", figures[i].about == ABOUT_ORDER ? "ORDER " : figures[i].about == ABOUT_LINE ? "LINE " : "", figures[i].name, whiches[figures[i].which]);
        dd_bytes_form(out, "  %-24.*s %s\n", (int)line.length, line.data ? line.data : "", figures[i].what);
        dd_bytes_free(&line);
    }
}
