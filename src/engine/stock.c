#include "stock.h"

#include <stdlib.h>
#include <string.h>

const char *dd_stock_words(dd_stock_fault fault)
{
    static const char *const words[DD_STOCK_FAULTS] = {
        [DD_STOCK_EXPIRED] = "it expires before the end of its hang",
        [DD_STOCK_LOT] = "its lot is not the one in its code",
        [DD_STOCK_DATE] = "its date is not the one in its code",
        [DD_STOCK_VOLUME] = "its volume is not the one in its code",
        [DD_STOCK_BAG] = "its volume is not that of the order's bag",
        [DD_STOCK_FLUID] = "one trade item number for two fluids",
        [DD_STOCK_TWICE] = "one and the same bag in two rows",
    };
    return words[fault];
}

dd_moment dd_stock_expires(const dd_stock *s)
{
    if (s->expires == DD_NEVER)
        return s->code_expires;
    return s->code_expires != DD_NEVER && s->code_expires < s->expires ? s->code_expires : s->expires;
}

int64_t dd_stock_volume(const dd_stock *s)
{
    return s->volume_ul != DD_UNKNOWN ? s->volume_ul : s->code_volume_ul;
}

/* A date means its end; a bag that was made up has a time of its own, before the date of what it was made from. */
static bool is_date(const dd_plan *plan, dd_moment t)
{
    dd_civil local = dd_moment_local(plan->zone, t);
    return local.hour == 0 && local.minute == 0 && local.second == 0;
}

bool dd_stock_has(const dd_plan *plan, const dd_order *o, const dd_stock *s, dd_stock_fault fault, const dd_bag *bag, dd_moment until)
{
    dd_moment expires = dd_stock_expires(s);
    int64_t volume = dd_stock_volume(s);
    switch (fault) {
    case DD_STOCK_EXPIRED: return expires != DD_NEVER && (bag ? expires < until : expires <= until);
    case DD_STOCK_LOT: return s->lot && s->code_lot && strcmp(s->lot, s->code_lot) != 0;
    case DD_STOCK_DATE:
        return s->expires != DD_NEVER && s->code_expires != DD_NEVER && s->expires != s->code_expires
            && (s->expires > s->code_expires || is_date(plan, s->expires));
    case DD_STOCK_VOLUME: return s->volume_ul != DD_UNKNOWN && s->code_volume_ul != DD_UNKNOWN && s->volume_ul != s->code_volume_ul;
    case DD_STOCK_BAG: return volume != DD_UNKNOWN && volume != o->bag_ul;
    case DD_STOCK_FLUID: case DD_STOCK_TWICE: case DD_STOCK_FAULTS: break;
    }
    return false;
}

static bool same_text(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

bool dd_stock_other_fluid(const dd_stock *a, const dd_order *of_a, const dd_stock *b, const dd_order *of_b)
{
    int fluid = of_a->mixture->fluid, other = of_b->mixture->fluid; /* a drug without a fluid may come in anything */
    return same_text(a->gtin, b->gtin) && fluid >= 0 && other >= 0 && fluid != other;
}

bool dd_stock_same(const dd_stock *a, const dd_stock *b)
{
    return same_text(a->gtin, b->gtin) && same_text(a->serial, b->serial);
}

/* ---- which bag ---- */

/* The bags of an order, which stand together. */
static const dd_bag *bags_of(const dd_bag *bags, size_t count, int order, size_t *found)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (bags[middle].order < order)
            low = middle + 1;
        else
            high = middle;
    }
    for (*found = 0; low + *found < count && bags[low + *found].order == order;)
        ++*found;
    return bags + low;
}

/* Whether the first bag of `order` is the last one of the order that it took over from. */
static bool took_bag(const dd_patient *p, const dd_bag *bags, size_t count, int order)
{
    size_t own, before;
    int from = p->orders[order].replaces;
    if (from < 0 || p->orders[from].repeat != DD_ONCE || p->orders[order].repeat != DD_ONCE)
        return false;
    const dd_bag *first = bags_of(bags, count, order, &own), *last = bags_of(bags, count, from, &before);
    return own > 0 && before > 0 && first->up != DD_NEVER && first->up == last[before - 1].up && last[before - 1].down != DD_NEVER
        && first->hung.u == last[before - 1].left.u;
}

const dd_bag *dd_stock_bag(const dd_patient *p, const dd_bag *bags, size_t count, int order, size_t place, dd_moment *down)
{
    size_t found;
    const dd_bag *own = bags_of(bags, count, order, &found);
    size_t taken = took_bag(p, bags, count, order);
    if (place >= found - (found ? taken : 0))
        return NULL;
    const dd_bag *bag = own + place + taken, *last = bag;
    bool is_last = place + taken + 1 == found;
    for (int hops = 0; is_last && last->down != DD_NEVER && last->left.u > 0 && hops < p->order_count; hops++) { /* it may have been passed on, and on again */
        int next = 0;
        while (next < p->order_count && !(p->orders[next].replaces == order && took_bag(p, bags, count, next)))
            next++;
        if (next == p->order_count)
            break;
        last = bags_of(bags, count, next, &found);
        is_last = found == 1;
        order = next;
    }
    *down = last->down;
    return bag;
}

size_t dd_stock_place(const dd_patient *p, const dd_stock *stock)
{
    size_t place = 0;
    for (const dd_stock *s = p->stock; s < stock; s++)
        place += s->order == stock->order;
    return place;
}

/* ---- findings ---- */

static int by_bag(const void *left, const void *right)
{
    const dd_bag *a = left, *b = right;
    int c = (a->order > b->order) - (a->order < b->order);
    c = c ? c : (a->due > b->due) - (a->due < b->due);
    return c ? c : (a->number > b->number) - (a->number < b->number);
}

