/* record.h - bytes of a table to rows of cells, with the physical line of each.
 *
 * libcsv does the reading and gives no places. So whole physical lines are fed to it, which keeps the line for nothing, and
 * the column of a field is looked for in the raw line only when a message needs it (dd_record_place).
 * A row that is broken is delivered with its fault and the cells that stand before it. */
#ifndef DD_RECORD_H
#define DD_RECORD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daydrip/status.h"

#define DD_RECORD_FIELD_MOST ((size_t)64 * 1024) /* bytes of a field */
#define DD_RECORD_CELLS_MOST 1024                /* cells of a row that are kept */
#define DD_RECORD_LINES_MOST UINT32_C(4000000000)

typedef enum dd_record_fault {
    DD_RECORD_FINE,
    DD_RECORD_QUOTE_OPEN,   /* a quote is never closed; reading goes on at the next physical line */
    DD_RECORD_NEWLINE,      /* a field goes over the end of the line; reading goes on after the row */
    DD_RECORD_AFTER_QUOTE,  /* text after a closing quote */
    DD_RECORD_QUOTE_INSIDE, /* a quote inside a field that does not begin with one */
    DD_RECORD_FIELD_LONG,   /* a field above DD_RECORD_FIELD_MOST */
    DD_RECORD_NUL,          /* a NUL byte */
    DD_RECORD_ENCODING      /* bytes that are not UTF-8 */
} dd_record_fault;

typedef struct dd_cell {
    const char *text; /* decoded, trimmed of blanks and tabs, NUL behind it */
    size_t length;    /* bytes */
} dd_cell;

typedef struct dd_record {
    const char *raw;    /* the physical line, without its end; in the bytes given */
    size_t raw_length;
    size_t offset;      /* of raw in the bytes */
    const dd_cell *cells; /* valid until the next row is read */
    size_t count;         /* cells kept */
    size_t fault_cell;    /* index of the field the fault is in */
    dd_record_fault fault;
    uint32_t line;      /* physical line, from 1; 0: there are no more rows */
    bool odd;           /* some cell holds a control character */
} dd_record;

typedef struct dd_records dd_records;

/* Begins reading. `bytes` must live as long as the reader; a byte order mark is stepped over. separator 0: chosen by the
 * first row: `;` or a tab where it uses that and no comma. */
DD_MUST_USE dd_status dd_record_open(const char *bytes, size_t length, char separator, dd_records **out);
void dd_record_close(dd_records *csv); /* NULL is harmless */
char dd_record_separator(const dd_records *csv);
/* The next row in which any cell is not empty. DD_OK or DD_NO_MEMORY. */
DD_MUST_USE dd_status dd_record_next(dd_records *csv, dd_record *out);
/* Goes on at the physical line that begins at `offset` and is number `line`. */
void dd_record_seek(dd_records *csv, size_t offset, uint32_t line);
/* Where field number `field` stands in a raw line: its first byte (its quote included, blanks before it not) and its
 * length. A field that is not there stands at the end, with length 0. */
void dd_record_place(const char *raw, size_t length, char separator, size_t field, size_t *from, size_t *bytes);

#endif
