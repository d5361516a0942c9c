/* carry.h - the next plan, table by table, from this one and its timelines: 48 h in one go are 24 h, carry and 24 h.
 *
 *   carry_rows.c    rows of a table in hand: as they were read, changed cell by cell, written in published order
 *   carry_fate.c    what becomes of every order: over, goes on, waits, is still to come
 *   carry_orders.c  orders.csv by that
 *   carry_people.c  patients.csv and lines.csv
 *   carry_others.c  ward.csv and the rest
 *
 * What is left of a bag is written in mL with six decimals and read back to 10 u (1/360 uL). What a settable rate in steps of 0.01 mL/h
 * leaves is a multiple of that, so it goes over exactly; anything else is rounded so that no second changes. */
#ifndef DD_CARRY_H
#define DD_CARRY_H

#include "bytes.h"
#include "daydrip/write.h"
#include "desk.h"

/* ---- what is carried ---- */
typedef struct dd_carry_told dd_carry_told;
struct dd_carry_told {
    const dd_patient *patient;
    const char *text;
    dd_carry_told *next;
};

typedef struct dd_carry {
    const dd_folder *folder;
    const dd_plan *plan;                 /* no patient has errors */
    const dd_timeline *const *timelines; /* per patient, in table order */
    struct dd_carry_fates *fates;        /* per patient; filled by dd_carry_begin */
    dd_arena *arena;
    dd_bytes *said;                      /* what the person who carries must know: lines for standard error */
    dd_carry_told *told, *told_last;     /* of that what the next plan's pages must say too, in the order in which it was found */
    const char *id;                      /* the new plan's UUID */
} dd_carry;

/* Settles what becomes of every order and line; everything but arena-owned results is the caller's. */
DD_MUST_USE dd_status dd_carry_begin(dd_carry *carry);
/* The bytes of one table of the next plan into `out`; *there false: the next plan has no such table. */
DD_MUST_USE dd_status dd_carry_table(dd_carry *carry, dd_table table, dd_bytes *out, bool *there);

/* ---- what becomes of an order ---- */
typedef enum dd_carry_end {
    DD_CARRY_OVER,    /* no row */
    DD_CARRY_GOES_ON, /* has its line (or its bag) when the next plan begins */
    DD_CARRY_WAITS,   /* due before, and waiting */
    DD_CARRY_COMES,   /* due in the next plan, at a moment or after another order */
    DD_CARRY_REPEATS  /* repeated, and occurrences are still to come */
} dd_carry_end;

/* An occurrence of a repeated order that the next plan finishes in a row of its own, or one that has to wait for it. */
typedef struct dd_carry_rest {
    const dd_run *run;
    const char *key;    /* of its row */
    const char *after;  /* NULL: it runs when the plan begins; else the key of the occurrence that it waits for */
} dd_carry_rest;

typedef struct dd_carry_fate {
    const dd_run *run;       /* of an order that is not repeated; NULL: none in this plan */
    const dd_bag *hangs;     /* the bag that is up and not empty; NULL: none */
    dd_moment start;         /* COMES, WAITS: due; DD_NEVER: after another order, as written. REPEATS: the first occurrence that has no
                              * row of its own, where some that are still to come have; else DD_NEVER */
    int32_t doses;           /* REPEATS from `start`: so many are left; 0: no limit */
    dd_moment ended;         /* OVER and ran: when; DD_NEVER otherwise */
    const char *after;       /* COMES without a start: the key it waits for; NULL: as written */
    dd_carry_rest *rests;
    uint32_t rest_count;
    size_t rest_room;
    int16_t line;            /* of its row: the chart may have moved it, or what it replaces */
    uint8_t end;             /* dd_carry_end */
    bool replaced;           /* what it replaces has been replaced: no `replaces` any more */
    bool took_bag;           /* takes over the bag `hangs` in the second in which the next plan begins */
    bool first;              /* takes its line before all that wait */
} dd_carry_fate;

