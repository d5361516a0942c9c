/* explain_course.c - how far an infusion that was read is from what it was set to give, what it really ran at, and the ways to go on. */
#include "explain.h"

#include <string.h>

#include "phrase.h"

#define TEXT_CEILING ((size_t)1 << 16)
#define ML 1000 /* uL in one */

typedef struct course {
    dd_explain *e;
    const dd_finding *f;
    const dd_course *c;
    const dd_order *o;
    dd_bytes what, value;
} course;

static void add_fraction(dd_bytes *out, dd_ratio value, int decimals)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_ratio(number, value, decimals, DD_STYLE_PERSON));
}

static void step_volume(course *k, const char *what, int64_t u, const char *origin)
{
    dd_explain_exact(dd_phrase_start(&k->value), u);
    dd_explain_step(k->e, what, dd_phrase_text(&k->value), origin);
}

static void step_time(course *k, const char *what, dd_moment t)
{
    dd_phrase_start(&k->value);
    if (t == DD_NEVER)
        dd_bytes_text(&k->value, "after this plan");
    else
        dd_phrase_time(&k->value, k->e->t->plan, t, t % 60 ? DD_MOMENT_SECONDS : DD_MOMENT_DAY);
    dd_explain_step(k->e, what, dd_phrase_text(&k->value), NULL);
}

static void add_set(dd_bytes *out, dd_rate rate, int32_t drops)
{
    dd_phrase_set_rate(out, (dd_set_rate){.set = rate, .drops = drops});
}

/* `behind by 40 mL, 15.87 %, ran at 17.7 drops/min` */
static void title(course *k, int64_t away)
{
    const dd_reading *r = k->c->reading;
    bool left = r->event->what[0] == 'l';
    dd_bytes_form(dd_phrase_start(&k->what), "%s, read ", k->o->key);
    dd_phrase_time(&k->what, k->e->t->plan, r->event->time, DD_MOMENT_DAY);
    dd_bytes_text(dd_phrase_start(&k->value), away > 0 ? "behind by " : "ahead by ");
    dd_phrase_volume(&k->value, k->e->p, (dd_u){away > 0 ? away : -away});
    dd_bytes_text(&k->value, " mL, ");
    dd_phrase_volume(&k->value, k->e->p, k->c->said);
    dd_bytes_text(&k->value, left ? " mL left, should be " : " mL given, should be ");
    dd_phrase_volume(&k->value, k->e->p, k->c->should);
    dd_bytes_text(&k->value, " mL, ");
    dd_phrase_quantity(&k->value, k->f->figure);
    if (r->flow_s > 0) {
        dd_ratio ml;
        bool drops = k->c->ran_drops.den != 0;
        dd_bytes_text(&k->value, ", ran at ");
        if (drops || dd_ratio_over(k->c->ran, (dd_ratio){ML, 1}, &ml) == DD_OK)
            add_fraction(&k->value, drops ? k->c->ran_drops : ml, 1);
        dd_bytes_text(&k->value, drops ? " drops/min" : " mL/h");
    }
    dd_explain_title(k->e, dd_phrase_text(&k->what), dd_phrase_text(&k->value));
}

static void ran_steps(course *k)
{
    const dd_reading *r = k->c->reading;
    dd_ratio ml;
    if (r->flow_s <= 0 || dd_ratio_over(k->c->ran, (dd_ratio){ML, 1}, &ml) != DD_OK)
        return;
    dd_bytes_text(dd_phrase_start(&k->what), "so it ran at, over ");
    dd_explain_duration(&k->what, r->flow_s);
    add_fraction(dd_phrase_start(&k->value), ml, 3);
    dd_bytes_text(&k->value, " mL/h");
    dd_explain_step(k->e, dd_phrase_text(&k->what), dd_phrase_text(&k->value), NULL);
    if (k->c->ran_drops.den == 0)
        return;
    dd_bytes_text(dd_phrase_start(&k->what), "x ");
    add_fraction(&k->what, (dd_ratio){k->o->drop_factor_micro, 1000000}, 3);
    dd_bytes_text(&k->what, " drops/mL / 60 min");
    add_fraction(dd_phrase_start(&k->value), k->c->ran_drops, 3);
    dd_bytes_text(&k->value, " drops/min");
    dd_explain_step(k->e, dd_phrase_text(&k->what), dd_phrase_text(&k->value), dd_explain_order_row(k->e, k->f->order));
}

