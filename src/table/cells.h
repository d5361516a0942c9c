/* cells.h - the cells of the row that is read, by type; each failure is a message at its place.
 *
 * Readers return false after a failure, which then is in the sink and counted in the sheet's `row_errors`; true with the
 * result, or, where a cell that may be blank is, with what the reader says a blank means. */
#ifndef DD_CELLS_H
#define DD_CELLS_H

#include "table.h"

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
/* The same, and to 10 u (1/360 uL): what is left at the end of a plan is seldom a whole microlitre. */
bool dd_cells_volume_fine(dd_sheet *sheet, dd_column_id column, int64_t *ul, int64_t *u);
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

/* Whether a cell holds a control character. */
bool dd_cells_control(const dd_cell *cell);
/* Whether text is a key. */
bool dd_cells_is_key(const char *text, size_t length);

#endif
