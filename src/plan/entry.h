/* entry.h - entries for the chart: made into rows as the folder's chart.csv is written, and checked by the same code that will read
 * them. */
#ifndef DD_ENTRY_H
#define DD_ENTRY_H

#include "column.h"
#include "dialect.h"
#include "load.h"

#define DD_ENTRY_CELLS (DD_COL_CHART_NOTE - DD_COL_CHART_ENTRY + 1)
#define DD_ENTRY_BYTES_MOST ((size_t)64 << 20) /* of all rows added at once */

/* One entry. cells: as they are to be written, by column (dd_entry_cell); NULL: blank. Key, patient, time and entered are filled by
 * dd_entry_add. */
typedef struct dd_entry {
    const dd_patient *patient;
    dd_moment time, entered;
    const char *cells[DD_ENTRY_CELLS];
    dd_event event; /* as it was read back, from dd_entry_add */
    char texts[3][DD_MOMENT_MAX]; /* behind the cells filled by dd_entry_add */
} dd_entry;

/* Entries that are added together. Texts and messages are in the folder's memory. */
typedef struct dd_entries {
    dd_folder *folder;
    dd_sink faults;       /* about the entry added last; emptied by the caller */
    dd_bytes bytes;       /* what is to stand behind what chart.csv holds now */
    dd_dialect dialect;
    int16_t where[DD_TABLE_COLUMNS_MOST]; /* cell of each column in the file; -1: not there */
    const char *header;   /* bytes of the file up to the end of its header */
    size_t header_length;
    uint64_t number;      /* of the next key */
    const char **struck;  /* keys that entries before this one strike */
    size_t struck_count, struck_room;
    uint32_t cut_line;    /* the last line of the file, where that is cut off; else 0 */
    bool fresh;           /* there is no header yet: bytes begin with it */
    bool column_missing;  /* an entry needs a column that the file does not have */
} dd_entries;

/* Whether anything can be charted: the zone, the patients, lines and orders are known, and chart.csv, where it is there, has a
 * header. Errors anywhere else refuse no entry. */
bool dd_entry_possible(const dd_folder *folder);
/* Whether what stops the plan is no more than an empty chart.csv, which the first entry puts right. */
bool dd_entry_usable(const dd_folder *folder);
/* The patients, also where errors keep them from being planned. */
const dd_patient *dd_entry_patients(const dd_folder *folder, size_t *count);
/* Whether an order or line of the patient may stand in a row that could not be read, so that a key is not known to be wrong. */
bool dd_entry_lost(const dd_folder *folder, const dd_patient *patient, dd_table table);

/* Free entries->bytes with dd_bytes_free in any case. */
DD_MUST_USE dd_status dd_entry_begin(dd_entries *entries, dd_folder *folder);
static inline const char **dd_entry_cell(dd_entry *entry, dd_column_id column)
{
    return &entry->cells[column - DD_COL_CHART_ENTRY];
}
/* Adds one entry: its row goes to entries->bytes. DD_BAD_INPUT: entries->faults says what is wrong, and nothing was added. */
DD_MUST_USE dd_status dd_entry_add(dd_entries *entries, dd_entry *entry);

/* Reads chart.csv again, as it is now, and nothing else of the folder: its patients have the events that are in it; those with errors
 * keep them, and new ones are added. No message is kept. DD_CANNOT_READ: it cannot be read, or not its header; then what the folder
 * holds of the chart means nothing. */
DD_MUST_USE dd_status dd_entry_chart_again(dd_folder *folder);

/* The instant that a written time means: a clock, or weekday and clock, is the last one at or before `until`. *clock, where not
 * NULL: it had no date. DD_BAD_INPUT: entries->faults has a message under `name`. */
DD_MUST_USE dd_status dd_entry_time(dd_entries *entries, const char *name, const char *text, dd_moment until, dd_moment *out, bool *clock);
/* A moment as it is written in a cell: with its offset only where the clock occurs twice. */
void dd_entry_moment(const dd_zone *zone, dd_moment t, char out[DD_MOMENT_MAX]);

#endif
