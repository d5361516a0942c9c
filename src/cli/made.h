/* made.h - a folder of tables that comes about whole or not at all: the next plan, or a new one. */
#ifndef DD_MADE_H
#define DD_MADE_H

#include "arena.h"
#include "bytes.h"
#include "column.h"

#define DD_MADE_MOST 32 /* files */

typedef struct dd_made {
    dd_bytes *err;
    dd_arena *arena;
    const char *folder, *what; /* what: `the next plan`, for messages */
    bool made;                 /* the folder was not there before */
    const char *files[DD_MADE_MOST];
    size_t count;
} dd_made;

/* The folder is made, or there and empty: nothing that is there is ever written over. False: said; so with dd_made_write. */
DD_MUST_USE bool dd_made_begin(dd_made *made);
DD_MUST_USE bool dd_made_write(dd_made *made, const char *name, const char *bytes, size_t length);
/* Half a plan must not be taken for a whole one: what was written is removed. ward.csv goes last, without it a folder is no plan. */
void dd_made_undo(dd_made *made);

#endif
