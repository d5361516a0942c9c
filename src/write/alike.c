#include "alike.h"

#include <string.h>

#include "content.h"
#include "needs.h"
#include "set.h"

/* ---- what is in the bag ---- */

/* An amount, for a bag or in a microlitre, in a unit that its dimension has alone: additives count what they bring. */
typedef struct amount {
    dd_ratio value;
    dd_dimension of;
    bool some, per_bag;
} amount;

static bool measure(const dd_additive *a, dd_quantity q, dd_ratio *value, dd_dimension *of)
{
    if (a && dd_content_amount(a, q, value)) {
        *of = DD_DIM_MOLE;
        return true;
    }
    *of = dd_quantity_dimension(q.unit);
    return dd_quantity_exact(q, value) == DD_OK;
}

/* What an order says of an amount `q`. as_bag: for the bag; else in a microlitre, by the bag where it is written for one. */
static bool amount_of(const dd_order *o, const dd_additive *a, dd_quantity q, bool as_bag, dd_ratio *value, dd_dimension *of)
{
    dd_ratio below = {o->bag_ul, 1};
    if (!measure(a, q, value, of))
        return false;
    if (as_bag)
        return true;
    if (q.per != DD_UNIT_NONE ? dd_quantity_below(q, &below) != DD_OK : o->bag_ul == DD_UNKNOWN)
        return false;
    return dd_ratio_over(*value, below, value) == DD_OK;
}

/* All that an order adds under one name. */
static bool sum_of(const dd_order *o, const char *key, bool as_bag, amount *out)
{
    *out = (amount){.value = {0, 1}};
    for (uint8_t i = 0; i < o->mixture->addition_count; i++) {
        const dd_addition *n = &o->mixture->additions[i];
        dd_ratio value;
        dd_dimension of;
        if (strcmp(n->key, key) != 0)
            continue;
        if (!amount_of(o, n->additive >= 0 ? &dd_catalogue_additives[n->additive] : NULL, n->amount, as_bag, &value, &of)
            || (out->some && of != out->of) || dd_ratio_plus(out->value, value, &out->value) != DD_OK)
            return false;
        out->of = of;
        out->some = true;
    }
    return true;
}

static bool all_for_bag(const dd_order *o, const char *key)
{
    for (uint8_t i = 0; i < o->mixture->addition_count; i++)
        if (strcmp(o->mixture->additions[i].key, key) == 0 && !o->mixture->additions[i].per_bag)
            return false;
    return true;
}

static bool adds_alike(const dd_order *a, const dd_order *b)
{
    for (uint8_t i = 0; i < a->mixture->addition_count; i++) {
        const char *key = a->mixture->additions[i].key;
        bool as_bag = all_for_bag(a, key) && all_for_bag(b, key);
        amount x, y;
        if (!sum_of(a, key, as_bag, &x) || !sum_of(b, key, as_bag, &y) || x.some != y.some || x.of != y.of || dd_ratio_compare(x.value, y.value) != 0)
            return false;
    }
    return true;
}

static bool drugs_alike(const dd_order *a, const dd_order *b)
{
    const dd_mixture *x = a->mixture, *y = b->mixture;
    if (!x->drug || !y->drug)
        return x->drug == y->drug;
    bool none = x->drug_amount.unit == DD_UNIT_NONE;
    if (strcmp(x->drug, y->drug) != 0 || none != (y->drug_amount.unit == DD_UNIT_NONE))
        return false;
    int additive = dd_catalogue_additive(x->drug, strlen(x->drug));
    const dd_additive *is = additive >= 0 ? &dd_catalogue_additives[additive] : NULL;
    bool as_bag = x->drug_amount.per == DD_UNIT_NONE && y->drug_amount.per == DD_UNIT_NONE;
    dd_ratio p, q;
    dd_dimension of, other;
    return none || (amount_of(a, is, x->drug_amount, as_bag, &p, &of) && amount_of(b, is, y->drug_amount, as_bag, &q, &other) && of == other
                    && dd_ratio_compare(p, q) == 0);
}

bool dd_alike_fluid(const dd_order *a, const dd_order *b)
{
    return a->mixture->fluid == b->mixture->fluid && drugs_alike(a, b) && adds_alike(a, b) && adds_alike(b, a);
}

