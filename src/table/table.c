#include "cells.h"

#include <stdio.h>
#include <string.h>

#include "nearest.h"

static size_t local(const dd_sheet *s, dd_column_id column)
{
    return (size_t)column - s->shape->first;
}

/* ---- messages ---- */

/* Where each physical line begins: only messages need it. */
static bool index_lines(dd_sheet *s)
{
    if (s->line_at)
        return true;
    size_t lines = 1;
    for (const char *p = s->bytes; (p = memchr(p, '\n', s->length - (size_t)(p - s->bytes))); p++)
        lines++;
    s->line_at = dd_arena_take_many(s->arena, lines + 1, sizeof *s->line_at);
    if (!s->line_at)
        return false;
    s->lines = 0;
    s->line_at[s->lines++] = s->length >= 3 && memcmp(s->bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    for (const char *p = s->bytes; (p = memchr(p, '\n', s->length - (size_t)(p - s->bytes))); p++)
        s->line_at[s->lines++] = (size_t)(p - s->bytes) + 1;
    return true;
}

static void report(dd_sheet *s, const char *raw, size_t raw_length, uint32_t line, size_t cell, dd_message *m)
{
    m->file = s->file;
    m->table = s->table;
    m->line = line;
    m->raw = raw;
    m->raw_length = raw_length;
    if (cell == SIZE_MAX)
        m->length = raw_length;
    else
        dd_record_place(raw, raw_length, s->separator, cell, &m->from, &m->length);
    dd_sink_add(s->sink, m);
}

/* Column name and cell of a message; a column that is not in the file stands at the whole row. */
static const char *column_name(const dd_sheet *s, dd_column_id column, size_t *cell)
{
    *cell = SIZE_MAX;
    if (column == DD_COLUMN_COUNT)
        return s->shape->name;
    int16_t where = s->where[local(s, column)];
    if (where >= 0)
        *cell = (size_t)where;
    return dd_column_list[column].name;
}

void dd_table_fault(dd_sheet *s, dd_column_id column, dd_message_id id, const char *value, const char *first, const char *second)
{
    dd_message m = {.id = id, .value = value, .args = {first, second}};
    size_t cell;
    m.name = column_name(s, column, &cell);
    if (s->other && column != DD_COLUMN_COUNT && cell == SIZE_MAX)
        return; /* it was read without fault where it stands */
    s->row_errors++;
    report(s, s->row.raw, s->row.raw_length, s->row.line, cell, &m);
}

void dd_table_fault_at(dd_sheet *s, uint32_t line, dd_column_id column, dd_message_id id, const char *value, const char *first,
                       const char *second)
{
    dd_message m = {.id = id, .value = value, .args = {first, second}};
    size_t cell, length = 0;
    const char *raw = NULL;
    m.name = column_name(s, column, &cell);
    if (line && index_lines(s) && line <= s->lines) {
        size_t at = s->line_at[line - 1];
        raw = s->bytes + at;
        const char *end = memchr(raw, '\n', s->length - at);
        length = end ? (size_t)(end - raw) : s->length - at;
        if (length && raw[length - 1] == '\r')
            length--;
    }
    report(s, raw, length, line, cell, &m);
}

void dd_table_fault_file(dd_sink *sink, dd_table table, const char *file, const char *name, dd_message_id id, const char *value,
                         const char *first, const char *second)
{
    dd_message m = {.id = id, .file = file, .name = name, .value = value, .args = {first, second}, .line = 1, .table = (uint8_t)table};
    dd_sink_add(sink, &m);
}

/* ---- header ---- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same_name(const dd_cell *cell, const char *name)
{
    size_t length = strlen(name);
    if (cell->length != length)
        return false;
    for (size_t i = 0; i < length; i++)
        if (lower(cell->text[i]) != name[i])
            return false;
    return true;
}

static void header_fault(dd_sheet *s, size_t cell, const char *name, dd_message_id id, const char *value, const char *first)
{
    dd_message m = {.id = id, .name = name, .value = value, .args = {first, NULL}};
    report(s, s->row.raw, s->row.raw_length, s->row.line, cell, &m);
}

/* Binds one cell of the header. */
static bool bind(dd_sheet *s, size_t cell)
{
    const dd_cell *c = &s->row.cells[cell];
    if (c->length == 0) {
        header_fault(s, cell, s->shape->name, DD_MSG_COLUMN_UNNAMED, NULL, NULL);
        return false;
    }
    if (c->length >= 2 && lower(c->text[0]) == 'x' && c->text[1] == '_')
        return true;
    const dd_column *columns = dd_column_list + s->shape->first;
    for (size_t i = 0; i < s->shape->count; i++) {
        if (!same_name(c, columns[i].name))
            continue;
        if (s->where[i] >= 0) {
            header_fault(s, cell, columns[i].name, DD_MSG_COLUMN_DOUBLED, NULL, NULL);
            return false;
        }
        s->where[i] = (int16_t)cell;
        return true;
    }
    dd_nearest nearest = dd_nearest_begin(c->text, c->length);
    for (size_t i = 0; i < s->shape->count; i++)
        dd_nearest_offer(&nearest, columns[i].name, strlen(columns[i].name));
    header_fault(s, cell, s->shape->name, DD_MSG_COLUMN_UNKNOWN, c->text, nearest.best ? nearest.best : "a column of this table");
    return false;
}

static const dd_message_id fault_messages[] = {
    [DD_RECORD_QUOTE_OPEN] = DD_MSG_QUOTE_OPEN,     [DD_RECORD_NEWLINE] = DD_MSG_NEWLINE_IN_FIELD,
    [DD_RECORD_AFTER_QUOTE] = DD_MSG_TEXT_AFTER_QUOTE, [DD_RECORD_QUOTE_INSIDE] = DD_MSG_QUOTE_INSIDE,
    [DD_RECORD_FIELD_LONG] = DD_MSG_FIELD_LONG,     [DD_RECORD_NUL] = DD_MSG_NUL_BYTE,
    [DD_RECORD_ENCODING] = DD_MSG_ENCODING,
};

/* `orders.csv`; NULL: no memory. */
static const char *own_name(dd_arena *arena, const dd_table_shape *shape)
{
    size_t length = strlen(shape->name);
    char *file = dd_arena_take(arena, length + 5);
    if (file) {
        memcpy(file, shape->name, length);
        memcpy(file + length, ".csv", 5);
    }
    return file;
}

dd_status dd_table_begin(dd_sheet *s, dd_arena *arena, dd_sink *sink, dd_table table, const char *bytes, size_t length)
{
    return dd_table_begin_as(s, arena, sink, table, NULL, bytes, length);
}

dd_status dd_table_begin_as(dd_sheet *s, dd_arena *arena, dd_sink *sink, dd_table table, const char *file, const char *bytes, size_t length)
{
    *s = (dd_sheet){.arena = arena, .sink = sink, .bytes = bytes, .length = length, .shape = dd_column_table(table), .table = (uint8_t)table};
    for (size_t i = 0; i < DD_TABLE_COLUMNS_MOST; i++)
        s->where[i] = -1;
    s->file = file ? file : own_name(arena, s->shape);
    if (!s->file)
        return DD_NO_MEMORY;
    if (length >= 2 && (memcmp(bytes, "\xff\xfe", 2) == 0 || memcmp(bytes, "\xfe\xff", 2) == 0)) {
        /* The mark of two bytes per letter: every NUL in it would be a riddle, this is not. */
        dd_table_fault_file(sink, table, s->file, s->shape->name, DD_MSG_ENCODING, NULL, NULL, NULL);
        return DD_BAD_INPUT;
    }
    dd_status status = dd_record_open(bytes, length, 0, &s->csv);
    if (status != DD_OK)
        return status;
    s->separator = dd_record_separator(s->csv);
    status = dd_record_next(s->csv, &s->row);
    if (status != DD_OK)
        return status;
    if (s->row.line == 0) {
        dd_table_fault_file(sink, table, s->file, s->shape->name, DD_MSG_TABLE_EMPTY, NULL, NULL, NULL);
        return DD_BAD_INPUT;
    }
    if (s->row.fault != DD_RECORD_FINE) {
        header_fault(s, s->row.fault_cell, s->shape->name, fault_messages[s->row.fault], NULL, NULL);
        return DD_BAD_INPUT;
    }
    s->cells = s->row.count;
    while (s->cells && s->row.cells[s->cells - 1].length == 0)
        s->cells--;
    bool good = true;
    for (size_t i = 0; i < s->cells; i++) {
        if (s->row.odd && dd_cells_control(&s->row.cells[i])) {
            header_fault(s, i, s->shape->name, DD_MSG_CONTROL_CHARACTER, s->row.cells[i].text, NULL);
            good = false;
        } else if (!bind(s, i)) {
            good = false;
        }
    }
    /* With a name that is not known the missing one is probably that: one error, not two. */
    for (size_t i = 0; i < s->shape->count && good; i++)
        if (s->where[i] < 0 && dd_column_list[s->shape->first + i].required)
            header_fault(s, SIZE_MAX, dd_column_list[s->shape->first + i].name, DD_MSG_COLUMN_MISSING, NULL,
                         dd_column_list[s->shape->first + i].name);
    for (size_t i = 0; i < s->shape->count; i++)
        if (s->where[i] < 0 && dd_column_list[s->shape->first + i].required)
            good = false;
    return good ? DD_OK : DD_BAD_INPUT;
}

void dd_table_end(dd_sheet *s)
{
    dd_record_close(s->csv);
    s->csv = NULL;
}

dd_status dd_table_again(dd_sheet *s, size_t offset, uint32_t line)
{
    if (!s->csv) {
        dd_status status = dd_record_open(s->bytes, s->length, s->separator, &s->csv);
        if (status != DD_OK)
            return status;
    }
    dd_record_seek(s->csv, offset, line);
    s->row_errors = 0;
    dd_status status = dd_record_next(s->csv, &s->row);
    s->broken = s->row.fault != DD_RECORD_FINE;
    return status;
}

dd_status dd_table_again_at(dd_sheet *s, uint32_t line)
{
    if (!index_lines(s))
        return DD_NO_MEMORY;
    return dd_table_again(s, s->line_at[line - 1], line);
}

dd_status dd_table_step(dd_sheet *s, bool *more)
{
    dd_status status = dd_record_next(s->csv, &s->row);
    *more = status == DD_OK && s->row.line != 0;
    return status;
}

static const char *cell_name(const dd_sheet *s, size_t cell)
{
    for (size_t i = 0; i < s->shape->count; i++)
        if (s->where[i] >= 0 && (size_t)s->where[i] == cell)
            return dd_column_list[s->shape->first + i].name;
    return s->shape->name;
}

dd_status dd_table_next(dd_sheet *s, bool *more)
{
    *more = false;
    s->row_errors = 0;
    s->broken = false;
    if (!s->csv)
        return DD_OK;
    dd_status status = dd_record_next(s->csv, &s->row);
    if (status != DD_OK || s->row.line == 0)
        return status;
    *more = true;
    s->rows++;
    dd_message m = {0};
    if (s->row.fault != DD_RECORD_FINE) {
        m.id = fault_messages[s->row.fault];
        m.name = cell_name(s, s->row.fault_cell);
        report(s, s->row.raw, s->row.raw_length, s->row.line, s->row.fault_cell, &m);
        s->broken = true;
        s->row_errors = 1;
        return DD_OK;
    }
    for (size_t i = s->cells; i < s->row.count; i++) {
        if (s->row.cells[i].length == 0)
            continue;
        char most[24];
        snprintf(most, sizeof most, "%zu", s->cells);
        m.id = DD_MSG_TOO_MANY_CELLS;
        m.name = s->shape->name;
        m.args[0] = most;
        report(s, s->row.raw, s->row.raw_length, s->row.line, i, &m);
        s->broken = true;
        s->row_errors = 1;
        break;
    }
    return DD_OK;
}
