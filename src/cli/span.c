/* span.c - which moment is now, and which part of the plan is asked for. */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "session.h"

static bool wrong_time(dd_session *s, dd_option option, const char *name, const char *why)
{
    dd_session_exit(s, dd_words_wrong(s->err, s->words, "--%s \"%.60s\": %s", name, s->words->value[option], why));
    return false;
}

const char *dd_span_read(const dd_zone *zone, const char *text, dd_moment after, dd_moment *out)
{
    dd_time_text t;
    if (dd_moment_read(text, strlen(text), &t) != DD_TF_NONE || !t.has_clock)
        return "not a time; expected a clock such as 19:00, \"Wed 19:00\" or \"2026-11-25 19:00\"";
    if (t.has_date) {
        dd_clock_kind kind;
        *out = dd_moment_resolve(zone, t.civil, &kind);
        if (t.has_offset) {
            static const dd_zone_span utc_span = {0, 0};
            static const dd_zone utc = {.spans = &utc_span, .count = 1};
            *out = dd_moment_resolve(&utc, t.civil, NULL) - t.offset;
        } else if (kind == DD_CLOCK_TWICE) {
            return "this clock occurs twice that night; add the offset, such as +01:00";
        } else if (kind == DD_CLOCK_SKIPPED) {
            return "this clock does not occur that night: the clocks go forward";
        }
        return NULL;
    }
    int32_t second = t.civil.hour * 3600 + t.civil.minute * 60 + t.civil.second;
    *out = dd_moment_clock_from(zone, after, second);
    for (int i = 0; t.has_weekday && i < 7 && dd_moment_local(zone, *out).weekday != t.weekday; i++)
        *out = dd_moment_clock_after(zone, *out, second);
    return NULL;
}

static bool read_time(dd_session *s, dd_option option, const char *name, dd_moment after, dd_moment *out)
{
    const char *why = dd_span_read(s->plan->zone, s->words->value[option], after, out);
    return !why || wrong_time(s, option, name, why);
}

static bool inside(const dd_plan *plan, dd_moment t)
{
    return t >= plan->begins && t <= plan->end;
}

static bool outside(dd_session *s, const char *what, dd_moment t)
{
    char when[DD_MOMENT_MAX], from[DD_MOMENT_MAX], to[DD_MOMENT_MAX];
    dd_moment_write(when, s->plan->zone, t, DD_MOMENT_DATE_CLOCK);
    dd_moment_write(from, s->plan->zone, s->plan->begins, DD_MOMENT_LOCAL);
    dd_moment_write(to, s->plan->zone, s->plan->end, DD_MOMENT_LOCAL);
    dd_session_exit(s, dd_words_wrong(s->err, s->words, "%s is %s; the plan runs from %s to %s. Say --at with a time inside it", what, when, from, to));
    return false;
}

static bool settle_now(dd_session *s, dd_clock_use use)
{
    const dd_plan *plan = s->plan;
    if (s->words->value[DD_OPTION_AT])
        return read_time(s, DD_OPTION_AT, "at", plan->begins, &s->view.now) && (inside(plan, s->view.now) || outside(s, "--at", s->view.now));
    s->view.now = (dd_moment)time(NULL);
    if (inside(plan, s->view.now))
        return true;
    if (use == DD_CLOCK_MUST)
        return outside(s, "now", s->view.now);
    s->view.now = plan->begins;
    return true;
}

/* The shift `name` that holds now, else its first one in the plan. */
static bool settle_shift(dd_session *s, const char *name)
{
    const dd_moment *edges;
    size_t count;
    if (dd_timeline_periods(s->plan, DD_BY_SHIFT, s->arena, &edges, &count) != DD_OK)
        return dd_session_failed(s, DD_NO_MEMORY) == DD_EXIT_DONE;
    bool found = false;
    for (size_t i = 0; i < count; i++) {
        dd_civil local = dd_moment_local(s->plan->zone, edges[i]);
        int32_t second = local.hour * 3600 + local.minute * 60 + local.second;
        const char *here = s->plan->shift_count ? s->plan->shifts[s->plan->shift_count - 1].name : "day";
        for (size_t k = 0; k < s->plan->shift_count; k++)
            if (s->plan->shifts[k].second_of_day <= second)
                here = s->plan->shifts[k].name;
        bool holds = edges[i] <= s->view.now && s->view.now < edges[i + 1];
        if (name ? strcmp(here, name) != 0 : !holds)
            continue;
        if (found && !holds)
            continue;
        found = true;
        s->view.shift = here;
        s->view.from = edges[i];
        s->view.to = edges[i + 1];
        if (holds)
            return true;
    }
    if (found || !name)
        return true;
    dd_session_exit(s, dd_words_wrong(s->err, s->words, "--shift \"%.60s\": this ward has no such shift in the plan's span", name));
    return false;
}

