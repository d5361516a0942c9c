/* explain_need.c - what a child needs in a day, and what is allowed. */
#include "explain.h"

#include "beside.h"
#include "phrase.h"

#define TEXT_CEILING ((size_t)1 << 16)
#define ML 1000
#define DAY_S INT64_C(86400)
#define HUNDREDTHS 100 /* of a uL: what a milligram of weight brings is a whole number of them */

typedef struct need {
    dd_explain *e;
    dd_day_need n;
    dd_bytes what, value;
} need;

static void step_ml(need *d, const char *what, dd_ratio ul, const char *origin)
{
    dd_beside_figure(dd_phrase_start(&d->value), ul, ML, 3, false);
    dd_bytes_text(&d->value, " mL");
    dd_explain_step(d->e, what, dd_phrase_text(&d->value), origin);
}

static void step_weight(need *d)
{
    dd_phrase_weight(dd_phrase_start(&d->value), d->e->p);
    dd_explain_step(d->e, "weight", dd_phrase_text(&d->value), dd_explain_row(d->e, "patients.csv", d->e->p->line_of_file));
}

static void end(need *d, const char *how, dd_ratio again, dd_ratio page)
{
    dd_beside_figure(dd_phrase_start(&d->value), again, ML, 3, false);
    dd_bytes_text(&d->value, " mL");
    dd_explain_second(d->e, how, dd_phrase_text(&d->value), dd_ratio_compare(again, page) == 0);
}

static void by_weight(need *d)
{
    static const struct { int64_t mg, hundredths; const char *what; } bands[] = {
        {10000000, 10, "the first 10 kg: 100 mL/kg/day"}, {10000000, 5, "the next 10 kg: 50 mL/kg/day"}, {INT64_MAX, 2, "each further kg: 20 mL/kg/day"}};
    int64_t left = d->e->p->weight_mg;
    dd_int128 sum = 0;
    dd_ratio kg = {0};
    dd_beside_figure(dd_phrase_start(&d->value), d->n.low, ML, 0, false);
    dd_bytes_text(&d->value, " mL");
    if (dd_ratio_over(d->n.low, (dd_ratio){left, 1000000}, &kg) == DD_OK) {
        dd_bytes_text(&d->value, ", ");
        dd_beside_figure(&d->value, kg, ML, 1, false);
        dd_bytes_text(&d->value, " mL by kg");
    }
    dd_explain_title(d->e, "what is needed in a day, by weight", dd_phrase_text(&d->value));
    step_weight(d);
    for (size_t i = 0; i < 3 && left > 0; i++) {
        int64_t mg = left < bands[i].mg ? left : bands[i].mg;
        step_ml(d, bands[i].what, (dd_ratio){(dd_int128)mg * bands[i].hundredths, HUNDREDTHS}, "Holliday 1957");
        left -= mg;
    }
    step_ml(d, "in all", d->n.low, NULL);
    step_ml(d, "by kg", kg, NULL);
    dd_sheet_rule(d->e->sheet);
    for (int64_t mg = 0; mg < d->e->p->weight_mg; mg += 1000) { /* the last one may be a part */
        int64_t gram = d->e->p->weight_mg - mg < 1000 ? d->e->p->weight_mg - mg : 1000;
        sum += gram * (mg < 10000000 ? 10 : mg < 20000000 ? 5 : 2);
    }
    end(d, "gram by gram", (dd_ratio){sum, HUNDREDTHS}, d->n.low);
}

