#include "work.h"

#include "whole.h"

static const uint8_t severity_of[] = {
#define FINDING(id, code, severity, rule, sentence) [DD_FINDING_##id] = DD_##severity,
#include "daydrip/finding.def"
};

static void *one_more(dd_work *w, void *items, size_t *count, size_t *room, size_t size)
{
    char *start;
    if (!dd_arena_room(w->arena, items, room, *count, size))
        return NULL;
    start = *(char **)items;
    return start + (*count)++ * size;
}

dd_flow *dd_work_flow(dd_work *w)
{
    return one_more(w, &w->flows, &w->flow_count, &w->flow_room, sizeof *w->flows);
}

dd_bag *dd_work_bag(dd_work *w)
{
    return one_more(w, &w->bags, &w->bag_count, &w->bag_room, sizeof *w->bags);
}

dd_run *dd_work_run(dd_work *w)
{
    return one_more(w, &w->runs, &w->run_count, &w->run_room, sizeof *w->runs);
}

dd_mark *dd_work_mark(dd_work *w)
{
    return one_more(w, &w->marks, &w->mark_count, &w->mark_room, sizeof *w->marks);
}

dd_finding *dd_work_finding(dd_work *w, dd_finding_code code, int order, int line, dd_moment at)
{
    dd_finding *f = one_more(w, &w->findings, &w->finding_count, &w->finding_room, sizeof *w->findings);
    if (f)
        *f = (dd_finding){.at = at, .until = DD_NEVER, .to = DD_NEVER, .due = DD_NEVER, .order = (int16_t)order, .other = -1, .line = (int16_t)line,
            .code = (uint8_t)code, .severity = severity_of[code]};
    return f;
}

dd_finding *dd_work_finding_by(dd_work *w, dd_finding_code code, const dd_rule *rule, int order, int line, dd_moment at)
{
    dd_finding *f = dd_work_finding(w, code, order, line, at);
    if (f && rule) {
        f->rule = rule;
        f->severity = rule->severity != DD_SEV_NONE ? rule->severity : f->severity;
    }
    return f;
}

static bool note_unchecked(dd_work *w, dd_unchecked note)
{
    for (size_t i = 0; i < w->unchecked_count; i++) {
        const dd_unchecked *u = &w->unchecked[i];
        if (u->code == note.code && u->want == note.want && u->order == note.order && u->line == note.line)
            return true;
    }
    dd_unchecked *u = one_more(w, &w->unchecked, &w->unchecked_count, &w->unchecked_room, sizeof *w->unchecked);
    if (u)
        *u = note;
    return u != NULL;
}

int64_t dd_work_step(const dd_order *o)
{
    const int64_t drop = INT64_C(60) * 1000 * 1000000; /* a drop a minute in uL/h, times the drops in a mL, times 10^6 */
    return o->device == DD_GRAVITY ? (drop + o->drop_factor_micro - 1) / o->drop_factor_micro : o->rate_step_ul_h;
}

bool dd_work_unchecked(dd_work *w, dd_finding_code code, dd_want want, int order)
{
    return note_unchecked(w, (dd_unchecked){.order = (int16_t)order, .line = -1, .code = (uint8_t)code, .want = (uint8_t)want});
}

bool dd_work_unchecked_line(dd_work *w, dd_finding_code code, dd_want want, int line)
{
    return note_unchecked(w, (dd_unchecked){.order = -1, .line = (int16_t)line, .code = (uint8_t)code, .want = (uint8_t)want});
}

bool dd_work_unchecked_but(dd_work *w, dd_finding_code code, dd_want want, dd_quantity least)
{
    return note_unchecked(w, (dd_unchecked){.least = least, .order = -1, .line = -1, .code = (uint8_t)code, .want = (uint8_t)want});
}

/* How far beyond the limit is still within; where the sum does not fit, nothing is. */
static dd_ratio tolerance(dd_ratio limit, dd_ratio step)
{
    dd_ratio hundredth;
    if (dd_ratio_over(limit, (dd_ratio){100, 1}, &hundredth) != DD_OK)
        hundredth = (dd_ratio){0, 1};
    return dd_ratio_compare(hundredth, step) < 0 ? step : hundredth;
}

bool dd_work_above(dd_ratio figure, dd_ratio limit, dd_ratio step)
{
    dd_ratio most;
    if (dd_ratio_plus(limit, tolerance(limit, step), &most) != DD_OK)
        most = limit;
    return dd_ratio_compare(figure, most) > 0;
}

bool dd_work_below(dd_ratio figure, dd_ratio limit, dd_ratio step)
{
    dd_ratio least;
    if (dd_ratio_minus(limit, tolerance(limit, step), &least) != DD_OK)
        least = limit;
    return dd_ratio_compare(figure, least) < 0;
}

dd_quantity dd_work_quantity(int64_t micro, dd_unit unit)
{
    return (dd_quantity){.micro = micro, .per_micro = 1000000, .unit = (uint8_t)unit, .per = DD_UNIT_NONE};
}

dd_quantity dd_work_ml(int64_t u)
{
    return dd_work_quantity((u + DD_U_PER_UL / 2) / DD_U_PER_UL * 1000, DD_UNIT_ML);
}

dd_quantity dd_work_minutes(int64_t seconds)
{
    return seconds % 60 == 0 ? dd_work_quantity(seconds / 60 * 1000000, DD_UNIT_MIN) : dd_work_quantity(seconds * 1000000, DD_UNIT_S);
}

dd_quantity dd_work_percent(int64_t part, int64_t whole)
{
    int64_t hundredths;
    if (!dd_whole_scale_half_up(part, 10000, whole, &hundredths))
        hundredths = 0;
    return dd_work_quantity(hundredths * 10000, DD_UNIT_PERCENT);
}