static bool settle_length(dd_session *s, dd_option option, const char *name)
{
    const char *text = s->words->value[option];
    dd_quantity q;
    int64_t seconds;
    const char *hint;
    if (dd_quantity_read(text, strlen(text), DD_TAKES_TIME, false, &q, &hint) != DD_QF_NONE || dd_quantity_seconds(q, &seconds) != DD_OK)
        return wrong_time(s, option, name, "not a length of time; expected such as 6h or \"90 min\"");
    if (!s->words->value[DD_OPTION_FROM])
        s->view.from = s->view.now;
    s->view.to = seconds < s->plan->end - s->view.from ? s->view.from + seconds : s->plan->end;
    return true;
}

bool dd_span_from_now(dd_session *s)
{
    char when[DD_MOMENT_MAX], end[DD_MOMENT_MAX];
    if (s->view.from < s->view.now)
        s->view.from = s->view.now;
    if (s->view.from < s->view.to)
        return true;
    dd_moment_write(when, s->plan->zone, s->view.now, DD_MOMENT_DATE_CLOCK);
    dd_moment_write(end, s->plan->zone, s->view.to, DD_MOMENT_DATE_CLOCK);
    dd_session_exit(s, dd_words_wrong(s->err, s->words, "the span that is asked for ends %s, and now is %s", end, when));
    return false;
}

bool dd_span_settle(dd_session *s, dd_clock_use use)
{
    s->view.since = s->plan->begins;
    const dd_words *w = s->words;
    s->view.from = s->plan->begins;
    s->view.to = s->plan->end;
    if (!settle_now(s, use))
        return false;
    s->view.known = s->view.now;
    s->view.known_asked = w->value[DD_OPTION_KNOWN];
    if (w->value[DD_OPTION_KNOWN] && !read_time(s, DD_OPTION_KNOWN, "known", s->plan->begins, &s->view.known))
        return false;
    if (w->value[DD_OPTION_SINCE] && !read_time(s, DD_OPTION_SINCE, "since", s->plan->begins, &s->view.since))
        return false;
    bool pages = use == DD_CLOCK_MUST; /* a page or a calendar is for the shift that runs */
    bool asked = w->value[DD_OPTION_FROM] || w->value[DD_OPTION_TO] || w->value[DD_OPTION_FOR];
    if (w->value[DD_OPTION_COMING] && (asked || w->value[DD_OPTION_SHIFT])) {
        dd_session_exit(s, dd_words_wrong(s->err, w, "--next counts from now; it does not go with --from, --to, --for or --shift"));
        return false;
    }
    if ((w->value[DD_OPTION_SHIFT] || (pages && !asked && !w->value[DD_OPTION_COMING])) && !settle_shift(s, w->value[DD_OPTION_SHIFT]))
        return false;
    if (w->value[DD_OPTION_FROM] && !read_time(s, DD_OPTION_FROM, "from", s->plan->begins, &s->view.from))
        return false;
    if (w->value[DD_OPTION_TO] && !read_time(s, DD_OPTION_TO, "to", s->view.from + 1, &s->view.to))
        return false;
    if (w->value[DD_OPTION_FOR] && !settle_length(s, DD_OPTION_FOR, "for"))
        return false;
    if (w->value[DD_OPTION_COMING] && !settle_length(s, DD_OPTION_COMING, "next"))
        return false;
    if (!inside(s->plan, s->view.from))
        return outside(s, "--from", s->view.from);
    if (!inside(s->plan, s->view.to))
        return outside(s, "--to", s->view.to);
    if (s->view.to <= s->view.from) {
        dd_session_exit(s, dd_words_wrong(s->err, w, "the span that is asked for ends before it begins"));
        return false;
    }
    return true;
}