typedef struct dd_carry_fates {
    dd_carry_fate *orders;   /* per order of the patient */
    bool *line_gone;         /* per line: its row is dropped */
    bool waiting;            /* an order waits: rows are put in the order in which lines are given */
} dd_carry_fates;

DD_MUST_USE dd_status dd_carry_fate_settle(dd_carry *carry, size_t patient);
/* The bag of a run that hangs at the end and is not empty, or NULL. */
const dd_bag *dd_carry_fate_bag(const dd_timeline *timeline, const dd_run *run);
/* `bay1-bed2: ` and a sentence, for standard error. */
void dd_carry_say(dd_carry *carry, const dd_patient *patient, const char *format, ...) __attribute__((format(printf, 3, 4)));

/* The same, and it goes into the patient's remark in the next plan: worded so that it is true on both sides of the boundary. */
void dd_carry_tell(dd_carry *carry, const dd_patient *patient, const char *format, ...) __attribute__((format(printf, 3, 4)));

/* ---- rows ---- */
typedef struct dd_carry_row {
    const char **cells;  /* in published order, then the user's own (x_) */
    uint32_t line;       /* physical line of the row it comes from */
    uint32_t patient;    /* index, DD_DESK_NONE: about none */
    dd_moment due;       /* order among those that wait */
    uint32_t place;      /* order otherwise */
    uint8_t rank;
} dd_carry_row;

typedef struct dd_carry_rows {
    dd_carry *carry;
    const dd_table_shape *shape;
    dd_carry_row *rows;
    size_t count, room;
    const char *own[DD_TABLE_COLUMNS_MOST]; /* names of the user's columns */
    int16_t own_where[DD_TABLE_COLUMNS_MOST];
    size_t own_count;
} dd_carry_rows;

/* Calls `each` with every row of the table, its cells copied; what that adds with dd_carry_rows_add is kept. */
typedef dd_status dd_carry_each(dd_carry_rows *rows, const dd_carry_row *row);
DD_MUST_USE dd_status dd_carry_rows_read(dd_carry *carry, dd_table table, dd_carry_each *each, dd_carry_rows *out);
/* A copy of `row` that may be changed; NULL: no memory. Holds until the next one is added. */
DD_MUST_USE dd_carry_row *dd_carry_rows_add(dd_carry_rows *rows, const dd_carry_row *row);
/* The header and the rows. */
void dd_carry_rows_write(const dd_carry_rows *rows, dd_bytes *out);
/* A cell of a row, NULL where blank; and what it becomes. Texts must last. */
const char *dd_carry_rows_get(const dd_carry_rows *rows, const dd_carry_row *row, dd_column_id column);
void dd_carry_rows_set(const dd_carry_rows *rows, dd_carry_row *row, dd_column_id column, const char *text);
/* Texts in the arena; NULL: no memory. A date-time as a table takes it, with its offset where the clock has it twice. */
DD_MUST_USE const char *dd_carry_rows_moment(dd_carry *carry, dd_moment t);
DD_MUST_USE const char *dd_carry_rows_volume(dd_carry *carry, int64_t u); /* a multiple of 10 u, in mL */
DD_MUST_USE const char *dd_carry_rows_form(dd_carry *carry, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Whether a cell is a whole date-time, which means the same in every plan. *out its instant. */
bool dd_carry_rows_is_dated(const dd_carry *carry, const char *text, dd_moment *out);

/* The rows of one table each. */
DD_MUST_USE dd_status dd_carry_orders(dd_carry *carry, dd_carry_rows *out);
DD_MUST_USE dd_status dd_carry_patients(dd_carry *carry, dd_carry_rows *out);
DD_MUST_USE dd_status dd_carry_lines(dd_carry *carry, dd_carry_rows *out);
DD_MUST_USE dd_status dd_carry_others(dd_carry *carry, dd_table table, dd_carry_rows *out);

#endif