/* Amount of the drug in a microlitre. */
static bool strength_of(const dd_order *o, const char *cell, dd_ratio *out, dd_dimension *of)
{
    dd_quantity q = o->mixture->drug_amount;
    if (cell && dd_quantity_read(cell, strlen(cell), DD_TAKES_STRENGTH, false, &q, NULL) != DD_QF_NONE)
        return false;
    return q.unit != DD_UNIT_NONE && amount_of(o, NULL, q, false, out, of);
}

bool dd_alike_strength(const dd_order *a, const dd_order *b, const char *x, const char *y)
{
    dd_ratio p, q;
    dd_dimension of, other;
    return strength_of(a, x, &p, &of) && strength_of(b, y, &q, &other) && of == other && dd_ratio_compare(p, q) == 0;
}

/* ---- how fast ---- */

/* Whether the device of the order would be set alike for both. */
static bool sets_alike(const dd_order *o, dd_ratio a, dd_ratio b)
{
    dd_rate x, y;
    int32_t drops, other;
    if (o->device == DD_GRAVITY)
        return dd_set_gravity(a, o->drop_factor_micro, &drops, &x) == DD_OK && dd_set_gravity(b, o->drop_factor_micro, &other, &y) == DD_OK && drops == other;
    return dd_set_pump(a, o->rate_step_ul_h, &x) == DD_OK && dd_set_pump(b, o->rate_step_ul_h, &y) == DD_OK && x.ul_per_h == y.ul_per_h;
}

/* The rate of a step as it is written: a quantity, or a share of maintenance as its per cent. False: none is written. */
static bool written_rate(const dd_order *o, unsigned step, dd_quantity *q)
{
    const char *text = o->rate_text;
    for (unsigned i = 0; text && i < step; i++) {
        text = strchr(text, ';');
        text = text ? text + 1 : NULL;
    }
    if (!text)
        return false;
    text += strspn(text, " ");
    const char *end = text + strcspn(text, ";"), *until = strstr(text, " for ");
    if (until && until < end)
        end = until;
    while (end > text && end[-1] == ' ')
        end--;
    size_t length = (size_t)(end - text);
    if (dd_needs_is_share(text, length, &q->micro)) {
        *q = (dd_quantity){.micro = q->micro, .per_micro = 1000000, .unit = DD_UNIT_PERCENT};
        return true;
    }
    return dd_quantity_read(text, length, dd_column_list[DD_COL_ORDERS_RATE].takes, false, q, NULL) == DD_QF_NONE;
}

static bool one_rate_alike(const dd_order *a, const dd_order *b, unsigned step)
{
    dd_quantity p, q;
    int order;
    if (dd_ratio_compare(a->steps[step].rate, b->steps[step].rate) == 0)
        return true;
    if (written_rate(a, step, &p) && written_rate(b, step, &q)) {
        if (dd_quantity_compare(p, q, &order) && order == 0)
            return true;
        if (p.unit == q.unit && p.per == q.per && p.per_kg == q.per_kg)
            return false;
    }
    return sets_alike(a, a->steps[step].rate, b->steps[step].rate);
}

bool dd_alike_rate(const dd_order *a, const dd_order *b)
{
    if (a->rate_kind != b->rate_kind || a->step_count != b->step_count)
        return false;
    for (unsigned i = 0; i < a->step_count; i++)
        if (a->steps[i].seconds != b->steps[i].seconds || !one_rate_alike(a, b, i))
            return false;
    return true;
}

/* Whether a volume in a time is what an order flows at. */
static bool flows_alike(const dd_order *device, int64_t ul, int64_t seconds, const dd_order *o)
{
    dd_ratio rate;
    return ul != DD_UNKNOWN && seconds != DD_UNKNOWN && o->step_count == 1 && dd_ratio_make((dd_int128)ul * 3600, seconds, &rate) == DD_OK
        && sets_alike(device, rate, o->steps[0].rate);
}

bool dd_alike_volume(const dd_order *a, const dd_order *b, bool in_a, bool in_b)
{
    if (a->volume_ul == b->volume_ul)
        return true;
    const dd_order *with = in_a ? a : b, *without = in_a ? b : a;
    return in_a != in_b && flows_alike(a, with->volume_ul, without->over_s, without);
}

bool dd_alike_over(const dd_order *a, const dd_order *b, bool in_a, bool in_b)
{
    if (in_a && in_b)
        return a->over_s == b->over_s;
    const dd_order *with = in_a ? a : b, *without = in_a ? b : a;
    return flows_alike(a, without->volume_ul, with->over_s, without);
}
