/* carry_others.c - ward.csv, pauses.csv, accepted.csv, bags.csv and the tables that go over as they are; and which is which. */
#include <string.h>

#include "carry.h"
#include "stock.h"

static bool names(const dd_carry_rows *rows, const dd_carry_row *row, const char *setting)
{
    const char *text = dd_carry_rows_get(rows, row, DD_COL_WARD_SETTING);
    return text && strcmp(text, setting) == 0;
}

static dd_status each_setting(dd_carry_rows *rows, const dd_carry_row *from)
{
    dd_carry *c = rows->carry;
    if (names(rows, from, "plan") || names(rows, from, "carried"))
        return DD_OK; /* written anew */
    dd_carry_row *row = dd_carry_rows_add(rows, from);
    if (!row)
        return DD_NO_MEMORY;
    if (names(rows, row, "begins")) {
        const char *begins = dd_carry_rows_moment(c, c->plan->end);
        if (!begins)
            return DD_NO_MEMORY;
        dd_carry_rows_set(rows, row, DD_COL_WARD_VALUE, begins);
    }
    return DD_OK;
}

static dd_status add_setting(dd_carry_rows *rows, const char *setting, const char *value)
{
    dd_carry_row *row = dd_carry_rows_add(rows, &(dd_carry_row){.patient = DD_DESK_NONE, .rank = 3});
    if (!row)
        return DD_NO_MEMORY;
    dd_carry_rows_set(rows, row, DD_COL_WARD_SETTING, setting);
    dd_carry_rows_set(rows, row, DD_COL_WARD_VALUE, value);
    return DD_OK;
}

static dd_status ward(dd_carry *c, dd_carry_rows *out)
{
    dd_status status = dd_carry_rows_read(c, DD_TABLE_WARD, each_setting, out);
    if (status == DD_OK)
        status = add_setting(out, "plan", c->id);
    if (status == DD_OK && c->plan->id)
        status = add_setting(out, "carried", c->plan->id);
    return status;
}

/* A pause that reaches beyond the end goes on; clocks become date-times. */
static dd_status each_pause(dd_carry_rows *rows, const dd_carry_row *from)
{
    dd_carry *c = rows->carry;
    if (from->patient == DD_DESK_NONE)
        return DD_OK;
    const dd_patient *p = &c->plan->patients[from->patient];
    for (uint16_t i = 0; i < p->pause_count; i++) {
        const dd_pause *pause = &p->pauses[i];
        if (pause->line_of_file != from->line || pause->to <= c->plan->end)
            continue;
        dd_carry_row *row = dd_carry_rows_add(rows, from);
        const char *begin = dd_carry_rows_moment(c, pause->from > c->plan->end ? pause->from : c->plan->end), *end = dd_carry_rows_moment(c, pause->to);
        if (!row || !begin || !end)
            return DD_NO_MEMORY;
        dd_carry_rows_set(rows, row, DD_COL_PAUSES_FROM, begin);
        dd_carry_rows_set(rows, row, DD_COL_PAUSES_TO, end);
    }
    return DD_OK;
}

/* Whether the next plan still has the order that a row names. */
static bool has_order(const dd_carry_rows *rows, const dd_carry_row *row, dd_column_id column)
{
    const dd_carry *c = rows->carry;
    const char *key = dd_carry_rows_get(rows, row, column);
    if (!key)
        return true;
    const dd_keys_slot *slot = row->patient != DD_DESK_NONE ? dd_keys_find(&c->folder->order_keys, row->patient, key, strlen(key)) : NULL;
    return slot && c->fates[row->patient].orders[slot->value].end != DD_CARRY_OVER;
}

static bool has_line(const dd_carry_rows *rows, const dd_carry_row *row, dd_column_id column)
{
    const dd_carry *c = rows->carry;
    const char *key = dd_carry_rows_get(rows, row, column);
    if (!key)
        return true;
    const dd_keys_slot *slot = row->patient != DD_DESK_NONE ? dd_keys_find(&c->folder->line_keys, row->patient, key, strlen(key)) : NULL;
    return slot && !c->fates[row->patient].line_gone[slot->value];
}

