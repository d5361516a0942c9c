/* grid.h - a table whose columns are as wide as what stands in them, set on a sheet.
 *
 * Cells are given in reading order, every row whole. Columns that do not fit beside each other go on in further blocks under
 * the first, each with the first column again, so that nothing is cut. */
#ifndef DD_GRID_H
#define DD_GRID_H

#include "sheet.h"

#define DD_GRID_COLUMNS 24

typedef struct dd_column {
    const char *head;
    dd_align align;
    bool bar; /* a bar stands before it */
    const char *say, *unit; /* as in dd_cell; say NULL: the head */
} dd_column;

typedef struct dd_grid {
    const dd_column *columns; /* the caller's */
    size_t count;             /* of columns, 1 to DD_GRID_COLUMNS */
    size_t gap;               /* blanks between columns */
    dd_bytes cells;           /* NUL-terminated texts, one behind the other */
} dd_grid;

void dd_grid_start(dd_grid *grid, const dd_column *columns, size_t count);
void dd_grid_cell(dd_grid *grid, const char *text);
/* Sets it from column `indent` on and gives the grid's memory back. */
void dd_grid_write(dd_grid *grid, dd_sheet *sheet, int indent);

#endif
