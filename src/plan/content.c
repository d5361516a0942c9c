#include "content.h"

#include <stdio.h>

#include "catalogue.h"

/* The members of dd_composition, and where an additive says what it brings of each. */
static const struct member { size_t of_composition, of_additive; } members[] = {
#define MEMBER(name, added) {offsetof(dd_composition, name), offsetof(dd_additive, added)}
    MEMBER(sodium, sodium), MEMBER(potassium, potassium), MEMBER(chloride, chloride), MEMBER(calcium, calcium), MEMBER(magnesium, magnesium),
    MEMBER(phosphate, phosphate), MEMBER(lactate, lactate), MEMBER(acetate, acetate), MEMBER(bicarbonate, bicarbonate), MEMBER(glucose, glucose),
    MEMBER(osmolarity, osmoles),
};
#define MEMBERS (sizeof members / sizeof *members)
#define CONTENT_MOST INT64_C(10000000000000) /* 10 mol/L, 10 kg/L: nothing is denser */

static int64_t *member(dd_composition *c, size_t i)
{
    return (int64_t *)(void *)((char *)c + members[i].of_composition);
}

static int64_t brings(const dd_additive *a, size_t i)
{
    return *(const int32_t *)(const void *)((const char *)a + members[i].of_additive);
}

/* The amount in nmol of what it counts, or in ug where it is weighed by the gram (glucose). False: it does not say. */
static bool amount_of(const dd_additive *a, dd_quantity q, dd_ratio *out)
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
        return a->ug_per_mmol > 0 && dd_ratio_make(exact.num * 1000, exact.den * a->ug_per_mmol, out) == DD_OK;
    case DD_DIM_NONE: case DD_DIM_VOLUME: case DD_DIM_ACTIVITY: case DD_DIM_TIME: case DD_DIM_AGE: case DD_DIM_DROPS: case DD_DIM_OSMOLE:
    case DD_DIM_PERCENT: break;
    }
    return false;
}

/* Adds what one additive brings to a litre; sums stay exact until all are in. */
static bool add(const dd_additive *a, dd_ratio amount, dd_ratio litres, dd_ratio sums[])
{
    for (size_t i = 0; i < MEMBERS; i++) {
        dd_ratio part; /* amount x brings / 1000: both the amount's unit and the member's are thousandths of what `brings` is in */
        if (brings(a, i) == 0)
            continue;
        if (dd_ratio_times(amount, (dd_ratio){brings(a, i), 1000}, &part) != DD_OK || dd_ratio_over(part, litres, &part) != DD_OK
            || dd_ratio_plus(sums[i], part, &sums[i]) != DD_OK)
            return false;
    }
    return true;
}

static bool is_salt_amount(dd_quantity q)
{
    dd_dimension d = dd_quantity_dimension(q.unit);
    return d == DD_DIM_MOLE || d == DD_DIM_CHARGE;
}

/* What all additives bring to a litre of the order's bag. *strange: one that is not known is measured like a salt, so nothing is
 * known of the bag's. */
static bool add_all(dd_order_row *r, dd_ratio sums[], bool *strange)
{
    const dd_mixture *m = r->order->mixture;
    for (uint8_t k = 0; k < m->addition_count; k++) {
        const dd_addition *n = &m->additions[k];
        dd_ratio amount, below;
        if (n->additive < 0) {
            *strange = *strange || is_salt_amount(n->amount);
            continue;
        }
        const dd_additive *a = &dd_catalogue_additives[n->additive];
        if (!amount_of(a, n->amount, &amount)) {
            dd_table_fault(r->s, DD_COL_ORDERS_FLUID, DD_MSG_ADDITIVE_UNIT, n->key, a->grams ? "an amount in g" : "an amount in mmol", NULL);
            return false;
        }
        if (n->per_bag)
            below = (dd_ratio){r->order->bag_ul, 1};
        else if (dd_quantity_below(n->amount, &below) != DD_OK)
            return false;
        if (dd_ratio_over(below, (dd_ratio){1000000, 1}, &below) != DD_OK || !add(a, amount, below, sums)) {
            dd_cells_quantity_fault(r->s, DD_COL_ORDERS_FLUID, DD_QF_TOO_LARGE, n->key, NULL);
            return false;
        }
    }
    return true;
}

static bool by_bag(const dd_mixture *m)
{
    for (uint8_t k = 0; k < m->addition_count; k++)
        if (m->additions[k].per_bag)
            return true;
    return false;
}

const dd_composition *dd_content_read(dd_order_row *r)
{
    dd_mixture_desk *known = &r->f->mixtures[r->order->mixture->number];
    if (known->has && (!by_bag(r->order->mixture) || known->bag_ul == r->order->bag_ul))
        return known->has;
    const dd_mixture *m = r->order->mixture;
    dd_ratio sums[MEMBERS];
    bool strange = false;
    for (size_t i = 0; i < MEMBERS; i++)
        sums[i] = (dd_ratio){0, 1};
    if (!add_all(r, sums, &strange))
        return NULL;
    dd_composition *c = dd_arena_take(r->f->arena, sizeof *c);
    if (!c) {
        r->f->no_memory = true;
        return NULL;
    }
    for (size_t i = 0; i < MEMBERS; i++) {
        int64_t more, *has = member(c, i);
        *has = DD_UNKNOWN;
        if (m->fluid < 0 || strange)
            continue;
        dd_composition fluid = r->f->fluids[m->fluid].has;
        if (*member(&fluid, i) == DD_UNKNOWN)
            continue;
        if (dd_ratio_half_up(sums[i], 1, &more) != DD_OK || more > CONTENT_MOST) {
            dd_cells_quantity_fault(r->s, DD_COL_ORDERS_FLUID, DD_QF_TOO_LARGE, m->text, NULL);
            return NULL;
        }
        *has = *member(&fluid, i) + more;
    }
    known->has = c;
    known->bag_ul = r->order->bag_ul;
    return c;
}
