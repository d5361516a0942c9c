/* explain_rate.c - what a device is set to, from what is ordered. */
#include "explain.h"

#include "phrase.h"

#define TEXT_CEILING ((size_t)1 << 16)

static void add_ratio(dd_bytes *out, dd_ratio ul, int decimals)
{
    char number[DD_NUMBER_MAX];
    dd_ratio ml = ul;
    if (dd_ratio_over(ul, (dd_ratio){1000, 1}, &ml) == DD_OK)
        dd_bytes_add(out, number, dd_number_ratio(number, ml, decimals, DD_STYLE_PERSON));
}

static void step_rate(dd_explain *e, const char *what, dd_ratio ul_per_h, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    add_ratio(&value, ul_per_h, 4);
    dd_bytes_text(&value, " mL/h");
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

/* What was written, as it was written. */
static void ordered_steps(dd_explain *e, const dd_order *o, size_t step)
{
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    if (o->rate_text) {
        dd_bytes_text(&what, "ordered: ");
        dd_phrase_spaced(&what, o->rate_text);
    } else {
        dd_phrase_ul(&what, o->volume_ul);
        dd_bytes_text(&what, " over ");
        dd_phrase_span(&what, o->over_s);
    }
    if (e->p->weight_mg != DD_UNKNOWN && o->rate_text) {
        const char *t = o->rate_text;
        bool by_weight = false;
        for (; *t; t++)
            by_weight = by_weight || (t[0] == '/' && t[1] == 'k' && t[2] == 'g') || (t[0] == 'm' && t[1] == 'a' && t[2] == 'i');
        if (by_weight) {
            dd_bytes_text(&what, ", for ");
            dd_phrase_weight(&what, e->p);
        }
    }
    if (o->step_count > 1) {
        char number[DD_NUMBER_MAX];
        dd_bytes_text(&what, ", step ");
        dd_bytes_add(&what, number, dd_number_scaled(number, (int64_t)step + 1, 0, 0, DD_STYLE_PERSON));
    }
    step_rate(e, dd_phrase_text(&what), o->steps[step].rate, dd_explain_order_row(e, e->figure->order));
    e->text->failed = e->text->failed || what.failed;
    dd_bytes_free(&what);
}

static void step_volume(dd_explain *e, const char *what, int64_t u, bool less, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_bytes_text(&value, less ? "- " : "");
    dd_explain_exact(&value, u);
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

/* What the allowance leaves, by the time that it flows. */
static dd_ratio remainder_steps(dd_explain *e)
{
    const dd_timeline *t = e->figure->planned;
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    dd_ratio day, rate = {0, 1};
    int64_t window;
    if (dd_ratio_make((dd_int128)e->p->allowance_ul_day * (t->plan->end - t->plan->begins), 86400, &day) != DD_OK || dd_ratio_half_up(day, 1, &window) != DD_OK)
        window = 0;
    dd_bytes_text(&what, "allowance");
    if (e->p->allowance_text) {
        dd_bytes_text(&what, ", ");
        dd_phrase_spaced(&what, e->p->allowance_text);
    }
    step_volume(e, dd_phrase_text(&what), window * DD_U_PER_UL, false, NULL);
    step_volume(e, "less everything else that is planned: doses, flushes, feeds", t->remainder_others.u, true, NULL);
    step_volume(e, "for this order", window * DD_U_PER_UL - t->remainder_others.u, false, NULL);
    dd_phrase_start(&what);
    dd_bytes_text(&what, "by the time that it flows, ");
    dd_explain_duration(&what, t->remainder_flow_s);
    if (t->remainder_flow_s > 0 && dd_ratio_make((dd_int128)window * DD_U_PER_UL - t->remainder_others.u, t->remainder_flow_s, &rate) == DD_OK)
        step_rate(e, dd_phrase_text(&what), rate, dd_explain_order_row(e, e->figure->order));
    dd_bytes_free(&what);
    return rate;
}

static void device_step(dd_explain *e, const dd_order *o, dd_set_rate set, bool floor)
{
    char number[DD_NUMBER_MAX];
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    if (o->device == DD_GRAVITY) {
        dd_ratio drops;
        dd_bytes_text(&what, "x ");
        dd_bytes_add(&what, number, dd_number_scaled(number, o->drop_factor_micro, 6, 3, DD_STYLE_PERSON));
        dd_bytes_text(&what, " drops/mL / 60 min");
        /* uL/h x drops/mL x 10^6 / (1000 x 10^6 x 60) */
        if (o->step_count > 0 && dd_ratio_times(o->steps[0].rate, (dd_ratio){o->drop_factor_micro, INT64_C(60000000000)}, &drops) == DD_OK)
            dd_bytes_add(&value, number, dd_number_ratio(number, drops, 3, DD_STYLE_PERSON));
        dd_bytes_text(&value, " drops/min");
        dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&value), dd_explain_order_row(e, e->figure->order));
        dd_phrase_start(&value);
        dd_bytes_add(&value, number, dd_number_scaled(number, set.drops, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(&value, " drops/min");
        dd_explain_step(e, "whole drops, half up, at least one", dd_phrase_text(&value), NULL);
        dd_phrase_start(&value);
        dd_phrase_rate(&value, set.set);
        dd_explain_step(e, "what these drops deliver: x 60 / drops/mL", dd_phrase_text(&value), NULL);
    } else {
        dd_bytes_text(&what, floor ? "down to the step of the device, " : "to the step of the device, half up: ");
        dd_phrase_rate(&what, (dd_rate){o->rate_step_ul_h});
        dd_phrase_rate(&value, set.set);
        dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&value), NULL);
    }
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}

