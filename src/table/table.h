/* table.h - a table being read: its header bound to columns, row by row, and messages at their places.
 *
 * The sheet stays usable for messages (dd_table_fault_at) as long as its bytes live, also after dd_table_end. */
#ifndef DD_TABLE_H
#define DD_TABLE_H

#include "column.h"
#include "record.h"
#include "daydrip/moment.h"
#include "daydrip/quantity.h"
#include "sink.h"

typedef struct dd_sheet {
    dd_arena *arena;
    dd_sink *sink;
    const char *file;            /* orders.csv */
    const char *bytes;
    size_t length;
    const dd_table_shape *shape;
    dd_records *csv;
    dd_record row;              /* the row that is read now */
    size_t *line_at;             /* where each physical line begins; made when a message first needs it */
    size_t lines;
    size_t rows;                 /* rows read, the header not counted */
    size_t cells;                /* of the header, trailing blank ones not counted */
    uint32_t row_errors;         /* messages about the row that is read now */
    uint8_t table;               /* dd_table */
    char separator;
    bool broken;                 /* the row has a fault and was reported: only cells before it are there */
    const struct dd_sheet *other; /* where cells of columns that this file does not have are taken from, of those in `taken`; or NULL */
    uint64_t taken;              /* a bit for each column of the table, from its first */
    int16_t where[DD_TABLE_COLUMNS_MOST]; /* cell of each column of the table; -1: not in this file */
} dd_sheet;

/* Begins a table and reads its header. DD_BAD_INPUT: the header is wrong (reported); no rows can be read. */
DD_MUST_USE dd_status dd_table_begin(dd_sheet *sheet, dd_arena *arena, dd_sink *sink, dd_table table, const char *bytes, size_t length);
/* The same for a file of another name, which messages then show; NULL: the table's own. */
DD_MUST_USE dd_status dd_table_begin_as(dd_sheet *sheet, dd_arena *arena, dd_sink *sink, dd_table table, const char *file, const char *bytes,
                                        size_t length);
/* The next row; *more false: there is none. A row that is broken is reported and delivered. */
DD_MUST_USE dd_status dd_table_next(dd_sheet *sheet, bool *more);
/* Reads one row again, which messages and readers are then about; it is reported and counted no second time. The next
 * dd_table_next goes on behind it. Works after dd_table_end too, until the next end. */
DD_MUST_USE dd_status dd_table_again(dd_sheet *sheet, size_t offset, uint32_t line);
/* The same by the row's physical line. */
DD_MUST_USE dd_status dd_table_again_at(dd_sheet *sheet, uint32_t line);
/* The next row without any report or count. */
DD_MUST_USE dd_status dd_table_step(dd_sheet *sheet, bool *more);
void dd_table_end(dd_sheet *sheet); /* no more rows; harmless on one that never began */

/* Reports about the row that is read, or about any row by its physical line. Column DD_COLUMN_COUNT: the whole row. value
 * NULL: the message shows none. Where cells are taken from another sheet nothing is reported about a column that is not in this file. */
void dd_table_fault(dd_sheet *sheet, dd_column_id column, dd_message_id id, const char *value, const char *first, const char *second);
void dd_table_fault_at(dd_sheet *sheet, uint32_t line, dd_column_id column, dd_message_id id, const char *value, const char *first,
                       const char *second);
/* Like dd_table_fault, for a file that is not there or has no readable line. */
void dd_table_fault_file(dd_sink *sink, dd_table table, const char *file, const char *name, dd_message_id id, const char *value,
                         const char *first, const char *second);

#endif
