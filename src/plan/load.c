#include "load.h"

#include "show.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "allergy.h"
#include "desk.h"
#include "file.h"
#include "nearest.h"
#include "show.h"

/* An error in one of these stops everything; in the others only whom the row is about. */
static bool stops_all(int table)
{
    return table == DD_TABLE_WARD || table == DD_TABLE_FLUIDS || table == DD_TABLE_RULES || table == DD_TABLE_APART;
}

/* Any other .csv in the folder: a misspelled table must not be passed over. */
static void look_for_strangers(dd_folder *f, const char **names, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        size_t length = strlen(names[i]);
        if (length < 4 || strcmp(names[i] + length - 4, ".csv") != 0 || names[i][0] == '.' || strncmp(names[i], "x_", 2) == 0)
            continue;
        dd_nearest nearest = dd_nearest_begin(names[i], length - 4);
        nearest.distance = (int)(length > 4 ? length : 4); /* the nearest one, however far */
        int table = DD_TABLE_WARD;
        bool known = false;
        for (int t = 0; t < DD_TABLE_COUNT; t++) {
            const char *name = dd_column_table((dd_table)t)->name, *best = nearest.best;
            known = known || (strlen(name) == length - 4 && memcmp(name, names[i], length - 4) == 0);
            dd_nearest_offer(&nearest, name, strlen(name));
            if (nearest.best != best)
                table = t;
        }
        if (known)
            continue;
        char expected[40];
        snprintf(expected, sizeof expected, "%s.csv", dd_column_table((dd_table)table)->name);
        char name[80];
        snprintf(name, sizeof name, "%.*s", (int)(length - 4 < 70 ? length - 4 : 70), names[i]);
        dd_table_fault_file(&f->sink, (dd_table)table, names[i], name, DD_MSG_TABLE_UNKNOWN, NULL, expected, NULL);
        f->stopped = true;
    }
}

static bool listed(const char **names, size_t count, const char *name)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(names[i], name) == 0)
            return true;
    return false;
}

/* Opens one table and reads its header. */
static void open_table(dd_folder *f, const char *path, const char **names, size_t count, int table)
{
    const dd_table_shape *shape = dd_column_table((dd_table)table);
    char file[40], *bytes = NULL;
    size_t length = 0;
    snprintf(file, sizeof file, "%s.csv", shape->name);
    char *whole = dd_file_join(f->arena, path, file);
    if (!whole) {
        f->no_memory = true;
        return;
    }
    dd_file_end end = listed(names, count, file) ? dd_file_read(whole, DD_FILE_CEILING, f->arena, &bytes, &length) : DD_FILE_ABSENT;
    if (end == DD_FILE_ABSENT && listed(names, count, file))
        end = DD_FILE_REFUSED; /* a link that leads nowhere */
    switch (end) {
    case DD_FILE_READ: break;
    case DD_FILE_ABSENT:
        if (shape->required) {
            dd_table_fault_file(&f->sink, (dd_table)table, file, shape->name, DD_MSG_TABLE_MISSING, NULL, file, NULL);
            f->stopped = true;
        }
        return;
    case DD_FILE_REFUSED:
        dd_table_fault_file(&f->sink, (dd_table)table, file, shape->name, DD_MSG_TABLE_UNREADABLE, NULL, strerror(errno), NULL);
        f->stopped = f->unreadable = true;
        return;
    case DD_FILE_TOO_LARGE:
        dd_table_fault_file(&f->sink, (dd_table)table, file, shape->name, DD_MSG_TABLE_LARGE, NULL, "512 MiB", NULL);
        f->stopped = true;
        return;
    case DD_FILE_NO_MEMORY: f->no_memory = true; return;
    }
    f->tables++;
    dd_status status = dd_table_begin(&f->sheets[table], f->arena, &f->sink, (dd_table)table, bytes, length);
    if (status == DD_NO_MEMORY)
        f->no_memory = true;
    else if (status == DD_OK)
        f->there[table] = true;
    else
        f->stopped = true;
}

