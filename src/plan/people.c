#include <stdio.h>
#include <string.h>

#include "allergy.h"
#include "desk.h"
#include "needs.h"

#define LINES_MOST 1000

static uint32_t patient_line(const dd_folder *f, uint32_t value)
{
    return f->patients[value].line_of_file;
}

static uint32_t line_line(const dd_folder *f, uint32_t value)
{
    return f->lines[value].line_of_file;
}

/* Age bounds are rules: neonate-to and the others. */
static uint8_t class_of(const dd_folder *f, int64_t age_s)
{
    static const dd_rule_id bounds[] = {DD_RULE_NEONATE_TO, DD_RULE_INFANT_TO, DD_RULE_CHILD_TO};
    const dd_rule_about any = {NULL, DD_RULE_ANY, DD_RULE_ANY, DD_RULE_ANY};
    if (age_s == DD_UNKNOWN)
        return DD_CLASS_UNKNOWN;
    for (size_t i = 0; i < 3; i++) {
        const dd_rule *rule = dd_rule_find(&f->plan, bounds[i], &any);
        int64_t bound;
        if (rule && dd_quantity_seconds(rule->low, &bound) == DD_OK && age_s < bound)
            return (uint8_t)(DD_CLASS_NEONATE + i);
    }
    return DD_CLASS_ADULT;
}

