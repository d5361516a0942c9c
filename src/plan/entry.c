#include "entry.h"

#include <stdio.h>
#include <string.h>

#include "cells.h"
#include "desk.h"
#include "file.h"

#define NUMBER_MOST UINT64_C(999999999999)

bool dd_entry_possible(const dd_folder *f)
{
    const dd_sheet *chart = &f->sheets[DD_TABLE_CHART];
    bool absent = !chart->bytes && f->sink.counted[DD_TABLE_CHART] == 0;
    bool empty = chart->bytes && chart->csv == NULL && chart->cells == 0 && strspn(chart->bytes, "\xef\xbb\xbf \t\r\n") == chart->length;
    return f->clock && f->there[DD_TABLE_PATIENTS] && f->there[DD_TABLE_LINES] && f->there[DD_TABLE_ORDERS]
        && (f->there[DD_TABLE_CHART] || absent || empty);
}

bool dd_entry_usable(const dd_folder *f)
{
    const dd_sheet *chart = &f->sheets[DD_TABLE_CHART];
    return !f->stopped || (chart->bytes && !f->there[DD_TABLE_CHART] && dd_sink_errors(&f->sink) == 1 && dd_entry_possible(f));
}

const dd_patient *dd_entry_patients(const dd_folder *f, size_t *count)
{
    *count = f->patients_read;
    return f->patients;
}

bool dd_entry_lost(const dd_folder *f, const dd_patient *p, dd_table table)
{
    return f->beside[p - f->patients].lost[table];
}

/* ---- keys ---- */

/* The number of a key such as e-0007; 0: another kind of key. Capitals do not count: keys that differ only in them clash. */
static uint64_t number_of(const char *key, size_t length)
{
    if (length < 3 || (key[0] != 'e' && key[0] != 'E') || key[1] != '-')
        return 0;
    uint64_t n = 0;
    for (size_t i = 2; i < length; i++) {
        if (key[i] < '0' || key[i] > '9' || n > NUMBER_MOST / 10)
            return 0;
        n = n * 10 + (uint64_t)(key[i] - '0');
    }
    return n;
}

static void used(dd_entries *e, const char *key, size_t length)
{
    uint64_t n = number_of(key, length);
    if (n >= e->number && n < NUMBER_MOST)
        e->number = n + 1;
}

/* Every key that a broken row may hold. */
static void used_in_line(dd_entries *e, const char *raw, size_t length)
{
    for (size_t i = 0; i + 2 < length; i++) {
        size_t n = i + 2;
        while (n < length && raw[n] >= '0' && raw[n] <= '9')
            n++;
        used(e, raw + i, n - i);
    }
}

/* Keys are never used a second time, not even those of rows that cannot be read. */
static dd_status find_number(dd_entries *e, dd_sheet *s)
{
    e->number = 1;
    for (;;) {
        bool more;
        dd_status status = dd_table_step(s, &more);
        if (status != DD_OK || !more)
            return status;
        if (s->row.fault != DD_RECORD_FINE) {
            used_in_line(e, s->row.raw, s->row.raw_length);
            continue;
        }
        const char *key = dd_cells_peek(s, DD_COL_CHART_ENTRY), *strikes = dd_cells_peek(s, DD_COL_CHART_STRIKES);
        if (key)
            used(e, key, strlen(key));
        if (strikes)
            used(e, strikes, strlen(strikes));
    }
}

/* ---- the file as it is ---- */

/* A chart that is not there yet, or empty, begins with every column in the order in which they are published. */
static dd_status begin_fresh(dd_entries *e)
{
    static const char *names[DD_ENTRY_CELLS];
    for (size_t i = 0; i < DD_ENTRY_CELLS; i++) {
        names[i] = dd_column_list[DD_COL_CHART_ENTRY + i].name;
        e->where[i] = (int16_t)i;
    }
    e->fresh = true;
    e->number = 1;
    e->dialect = (dd_dialect){.cells = DD_ENTRY_CELLS, .separator = ','};
    dd_dialect_row(&e->dialect, names, &e->bytes);
    if (e->bytes.failed)
        return DD_NO_MEMORY;
    e->header = dd_arena_text(e->folder->arena, e->bytes.data, e->bytes.length);
    e->header_length = e->bytes.length;
    return e->header ? DD_OK : DD_NO_MEMORY;
}

