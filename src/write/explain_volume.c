/* explain_volume.c - volumes: what was given, what is left, whether a bag adds up. */
#include "explain.h"

#include "names.h"
#include "phrase.h"

#define TEXT_CEILING ((size_t)1 << 16)

static bool of(const dd_flow *f, int order, int part, const dd_bag *bag)
{
    return f->order == order && (part < 0 || f->part == part) && (!bag || (f->bag == bag->number && f->due == bag->due && f->part == DD_PART_BAG));
}

/* u that a flow has given by t, from the beginning of the flow: from its rate, or from the reading that it is scaled to. */
static int64_t upto(const dd_flow *f, dd_moment t)
{
    if (t <= f->from)
        return 0;
    if (t >= f->to)
        return f->given.u;
    if (f->scale_of == 0) {
        int64_t u = f->rate.ul_per_h * (t - f->from);
        return u < f->given.u ? u : f->given.u;
    }
    dd_int128 at = (dd_int128)f->scale_to * (f->scale_at + f->rate.ul_per_h * (t - f->from)) / f->scale_of;
    return (int64_t)(at - (dd_int128)f->scale_to * f->scale_at / f->scale_of);
}

int64_t dd_explain_piece(const dd_flow *f, dd_moment from, dd_moment to)
{
    int64_t sum = 0, in_bag = 0; /* a second gives its rate, the last one what is left */
    for (dd_moment s = f->from; s < f->to && s < to; s++) {
        int64_t second = f->scale_of ? upto(f, s + 1) - upto(f, s) : f->rate.ul_per_h < f->given.u - in_bag ? f->rate.ul_per_h : f->given.u - in_bag;
        in_bag += second;
        if (s >= from)
            sum += second;
    }
    return sum;
}

int64_t dd_explain_seconds(const dd_explain *e, int order, int part, const dd_bag *bag, dd_moment from, dd_moment to)
{
    int64_t sum = 0;
    for (size_t i = 0; i < e->t->piece_count; i++)
        if (of(&e->t->pieces[i], order, part, bag))
            sum += dd_explain_piece(&e->t->pieces[i], from, to);
    return sum;
}

/* The reading that a scaled piece meets: the first at or after its end. */
static const dd_event *reading_of(const dd_explain *e, const dd_flow *f)
{
    for (size_t i = 0; i < e->t->event_count; i++)
        if (e->t->events[i]->kind == DD_EVENT_READING && e->t->events[i]->order == f->order && e->t->events[i]->time >= f->to)
            return e->t->events[i];
    return NULL;
}

/* What set the rate of a charted piece: the last entry about the order at or before it; NULL: its row of orders.csv. */
static const dd_event *cause_of(const dd_explain *e, const dd_flow *f)
{
    const dd_event *cause = NULL;
    for (size_t i = 0; i < e->t->event_count && e->t->events[i]->time <= f->from; i++) {
        const dd_event *v = e->t->events[i];
        if (v->order == f->order && (v->kind == DD_EVENT_STARTED || v->kind == DD_EVENT_RATE || v->kind == DD_EVENT_RESUMED || v->kind == DD_EVENT_HUNG))
            cause = v;
    }
    return f->basis == DD_CHARTED ? cause : NULL;
}

void dd_explain_gap(dd_explain *e, int order, dd_moment from, dd_moment to)
{
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    const char *origin = NULL;
    dd_bytes_text(&what, "nothing flows ");
    dd_explain_span(&what, e, from, to);
    for (size_t i = 0; i < e->t->mark_count; i++) {
        const dd_mark *m = &e->t->marks[i];
        if (m->order != order || m->kind != DD_MARK_STOPS || m->at != from)
            continue;
        if (m->cause >= 0) {
            dd_bytes_text(&what, ": stopped for ");
            dd_bytes_text(&what, e->p->orders[m->cause].key);
            origin = dd_explain_order_row(e, m->cause);
        } else {
            dd_bytes_text(&what, ": a pause");
        }
        break;
    }
    dd_explain_step(e, dd_phrase_text(&what), "0", origin);
    e->text->failed = e->text->failed || what.failed;
    dd_bytes_free(&what);
}

