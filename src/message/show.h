/* show.h - messages as a person reads them. */
#ifndef DD_SHOW_H
#define DD_SHOW_H

#include "bytes.h"
#include "sink.h"

#define DD_SHOWN 50 /* messages of one table that are shown; then a count */

typedef struct dd_message_text { const char *code, *what, *expected, *manual; } dd_message_text;

/* The texts of a kind of message. */
const dd_message_text *dd_show_text(dd_message_id id);
/* The kind with this code, DD_MSG_COUNT where there is none. */
dd_message_id dd_show_find(const char *code);

/* Appends one message: place, what is wrong and code; the line with carets under the field; what was expected. */
void dd_show_message(const dd_message *message, dd_bytes *out);
/* The two lines that do not say where: `rate: comma in the number "83,3 mL/h" [number-comma]`, and what was expected. */
void dd_show_what(const dd_message *message, dd_bytes *out);
void dd_show_expected(const dd_message *message, dd_bytes *out);
/* Appends every message of a sorted sink, of one table at most DD_SHOWN. */
void dd_show_all(const dd_sink *sink, dd_bytes *out);

/* What the verdict counts. */
typedef struct dd_verdict { size_t tables, rows, errors, patients, stopped; bool nothing_planned; } dd_verdict;
/* Appends `5 tables, 61 rows: 3 errors; 1 of 8 patients not planned`. */
void dd_show_verdict(const dd_verdict *verdict, dd_bytes *out);

/* Appends text so that it can drive no terminal: what is no printable character of valid UTF-8 becomes `?`; a tab becomes a
 * blank; more than `most` characters are cut and marked with `~` (0: never). */
void dd_show_safe(const char *text, size_t length, size_t most, dd_bytes *out);

#endif
