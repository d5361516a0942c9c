/* load.h - what the program needs of a folder beside the public functions (daydrip.h): pages codes and exit statuses. */
#ifndef DD_LOAD_H
#define DD_LOAD_H

#include "bytes.h"
#include "daydrip/daydrip.h"

/* A folder without tables: the fluids that are built in and nothing else. Freed like any other. */
DD_MUST_USE dd_status dd_folder_built_in(dd_folder **out);
bool dd_folder_unreadable(const dd_folder *folder); /* a file could not be opened: exit 4 */
/* Appends the canonical text behind page codes: of the ward (patient -1: ward.csv, rules.csv, fluids.csv, apart.csv) or of one
 * patient's rows in every table: table name, columns in published order, trimmed cells, file order. */
void dd_folder_canonical(const dd_folder *folder, int patient, dd_bytes *out);
/* The same for one table of a patient. counts, where not NULL, says of a row by its physical line whether it is to be in it:
 * of the chart only the entries that a page counted. */
typedef bool dd_canon_counts(const void *data, uint32_t line);
void dd_canon_rows(const dd_folder *folder, int patient, dd_table table, dd_canon_counts *counts, const void *data, dd_bytes *out);

#endif
