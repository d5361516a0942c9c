/* words.h - the command's words, taken apart by verb.def and option.def. */
#ifndef DD_WORDS_H
#define DD_WORDS_H

#include <stdbool.h>

#include "bytes.h"

enum { /* groups of options, and which verbs take them */
    ALL = 1 << 0, PLANS = 1 << 1, SPANS = 1 << 2, ROWS = 1 << 3, FILES = 1 << 4, PAGES = 1 << 5, TOTALS = 1 << 6, REMIND = 1 << 7, NEW = 1 << 8,
    RATE = 1 << 9, WORKED = 1 << 10, CHART = 1 << 11, CARRY = 1 << 12, RULES = 1 << 13, EXPLAIN = 1 << 14, SOON = 1 << 15, WIDE = 1 << 16,
    LABEL = 1 << 17, FLUIDS = 1 << 18, BAG = 1 << 19, REPORT = 1 << 20, REGIMEN = 1 << 21
};

typedef enum dd_option {
#define OPTION(id, name, argument, verbs, what) DD_OPTION_##id,
#include "option.def"
#undef OPTION
    DD_OPTION_COUNT
} dd_option;

typedef enum dd_verb {
#define VERB(id, name, after, groups, everyday, what) DD_VERB_##id,
#include "verb.def"
#undef VERB
    DD_VERB_COUNT
} dd_verb;

typedef struct dd_words {
    dd_verb verb;
    char *value[DD_OPTION_COUNT]; /* NULL: not given; a flag that is given has "" */
    char **patients;              /* NULL-terminated, or NULL */
    char **rest;                  /* words that are no options, NULL-terminated */
    int rest_count;
    int exit_status;              /* where dd_words_read returns false */
} dd_words;

/* Reads argv. True: words are set and the verb is to be run. False: everything is said already (help, version, or a usage
 * message in `err`), exit_status says how to leave. Free with dd_words_free either way. */
bool dd_words_read(int argc, char **argv, dd_words *words, dd_bytes *out, dd_bytes *err);
void dd_words_free(dd_words *words);
/* `daydrip: ...` and where to look. Returns DD_EXIT_USAGE. */
int dd_words_wrong(dd_bytes *err, const dd_words *words, const char *format, ...) __attribute__((format(printf, 3, 4)));
const char *dd_words_verb_name(dd_verb verb);

#endif