dd_status dd_entry_begin(dd_entries *e, dd_folder *f)
{
    *e = (dd_entries){.folder = f, .faults = DD_SINK(f->arena), .bytes = DD_BYTES(DD_ENTRY_BYTES_MOST)};
    if (!f->there[DD_TABLE_CHART])
        return begin_fresh(e);
    const dd_sheet *read = &f->sheets[DD_TABLE_CHART];
    dd_sheet s;
    dd_sink unheard = DD_SINK(f->arena);
    dd_status status = dd_table_begin(&s, f->arena, &unheard, DD_TABLE_CHART, read->bytes, read->length);
    if (status == DD_OK) {
        e->dialect = dd_dialect_of(&s);
        memcpy(e->where, s.where, sizeof e->where);
        e->header = read->bytes;
        e->header_length = s.row.offset + s.row.raw_length;
        status = find_number(e, &s);
    }
    dd_table_end(&s);
    if (status == DD_OK && dd_dialect_close(&e->dialect, read->bytes, read->length, &e->bytes)) {
        e->cut_line = 1;
        for (size_t i = 0; i < read->length; i++)
            e->cut_line += read->bytes[i] == '\n';
    }
    return e->bytes.failed ? DD_NO_MEMORY : status;
}

/* ---- the file as it has become ---- */

/* As if no row of the chart had been read; but whose rows had errors stays stopped. */
static void forget_chart(dd_folder *f)
{
    f->place_count[DD_TABLE_CHART] = 0;
    for (size_t i = 0; i < f->plan.patient_count; i++) {
        dd_patient_desk *desk = &f->beside[i];
        f->patients[i].event_count = 0;
        desk->lost[DD_TABLE_CHART] = false;
        desk->first_row[DD_TABLE_CHART] = desk->last_row[DD_TABLE_CHART] = DD_DESK_NONE;
    }
}

dd_status dd_entry_chart_again(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_CHART];
    dd_sink *unheard = dd_arena_take(f->arena, sizeof *unheard);
    char *bytes, *path = dd_file_join(f->arena, f->plan.folder, "chart.csv");
    size_t length;
    if (!unheard || !path)
        return DD_NO_MEMORY;
    *unheard = DD_SINK(f->arena);
    dd_file_end end = dd_file_read(path, DD_FILE_CEILING, f->arena, &bytes, &length);
    if (end != DD_FILE_READ)
        return end == DD_FILE_NO_MEMORY ? DD_NO_MEMORY : DD_CANNOT_READ;
    dd_table_end(s);
    dd_status status = dd_table_begin(s, f->arena, unheard, DD_TABLE_CHART, bytes, length);
    if (status == DD_OK) {
        f->there[DD_TABLE_CHART] = true;
        forget_chart(f);
        dd_chart_read(f);
    }
    dd_table_end(s);
    if (f->no_memory || unheard->failed)
        return DD_NO_MEMORY;
    return status == DD_BAD_INPUT ? DD_CANNOT_READ : status;
}

/* ---- times ---- */

void dd_entry_moment(const dd_zone *zone, dd_moment t, char out[DD_MOMENT_MAX])
{
    dd_clock_kind kind;
    dd_civil local = dd_moment_local(zone, t);
    (void)dd_moment_resolve(zone, local, &kind);
    size_t length = dd_moment_write(out, zone, t, kind == DD_CLOCK_TWICE ? DD_MOMENT_PROGRAM : DD_MOMENT_LOCAL);
    if (kind != DD_CLOCK_TWICE && local.second == 0 && length > 3)
        out[length - 3] = '\0';
}

/* A sheet without bytes: for messages about a time that stands in no table. */
static void no_sheet(dd_sheet *s, dd_entries *e)
{
    *s = (dd_sheet){.arena = e->folder->arena, .sink = &e->faults, .file = "chart.csv", .shape = dd_column_table(DD_TABLE_CHART),
                    .table = DD_TABLE_CHART};
    memset(s->where, 0xff, sizeof s->where);
}

static void time_fault(dd_entries *e, const char *name, dd_message_id id, const char *text, const char *first, const char *second)
{
    dd_sheet s;
    no_sheet(&s, e);
    dd_table_fault(&s, DD_COL_CHART_TIME, id, text, first, second);
    if (!e->faults.failed)
        e->faults.kept[e->faults.count - 1].name = name;
}

