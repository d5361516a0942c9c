/* dialect.h - rows written as the table to which they are added is written: its separator, line ends and number of cells. */
#ifndef DD_DIALECT_H
#define DD_DIALECT_H

#include "bytes.h"
#include "table.h"

typedef struct dd_dialect {
    size_t cells;   /* of the header */
    char separator;
    bool crlf;      /* lines end in CR LF */
} dd_dialect;

/* The dialect of a table whose header was just read by dd_table_begin. */
dd_dialect dd_dialect_of(const dd_sheet *sheet);
/* Appends a row of d->cells cells; NULL is a blank one. What is needed is quoted, nothing else. */
void dd_dialect_row(const dd_dialect *d, const char *const *cells, dd_bytes *out);
void dd_dialect_line_end(const dd_dialect *d, dd_bytes *out);
/* Appends what must stand between a table's bytes and the next row: nothing, or a line end where the last line has none. A last
 * line without an end that has fewer cells than the header, or a quote that is open, was cut off while it was written: what stands
 * there could be read as something else. It gets a cell too many, so that it stays an error until a person has looked. True: it
 * was so. */
bool dd_dialect_close(const dd_dialect *d, const char *bytes, size_t length, dd_bytes *out);

#endif
