#include <stdio.h>
#include <string.h>

#include "desk.h"
#include "findings.h"
#include "nearest.h"

/* ---- pauses.csv ---- */

/* A date-time, or a clock: `from` the first at or after begins, `to` the first after its `from`. */
static bool pause_time(dd_folder *f, dd_sheet *s, dd_column_id column, bool end, dd_moment from, dd_moment *out)
{
    dd_time_text time;
    bool blank;
    *out = DD_NEVER;
    if (!dd_cells_time(s, column, &time, &blank) || blank)
        return false;
    const char *text = dd_cells_peek(s, column);
    if (!time.has_clock || (!time.has_date && time.has_offset)) {
        dd_table_fault(s, column, time.has_clock ? DD_MSG_TIME_FORM : DD_MSG_TIME_CLOCK_NEEDED, text, dd_column_list[column].expected, NULL);
        return false;
    }
    if (time.has_date)
        return dd_cells_instant(s, column, text, f->clock, &time, out);
    if (f->clock && !end)
        *out = dd_desk_clock_from(f->clock, f->plan.begins, &time);
    else if (f->clock && from != DD_NEVER)
        *out = dd_desk_clock_after(f->clock, from, &time);
    return true;
}

static void read_pause(dd_folder *f, dd_sheet *s, uint32_t patient, dd_pause *p)
{
    *p = (dd_pause){.line_of_file = s->row.line, .line = -1};
    (void)dd_desk_line(f, s, DD_COL_PAUSES_LINE, patient, &p->line);
    bool from = pause_time(f, s, DD_COL_PAUSES_FROM, false, DD_NEVER, &p->from);
    bool to = pause_time(f, s, DD_COL_PAUSES_TO, true, p->from, &p->to);
    (void)dd_cells_copy(s, DD_COL_PAUSES_WHY, &p->why, &f->no_memory);
    if (from && to && p->from != DD_NEVER && p->to != DD_NEVER && p->to <= p->from) {
        char begin[DD_MOMENT_MAX];
        dd_moment_write(begin, f->clock, p->from, DD_MOMENT_LOCAL);
        dd_table_fault(s, DD_COL_PAUSES_TO, DD_MSG_PAUSE_ORDER, dd_cells_peek(s, DD_COL_PAUSES_TO), begin, NULL);
    }
}

void dd_pauses_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_PAUSES];
    if (!f->there[DD_TABLE_PAUSES])
        return;
    size_t most = dd_desk_rows_most(s), patients = f->plan.patient_count, count = 0;
    dd_pause *pauses = dd_arena_take_many(f->arena, most, sizeof *pauses);
    uint32_t *patient_of = dd_arena_take_many(f->arena, most, sizeof *patient_of);
    uint32_t *first = dd_arena_take_many(f->arena, patients + 1, sizeof *first);
    uint32_t *count_of = dd_arena_take_many(f->arena, patients + 1, sizeof *count_of);
    if (!pauses || !patient_of || !first || !count_of) {
        f->no_memory = true;
        return;
    }
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_PAUSES_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        if (!s->broken) {
            if (count_of[patient] == UINT16_MAX) {
                dd_table_fault(s, DD_COLUMN_COUNT, DD_MSG_TOO_MANY_ROWS, NULL, "65535", NULL);
            } else {
                read_pause(f, s, patient, &pauses[count]);
                patient_of[count++] = patient;
                count_of[patient]++;
            }
        }
        dd_desk_row_done(f, s, patient);
    }
    pauses = dd_desk_group(f, pauses, count, sizeof *pauses, patient_of, first, count_of);
    if (!pauses) {
        f->no_memory = true;
        return;
    }
    for (size_t i = 0; i < patients; i++) {
        f->patients[i].pauses = pauses + first[i];
        f->patients[i].pause_count = (uint16_t)count_of[i];
    }
}

/* ---- bags.csv, accepted.csv: checked in form; what they say is looked at where it is shown ---- */

static bool needed_order(dd_folder *f, dd_sheet *s, dd_column_id column, uint32_t patient)
{
    int16_t order;
    return dd_desk_order(f, s, column, patient, &order);
}

