#include "recorded.h"

#include <errno.h>
#include <string.h>

#include "desk.h"
#include "file.h"
#include "show.h"

#define AT(column) ((size_t)(column) - DD_FIRST_ORDERS)
#define BIT(column) (UINT64_C(1) << AT(column))

bool dd_recorded_has(const dd_folder *f, dd_column_id column)
{
    return f->sheets[DD_TABLE_ORDERS].where[AT(column)] >= 0;
}

/* The orders of a folder, to be read once more with memory of another arena: the folder is read-only now. */
static dd_sheet open_again(const dd_folder *f, dd_arena *arena)
{
    dd_sheet s = f->sheets[DD_TABLE_ORDERS];
    s.csv = NULL;
    s.line_at = NULL;
    s.arena = arena;
    return s;
}

/* ---- cells of columns that the record does not have ---- */

/* Any two of rate, volume and time give the third. What the row of the record says goes first; of the others one is needed where it
 * says one, and one that is written in the plan goes before one that is not. The bits of those that are not needed. */
static uint64_t spare_of_three(const dd_sheet *row, const dd_sheet *ordered)
{
    static const dd_column_id three[] = {DD_COL_ORDERS_RATE, DD_COL_ORDERS_VOLUME, DD_COL_ORDERS_OVER};
    int written = 0, needed = -1;
    uint64_t all = 0;
    for (int i = 0; i < 3; i++) {
        all |= BIT(three[i]);
        if (dd_cells_peek(row, three[i]))
            written++;
        else if (needed < 0 && dd_cells_peek(ordered, three[i]) && row->where[AT(three[i])] < 0)
            needed = i;
    }
    if (written == 0)
        return 0;
    return written == 1 && needed >= 0 ? all & ~BIT(three[needed]) : all;
}

const dd_order *dd_recorded_begin(dd_folder *f, dd_sheet *s, uint32_t patient)
{
    const dd_patient *p = &f->ordered->patients[patient];
    const char *key = dd_cells_peek(s, DD_COL_ORDERS_ORDER);
    const dd_keys_slot *slot = key ? dd_keys_find(&f->ordered->order_keys, patient, key, strlen(key)) : NULL;
    s->other = NULL;
    f->counterpart = NULL;
    if (!slot || p->errors)
        return NULL;
    const dd_order *o = &p->orders[slot->value];
    if (dd_table_again_at(&f->orders_sheet, o->line_of_file) != DD_OK) {
        f->no_memory = true;
        return NULL;
    }
    s->taken = ~spare_of_three(s, &f->orders_sheet);
    if (dd_cells_peek(s, DD_COL_ORDERS_TIMES) || dd_cells_peek(s, DD_COL_ORDERS_EVERY))
        s->taken &= ~(BIT(DD_COL_ORDERS_TIMES) | BIT(DD_COL_ORDERS_EVERY));
    s->other = &f->orders_sheet;
    return f->counterpart = o;
}

/* ---- reading ---- */

/* The tables of the plan once more, from the bytes that were read: what is wrong with them has been said. */
static void read_plan(dd_folder *f)
{
    static const dd_table needed[] = {DD_TABLE_WARD, DD_TABLE_RULES, DD_TABLE_FLUIDS, DD_TABLE_PATIENTS, DD_TABLE_LINES};
    for (size_t i = 0; i < sizeof needed / sizeof *needed && !f->no_memory; i++) {
        const dd_sheet *s = &f->ordered->sheets[needed[i]];
        if (!f->ordered->there[needed[i]])
            continue;
        dd_status status = dd_table_begin(&f->sheets[needed[i]], f->arena, &f->sink, needed[i], s->bytes, s->length);
        f->there[needed[i]] = status == DD_OK;
        f->no_memory = f->no_memory || status == DD_NO_MEMORY;
    }
    /* Its zone was read from a file: the record must have the same. */
    const dd_plan *p = &f->ordered->plan;
    f->zone = f->ordered->zone;
    f->clock = &f->zone;
    f->plan = (dd_plan){.ward = p->ward, .id = p->id, .folder = f->plan.folder, .zone = &f->zone, .begins = p->begins, .end = p->end, .demo = p->demo,
                        .shifts = p->shifts, .shift_count = p->shift_count};
    if (!f->no_memory)
        dd_catalogue_read(f);
    if (!f->no_memory)
        dd_rules_read(f);
    if (!f->no_memory)
        dd_patients_read(f);
    if (!f->no_memory)
        dd_lines_read(f);
    f->no_memory = f->no_memory || f->sink.failed;
    f->sink = DD_SINK(f->arena);
}

