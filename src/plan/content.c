#include "content.h"

#include <stdio.h>

#include "catalogue.h"

#define CONTENT_MOST INT64_C(10000000000000) /* 10 mol/L, 10 kg/L: nothing is denser */

bool dd_content_amount(const dd_additive *a, dd_quantity q, dd_ratio *out)
{
    dd_ratio exact; /* umol, ueq or ng */
    if (dd_quantity_exact(q, &exact) != DD_OK)
        return false;
    switch (dd_quantity_dimension(q.unit)) {
    case DD_DIM_MOLE: return !a->grams && dd_ratio_times(exact, (dd_ratio){1000, 1}, out) == DD_OK;
    case DD_DIM_CHARGE: return !a->grams && a->valence > 0 && dd_ratio_times(exact, (dd_ratio){1000, a->valence}, out) == DD_OK;
    case DD_DIM_MASS:
        if (a->grams)
            return dd_ratio_over(exact, (dd_ratio){1000, 1}, out) == DD_OK;
        return a->weighs_ug > 0 && dd_ratio_times(exact, (dd_ratio){a->of, a->weighs_ug}, out) == DD_OK;
    case DD_DIM_NONE: case DD_DIM_VOLUME: case DD_DIM_ACTIVITY: case DD_DIM_TIME: case DD_DIM_AGE: case DD_DIM_DROPS: case DD_DIM_OSMOLE:
    case DD_DIM_PERCENT: break;
    }
    return false;
}

/* Adds what one additive brings to a litre; sums stay exact until all are in. */
static bool add(const dd_additive *a, dd_ratio amount, dd_ratio litres, dd_ratio sums[])
{
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_ratio part; /* both the amount's unit and the member's are thousandths of what `of` and `brings` are in */
        if (dd_catalogue_brings(a, i) == 0)
            continue;
        if (dd_ratio_times(amount, (dd_ratio){dd_catalogue_brings(a, i), a->of}, &part) != DD_OK || dd_ratio_over(part, litres, &part) != DD_OK
            || dd_ratio_plus(sums[i], part, &sums[i]) != DD_OK)
            return false;
    }
    return true;
}

bool dd_content_strange(const dd_addition *n)
{
    dd_dimension d = dd_quantity_dimension(n->amount.unit);
    return n->additive < 0 && (d == DD_DIM_MOLE || d == DD_DIM_CHARGE);
}

bool dd_content_add(dd_order_row *r, const dd_addition *n, dd_ratio sums[DD_MEMBERS])
{
    dd_ratio amount, below;
    if (n->additive < 0)
        return true;
    const dd_additive *a = &dd_catalogue_additives[n->additive];
    if (!dd_content_amount(a, n->amount, &amount)) {
        dd_table_fault(r->s, DD_COL_ORDERS_FLUID, DD_MSG_ADDITIVE_UNIT, n->key, a->grams ? "an amount in g" : "an amount in mmol", NULL);
        return false;
    }
    if (n->per_bag)
        below = (dd_ratio){r->order->bag_ul, 1};
    else if (dd_quantity_below(n->amount, &below) != DD_OK)
        return false;
    if (dd_ratio_over(below, (dd_ratio){1000000, 1}, &below) == DD_OK && add(a, amount, below, sums))
        return true;
    dd_cells_quantity_fault(r->s, DD_COL_ORDERS_FLUID, DD_QF_TOO_LARGE, n->key, NULL);
    return false;
}

bool dd_content_by_bag(const dd_mixture *m)
{
    for (uint8_t k = 0; k < m->addition_count; k++)
        if (m->additions[k].per_bag)
            return true;
    return false;
}

const dd_composition *dd_content_read(dd_order_row *r)
{
    dd_mixture_desk *known = &r->f->mixtures[r->order->mixture->number];
    if (known->has && (!dd_content_by_bag(r->order->mixture) || known->bag_ul == r->order->bag_ul))
        return known->has;
    const dd_mixture *m = r->order->mixture;
    dd_ratio sums[DD_MEMBERS];
    bool strange = false;
    for (size_t i = 0; i < DD_MEMBERS; i++)
        sums[i] = (dd_ratio){0, 1};
    for (uint8_t k = 0; k < m->addition_count; k++) {
        strange = strange || dd_content_strange(&m->additions[k]);
        if (!dd_content_add(r, &m->additions[k], sums))
            return NULL;
    }
    dd_composition *c = dd_arena_take(r->f->arena, sizeof *c);
    if (!c) {
        r->f->no_memory = true;
        return NULL;
    }
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        int64_t more;
        dd_catalogue_set_member(c, i, DD_UNKNOWN);
        if (m->fluid < 0 || strange)
            continue;
        int64_t own = dd_catalogue_member(&r->f->fluids[m->fluid].has, i);
        if (own == DD_UNKNOWN)
            continue;
        if (dd_ratio_half_up(sums[i], 1, &more) != DD_OK || more > CONTENT_MOST) {
            dd_cells_quantity_fault(r->s, DD_COL_ORDERS_FLUID, DD_QF_TOO_LARGE, m->text, NULL);
            return NULL;
        }
        dd_catalogue_set_member(c, i, own + more);
    }
    known->has = c;
    known->bag_ul = r->order->bag_ul;
    return c;
}
