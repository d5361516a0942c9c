/* asked.h - texts of options read as quantities and times; what is wrong with one is said, with the code that `explain` knows. */
#ifndef DD_ASKED_H
#define DD_ASKED_H

#include <stdbool.h>

#include "bytes.h"
#include "daydrip/moment.h"
#include "daydrip/quantity.h"
#include "mix.h"
#include "sink.h"

/* Who asks: the verb and where complaints go. */
typedef struct dd_asked {
    const char *verb;
    dd_bytes *err;
    bool wrong;     /* something was said */
    bool no_memory; /* and it was that there is no more memory */
} dd_asked;

/* Reads the text of `option` (`--volume`, or how the word is called) after trimming it. text NULL: not given, *out gets unit
 * NONE, true. `expected` ends the sentence "expected ...". False: said, *out has unit NONE. */
bool dd_asked_quantity(dd_asked *a, const char *option, const char *text, unsigned takes, bool zero, const char *expected, dd_quantity *out);
/* The same for a clock or a date and clock, without weekday or offset. text NULL: *out is all zero. */
bool dd_asked_time(dd_asked *a, const char *option, const char *text, dd_time_text *out);
/* Reads the text as an order's fluid, what is added per bag in a bag of bag_ul (DD_UNKNOWN: not said; `needs` says what to say then). */
bool dd_asked_mixture(dd_asked *a, const char *option, const char *text, int64_t bag_ul, const char *needs, dd_folder *folder, dd_mix *out);
/* Says a message of message.def about the text: what is wrong, its code, what was expected; {1} and {2} filled with first, second. */
void dd_asked_message(dd_asked *a, const char *option, dd_message_id id, const char *text, const char *first, const char *second);
/* Says what is wrong in other words; `text` NULL: about no value. */
void dd_asked_wrong(dd_asked *a, const char *option, const char *text, const char *format, ...) __attribute__((format(printf, 4, 5)));
/* Says that memory ran out. */
void dd_asked_no_memory(dd_asked *a);
/* The last line of a complaint. Returns DD_EXIT_USAGE, where memory ran out DD_EXIT_FILE. */
int dd_asked_end(dd_asked *a);

#endif
