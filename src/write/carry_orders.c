/* carry_orders.c - orders.csv of the next plan. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "carry.h"

/* The row of one order while it is changed. */
typedef struct change {
    dd_carry *c;
    dd_carry_rows *rows;
    dd_carry_row *row;
    const dd_patient *p;
    const dd_timeline *t;
    const dd_order *o;
    bool no_memory;
} change;

static void set(change *g, dd_column_id column, const char *text)
{
    if (!text)
        g->no_memory = true;
    dd_carry_rows_set(g->rows, g->row, column, text);
}

static void blank(change *g, dd_column_id column)
{
    dd_carry_rows_set(g->rows, g->row, column, NULL);
}

static const char *get(const change *g, dd_column_id column)
{
    return dd_carry_rows_get(g->rows, g->row, column);
}

/* A clock counts from another beginning in the next plan: only a date-time stays as it is written. */
static void set_moment(change *g, dd_column_id column, dd_moment t)
{
    dd_moment written;
    if (!dd_carry_rows_is_dated(g->c, get(g, column), &written) || written != t)
        set(g, column, dd_carry_rows_moment(g->c, t));
}

static void set_volume(change *g, dd_column_id column, int64_t u)
{
    set(g, column, dd_carry_rows_volume(g->c, u));
}

/* ---- what is left, to 10 u ---- */

/* Seconds in which the run gives u from where it is. */
static int64_t seconds_for(const change *g, const dd_run *r, int64_t u)
{
    const dd_set_rate *rates = g->t->rates[r->order];
    int64_t rate = r->rate.ul_per_h, left = r->step_left_s, seconds = 0;
    for (uint16_t step = r->step; left > 0 && rate > 0 && u > rate * left;) {
        u -= rate * left;
        seconds += left;
        step++;
        rate = rates[step].set.ul_per_h;
        left = step + 1 < g->o->step_count ? g->o->steps[step].seconds : 0;
    }
    return rate > 0 ? seconds + (u + rate - 1) / rate : 0;
}

/* To a multiple of 10 u, down where that changes no second. */
static int64_t to_tens(const change *g, const dd_run *r, int64_t u)
{
    int64_t low = u - u % 10, high = low + 10;
    if (low == u)
        return u;
    return low > 0 && seconds_for(g, r, low) == seconds_for(g, r, u) ? low : seconds_for(g, r, high) == seconds_for(g, r, u) || low == 0 ? high : low;
}

/* ---- what every row may need ---- */

static void stop_and_hung(change *g, dd_moment due)
{
    const dd_order *o = g->o;
    if (o->stop_kind == DD_STOP_AT)
        set_moment(g, DD_COL_ORDERS_STOP, o->stop);
    else if (o->stop_kind == DD_STOP_CLOCK && due != DD_NEVER)
        set_moment(g, DD_COL_ORDERS_STOP, dd_moment_clock_after(g->c->plan->zone, due, o->stop_clock));
    if (o->hung != DD_NEVER && get(g, DD_COL_ORDERS_HUNG))
        set_moment(g, DD_COL_ORDERS_HUNG, o->hung);
}

/* When it was ordered stays, unless the next plan could not be read with it. */
static void keep_ordered(change *g, dd_moment start)
{
    if (g->o->ordered != DD_NEVER && start < g->o->ordered)
        blank(g, DD_COL_ORDERS_ORDERED);
}

/* `50 mL/h for 15 min; 120 mL/h`: from the step that it is in. */
static void rest_of_steps(change *g, const dd_run *r)
{
    const char *text = get(g, DD_COL_ORDERS_RATE);
    if (!text || (r->step == 0 && r->step_left_s == g->o->steps[0].seconds))
        return;
    for (uint16_t i = 0; i < r->step; i++)
        text = strchr(text, ';') + 1;
    text += strspn(text, " ");
    const char *times = strstr(text, " for "), *next = strchr(text, ';');
    if (!next || !times) /* the last one */
        set(g, DD_COL_ORDERS_RATE, dd_arena_text(g->c->arena, text, strlen(text)));
    else
        set(g, DD_COL_ORDERS_RATE, dd_carry_rows_form(g->c, "%.*s for %lld s%s", (int)(times - text), text, (long long)r->step_left_s, next));
}

