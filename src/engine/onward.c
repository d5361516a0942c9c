#include "onward.h"

#include "whole.h"

#define HOUR_S 3600

static dd_status carry_on(const dd_timeline *t, const dd_set_rate *remainder, dd_moment until, dd_arena *arena, dd_timeline *out)
{
    dd_plan *longer = dd_arena_take(arena, sizeof *longer);
    if (!longer)
        return DD_NO_MEMORY;
    *longer = *t->plan;
    dd_moment end = longer->begins + (dd_moment)dd_whole_ceil((dd_int128)until - longer->begins, HOUR_S) * HOUR_S;
    longer->end = end > longer->end ? end : longer->end;
    return dd_timeline_bare(longer, t->patient, t->now, t->known, remainder, arena, out);
}

static int remainder_of(const dd_patient *p)
{
    for (int i = 0; i < p->order_count; i++)
        if (p->orders[i].rate_kind == DD_RATE_REMAINDER)
            return i;
    return -1;
}

dd_status dd_onward_make(const dd_work *w, dd_moment until, dd_timeline *out)
{
    const dd_timeline t = {.plan = w->plan, .patient = w->patient, .now = w->now, .known = w->known};
    int order = remainder_of(w->patient);
    return carry_on(&t, order < 0 ? NULL : &w->rates[order][0], until, w->arena, out);
}

dd_status dd_timeline_onward(const dd_timeline *t, dd_moment until, dd_arena *arena, dd_timeline *out)
{
    return carry_on(t, t->remainder_order < 0 ? NULL : &t->rates[t->remainder_order][0], until, arena, out);
}
