#include <stdio.h>
#include <string.h>

#include "desk.h"
#include "order.h"

#define EVENTS_MOST 1000000 /* of one patient */

typedef enum about { ORDER, LINE, PATIENT, ENTRY } about;
typedef enum takes { NOTHING, FLOW, VOLUME_OR_NOTHING, READING, SITE, MEASURE, WEIGHT } takes;

static const struct event_shape { const char *text; about about; takes takes; } shapes[DD_EVENT_COUNT] = {
#define EVENT(id, text, about, takes) [DD_EVENT_##id] = {text, about, takes},
#include "daydrip/event.def"
#undef EVENT
};

/* The words that `what` may be, and what a value looks like. */
static const char intakes[] = "oral feed other", outputs[] = "urine stool vomit gastric drain blood other";
static const char sites[] = "clean red swollen painful leaking";

static bool in_list(const char *list, const char *word)
{
    size_t length = strlen(word);
    for (const char *p = list; *p;) {
        size_t size = strcspn(p, " ");
        if (size == length && memcmp(p, word, length) == 0)
            return true;
        p += size + (p[size] == ' ');
    }
    return false;
}

static bool value_fault(dd_sheet *s, const dd_event *e, const char *expected)
{
    dd_table_fault(s, DD_COL_CHART_VALUE, DD_MSG_EVENT_VALUE, e->value_text ? e->value_text : "", shapes[e->kind].text, expected);
    return false;
}

/* `given 437 mL`, `left 120 mL`. */
static bool read_reading(dd_sheet *s, dd_event *e, const char *text, size_t length)
{
    bool given = strncmp(text, "given ", 6) == 0, left = strncmp(text, "left ", 5) == 0;
    if (!given && !left)
        return value_fault(s, e, "given 437 mL or left 120 mL");
    size_t at = given ? 6 : 5;
    while (at < length && text[at] == ' ')
        at++;
    e->what = given ? "given" : "left";
    return dd_cells_part(s, DD_COL_CHART_VALUE, text + at, length - at, DD_TAKES_VOLUME, true, &e->value);
}

/* The value that the event takes. */
static bool read_value(dd_folder *f, dd_sheet *s, dd_event *e, const dd_order *order)
{
    const char *text;
    size_t length;
    if (!dd_cells_text(s, DD_COL_CHART_VALUE, &text, &length))
        return false;
    if (text && !(e->value_text = dd_arena_text(f->arena, text, length))) {
        f->no_memory = true;
        return false;
    }
    takes t = shapes[e->kind].takes;
    if (!text) {
        if (t == NOTHING || t == VOLUME_OR_NOTHING)
            return true;
        static const char *const expected[] = {
            [FLOW] = "a rate such as 80 mL/h", [READING] = "given 437 mL or left 120 mL", [SITE] = "clean, red, swollen, painful or leaking",
            [MEASURE] = "a volume such as 250 mL, or unmeasured", [WEIGHT] = "a weight such as 18.5 kg", [NOTHING] = "", [VOLUME_OR_NOTHING] = "",
        };
        return value_fault(s, e, expected[t]);
    }
    switch (t) {
    case NOTHING: return value_fault(s, e, "a blank cell");
    case FLOW:
        if (!dd_cells_part(s, DD_COL_CHART_VALUE, text, length, DD_TAKES_RATE | DD_TAKES_DROP_RATE, true, &e->value))
            return false;
        if (dd_needs_unit(e->value.unit).dimension == DD_DIM_DROPS && order && order->device != DD_GRAVITY) {
            dd_table_fault(s, DD_COL_CHART_VALUE, DD_MSG_RATE_DROPS, text, NULL, NULL);
            return false;
        }
        return true;
    case VOLUME_OR_NOTHING: return dd_cells_part(s, DD_COL_CHART_VALUE, text, length, DD_TAKES_VOLUME, false, &e->value);
    case READING: return read_reading(s, e, text, length);
    case SITE: return in_list(sites, text) || value_fault(s, e, "clean, red, swollen, painful or leaking");
    case MEASURE:
        if (strcmp(text, "unmeasured") == 0) {
            e->unmeasured = true;
            return true;
        }
        return dd_cells_part(s, DD_COL_CHART_VALUE, text, length, DD_TAKES_VOLUME | DD_TAKES_GRAMS_AS_ML, true, &e->value);
    case WEIGHT: return dd_cells_part(s, DD_COL_CHART_VALUE, text, length, DD_TAKES_MASS, false, &e->value);
    }
    return false;
}

