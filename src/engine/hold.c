#include "hold.h"

#include <string.h>

static const char *lot_of(const dd_stock *s)
{
    return s->lot ? s->lot : s->code_lot;
}

static bool differ(const char *a, const char *b)
{
    return a && b && strcmp(a, b) != 0;
}

/* What names a bag is not the same in both. */
static bool contradicts(const dd_stock *row, const dd_stock *scanned)
{
    return differ(row->gtin, scanned->gtin) || differ(lot_of(row), lot_of(scanned)) || differ(row->serial, scanned->serial);
}

static const dd_bag *bag_of(const dd_timeline *t, const dd_stock *row, dd_moment *down)
{
    return dd_stock_bag(t->patient, t->bags, t->bag_count, row->order, dd_stock_place(t->patient, row), down);
}

/* Bags of one lot are told apart by what they are for: the next to go up, then the one that is up, then any. */
static int rank_of(const dd_timeline *t, const dd_stock *row, const dd_stock *scanned)
{
    dd_moment down;
    const dd_bag *bag = bag_of(t, row, &down);
    int turn = !bag ? 0 : bag->up != DD_NEVER && bag->up >= t->now ? 2 : down == DD_NEVER || down > t->now ? 1 : 0;
    return (row->serial && scanned->serial ? 6 : lot_of(row) && lot_of(scanned) ? 3 : 0) + turn;
}

static void find_row(const dd_timeline *t, int order, const dd_stock *scanned, dd_hold *h)
{
    const dd_patient *p = t->patient;
    int best = -1;
    for (size_t i = 0; i < p->stock_count; i++) {
        const dd_stock *row = &p->stock[i];
        if (row->order != order)
            continue;
        h->rows++;
        int rank = contradicts(row, scanned) ? -1 : rank_of(t, row, scanned);
        if (rank > best) {
            best = rank;
            h->row = row;
        }
    }
    h->strange = h->rows && !h->row;
}

/* As which bag it hangs: by its row, else the next one to go up, else the one that is up. */
static void find_bag(const dd_timeline *t, int order, dd_hold *h)
{
    dd_moment down = DD_NEVER;
    if (h->row) {
        h->bag = bag_of(t, h->row, &down);
    } else {
        const dd_bag *up = NULL;
        dd_moment its, up_down = DD_NEVER;
        size_t place = 0;
        for (const dd_bag *b; !h->bag && (b = dd_stock_bag(t->patient, t->bags, t->bag_count, order, place, &its)); place++) {
            if (b->up != DD_NEVER && b->up >= t->now) {
                h->bag = b;
                down = its;
            } else if (its == DD_NEVER || its > t->now) {
                up = b;
                up_down = its;
            }
        }
        if (!h->bag) {
            h->bag = up;
            down = up_down;
        }
    }
    h->until = !h->bag ? t->now : down != DD_NEVER ? down : t->plan->end;
}

/* Rows of the whole ward: a trade item number is the same everywhere, and a bag hangs once. */
static void find_others(const dd_plan *plan, const dd_order *o, const dd_stock *scanned, dd_hold *h)
{
    for (size_t i = 0; i < plan->patient_count; i++) {
        const dd_patient *p = &plan->patients[i];
        for (size_t k = 0; p->errors == 0 && k < p->stock_count; k++) {
            const dd_stock *row = &p->stock[k];
            if (!h->fluid_row && dd_stock_other_fluid(scanned, o, row, &p->orders[row->order])) {
                h->fluid_row = row;
                h->fluid_of = p;
            }
            if (!h->twice_row && row != h->row && dd_stock_same(scanned, row)) {
                h->twice_row = row;
                h->twice_of = p;
            }
        }
    }
    h->is[DD_STOCK_FLUID] = h->fluid_row != NULL;
    h->is[DD_STOCK_TWICE] = h->twice_row != NULL;
}

void dd_hold_make(const dd_timeline *t, int order, const dd_stock *scanned, dd_hold *h)
{
    const dd_order *o = &t->patient->orders[order];
    *h = (dd_hold){.stock = *scanned};
    find_row(t, order, scanned, h);
    find_bag(t, order, h);
    h->stock.order = (int16_t)order;
    if (h->row) { /* what the row says, be it in columns or in its own code */
        h->stock.lot = lot_of(h->row);
        h->stock.expires = h->row->expires != DD_NEVER ? h->row->expires : h->row->code_expires;
        h->stock.volume_ul = dd_stock_volume(h->row);
    }
    for (dd_stock_fault fault = DD_STOCK_EXPIRED; fault < DD_STOCK_FAULTS; fault++)
        h->is[fault] = dd_stock_has(t->plan, o, &h->stock, fault, h->bag, h->until);
    dd_moment expires = dd_stock_expires(&h->stock);
    h->no_expiry = expires == DD_NEVER;
    h->is[DD_STOCK_EXPIRED] = h->is[DD_STOCK_EXPIRED] || (!h->no_expiry && expires <= t->now);
    find_others(t->plan, o, scanned, h);
}

bool dd_hold_fault(const dd_hold *h)
{
    bool any = h->strange;
    for (int i = 0; i < DD_STOCK_FAULTS; i++)
        any = any || h->is[i];
    return any;
}
