/* cells.h - a table being read: its header bound to columns, its cells read by type, each failure a message at its place.
 *
 * Readers return false after a failure, which then is in the sink and counted in `row_errors`; true with the result, or,
 * where a cell that may be blank is, with what the reader says a blank means. The sheet stays usable for messages
 * (dd_cells_fault_at) as long as its bytes live, also after dd_cells_end. */
#ifndef DD_CELLS_H
#define DD_CELLS_H

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
    int16_t where[DD_TABLE_COLUMNS_MOST]; /* cell of each column of the table; -1: not in this file */
} dd_sheet;

/* Begins a table and reads its header. DD_BAD_INPUT: the header is wrong (reported); no rows can be read. */
DD_MUST_USE dd_status dd_cells_begin(dd_sheet *sheet, dd_arena *arena, dd_sink *sink, dd_table table, const char *bytes, size_t length);
/* The next row; *more false: there is none. A row that is broken is reported and delivered. */
DD_MUST_USE dd_status dd_cells_next(dd_sheet *sheet, bool *more);
/* Reads one row again, which messages and readers are then about; it is reported and counted no second time. The next
 * dd_cells_next goes on behind it. Works after dd_cells_end too, until the next end. */
DD_MUST_USE dd_status dd_cells_again(dd_sheet *sheet, size_t offset, uint32_t line);
/* The next row without any report or count. */
DD_MUST_USE dd_status dd_cells_step(dd_sheet *sheet, bool *more);
void dd_cells_end(dd_sheet *sheet); /* no more rows; harmless on one that never began */

/* Reports about the row that is read, or about any row by its physical line. Column DD_COLUMN_COUNT: the whole row. value
 * NULL: the message shows none. */
void dd_cells_fault(dd_sheet *sheet, dd_column_id column, dd_message_id id, const char *value, const char *first, const char *second);
void dd_cells_fault_at(dd_sheet *sheet, uint32_t line, dd_column_id column, dd_message_id id, const char *value, const char *first,
                       const char *second);
/* Like dd_cells_fault, for a file that is not there or has no readable line. */
void dd_cells_fault_file(dd_sink *sink, dd_table table, const char *file, const char *name, dd_message_id id, const char *value,
                         const char *first, const char *second);

/* ---- readers: of the row that is read ---- */
/* The cell as text; NULL where it is blank. Blank in a column that is needed is a failure. */
bool dd_cells_text(dd_sheet *sheet, dd_column_id column, const char **text, size_t *length);
/* The same without any check or message: for rows that are broken, and for canonical text. */
const char *dd_cells_peek(const dd_sheet *sheet, dd_column_id column);
/* A copy in the sheet's arena; NULL where blank. *failed is set when there is no memory. */
bool dd_cells_copy(dd_sheet *sheet, dd_column_id column, const char **text, bool *failed);
bool dd_cells_key(dd_sheet *sheet, dd_column_id column, const char **text, size_t *length);
/* Index of the word in the column's list; -1 where blank. */
bool dd_cells_word(dd_sheet *sheet, dd_column_id column, int *index);
/* unit NONE where blank. The column says what it takes. */
bool dd_cells_quantity(dd_sheet *sheet, dd_column_id column, dd_quantity *out);
/* A part of a cell as one quantity of the kinds in `takes`; the message shows `shown` and what the column expects. */
bool dd_cells_part(dd_sheet *sheet, dd_column_id column, const char *text, size_t length, unsigned takes, bool zero, dd_quantity *out);
bool dd_cells_volume(dd_sheet *sheet, dd_column_id column, int64_t *ul);      /* DD_UNKNOWN where blank */
bool dd_cells_seconds(dd_sheet *sheet, dd_column_id column, int64_t *seconds); /* DD_UNKNOWN where blank */
bool dd_cells_count(dd_sheet *sheet, dd_column_id column, int64_t least, int64_t most, int64_t *out); /* DD_UNKNOWN where blank */
/* A written time of any form; *blank. */
bool dd_cells_time(dd_sheet *sheet, dd_column_id column, dd_time_text *out, bool *blank);
/* The instant of a date and clock; a clock that the zone skips or has twice is a failure. zone NULL: DD_NEVER. */
bool dd_cells_instant(dd_sheet *sheet, dd_column_id column, const char *shown, const dd_zone *zone, const dd_time_text *time, dd_moment *out);
/* A date-time; DD_NEVER where blank. */
bool dd_cells_moment(dd_sheet *sheet, dd_column_id column, const dd_zone *zone, dd_moment *out);
/* A date, meaning its end (the first second of the next one), or a date-time; DD_NEVER where blank. */
bool dd_cells_date(dd_sheet *sheet, dd_column_id column, const dd_zone *zone, dd_moment *out);
/* Reports a fault of a written quantity or time. */
void dd_cells_quantity_fault(dd_sheet *sheet, dd_column_id column, dd_quantity_fault fault, const char *shown, const char *hint);
void dd_cells_time_fault(dd_sheet *sheet, dd_column_id column, dd_time_fault fault, const char *shown);

/* Whether text is a key. */
bool dd_cells_is_key(const char *text, size_t length);

#endif