/* The rate that it has now, where the chart says so. */
static void plain_rate(change *g, const dd_run *r)
{
    char number[DD_NUMBER_MAX];
    if (r->drops > 0) {
        set(g, DD_COL_ORDERS_RATE, dd_carry_rows_form(g->c, "%ld gtt/min", (long)r->drops));
    } else {
        dd_number_scaled(number, r->rate.ul_per_h, 3, 3, DD_STYLE_PROGRAM);
        set(g, DD_COL_ORDERS_RATE, dd_carry_rows_form(g->c, "%s mL/h", number));
    }
    blank(g, DD_COL_ORDERS_OVER);
    if (!get(g, DD_COL_ORDERS_VOLUME) && g->o->volume_ul != DD_UNKNOWN)
        set_volume(g, DD_COL_ORDERS_VOLUME, g->o->volume_ul * DD_U_PER_UL);
}

static void go_on_at(change *g, const dd_run *r)
{
    if (g->o->rate_kind == DD_RATE_REMAINDER)
        return;
    if (r->charted_rate && r->rate.ul_per_h > 0)
        plain_rate(g, r);
    else if (!r->charted_rate && g->o->step_count > 1)
        rest_of_steps(g, r);
}

/* u that the whole order gives: with a bag that hangs, less what the first one lost filling the set. */
static int64_t whole(const dd_order *o, bool primed)
{
    int64_t give = o->volume_ul;
    if (primed && o->prime_ul != DD_UNKNOWN) {
        int64_t most = (o->volume_ul + o->bag_ul - 1) / o->bag_ul * o->bag_ul - o->prime_ul;
        give = most < give ? most : give;
    }
    return give * DD_U_PER_UL;
}

/* ---- a run that goes on over the end ---- */

static void what_is_left(change *g, const dd_run *r, const dd_bag *bag)
{
    const dd_order *o = g->o;
    if (!bag && r->start == DD_NEVER) { /* it has its line and nothing was hung: its first bag is still to come */
        if (r->repeated)
            set_volume(g, DD_COL_ORDERS_GIVEN, 0);
        return;
    }
    bool primed = bag && r->to_go_u != 0;
    int64_t hanging = 0;
    if (primed) {
        hanging = to_tens(g, r, bag->left.u);
        set_volume(g, DD_COL_ORDERS_HANGING, hanging);
        if (bag->up != DD_NEVER)
            set(g, DD_COL_ORDERS_HUNG, dd_carry_rows_moment(g->c, bag->up));
        if (hanging > o->bag_ul * DD_U_PER_UL) { /* the nurse hung a larger one than was ordered */
            set_volume(g, DD_COL_ORDERS_BAG, (bag->hung.u + DD_U_PER_UL - 1) / DD_U_PER_UL * DD_U_PER_UL);
            if (r->rate.ul_per_h > 0 && o->rate_kind != DD_RATE_REMAINDER && o->step_count == 1)
                plain_rate(g, r); /* a dose rate would be worked out with the bag */
            primed = false;
            dd_carry_say(g->c, g->p, "more hangs for %s than its bag holds; in the next plan every bag of it holds that much", o->key);
        }
    } else {
        blank(g, DD_COL_ORDERS_HANGING);
        blank(g, DD_COL_ORDERS_HUNG);
    }
    if (!primed)
        blank(g, DD_COL_ORDERS_PRIME);
    if (o->volume_ul != DD_UNKNOWN) {
        int64_t to_go = r->to_go_u;
        bool apart = !hanging || (to_go - bag->left.u) % 10 != 0;
        to_go = apart ? to_tens(g, r, to_go) : hanging + (to_go - bag->left.u);
        set_volume(g, DD_COL_ORDERS_GIVEN, whole(o, primed) - to_go);
    }
    if (get(g, DD_COL_ORDERS_FLUSH) && r->flush_left_u != o->flush_u)
        set_volume(g, DD_COL_ORDERS_FLUSH, r->flush_left_u > 0 ? to_tens(g, r, r->flush_left_u) : 0);
}

