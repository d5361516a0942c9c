#include <stdio.h>
#include <string.h>

#include "desk.h"
#include "zone.h"

#define SHIFTS_MOST 12
#define HOURS_MOST 168

typedef enum setting { WARD, PLAN, TIMEZONE, BEGINS, HOURS, SHIFTS, DEMO, CARRIED, SETTINGS } setting;

/* A row of ward.csv whose setting is known. */
typedef struct ward_row {
    size_t offset;
    uint32_t line;
    bool there, good;
    const char *text;
    size_t length;
} ward_row;

static void ward_fault(dd_folder *f, dd_message_id id, const char *value, const char *first)
{
    dd_table_fault(&f->sheets[DD_TABLE_WARD], DD_COL_WARD_VALUE, id, value, first, NULL);
}

/* Roughly the plan's beginning, before the zone is known: which years of the zone are needed. */
static dd_moment about_begin(const char *text, size_t length)
{
    dd_time_text time;
    if (!text || dd_moment_read(text, length, &time) != DD_TF_NONE || !time.has_date)
        return dd_moment_days(2026, 1, 1) * 86400;
    return dd_moment_days(time.civil.year, time.civil.month, time.civil.day) * 86400;
}

static void read_zone(dd_folder *f, const char *name, dd_moment around)
{
    switch (dd_zone_read(name, around, f->arena, &f->zone)) {
    case DD_ZONE_READ: f->clock = &f->zone; break;
    case DD_ZONE_FORM: ward_fault(f, DD_MSG_ZONE_FORM, name, NULL); break;
    case DD_ZONE_NOT_KNOWN: ward_fault(f, DD_MSG_ZONE_UNKNOWN, name, NULL); break;
    case DD_ZONE_NO_MEMORY: f->no_memory = true; break;
    }
}

static void read_begins(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_WARD];
    dd_time_text time;
    const char *text = dd_cells_peek(s, DD_COL_WARD_VALUE);
    dd_time_fault fault = dd_moment_read(text, strlen(text), &time);
    static const char expected[] = "a date-time such as 2026-11-25 07:00";
    static const dd_message_id ids[] = {
        [DD_TF_FORM] = DD_MSG_TIME_FORM, [DD_TF_DATE_FORM] = DD_MSG_DATE_FORM, [DD_TF_NO_DATE] = DD_MSG_DATE_NONE,
        [DD_TF_NO_CLOCK] = DD_MSG_CLOCK_NONE,
    };
    if (fault != DD_TF_NONE)
        ward_fault(f, ids[fault], text, expected);
    else if (!time.has_date)
        ward_fault(f, DD_MSG_TIME_DATE_NEEDED, text, expected);
    else if (!time.has_clock)
        ward_fault(f, DD_MSG_TIME_CLOCK_NEEDED, text, expected);
    else
        (void)dd_cells_instant(s, DD_COL_WARD_VALUE, text, f->clock, &time, &f->plan.begins);
}

static bool read_hours(dd_folder *f, const char *text, size_t length, int64_t *hours)
{
    int64_t n = 0;
    bool good = length <= 4;
    for (size_t i = 0; good && i < length; i++) {
        good = text[i] >= '0' && text[i] <= '9';
        n = n * 10 + (text[i] - '0');
    }
    if (!good || n < 1 || n > HOURS_MOST) {
        ward_fault(f, DD_MSG_HOURS_RANGE, text, NULL);
        return false;
    }
    *hours = n;
    return true;
}

/* `day 07:00; night 19:00`. */
static bool read_shifts(dd_folder *f, const char *text)
{
    dd_shift *shifts = dd_arena_take_many(f->arena, SHIFTS_MOST, sizeof *shifts);
    if (!shifts) {
        f->no_memory = true;
        return false;
    }
    size_t count = 0;
    for (const char *p = text;;) {
        size_t length = strcspn(p, ";");
        const char *next = p[length] ? p + length + 1 : NULL;
        while (length && (*p == ' ' || *p == '\t')) {
            p++;
            length--;
        }
        while (length && (p[length - 1] == ' ' || p[length - 1] == '\t'))
            length--;
        size_t blank = length;
        while (blank && p[blank - 1] != ' ')
            blank--;
        dd_time_text time;
        size_t name = blank;
        while (name && p[name - 1] == ' ')
            name--;
        if (count == SHIFTS_MOST || name == 0 || name > 40 || dd_moment_read(p + blank, length - blank, &time) != DD_TF_NONE
            || time.has_date || time.has_weekday || !time.has_clock)
            return false;
        char *copy = dd_arena_text(f->arena, p, name);
        if (!copy) {
            f->no_memory = true;
            return false;
        }
        dd_shift shift = {copy, time.civil.hour * 3600 + time.civil.minute * 60 + time.civil.second};
        size_t at = count++;
        for (size_t i = 0; i < at; i++)
            if (shifts[i].second_of_day == shift.second_of_day || strcmp(shifts[i].name, copy) == 0)
                return false;
        for (; at && shifts[at - 1].second_of_day > shift.second_of_day; at--)
            shifts[at] = shifts[at - 1];
        shifts[at] = shift;
        if (!next)
            break;
        p = next;
    }
    f->plan.shifts = shifts;
    f->plan.shift_count = count;
    return true;
}