/* Both instants of a clock that came twice before `until`: the later one, or DD_NEVER. */
static dd_moment second_of_two(const dd_zone *zone, dd_moment t, dd_moment until)
{
    dd_clock_kind kind;
    (void)dd_moment_resolve(zone, dd_moment_local(zone, t), &kind);
    if (kind != DD_CLOCK_TWICE)
        return DD_NEVER;
    dd_moment second = t + dd_moment_offset(zone, t) - dd_moment_offset(zone, t + 86400);
    return second > t && second <= until ? second : DD_NEVER;
}

/* A clock that lies in the hour that is skipped or comes twice could be an hour wrong in the record, so it is asked for. */
static dd_status clock_until(dd_entries *e, const char *name, const char *text, const dd_time_text *time, dd_moment until, dd_moment *out)
{
    const dd_zone *zone = e->folder->clock;
    char first[DD_MOMENT_MAX], second[DD_MOMENT_MAX], both[2 * DD_MOMENT_MAX + 8];
    *out = dd_desk_clock_until(zone, until, time);
    dd_civil local = dd_moment_local(zone, *out);
    dd_moment_write(first, zone, *out, DD_MOMENT_PROGRAM);
    if (local.hour != time->civil.hour || local.minute != time->civil.minute || local.second != time->civil.second) {
        time_fault(e, name, DD_MSG_TIME_SKIPPED, text, zone->name, first);
        return DD_BAD_INPUT;
    }
    dd_moment later = second_of_two(zone, *out, until);
    if (later == DD_NEVER)
        return DD_OK;
    dd_moment_write(second, zone, later, DD_MOMENT_PROGRAM);
    snprintf(both, sizeof both, "%s or %s", first, second);
    time_fault(e, name, DD_MSG_TIME_TWICE, text, zone->name, both);
    return DD_BAD_INPUT;
}

