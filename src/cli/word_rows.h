/* word_rows.h - verbs and options as rows, for the programs that fill manual and completions. */
#ifndef DD_WORD_ROWS_H
#define DD_WORD_ROWS_H

#include "words.h"

static const struct verb_row { const char *name, *after; int groups; const char *what; } verbs[] = {
#define VERB(id, name, after, groups, everyday, what) {name, after, ALL | (groups), what},
#include "verb.def"
#undef VERB
};

static const struct option_row { const char *name, *argument; int groups; const char *what; } options[] = {
#define OPTION(id, name, argument, groups, what) {name, argument, groups, what},
#include "option.def"
#undef OPTION
};

#endif
