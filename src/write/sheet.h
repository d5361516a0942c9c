/* sheet.h - the fixed-width page: lines, columns and pages of plain ASCII.
 *
 * Lines are collected for one section (the ward summary, one patient's front); closing the section breaks them into pages
 * of 60 lines, each with the section's heading above and a line that begins `END OF` below. How many pages there are is
 * known only at the end: dd_sheet_finish fills the numbers in.
 *
 * Invariants: no line is longer than the width; nothing but printable ASCII, LF and form feeds goes out (anything else in a
 * text becomes `?`); nothing is ever cut: what is too long wraps, a word longer than its column too; a number never stands
 * at a line's end without its unit. Failure to find memory sticks and is told by dd_sheet_finish. */
#ifndef DD_SHEET_H
#define DD_SHEET_H

#include "bytes.h"
#include "daydrip/write.h"

#define DD_PAGE_LINES 60
#define DD_WIDTH_MAX 132
#define DD_SHEET_KEEP '\x1f' /* in a text: a blank at which no line breaks */

typedef enum dd_align {
    DD_LEFT,
    DD_RIGHT,
    DD_POINT /* the end of the whole number stands `after` characters before the column's right edge: zeros are not padded */
} dd_align;

/* One cell of a row. Its text wraps inside [at, at + width); width 0: up to the page's right edge. */
typedef struct dd_cell {
    int at, width;
    dd_align align;
    int after;        /* DD_POINT: characters kept for point, decimals and mark. DD_LEFT: indent of the second line and on */
    const char *text; /* NULL: empty */
    bool every;       /* stands on every line that the row takes: the bars of a box. Its text must fit its width */
    /* For sentences alone. */
    bool typed;       /* a command: as it is, nothing behind it; alone in its row */
    bool silent;      /* for the eye: heads of columns, room to write. Cells without a letter, figure or ? need not say so */
    const char *say;  /* words before the text; the cell is then a sentence of its own behind the row's other cells: `left-arm: bag 2`. One
                       * that begins with a comma goes on with their sentence */
    const char *unit; /* behind the text where that is a figure: ` mL` */
} dd_cell;

/* What stands above every page of a section. The texts stay the caller's until the section is closed. */
typedef struct dd_heading {
    bool demo;
    const char *subject; /* in capitals: the bed or the ward */
    const char *title;   /* THIS SHIFT */
    const char *span;    /* night, Wed 25 Nov 19:00 to Thu 26 Nov 07:00 */
    const char *ward;    /* NULL where it is the subject */
    const char *made;    /* made Wed 25 Nov 19:00 (UTC-05:00) */
    const char *code;    /* F3H7-9WKT */
    const char *end;     /* END OF PAGE 4, <end> */
    const char *notes;   /* what every page begins with, a paragraph for each line; NULL: nothing */
} dd_heading;

typedef struct dd_sheet {
    dd_bytes *out;
    size_t start;     /* where in `out` the sheet began */
    dd_bytes *into;   /* where the next line goes: body, head, foot or tail */
    dd_bytes body;    /* the lines of the section that is open */
    dd_bytes head, foot, tail; /* of the page that is being written */
    dd_bytes joined;  /* one character per line: 1 stays with the next one, 0 may be the last of its page */
    dd_bytes scratch; /* cleaned texts of the row being set */
    dd_heading heading;
    int width;        /* 72 to DD_WIDTH_MAX */
    bool pages;       /* false: no breaks and no form feeds */
    bool sentences;   /* no columns: each row is said in sentences, one a line, for whoever has the page read out (sentence.c) */
    int together;     /* above 0: lines are being kept together */
    size_t page;      /* the number of the last page written */
    size_t digits;    /* of the count of pages, at most */
} dd_sheet;           /* points into itself: it is not to be copied */

/* An empty sheet that writes behind what `out` holds, about so many sections. The counterpart is dd_sheet_finish, always. */
void dd_sheet_start(dd_sheet *sheet, dd_bytes *out, int width, bool pages, size_t sections);
/* Fills in the count of pages and gives the sheet's memory back (not `out`'s). */
DD_MUST_USE dd_status dd_sheet_finish(dd_sheet *sheet);

void dd_sheet_open(dd_sheet *sheet, const dd_heading *heading);
/* Writes the section's pages. `closing`, where not NULL, stands behind the last page's `END OF` line, its lines parted by LF
 * and wrapped. */
void dd_sheet_close(dd_sheet *sheet, const char *closing);
/* Writes the lines as they stand, without heading or pages: for lists. */
void dd_sheet_pour(dd_sheet *sheet);

void dd_sheet_row(dd_sheet *sheet, const dd_cell *cells, size_t count);
/* Text that wraps, from column `indent`, on the next lines from column `hang` (not left of `indent`). */
void dd_sheet_text(dd_sheet *sheet, int indent, int hang, const char *text);
/* The heading of a part: as dd_sheet_text on a page; in sentences `words`, or `text` where they are NULL, behind an empty line. */
void dd_sheet_title(dd_sheet *sheet, int indent, int hang, const char *text, const char *words);
void dd_sheet_said(dd_sheet *sheet, const char *words); /* the heading in sentences alone: on the page another row is it */
void dd_sheet_form(dd_sheet *sheet, const char *text);  /* text to write into: on the page alone */
void dd_sheet_rule(dd_sheet *sheet); /* a line of - as wide as the page */
void dd_sheet_blank(dd_sheet *sheet);
/* The lines set until `apart` stay on one page, where one page can hold them. May be nested: the outermost counts. */
void dd_sheet_together(dd_sheet *sheet);
void dd_sheet_apart(dd_sheet *sheet);
/* The last line set stays with the next one: a table's heading with its first row. */
void dd_sheet_join(dd_sheet *sheet);

/* Characters of `text` once it is plain ASCII: one for each character. */
size_t dd_sheet_length(const char *text);
/* How many of them stand before the point (or before a mark such as `?`) of a number. */
size_t dd_sheet_before_point(const char *text);

#endif