void dd_bags_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_BAGS];
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_BAGS_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        if (!s->broken) {
            const char *text;
            size_t length;
            dd_moment expires;
            int64_t volume;
            (void)needed_order(f, s, DD_COL_BAGS_ORDER, patient);
            (void)dd_cells_text(s, DD_COL_BAGS_CODE, &text, &length);
            (void)dd_cells_text(s, DD_COL_BAGS_LOT, &text, &length);
            (void)dd_cells_date(s, DD_COL_BAGS_EXPIRES, f->clock, &expires);
            (void)dd_cells_volume(s, DD_COL_BAGS_VOLUME, &volume);
        }
        dd_desk_row_done(f, s, patient);
    }
}

static bool known_finding(dd_sheet *s)
{
    const char *code;
    size_t length;
    if (!dd_cells_key(s, DD_COL_ACCEPTED_FINDING, &code, &length))
        return false;
    dd_nearest nearest = dd_nearest_begin(code, length);
    for (const char *const *c = dd_findings_codes; *c; c++) {
        if (strlen(*c) == length && memcmp(*c, code, length) == 0)
            return true;
        dd_nearest_offer(&nearest, *c, strlen(*c));
    }
    dd_table_fault(s, DD_COL_ACCEPTED_FINDING, DD_MSG_FINDING_UNKNOWN, code, nearest.best ? nearest.best : "the code of a finding", NULL);
    return false;
}

void dd_accepted_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_ACCEPTED];
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_ACCEPTED_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        if (!s->broken) {
            const char *text;
            size_t length;
            int16_t line;
            dd_moment until;
            (void)known_finding(s);
            (void)needed_order(f, s, DD_COL_ACCEPTED_ORDER, patient);
            (void)dd_desk_line(f, s, DD_COL_ACCEPTED_LINE, patient, &line);
            if (dd_cells_text(s, DD_COL_ACCEPTED_UP_TO, &text, &length) && text) {
                dd_quantity q;
                (void)dd_cells_part(s, DD_COL_ACCEPTED_UP_TO, text, length, DD_TAKES_ANY, false, &q);
            }
            (void)dd_cells_text(s, DD_COL_ACCEPTED_REASON, &text, &length);
            (void)dd_cells_text(s, DD_COL_ACCEPTED_BY, &text, &length);
            (void)dd_cells_moment(s, DD_COL_ACCEPTED_UNTIL, f->clock, &until);
        }
        dd_desk_row_done(f, s, patient);
    }
}

/* ---- apart.csv ---- */

/* The key of a pair: both names in lower case, the lower one first. */
static const char *pair_key(dd_folder *f, const char *a, const char *b)
{
    size_t la = strlen(a), lb = strlen(b);
    char *key = dd_arena_take(f->arena, la + lb + 2);
    if (!key) {
        f->no_memory = true;
        return NULL;
    }
    bool swap = strcmp(a, b) > 0;
    snprintf(key, la + lb + 2, "%s %s", swap ? b : a, swap ? a : b);
    return key;
}

static const char *lowered(dd_folder *f, const char *text, size_t length)
{
    char *copy = dd_arena_text(f->arena, text, length);
    if (!copy)
        f->no_memory = true;
    for (char *c = copy; c && *c; c++)
        *c = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
    return copy;
}

void dd_apart_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_APART];
    dd_keys pairs = {0};
    while (dd_desk_next(f, s)) {
        const char *a, *b, *source;
        size_t la, lb, length;
        int verdict;
        if (s->broken)
            continue;
        bool good = dd_cells_key(s, DD_COL_APART_FLUID_A, &a, &la);
        good &= dd_cells_key(s, DD_COL_APART_FLUID_B, &b, &lb);
        good &= dd_cells_word(s, DD_COL_APART_VERDICT, &verdict);
        good &= dd_cells_text(s, DD_COL_APART_SOURCE, &source, &length);
        if (!good)
            continue;
        const char *low_a = lowered(f, a, la), *low_b = lowered(f, b, lb);
        const char *key = low_a && low_b ? pair_key(f, low_a, low_b) : NULL;
        if (!key)
            return;
        const dd_keys_slot *slot = dd_keys_find(&pairs, 0, key, strlen(key));
        if (strcmp(low_a, low_b) == 0) {
            dd_table_fault(s, DD_COL_APART_FLUID_B, DD_MSG_APART_SAME, b, NULL, NULL);
        } else if (slot) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)slot->value);
            dd_table_fault(s, DD_COL_APART_FLUID_B, DD_MSG_APART_DOUBLED, NULL, line, NULL);
        } else if (!dd_keys_add(&pairs, f->arena, 0, key, strlen(key), s->row.line)) {
            f->no_memory = true;
        }
    }
}
