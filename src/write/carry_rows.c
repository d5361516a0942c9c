/* carry_rows.c - the rows of a table in hand, and how they are written. */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "carry.h"
#include "dialect.h"

/* ---- reading ---- */

/* Columns that begin with x_ are the user's own: they go over as they are, behind the others. */
static dd_status find_own(dd_carry_rows *r, const dd_sheet *header)
{
    for (size_t i = 0; i < header->row.count && r->own_count < DD_TABLE_COLUMNS_MOST; i++) {
        const dd_cell *c = &header->row.cells[i];
        if (c->length < 2 || (c->text[0] != 'x' && c->text[0] != 'X') || c->text[1] != '_')
            continue;
        if (!(r->own[r->own_count] = dd_arena_text(r->carry->arena, c->text, c->length)))
            return DD_NO_MEMORY;
        r->own_where[r->own_count++] = (int16_t)i;
    }
    return DD_OK;
}

static dd_status copy_row(dd_carry_rows *r, const dd_sheet *s, dd_carry_row *row)
{
    size_t cells = r->shape->count + r->own_count;
    row->line = s->row.line;
    row->cells = dd_arena_take_many(r->carry->arena, cells + 1, sizeof *row->cells);
    if (!row->cells)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < cells; i++) {
        const char *text = NULL;
        if (i < r->shape->count)
            text = dd_cells_peek(s, (dd_column_id)(r->shape->first + i));
        else if ((size_t)r->own_where[i - r->shape->count] < s->row.count)
            text = s->row.cells[r->own_where[i - r->shape->count]].text;
        if (text && *text && !(row->cells[i] = dd_arena_text(r->carry->arena, text, strlen(text))))
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

/* Every table about patients begins with their key. */
static uint32_t patient_of(const dd_carry_rows *r, const dd_carry_row *row)
{
    const char *key = row->cells[0];
    size_t column = 0;
    while (column < r->shape->count && strcmp(dd_column_list[r->shape->first + column].name, "patient") != 0)
        column++;
    if (column == r->shape->count)
        return DD_DESK_NONE;
    key = row->cells[column];
    const dd_keys_slot *slot = key ? dd_keys_find(&r->carry->folder->patient_keys, 0, key, strlen(key)) : NULL;
    return slot ? slot->value : DD_DESK_NONE;
}

dd_status dd_carry_rows_read(dd_carry *carry, dd_table table, dd_carry_each *each, dd_carry_rows *out)
{
    *out = (dd_carry_rows){.carry = carry, .shape = dd_column_table(table)};
    if (!carry->folder->there[table])
        return DD_OK;
    dd_sheet sheet = carry->folder->sheets[table]; /* a copy: the folder is read-only now */
    sheet.csv = NULL;
    dd_status status = dd_table_again(&sheet, 0, 1); /* the header */
    if (status == DD_OK)
        status = find_own(out, &sheet);
    for (bool more = true; more && status == DD_OK;) {
        status = dd_table_step(&sheet, &more);
        if (status != DD_OK || !more)
            break;
        dd_carry_row row = {.place = (uint32_t)out->count, .rank = 3};
        status = copy_row(out, &sheet, &row);
        row.patient = status == DD_OK ? patient_of(out, &row) : DD_DESK_NONE;
        if (status == DD_OK)
            status = each(out, &row);
    }
    dd_table_end(&sheet);
    return status;
}

dd_carry_row *dd_carry_rows_add(dd_carry_rows *r, const dd_carry_row *row)
{
    if (!dd_arena_room(r->carry->arena, &r->rows, &r->room, r->count, sizeof *r->rows))
        return NULL;
    dd_carry_row *added = &r->rows[r->count];
    size_t cells = r->shape->count + r->own_count;
    *added = *row;
    added->place = (uint32_t)r->count;
    added->cells = dd_arena_take_many(r->carry->arena, cells + 1, sizeof *added->cells);
    if (!added->cells)
        return NULL;
    for (size_t i = 0; i < cells; i++)
        added->cells[i] = row->cells ? row->cells[i] : NULL;
    r->count++;
    return added;
}

const char *dd_carry_rows_get(const dd_carry_rows *r, const dd_carry_row *row, dd_column_id column)
{
    return row->cells[(size_t)column - r->shape->first];
}

void dd_carry_rows_set(const dd_carry_rows *r, dd_carry_row *row, dd_column_id column, const char *text)
{
    row->cells[(size_t)column - r->shape->first] = text;
}

/* ---- writing ---- */

void dd_carry_rows_write(const dd_carry_rows *r, dd_bytes *out)
{
    const dd_dialect d = {.cells = r->shape->count + r->own_count, .separator = ','};
    const char *names[2 * DD_TABLE_COLUMNS_MOST];
    for (size_t i = 0; i < d.cells; i++)
        names[i] = i < r->shape->count ? dd_column_list[r->shape->first + i].name : r->own[i - r->shape->count];
    dd_dialect_row(&d, names, out);
    for (size_t i = 0; i < r->count; i++)
        dd_dialect_row(&d, r->rows[i].cells, out);
}

const char *dd_carry_rows_form(dd_carry *c, const char *format, ...)
{
    char text[512];
    va_list args;
    va_start(args, format);
    int n = vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return n < 0 || (size_t)n >= sizeof text ? NULL : dd_arena_text(c->arena, text, (size_t)n);
}

const char *dd_carry_rows_moment(dd_carry *c, dd_moment t)
{
    char text[DD_MOMENT_MAX];
    dd_clock_kind kind;
    (void)dd_moment_resolve(c->plan->zone, dd_moment_local(c->plan->zone, t), &kind);
    size_t n = dd_moment_write(text, c->plan->zone, t, kind == DD_CLOCK_TWICE ? DD_MOMENT_PROGRAM : DD_MOMENT_LOCAL);
    if (kind != DD_CLOCK_TWICE && n > 3 && memcmp(text + n - 3, ":00", 3) == 0)
        n -= 3; /* 07:00 is what people write */
    return dd_arena_text(c->arena, text, n);
}

const char *dd_carry_rows_volume(dd_carry *c, int64_t u)
{
    char number[DD_NUMBER_MAX];
    dd_ratio ml;
    if (dd_ratio_make(u, DD_U_PER_UL * 1000, &ml) != DD_OK)
        return NULL;
    dd_number_ratio(number, ml, 6, DD_STYLE_PROGRAM);
    return dd_carry_rows_form(c, "%s mL", number);
}

bool dd_carry_rows_is_dated(const dd_carry *c, const char *text, dd_moment *out)
{
    dd_time_text t;
    if (!text || dd_moment_read(text, strlen(text), &t) != DD_TF_NONE || !t.has_date || !t.has_clock)
        return false;
    static const dd_zone_span utc_span = {0, 0};
    static const dd_zone utc = {.spans = &utc_span, .count = 1};
    *out = t.has_offset ? dd_moment_resolve(&utc, t.civil, NULL) - t.offset : dd_moment_resolve(c->plan->zone, t.civil, NULL);
    return true;
}

#define SENTENCE 600

static void say(dd_carry *c, const dd_patient *p, char text[SENTENCE], const char *format, va_list args)
{
    vsnprintf(text, SENTENCE, format, args);
    dd_bytes_form(c->said, "%s: %s\n", p->bed, text);
}

void dd_carry_say(dd_carry *c, const dd_patient *p, const char *format, ...)
{
    char text[SENTENCE];
    va_list args;
    va_start(args, format);
    say(c, p, text, format, args);
    va_end(args);
}

void dd_carry_tell(dd_carry *c, const dd_patient *p, const char *format, ...)
{
    char text[SENTENCE];
    va_list args;
    va_start(args, format);
    say(c, p, text, format, args);
    va_end(args);
    dd_carry_told *told = dd_arena_take_many(c->arena, 1, sizeof *told);
    if (!told || !(told->text = dd_arena_text(c->arena, text, strlen(text)))) {
        c->said->failed = true;
        return;
    }
    told->patient = p;
    *(c->told_last ? &c->told_last->next : &c->told) = told;
    c->told_last = told;
}
