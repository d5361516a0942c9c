#include "desk.h"

#include <stdio.h>
#include <string.h>

#include "nearest.h"

bool dd_desk_next(dd_folder *f, dd_sheet *sheet)
{
    bool more = false;
    if (f->no_memory || !f->there[sheet->table])
        return false;
    if (dd_table_next(sheet, &more) != DD_OK)
        f->no_memory = true;
    return more && !f->no_memory;
}

uint32_t dd_desk_patient(dd_folder *f, dd_sheet *sheet, dd_column_id column)
{
    const char *key;
    size_t length;
    if (sheet->broken) {
        key = dd_cells_peek(sheet, column);
        const dd_keys_slot *slot = key ? dd_keys_find(&f->patient_keys, 0, key, strlen(key)) : NULL;
        return slot ? slot->value : DD_DESK_NONE;
    }
    if (!dd_cells_key(sheet, column, &key, &length))
        return DD_DESK_NONE;
    if (f->last_patient < f->plan.patient_count && strcmp(f->patients[f->last_patient].key, key) == 0)
        return f->last_patient; /* rows of one patient mostly stand together */
    const dd_keys_slot *slot = dd_keys_find(&f->patient_keys, 0, key, length);
    if (slot)
        return f->last_patient = slot->value;
    if (f->patient_lost || !f->there[DD_TABLE_PATIENTS])
        return DD_DESK_NONE; /* it may be the one that could not be read */
    dd_nearest nearest = dd_nearest_begin(key, length);
    char hint[DD_KEY_MOST + 40];
    for (size_t i = 0; i < f->plan.patient_count && i < 2000; i++)
        dd_nearest_offer(&nearest, f->patients[i].key, strlen(f->patients[i].key));
    snprintf(hint, sizeof hint, "%.60s", nearest.best ? nearest.best : "a patient of patients.csv");
    dd_table_fault(sheet, column, DD_MSG_PATIENT_UNKNOWN, key, hint, NULL);
    return DD_DESK_NONE;
}

void dd_desk_row_done(dd_folder *f, dd_sheet *sheet, uint32_t patient)
{
    if (patient == DD_DESK_NONE)
        return;
    f->patients[patient].errors += sheet->row_errors;
    uint8_t t = sheet->table;
    dd_row_place **places = &f->places[t];
    if (!f->place_room[t]) {
        size_t rows = dd_desk_rows_most(sheet);
        *places = dd_arena_space(f->arena, rows * sizeof **places);
        f->place_room[t] = *places ? rows : 0;
    }
    if (!dd_arena_room(f->arena, places, &f->place_room[t], f->place_count[t], sizeof **places)) {
        f->no_memory = true;
        return;
    }
    uint32_t n = (uint32_t)f->place_count[t]++;
    (*places)[n] = (dd_row_place){sheet->row.offset, sheet->row.line, DD_DESK_NONE};
    dd_patient_desk *desk = &f->beside[patient];
    if (desk->last_row[t] == DD_DESK_NONE)
        desk->first_row[t] = n;
    else
        (*places)[desk->last_row[t]].next = n;
    desk->last_row[t] = n;
}

bool dd_desk_line(dd_folder *f, dd_sheet *sheet, dd_column_id column, uint32_t patient, int16_t *out)
{
    const char *key;
    size_t length;
    *out = -1;
    if (!dd_cells_key(sheet, column, &key, &length))
        return false;
    if (!key || patient == DD_DESK_NONE)
        return true;
    const dd_keys_slot *slot = dd_keys_find(&f->line_keys, patient, key, length);
    if (slot) {
        *out = (int16_t)slot->value;
        return true;
    }
    const dd_patient *p = &f->patients[patient];
    if (f->beside[patient].lost[DD_TABLE_LINES] || !f->there[DD_TABLE_LINES]) {
        sheet->row_errors += sheet->row_errors == 0 && p->errors == 0; /* stopped already, or everything is */
        return false;
    }
    dd_nearest nearest = dd_nearest_begin(key, length);
    for (size_t i = 0; i < p->line_count; i++)
        dd_nearest_offer(&nearest, p->lines[i].key, strlen(p->lines[i].key));
    dd_table_fault(sheet, column, DD_MSG_LINE_UNKNOWN, key, nearest.best ? nearest.best : "a line of lines.csv", NULL);
    return false;
}

