/* canon.c - the text that page codes are made from. */
#include <string.h>

#include "desk.h"

/* One row: columns in the order in which the tool publishes them, trimmed cells. The unit separator cannot stand in a cell. */
static void add_row(const dd_sheet *s, dd_bytes *out)
{
    dd_bytes_text(out, s->shape->name);
    for (size_t i = 0; i < s->shape->count; i++) {
        dd_bytes_char(out, '\x1f');
        const char *text = dd_cells_peek(s, (dd_column_id)(s->shape->first + i));
        if (text)
            dd_bytes_text(out, text);
    }
    dd_bytes_char(out, '\n');
}

static void whole_table(const dd_folder *f, int table, dd_bytes *out)
{
    if (!f->there[table])
        return;
    dd_sheet sheet = f->sheets[table]; /* a copy: the folder is read-only now */
    sheet.csv = NULL;
    if (dd_table_again(&sheet, 0, 1) != DD_OK) /* the header */
        out->failed = true;
    for (bool more = true; more && !out->failed;) {
        dd_status status = dd_table_step(&sheet, &more);
        if (status != DD_OK)
            out->failed = true;
        else if (more)
            add_row(&sheet, out);
    }
    dd_table_end(&sheet);
}

void dd_folder_canonical(const dd_folder *f, int patient, dd_bytes *out)
{
    if (patient < 0) {
        static const int tables[] = {DD_TABLE_WARD, DD_TABLE_RULES, DD_TABLE_FLUIDS, DD_TABLE_APART};
        for (size_t i = 0; i < sizeof tables / sizeof *tables; i++)
            whole_table(f, tables[i], out);
        return;
    }
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        dd_canon_rows(f, patient, (dd_table)t, NULL, NULL, out);
}

void dd_canon_rows(const dd_folder *f, int patient, dd_table table, dd_canon_counts *counts, const void *data, dd_bytes *out)
{
    if (!f->there[table] || (size_t)patient >= f->patients_read)
        return;
    const dd_row_place *places = f->places[table];
    dd_sheet sheet = f->sheets[table];
    sheet.csv = NULL;
    for (uint32_t n = f->beside[patient].first_row[table]; n != DD_DESK_NONE && !out->failed; n = places[n].next) {
        if (counts && !counts(data, places[n].line))
            continue;
        if (dd_table_again(&sheet, places[n].offset, places[n].line) != DD_OK)
            out->failed = true;
        else
            add_row(&sheet, out);
    }
    dd_table_end(&sheet);
}
