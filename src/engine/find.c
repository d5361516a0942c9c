#include "find.h"

/* Runs of one order stand one after the other, in due order. */
static dd_status close_doses(dd_work *w)
{
    const dd_run *before = NULL;
    for (size_t i = 0; i < w->run_count; i++) {
        const dd_run *r = &w->runs[i];
        const dd_order *o = &w->patient->orders[r->order];
        if (!r->repeated || r->start == DD_NEVER) {
            before = NULL;
            continue;
        }
        if (before && before->order == r->order && o->gap_s > 0 && r->start - before->start < o->gap_s) {
            dd_finding *f = dd_work_finding(w, DD_FINDING_DOSE_GAP, r->order, r->line, r->start);
            if (!f)
                return DD_NO_MEMORY;
            f->due = r->due;
            f->rule = o->gap_rule;
            f->figure = dd_work_minutes(r->start - before->start);
            f->limit = dd_work_minutes(o->gap_s);
        }
        before = r;
    }
    return DD_OK;
}

/* The last second in which anything is to flow on a line after `at` decides; a dose that is over is expected to be. */
static dd_status dry_lines(dd_work *w)
{
    for (size_t i = 0; i < w->run_count; i++) {
        const dd_run *r = &w->runs[i];
        const dd_order *o = &w->patient->orders[r->order];
        if (r->why != DD_END_VOLUME || r->end >= w->plan->end || o->runs == DD_PIGGYBACK || r->repeated || r->start == DD_NEVER)
            continue;
        bool follows = false;
        for (size_t k = 0; k < w->flow_count && !follows; k++)
            follows = w->flows[k].line == r->line && w->flows[k].to > r->end;
        bool dry = false; /* what stays in a bag that held more than was ordered does not run dry */
        for (size_t k = 0; k < w->bag_count && !dry; k++)
            dry = w->bags[k].order == r->order && w->bags[k].empty == r->end;
        if (follows || !dry)
            continue;
        if (!dd_work_finding(w, DD_FINDING_RUNS_DRY_UNCOVERED, r->order, r->line, r->end))
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

dd_status dd_find_all(dd_work *w)
{
    dd_status status = close_doses(w);
    return status == DD_OK ? dry_lines(w) : status;
}