static void read_tables(dd_folder *f)
{
    dd_ward_read(f);
    dd_catalogue_read(f);
    dd_rules_read(f);
    dd_apart_read(f);
    if (!f->no_memory)
        dd_patients_read(f);
    if (!f->no_memory)
        dd_lines_read(f);
    if (!f->no_memory)
        dd_orders_read(f);
    if (!f->no_memory)
        dd_gate_orders(f);
    if (!f->no_memory)
        dd_allergy_bind(f);
    if (!f->no_memory)
        dd_pauses_read(f);
    if (!f->no_memory)
        dd_bags_read(f);
    if (!f->no_memory)
        dd_accepted_read(f);
    if (!f->no_memory)
        dd_chart_read(f);
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        if (stops_all(t) && f->sink.counted[t])
            f->stopped = true;
}

dd_folder *dd_folder_new(void)
{
    dd_arena *arena = dd_arena_new();
    dd_folder *f = arena ? dd_arena_take(arena, sizeof *f) : NULL;
    if (!f) {
        dd_arena_free(arena);
        return NULL;
    }
    f->arena = arena;
    f->sink = DD_SINK(arena);
    return f;
}

dd_status dd_folder_built_in(dd_folder **out)
{
    dd_folder *f = *out = dd_folder_new();
    if (f)
        dd_catalogue_read(f);
    if (f && !f->no_memory)
        return DD_OK;
    dd_folder_free(f);
    *out = NULL;
    return DD_NO_MEMORY;
}

dd_status dd_folder_read(const char *path, dd_folder **out)
{
    dd_folder *f = dd_folder_new();
    *out = NULL;
    if (!f)
        return DD_NO_MEMORY;
    dd_arena *arena = f->arena;
    f->plan.folder = dd_arena_text(arena, path, strlen(path));
    const char **names = NULL;
    size_t count = 0;
    dd_status status = f->plan.folder ? dd_file_list(path, arena, &names, &count) : DD_NO_MEMORY;
    if (status == DD_CANNOT_READ) {
        dd_table_fault_file(&f->sink, DD_TABLE_WARD, path, "folder", DD_MSG_TABLE_UNREADABLE, NULL, strerror(errno), NULL);
        f->stopped = f->unreadable = true;
    } else if (status == DD_OK) {
        look_for_strangers(f, names, count);
        for (int t = 0; t < DD_TABLE_COUNT && !f->no_memory; t++)
            open_table(f, path, names, count, t);
        if (!f->no_memory)
            read_tables(f);
    }
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        dd_table_end(&f->sheets[t]);
    if (status == DD_NO_MEMORY || f->no_memory || f->sink.failed) {
        dd_folder_free(f);
        return DD_NO_MEMORY;
    }
    dd_sink_sort(&f->sink);
    f->patients_read = f->plan.patient_count;
    if (f->stopped)
        f->plan.patient_count = 0; /* nothing of it is to be planned */
    *out = f;
    if (f->unreadable)
        return DD_CANNOT_READ;
    return dd_sink_errors(&f->sink) ? DD_BAD_INPUT : DD_OK;
}

void dd_folder_free(dd_folder *f)
{
    if (!f)
        return;
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        dd_table_end(&f->sheets[t]);
    dd_arena_free(f->arena);
}

const dd_plan *dd_folder_plan(const dd_folder *f)
{
    return &f->plan;
}

bool dd_folder_usable(const dd_folder *f)
{
    return !f->stopped;
}

bool dd_folder_unreadable(const dd_folder *f)
{
    return f->unreadable;
}

size_t dd_folder_errors(const dd_folder *f)
{
    return dd_sink_errors(&f->sink);
}

void dd_folder_show(const dd_folder *f, dd_bytes *out)
{
    dd_verdict v = {.tables = f->tables, .errors = dd_sink_errors(&f->sink), .patients = f->patients_read, .nothing_planned = f->stopped};
    if (v.errors == 0)
        return;
    for (int t = 0; t < DD_TABLE_COUNT; t++)
        v.rows += f->sheets[t].rows;
    for (size_t i = 0; i < f->patients_read; i++)
        v.stopped += f->patients[i].errors > 0;
    dd_show_all(&f->sink, out);
    dd_show_verdict(&v, out);
}