/* The ways to go on: as it is set, and the rate that would end it on time. */
static void way_steps(course *k)
{
    const dd_course *c = k->c;
    const dd_reading *r = c->reading;
    if (r->over || r->to_go_u == DD_UNKNOWN)
        return;
    step_volume(k, "still to come now", r->to_go_u, NULL);
    dd_bytes_text(dd_phrase_start(&k->what), "carried on at ");
    add_set(&k->what, r->rate, r->drops);
    if (r->drops > 0) {
        dd_bytes_text(&k->what, ", ");
        dd_phrase_rate(&k->what, r->rate);
    }
    dd_bytes_text(&k->what, ", it ends");
    step_time(k, dd_phrase_text(&k->what), c->ends);
    if (c->refusal != DD_REFUSAL_NONE)
        return;
    dd_bytes_text(dd_phrase_start(&k->what), "set to ");
    add_set(&k->what, c->offer.set, c->offer.drops);
    if (c->offer.drops > 0) {
        dd_bytes_text(&k->what, ", ");
        dd_phrase_rate(&k->what, c->offer.set);
    }
    dd_bytes_text(&k->what, ", what the device can be set to that ends it nearest to its time");
    step_time(k, dd_phrase_text(&k->what), c->offer_ends);
    dd_bytes_text(dd_phrase_start(&k->what), c->offer.set.ul_per_h > r->rate.ul_per_h ? "so much faster than now, of " : "so much slower than now, of ");
    dd_phrase_rate(&k->what, r->rate);
    add_fraction(dd_phrase_start(&k->value), (dd_ratio){c->change.micro, 1000000}, 1);
    dd_bytes_text(&k->value, " %");
    dd_explain_step(k->e, dd_phrase_text(&k->what), dd_phrase_text(&k->value), NULL);
    if (c->rule)
        dd_explain_rule_step(k->e, c->rule);
}

static void second_way(course *k, int64_t away)
{
    const dd_reading *r = k->c->reading;
    dd_ratio share, rest = {0};
    dd_bytes page = DD_BYTES(TEXT_CEILING);
    bool same = k->c->said.u - k->c->should.u == (r->event->what[0] == 'l' ? away : -away);
    same = same && dd_ratio_make((dd_int128)r->said_u * 100, r->expected_u, &share) == DD_OK && dd_ratio_minus((dd_ratio){100, 1}, share, &rest) == DD_OK;
    rest.num = rest.num < 0 ? -rest.num : rest.num;
    dd_phrase_start(&k->value);
    if (rest.den != 0)
        add_fraction(&k->value, rest, 2);
    dd_bytes_text(&k->value, " %");
    dd_phrase_quantity(&page, k->f->figure);
    same = same && strcmp(dd_phrase_text(&k->value), dd_phrase_text(&page)) == 0;
    dd_explain_second(k->e, "100 % less the share that came", dd_phrase_text(&k->value), same);
    dd_bytes_free(&page);
}

static const dd_finding *find(const dd_explain *e)
{
    for (size_t i = 0; i < e->t->finding_count; i++)
        if (e->t->findings[i].course && e->t->findings[i].order == e->figure->order)
            return &e->t->findings[i];
    return NULL;
}

void dd_explain_course(dd_explain *e)
{
    const dd_finding *f = find(e);
    if (!f) {
        dd_sheet_text(e->sheet, 0, 0, "this order is not found behind or ahead by what was read of it");
        return;
    }
    course k = {.e = e, .f = f, .c = f->course, .o = &e->p->orders[f->order], .what = DD_BYTES(TEXT_CEILING), .value = DD_BYTES(TEXT_CEILING)};
    const dd_reading *r = k.c->reading;
    int64_t away = r->expected_u - r->said_u;
    title(&k, away);
    step_volume(&k, r->event->what[0] == 'l' ? "read: left in the bag" : "read: given", k.c->said.u, dd_explain_event_row(e, r->event));
    dd_bytes_text(dd_phrase_start(&k.what), "so it gave, since ");
    dd_phrase_time(&k.what, e->t->plan, r->since, DD_MOMENT_DAY);
    step_volume(&k, dd_phrase_text(&k.what), r->said_u, NULL);
    step_volume(&k, "as it was set it should have given", r->expected_u, dd_explain_order_row(e, f->order));
    step_volume(&k, away > 0 ? "behind by" : "ahead by", away > 0 ? away : -away, NULL);
    dd_phrase_quantity(dd_phrase_start(&k.value), f->figure);
    dd_explain_step(e, "of what it should have given", dd_phrase_text(&k.value), NULL);
    if (f->rule)
        dd_explain_rule_step(e, f->rule);
    ran_steps(&k);
    way_steps(&k);
    dd_sheet_rule(e->sheet);
    second_way(&k, away);
    e->text->failed = e->text->failed || k.what.failed || k.value.failed;
    dd_bytes_free(&k.what);
    dd_bytes_free(&k.value);
}
