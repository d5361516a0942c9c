/* regimen_words.h - what was asked of `regimen`, read and worked out; shared by its page, its rows and its orders. */
#ifndef DD_REGIMEN_WORDS_H
#define DD_REGIMEN_WORDS_H

#include "asked.h"
#include "regimen.h"
#include "words.h"

typedef struct dd_regimen_ask {
    const dd_words *words;
    dd_regimen_inputs in;
    dd_regimen_result result;
    int64_t age_s;             /* DD_UNKNOWN: not said */
    dd_quantity weight, age, before, area, percent, given, rate, since; /* as written; unit NONE: not said */
    const char *source;        /* as typed */
    int64_t drop_factor_micro; /* 0: none named */
    bool pump;                 /* named */
} dd_regimen_ask;

#define DD_REGIMEN_STEP_UL_H 100 /* the rule pump-step, its built-in value: 0.1 mL/h */

/* Reads and works out. `regimen` and source are settled already. False: said. */
bool dd_regimen_read(dd_asked *a, const dd_regimen *regimen, const dd_words *words, dd_regimen_ask *out);

/* What is to be known before it is used: superseded, from memory, contradicted by the source. Label and words, where 0x1f is a blank. False: memory
 * ran out, not all was said. */
typedef void dd_regimen_say(void *to, const char *label, const char *words);
bool dd_regimen_remarks(const dd_regimen_ask *ask, dd_regimen_say *say, void *to);

void dd_regimen_page(const dd_regimen_ask *ask, dd_bytes *out);
void dd_regimen_rows(const dd_regimen_ask *ask, dd_bytes *out);
/* Every regimen in a line, or the editions of one side by side. */
void dd_regimen_names(dd_bytes *out);
void dd_regimen_list(const dd_regimen *regimen, dd_bytes *out);
/* `30 mL/kg`, `half`, as a stage's amount is said apart from any patient. */
void dd_regimen_amount(dd_bytes *words, const dd_regimen *regimen, const dd_regimen_stage *stage);
/* Rows of orders.csv. False: said. */
bool dd_regimen_orders(dd_asked *a, const dd_regimen_ask *ask, dd_bytes *out);

#endif
