/* desk.h - what the loader has in hand while it reads a folder: the plan as far as it is known, and what binds rows together.
 * Internal to src/plan. */
#ifndef DD_DESK_H
#define DD_DESK_H

#include "cells.h"
#include "keys.h"
#include "load.h"
#include "daydrip/rule.h"

#define DD_DESK_NONE UINT32_MAX

/* Where a row of a patient stands in its table; rows of one patient form a list, for page codes. */
typedef struct dd_row_place {
    size_t offset;
    uint32_t line, next;
} dd_row_place;

/* What is known of a patient beside the plan. */
typedef struct dd_patient_desk {
    uint32_t first_row[DD_TABLE_COUNT], last_row[DD_TABLE_COUNT]; /* into places[table]; DD_DESK_NONE: none */
    bool lost[DD_TABLE_COUNT]; /* a row of this table could not be read: what seems to dangle may be in it */
} dd_patient_desk;

/* What is known of an order beside the plan: bound when all orders are there. */
typedef struct dd_order_desk {
    const char *after, *replaces; /* keys; NULL: none */
    uint32_t patient;
    uint32_t errors;
} dd_order_desk;

/* A mixture, and what its bag was found to hold, with the bag where that depends on it. */
typedef struct dd_mixture_desk {
    const dd_mixture *mixture;
    const dd_composition *has;
    int64_t bag_ul;
} dd_mixture_desk;

struct dd_folder {
    dd_arena *arena;
    dd_sink sink;
    dd_plan plan;
    dd_zone zone;
    const dd_zone *clock;     /* &zone once it is known, else NULL */
    dd_sheet sheets[DD_TABLE_COUNT];
    bool there[DD_TABLE_COUNT];  /* the table was opened and its header could be read */
    size_t tables;            /* opened */
    size_t patients_read;     /* of the verdict; the plan has none where everything stops */
    bool stopped;             /* an error that stops everything */
    bool unreadable, no_memory;
    bool patient_lost;        /* a row of patients.csv has no readable key */
    uint32_t last_patient;    /* whom the last row was about */
    dd_patient *patients;
    dd_patient_desk *beside;
    dd_line *lines;
    dd_order *orders;
    dd_order_desk *order_desk;
    dd_event *events;
    size_t order_total, order_room;
    dd_keys patient_keys, beds, line_keys, order_keys, entry_keys, fluid_keys, mixture_texts, blends;
    dd_row_place *places[DD_TABLE_COUNT];
    size_t place_count[DD_TABLE_COUNT], place_room[DD_TABLE_COUNT];
    dd_mixture_desk *mixtures;
    size_t mixture_count, mixture_room;
    const dd_fluid *fluids;
    const dd_folder *ordered; /* the plan that the orders of this one, a record, are held against (recorded.h); else NULL */
    const dd_order *counterpart; /* of a record: the order of that plan that the row is about which is read now; or NULL */
    dd_sheet orders_sheet;    /* of a record: the orders of that plan, for cells of columns that the record does not have */
};

/* An empty folder in an arena of its own; NULL: no memory. */
dd_folder *dd_folder_new(void);
/* Of the row of a record that is read: the order of the plan with its key, or NULL; takes from its row the cells of columns that the
 * record does not have. */
const dd_order *dd_recorded_begin(dd_folder *f, dd_sheet *sheet, uint32_t patient);

/* ---- the steps, in this order; each reads one table or binds what was read ---- */
void dd_ward_read(dd_folder *f);
void dd_catalogue_read(dd_folder *f);  /* fluids.csv and the built-in fluids */
void dd_rules_read(dd_folder *f);      /* rules.csv and the built-in rules */
void dd_patients_read(dd_folder *f);
void dd_lines_read(dd_folder *f);
void dd_orders_read(dd_folder *f);
void dd_gate_orders(dd_folder *f);     /* what orders of one patient say about each other */
void dd_pauses_read(dd_folder *f);
void dd_bags_read(dd_folder *f);
/* Reads the row of bags.csv that is read now (scan.c). */
void dd_scan_row(dd_folder *f, dd_sheet *s, uint32_t patient, dd_stock *out);
void dd_apart_read(dd_folder *f);
void dd_accepted_read(dd_folder *f);
void dd_chart_read(dd_folder *f);
/* Reads the row of the chart that is read now; the entry it strikes is left out. False: it has no key or event that could be read. */
bool dd_chart_event(dd_folder *f, dd_sheet *s, uint32_t patient, dd_event *e);

/* ---- common to the readers of tables ---- */
/* The next row of a table; false at its end. */
bool dd_desk_next(dd_folder *f, dd_sheet *sheet);
/* Index of the patient whom the row is about; DD_DESK_NONE: nobody. Reports an unknown one unless the row is broken. */
uint32_t dd_desk_patient(dd_folder *f, dd_sheet *sheet, dd_column_id column);
/* Closes a row: its errors stop the patient; it is noted for the page code. */
void dd_desk_row_done(dd_folder *f, dd_sheet *sheet, uint32_t patient);
/* A line or order of the patient by the cell's key: -1 where blank. False after a failure. */
bool dd_desk_line(dd_folder *f, dd_sheet *sheet, dd_column_id column, uint32_t patient, int16_t *out);
bool dd_desk_order(dd_folder *f, dd_sheet *sheet, dd_column_id column, uint32_t patient, int16_t *out);
/* Adds a key of the patient; reports one that is there already, or that differs only in capitals. line_of: the physical line
 * of the value that has it. The text must last; NULL: there was no memory for it. */
typedef uint32_t dd_desk_line_of(const dd_folder *f, uint32_t value);
bool dd_desk_add_key(dd_folder *f, dd_sheet *sheet, dd_column_id column, dd_keys *keys, uint32_t owner, const char *key, uint32_t value,
                     dd_desk_line_of *line_of);
/* Rows that a table may have at most: its line ends, plus one. */
size_t dd_desk_rows_most(const dd_sheet *sheet);
/* Puts rows that stand in file order into the order of their patients, stable. items of `size` bytes; patient_of of each.
 * first and count, per patient, are filled. NULL: no memory. */
void *dd_desk_group(dd_folder *f, void *items, size_t count, size_t size, const uint32_t *patient_of, uint32_t *first, uint32_t *count_of);
/* The instant that a clock, or weekday and clock, means: the first at or after `from`. */
dd_moment dd_desk_clock_from(const dd_zone *zone, dd_moment from, const dd_time_text *time);
dd_moment dd_desk_clock_after(const dd_zone *zone, dd_moment after, const dd_time_text *time);
dd_moment dd_desk_clock_until(const dd_zone *zone, dd_moment until, const dd_time_text *time);

#endif
