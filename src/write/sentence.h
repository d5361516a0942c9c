/* sentence.h - a row of a sheet as sentences, for whoever has the page read out: no columns, no boxes, no dots to write on. */
#ifndef DD_SENTENCE_H
#define DD_SENTENCE_H

#include "sheet.h"

/* The cells of one row, on a line each sentence. Blanks that set parts of a text apart become commas, and what a semicolon parts becomes
 * a sentence of its own. */
void dd_sentence_row(dd_sheet *sheet, const dd_cell *cells, size_t count);
/* One line as it is, without blanks at its end (sheet.c). */
void dd_sheet_line(dd_sheet *sheet, const char *line, size_t length);

#endif
