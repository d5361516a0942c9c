/* account.h - what the chart says of every run, before anything is measured: when and where it started, what was charted about it, and
 * what ended it. How much flowed is trace.c's. */
#ifndef DD_ACCOUNT_H
#define DD_ACCOUNT_H

#include "trace.h"
#include "weave.h"

typedef struct dd_account {
    dd_moment start;  /* charted start; DD_NEVER: none */
    uint32_t row;     /* of that entry, for what happens within one second; 0: the order's own row says that its bag hangs */
    int16_t line;     /* where it started */
    bool omitted;
    bool arrived;     /* its start has been looked at */
    dd_touch *touches; /* by time, then row */
    uint32_t *rows;    /* of each touch */
    size_t count, room, row_room;
} dd_account;

typedef struct dd_accounts {
    dd_account *of;   /* per life */
    int32_t *started; /* lives with a charted start, by start, then row */
    size_t started_count;
} dd_accounts;

DD_MUST_USE dd_status dd_account_make(dd_work *work, const dd_weave *weave, dd_history *history, dd_accounts *out);
/* The line on which a started run is at a moment, before entry `row` of that second, by its entries alone; -1: they have ended it. */
int16_t dd_account_line(const dd_account *account, const dd_history *history, dd_moment at, uint32_t row);

#endif