static void piece_step(dd_explain *e, const dd_flow *f, dd_moment from, dd_moment to, int64_t u, int sign, const dd_bag *bag)
{
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    const dd_event *reading = f->scale_of ? reading_of(e, f) : NULL, *cause = cause_of(e, f);
    dd_explain_span(&what, e, from, to);
    dd_bytes_text(&what, f->basis == DD_CHARTED ? ", charted" : ", planned");
    if (f->part == DD_PART_FLUSH)
        dd_bytes_text(&what, ", flush");
    else if (!bag && f->bag > 1) {
        char number[DD_NUMBER_MAX];
        dd_bytes_text(&what, ", bag ");
        dd_bytes_add(&what, number, dd_number_scaled(number, f->bag, 0, 0, DD_STYLE_PERSON));
    }
    dd_bytes_text(&what, ": ");
    dd_phrase_rate(&what, f->rate);
    dd_bytes_text(&what, " x ");
    dd_explain_duration(&what, to - from);
    if (f->scale_of)
        dd_bytes_text(&what, ", spread to meet what was read");
    else if (f->rate.ul_per_h * (to - from) != u)
        dd_bytes_text(&what, ", its last second gives what is left");
    dd_bytes_text(&value, sign < 0 ? "- " : "");
    dd_explain_exact(&value, u);
    dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&value),
                    reading ? dd_explain_event_row(e, reading) : cause ? dd_explain_event_row(e, cause) : dd_explain_order_row(e, f->order));
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}

int64_t dd_explain_pieces(dd_explain *e, int order, int part, const dd_bag *bag, dd_moment from, dd_moment to, int sign)
{
    int64_t sum = 0;
    dd_moment last = DD_NEVER;
    for (size_t i = 0; i < e->t->piece_count && e->t->pieces[i].from < to; i++) {
        const dd_flow *f = &e->t->pieces[i];
        dd_moment a = f->from > from ? f->from : from, b = f->to < to ? f->to : to;
        if (!of(f, order, part, bag) || a >= b)
            continue;
        if (last != DD_NEVER && a > last && e->p->orders[order].repeat == DD_ONCE)
            dd_explain_gap(e, order, last, a);
        int64_t u = upto(f, b) - upto(f, a);
        piece_step(e, f, a, b, u, sign, bag);
        sum += u;
        last = b;
    }
    return sum;
}

/* Whether its order has it by then: it may have gone up before, for the order that this one replaces. */
static bool has_it(const dd_explain *e, const dd_bag *b, dd_moment at)
{
    for (size_t i = 0; i < e->t->run_count; i++) {
        const dd_run *r = &e->t->runs[i];
        if (r->order == b->order && (!r->repeated || r->due == b->due))
            return r->start != DD_NEVER && r->start <= at;
    }
    return false;
}

const dd_bag *dd_explain_bag_at(const dd_explain *e, int order, dd_moment at)
{
    const dd_bag *found = NULL;
    for (size_t i = 0; i < e->t->bag_count; i++) {
        const dd_bag *b = &e->t->bags[i];
        if (b->order == order && has_it(e, b, at) && (b->up == DD_NEVER || b->up <= at) && (b->down == DD_NEVER || b->down > at) && (b->empty == DD_NEVER || b->empty > at))
            found = b;
    }
    return found;
}

/* The first step of a bag: what was in it, and what priming took. */
static int64_t hung_steps(dd_explain *e, const dd_bag *bag)
{
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    const dd_event *hung = NULL;
    for (size_t i = 0; i < e->t->event_count && bag->number > 1; i++)
        if (e->t->events[i]->order == bag->order && e->t->events[i]->kind == DD_EVENT_HUNG && e->t->events[i]->time == bag->up)
            hung = e->t->events[i];
    dd_bytes_text(&what, bag->found_hanging ? "in the bag that hung at the beginning" : "hung ");
    if (!bag->found_hanging && bag->up != DD_NEVER)
        dd_phrase_time(&what, e->t->plan, bag->up, DD_MOMENT_DAY);
    dd_explain_exact(&value, bag->hung.u);
    dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&value), hung ? dd_explain_event_row(e, hung) : dd_explain_order_row(e, bag->order));
    if (bag->prime.u > 0) {
        dd_phrase_start(&value);
        dd_bytes_text(&value, "- ");
        dd_explain_exact(&value, bag->prime.u);
        dd_explain_step(e, "priming the set", dd_phrase_text(&value), dd_explain_order_row(e, bag->order));
    }
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
    return bag->hung.u - bag->prime.u;
}

static void add_bag(dd_bytes *out, const dd_explain *e, const dd_bag *bag)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_text(out, e->p->orders[bag->order].key);
    dd_bytes_text(out, " bag ");
    dd_bytes_add(out, number, dd_number_scaled(number, bag->number, 0, 0, DD_STYLE_PERSON));
}