static bool is_uuid(const char *t, size_t n)
{
    if (n != 36)
        return false;
    for (size_t i = 0; i < n; i++) {
        bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        bool hex = (t[i] >= '0' && t[i] <= '9') || (t[i] >= 'a' && t[i] <= 'f') || (t[i] >= 'A' && t[i] <= 'F');
        if (dash ? t[i] != '-' : !hex)
            return false;
    }
    return true;
}

/* Notes each row under its setting; the meaning of one may need another, so nothing is read yet. False: some row could not
 * be read, and may be the one that seems to be missing. */
static bool collect(dd_folder *f, dd_sheet *s, ward_row rows[SETTINGS])
{
    bool all = true;
    while (dd_desk_next(f, s)) {
        int which;
        const char *text;
        size_t length;
        if (s->broken || !dd_cells_word(s, DD_COL_WARD_SETTING, &which)) {
            all = false;
            continue;
        }
        ward_row *row = &rows[which];
        if (row->there) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)row->line);
            dd_table_fault(s, DD_COL_WARD_SETTING, DD_MSG_SETTING_DOUBLED, NULL, line, NULL);
            continue;
        }
        *row = (ward_row){.offset = s->row.offset, .line = s->row.line, .there = true};
        if ((which == HOURS || which == SHIFTS || which == CARRIED || which == DEMO || which == WARD || which == PLAN)
            && !dd_cells_peek(s, DD_COL_WARD_VALUE))
            continue; /* blank: the default */
        row->good = dd_cells_text(s, DD_COL_WARD_VALUE, &text, &length);
        if (row->good) {
            row->text = dd_arena_text(f->arena, text, length);
            row->length = length;
            if (!row->text)
                f->no_memory = true;
        }
    }
    return all;
}

/* Makes a row the one that messages are about. */
static bool again(dd_folder *f, const ward_row *row)
{
    if (!row->good || f->no_memory)
        return false;
    if (dd_table_again(&f->sheets[DD_TABLE_WARD], row->offset, row->line) != DD_OK)
        f->no_memory = true;
    return !f->no_memory;
}

static void missing(dd_folder *f, const char *name)
{
    dd_sheet *s = &f->sheets[DD_TABLE_WARD];
    dd_table_fault_file(&f->sink, DD_TABLE_WARD, s->file, name, DD_MSG_SETTING_MISSING, NULL, name, NULL);
}

void dd_ward_read(dd_folder *f)
{
    static const dd_shift usual[] = {{"day", 7 * 3600}, {"night", 19 * 3600}};
    f->plan.shifts = usual;
    f->plan.shift_count = 2;
    f->plan.begins = f->plan.end = DD_NEVER;
    if (!f->there[DD_TABLE_WARD])
        return;
    dd_sheet *s = &f->sheets[DD_TABLE_WARD];
    ward_row rows[SETTINGS] = {0};
    bool all = collect(f, s, rows);
    int64_t hours = 0;
    if (again(f, &rows[TIMEZONE]))
        read_zone(f, rows[TIMEZONE].text, about_begin(rows[BEGINS].text, rows[BEGINS].length));
    if (again(f, &rows[BEGINS]))
        read_begins(f);
    if (again(f, &rows[HOURS]))
        (void)read_hours(f, rows[HOURS].text, rows[HOURS].length, &hours);
    if (again(f, &rows[SHIFTS]) && !read_shifts(f, rows[SHIFTS].text) && !f->no_memory)
        ward_fault(f, DD_MSG_SHIFTS_FORM, rows[SHIFTS].text, NULL);
    if (again(f, &rows[PLAN]) && !is_uuid(rows[PLAN].text, rows[PLAN].length))
        ward_fault(f, DD_MSG_PLAN_FORM, rows[PLAN].text, NULL);
    if (again(f, &rows[DEMO]) && strcmp(rows[DEMO].text, "yes") != 0)
        ward_fault(f, DD_MSG_DEMO_FORM, rows[DEMO].text, NULL);
    if (all && !rows[TIMEZONE].there)
        missing(f, "timezone");
    if (all && !rows[BEGINS].there)
        missing(f, "begins");
    f->plan.ward = rows[WARD].text;
    f->plan.id = rows[PLAN].text;
    f->plan.demo = rows[DEMO].text != NULL;
    f->plan.zone = f->clock;
    if (f->clock && f->plan.begins != DD_NEVER) {
        dd_civil c = dd_moment_local(f->clock, f->plan.begins);
        int32_t second = c.hour * 3600 + c.minute * 60 + c.second;
        /* The same clock on the next date: 23, 24 or 25 h. From noon of that date back, so that a doubled clock is met once. */
        f->plan.end = hours ? f->plan.begins + hours * 3600 : dd_moment_clock_after(f->clock, f->plan.begins, second);
    } else {
        f->clock = NULL; /* clocks mean nothing without a beginning; everything stops anyway */
    }
}