static void open_record(dd_folder *f, const char *path)
{
    bool input = strcmp(path, "-") == 0;
    const char *name = input ? "standard input" : path;
    char *bytes = NULL;
    size_t length = 0;
    switch (dd_file_read(path, DD_FILE_CEILING, f->arena, &bytes, &length)) {
    case DD_FILE_READ: break;
    case DD_FILE_ABSENT: errno = ENOENT; /* fall through */
    case DD_FILE_REFUSED:
        dd_table_fault_file(&f->sink, DD_TABLE_ORDERS, name, "orders", DD_MSG_TABLE_UNREADABLE, NULL, strerror(errno), NULL);
        f->stopped = f->unreadable = true;
        return;
    case DD_FILE_TOO_LARGE:
        dd_table_fault_file(&f->sink, DD_TABLE_ORDERS, name, "orders", DD_MSG_TABLE_LARGE, NULL, "512 MiB", NULL);
        f->stopped = true;
        return;
    case DD_FILE_NO_MEMORY: f->no_memory = true; return;
    }
    f->tables = 1;
    dd_status status = dd_table_begin_as(&f->sheets[DD_TABLE_ORDERS], f->arena, &f->sink, DD_TABLE_ORDERS, name, bytes, length);
    f->there[DD_TABLE_ORDERS] = status == DD_OK;
    f->no_memory = f->no_memory || status == DD_NO_MEMORY;
    f->stopped = f->stopped || status == DD_BAD_INPUT;
}

dd_status dd_recorded_read(const dd_folder *plan, const char *path, dd_folder **out)
{
    dd_folder *f = dd_folder_new();
    *out = NULL;
    if (!f)
        return DD_NO_MEMORY;
    f->ordered = plan;
    f->plan.folder = dd_arena_text(f->arena, path, strlen(path));
    f->orders_sheet = open_again(plan, f->arena);
    read_plan(f);
    if (!f->no_memory)
        open_record(f, path);
    if (!f->no_memory)
        dd_orders_read(f);
    dd_table_end(&f->orders_sheet);
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        dd_table_end(&f->sheets[t]);
    if (f->no_memory || f->sink.failed || !f->plan.folder) {
        dd_folder_free(f);
        return DD_NO_MEMORY;
    }
    dd_sink_sort(&f->sink);
    f->patients_read = f->plan.patient_count;
    *out = f;
    return f->unreadable ? DD_CANNOT_READ : dd_sink_errors(&f->sink) ? DD_BAD_INPUT : DD_OK;
}

const char *dd_recorded_name(const dd_folder *f)
{
    return strcmp(f->plan.folder, "-") == 0 ? "standard input" : f->plan.folder;
}

void dd_recorded_show(const dd_folder *f, dd_bytes *out)
{
    size_t errors = dd_sink_errors(&f->sink), rows = f->sheets[DD_TABLE_ORDERS].rows;
    if (errors == 0)
        return;
    dd_show_all(&f->sink, out);
    dd_show_safe(dd_recorded_name(f), strlen(dd_recorded_name(f)), 0, out);
    dd_bytes_form(out, ": %lu row%s: %lu error%s%s\n", (unsigned long)rows, rows == 1 ? "" : "s", (unsigned long)errors, errors == 1 ? "" : "s",
                  f->stopped ? "; nothing is compared" : "");
}

/* ---- what is written ---- */

struct dd_recorded_rows {
    const dd_folder *folder;
    dd_sheet sheet;
};

dd_recorded_rows *dd_recorded_open(const dd_folder *f, dd_arena *arena)
{
    dd_recorded_rows *rows = dd_arena_take(arena, sizeof *rows);
    if (rows)
        *rows = (dd_recorded_rows){f, open_again(f, arena)};
    return rows;
}

void dd_recorded_close(dd_recorded_rows *rows)
{
    if (rows)
        dd_table_end(&rows->sheet);
}

dd_status dd_recorded_cells(dd_recorded_rows *rows, const dd_order *o, dd_written *out)
{
    dd_sheet *s = &rows->sheet;
    const dd_order_desk *desk = &rows->folder->order_desk[o - rows->folder->orders];
    *out = (dd_written){.after = desk->after, .replaces = desk->replaces};
    dd_status status = dd_table_again_at(s, o->line_of_file);
    for (size_t i = 0; i < s->shape->count && status == DD_OK; i++) {
        const char *text = dd_cells_peek(s, (dd_column_id)(s->shape->first + i));
        if (text && !(out->cell[i] = dd_arena_text(s->arena, text, strlen(text))))
            status = DD_NO_MEMORY;
    }
    return status;
}