/* What the event is about must be there. */
static void check_about(dd_sheet *s, const dd_event *e, const dd_order *order, bool order_good, bool line_good)
{
    const char *text = shapes[e->kind].text;
    about a = shapes[e->kind].about;
    if (a == ORDER && e->order < 0 && order_good)
        dd_table_fault(s, DD_COL_CHART_ORDER, DD_MSG_EVENT_ORDER, NULL, text, NULL);
    if ((a == LINE || e->kind == DD_EVENT_MOVED) && e->line < 0 && line_good)
        dd_table_fault(s, DD_COL_CHART_LINE, DD_MSG_EVENT_LINE, NULL, text, NULL);
    if (order && order->repeat != DD_ONCE && (e->kind == DD_EVENT_STARTED || e->kind == DD_EVENT_OMITTED)
        && !dd_cells_peek(s, DD_COL_CHART_DUE))
        dd_table_fault(s, DD_COL_CHART_DUE, DD_MSG_EVENT_DUE, NULL, text, NULL);
    bool in = e->kind == DD_EVENT_INTAKE, out = e->kind == DD_EVENT_OUTPUT;
    if ((in || out) && !(e->what && in_list(in ? intakes : outputs, e->what)))
        dd_table_fault(s, DD_COL_CHART_WHAT, DD_MSG_EVENT_WHAT, e->what ? e->what : "", text,
                       in ? "oral, feed or other" : "urine, stool, vomit, gastric, drain, blood or other");
}

/* An entry can strike an earlier row of the same patient that is not struck and strikes nothing. */
static void bind_strike(dd_folder *f, dd_sheet *s, dd_event *e, const dd_keys *in_file, dd_event *events, uint32_t patient, bool *struck)
{
    const char *key;
    size_t length;
    if (!dd_cells_key(s, DD_COL_CHART_STRIKES, &key, &length))
        return;
    if (e->kind != DD_EVENT_STRUCK) {
        if (key)
            dd_table_fault(s, DD_COL_CHART_STRIKES, DD_MSG_STRIKES_ALONE, key, NULL, NULL);
        return;
    }
    if (!key) {
        dd_table_fault(s, DD_COL_CHART_STRIKES, DD_MSG_STRIKES_MISSING, NULL, NULL, NULL);
        return;
    }
    const dd_keys_slot *slot = dd_keys_find(in_file, patient, key, length);
    if (!slot) {
        if (!f->beside[patient].lost[DD_TABLE_CHART])
            dd_table_fault(s, DD_COL_CHART_STRIKES, DD_MSG_STRIKES_UNKNOWN, key, NULL, NULL);
    } else if (struck[slot->value] || events[slot->value].kind == DD_EVENT_STRUCK) {
        dd_table_fault(s, DD_COL_CHART_STRIKES, DD_MSG_STRIKES_STRUCK, key, NULL, NULL);
    } else {
        struck[slot->value] = true;
        e->strikes = (int32_t)slot->value; /* place in the file, until they are grouped */
    }
}

bool dd_chart_event(dd_folder *f, dd_sheet *s, uint32_t patient, dd_event *e)
{
    const char *key;
    size_t length;
    int kind;
    *e = (dd_event){.line_of_file = s->row.line, .strikes = -1, .order = -1, .line = -1, .due = DD_NEVER};
    bool good = dd_cells_key(s, DD_COL_CHART_ENTRY, &key, &length);
    if (good && !(e->entry = dd_arena_text(f->arena, key, length)))
        f->no_memory = true;
    bool time = dd_cells_moment(s, DD_COL_CHART_TIME, f->clock, &e->time);
    bool entered = dd_cells_moment(s, DD_COL_CHART_ENTERED, f->clock, &e->entered);
    if (e->entered == DD_NEVER)
        e->entered = e->time;
    if (time && entered && e->entered < e->time) {
        char at[DD_MOMENT_MAX];
        dd_moment_write(at, f->clock, e->time, DD_MOMENT_LOCAL);
        dd_table_fault(s, DD_COL_CHART_ENTERED, DD_MSG_ENTERED_EARLY, dd_cells_peek(s, DD_COL_CHART_ENTERED), at, NULL);
    }
    bool known = dd_cells_word(s, DD_COL_CHART_EVENT, &kind) && kind >= 0;
    bool order_good = dd_desk_order(f, s, DD_COL_CHART_ORDER, patient, &e->order);
    bool line_good = dd_desk_line(f, s, DD_COL_CHART_LINE, patient, &e->line);
    (void)dd_cells_moment(s, DD_COL_CHART_DUE, f->clock, &e->due);
    (void)dd_cells_copy(s, DD_COL_CHART_WHAT, &e->what, &f->no_memory);
    (void)dd_cells_copy(s, DD_COL_CHART_BY, &e->by, &f->no_memory);
    (void)dd_cells_copy(s, DD_COL_CHART_NOTE, &e->note, &f->no_memory);
    if (!known)
        return false;
    e->kind = (uint8_t)kind;
    const dd_order *order = e->order >= 0 ? &f->patients[patient].orders[e->order] : NULL;
    check_about(s, e, order, order_good, line_good);
    (void)read_value(f, s, e, order);
    return good;
}