/* What is charted goes before what is ordered. */
static const dd_event *charted_rate(const dd_explain *e)
{
    const dd_event *found = NULL;
    for (size_t i = 0; i < e->t->event_count && e->t->events[i]->time <= e->t->now; i++)
        if (e->t->events[i]->order == e->figure->order && e->t->events[i]->kind == DD_EVENT_RATE)
            found = e->t->events[i];
    return found;
}

void dd_explain_rate(dd_explain *e)
{
    const dd_order *o = &e->p->orders[e->figure->order];
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    bool remainder = o->rate_kind == DD_RATE_REMAINDER;
    size_t step = 0;
    dd_rate now = e->t->rates[e->figure->order][0].set;
    for (size_t i = 0; i < e->t->flow_count; i++)
        if (e->t->flows[i].order == e->figure->order && e->t->flows[i].part == DD_PART_BAG && e->t->flows[i].from <= e->t->now && e->t->flows[i].to > e->t->now)
            now = e->t->flows[i].rate;
    for (size_t i = 0; i < o->step_count; i++)
        if (e->t->rates[e->figure->order][i].set.ul_per_h == now.ul_per_h)
            step = i;
    dd_set_rate set = e->t->rates[e->figure->order][step];
    const dd_event *charted = charted_rate(e);
    dd_bytes_text(&what, o->key);
    dd_bytes_text(&what, ", what the device is set to");
    if (o->device == DD_GRAVITY && !charted)
        dd_phrase_set_rate(&value, set);
    else
        dd_phrase_rate(&value, now);
    dd_explain_title(e, dd_phrase_text(&what), dd_phrase_text(&value));
    if (charted) {
        dd_phrase_start(&what);
        dd_phrase_event(&what, e->t, charted);
        dd_phrase_rate(dd_phrase_start(&value), now);
        dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&value), dd_explain_event_row(e, charted));
    } else if (remainder) {
        remainder_steps(e);
        device_step(e, o, set, true);
        if (e->t->chart_counts)
            dd_explain_step(e, "once it runs it keeps this rate", NULL, NULL);
    } else if (o->step_count > 0) {
        ordered_steps(e, o, step);
        device_step(e, o, set, false);
    }
    dd_sheet_rule(e->sheet);
    int64_t sum = 0;
    for (int s = 0; s < 3600; s++)
        sum += now.ul_per_h; /* u in a second */
    dd_explain_exact(dd_phrase_start(&value), sum);
    dd_bytes_text(&value, " in an hour");
    dd_explain_second(e, "3,600 seconds at the set rate, added up", dd_phrase_text(&value), sum == now.ul_per_h * DD_U_PER_UL);
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}
