/* column.h - the tables and columns of a plan folder as data, from column.def. */
#ifndef DD_COLUMN_H
#define DD_COLUMN_H

#include <stdbool.h>
#include <stddef.h>

#include "daydrip/message.h"

/* One constant per column, DD_COL_ORDERS_RATE; the columns of a table follow one another from DD_FIRST_ORDERS. */
typedef enum dd_column_id {
#define TABLE(id, name, need, key, about) DD_FIRST_##id, DD_BEFORE_##id = DD_FIRST_##id - 1,
#define COLUMN(table, id, name, type, need, most, takes, zero, words, expected, about) DD_COL_##table##_##id,
#include "column.def"
    DD_COLUMN_COUNT
} dd_column_id;

typedef enum dd_column_type {
    DD_TYPE_KEY, DD_TYPE_TEXT, DD_TYPE_WORD, DD_TYPE_QUANTITY, DD_TYPE_MOMENT, DD_TYPE_DATE, DD_TYPE_COUNT, DD_TYPE_FORM
} dd_column_type;

typedef struct dd_column {
    const char *name, *words, *expected, *about;
    unsigned takes;   /* dd_takes */
    size_t most;      /* bytes */
    dd_column_type type;
    bool required, zero;
} dd_column;

typedef struct dd_table_shape {
    const char *name;  /* without .csv */
    const char *key;   /* columns that together are unique; "" for none */
    const char *about; /* one row is ... */
    size_t first, count; /* columns: dd_column_list[first ...] */
    bool required;
} dd_table_shape;

#define DD_TABLE_COLUMNS_MOST 40 /* columns of one table */
#define DD_KEY_MOST 40           /* bytes of a key */

extern const dd_column dd_column_list[DD_COLUMN_COUNT];
const dd_table_shape *dd_column_table(dd_table table);
dd_table dd_column_table_of(dd_column_id column);

#endif
