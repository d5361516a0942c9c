/* chart_words.h - the words of one entry: whom it is about, what happened, and what is wrong with how it was said. */
#ifndef DD_CHART_WORDS_H
#define DD_CHART_WORDS_H

#include "entry.h"
#include "words.h"

/* One entry as it was said: the command's own words, or a line of the text that --from names. */
typedef struct dd_chart_line {
    const dd_words *words;
    const char *text;      /* the line; NULL: the command's own words */
    uint32_t number;       /* of the line, from 1 */
} dd_chart_line;

/* What is charted, and where complaints go. */
typedef struct dd_chart {
    const dd_words *words; /* of the command */
    const char *source;    /* what --from names; NULL: the command's own words */
    dd_folder *folder;
    dd_entries entries;
    dd_moment now;         /* the clock's */
    dd_bytes *err;
    bool no_memory;
} dd_chart;

/* Reads the words of a line into an entry, which still has to be added. False: said. */
bool dd_chart_words_read(dd_chart *c, const dd_chart_line *line, dd_entry *entry);
/* Says what the last dd_entry_add found, and what would fit. */
void dd_chart_words_faults(dd_chart *c, const dd_chart_line *line, const dd_entry *entry);
/* Says what is wrong about `name`: where, `value` in quotes between `before` and `after`, the code of the message that explains it
 * (NULL: none), and what was expected. */
void dd_chart_words_wrong(dd_chart *c, const dd_chart_line *line, const char *name, const char *before, const char *value, const char *after,
                          const char *code, const char *expected);

#endif