static dd_finding *found(dd_work *w, const dd_stock *s, const dd_bag *bag, dd_stock_fault fault)
{
    dd_moment at = bag && bag->up != DD_NEVER && bag->up > w->plan->begins ? bag->up : w->plan->begins;
    dd_finding *f = dd_work_finding(w, fault == DD_STOCK_EXPIRED ? DD_FINDING_BAG_EXPIRED : DD_FINDING_BAG_MISMATCH, s->order,
                                    w->patient->orders[s->order].line, fault == DD_STOCK_EXPIRED && !bag ? w->now : at);
    if (!f)
        return NULL;
    f->stock = s;
    if (fault != DD_STOCK_EXPIRED)
        f->word = dd_stock_words(fault);
    return f;
}

static dd_status judge(dd_work *w, const dd_stock *s, const dd_bag *bag, dd_moment until)
{
    const dd_order *o = &w->patient->orders[s->order];
    for (dd_stock_fault fault = DD_STOCK_EXPIRED; fault < DD_STOCK_FAULTS; fault++) {
        if (!dd_stock_has(w->plan, o, s, fault, bag, until))
            continue;
        dd_finding *f = found(w, s, bag, fault);
        if (!f)
            return DD_NO_MEMORY;
        if (fault == DD_STOCK_EXPIRED && bag) {
            dd_moment expires = dd_stock_expires(s);
            f->at = expires > f->at ? expires : f->at;
            f->to = until;
        } else if (fault == DD_STOCK_VOLUME || fault == DD_STOCK_BAG) {
            f->figure = dd_work_ml(dd_stock_volume(s) * DD_U_PER_UL);
            f->limit = dd_work_ml((fault == DD_STOCK_BAG ? o->bag_ul : s->code_volume_ul) * DD_U_PER_UL);
        }
    }
    bool known = dd_stock_expires(s) != DD_NEVER;
    return known || dd_work_unchecked(w, DD_FINDING_BAG_EXPIRED, DD_WANT_EXPIRY, s->order) ? DD_OK : DD_NO_MEMORY;
}

static int by_number(const void *left, const void *right)
{
    const dd_stock *a = *(const dd_stock *const *)left, *b = *(const dd_stock *const *)right;
    int c = strcmp(a->gtin, b->gtin);
    return c ? c : (a->line_of_file > b->line_of_file) - (a->line_of_file < b->line_of_file);
}

static int by_serial(const void *left, const void *right)
{
    const dd_stock *a = *(const dd_stock *const *)left, *b = *(const dd_stock *const *)right;
    int c = strcmp(a->gtin, b->gtin);
    c = c ? c : strcmp(a->serial ? a->serial : "", b->serial ? b->serial : "");
    return c ? c : (a->line_of_file > b->line_of_file) - (a->line_of_file < b->line_of_file);
}

static bool add_pair(dd_work *w, const dd_stock *s, const dd_stock *first, dd_stock_fault fault)
{
    dd_finding *f = found(w, s, NULL, fault);
    if (f && first->order != s->order)
        f->other = first->order;
    return f != NULL;
}

/* Rows of one trade item number against the first of them; rows of one serial number likewise. */
static dd_status judge_pairs(dd_work *w)
{
    const dd_patient *p = w->patient;
    const dd_stock **list = dd_arena_take_many(w->arena, (size_t)p->stock_count + 1, sizeof *list);
    size_t n = 0;
    if (!list)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < p->stock_count; i++)
        if (p->stock[i].gtin)
            list[n++] = &p->stock[i];
    if (n > 1)
        qsort(list, n, sizeof *list, by_number);
    for (size_t i = 1, first = 0; i < n; i++) {
        bool says = p->orders[list[first]->order].mixture->fluid >= 0;
        first = says && same_text(list[first]->gtin, list[i]->gtin) ? first : i;
        if (dd_stock_other_fluid(list[i], &p->orders[list[i]->order], list[first], &p->orders[list[first]->order])
            && !add_pair(w, list[i], list[first], DD_STOCK_FLUID))
            return DD_NO_MEMORY;
    }
    if (n > 1)
        qsort(list, n, sizeof *list, by_serial);
    for (size_t i = 1; i < n; i++)
        if (dd_stock_same(list[i], list[i - 1]) && !add_pair(w, list[i], list[i - 1], DD_STOCK_TWICE))
            return DD_NO_MEMORY;
    return DD_OK;
}

dd_status dd_stock_find(dd_work *w)
{
    const dd_patient *p = w->patient;
    if (p->stock_count == 0)
        return DD_OK;
    dd_bag *bags = dd_arena_take_many(w->arena, w->bag_count + 1, sizeof *bags);
    size_t *place = dd_arena_take_many(w->arena, (size_t)p->order_count + 1, sizeof *place);
    if (!bags || !place)
        return DD_NO_MEMORY;
    if (w->bag_count)
        memcpy(bags, w->bags, w->bag_count * sizeof *bags);
    if (w->bag_count > 1)
        qsort(bags, w->bag_count, sizeof *bags, by_bag);
    dd_status status = DD_OK;
    for (size_t i = 0; i < p->stock_count && status == DD_OK; i++) {
        const dd_stock *s = &p->stock[i];
        dd_moment down;
        const dd_bag *bag = dd_stock_bag(p, bags, w->bag_count, s->order, place[s->order]++, &down);
        status = judge(w, s, bag, !bag ? w->now : down != DD_NEVER ? down : w->plan->end);
    }
    return status == DD_OK ? judge_pairs(w) : status;
}
