#include <string.h>

#include "arena.h"
#include "session.h"
#include "verbs.h"

static dd_period period_of(const dd_words *words)
{
    const char *by = words->value[DD_OPTION_BY];
    return by && strcmp(by, "hour") == 0 ? DD_BY_HOUR : by && strcmp(by, "day") == 0 ? DD_BY_DAY : DD_BY_SHIFT;
}

/* The periods that lie in the span asked for, cut at its ends. */
static dd_status one_patient(const dd_session *s, const dd_timeline *timeline, dd_arena *arena, dd_bytes *out)
{
    dd_period by = period_of(s->words);
    const dd_moment *edges;
    const dd_total *totals;
    size_t count, total_count;
    dd_status status = dd_timeline_periods(s->plan, by, arena, &edges, &count);
    if (status != DD_OK)
        return status;
    dd_moment *cut = dd_arena_take_many(arena, count + 2, sizeof *cut);
    if (!cut)
        return DD_NO_MEMORY;
    size_t n = 0;
    for (size_t i = 0; i <= count; i++) {
        dd_moment t = edges[i] < s->view.from ? s->view.from : edges[i] > s->view.to ? s->view.to : edges[i];
        if (n == 0 || t > cut[n - 1])
            cut[n++] = t;
    }
    status = dd_timeline_totals(timeline, cut, n - 1, arena, &totals, &total_count);
    if (status != DD_OK)
        return status;
    return s->view.csv ? dd_rows_totals(&s->view, timeline, totals, total_count, out) : dd_list_totals(&s->view, timeline, totals, total_count, by, out);
}

int dd_totals_verb(const dd_words *words, dd_bytes *out, dd_bytes *err)
{
    const char *by = words->value[DD_OPTION_BY];
    if (by && strcmp(by, "hour") != 0 && strcmp(by, "shift") != 0 && strcmp(by, "day") != 0)
        return dd_words_wrong(err, words, "--by \"%.60s\": expected hour, shift or day", by);
    return dd_session_list(words, out, err, "TOTALS", dd_rows_totals_head, one_patient);
}
