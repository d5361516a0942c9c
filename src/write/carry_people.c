/* carry_people.c - patients.csv and lines.csv of the next plan. */
#include <stdlib.h>
#include <string.h>

#include "carry.h"

#define DAY INT64_C(86400)
#define YEAR INT64_C(31557600) /* 365.25 days, as ages are read */

static dd_status set(dd_carry_rows *rows, dd_carry_row *row, dd_column_id column, const char *text)
{
    dd_carry_rows_set(rows, row, column, text);
    return text ? DD_OK : DD_NO_MEMORY;
}

/* Under two years in days (a newborn's hours in hours), exact to the second; above in years, rounded down, which passes no bound that
 * is written in years. */
static const char *age_text(dd_carry *c, int64_t age_s, const char *before)
{
    char number[DD_NUMBER_MAX];
    dd_ratio age;
    bool hours = before && strchr(before, 'h') && !strchr(before, 'm') && age_s < 7 * DAY;
    if (age_s < 2 * YEAR) {
        if (dd_ratio_make(age_s, hours ? 3600 : DAY, &age) != DD_OK)
            return NULL;
        dd_number_ratio(number, age, 6, DD_STYLE_PROGRAM);
        return dd_carry_rows_form(c, hours ? "%s h" : "%s days", number);
    }
    dd_number_scaled(number, (int64_t)((dd_int128)age_s * 1000000 / YEAR), 6, 6, DD_STYLE_PROGRAM);
    return dd_carry_rows_form(c, "%s years", number);
}

/* In less out over the whole plan, to the uL, behind what was brought forward. */
static dd_status set_forward(dd_carry_rows *rows, dd_carry_row *row, const dd_patient *p)
{
    dd_carry *c = rows->carry;
    const dd_moment edges[2] = {c->plan->begins, c->plan->end};
    const dd_total *totals;
    size_t count;
    int64_t u = 0, unknown_in = 0, unknown_out = 0;
    dd_status status = dd_timeline_totals(c->timelines[row->patient], edges, 1, c->arena, &totals, &count);
    if (status != DD_OK)
        return status;
    for (size_t i = 0; i < count; i++) {
        u += totals[i].out ? -totals[i].volume.u : totals[i].volume.u;
        *(totals[i].out ? &unknown_out : &unknown_in) += totals[i].unknown;
    }
    int64_t whole = u >= 0 ? u / DD_U_PER_UL : -((-u + DD_U_PER_UL - 1) / DD_U_PER_UL); /* down, then half up */
    whole += u - whole * DD_U_PER_UL >= DD_U_PER_UL / 2;
    whole += p->forward_ul;
    char number[DD_NUMBER_MAX];
    dd_number_scaled(number, whole < 0 ? -whole : whole, 3, 3, DD_STYLE_PROGRAM);
    if (unknown_in + unknown_out)
        dd_carry_tell(c, p, "the balance brought forward is the known sum: without a measure are %lld in, %lld out", (long long)unknown_in, (long long)unknown_out);
    return set(rows, row, DD_COL_PATIENTS_FORWARD, dd_carry_rows_form(c, "%s%s mL", whole < 0 ? "-" : "", number));
}

#define NOTE_MOST 440 /* of the 500 bytes that the column holds */
#define CARRIED "carried: "

/* What the person with the next page must know goes into the patient's remark, behind what stands there; what an earlier plan left
 * behind it is over. */
static const char *note_text(dd_carry *c, const dd_patient *p)
{
    dd_bytes note = DD_BYTES((size_t)4096);
    const char *own = p->note ? p->note : "", *before = strstr(own, CARRIED);
    size_t length = before ? (size_t)(before - own) : strlen(own);
    while (before && length > 0 && (own[length - 1] == ' ' || own[length - 1] == ';'))
        length--;
    dd_bytes_add(&note, own, length);
    const char *between = length ? "; " CARRIED : CARRIED;
    bool more = false;
    for (const dd_carry_told *told = c->told; told; told = told->next) {
        bool fits = note.length + strlen(told->text) <= NOTE_MOST;
        more |= told->patient == p && !fits;
        if (told->patient != p || !fits)
            continue;
        dd_bytes_text(&note, between);
        dd_bytes_text(&note, told->text);
        between = "; ";
    }
    if (more) {
        dd_bytes_text(&note, between);
        dd_bytes_text(&note, "and more, which was said when it was carried");
    }
    const char *text = note.failed ? NULL : dd_arena_text(c->arena, note.data ? note.data : "", note.length);
    dd_bytes_free(&note);
    return text;
}

static dd_status each_patient(dd_carry_rows *rows, const dd_carry_row *from)
{
    dd_carry *c = rows->carry;
    if (from->patient == DD_DESK_NONE)
        return DD_OK;
    const dd_patient *p = &c->plan->patients[from->patient];
    dd_carry_row *row = dd_carry_rows_add(rows, from);
    dd_status status = row ? DD_OK : DD_NO_MEMORY;
    if (status == DD_OK && p->age_s != DD_UNKNOWN)
        status = set(rows, row, DD_COL_PATIENTS_AGE, age_text(c, p->age_s + (c->plan->end - c->plan->begins), p->age_text));
    if (status == DD_OK && p->arrived != DD_NEVER && p->arrived <= c->plan->end)
        dd_carry_rows_set(rows, row, DD_COL_PATIENTS_ARRIVED, NULL);
    if (status == DD_OK)
        status = set_forward(rows, row, p);
    return status == DD_OK ? set(rows, row, DD_COL_PATIENTS_NOTE, note_text(c, p)) : status;
}

dd_status dd_carry_patients(dd_carry *c, dd_carry_rows *out)
{
    return dd_carry_rows_read(c, DD_TABLE_PATIENTS, each_patient, out);
}

/* ---- lines.csv ---- */

static dd_status each_line(dd_carry_rows *rows, const dd_carry_row *from)
{
    dd_carry *c = rows->carry;
    const char *key = dd_carry_rows_get(rows, from, DD_COL_LINES_LINE);
    const dd_keys_slot *slot = from->patient != DD_DESK_NONE && key ? dd_keys_find(&c->folder->line_keys, from->patient, key, strlen(key)) : NULL;
    if (!slot || c->fates[from->patient].line_gone[slot->value])
        return DD_OK;
    dd_carry_row *row = dd_carry_rows_add(rows, from);
    if (!row)
        return DD_NO_MEMORY;
    const dd_timeline *t = c->timelines[from->patient];
    for (size_t i = 0; i < t->event_count; i++) { /* by time: the last one stays */
        const dd_event *e = t->events[i];
        if (e->line != (int16_t)slot->value)
            continue;
        dd_column_id column = e->kind == DD_EVENT_PLACED ? DD_COL_LINES_PLACED : e->kind == DD_EVENT_DRESSED ? DD_COL_LINES_DRESSED
            : e->kind == DD_EVENT_SET_CHANGED ? DD_COL_LINES_SET_CHANGED : DD_COLUMN_COUNT;
        if (column != DD_COLUMN_COUNT && set(rows, row, column, dd_carry_rows_moment(c, e->time)) != DD_OK)
            return DD_NO_MEMORY;
    }
    return DD_OK;
}

dd_status dd_carry_lines(dd_carry *c, dd_carry_rows *out)
{
    return dd_carry_rows_read(c, DD_TABLE_LINES, each_line, out);
}
