/* explain_time.c - times: when a bag runs dry, surely or at the earliest and latest; when a dose starts and ends. */
#include "explain.h"

#include "phrase.h"
#include "glance.h"

#define TEXT_CEILING ((size_t)1 << 16)
#define WHOLE_SHARE INT64_C(100000000) /* 100 %, as rules have it */

static void step_volume(dd_explain *e, const char *what, int64_t u, bool less, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_bytes_text(&value, less ? "- " : "");
    dd_explain_exact(&value, u);
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

static void step_time(dd_explain *e, const char *what, dd_moment t, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_phrase_time(&value, e->t->plan, t, t % 60 ? DD_MOMENT_SECONDS : DD_MOMENT_DAY);
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

/* ---- dry ---- */

/* Whether the bag is emptied by this flow; one that runs faster or slower than planned goes on as its order does. */
static bool empties(const dd_flow *f, const dd_bag *bag, dd_moment since, int64_t scaled)
{
    return f->order == bag->order && f->part == DD_PART_BAG && f->to > since
        && (scaled != WHOLE_SHARE || (f->bag == bag->number && f->due == bag->due));
}

/* One that runs faster or slower than planned goes on at its last rate, if need be behind the plan's end. */
static bool is_last(const dd_explain *e, size_t piece, const dd_bag *bag, dd_moment since, int64_t scaled)
{
    for (size_t i = piece + 1; scaled != WHOLE_SHARE && i < e->t->piece_count; i++)
        if (empties(&e->t->pieces[i], bag, since, scaled))
            return false;
    return scaled != WHOLE_SHARE;
}

/* The flows that will empty the bag, from now on; `scaled` is 100 % and what a gravity set may run faster or slower. The last step says
 * how long the rest takes. Returns when it is empty, whole seconds up or down; DD_NEVER: not in this plan. */
static dd_moment empty_steps(dd_explain *e, const dd_bag *bag, int64_t left_u, dd_moment since, int64_t scaled, bool up)
{
    dd_int128 left = (dd_int128)left_u * WHOLE_SHARE;
    dd_moment last = DD_NEVER, at = DD_NEVER;
    for (size_t i = 0; i < e->t->piece_count && at == DD_NEVER; i++) {
        const dd_flow *f = &e->t->pieces[i];
        if (!empties(f, bag, since, scaled))
            continue;
        dd_moment from = f->from > since ? f->from : since;
        dd_bytes what = DD_BYTES(TEXT_CEILING);
        dd_int128 per_s = (dd_int128)f->rate.ul_per_h * scaled, all = per_s * (f->to - from);
        if (last != DD_NEVER && from > last)
            dd_explain_gap(e, bag->order, last, from);
        bool ends = left <= all || is_last(e, i, bag, since, scaled);
        dd_int128 seconds = up ? (left + per_s - 1) / per_s : left / per_s;
        dd_rate rate = {(int64_t)((dd_int128)f->rate.ul_per_h * scaled / WHOLE_SHARE)};
        if (ends) {
            dd_explain_exact(&what, (int64_t)(left / WHOLE_SHARE));
            dd_bytes_text(&what, " at ");
            dd_phrase_rate(&what, rate);
            dd_bytes_text(&what, up ? " from " : ", rounded down to the second, from ");
            dd_phrase_time(&what, e->t->plan, from, DD_MOMENT_DAY);
            dd_bytes span = DD_BYTES(TEXT_CEILING);
            dd_explain_duration(&span, (int64_t)seconds);
            dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&span), dd_explain_order_row(e, bag->order));
            dd_bytes_free(&span);
            at = from + (int64_t)seconds;
        } else {
            dd_explain_span(&what, e, from, f->to);
            dd_bytes_text(&what, ": ");
            dd_phrase_rate(&what, rate);
            dd_bytes_text(&what, " x ");
            dd_explain_duration(&what, f->to - from);
            step_volume(e, dd_phrase_text(&what), (int64_t)(all / WHOLE_SHARE), true, dd_explain_order_row(e, bag->order));
            left -= all;
            last = f->to;
        }
        dd_bytes_free(&what);
    }
    return at;
}