static void goes_on(change *g, const dd_run *r, const dd_bag *bag)
{
    what_is_left(g, r, bag);
    go_on_at(g, r);
    blank(g, DD_COL_ORDERS_START);
    blank(g, DD_COL_ORDERS_REPLACES);
    if (g->o->runs == DD_PIGGYBACK || r->repeated)
        blank(g, DD_COL_ORDERS_STOP); /* what has begun is not cut by it */
    else if (g->o->stop_kind != DD_STOP_NONE)
        set_moment(g, DD_COL_ORDERS_STOP,
            g->o->stop_kind == DD_STOP_AT ? g->o->stop : dd_moment_clock_after(g->c->plan->zone, r->due, g->o->stop_clock));
    if (g->o->runs == DD_PIGGYBACK) /* it has its line: nothing comes before it */
        set(g, DD_COL_ORDERS_WINDOW, "0 min");
    keep_ordered(g, g->c->plan->end);
}

/* ---- rows ---- */

static bool begin(change *g, const dd_carry_row *row)
{
    g->row = dd_carry_rows_add(g->rows, row);
    g->no_memory |= !g->row;
    return g->row != NULL;
}

static void rest_row(change *g, const dd_carry_row *row, const dd_carry_rest *rest)
{
    static const dd_column_id repeated[] = {DD_COL_ORDERS_EVERY, DD_COL_ORDERS_TIMES, DD_COL_ORDERS_DOSES, DD_COL_ORDERS_WINDOW, DD_COL_ORDERS_GAP};
    if (!begin(g, row))
        return;
    set(g, DD_COL_ORDERS_ORDER, rest->key);
    for (size_t i = 0; i < sizeof repeated / sizeof *repeated; i++)
        blank(g, repeated[i]);
    if (!rest->after && rest->run->goes_on) {
        set(g, DD_COL_ORDERS_LINE, g->p->lines[rest->run->line].key);
        goes_on(g, rest->run, dd_carry_fate_bag(g->t, rest->run));
        return;
    }
    blank(g, DD_COL_ORDERS_STOP);
    blank(g, DD_COL_ORDERS_REPLACES);
    blank(g, DD_COL_ORDERS_START);
    if (rest->after)
        set(g, DD_COL_ORDERS_START, dd_carry_rows_form(g->c, "after %s", rest->after));
    set_volume(g, DD_COL_ORDERS_GIVEN, 0);
    keep_ordered(g, g->c->plan->end);
}

static void waiting_row(change *g, const dd_carry_fate *f)
{
    blank(g, DD_COL_ORDERS_START); /* the order of the rows says who comes first */
    stop_and_hung(g, f->start);
    if (!f->took_bag) {
        keep_ordered(g, g->c->plan->end);
        return;
    }
    set_volume(g, DD_COL_ORDERS_HANGING, (f->hangs->left.u + 5) / 10 * 10);
    set(g, DD_COL_ORDERS_HUNG, dd_carry_rows_moment(g->c, f->hangs->up));
    if (g->o->volume_ul != DD_UNKNOWN && !get(g, DD_COL_ORDERS_GIVEN))
        set_volume(g, DD_COL_ORDERS_GIVEN, 0);
    keep_ordered(g, g->c->plan->end);
}

static void coming_row(change *g, const dd_carry_fate *f)
{
    char offset[48] = "";
    if (f->start != DD_NEVER) {
        set_moment(g, DD_COL_ORDERS_START, f->start);
        keep_ordered(g, f->start);
    } else if (f->after) {
        if (g->o->after_s > 0 && g->o->after_s % 60 == 0)
            snprintf(offset, sizeof offset, " + %lld min", (long long)(g->o->after_s / 60));
        else if (g->o->after_s > 0)
            snprintf(offset, sizeof offset, " + %lld s", (long long)g->o->after_s);
        set(g, DD_COL_ORDERS_START, dd_carry_rows_form(g->c, "after %s%s", f->after, offset));
    }
    stop_and_hung(g, f->start);
}

