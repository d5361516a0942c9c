#include "differ.h"

#include <stdlib.h>
#include <string.h>

#include "alike.h"
#include "occur.h"

#define AT(id) (DD_COL_ORDERS_##id - DD_FIRST_ORDERS)

/* Worst first: whether it is there at all, what goes in, how fast and how much, where and when, then what is told about it. */
static const dd_column_id by_weight[] = {
    DD_COL_ORDERS_ORDER,    DD_COL_ORDERS_FLUID,  DD_COL_ORDERS_STRENGTH, DD_COL_ORDERS_RATE,   DD_COL_ORDERS_VOLUME,  DD_COL_ORDERS_OVER,
    DD_COL_ORDERS_SET,      DD_COL_ORDERS_LINE,   DD_COL_ORDERS_RUNS,     DD_COL_ORDERS_START,  DD_COL_ORDERS_STOP,    DD_COL_ORDERS_EVERY,
    DD_COL_ORDERS_TIMES,    DD_COL_ORDERS_DOSES,  DD_COL_ORDERS_REPLACES, DD_COL_ORDERS_BAG,    DD_COL_ORDERS_HANGING, DD_COL_ORDERS_GIVEN,
    DD_COL_ORDERS_HUNG,     DD_COL_ORDERS_PRIME,  DD_COL_ORDERS_FLUSH,    DD_COL_ORDERS_WINDOW, DD_COL_ORDERS_GAP,     DD_COL_ORDERS_FOR,
    DD_COL_ORDERS_CATEGORY, DD_COL_ORDERS_ORDERED, DD_COL_ORDERS_NOTE,
};

static int rank_of(dd_column_id column)
{
    int i = 0;
    while (i < (int)(sizeof by_weight / sizeof *by_weight) && by_weight[i] != column)
        i++;
    return i;
}