/* Second by second: what is left after each. */
static dd_moment empty_seconds(const dd_explain *e, const dd_bag *bag, int64_t left_u, dd_moment since, int64_t scaled, bool up)
{
    dd_int128 left = (dd_int128)left_u * WHOLE_SHARE;
    for (size_t i = 0; i < e->t->piece_count; i++) {
        const dd_flow *f = &e->t->pieces[i];
        if (!empties(f, bag, since, scaled))
            continue;
        bool last = is_last(e, i, bag, since, scaled);
        for (dd_moment s = f->from > since ? f->from : since; s < f->to || last; s++) {
            left -= (dd_int128)f->rate.ul_per_h * scaled;
            if (left < 0)
                return up ? s + 1 : s;
            if (left == 0)
                return s + 1;
        }
    }
    return DD_NEVER;
}

/* The bag that is up, else the next one. */
static const dd_bag *bag_of(const dd_explain *e)
{
    const dd_bag *bag = dd_explain_bag_at(e, e->figure->order, e->t->now);
    for (size_t i = 0; i < e->t->bag_count && !bag; i++)
        if (e->t->bags[i].order == e->figure->order && e->t->bags[i].up != DD_NEVER && e->t->bags[i].up >= e->t->now)
            bag = &e->t->bags[i];
    return bag;
}

void dd_explain_dry(dd_explain *e)
{
    const dd_bag *bag = bag_of(e);
    bool plain = e->figure->kind == DD_FIGURE_DRY, latest = e->figure->kind == DD_FIGURE_LATEST;
    dd_moment fast = DD_NEVER, slow = DD_NEVER, shown = bag ? bag->empty : DD_NEVER;
    int64_t scaled = WHOLE_SHARE;
    if (bag && !plain && dd_glance_spread(e->t, bag, &fast, &slow)) {
        int64_t share = dd_glance_spread_share(e->t, bag->order);
        scaled = latest ? WHOLE_SHARE - share : WHOLE_SHARE + share;
        shown = latest ? slow : fast;
    } else if (!plain) {
        shown = DD_NEVER;
    }
    if (!bag || shown == DD_NEVER) {
        dd_sheet_text(e->sheet, 0, 0, !bag ? "no bag of this order is up now, or goes up later" : plain ? "this bag does not run dry in this plan" : "only the bag of a gravity set has such a time");
        return;
    }
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    dd_bytes_text(&what, e->p->orders[bag->order].key);
    dd_bytes_text(&what, " on ");
    dd_bytes_text(&what, e->p->lines[bag->line].key);
    dd_bytes_text(&what, plain ? " runs dry" : latest ? " runs dry at the latest" : " runs dry at the earliest");
    dd_phrase_time(&value, e->t->plan, shown, DD_MOMENT_SECONDS);
    dd_bytes_text(&value, ", printed ");
    dd_phrase_time(&value, e->t->plan, shown, latest ? DD_MOMENT_CLOCK_UP : DD_MOMENT_CLOCK);
    dd_explain_title(e, dd_phrase_text(&what), dd_phrase_text(&value));
    bool is_up = bag->left_at_now.u > 0, up = plain || latest;
    dd_moment since = is_up ? e->t->now : bag->up;
    int64_t left = is_up ? bag->left_at_now.u : bag->hung.u - bag->prime.u;
    step_volume(e, is_up ? "left in the bag now (explain left)" : "in the bag that is still to go up, once it is primed", left, false, is_up ? NULL : dd_explain_order_row(e, bag->order));
    dd_moment steps = empty_steps(e, bag, left, since, scaled, up), second = empty_seconds(e, bag, left, since, scaled, up);
    dd_sheet_rule(e->sheet);
    dd_explain_note(e, "rounding", latest ? "to the second, up; the page prints the minute, up" : plain ? "to the second, up; the page prints the minute, down" : "to the second and the minute, down");
    dd_phrase_start(&value);
    if (second == DD_NEVER)
        dd_bytes_text(&value, "not in this plan");
    else
        dd_phrase_time(&value, e->t->plan, second, DD_MOMENT_SECONDS);
    dd_explain_second(e, "emptied second by second", dd_phrase_text(&value), steps == shown && second == shown);
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}