/* `times` without a start and a number of doses means the same in every plan; anything else counts from where it began. */
static void repeated_row(change *g, const dd_carry_fate *f)
{
    if (f->start != DD_NEVER) {
        set_moment(g, DD_COL_ORDERS_START, f->start);
        if (f->doses > 0)
            set(g, DD_COL_ORDERS_DOSES, dd_carry_rows_form(g->c, "%ld", (long)f->doses));
    } else if (get(g, DD_COL_ORDERS_START) || g->o->doses > 0) {
        set_moment(g, DD_COL_ORDERS_START, g->o->start);
        keep_ordered(g, g->o->start);
    }
    if (g->o->stop_kind == DD_STOP_AT)
        set_moment(g, DD_COL_ORDERS_STOP, g->o->stop);
}

static dd_status each_order(dd_carry_rows *rows, const dd_carry_row *row)
{
    dd_carry *c = rows->carry;
    const char *key = dd_carry_rows_get(rows, row, DD_COL_ORDERS_ORDER);
    const dd_keys_slot *slot = row->patient != DD_DESK_NONE && key ? dd_keys_find(&c->folder->order_keys, row->patient, key, strlen(key)) : NULL;
    if (!slot)
        return DD_OK;
    const dd_carry_fate *f = &c->fates[row->patient].orders[slot->value];
    change g = {.c = c, .rows = rows, .p = &c->plan->patients[row->patient], .t = c->timelines[row->patient]};
    g.o = &g.p->orders[slot->value];
    for (uint32_t i = 0; i < f->rest_count; i++)
        rest_row(&g, row, &f->rests[i]);
    if (f->end == DD_CARRY_OVER || g.no_memory || !begin(&g, row))
        return g.no_memory ? DD_NO_MEMORY : DD_OK;
    if (f->replaced)
        blank(&g, DD_COL_ORDERS_REPLACES);
    if (f->line != g.o->line)
        set(&g, DD_COL_ORDERS_LINE, g.p->lines[f->line].key);
    if (f->end == DD_CARRY_GOES_ON)
        goes_on(&g, f->run, f->hangs);
    else if (f->end == DD_CARRY_WAITS)
        waiting_row(&g, f);
    else if (f->end == DD_CARRY_COMES)
        coming_row(&g, f);
    else
        repeated_row(&g, f);
    if (c->fates[row->patient].waiting) {
        g.row->rank = f->end == DD_CARRY_GOES_ON || f->first ? 0 : f->end == DD_CARRY_WAITS ? 1 : 3;
        g.row->due = f->start;
    }
    return g.no_memory ? DD_NO_MEMORY : DD_OK;
}

/* ---- the order of the rows ---- */

static int by_turn(const void *left, const void *right)
{
    const dd_carry_row *a = left, *b = right;
    if (a->patient != b->patient)
        return a->patient < b->patient ? -1 : 1;
    if (a->rank != b->rank)
        return a->rank < b->rank ? -1 : 1;
    if (a->rank == 1 && a->due != b->due)
        return a->due < b->due ? -1 : 1;
    return (a->place > b->place) - (a->place < b->place);
}

/* All that wait are due when the next plan begins, and then the earlier row comes first: so what runs stands before what waits, and
 * that by its due time. Rows of a patient for whom nothing waits stay where they are among themselves. */
dd_status dd_carry_orders(dd_carry *c, dd_carry_rows *out)
{
    dd_status status = dd_carry_rows_read(c, DD_TABLE_ORDERS, each_order, out);
    bool waiting = false;
    for (size_t i = 0; i < c->plan->patient_count; i++)
        waiting |= c->fates[i].waiting;
    if (status == DD_OK && waiting && out->count > 1)
        qsort(out->rows, out->count, sizeof *out->rows, by_turn);
    return status;
}
