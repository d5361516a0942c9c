/* scan.h - a scanned code, of a row of bags.csv or just now: what it says becomes fields of a dd_stock. */
#ifndef DD_SCAN_H
#define DD_SCAN_H

#include "daydrip/plan.h"
#include "gs1.h"
#include "sink.h"

/* What is wrong with a code: the message, and what fills it. */
typedef struct dd_scan_fault {
    dd_message_id id;
    char first[16], second[80];
} dd_scan_fault;

/* Reads a code into the fields of *out that say what it says; texts are copied into `arena`. NULL: fine. Otherwise *fault, or a
 * fault with the id DD_MSG_COUNT: no memory. `year` is that of the plan's beginning. */
const dd_scan_fault *dd_scan_code(const char *text, size_t length, const dd_zone *zone, int year, dd_arena *arena, dd_stock *out, dd_scan_fault *fault);
/* Of a plan: the year to which years of two digits are near. */
int dd_scan_year(const dd_plan *plan);

#endif
