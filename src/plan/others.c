#include <stdio.h>
#include <stdlib.h>
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

/* ---- rows of patients that are kept as they come: bags.csv, accepted.csv ---- */

/* Where a table's rows go: one after the other, then grouped by patient. */
typedef struct kept {
    void *rows;
    uint32_t *patient_of, *first, *count_of;
    size_t size, count;
} kept;

static bool keep_begin(dd_folder *f, dd_table table, size_t size, kept *k)
{
    size_t most = dd_desk_rows_most(&f->sheets[table]), patients = f->plan.patient_count;
    *k = (kept){.size = size, .rows = dd_arena_take_many(f->arena, most, size),
                .patient_of = dd_arena_take_many(f->arena, most, sizeof *k->patient_of),
                .first = dd_arena_take_many(f->arena, patients + 1, sizeof *k->first),
                .count_of = dd_arena_take_many(f->arena, patients + 1, sizeof *k->count_of)};
    f->no_memory = f->no_memory || !k->rows || !k->patient_of || !k->first || !k->count_of;
    return !f->no_memory;
}

static void *keep_next(kept *k)
{
    return (char *)k->rows + k->count * k->size;
}

static void keep_row(kept *k, uint32_t patient)
{
    k->patient_of[k->count++] = patient;
    k->count_of[patient]++;
}

static bool keep_end(dd_folder *f, kept *k)
{
    k->rows = dd_desk_group(f, k->rows, k->count, k->size, k->patient_of, k->first, k->count_of);
    f->no_memory = f->no_memory || !k->rows;
    return !f->no_memory;
}

void dd_bags_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_BAGS];
    kept k;
    if (!f->there[DD_TABLE_BAGS] || !keep_begin(f, DD_TABLE_BAGS, sizeof(dd_stock), &k))
        return;
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_BAGS_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        if (!s->broken) {
            dd_scan_row(f, s, patient, keep_next(&k));
            keep_row(&k, patient);
        }
        dd_desk_row_done(f, s, patient);
    }
    if (!keep_end(f, &k))
        return;
    for (size_t i = 0; i < f->plan.patient_count; i++) {
        f->patients[i].stock = (const dd_stock *)k.rows + k.first[i];
        f->patients[i].stock_count = k.count_of[i];
    }
}

static const char *read_finding(dd_sheet *s)
{
    const char *code;
    size_t length;
    if (!dd_cells_key(s, DD_COL_ACCEPTED_FINDING, &code, &length))
        return NULL;
    dd_nearest nearest = dd_nearest_begin(code, length);
    for (const char *const *c = dd_findings_codes; *c; c++) {
        if (strlen(*c) == length && memcmp(*c, code, length) == 0)
            return *c;
        dd_nearest_offer(&nearest, *c, strlen(*c));
    }
    dd_table_fault(s, DD_COL_ACCEPTED_FINDING, DD_MSG_FINDING_UNKNOWN, code, nearest.best ? nearest.best : "the code of a finding", NULL);
    return NULL;
}

static void read_accepted(dd_folder *f, dd_sheet *s, uint32_t patient, dd_accepted *out)
{
    const char *text;
    size_t length;
    *out = (dd_accepted){.line_of_file = s->row.line, .order = -1, .line = -1, .until = DD_NEVER};
    out->finding = read_finding(s);
    (void)dd_desk_order(f, s, DD_COL_ACCEPTED_ORDER, patient, &out->order);
    (void)dd_desk_line(f, s, DD_COL_ACCEPTED_LINE, patient, &out->line);
    if (dd_cells_text(s, DD_COL_ACCEPTED_UP_TO, &text, &length) && text)
        (void)dd_cells_part(s, DD_COL_ACCEPTED_UP_TO, text, length, DD_TAKES_ANY, false, &out->up_to);
    (void)dd_cells_copy(s, DD_COL_ACCEPTED_REASON, &out->reason, &f->no_memory);
    (void)dd_cells_copy(s, DD_COL_ACCEPTED_BY, &out->by, &f->no_memory);
    (void)dd_cells_moment(s, DD_COL_ACCEPTED_UNTIL, f->clock, &out->until);
}

void dd_accepted_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_ACCEPTED];
    kept k;
    if (!f->there[DD_TABLE_ACCEPTED] || !keep_begin(f, DD_TABLE_ACCEPTED, sizeof(dd_accepted), &k))
        return;
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_ACCEPTED_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        if (!s->broken) {
            read_accepted(f, s, patient, keep_next(&k));
            keep_row(&k, patient);
        }
        dd_desk_row_done(f, s, patient);
    }
    if (!keep_end(f, &k))
        return;
    for (size_t i = 0; i < f->plan.patient_count; i++) {
        f->patients[i].accepted = (const dd_accepted *)k.rows + k.first[i];
        f->patients[i].accepted_count = k.count_of[i];
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

static int by_names(const void *left, const void *right)
{
    const dd_pair *x = left, *y = right;
    int c = strcmp(x->a, y->a);
    return c ? c : strcmp(x->b, y->b);
}

enum { APART, TOGETHER }; /* the words of the column, in its order */

void dd_apart_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_APART];
    dd_keys keys = {0};
    size_t count = 0;
    dd_pair *pairs = f->there[DD_TABLE_APART] ? dd_arena_take_many(f->arena, dd_desk_rows_most(s), sizeof *pairs) : NULL;
    if (!pairs) {
        f->no_memory = f->no_memory || f->there[DD_TABLE_APART];
        return;
    }
    while (dd_desk_next(f, s)) {
        const char *a, *b, *source;
        size_t la, lb;
        int verdict;
        if (s->broken)
            continue;
        bool good = dd_cells_key(s, DD_COL_APART_FLUID_A, &a, &la);
        good &= dd_cells_key(s, DD_COL_APART_FLUID_B, &b, &lb);
        good &= dd_cells_word(s, DD_COL_APART_VERDICT, &verdict);
        good &= dd_cells_copy(s, DD_COL_APART_SOURCE, &source, &f->no_memory);
        if (!good)
            continue;
        const char *low_a = lowered(f, a, la), *low_b = lowered(f, b, lb);
        const char *key = low_a && low_b ? pair_key(f, low_a, low_b) : NULL;
        if (!key)
            return;
        const dd_keys_slot *slot = dd_keys_find(&keys, 0, key, strlen(key));
        if (strcmp(low_a, low_b) == 0) {
            dd_table_fault(s, DD_COL_APART_FLUID_B, DD_MSG_APART_SAME, b, NULL, NULL);
        } else if (slot) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)slot->value);
            dd_table_fault(s, DD_COL_APART_FLUID_B, DD_MSG_APART_DOUBLED, NULL, line, NULL);
        } else if (!dd_keys_add(&keys, f->arena, 0, key, s->row.line)) {
            f->no_memory = true;
        } else {
            bool swap = strcmp(low_a, low_b) > 0;
            pairs[count++] = (dd_pair){.a = swap ? low_b : low_a, .b = swap ? low_a : low_b, .source = source,
                                       .line_of_file = s->row.line, .together = verdict == TOGETHER};
        }
    }
    if (count > 1)
        qsort(pairs, count, sizeof *pairs, by_names);
    f->plan.pairs = pairs;
    f->plan.pair_count = count;
}
