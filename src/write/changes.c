#include "changes.h"

#include <string.h>

#include "bytes.h"
#include "names.h"

#define MOST_LINES 12 /* of one patient */

/* The next time from now on at which the order's bag runs dry, its next run starts, its run ends. DD_NEVER: none in this plan. */
static dd_moment next_dry(const dd_timeline *t, int order)
{
    dd_moment next = DD_NEVER;
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == order && t->bags[i].empty >= t->now && (next == DD_NEVER || t->bags[i].empty < next))
            next = t->bags[i].empty;
    return next;
}

static dd_moment next_start(const dd_timeline *t, int order)
{
    for (size_t i = 0; i < t->run_count; i++) /* by start */
        if (t->runs[i].order == order && !t->runs[i].charted && t->runs[i].start != DD_NEVER && t->runs[i].start >= t->now)
            return t->runs[i].start;
    return DD_NEVER;
}

static dd_moment last_end(const dd_timeline *t, int order)
{
    dd_moment end = DD_NEVER;
    for (size_t i = 0; i < t->run_count; i++)
        if (t->runs[i].order == order && !t->runs[i].repeated && t->runs[i].end != DD_NEVER && t->runs[i].end >= t->now)
            end = t->runs[i].end;
    return end;
}

/* Where it is, or will be, last: the chart may have moved it. */
static int line_of(const dd_timeline *t, int order)
{
    int line = t->patient->orders[order].line;
    for (size_t i = 0; i < t->run_count; i++) /* by start */
        if (t->runs[i].order == order && !t->runs[i].repeated && t->runs[i].start != DD_NEVER)
            line = t->runs[i].line;
    return line;
}

static void say_moment(const dd_timeline *t, dd_moment moment, dd_bytes *out)
{
    char text[DD_MOMENT_MAX];
    if (moment == DD_NEVER) {
        dd_bytes_text(out, "not in this plan");
        return;
    }
    dd_moment_write(text, t->plan->zone, moment, DD_MOMENT_DAY);
    dd_bytes_text(out, text);
}

static void say(const dd_timeline *before, const dd_timeline *after, int order, const char *what, dd_moment was, dd_moment is, dd_bytes *out)
{
    if (was == is)
        return;
    dd_bytes_form(out, "  %s on %s: %s ", after->patient->orders[order].key, after->patient->lines[line_of(after, order)].key, what);
    say_moment(after, is, out);
    dd_bytes_text(out, ", was ");
    say_moment(before, was, out);
    dd_bytes_char(out, '\n');
}

static bool had(const dd_timeline *before, const dd_finding *f)
{
    for (size_t i = 0; i < before->finding_count; i++) {
        const dd_finding *g = &before->findings[i];
        if (g->code == f->code && g->order == f->order && g->line == f->line && g->due == f->due)
            return true;
    }
    return false;
}

/* Many entries at once change much: the first lines, then how many more there are. */
static void keep_first(dd_bytes *out, size_t from)
{
    size_t lines = 0, cut = 0;
    for (size_t i = from; i < out->length; i++)
        if (out->data[i] == '\n' && ++lines == MOST_LINES)
            cut = i + 1;
    if (lines <= MOST_LINES)
        return;
    out->length = cut;
    dd_bytes_form(out, "  and %lu more: see the report\n", (unsigned long)(lines - MOST_LINES));
}

dd_status dd_changes_write(const dd_timeline *before, const dd_timeline *after, dd_bytes *out)
{
    size_t from = out->length;
    for (int i = 0; i < after->patient->order_count; i++) {
        say(before, after, i, "runs dry", next_dry(before, i), next_dry(after, i), out);
        say(before, after, i, after->patient->orders[i].repeat == DD_ONCE ? "starts" : "next", next_start(before, i), next_start(after, i), out);
        say(before, after, i, "ends", last_end(before, i), last_end(after, i), out);
    }
    for (size_t i = 0; i < after->finding_count; i++) {
        const dd_finding *f = &after->findings[i];
        if (f->severity < DD_WATCH || had(before, f))
            continue;
        dd_bytes_form(out, "  %s", dd_names_severity(f->severity));
        if (f->order >= 0)
            dd_bytes_form(out, " %s", after->patient->orders[f->order].key);
        else if (f->line >= 0)
            dd_bytes_form(out, " %s", after->patient->lines[f->line].key);
        dd_bytes_form(out, ": %s [%s]\n", dd_names_sentence(f->code), dd_names_finding(f->code));
    }
    if (out->failed)
        return DD_NO_MEMORY;
    keep_first(out, from);
    return out->failed ? DD_NO_MEMORY : DD_OK;
}
