/* message.h - messages about tables, collected and shown.
 *
 * A message names table, line, column and value and says what was expected. Every kind has a code that stays and a
 * section in the manual; the list is src/message/message.def. Messages are collected in a sink, one per patient where
 * threads are used, and shown together, sorted by table, line and column. */
#ifndef DAYDRIP_MESSAGE_H
#define DAYDRIP_MESSAGE_H

#include <stddef.h>
#include <stdint.h>

#include "status.h"

/* The tables of a plan folder, in the order in which messages are shown. */
typedef enum dd_table {
    DD_TABLE_WARD, DD_TABLE_RULES, DD_TABLE_FLUIDS, DD_TABLE_APART, DD_TABLE_PATIENTS, DD_TABLE_LINES, DD_TABLE_ORDERS,
    DD_TABLE_PAUSES, DD_TABLE_BAGS, DD_TABLE_ACCEPTED, DD_TABLE_CHART, DD_TABLE_COUNT
} dd_table;

/* Where a value was written. line 0: nowhere (built in, or a default). Every value of the plan keeps the origin of its
 * row; the column is known from the field. */
typedef struct dd_origin {
    uint32_t line;   /* physical line, from 1 */
    uint8_t table;   /* dd_table */
    uint8_t column;  /* index into the table's columns (column.def); 255: the whole row */
} dd_origin;
#define DD_WHOLE_ROW 255

#endif