/* Steps of rounding and the second way that volumes share. */
static void finish(dd_explain *e, int64_t u, int64_t second, bool same)
{
    dd_bytes exact = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    dd_sheet_rule(e->sheet);
    dd_explain_exact(&exact, u);
    dd_bytes_text(&exact, dd_phrase_decimals(e->p) ? ", printed to 0.1 mL" : ", printed to whole mL");
    if (u % DD_U_PER_UL)
        dd_bytes_text(&exact, "; shown here to the microlitre");
    dd_explain_note(e, "rounding", dd_phrase_text(&exact));
    dd_explain_exact(&value, second);
    dd_explain_second(e, "added up second by second", dd_phrase_text(&value), same && u == second);
    e->text->failed = e->text->failed || exact.failed || value.failed;
    dd_bytes_free(&exact);
    dd_bytes_free(&value);
}

static void title(dd_explain *e, const char *what, int64_t u)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_phrase_volume(&value, e->p, (dd_u){u});
    dd_bytes_text(&value, " mL");
    dd_explain_title(e, what, dd_phrase_text(&value));
    e->text->failed = e->text->failed || value.failed;
    dd_bytes_free(&value);
}

void dd_explain_left(dd_explain *e)
{
    const dd_bag *bag = dd_explain_bag_at(e, e->figure->order, e->figure->at);
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    if (!bag) {
        dd_sheet_text(e->sheet, 0, 0, "no bag of this order is up at that time");
        return;
    }
    dd_moment from = e->t->plan->begins;
    int64_t given = dd_explain_seconds(e, bag->order, DD_PART_BAG, bag, from, e->figure->at), left = bag->hung.u - bag->prime.u - given;
    bool same = e->figure->at != e->t->now || left == bag->left_at_now.u; /* what the page prints */
    dd_bytes_text(&what, "left in ");
    add_bag(&what, e, bag);
    dd_bytes_text(&what, " at ");
    dd_phrase_time(&what, e->t->plan, e->figure->at, DD_MOMENT_DAY);
    title(e, dd_phrase_text(&what), e->figure->at == e->t->now ? bag->left_at_now.u : left);
    int64_t start = hung_steps(e, bag), steps = start - dd_explain_pieces(e, bag->order, DD_PART_BAG, bag, from, e->figure->at, -1);
    finish(e, steps, left, same);
    e->text->failed = e->text->failed || what.failed;
    dd_bytes_free(&what);
}

void dd_explain_bag(dd_explain *e)
{
    const dd_bag *bag = NULL;
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    for (size_t i = 0; i < e->t->bag_count; i++)
        if (e->t->bags[i].order == e->figure->order && e->t->bags[i].number == e->figure->number)
            bag = &e->t->bags[i];
    if (!bag) {
        dd_sheet_text(e->sheet, 0, 0, "this order has no bag of that number in the plan");
        return;
    }
    add_bag(&what, e, bag);
    dd_bytes_text(&what, ", left at the plan's end");
    title(e, dd_phrase_text(&what), bag->left.u);
    int64_t start = hung_steps(e, bag), given = dd_explain_pieces(e, bag->order, DD_PART_BAG, bag, e->t->plan->begins, e->t->plan->end, -1);
    if (bag->discarded.u > 0) {
        dd_bytes value = DD_BYTES(TEXT_CEILING);
        dd_bytes_text(&value, "- ");
        dd_explain_exact(&value, bag->discarded.u);
        dd_explain_step(e, bag->expired ? "wasted: its hang time is over" : "wasted: taken down before it is empty", dd_phrase_text(&value), NULL);
        dd_bytes_free(&value);
    }
    int64_t second = start - dd_explain_seconds(e, bag->order, DD_PART_BAG, bag, e->t->plan->begins, e->t->plan->end) - bag->discarded.u;
    finish(e, start - given - bag->discarded.u, second, second == bag->left.u);
    e->text->failed = e->text->failed || what.failed;
    dd_bytes_free(&what);
}

void dd_explain_given(dd_explain *e)
{
    int order = e->figure->order, part = e->figure->kind == DD_FIGURE_FLUSH ? DD_PART_FLUSH : DD_PART_BAG;
    dd_moment from = e->figure->from, to = e->figure->to;
    dd_bytes what = DD_BYTES(TEXT_CEILING);
    int64_t shown = dd_timeline_given_of(e->t, (dd_given_of){.order = order, .part = part, .due = DD_NEVER}, from, to).u;
    dd_bytes_text(&what, e->p->orders[order].key);
    dd_bytes_text(&what, part == DD_PART_FLUSH ? " flushes, " : ", ");
    dd_explain_span(&what, e, from, to);
    title(e, dd_phrase_text(&what), shown);
    int64_t steps = dd_explain_pieces(e, order, part, NULL, from, to, 1);
    if (e->step == 0)
        dd_explain_step(e, "nothing flows in this period", "0 mL", dd_explain_order_row(e, order));
    finish(e, steps, dd_explain_seconds(e, order, part, NULL, from, to), steps == shown);
    e->text->failed = e->text->failed || what.failed;
    dd_bytes_free(&what);
}
