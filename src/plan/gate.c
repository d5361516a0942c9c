/* gate.c - what the orders of one patient say about each other. An order that was reported already is not held against others. */
#include <stdio.h>
#include <string.h>

#include "bytes.h"
#include "desk.h"
#include "nearest.h"

typedef struct gate {
    dd_folder *f;
    dd_sheet *s;
    dd_patient *p;
    dd_order *orders;      /* the patient's */
    dd_order_desk *desk;
    int16_t *replaced_by;  /* per order: index of the one that takes over; -1 */
    uint8_t *state;        /* per order: of the search for circles */
    int16_t *path;         /* the orders that are being followed */
    int16_t *hanging;      /* per line: first primary that hangs; -1 */
} gate;

static void fault(gate *g, int order, dd_column_id column, dd_message_id id, const char *value, const char *first)
{
    dd_table_fault_at(g->s, g->orders[order].line_of_file, column, id, value, first, NULL);
    g->p->errors++;
    g->desk[order].errors++;
}

static void line_text(char out[24], uint32_t line)
{
    snprintf(out, 24, "%lu", (unsigned long)line);
}

/* The order that a key names; -1 after a message. */
static int16_t find(gate *g, int from, dd_column_id column, const char *key)
{
    const dd_keys_slot *slot = dd_keys_find(&g->f->order_keys, (uint32_t)(g->p - g->f->patients), key, strlen(key));
    if (slot)
        return (int16_t)slot->value;
    if (g->f->beside[g->p - g->f->patients].lost[DD_TABLE_ORDERS])
        return -1;
    dd_nearest nearest = dd_nearest_begin(key, strlen(key));
    for (size_t i = 0; i < g->p->order_count && i < 200; i++)
        dd_nearest_offer(&nearest, g->orders[i].key, strlen(g->orders[i].key));
    fault(g, from, column, DD_MSG_ORDER_UNKNOWN, key, nearest.best ? nearest.best : "an order of this patient");
    return -1;
}

static void bind_after(gate *g, int i)
{
    dd_order *o = &g->orders[i];
    if (!g->desk[i].after)
        return;
    o->after = find(g, i, DD_COL_ORDERS_START, g->desk[i].after);
    if (o->after < 0)
        return;
    const dd_order *other = &g->orders[o->after];
    if (o->after == i) {
        fault(g, i, DD_COL_ORDERS_START, DD_MSG_AFTER_SELF, NULL, NULL);
        o->after = -1;
    } else if (other->repeat != DD_ONCE && other->doses == 0 && g->desk[o->after].errors == 0) {
        fault(g, i, DD_COL_ORDERS_START, DD_MSG_AFTER_REPEATED, NULL, other->key);
    }
}

static void bind_replaces(gate *g, int i)
{
    dd_order *o = &g->orders[i];
    if (!g->desk[i].replaces)
        return;
    o->replaces = find(g, i, DD_COL_ORDERS_REPLACES, g->desk[i].replaces);
    if (o->replaces < 0)
        return;
    const dd_order *other = &g->orders[o->replaces];
    char line[24];
    if (o->replaces == i) {
        fault(g, i, DD_COL_ORDERS_REPLACES, DD_MSG_REPLACES_SELF, NULL, NULL);
        o->replaces = -1;
    } else if (o->line >= 0 && other->line >= 0 && o->line != other->line) {
        fault(g, i, DD_COL_ORDERS_REPLACES, DD_MSG_REPLACES_LINE, other->key, NULL);
    } else if (g->replaced_by[o->replaces] >= 0) {
        line_text(line, g->orders[g->replaced_by[o->replaces]].line_of_file);
        fault(g, i, DD_COL_ORDERS_REPLACES, DD_MSG_REPLACES_TWICE, other->key, line);
    } else {
        g->replaced_by[o->replaces] = (int16_t)i;
    }
}