bool dd_desk_order(dd_folder *f, dd_sheet *sheet, dd_column_id column, uint32_t patient, int16_t *out)
{
    const char *key;
    size_t length;
    *out = -1;
    if (!dd_cells_key(sheet, column, &key, &length))
        return false;
    if (!key || patient == DD_DESK_NONE)
        return true;
    const dd_keys_slot *slot = dd_keys_find(&f->order_keys, patient, key, length);
    if (slot) {
        *out = (int16_t)slot->value;
        return true;
    }
    const dd_patient *p = &f->patients[patient];
    if (f->beside[patient].lost[DD_TABLE_ORDERS] || !f->there[DD_TABLE_ORDERS])
        return false;
    dd_nearest nearest = dd_nearest_begin(key, length);
    for (size_t i = 0; i < p->order_count && i < 200; i++)
        dd_nearest_offer(&nearest, p->orders[i].key, strlen(p->orders[i].key));
    dd_table_fault(sheet, column, DD_MSG_ORDER_UNKNOWN, key, nearest.best ? nearest.best : "an order of orders.csv", NULL);
    return false;
}

bool dd_desk_add_key(dd_folder *f, dd_sheet *sheet, dd_column_id column, dd_keys *keys, uint32_t owner, const char *key, uint32_t value,
                     dd_desk_line_of *line_of)
{
    if (!key) /* there was no memory for it */
        return false;
    size_t length = strlen(key);
    const dd_keys_slot *slot = dd_keys_like(keys, owner, key, length); /* most often nothing is even like it */
    const dd_keys_slot *same = slot ? dd_keys_find(keys, owner, key, length) : NULL;
    if (same)
        slot = same;
    if (slot) {
        char line[24];
        snprintf(line, sizeof line, "%lu", (unsigned long)line_of(f, slot->value));
        if (same)
            dd_table_fault(sheet, column, DD_MSG_KEY_DOUBLED, key, line, NULL);
        else
            dd_table_fault(sheet, column, DD_MSG_KEY_CASE, key, slot->key, line);
        if (same)
            return false;
    }
    if (!dd_keys_add(keys, f->arena, owner, key, value))
        f->no_memory = true;
    return !slot;
}

size_t dd_desk_rows_most(const dd_sheet *sheet)
{
    size_t n = 1;
    for (const char *p = sheet->bytes; (p = memchr(p, '\n', sheet->length - (size_t)(p - sheet->bytes))); p++)
        n++;
    return n;
}

void *dd_desk_group(dd_folder *f, void *items, size_t count, size_t size, const uint32_t *patient_of, uint32_t *first, uint32_t *count_of)
{
    size_t patients = f->plan.patient_count;
    for (size_t i = 0; i < patients; i++)
        count_of[i] = 0;
    bool in_order = true;
    for (size_t i = 0; i < count; i++) {
        count_of[patient_of[i]]++;
        in_order = in_order && (i == 0 || patient_of[i - 1] <= patient_of[i]);
    }
    uint32_t at = 0;
    for (size_t i = 0; i < patients; i++) {
        first[i] = at;
        at += count_of[i];
    }
    if (in_order)
        return items;
    char *sorted = dd_arena_take_many(f->arena, count ? count : 1, size);
    uint32_t *next = dd_arena_take_many(f->arena, patients ? patients : 1, sizeof *next);
    if (!sorted || !next)
        return NULL;
    if (patients)
        memcpy(next, first, patients * sizeof *next);
    for (size_t i = 0; i < count; i++)
        memcpy(sorted + size * next[patient_of[i]]++, (char *)items + size * i, size);
    return sorted;
}

static int32_t second_of(const dd_time_text *time)
{
    return time->civil.hour * 3600 + time->civil.minute * 60 + time->civil.second;
}

static dd_moment forward(const dd_zone *zone, dd_moment t, const dd_time_text *time)
{
    for (int days = 0; time->has_weekday && days < 8 && dd_moment_local(zone, t).weekday != time->weekday; days++)
        t = dd_moment_clock_after(zone, t, second_of(time));
    return t;
}

dd_moment dd_desk_clock_from(const dd_zone *zone, dd_moment from, const dd_time_text *time)
{
    return forward(zone, dd_moment_clock_from(zone, from, second_of(time)), time);
}

dd_moment dd_desk_clock_after(const dd_zone *zone, dd_moment after, const dd_time_text *time)
{
    return forward(zone, dd_moment_clock_after(zone, after, second_of(time)), time);
}

dd_moment dd_desk_clock_until(const dd_zone *zone, dd_moment until, const dd_time_text *time)
{
    dd_moment t = dd_moment_clock_until(zone, until, second_of(time));
    for (int days = 0; time->has_weekday && days < 8 && dd_moment_local(zone, t).weekday != time->weekday; days++)
        t = dd_moment_clock_until(zone, t - 1, second_of(time));
    return t;
}