/* ---- a dose ---- */

static const dd_run *find_dose(const dd_explain *e)
{
    for (size_t i = 0; i < e->t->run_count; i++) {
        const dd_run *r = &e->t->runs[i];
        if (r->order == e->figure->order && (r->due == e->figure->at || r->start == e->figure->at))
            return r;
    }
    return NULL;
}

static void duration_step(dd_explain *e, const char *what, int64_t seconds, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_explain_duration(&value, seconds);
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

/* Seconds in which the run flows, and the second after the last. */
static int64_t flowing(const dd_explain *e, const dd_run *r, dd_moment *end)
{
    int64_t seconds = 0;
    *end = DD_NEVER;
    for (size_t i = 0; i < e->t->piece_count; i++) {
        const dd_flow *f = &e->t->pieces[i];
        if (f->order != r->order || (r->repeated && f->due != r->due))
            continue;
        for (dd_moment s = f->from; s < f->to; s++)
            seconds++;
        *end = f->to;
    }
    return seconds;
}

void dd_explain_dose(dd_explain *e)
{
    const dd_run *r = find_dose(e);
    if (!r || r->start == DD_NEVER || r->end == DD_NEVER) {
        dd_sheet_text(e->sheet, 0, 0, !r ? "this order has no dose due or started at that time" : r->why == DD_END_UNKNOWN ? "nobody knows whether this dose was given" : "this dose does not start, or does not end, in this plan");
        return;
    }
    const dd_order *o = &e->p->orders[r->order];
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    dd_bytes_text(&what, "dose ");
    dd_phrase_what(&what, o);
    dd_explain_span(&value, e, r->start, r->end);
    dd_explain_title(e, dd_phrase_text(&what), dd_phrase_text(&value));
    step_time(e, "due", r->due, dd_explain_order_row(e, r->order));
    duration_step(e, o->has_window ? "may start so much earlier or later: the order says" : "may start so much earlier or later: rule dose-window", o->window_s, NULL);
    if (o->window_s > 0) {
        step_time(e, "so from", r->due - o->window_s, NULL);
        step_time(e, "and up to", r->due + o->window_s, NULL);
    }
    int64_t moved = r->start - r->due;
    step_time(e, r->charted ? "starts: charted" : moved == 0 ? "starts when it is due" : "starts: the least movement that fits on the line", r->start, NULL);
    dd_moment bag_end = r->flush_from != DD_NEVER ? r->flush_from : r->end, end;
    dd_phrase_ul(dd_phrase_start(&what), o->volume_ul);
    dd_bytes_text(&what, " at ");
    dd_phrase_rate(&what, e->t->rates[r->order][0].set);
    duration_step(e, dd_phrase_text(&what), bag_end - r->start, dd_explain_order_row(e, r->order));
    if (r->flush_from != DD_NEVER) {
        dd_bytes_text(dd_phrase_start(&what), "flush ");
        dd_phrase_ul(&what, o->flush_ul);
        dd_bytes_text(&what, " at the same rate");
        duration_step(e, dd_phrase_text(&what), r->end - r->flush_from, dd_explain_order_row(e, r->order));
    }
    step_time(e, "ends", r->end, NULL);
    dd_sheet_rule(e->sheet);
    int64_t seconds = flowing(e, r, &end);
    bool whole = r->end <= e->t->plan->end && o->runs == DD_PIGGYBACK;
    dd_explain_duration(dd_phrase_start(&value), seconds);
    if (r->end > e->t->plan->end)
        dd_bytes_text(&value, " in this plan, the rest is after it");
    dd_explain_second(e, "seconds in which it flows, counted", dd_phrase_text(&value), !whole || (seconds == r->end - r->start && end == r->end));
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}
