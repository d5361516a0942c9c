/* explain_sums.c - sums over all lines: in, out, and what is left of the two. */
#include "explain.h"

#include <string.h>

#include "phrase.h"

#define TEXT_CEILING ((size_t)1 << 16)

static void step_amount(dd_explain *e, const char *what, int64_t u, bool less, bool unknown, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_bytes_text(&value, less && !unknown ? "- " : "");
    if (unknown)
        dd_bytes_char(&value, '?');
    else
        dd_explain_exact(&value, u);
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

/* What orders give, one step for each order and for its flushes. */
static int64_t order_steps(dd_explain *e, dd_moment from, dd_moment to)
{
    int64_t sum = 0;
    for (int o = 0; o < e->p->order_count; o++)
        for (int part = DD_PART_BAG; part <= DD_PART_FLUSH; part++) {
            int64_t u = dd_timeline_given_of(e->t, (dd_given_of){.order = o, .part = part, .due = DD_NEVER}, from, to).u;
            if (u == 0)
                continue;
            dd_bytes what = DD_BYTES(TEXT_CEILING);
            dd_bytes_text(&what, e->p->orders[o].key);
            dd_bytes_text(&what, part == DD_PART_FLUSH ? ", flushes" : "");
            step_amount(e, dd_phrase_text(&what), u, false, false, dd_explain_order_row(e, o));
            dd_bytes_free(&what);
            sum += u;
        }
    for (size_t i = 0; i < e->t->run_count; i++) {
        const dd_run *r = &e->t->runs[i];
        if (r->why != DD_END_UNKNOWN || r->due < from || r->due >= to)
            continue;
        dd_bytes what = DD_BYTES(TEXT_CEILING);
        dd_bytes_text(&what, e->p->orders[r->order].key);
        dd_bytes_text(&what, " due ");
        dd_phrase_time(&what, e->t->plan, r->due, DD_MOMENT_DAY);
        dd_bytes_text(&what, ": given or not?");
        step_amount(e, dd_phrase_text(&what), 0, false, true, dd_explain_order_row(e, r->order));
        dd_bytes_free(&what);
    }
    return sum;
}

static int64_t entry_steps(dd_explain *e, bool in, dd_moment from, dd_moment to)
{
    int64_t sum = 0;
    for (size_t i = 0; i < e->t->event_count; i++) {
        const dd_event *v = e->t->events[i];
        if ((v->kind != (in ? DD_EVENT_INTAKE : DD_EVENT_OUTPUT)) || v->time < from || v->time >= to || !v->what)
            continue;
        int64_t u = 0;
        bool known = dd_timeline_measure(v, &u);
        dd_bytes what = DD_BYTES(TEXT_CEILING);
        dd_bytes_text(&what, v->what);
        dd_bytes_char(&what, ' ');
        dd_phrase_time(&what, e->t->plan, v->time, DD_MOMENT_DAY);
        step_amount(e, dd_phrase_text(&what), u, !in && e->figure->kind == DD_FIGURE_SUM, !known, dd_explain_event_row(e, v));
        dd_bytes_free(&what);
        sum += known ? u : 0;
    }
    return sum;
}

/* Every second of every flow, and every entry, once more. */
static int64_t seconds_in(const dd_explain *e, dd_moment from, dd_moment to)
{
    int64_t sum = 0;
    for (int o = 0; o < e->p->order_count; o++)
        sum += dd_explain_seconds(e, o, -1, NULL, from, to);
    for (size_t i = 0; i < e->t->event_count; i++) {
        const dd_event *v = e->t->events[i];
        int64_t u;
        if (v->kind == DD_EVENT_INTAKE && v->time >= from && v->time < to && v->what && dd_timeline_measure(v, &u))
            sum += u;
    }
    return sum;
}

static int64_t seconds_out(const dd_explain *e, dd_moment from, dd_moment to)
{
    int64_t sum = 0;
    for (size_t i = 0; i < e->t->event_count; i++) {
        const dd_event *v = e->t->events[i];
        int64_t u;
        if (v->kind == DD_EVENT_OUTPUT && v->time >= from && v->time < to && v->what && dd_timeline_measure(v, &u))
            sum += u;
    }
    return sum;
}

void dd_explain_sums(dd_explain *e)
{
    bool in = e->figure->kind != DD_FIGURE_OUT, out = e->figure->kind != DD_FIGURE_IN, sum = in && out;
    dd_moment from = sum ? e->t->plan->begins : e->figure->from, to = e->figure->to;
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    int64_t second = (in ? seconds_in(e, from, to) : 0) - (out ? seconds_out(e, from, to) : 0);
    dd_bytes_text(&what, sum ? "SUM, in less out, " : in ? "IN, " : "OUT, ");
    dd_explain_span(&what, e, from, to);
    dd_phrase_volume(&value, e->p, (dd_u){sum || in ? second : -second});
    dd_bytes_text(&value, " mL");
    dd_explain_title(e, dd_phrase_text(&what), dd_phrase_text(&value));
    int64_t steps = in ? order_steps(e, from, to) + entry_steps(e, true, from, to) : 0;
    if (out)
        steps -= entry_steps(e, false, from, to);
    if (e->step == 0)
        dd_explain_step(e, "nothing in this period", "0 mL", NULL);
    dd_sheet_rule(e->sheet);
    int64_t shown = in && !out ? steps : out && !in ? -steps : steps, again = in && !out ? second : out && !in ? -second : second;
    dd_explain_exact(dd_phrase_start(&value), shown);
    dd_bytes_text(&value, ": the exact parts are added, then the sum is rounded once");
    dd_explain_note(e, "rounding", dd_phrase_text(&value));
    if (sum && e->p->forward_known) {
        dd_phrase_forward(dd_phrase_start(&value), e->p);
        dd_explain_note(e, "before", dd_phrase_text(&value));
    }
    dd_explain_exact(dd_phrase_start(&value), again);
    dd_explain_second(e, "all flows second by second, all entries once more", dd_phrase_text(&value), shown == again);
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}

void dd_explain_urine(dd_explain *e)
{
    char number[DD_NUMBER_MAX];
    dd_urine urine = dd_timeline_urine(e->t);
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    if (urine.to == DD_NEVER || urine.ul_per_kg_h.den == 0) {
        dd_sheet_text(e->sheet, 0, 0, "no urine is charted, or over less than an hour, or there is no weight");
        dd_bytes_free(&what);
        dd_bytes_free(&value);
        return;
    }
    dd_ratio ml = urine.ul_per_kg_h, again;
    bool fits = dd_ratio_over(ml, (dd_ratio){1000, 1}, &ml) == DD_OK;
    dd_bytes_text(&what, "urine, ");
    dd_explain_span(&what, e, urine.from, urine.to);
    dd_bytes_add(&value, number, dd_number_ratio(number, ml, 2, DD_STYLE_PERSON));
    dd_bytes_text(&value, urine.unknown ? "? mL/kg/h" : " mL/kg/h");
    dd_explain_title(e, dd_phrase_text(&what), dd_phrase_text(&value));
    int64_t sum = 0;
    for (size_t i = 0; i < e->t->event_count; i++) {
        const dd_event *v = e->t->events[i];
        int64_t u = 0;
        if (v->kind != DD_EVENT_OUTPUT || !v->what || strcmp(v->what, "urine") != 0 || v->time < urine.from || v->time > urine.to)
            continue;
        bool known = dd_timeline_measure(v, &u);
        dd_phrase_time(dd_phrase_start(&what), e->t->plan, v->time, DD_MOMENT_DAY);
        step_amount(e, dd_phrase_text(&what), u, false, !known, dd_explain_event_row(e, v));
        sum += known ? u : 0;
    }
    step_amount(e, "in all", sum, false, false, NULL);
    dd_phrase_weight(dd_phrase_start(&value), e->p);
    dd_explain_step(e, "by the weight", dd_phrase_text(&value), NULL);
    dd_phrase_span(dd_phrase_start(&value), urine.to - urine.from);
    dd_explain_step(e, "and by the time, to the last entry", dd_phrase_text(&value), NULL);
    dd_sheet_rule(e->sheet);
    /* the other way round: by the time first, in seconds, then by the weight in grams */
    bool same = fits && dd_ratio_make(sum, urine.to - urine.from, &again) == DD_OK && dd_ratio_over(again, (dd_ratio){e->p->weight_mg, 1000}, &again) == DD_OK
        && dd_ratio_compare(again, ml) == 0;
    dd_phrase_start(&value);
    if (same)
        dd_bytes_add(&value, number, dd_number_ratio(number, again, 2, DD_STYLE_PERSON));
    dd_bytes_text(&value, " mL/kg/h");
    dd_explain_second(e, "by the second first, then by the gram", dd_phrase_text(&value), same);
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}
