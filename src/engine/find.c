#include "find.h"

#include <stdlib.h>
#include <string.h>

#include "daily.h"
#include "daydrip/rule.h"
#include "excess.h"
#include "fast.h"
#include "meet.h"
#include "peaks.h"
#include "stock.h"
#include "strong.h"
#include "written.h"

static int by_start(const void *left, const void *right)
{
    const dd_run *a = *(const dd_run *const *)left, *b = *(const dd_run *const *)right;
    int c = (a->order > b->order) - (a->order < b->order);
    c = c ? c : (a->start > b->start) - (a->start < b->start);
    return c ? c : (a > b) - (a < b);
}

/* By when they start: the chart may have doses in another order than that in which they were due, and have some left out. */
static dd_status close_doses(dd_work *w)
{
    const dd_run **doses = dd_arena_take_many(w->arena, w->run_count + 1, sizeof *doses);
    size_t count = 0;
    if (!doses)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < w->run_count; i++)
        if (w->runs[i].repeated && w->runs[i].start != DD_NEVER)
            doses[count++] = &w->runs[i];
    if (count > 1)
        qsort(doses, count, sizeof *doses, by_start);
    for (size_t i = 1; i < count; i++) {
        const dd_run *before = doses[i - 1], *r = doses[i];
        const dd_order *o = &w->patient->orders[r->order];
        if (before->order != r->order || o->gap_s <= 0 || r->start - before->start >= o->gap_s)
            continue;
        dd_finding *f = dd_work_finding(w, DD_FINDING_DOSE_GAP, r->order, r->line, r->start);
        if (!f)
            return DD_NO_MEMORY;
        f->due = r->due;
        f->rule = o->gap_rule;
        f->figure = dd_work_minutes(r->start - before->start);
        f->limit = dd_work_minutes(o->gap_s);
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
    const dd_use *uses = NULL;
    size_t count = 0;
    dd_status status = close_doses(w);
    if (status == DD_OK)
        status = dry_lines(w);
    if (status == DD_OK)
        status = dd_use_make(w, &uses, &count);
    if (status == DD_OK)
        status = dd_written_find(w, uses, count);
    if (status == DD_OK)
        status = dd_strong_find(w, uses, count);
    if (status == DD_OK)
        status = dd_fast_find(w, uses, count);
    if (status == DD_OK)
        status = dd_meet_find(w, uses, count);
    if (status == DD_OK)
        status = dd_stock_find(w);
    if (status == DD_OK)
        status = dd_peaks_find(w);
    if (status == DD_OK)
        status = dd_daily_find(w);
    return status == DD_OK ? dd_excess_find(w) : status;
}

dd_status dd_find_finished(dd_work *w, const dd_timeline *t)
{
    dd_status status = dd_weighing_find(w, t);
    if (status == DD_OK)
        status = dd_charted_find(w, t);
    if (status == DD_OK)
        status = dd_balance_find(w, t);
    if (status == DD_OK)
        status = dd_sites_find(w, t);
    return status == DD_OK ? dd_course_find(w, t) : status;
}

/* ---- the last word ---- */

static const char *const codes[] = {
#define FINDING(id, code, severity, rule, sentence) code,
#include "daydrip/finding.def"
};

bool dd_find_within(const dd_finding *f, dd_quantity up_to)
{
    int from_limit, from_accepted;
    if (up_to.unit == DD_UNIT_NONE)
        return true;
    if (!dd_quantity_compare(f->figure, up_to, &from_accepted))
        return false;
    bool too_little = dd_quantity_compare(f->figure, f->limit, &from_limit) && from_limit < 0;
    return too_little ? from_accepted >= 0 : from_accepted <= 0;
}

static const dd_accepted *find_accepted(const dd_work *w, const dd_finding *f)
{
    const dd_patient *p = w->patient;
    for (size_t i = 0; i < p->accepted_count; i++) {
        const dd_accepted *a = &p->accepted[i];
        if (strcmp(a->finding, codes[f->code]) == 0 && a->order == f->order && (a->line < 0 || a->line == f->line) && w->now < a->until
            && dd_find_within(f, a->up_to))
            return a;
    }
    return NULL;
}

/* The rule two-primaries is a switch; what waits for a good reason stays a NOTE. */
static bool is_off(const dd_work *w, dd_finding *f)
{
    if (f->code != DD_FINDING_TWO_PRIMARIES)
        return false;
    const dd_rule_about about = dd_rule_of_order(w->plan, w->patient, f->order);
    f->rule = dd_rule_find(w->plan, DD_RULE_TWO_PRIMARIES, &about);
    return f->rule && !dd_rule_is_on(f->rule);
}

void dd_find_settle(dd_work *w)
{
    size_t kept = 0;
    for (size_t i = 0; i < w->finding_count; i++) {
        dd_finding *f = &w->findings[i];
        if (is_off(w, f))
            continue;
        bool weaker = f->code == DD_FINDING_TWO_PRIMARIES && f->severity == DD_NOTE;
        if (f->rule && f->rule->at.line && f->rule->severity != DD_SEV_NONE && !weaker)
            f->severity = f->rule->severity;
        f->accepted = find_accepted(w, f);
        w->findings[kept++] = *f;
    }
    w->finding_count = kept;
}