static bool read_age(dd_folder *f, dd_sheet *s, dd_patient *p)
{
    dd_quantity q;
    p->age_s = DD_UNKNOWN;
    if (!dd_cells_quantity(s, DD_COL_PATIENTS_AGE, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    const char *text = dd_cells_peek(s, DD_COL_PATIENTS_AGE);
    if (dd_quantity_seconds(q, &p->age_s) != DD_OK || p->age_s > INT64_C(130) * 31557600) {
        p->age_s = DD_UNKNOWN;
        dd_table_fault(s, DD_COL_PATIENTS_AGE, DD_MSG_AGE_RANGE, text, NULL, NULL);
        return false;
    }
    return dd_cells_copy(s, DD_COL_PATIENTS_AGE, &p->age_text, &f->no_memory);
}

static bool read_weight(dd_sheet *s, dd_patient *p)
{
    dd_quantity q;
    p->weight_mg = DD_UNKNOWN;
    if (!dd_cells_quantity(s, DD_COL_PATIENTS_WEIGHT, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    if (dd_quantity_grams(q, &p->weight_mg) != DD_OK || p->weight_mg > INT64_C(500000000)) {
        p->weight_mg = DD_UNKNOWN;
        dd_cells_quantity_fault(s, DD_COL_PATIENTS_WEIGHT, DD_QF_TOO_LARGE, dd_cells_peek(s, DD_COL_PATIENTS_WEIGHT), NULL);
        return false;
    }
    if (p->weight_mg == 0) {
        p->weight_mg = DD_UNKNOWN;
        dd_cells_quantity_fault(s, DD_COL_PATIENTS_WEIGHT, DD_QF_ZERO, dd_cells_peek(s, DD_COL_PATIENTS_WEIGHT), NULL);
        return false;
    }
    return true;
}

/* `410 mL`, `-120 mL`: the one place that takes a sign. */
static bool read_forward(dd_sheet *s, dd_patient *p)
{
    const char *text;
    size_t length;
    if (!dd_cells_text(s, DD_COL_PATIENTS_FORWARD, &text, &length))
        return false;
    if (!text)
        return true;
    bool minus = text[0] == '-', sign = minus || text[0] == '+';
    const char *number = text + sign;
    size_t left = length - sign;
    dd_quantity q;
    dd_volume v;
    if (!dd_cells_part(s, DD_COL_PATIENTS_FORWARD, number, left, DD_TAKES_VOLUME, true, &q))
        return false;
    if (dd_quantity_volume(q, &v) != DD_OK) {
        dd_cells_quantity_fault(s, DD_COL_PATIENTS_FORWARD, DD_QF_TOO_LARGE, text, NULL);
        return false;
    }
    p->forward_ul = minus ? -v.ul : v.ul;
    p->forward_known = true;
    return true;
}

/* `1800 mL/day`, `120 mL/kg/day`, `80% maintenance`, as microlitres per day. */
static bool read_allowance(dd_folder *f, dd_sheet *s, dd_patient *p)
{
    static const dd_column_id column = DD_COL_PATIENTS_ALLOWANCE;
    const char *text;
    size_t length;
    dd_ratio rate;
    p->allowance_ul_day = DD_UNKNOWN;
    if (!dd_cells_text(s, column, &text, &length))
        return false;
    if (!text)
        return true;
    int64_t share;
    if (dd_needs_is_share(text, length, &share)) {
        if (!dd_needs_share(s, column, text, share, p, &rate))
            return false;
    } else if (text[0] >= 'a' && text[0] <= 'z') {
        dd_table_fault(s, column, DD_MSG_ALLOWANCE_FORM, text, dd_column_list[column].expected, NULL);
        return false;
    } else {
        dd_quantity q;
        if (!dd_cells_part(s, column, text, length, DD_TAKES_RATE | DD_TAKES_RATE_KG, false, &q))
            return false;
        if (!dd_needs_rate(s, column, text, q, p, &rate))
            return false;
    }
    dd_ratio day;
    if (dd_ratio_times(rate, (dd_ratio){24, 1}, &day) != DD_OK || dd_ratio_half_up(day, 1, &p->allowance_ul_day) != DD_OK
        || p->allowance_ul_day > INT64_C(240000000)) {
        p->allowance_ul_day = DD_UNKNOWN;
        dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, text, NULL);
        return false;
    }
    if (p->allowance_ul_day == 0) {
        dd_table_fault(s, column, DD_MSG_VOLUME_TINY, NULL, NULL, NULL);
        return false;
    }
    return dd_cells_copy(s, column, &p->allowance_text, &f->no_memory);
}

/* Reads what follows the key; each cell by itself. */
static void read_patient(dd_folder *f, dd_sheet *s, dd_patient *p)
{
    const char *bed;
    size_t length;
    int word;
    if (dd_cells_key(s, DD_COL_PATIENTS_BED, &bed, &length) && bed && !(p->bed = dd_arena_text(f->arena, bed, length)))
        f->no_memory = true;
    (void)read_age(f, s, p);
    p->class_at_begin = class_of(f, p->age_s);
    bool weight = read_weight(s, p);
    if (dd_cells_word(s, DD_COL_PATIENTS_WEIGHT_IS, &word))
        p->weight_is = word < 0 ? DD_MEASURED : (uint8_t)word;
    (void)dd_cells_moment(s, DD_COL_PATIENTS_WEIGHED, f->clock, &p->weighed);
    if (dd_cells_word(s, DD_COL_PATIENTS_SEX, &word) && word >= 0)
        p->sex = word == 0 ? "female" : word == 1 ? "male" : "other";
    (void)dd_cells_copy(s, DD_COL_PATIENTS_ALLERGIES, &p->allergies, &f->no_memory);
    if (p->allergies && dd_allergy_says_nothing(p->allergies))
        p->allergies = NULL;
    if (weight && s->row_errors == 0)
        (void)read_allowance(f, s, p);
    (void)dd_cells_copy(s, DD_COL_PATIENTS_TEAM, &p->team, &f->no_memory);
    (void)dd_cells_moment(s, DD_COL_PATIENTS_ARRIVED, f->clock, &p->arrived);
    (void)read_forward(s, p);
    (void)dd_cells_copy(s, DD_COL_PATIENTS_NOTE, &p->note, &f->no_memory);
}

/* Two patients in one bed: both stop. */
static void bind_bed(dd_folder *f, dd_sheet *s, dd_patient *p, uint32_t at)
{
    const char *bed = p->bed ? p->bed : p->key;
    const dd_keys_slot *slot = dd_keys_like(&f->beds, 0, bed, strlen(bed));
    if (slot) {
        char line[24];
        snprintf(line, sizeof line, "%lu", (unsigned long)f->patients[slot->value].line_of_file);
        dd_table_fault(s, DD_COL_PATIENTS_BED, DD_MSG_BED_DOUBLED, bed, line, NULL);
        f->patients[slot->value].errors++;
    } else if (!dd_keys_add(&f->beds, f->arena, 0, bed, at)) {
        f->no_memory = true;
    }
    p->bed = bed;
}

static void begin_desk(dd_patient_desk *desk)
{
    for (size_t t = 0; t < DD_TABLE_COUNT; t++)
        desk->first_row[t] = desk->last_row[t] = DD_DESK_NONE;
}

void dd_patients_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_PATIENTS];
    if (!f->there[DD_TABLE_PATIENTS])
        return;
    size_t most = dd_desk_rows_most(s);
    f->patients = dd_arena_take_many(f->arena, most, sizeof *f->patients);
    f->beside = dd_arena_take_many(f->arena, most, sizeof *f->beside);
    if (!f->patients || !f->beside || !dd_keys_room(&f->patient_keys, f->arena, most) || !dd_keys_room(&f->beds, f->arena, most)) {
        f->no_memory = true;
        return;
    }
    f->plan.patients = f->patients;
    while (dd_desk_next(f, s)) {
        const char *key = dd_cells_peek(s, DD_COL_PATIENTS_PATIENT);
        size_t length = key ? strlen(key) : 0;
        if (s->broken ? !key || !dd_cells_is_key(key, length) : !dd_cells_key(s, DD_COL_PATIENTS_PATIENT, &key, &length)) {
            f->patient_lost = true;
            continue;
        }
        uint32_t at = (uint32_t)f->plan.patient_count;
        dd_patient *p = &f->patients[at];
        *p = (dd_patient){.line_of_file = s->row.line, .age_s = DD_UNKNOWN, .weight_mg = DD_UNKNOWN, .allowance_ul_day = DD_UNKNOWN,
                          .weighed = DD_NEVER, .arrived = DD_NEVER, .class_at_begin = DD_CLASS_UNKNOWN};
        p->key = dd_arena_text(f->arena, key, length);
        if (!p->key) {
            f->no_memory = true;
            return;
        }
        bool alone = dd_desk_add_key(f, s, DD_COL_PATIENTS_PATIENT, &f->patient_keys, 0, p->key, at, patient_line);
        const dd_keys_slot *slot = dd_keys_find(&f->patient_keys, 0, key, length);
        if (!alone) {
            /* The same key: the row belongs to the first one and stops it. One that differs in capitals stops both. */
            const dd_keys_slot *other = slot && slot->value != at ? slot : dd_keys_like(&f->patient_keys, 0, key, length);
            if (other)
                f->patients[other->value].errors++;
            if (slot && slot->value != at)
                continue;
        }
        begin_desk(&f->beside[at]);
        f->plan.patient_count++;
        if (!s->broken)
            read_patient(f, s, p);
        if (!alone || s->broken)
            p->bed = p->bed ? p->bed : p->key;
        else
            bind_bed(f, s, p, at);
        dd_desk_row_done(f, s, at);
    }
}

/* ---- lines.csv ---- */

static bool read_line(dd_folder *f, dd_sheet *s, dd_line *line)
{
    const char *key, *catheter;
    size_t length;
    int kind, dressing;
    *line = (dd_line){.line_of_file = s->row.line};
    bool good = dd_cells_key(s, DD_COL_LINES_LINE, &key, &length);
    if (good && !(line->key = dd_arena_text(f->arena, key, length)))
        f->no_memory = true;
    bool kind_good = dd_cells_word(s, DD_COL_LINES_KIND, &kind);
    line->kind = kind_good && kind >= 0 ? (uint8_t)kind : DD_KIND_COUNT;
    (void)dd_cells_copy(s, DD_COL_LINES_SITE, &line->site, &f->no_memory);
    (void)dd_cells_copy(s, DD_COL_LINES_GAUGE, &line->gauge, &f->no_memory);
    if (dd_cells_key(s, DD_COL_LINES_CATHETER, &catheter, &length) && catheter
        && !(line->catheter = dd_arena_text(f->arena, catheter, length)))
        f->no_memory = true;
    (void)dd_cells_moment(s, DD_COL_LINES_PLACED, f->clock, &line->placed);
    if (dd_cells_word(s, DD_COL_LINES_DRESSING, &dressing) && dressing >= 0)
        line->dressing = dressing == 0 ? "transparent" : "gauze";
    (void)dd_cells_moment(s, DD_COL_LINES_DRESSED, f->clock, &line->dressed);
    (void)dd_cells_moment(s, DD_COL_LINES_SET_CHANGED, f->clock, &line->set_changed);
    (void)dd_cells_copy(s, DD_COL_LINES_NOTE, &line->note, &f->no_memory);
    return good && !f->no_memory;
}

void dd_lines_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_LINES];
    if (!f->there[DD_TABLE_LINES])
        return;
    size_t most = dd_desk_rows_most(s), patients = f->plan.patient_count, count = 0;
    f->lines = dd_arena_take_many(f->arena, most, sizeof *f->lines);
    uint32_t *patient_of = dd_arena_take_many(f->arena, most, sizeof *patient_of);
    uint32_t *first = dd_arena_take_many(f->arena, patients + 1, sizeof *first);
    uint32_t *count_of = dd_arena_take_many(f->arena, patients + 1, sizeof *count_of);
    uint32_t *within = dd_arena_take_many(f->arena, most, sizeof *within); /* place among the patient's own */
    if (!f->lines || !patient_of || !first || !count_of || !within || !dd_keys_room(&f->line_keys, f->arena, most)) {
        f->no_memory = true;
        return;
    }
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_LINES_PATIENT);
        dd_line *line = &f->lines[count];
        bool kept = !s->broken && read_line(f, s, line) && patient != DD_DESK_NONE;
        if (kept && count_of[patient] >= LINES_MOST) {
            char limit[24];
            snprintf(limit, sizeof limit, "%d", LINES_MOST);
            dd_table_fault(s, DD_COLUMN_COUNT, DD_MSG_TOO_MANY_ROWS, NULL, limit, NULL);
            kept = false;
        }
        if (kept) {
            uint32_t errors = s->row_errors;
            (void)dd_desk_add_key(f, s, DD_COL_LINES_LINE, &f->line_keys, patient, line->key, (uint32_t)count, line_line);
            kept = errors == s->row_errors || !dd_keys_find(&f->line_keys, patient, line->key, strlen(line->key))
                || dd_keys_find(&f->line_keys, patient, line->key, strlen(line->key))->value == count;
        }
        if (kept) {
            within[count] = count_of[patient]++;
            patient_of[count++] = patient;
        } else if (patient != DD_DESK_NONE) {
            f->beside[patient].lost[DD_TABLE_LINES] = true;
        }
        dd_desk_row_done(f, s, patient);
    }
    dd_keys_renumber(&f->line_keys, within); /* until now they had their places in the file */
    f->lines = dd_desk_group(f, f->lines, count, sizeof *f->lines, patient_of, first, count_of);
    if (!f->lines) {
        f->no_memory = true;
        return;
    }
    for (size_t i = 0; i < patients; i++) {
        f->patients[i].lines = f->lines + first[i];
        f->patients[i].line_count = (uint16_t)count_of[i];
    }
}