static dd_status each_accepted(dd_carry_rows *rows, const dd_carry_row *from)
{
    dd_moment until;
    bool lasts = dd_carry_rows_is_dated(rows->carry, dd_carry_rows_get(rows, from, DD_COL_ACCEPTED_UNTIL), &until) && until > rows->carry->plan->end;
    if (!lasts || !has_order(rows, from, DD_COL_ACCEPTED_ORDER) || !has_line(rows, from, DD_COL_ACCEPTED_LINE))
        return DD_OK;
    return dd_carry_rows_add(rows, from) ? DD_OK : DD_NO_MEMORY;
}

/* Rows of one order are its bags in the order in which they go up: one that has come down goes, and one of a dose that runs over
 * the boundary belongs to the dose's own order. */
static dd_status each_bag(dd_carry_rows *rows, const dd_carry_row *from)
{
    const dd_carry *c = rows->carry;
    if (from->patient == DD_DESK_NONE || !has_order(rows, from, DD_COL_BAGS_ORDER))
        return DD_OK;
    const dd_patient *p = &c->plan->patients[from->patient];
    const dd_timeline *t = c->timelines[from->patient];
    const dd_stock *s = p->stock;
    while (s < p->stock + p->stock_count && s->line_of_file != from->line)
        s++;
    dd_moment down = DD_NEVER;
    bool there = s < p->stock + p->stock_count;
    const dd_bag *bag = there ? dd_stock_bag(p, t->bags, t->bag_count, s->order, dd_stock_place(p, s), &down) : NULL;
    if (bag && down != DD_NEVER)
        return DD_OK;
    dd_carry_row *row = dd_carry_rows_add(rows, from);
    const dd_carry_fate *fate = bag ? &c->fates[from->patient].orders[s->order] : NULL;
    for (uint32_t i = 0; row && fate && i < fate->rest_count; i++)
        if (bag->due == fate->rests[i].run->due)
            dd_carry_rows_set(rows, row, DD_COL_BAGS_ORDER, fate->rests[i].key);
    return row ? DD_OK : DD_NO_MEMORY;
}

static dd_status each_as_it_is(dd_carry_rows *rows, const dd_carry_row *from)
{
    return dd_carry_rows_add(rows, from) ? DD_OK : DD_NO_MEMORY;
}

dd_status dd_carry_others(dd_carry *c, dd_table table, dd_carry_rows *out)
{
    return table == DD_TABLE_WARD ? ward(c, out)
        : dd_carry_rows_read(c, table, table == DD_TABLE_PAUSES ? each_pause : table == DD_TABLE_ACCEPTED ? each_accepted
              : table == DD_TABLE_BAGS ? each_bag : each_as_it_is, out);
}

/* ---- the whole ---- */

dd_status dd_carry_begin(dd_carry *c)
{
    c->fates = dd_arena_take_many(c->arena, c->plan->patient_count + 1, sizeof *c->fates);
    dd_status status = c->fates ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; i < c->plan->patient_count && status == DD_OK; i++)
        status = dd_carry_fate_settle(c, i);
    return status;
}

dd_status dd_carry_table(dd_carry *c, dd_table table, dd_bytes *out, bool *there)
{
    *there = c->folder->there[table] && table != DD_TABLE_CHART; /* nothing is charted in the next plan yet */
    if (!*there)
        return DD_OK;
    dd_carry_rows rows;
    dd_status status = table == DD_TABLE_PATIENTS ? dd_carry_patients(c, &rows)
        : table == DD_TABLE_LINES ? dd_carry_lines(c, &rows)
        : table == DD_TABLE_ORDERS ? dd_carry_orders(c, &rows)
                                   : dd_carry_others(c, table, &rows);
    if (status == DD_OK)
        dd_carry_rows_write(&rows, out);
    return status == DD_OK && out->failed ? DD_NO_MEMORY : status;
}
