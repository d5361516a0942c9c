#include "ways.h"

#include "names.h"
#include "phrase.h"

/* `21 drops in 60 s (63 mL/h)`, `80 mL/h` */
static void add_set(dd_bytes *out, dd_rate rate, int32_t drops)
{
    char number[DD_NUMBER_MAX];
    if (drops > 0) {
        dd_bytes_add(out, number, dd_number_scaled(number, drops, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(out, drops == 1 ? " drop in 60 s (" : " drops in 60 s (");
    }
    dd_phrase_rate(out, rate);
    dd_bytes_text(out, drops > 0 ? ")" : "");
}

static void add_end(dd_bytes *out, const dd_timeline *t, dd_moment end, const char *before)
{
    dd_bytes_text(out, before);
    dd_bytes_text(out, end == DD_NEVER ? "after this plan" : "");
    if (end != DD_NEVER)
        dd_phrase_time(out, t->plan, end, DD_MOMENT_DAY);
}

/* `it ran at 17.7 drops/min since Wed 15:00, set to 21 drops/min` */
static void add_ran(dd_bytes *out, const dd_timeline *t, const dd_course *c)
{
    char number[DD_NUMBER_MAX];
    dd_ratio ml_h;
    bool drops = c->ran_drops.den != 0;
    if (drops)
        ml_h = c->ran_drops;
    else if (dd_ratio_over(c->ran, (dd_ratio){1000, 1}, &ml_h) != DD_OK)
        return;
    dd_bytes_text(out, "it ran at ");
    dd_bytes_add(out, number, dd_number_ratio(number, ml_h, 1, DD_STYLE_PERSON));
    dd_bytes_text(out, drops ? " drops/min since " : " mL/h since ");
    dd_phrase_time(out, t->plan, c->since, DD_MOMENT_DAY);
    dd_bytes_text(out, ", set to ");
    dd_phrase_set_rate(out, (dd_set_rate){.set = c->reading->rate, .drops = c->reading->drops});
}

/* `; rate-change allows 25 %` */
static void add_allowed(dd_bytes *out, const dd_course *c)
{
    dd_bytes_text(out, "; rate-change allows ");
    if (c->rule)
        dd_phrase_quantity(out, c->rule->low);
    else
        dd_bytes_text(out, "none");
}

static void add_change(dd_bytes *out, const dd_course *c)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, c->change.micro, 6, 1, DD_STYLE_PERSON));
    dd_bytes_text(out, c->offer.set.ul_per_h > c->reading->rate.ul_per_h ? " % faster" : " % slower");
}

static void add_offer(dd_bytes *out, const dd_timeline *t, const dd_course *c)
{
    bool has_end = c->reading->to_go_u != DD_UNKNOWN;
    if (c->refusal == DD_REFUSAL_NONE) {
        dd_bytes_text(out, "or, to end on time: ");
        add_set(out, c->offer.set, c->offer.drops);
        dd_bytes_text(out, ", ");
        add_change(out, c);
        add_end(out, t, c->offer_ends, ", ends ");
        add_allowed(out, c);
        return;
    }
    dd_bytes_text(out, has_end ? "another rate, to end on time, is not offered: " : "another rate is not offered: ");
    dd_bytes_text(out, dd_names_refusal(c->refusal));
    if (c->refusal == DD_REFUSAL_LIMIT) {
        dd_bytes_text(out, ", ");
        dd_bytes_text(out, dd_names_finding(c->limit));
    }
    if (c->refusal == DD_REFUSAL_FAR && c->change.micro > 0) {
        dd_bytes_text(out, ", ");
        add_change(out, c);
        add_allowed(out, c);
    }
}

bool dd_ways_line(dd_bytes *out, const dd_timeline *t, const dd_finding *f, int line)
{
    const dd_course *c = f->course;
    if (!c)
        return false;
    if (c->reading->flow_s <= 0)
        line++;
    if (line > 0 && c->refusal == DD_REFUSAL_STOPPED)
        line++;
    switch (line) {
    case 0: add_ran(out, t, c); return true;
    case 1:
        dd_bytes_text(out, c->reading->drops > 0 ? "carry on, count again: " : "carry on at ");
        add_set(out, c->reading->rate, c->reading->drops);
        if (c->reading->to_go_u != DD_UNKNOWN)
            add_end(out, t, c->ends, ", ends ");
        return true;
    case 2:
        if (c->reading->over) /* all of it is in: nothing can be set any more */
            return false;
        add_offer(out, t, c);
        return true;
    default: return false;
    }
}

/* A time as the command takes it, as short as it can be said: `18:00` where `day` is false, `"Wed 18:00"`. */
static void add_typed(dd_bytes *out, const dd_timeline *t, dd_moment at, bool day)
{
    char text[DD_MOMENT_MAX];
    dd_clock_kind kind;
    (void)dd_moment_resolve(t->plan->zone, dd_moment_local(t->plan->zone, at), &kind);
    bool whole = at % 60 != 0 || kind != DD_CLOCK_ONCE; /* else it would be another moment */
    dd_moment_write(text, t->plan->zone, at, whole ? DD_MOMENT_PROGRAM : day ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    dd_bytes_form(out, day && !whole ? "\"%s\"" : "%s", text);
}

bool dd_ways_chart(dd_bytes *out, const dd_timeline *t, const dd_finding *f, int line)
{
    if (f->code != DD_FINDING_DOSE_UNKNOWN || f->order < 0 || line > 4)
        return false;
    if (line == 0)
        dd_bytes_text(out, "if it was given, with the time at which it really started:");
    else if (line == 2)
        dd_bytes_text(out, "if it was omitted:");
    else if (line == 4)
        dd_bytes_text(out, "it is not planned again; the sums are without it");
    if (line % 2 == 0)
        return true;
    dd_bytes_form(out, "daydrip chart %s %s %s --due ", t->patient->key, t->patient->orders[f->order].key, line == 1 ? "started" : "omitted");
    add_typed(out, t, f->due, line == 3);
    if (line == 1) {
        dd_bytes_text(out, " --at ");
        add_typed(out, t, f->due, true);
    }
    return true;
}