/* The members of a circle, from the end of the path back to where it begins. Reported at its last row. */
static void report_circle(gate *g, size_t from, size_t to)
{
    dd_bytes names = DD_BYTES(4096);
    int last = g->path[from];
    for (size_t i = from; i < to; i++) {
        if (i > from)
            dd_bytes_text(&names, ", ");
        if (i - from == 12 && to - from > 14) {
            dd_bytes_form(&names, "and %lu more", (unsigned long)(to - i));
            i = to;
        } else {
            dd_bytes_text(&names, g->orders[g->path[i]].key);
        }
    }
    for (size_t i = from; i < to; i++)
        if (g->orders[g->path[i]].line_of_file > g->orders[last].line_of_file && g->orders[g->path[i]].start_kind == DD_START_AFTER)
            last = g->path[i];
    fault(g, last, DD_COL_ORDERS_START, DD_MSG_AFTER_CIRCLE, NULL, names.data ? names.data : "");
    dd_bytes_free(&names);
}

/* Circles of orders that begin after one another. Each waits for one at most, so a walk from each order that was not seen yet
 * is enough; a chain may be as long as there are orders. state: 0 not seen, 1 on this walk, 2 done. */
static void find_circles(gate *g)
{
    for (int16_t root = 0; root < g->p->order_count; root++) {
        size_t depth = 0;
        int16_t at = root;
        while (at >= 0 && g->state[at] == 0) {
            g->state[at] = 1;
            g->path[depth++] = at;
            at = g->orders[at].start_kind == DD_START_AFTER ? g->orders[at].after : -1;
        }
        if (at >= 0 && g->state[at] == 1) {
            size_t from = depth;
            while (from && g->path[from - 1] != at)
                from--;
            report_circle(g, from - 1, depth);
        }
        while (depth)
            g->state[g->path[--depth]] = 2;
    }
}

/* Two orders that both want what only one can have. */
static void find_rivals(gate *g)
{
    int remainder = -1;
    char line[24];
    for (int i = 0; i < g->p->order_count; i++) {
        const dd_order *o = &g->orders[i];
        if (o->rate_kind == DD_RATE_REMAINDER) {
            if (remainder >= 0) {
                line_text(line, g->orders[remainder].line_of_file);
                fault(g, i, DD_COL_ORDERS_RATE, DD_MSG_REMAINDER_TWO, NULL, line);
            } else {
                remainder = i;
            }
        }
        if (g->desk[i].errors || o->runs != DD_PRIMARY || o->hanging_ul == DD_UNKNOWN || o->line < 0)
            continue;
        if (g->hanging[o->line] >= 0) {
            line_text(line, g->orders[g->hanging[o->line]].line_of_file);
            fault(g, i, DD_COL_ORDERS_HANGING, DD_MSG_HANGING_TWO, NULL, line);
        } else {
            g->hanging[o->line] = (int16_t)i;
        }
    }
}

void dd_gate_orders(dd_folder *f)
{
    if (!f->there[DD_TABLE_ORDERS])
        return;
    size_t most = 1, lines = 1;
    for (size_t i = 0; i < f->plan.patient_count; i++) {
        most = f->patients[i].order_count > most ? f->patients[i].order_count : most;
        lines = f->patients[i].line_count > lines ? f->patients[i].line_count : lines;
    }
    gate g = {.f = f, .s = &f->sheets[DD_TABLE_ORDERS]};
    g.replaced_by = dd_arena_take_many(f->arena, most, sizeof *g.replaced_by);
    g.path = dd_arena_take_many(f->arena, most, sizeof *g.path);
    g.state = dd_arena_take_many(f->arena, most, sizeof *g.state);
    g.hanging = dd_arena_take_many(f->arena, lines, sizeof *g.hanging);
    if (!g.replaced_by || !g.path || !g.state || !g.hanging) {
        f->no_memory = true;
        return;
    }
    for (size_t i = 0; i < f->plan.patient_count; i++) {
        g.p = &f->patients[i];
        if (g.p->order_count == 0)
            continue;
        size_t first = (size_t)(g.p->orders - f->orders);
        g.orders = f->orders + first;
        g.desk = f->order_desk + first;
        memset(g.replaced_by, 0xff, g.p->order_count * sizeof *g.replaced_by);
        memset(g.state, 0, g.p->order_count);
        memset(g.hanging, 0xff, (g.p->line_count ? g.p->line_count : 1u) * sizeof *g.hanging);
        for (int k = 0; k < g.p->order_count; k++)
            bind_after(&g, k);
        for (int k = 0; k < g.p->order_count; k++)
            bind_replaces(&g, k);
        find_circles(&g);
        find_rivals(&g);
    }
}
