/* load.h - a plan folder in, a dd_plan and messages out. */
#ifndef DD_LOAD_H
#define DD_LOAD_H

#include "bytes.h"
#include "daydrip/plan.h"
#include "show.h"

/* A loaded folder: the plan, the bytes of its tables (for excerpts and page codes) and the counts of the verdict. */
typedef struct dd_folder dd_folder;

/* Reads the folder `path`. Always gives a folder (DD_NO_MEMORY apart), with its messages in dd_folder_messages.
 * DD_OK: everything was read without an error. DD_BAD_INPUT: there are errors; dd_folder_usable says whether anything can be
 * planned (patients with errors have patient.errors above 0). DD_CANNOT_READ: a table that is there could not be opened. */
DD_MUST_USE dd_status dd_folder_read(const char *path, dd_folder **out);
void dd_folder_free(dd_folder *folder); /* NULL is harmless */
const dd_plan *dd_folder_plan(const dd_folder *folder);
bool dd_folder_usable(const dd_folder *folder);     /* false: an error that stops everything */
bool dd_folder_unreadable(const dd_folder *folder); /* a file could not be opened: exit 4 */
size_t dd_folder_errors(const dd_folder *folder);
/* Every message in order of table, line, column, then the verdict `5 tables, 61 rows: 3 errors; 1 of 8 patients not planned`. */
void dd_folder_show(const dd_folder *folder, dd_bytes *out);
/* Appends the canonical text behind page codes: of the ward (patient -1: ward.csv, rules.csv, fluids.csv, apart.csv) or of one
 * patient's rows in every table: table name, columns in published order, trimmed cells, file order. */
void dd_folder_canonical(const dd_folder *folder, int patient, dd_bytes *out);

#endif