static void by_day_of_life(need *d)
{
    char number[DD_NUMBER_MAX];
    dd_int128 sum = 0;
    dd_beside_figure(dd_phrase_start(&d->value), d->n.low, ML, 0, false);
    dd_bytes_text(&d->value, " to ");
    dd_beside_figure(&d->value, d->n.high, ML, 0, false);
    dd_bytes_text(&d->value, " mL, ");
    dd_beside_figure(&d->value, (dd_ratio){d->n.low_ul_kg, 1}, ML, 1, false);
    dd_bytes_text(&d->value, " mL by kg at least");
    dd_explain_title(d->e, "what is needed in a day, by day of life", dd_phrase_text(&d->value));
    step_weight(d);
    dd_bytes_text(dd_phrase_start(&d->what), "day of life, ");
    dd_phrase_age(&d->what, d->e->p);
    dd_bytes_text(&d->what, " old");
    dd_number_scaled(number, d->n.day, 0, 0, DD_STYLE_PERSON);
    dd_explain_step(d->e, dd_phrase_text(&d->what), number, dd_explain_row(d->e, "patients.csv", d->e->p->line_of_file));
    step_ml(d, "that day by kg, at least", (dd_ratio){d->n.low_ul_kg, 1}, "NICE NG29");
    step_ml(d, "and at most", (dd_ratio){d->n.high_ul_kg, 1}, "NICE NG29");
    step_ml(d, "x weight, at least", d->n.low, NULL);
    step_ml(d, "and at most", d->n.high, NULL);
    dd_sheet_rule(d->e->sheet);
    for (int64_t mg = 0; mg < d->e->p->weight_mg; mg += 1000)
        sum += d->n.low_ul_kg * (d->e->p->weight_mg - mg < 1000 ? d->e->p->weight_mg - mg : 1000);
    end(d, "the least, gram by gram", (dd_ratio){sum, 1000000}, d->n.low);
}

void dd_explain_need(dd_explain *e)
{
    need d = {.e = e, .what = DD_BYTES(TEXT_CEILING), .value = DD_BYTES(TEXT_CEILING)};
    dd_status status = dd_timeline_need(e->t->plan, e->p, e->t->plan->begins, &d.n);
    if (status == DD_OK && d.n.kind == DD_NEED_WEIGHT)
        by_weight(&d);
    else if (status == DD_OK && d.n.kind == DD_NEED_DAY)
        by_day_of_life(&d);
    else
        dd_sheet_text(e->sheet, 0, 0, "no need is worked out: an adult's is a range of the rule maintenance; else age or weight are not known");
    e->text->failed = e->text->failed || d.what.failed || d.value.failed;
    dd_bytes_free(&d.what);
    dd_bytes_free(&d.value);
}

/* ---- the allowance ---- */

static int64_t in_by(const dd_explain *e, dd_moment from, dd_moment to, bool seconds, bool *unknown)
{
    int64_t sum = 0, u;
    for (int o = 0; o < e->p->order_count; o++)
        sum += seconds ? dd_explain_seconds(e, o, -1, NULL, from, to) : dd_timeline_given_of(e->t, (dd_given_of){.order = o, .part = -1, .due = DD_NEVER}, from, to).u;
    for (size_t i = 0; i < e->t->event_count; i++) {
        const dd_event *v = e->t->events[i];
        if (v->kind != DD_EVENT_INTAKE || v->time < from || v->time >= to || !v->what)
            continue;
        bool known = dd_timeline_measure(v, &u);
        sum += known ? u : 0;
        *unknown |= !known;
    }
    for (size_t i = 0; i < e->t->run_count; i++)
        *unknown |= e->t->runs[i].why == DD_END_UNKNOWN && e->t->runs[i].due >= from && e->t->runs[i].due < to;
    return sum;
}

/* What the doses hold of which nobody knows, their flushes too. */
static int64_t asked_for(const dd_explain *e)
{
    int64_t sum = 0;
    for (size_t i = 0; i < e->t->run_count; i++) {
        const dd_order *o = &e->p->orders[e->t->runs[i].order];
        if (e->t->runs[i].why == DD_END_UNKNOWN && o->volume_ul != DD_UNKNOWN)
            sum += (o->volume_ul + (o->flush_ul == DD_UNKNOWN ? 0 : o->flush_ul)) * DD_U_PER_UL;
    }
    return sum;
}