/* Whether the row is the last line, has no end and too few cells: whoever wrote it was interrupted, and what stands there could be
 * read as something else. */
static bool cut_off(const dd_sheet *s)
{
    return s->row.count < s->cells && s->row.offset + s->row.raw_length == s->length;
}

static uint32_t event_line(const dd_folder *f, uint32_t value)
{
    return f->events[value].line_of_file;
}

void dd_chart_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_CHART];
    if (!f->there[DD_TABLE_CHART])
        return;
    size_t most = dd_desk_rows_most(s), patients = f->plan.patient_count, count = 0;
    f->events = dd_arena_take_many(f->arena, most, sizeof *f->events);
    uint32_t *patient_of = dd_arena_take_many(f->arena, most, sizeof *patient_of);
    uint32_t *first = dd_arena_take_many(f->arena, patients + 1, sizeof *first);
    uint32_t *count_of = dd_arena_take_many(f->arena, patients + 1, sizeof *count_of);
    uint32_t *within = dd_arena_take_many(f->arena, most, sizeof *within); /* place among the patient's own */
    bool *struck = dd_arena_take_many(f->arena, most, sizeof *struck);
    dd_keys in_file = {0};
    if (!f->events || !patient_of || !first || !count_of || !within || !struck || !dd_keys_room(&in_file, f->arena, most)) {
        f->no_memory = true;
        return;
    }
    while (dd_desk_next(f, s)) {
        if (!s->broken && cut_off(s)) {
            dd_table_fault(s, DD_COLUMN_COUNT, DD_MSG_ROW_CUT_OFF, NULL, NULL, NULL);
            s->broken = true;
        }
        uint32_t patient = dd_desk_patient(f, s, DD_COL_CHART_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        bool kept = false;
        if (!s->broken) {
            dd_event *e = &f->events[count];
            kept = dd_chart_event(f, s, patient, e);
            if (kept) {
                bind_strike(f, s, e, &in_file, f->events, patient, struck);
                kept = dd_desk_add_key(f, s, DD_COL_CHART_ENTRY, &in_file, patient, e->entry, (uint32_t)count, event_line);
            }
            if (kept && count_of[patient] >= EVENTS_MOST) {
                char limit[24];
                snprintf(limit, sizeof limit, "%d", EVENTS_MOST);
                dd_table_fault(s, DD_COLUMN_COUNT, DD_MSG_TOO_MANY_ROWS, NULL, limit, NULL);
                kept = false;
            }
        }
        if (kept) {
            within[count] = count_of[patient]++;
            patient_of[count++] = patient;
        } else {
            f->beside[patient].lost[DD_TABLE_CHART] = true;
        }
        dd_desk_row_done(f, s, patient);
    }
    for (size_t i = 0; i < count; i++)
        if (f->events[i].strikes >= 0)
            f->events[i].strikes = (int32_t)within[f->events[i].strikes];
    f->events = dd_desk_group(f, f->events, count, sizeof *f->events, patient_of, first, count_of);
    if (!f->events) {
        f->no_memory = true;
        return;
    }
    for (size_t i = 0; i < patients; i++) {
        f->patients[i].events = f->events + first[i];
        f->patients[i].event_count = count_of[i];
    }
}