dd_status dd_entry_time(dd_entries *e, const char *name, const char *text, dd_moment until, dd_moment *out, bool *clock)
{
    static const char expected[] = "a clock such as 19:05, a weekday and clock such as \"Wed 19:05\", or \"2026-11-25 19:05\"";
    static const dd_message_id ids[] = {
        [DD_TF_FORM] = DD_MSG_TIME_FORM, [DD_TF_DATE_FORM] = DD_MSG_DATE_FORM, [DD_TF_NO_DATE] = DD_MSG_DATE_NONE,
        [DD_TF_NO_CLOCK] = DD_MSG_CLOCK_NONE,
    };
    dd_time_text time;
    text += strspn(text, " \t");
    size_t length = strlen(text);
    while (length && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    dd_time_fault fault = dd_moment_read(text, length, &time);
    if (fault == DD_TF_NONE && !time.has_date && time.has_offset)
        fault = DD_TF_FORM;
    if (fault != DD_TF_NONE || !time.has_clock) {
        time_fault(e, name, fault == DD_TF_NONE ? DD_MSG_TIME_CLOCK_NEEDED : ids[fault], text, expected, NULL);
        return DD_BAD_INPUT;
    }
    if (clock)
        *clock = !time.has_date;
    if (!time.has_date)
        return clock_until(e, name, text, &time, until, out);
    dd_sheet s;
    no_sheet(&s, e);
    if (dd_cells_instant(&s, DD_COL_CHART_TIME, text, e->folder->clock, &time, out))
        return DD_OK;
    if (!e->faults.failed)
        e->faults.kept[e->faults.count - 1].name = name;
    return DD_BAD_INPUT;
}

/* ---- one entry ---- */

/* What struck names: an entry of this patient that is not struck and strikes nothing. */
static void bind_strike(dd_entries *e, dd_sheet *s, const dd_entry *entry)
{
    const dd_patient *p = entry->patient;
    const char *key = dd_cells_peek(s, DD_COL_CHART_STRIKES);
    uint32_t found = p->event_count;
    if (entry->event.kind != DD_EVENT_STRUCK || !key)
        return;
    for (uint32_t i = 0; i < p->event_count; i++)
        if (strcmp(p->events[i].entry, key) == 0)
            found = i;
    if (found == p->event_count) {
        if (!dd_entry_lost(e->folder, p, DD_TABLE_CHART))
            dd_table_fault(s, DD_COL_CHART_STRIKES, DD_MSG_STRIKES_UNKNOWN, key, NULL, NULL);
        return;
    }
    bool struck = p->events[found].kind == DD_EVENT_STRUCK;
    for (uint32_t i = 0; i < p->event_count; i++)
        struck = struck || (p->events[i].kind == DD_EVENT_STRUCK && p->events[i].strikes == (int32_t)found);
    for (size_t i = 0; i < e->struck_count; i++)
        struck = struck || strcmp(e->struck[i], p->events[found].entry) == 0;
    if (struck) {
        dd_table_fault(s, DD_COL_CHART_STRIKES, DD_MSG_STRIKES_STRUCK, key, NULL, NULL);
        return;
    }
    if (!dd_arena_room(e->folder->arena, &e->struck, &e->struck_room, e->struck_count, sizeof *e->struck))
        e->folder->no_memory = true;
    else
        e->struck[e->struck_count++] = p->events[found].entry;
}

/* Reads the row back behind the header of the file, as it will be read from now on. */
static dd_status read_back(dd_entries *e, dd_entry *entry, const char *row, size_t length)
{
    dd_folder *f = e->folder;
    dd_sheet s;
    bool more = false;
    size_t size = e->header_length + 1 + length;
    char *bytes = dd_arena_take(f->arena, size + 1);
    if (!bytes)
        return DD_NO_MEMORY;
    memcpy(bytes, e->header, e->header_length);
    bytes[e->header_length] = '\n';
    memcpy(bytes + e->header_length + 1, row, length);
    dd_status status = dd_table_begin(&s, f->arena, &e->faults, DD_TABLE_CHART, bytes, size);
    if (status == DD_OK)
        status = dd_table_next(&s, &more);
    if (status == DD_OK && more && !s.broken) {
        uint32_t patient = dd_desk_patient(f, &s, DD_COL_CHART_PATIENT);
        if (patient != DD_DESK_NONE && dd_chart_event(f, &s, patient, &entry->event))
            bind_strike(e, &s, entry);
    }
    dd_table_end(&s);
    if (f->no_memory || e->faults.failed)
        return DD_NO_MEMORY;
    return status != DD_OK ? status : e->faults.count ? DD_BAD_INPUT : DD_OK;
}

/* A cell that the file has no column for. What was written down at once needs no `entered`: that is its time where blank. */
static bool fits(dd_entries *e, const dd_entry *entry)
{
    bool good = true;
    for (size_t i = 0; i < DD_ENTRY_CELLS; i++) {
        if (!entry->cells[i] || !*entry->cells[i] || e->where[i] >= 0)
            continue;
        if (DD_COL_CHART_ENTRY + i == DD_COL_CHART_ENTERED && entry->entered == entry->time)
            continue;
        const char *name = dd_column_list[DD_COL_CHART_ENTRY + i].name;
        time_fault(e, name, DD_MSG_COLUMN_MISSING, NULL, name, NULL);
        e->column_missing = true;
        good = false;
    }
    return good;
}

dd_status dd_entry_add(dd_entries *e, dd_entry *entry)
{
    dd_folder *f = e->folder;
    char *key = entry->texts[0], *time = entry->texts[1], *entered = entry->texts[2];
    const char **cells = dd_arena_take_many(f->arena, e->dialect.cells + 1, sizeof *cells);
    if (!cells)
        return DD_NO_MEMORY;
    snprintf(key, sizeof entry->texts[0], "e-%04llu", (unsigned long long)e->number);
    dd_entry_moment(f->clock, entry->time, time);
    dd_entry_moment(f->clock, entry->entered, entered);
    *dd_entry_cell(entry, DD_COL_CHART_ENTRY) = key;
    *dd_entry_cell(entry, DD_COL_CHART_PATIENT) = entry->patient->key;
    *dd_entry_cell(entry, DD_COL_CHART_TIME) = time;
    *dd_entry_cell(entry, DD_COL_CHART_ENTERED) = entered;
    if (!fits(e, entry))
        return DD_BAD_INPUT;
    for (size_t i = 0; i < DD_ENTRY_CELLS; i++)
        if (e->where[i] >= 0)
            cells[e->where[i]] = entry->cells[i];
    size_t before = e->bytes.length;
    dd_dialect_row(&e->dialect, cells, &e->bytes);
    if (e->bytes.failed)
        return DD_NO_MEMORY;
    dd_status status = read_back(e, entry, e->bytes.data + before, e->bytes.length - before);
    if (status != DD_OK) {
        e->bytes.length = before;
        e->bytes.data[before] = '\0';
        return status;
    }
    e->number++;
    return DD_OK;
}
