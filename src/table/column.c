#include "column.h"

#include "daydrip/quantity.h"

enum { OPTIONAL, REQUIRED, ABOVE = 0, ZERO = 1 };

const dd_column dd_column_list[DD_COLUMN_COUNT] = {
#define TABLE(id, name, need, key, about)
#define COLUMN(table, id, name, type, need, most, takes, zero, words, expected, about) \
    [DD_COL_##table##_##id] = {name, words, expected, about, takes, most, DD_TYPE_##type, need, zero},
#include "column.def"
};

/* How many columns each table has: the size of a struct with one byte for each. */
#define TABLE(id, name, need, key, about) }; struct dd_columns_##id { char in_front;
#define COLUMN(table, id, name, type, need, most, takes, zero, words, expected, about) char c_##table##_##id;
struct dd_columns_none { char in_front;
#include "column.def"
};

static const dd_table_shape shapes[DD_TABLE_COUNT] = {
#define TABLE(id, name, need, key, about) \
    [DD_TABLE_##id] = {name, key, about, DD_FIRST_##id, sizeof(struct dd_columns_##id) - 1, need},
#define COLUMN(table, id, name, type, need, most, takes, zero, words, expected, about)
#include "column.def"
};

const dd_table_shape *dd_column_table(dd_table table)
{
    return &shapes[table];
}

dd_table dd_column_table_of(dd_column_id column)
{
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        if ((size_t)column - shapes[t].first < shapes[t].count)
            return (dd_table)t;
    return DD_TABLE_COUNT;
}