static void add_in(dd_bytes *out, const dd_explain *e, const char *before, int64_t u, bool unknown)
{
    dd_bytes_text(out, before);
    dd_phrase_volume(out, e->p, (dd_u){u});
    dd_bytes_text(out, unknown ? "? mL" : " mL");
}

void dd_explain_allowance(dd_explain *e)
{
    const dd_plan *plan = e->t->plan;
    dd_moment now = e->t->now < plan->begins ? plan->begins : e->t->now > plan->end ? plan->end : e->t->now;
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_ratio whole;
    int64_t window;
    bool before_unknown = false, after_unknown = false;
    if (e->p->allowance_ul_day == DD_UNKNOWN || dd_ratio_make((dd_int128)e->p->allowance_ul_day * (plan->end - plan->begins), DAY_S, &whole) != DD_OK
        || dd_ratio_half_up(whole, 1, &window) != DD_OK) {
        dd_sheet_text(e->sheet, 0, 0, "no allowance is ordered");
        return;
    }
    int64_t before = in_by(e, plan->begins, now, false, &before_unknown), after = in_by(e, now, plan->end, false, &after_unknown);
    dd_phrase_ul(&value, window);
    if (now > plan->begins && now < plan->end) {
        add_in(&value, e, ", in so far ", before, before_unknown);
        add_in(&value, e, ", to come ", after, after_unknown);
    }
    add_in(&value, e, ", makes ", before + after, before_unknown || after_unknown);
    int64_t asked = asked_for(e);
    if (asked > 0) {
        add_in(&value, e, ", if what is asked for was given ", before + asked, false);
        add_in(&value, e, " and ", before + after + asked, false);
    }
    dd_explain_title(e, "allowance of the plan and what goes in", dd_phrase_text(&value));
    dd_bytes_text(dd_phrase_start(&value), "ordered");
    if (e->p->allowance_text) {
        dd_bytes_text(&value, ", ");
        dd_phrase_spaced(&value, e->p->allowance_text);
    }
    dd_bytes shown = DD_BYTES(TEXT_CEILING);
    dd_phrase_ul(&shown, e->p->allowance_ul_day);
    dd_bytes_text(&shown, " a day");
    dd_explain_step(e, dd_phrase_text(&value), dd_phrase_text(&shown), dd_explain_row(e, "patients.csv", e->p->line_of_file));
    dd_bytes_text(dd_phrase_start(&value), "over the plan, ");
    dd_explain_duration(&value, plan->end - plan->begins);
    dd_phrase_ul(dd_phrase_start(&shown), window);
    dd_explain_step(e, dd_phrase_text(&value), dd_phrase_text(&shown), NULL);
    dd_explain_exact(dd_phrase_start(&shown), before);
    dd_explain_step(e, "in by now (explain in)", dd_phrase_text(&shown), NULL);
    dd_explain_exact(dd_phrase_start(&shown), after);
    dd_explain_step(e, "to come, to the plan's end", dd_phrase_text(&shown), NULL);
    dd_explain_exact(dd_phrase_start(&shown), before + after);
    dd_explain_step(e, "makes (explain in all)", dd_phrase_text(&shown), NULL);
    if (asked > 0) {
        dd_explain_exact(dd_phrase_start(&shown), asked);
        dd_explain_step(e, "doses of which nobody knows: so much more if they were given", dd_phrase_text(&shown), NULL);
    }
    dd_sheet_rule(e->sheet);
    if (before_unknown || after_unknown)
        dd_explain_note(e, "?", "not all that went in is measured or charted: at least so much");
    int64_t again = in_by(e, plan->begins, plan->end, true, &after_unknown);
    dd_explain_exact(dd_phrase_start(&shown), again);
    dd_explain_second(e, "the whole plan second by second, in one", dd_phrase_text(&shown), again == before + after);
    e->text->failed = e->text->failed || value.failed || shown.failed;
    dd_bytes_free(&value);
    dd_bytes_free(&shown);
}
