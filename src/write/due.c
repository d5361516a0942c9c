/* due.c - `due` as text: what is wrong first, then everything that needs hands, bed by bed in time order, with the looks at sites gathered
 * into the rounds of each team. */
#include "due.h"

#include "agenda.h"
#include "checked.h"
#include "item.h"
#include "phrase.h"
#include "summary.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DAY_S INT64_C(86400)

dd_status dd_due_list(const dd_view *view, dd_bytes *out)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_sheet sheet;
    dd_agenda a = {.front = {.view = view, .sheet = &sheet, .text = &text, .from = view->from, .bed = dd_item_bed_columns(view), .arena = dd_arena_new()}};
    a.front.long_span = view->to - view->from > DAY_S;
    dd_sheet_start(&sheet, out, view->width, false, 1);
    dd_status status = a.front.arena ? dd_summary_first(&sheet, view, "FIRST", false, a.front.arena) : DD_NO_MEMORY;
    if (status == DD_OK)
        status = dd_agenda_gather(&a);
    if (status == DD_OK) {
        dd_agenda_size(&a);
        dd_agenda_write(&a);
        status = a.front.status == DD_OK ? dd_agenda_after(&a) : a.front.status;
    }
    if (status == DD_OK)
        status = dd_checked_set(&sheet, view, true); /* no list may read as if everything had been looked for */
    if (text.failed && status == DD_OK)
        status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    dd_arena_free(a.front.arena);
    dd_sheet_pour(&sheet);
    dd_status finished = dd_sheet_finish(&sheet);
    return status != DD_OK ? status : finished;
}
