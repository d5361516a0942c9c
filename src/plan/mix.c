#include "mix.h"

#include <string.h>

#include "content.h"
#include "mixture.h"

#define MIX_CEILING ((size_t)1 << 20) /* bytes of the text with its quotes */

static const dd_ratio not_known = {0, 0};

/* The text as a row of orders.csv, so that it is read by what reads orders. */
static bool as_row(dd_folder *f, const char *text, const char **row, size_t *length)
{
    dd_bytes b = DD_BYTES(MIX_CEILING);
    dd_bytes_text(&b, "patient,order,fluid,line\nx,x,\"");
    for (const char *p = text; *p; p++) {
        dd_bytes_char(&b, *p);
        if (*p == '"')
            dd_bytes_char(&b, '"');
    }
    dd_bytes_text(&b, "\",x\n");
    *row = b.failed ? NULL : dd_arena_text(f->arena, b.data, b.length);
    *length = b.length;
    dd_bytes_free(&b);
    return *row != NULL;
}

static void set_fluid(dd_mix_part *p, const dd_fluid *fluid)
{
    *p = (dd_mix_part){.key = fluid->key, .words = fluid->words, .fluid = fluid, .known = true, .counted = true};
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        int64_t has = dd_catalogue_member(&fluid->has, i);
        p->brings[i] = has == DD_UNKNOWN ? not_known : (dd_ratio){has, 1};
    }
}

static bool set_addition(dd_order_row *r, dd_mix_part *p, const dd_addition *n)
{
    bool strange = dd_content_strange(n);
    *p = (dd_mix_part){.key = n->key, .words = n->words, .amount = n->amount, .per_bag = n->per_bag, .known = n->known, .hint = n->hint,
                       .counted = n->additive >= 0 || strange, .additive = n->additive >= 0 ? &dd_catalogue_additives[n->additive] : NULL};
    for (size_t i = 0; i < DD_MEMBERS; i++)
        p->brings[i] = n->additive >= 0 ? (dd_ratio){0, 1} : not_known;
    return dd_content_add(r, n, p->brings);
}

/* The parts of the mixture in the order in which they are written, the fluid first. */
static bool set_parts(dd_order_row *r, dd_mix_part *parts, size_t *count)
{
    const dd_mixture *m = r->order->mixture;
    size_t n = 0;
    if (m->fluid >= 0)
        set_fluid(&parts[n++], &r->f->fluids[m->fluid]);
    if (m->drug && (m->addition_count == 0 || m->additions[0].key != m->drug)) {
        parts[n] = (dd_mix_part){.key = m->drug, .words = m->drug, .amount = m->drug_amount, .per_bag = m->drug_amount.per == DD_UNIT_NONE,
                                 .known = m->drug_known, .hint = m->hint};
        for (size_t i = 0; i < DD_MEMBERS; i++)
            parts[n].brings[i] = not_known;
        n++;
    }
    for (uint8_t k = 0; k < m->addition_count; k++)
        if (!set_addition(r, &parts[n++], &m->additions[k]))
            return false;
    *count = n;
    return true;
}

/* A sum with something in it that is not known is not known. Without a fluid nothing is. */
static bool sum_up(dd_mix *mix, dd_ratio bags)
{
    for (size_t i = 0; i < DD_MEMBERS; i++) {
        dd_ratio sum = mix->mixture->fluid >= 0 ? (dd_ratio){0, 1} : not_known;
        for (size_t k = 0; k < mix->part_count && sum.den; k++) {
            const dd_mix_part *p = &mix->parts[k];
            if (p->counted && p->brings[i].den == 0)
                sum = not_known;
            else if (p->counted && dd_ratio_plus(sum, p->brings[i], &sum) != DD_OK)
                return false;
        }
        mix->litre[i] = mix->bag[i] = sum;
        if (sum.den && dd_ratio_times(sum, bags, &mix->bag[i]) != DD_OK)
            return false;
    }
    return true;
}

static dd_mix_end work_out(dd_order_row *r, dd_mix *out)
{
    const dd_mixture *m = r->order->mixture = dd_mixture_read(r->f, r->s);
    if (!m)
        return DD_MIX_WRONG;
    if (dd_content_by_bag(m) && r->order->bag_ul == DD_UNKNOWN)
        return DD_MIX_NEEDS_BAG;
    if (!dd_content_read(r)) /* holds what an order holds within its bounds */
        return DD_MIX_WRONG;
    dd_mix_part *parts = dd_arena_take_many(r->f->arena, (size_t)m->addition_count + 2, sizeof *parts);
    if (!parts)
        return DD_MIX_NO_MEMORY;
    out->mixture = m;
    out->parts = parts;
    out->bag_ul = r->order->bag_ul;
    if (!set_parts(r, parts, &out->part_count))
        return DD_MIX_WRONG;
    if (sum_up(out, r->order->bag_ul == DD_UNKNOWN ? (dd_ratio){0, 1} : (dd_ratio){r->order->bag_ul, 1000000}))
        return DD_MIX_READ;
    dd_cells_quantity_fault(r->s, DD_COL_ORDERS_FLUID, DD_QF_TOO_LARGE, m->text, NULL);
    return DD_MIX_WRONG;
}

dd_mix_end dd_mix_read(dd_folder *f, const char *text, int64_t bag_ul, dd_mix *out)
{
    const char *row;
    size_t length;
    dd_sheet sheet = {0};
    dd_order order = {.bag_ul = bag_ul};
    dd_order_row r = {.f = f, .s = &sheet, .order = &order};
    bool more = false;
    *out = (dd_mix){.wrong = DD_SINK(f->arena)};
    if (!as_row(f, text, &row, &length) || dd_table_begin(&sheet, f->arena, &out->wrong, DD_TABLE_ORDERS, row, length) != DD_OK)
        return DD_MIX_NO_MEMORY;
    dd_mix_end end = dd_table_next(&sheet, &more) != DD_OK ? DD_MIX_NO_MEMORY : !more || sheet.broken ? DD_MIX_WRONG : work_out(&r, out);
    dd_table_end(&sheet);
    if (f->no_memory || out->wrong.failed)
        return DD_MIX_NO_MEMORY;
    return end == DD_MIX_WRONG && out->wrong.count == 0 ? DD_MIX_NO_MEMORY : end;
}