static bool same_text(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

/* The same words, however many blanks stand between them. */
static bool same_words(const char *a, const char *b)
{
    if (!a || !b)
        return a == b;
    while (*a || *b) {
        size_t n = strcspn(a, " \t"), m = strcspn(b, " \t");
        if (n != m || memcmp(a, b, n) != 0)
            return false;
        a += n + strspn(a + n, " \t");
        b += m + strspn(b + m, " \t");
    }
    return true;
}

static bool same_amount(int64_t a, int64_t b) /* nothing written is nothing */
{
    return (a == DD_UNKNOWN ? 0 : a) == (b == DD_UNKNOWN ? 0 : b);
}

static int rising(const void *left, const void *right)
{
    int32_t a = *(const int32_t *)left, b = *(const int32_t *)right;
    return (a > b) - (a < b);
}

/* The same clocks in whatever order. */
static dd_status same_clocks(const dd_differ *d, const dd_order *a, const dd_order *b, bool *same)
{
    size_t size = a->clock_count * sizeof(int32_t);
    *same = a->clock_count == b->clock_count;
    if (!*same || size == 0)
        return DD_OK;
    int32_t *x = dd_arena_take_many(d->arena, a->clock_count, sizeof *x), *y = dd_arena_take_many(d->arena, a->clock_count, sizeof *y);
    if (!x || !y)
        return DD_NO_MEMORY;
    memcpy(x, a->clocks, size);
    memcpy(y, b->clocks, size);
    qsort(x, a->clock_count, sizeof *x, rising);
    qsort(y, a->clock_count, sizeof *y, rising);
    *same = memcmp(x, y, size) == 0;
    return DD_OK;
}

/* Doses at clocks in one table and at an interval in the other: the same where they are due at the same moments of this plan. */
static dd_status same_dues(const dd_differ *d, const dd_order *a, const dd_order *b, bool *same)
{
    dd_occurrences x, y;
    dd_status status = dd_occur_dues(d->plan, a, DD_NEVER, d->arena, &x);
    if (status == DD_OK)
        status = dd_occur_dues(d->plan, b, DD_NEVER, d->arena, &y);
    *same = status == DD_OK && x.count == y.count && x.last_is_here == y.last_is_here && (x.count == 0 || memcmp(x.due, y.due, x.count * sizeof *x.due) == 0);
    return status;
}

static bool same_start(const dd_differ_cell *c)
{
    const dd_order *a = c->ordered, *b = c->recorded;
    if (a->start_kind != b->start_kind)
        return false;
    return a->start_kind == DD_START_AT ? a->start == b->start
                                        : a->after_s == b->after_s && same_text(c->orders_row->after, c->record_row->after);
}

/* Whether the two cells say the same; of every column but those about when doses are due. */
static bool says_same(const dd_differ_cell *c)
{
    const dd_order *a = c->ordered, *b = c->recorded;
    const dd_written *x = c->orders_row, *y = c->record_row;
    switch ((int)c->column) {
    case DD_COL_ORDERS_FLUID: return dd_alike_fluid(a, b);
    case DD_COL_ORDERS_STRENGTH: return dd_alike_strength(a, b, x->cell[AT(STRENGTH)], y->cell[AT(STRENGTH)]);
    case DD_COL_ORDERS_RATE: return dd_alike_rate(a, b);
    case DD_COL_ORDERS_VOLUME: return dd_alike_volume(a, b, x->cell[AT(VOLUME)] != NULL, y->cell[AT(VOLUME)] != NULL);
    case DD_COL_ORDERS_OVER: return dd_alike_over(a, b, x->cell[AT(OVER)] != NULL, y->cell[AT(OVER)] != NULL);
    case DD_COL_ORDERS_LINE: return a->line == b->line;
    case DD_COL_ORDERS_RUNS: return a->runs == b->runs;
    case DD_COL_ORDERS_FOR: return a->purpose == b->purpose;
    case DD_COL_ORDERS_CATEGORY: return a->category == b->category;
    case DD_COL_ORDERS_BAG: return a->bag_ul == b->bag_ul;
    case DD_COL_ORDERS_HANGING: return a->hanging_u == b->hanging_u;
    case DD_COL_ORDERS_HUNG: return a->hung == b->hung;
    case DD_COL_ORDERS_GIVEN: return same_amount(a->given_u, b->given_u);
    case DD_COL_ORDERS_SET: return a->device == b->device && (a->device != DD_GRAVITY || a->drop_factor_micro == b->drop_factor_micro);
    case DD_COL_ORDERS_PRIME: return same_amount(a->prime_ul, b->prime_ul);
    case DD_COL_ORDERS_STOP: return a->stop_kind == b->stop_kind && (a->stop_kind == DD_STOP_CLOCK ? a->stop_clock == b->stop_clock : a->stop == b->stop);
    case DD_COL_ORDERS_WINDOW: return a->window_s == b->window_s;
    case DD_COL_ORDERS_GAP: return a->gap_s == b->gap_s;
    case DD_COL_ORDERS_FLUSH: return same_amount(a->flush_u, b->flush_u);
    case DD_COL_ORDERS_REPLACES: return same_text(x->replaces, y->replaces);
    case DD_COL_ORDERS_ORDERED: return a->ordered == b->ordered;
    case DD_COL_ORDERS_NOTE: return same_words(a->note, b->note);
    default: return false;
    }
}

static dd_status judge(const dd_differ *d, dd_differ_cell *c)
{
    const dd_order *a = c->ordered, *b = c->recorded;
    bool when = c->column == DD_COL_ORDERS_START || c->column == DD_COL_ORDERS_EVERY || c->column == DD_COL_ORDERS_TIMES || c->column == DD_COL_ORDERS_DOSES;
    if (!when)
        c->same = says_same(c);
    else if (a->repeat != b->repeat && a->repeat != DD_ONCE && b->repeat != DD_ONCE)
        return same_dues(d, a, b, &c->same);
    else if (c->column == DD_COL_ORDERS_TIMES)
        return same_clocks(d, a, b, &c->same);
    else
        c->same = c->column == DD_COL_ORDERS_START ? same_start(c) : c->column == DD_COL_ORDERS_EVERY ? a->every_s == b->every_s : a->doses == b->doses;
    return DD_OK;
}

static const dd_accepted *find_accepted(const dd_differ *d, const dd_patient *p, const dd_order *o)
{
    int order = o ? (int)(o - p->orders) : -1;
    for (size_t i = 0; i < p->accepted_count; i++) {
        const dd_accepted *a = &p->accepted[i];
        if (strcmp(a->finding, "record-differs") == 0 && a->order == order && (a->line < 0 || (o && a->line == o->line)) && d->now < a->until)
            return a;
    }
    return NULL;
}

typedef struct cells {
    dd_differ *differ;
    const dd_patient *patient;
    dd_differ_cell *items;
    size_t count, room;
} cells;

static dd_status add(cells *all, dd_differ_cell c)
{
    if (!dd_arena_room(all->differ->arena, &all->items, &all->room, all->count, sizeof *all->items))
        return DD_NO_MEMORY;
    if (!c.same) {
        c.rank = rank_of(c.column);
        c.accepted = find_accepted(all->differ, all->patient, c.ordered);
    }
    all->items[all->count++] = c;
    return DD_OK;
}

static dd_status read_row(dd_differ *d, dd_recorded_rows *rows, const dd_order *o, const dd_written **out)
{
    dd_written *row = dd_arena_take(d->arena, sizeof *row);
    *out = row;
    return row ? dd_recorded_cells(rows, o, row) : DD_NO_MEMORY;
}

static dd_status add_order(cells *all, const dd_order *ordered, const dd_order *recorded)
{
    dd_differ *d = all->differ;
    dd_differ_cell c = {.ordered = ordered, .recorded = recorded, .column = DD_COL_ORDERS_ORDER};
    dd_status status = ordered ? read_row(d, d->orders_rows, ordered, &c.orders_row) : DD_OK;
    if (status == DD_OK && recorded)
        status = read_row(d, d->record_rows, recorded, &c.record_row);
    if (status == DD_OK && (!ordered || !recorded))
        return add(all, c);
    for (int id = DD_COL_ORDERS_FLUID; id <= DD_COL_ORDERS_NOTE && status == DD_OK; id++) {
        c.column = (dd_column_id)id;
        size_t at = (size_t)id - DD_FIRST_ORDERS;
        if (!dd_recorded_has(d->record, c.column) || (!c.orders_row->cell[at] && !c.record_row->cell[at]))
            continue;
        status = judge(d, &c);
        if (status == DD_OK)
            status = add(all, c);
    }
    return status;
}

static int by_key(const void *left, const void *right)
{
    return strcmp((*(const dd_order *const *)left)->key, (*(const dd_order *const *)right)->key);
}

static int key_and_order(const void *key, const void *order)
{
    return strcmp(key, (*(const dd_order *const *)order)->key);
}

/* The orders of a patient by key. NULL: no memory. */
static const dd_order **sorted(dd_arena *arena, const dd_patient *p)
{
    const dd_order **list = dd_arena_take_many(arena, (size_t)p->order_count + 1, sizeof *list);
    for (size_t i = 0; list && i < p->order_count; i++)
        list[i] = &p->orders[i];
    if (list && p->order_count)
        qsort(list, p->order_count, sizeof *list, by_key);
    return list;
}

static const dd_order *find(const dd_order *const *list, const dd_patient *p, const char *key)
{
    const dd_order *const *found = p->order_count ? bsearch(key, list, p->order_count, sizeof *list, key_and_order) : NULL;
    return found ? *found : NULL;
}

dd_status dd_differ_patient(dd_differ *d, const dd_patient *ordered, const dd_patient *recorded, dd_differ_cell **out, size_t *count)
{
    cells all = {.differ = d, .patient = ordered};
    const dd_order **in_plan = sorted(d->arena, ordered), **in_record = sorted(d->arena, recorded);
    dd_status status = in_plan && in_record ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; i < ordered->order_count && status == DD_OK; i++)
        status = add_order(&all, &ordered->orders[i], find(in_record, recorded, ordered->orders[i].key));
    for (size_t i = 0; i < recorded->order_count && status == DD_OK; i++)
        if (!find(in_plan, ordered, recorded->orders[i].key))
            status = add_order(&all, NULL, &recorded->orders[i]);
    *out = all.items;
    *count = all.count;
    return status;
}
