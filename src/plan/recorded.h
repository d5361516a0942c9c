/* recorded.h - a second table of the same orders (the transcribed medication record): read as orders.csv is, with the same readers,
 * against the other tables of the plan.
 *
 * What a column says that the record does not have is taken from the order of the plan, so that the cells which are there have the
 * meaning they have beside it; nothing is compared in such a column. Of rate, volume and time only so many are taken as give the
 * third. An order that is in the record alone has key, fluid and line; its other cells are kept as text. What orders say of each
 * other (after, replaces) stays a key. */
#ifndef DD_RECORDED_H
#define DD_RECORDED_H

#include "column.h"
#include "load.h"

#define DD_RECORDED_COLUMNS DD_TABLE_COLUMNS_MOST

/* Reads `path`, `-` is standard input. The plan must be usable and live longer. The patients of the record's plan are those of the
 * plan, in the same order; errors of the record are added to theirs. Freed with dd_folder_free. *out NULL: no memory. DD_CANNOT_READ,
 * DD_BAD_INPUT: said by dd_recorded_show. */
DD_MUST_USE dd_status dd_recorded_read(const dd_folder *plan, const char *path, dd_folder **out);
/* Messages and verdict; nothing where there is no error. */
void dd_recorded_show(const dd_folder *record, dd_bytes *out);
const char *dd_recorded_name(const dd_folder *record); /* the file as messages name it */
bool dd_recorded_has(const dd_folder *record, dd_column_id column); /* of orders */

/* The cells of an order as they are written, by column from DD_FIRST_ORDERS; NULL where blank. after, replaces: the keys. */
typedef struct dd_written {
    const char *cell[DD_RECORDED_COLUMNS];
    const char *after, *replaces;
} dd_written;
/* The rows of a plan or a record, to be read once more. NULL: no memory, of which the rows and all texts are in `arena`. */
typedef struct dd_recorded_rows dd_recorded_rows;
DD_MUST_USE dd_recorded_rows *dd_recorded_open(const dd_folder *folder, dd_arena *arena);
void dd_recorded_close(dd_recorded_rows *rows); /* NULL is harmless */
DD_MUST_USE dd_status dd_recorded_cells(dd_recorded_rows *rows, const dd_order *order, dd_written *out);

#endif
