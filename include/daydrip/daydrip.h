/* daydrip.h - the way in. A tour:
 *
 *     dd_folder *folder;
 *     dd_arena *arena = dd_arena_new();
 *     if (!arena || dd_folder_read("plans/larkfield", &folder) != DD_OK)
 *         return 1;                                   // dd_folder_show says what is wrong, and where
 *     const dd_plan *plan = dd_folder_plan(folder);
 *     for (size_t i = 0; i < plan->patient_count; i++) {
 *         dd_timeline t;
 *         if (dd_timeline_make(plan, &plan->patients[i], plan->begins, plan->begins, arena, &t) != DD_OK)
 *             break;
 *         for (size_t k = 0; k < t.bag_count; k++) {  // every bag: when it goes up, when it runs dry
 *             char number[DD_NUMBER_MAX], dry[DD_MOMENT_MAX];
 *             dd_number_u(number, t.bags[k].given, 1, DD_STYLE_PERSON);
 *             dd_moment_write(dry, plan->zone, t.bags[k].empty, DD_MOMENT_DAY);
 *             printf("%s %s mL, dry %s\n", plan->patients[i].bed, number, dry);
 *         }
 *     }
 *     dd_folder_free(folder);
 *     dd_arena_free(arena);
 *
 * It works out and reports; it doses nobody, drives no pump, and replaces no order, record or second check. */
#ifndef DAYDRIP_DAYDRIP_H
#define DAYDRIP_DAYDRIP_H

#include "message.h"
#include "moment.h"
#include "plan.h"
#include "quantity.h"
#include "status.h"
#include "task.h"
#include "timeline.h"
#include "visit.h"
#include "write.h"

/* Memory that is freed whole. NULL: none left. dd_arena_free(NULL) is harmless. */
DD_MUST_USE dd_arena *dd_arena_new(void);
void dd_arena_free(dd_arena *arena);

/* Text that grows up to `ceiling` bytes, for writers. NULL: no memory. */
DD_MUST_USE dd_bytes *dd_bytes_new(size_t ceiling);
const char *dd_bytes_data(const dd_bytes *bytes, size_t *length); /* NUL behind it; "" where empty */
void dd_bytes_delete(dd_bytes *bytes);                             /* NULL is harmless */

/* Reads the plan folder `path`. *out is a folder whenever there was memory for one, NULL otherwise; free it with
 * dd_folder_free. DD_OK: read without an error. DD_BAD_INPUT: there are errors; patients with errors have `errors` above 0
 * and are not to be planned. DD_CANNOT_READ: a table that is there could not be opened. DD_NO_MEMORY. */
DD_MUST_USE dd_status dd_folder_read(const char *path, dd_folder **out);
void dd_folder_free(dd_folder *folder);              /* NULL is harmless */
const dd_plan *dd_folder_plan(const dd_folder *folder); /* lives as long as the folder */
bool dd_folder_usable(const dd_folder *folder);      /* false: an error that stops everything; the plan is empty */
size_t dd_folder_errors(const dd_folder *folder);
/* Every message in order of table, line, column, then the verdict `5 tables, 61 rows: 3 errors; 1 of 8 patients not planned`. */
void dd_folder_show(const dd_folder *folder, dd_bytes *out);

#endif
