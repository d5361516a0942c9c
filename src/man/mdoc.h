/* mdoc.h - texts of the program's lists as mdoc, the language of manual pages. */
#ifndef DD_MDOC_H
#define DD_MDOC_H

#include <stdio.h>

/* Text that means itself, in a line of text or as the argument of a macro. */
void mdoc_plain(FILE *out, const char *text);
/* Prose: one sentence a line, and no line that looks like a macro. */
void mdoc_prose(FILE *out, const char *text);
/* A phrase of a list as a sentence: `the key of a patient` becomes `The key of a patient.` where nothing stands before it. */
void mdoc_phrase(FILE *out, const char *before, const char *text);
/* What stands in braces in a message is of the plan; here three points stand for it. One line. */
void mdoc_pattern(FILE *out, const char *before, const char *text);
/* Words separated by spaces as words separated by commas. */
void mdoc_words(FILE *out, const char *words);
/* A page as it was written, with long lines of text cut at words, so that no line has more than 78 bytes where a word allows it, and
 * places at which a row of names (.Dl, but for commands) may be cut. Literal parts stay as they are. */
void mdoc_fold(FILE *out, const char *page);

#endif
