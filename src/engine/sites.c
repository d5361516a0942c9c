/* sites.c - what is wrong at a site, and what is overdue there. */
#include <string.h>

#include "care.h"
#include "find.h"

/* The last look that found anything but clean, unless a later one found it clean or the line was taken out; NULL: none. */
static const dd_event *not_clean(const dd_timeline *t, int line)
{
    for (size_t i = t->event_count; i-- > 0;) {
        const dd_event *e = t->events[i];
        if (e->line != line)
            continue;
        if (e->kind == DD_EVENT_REMOVED)
            return NULL;
        if (e->kind == DD_EVENT_CHECKED)
            return e->value_text && strcmp(e->value_text, "clean") != 0 ? e : NULL;
    }
    return NULL;
}

static bool say_site(dd_work *w, const dd_timeline *t, int line)
{
    const dd_event *e = not_clean(t, line);
    if (!e)
        return true;
    dd_finding *f = dd_work_finding(w, DD_FINDING_SITE, -1, line, e->time);
    if (!f)
        return false;
    f->event = e;
    f->word = e->value_text;
    return true;
}

static bool say_overdue(dd_work *w, int line, const dd_upkeep_due *due, const char *what)
{
    if (due->every <= 0 || due->at == DD_NEVER || due->at >= w->now)
        return true;
    dd_finding *f = dd_work_finding_by(w, DD_FINDING_OVERDUE, due->rule, -1, line, due->at);
    if (!f)
        return false;
    f->word = what;
    f->figure = dd_work_minutes(w->now - due->since);
    f->limit = dd_work_minutes(due->every);
    return true;
}

static bool unknown_since(const dd_upkeep_due *due)
{
    return due->every > 0 && due->at == DD_NEVER;
}

/* Looks only where the chart counts: a ward that charts on paper is not told that it never looks. */
static bool say_line(dd_work *w, const dd_timeline *t, int line)
{
    const dd_upkeep care = dd_upkeep_of(t, line);
    if (care.off_since != DD_NEVER || (care.placed != DD_NEVER && care.placed > w->now))
        return true;
    if (!say_overdue(w, line, &care.dressing, "a new dressing") || !say_overdue(w, line, &care.set, "a new set") || !say_overdue(w, line, &care.device, "a new device"))
        return false;
    if (unknown_since(&care.dressing) && !dd_work_unchecked_line(w, DD_FINDING_OVERDUE, DD_WANT_DRESSED, line))
        return false;
    if (unknown_since(&care.set) && care.in_use && !dd_work_unchecked_line(w, DD_FINDING_OVERDUE, DD_WANT_SET, line))
        return false;
    if (unknown_since(&care.device) && !dd_work_unchecked_line(w, DD_FINDING_OVERDUE, DD_WANT_PLACED, line))
        return false;
    if (!t->chart_counts || w->now <= w->plan->begins || (w->patient->arrived != DD_NEVER && w->patient->arrived > w->now))
        return true;
    const dd_upkeep_due look = dd_care_look(t, line, &care);
    return say_overdue(w, line, &look, "a look at the site");
}

dd_status dd_sites_find(dd_work *w, const dd_timeline *t)
{
    for (int line = 0; line < w->patient->line_count; line++)
        if (!say_site(w, t, line) || !say_line(w, t, line))
            return DD_NO_MEMORY;
    return DD_OK;
}
