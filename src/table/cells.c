#include "cells.h"

#include <stdio.h>
#include <string.h>

#include "gs1.h"
#include "nearest.h"

#define SHOWN_MOST 320 /* bytes of a value that a message copies from here */

bool dd_cells_control(const dd_cell *c)
{
    const unsigned char *s = (const unsigned char *)c->text;
    for (size_t i = 0; i < c->length; i++)
        if (s[i] < 0x20 || s[i] == 0x7f || (s[i] == 0xc2 && i + 1 < c->length && s[i + 1] < 0xa0))
            return true;
    return false;
}

static const dd_cell *cell_of(const dd_sheet *s, dd_column_id column)
{
    size_t at = (size_t)column - s->shape->first;
    int16_t where = s->where[at];
    if (where < 0 && s->other && s->taken >> at & 1)
        return cell_of(s->other, column);
    if (where < 0 || (size_t)where >= s->row.count || s->row.cells[where].length == 0)
        return NULL;
    return &s->row.cells[where];
}

const char *dd_cells_peek(const dd_sheet *s, dd_column_id column)
{
    const dd_cell *c = cell_of(s, column);
    return c ? c->text : NULL;
}

/* The separator of a scanned code is a control character, and belongs to it. */
static bool is_control(const dd_cell *c, dd_column_id column)
{
    if (column != DD_COL_BAGS_CODE)
        return dd_cells_control(c);
    for (size_t i = 0, next; i <= c->length; i = next + 1) {
        const char *separator = memchr(c->text + i, '\x1d', c->length - i);
        next = separator ? (size_t)(separator - c->text) : c->length;
        if (dd_cells_control(&(dd_cell){c->text + i, next - i}))
            return true;
    }
    return false;
}

/* A list of words with commas between them. */
static const char *listed(char *out, size_t room, const char *words)
{
    size_t at = 0;
    for (const char *p = words; *p && at + 3 < room; p++) {
        if (*p == ' ')
            out[at++] = ',';
        out[at++] = *p;
    }
    out[at] = '\0';
    return out;
}

bool dd_cells_text(dd_sheet *s, dd_column_id column, const char **text, size_t *length)
{
    const dd_column *def = &dd_column_list[column];
    const dd_cell *c = cell_of(s, column);
    *text = NULL;
    *length = 0;
    if (!c) {
        if (!def->required)
            return true;
        char words[400];
        dd_table_fault(s, column, DD_MSG_CELL_BLANK, NULL,
                       def->type == DD_TYPE_WORD ? listed(words, sizeof words, def->words) : def->expected, NULL);
        return false;
    }
    if (s->row.odd && is_control(c, column)) {
        dd_table_fault(s, column, DD_MSG_CONTROL_CHARACTER, c->text, NULL, NULL);
        return false;
    }
    if (c->length > def->most && def->type != DD_TYPE_KEY) {
        char most[24];
        snprintf(most, sizeof most, "%zu", def->most);
        dd_table_fault(s, column, DD_MSG_TEXT_LONG, c->text, most, NULL);
        return false;
    }
    if ((column == DD_COL_BAGS_LOT || def->type == DD_TYPE_KEY) && dd_gs1_is_exponent(c->text, c->length)) {
        dd_table_fault(s, column, DD_MSG_CODE_EXPONENT, c->text, NULL, NULL);
        return false;
    }
    *text = c->text;
    *length = c->length;
    return true;
}

bool dd_cells_copy(dd_sheet *s, dd_column_id column, const char **text, bool *failed)
{
    size_t length;
    if (!dd_cells_text(s, column, text, &length))
        return false;
    if (*text) {
        *text = dd_arena_text(s->arena, *text, length);
        if (!*text)
            *failed = true;
    }
    return true;
}

static bool letter_or_digit(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

bool dd_cells_is_key(const char *text, size_t length)
{
    if (length == 0 || length > DD_KEY_MOST || !letter_or_digit(text[0]))
        return false;
    for (size_t i = 1; i < length; i++)
        if (!letter_or_digit(text[i]) && text[i] != '.' && text[i] != '_' && text[i] != '-')
            return false;
    return true;
}

bool dd_cells_key(dd_sheet *s, dd_column_id column, const char **text, size_t *length)
{
    if (!dd_cells_text(s, column, text, length))
        return false;
    if (!*text || dd_cells_is_key(*text, *length))
        return true;
    dd_table_fault(s, column, DD_MSG_KEY_FORM, *text, dd_column_list[column].expected, NULL);
    return false;
}

bool dd_cells_word(dd_sheet *s, dd_column_id column, int *index)
{
    const char *text;
    size_t length;
    *index = -1;
    if (!dd_cells_text(s, column, &text, &length))
        return false;
    if (!text)
        return true;
    const char *words = dd_column_list[column].words;
    int n = 0;
    for (const char *p = words; *p; n++) {
        size_t size = strcspn(p, " ");
        if (size == length && memcmp(p, text, length) == 0) {
            *index = n;
            return true;
        }
        p += size;
        p += strspn(p, " ");
    }
    dd_nearest nearest = dd_nearest_begin(text, length);
    size_t best = 0;
    dd_nearest_list(&nearest, words, &best);
    char all[400];
    if (nearest.best)
        snprintf(all, sizeof all, "%.*s", (int)best, nearest.best);
    else
        listed(all, sizeof all, words);
    dd_table_fault(s, column, column == DD_COL_WARD_SETTING ? DD_MSG_SETTING_UNKNOWN : DD_MSG_WORD_UNKNOWN, text, all, NULL);
    return false;
}

void dd_cells_quantity_fault(dd_sheet *s, dd_column_id column, dd_quantity_fault fault, const char *shown, const char *hint)
{
    static const dd_message_id ids[] = {
        [DD_QF_NO_NUMBER] = DD_MSG_NUMBER_MISSING,       [DD_QF_COMMA] = DD_MSG_NUMBER_COMMA,
        [DD_QF_LEADING_POINT] = DD_MSG_NUMBER_LEADING_POINT, [DD_QF_TRAILING_POINT] = DD_MSG_NUMBER_TRAILING_POINT,
        [DD_QF_SIGN] = DD_MSG_NUMBER_SIGN,               [DD_QF_THOUSANDS] = DD_MSG_NUMBER_THOUSANDS,
        [DD_QF_EXPONENT] = DD_MSG_NUMBER_EXPONENT,       [DD_QF_DIGITS] = DD_MSG_NUMBER_DIGITS,
        [DD_QF_NO_UNIT] = DD_MSG_UNIT_MISSING,           [DD_QF_UNIT_UNKNOWN] = DD_MSG_UNIT_UNKNOWN,
        [DD_QF_UNIT_UNSAFE] = DD_MSG_UNIT_UNSAFE,        [DD_QF_UNIT_WRONG] = DD_MSG_UNIT_WRONG,
        [DD_QF_ZERO] = DD_MSG_NUMBER_ZERO,               [DD_QF_TOO_LARGE] = DD_MSG_NUMBER_LARGE,
    };
    dd_table_fault(s, column, ids[fault], shown, dd_column_list[column].expected, hint ? hint : dd_column_list[column].expected);
}

/* Text with a NUL behind it, cut where no message would show more. */
static const char *shown_of(char out[SHOWN_MOST], const char *text, size_t length)
{
    size_t n = length < SHOWN_MOST - 1 ? length : SHOWN_MOST - 1;
    memcpy(out, text, n);
    out[n] = '\0';
    return out;
}

bool dd_cells_part(dd_sheet *s, dd_column_id column, const char *text, size_t length, unsigned takes, bool zero, dd_quantity *out)
{
    const char *hint = NULL;
    dd_quantity_fault fault = dd_quantity_read(text, length, takes, zero, out, &hint);
    if (fault == DD_QF_NONE)
        return true;
    char shown[SHOWN_MOST];
    dd_cells_quantity_fault(s, column, fault, shown_of(shown, text, length), hint);
    return false;
}

bool dd_cells_quantity(dd_sheet *s, dd_column_id column, dd_quantity *out)
{
    const char *text;
    size_t length;
    *out = (dd_quantity){0};
    if (!dd_cells_text(s, column, &text, &length))
        return false;
    return !text || dd_cells_part(s, column, text, length, dd_column_list[column].takes, dd_column_list[column].zero, out);
}

bool dd_cells_volume_fine(dd_sheet *s, dd_column_id column, int64_t *ul, int64_t *u)
{
    dd_quantity q;
    dd_volume v;
    dd_ratio exact;
    *ul = *u = DD_UNKNOWN;
    if (!dd_cells_quantity(s, column, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    int64_t tens;
    if (dd_quantity_volume(q, &v) != DD_OK || dd_quantity_exact(q, &exact) != DD_OK || dd_ratio_times(exact, (dd_ratio){DD_U_PER_UL / 10, 1}, &exact) != DD_OK
        || dd_ratio_half_up(exact, 1, &tens) != DD_OK) {
        dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, dd_cells_peek(s, column), NULL);
        return false;
    }
    if (tens == 0 && q.micro > 0) {
        dd_table_fault(s, column, DD_MSG_VOLUME_TINY, dd_cells_peek(s, column), NULL, NULL);
        return false;
    }
    *ul = v.ul;
    *u = tens * 10;
    return true;
}

bool dd_cells_volume(dd_sheet *s, dd_column_id column, int64_t *ul)
{
    dd_quantity q;
    dd_volume v;
    *ul = DD_UNKNOWN;
    if (!dd_cells_quantity(s, column, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    if (dd_quantity_volume(q, &v) != DD_OK) {
        dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, dd_cells_peek(s, column), NULL);
        return false;
    }
    if (v.ul == 0 && q.micro > 0) {
        dd_table_fault(s, column, DD_MSG_VOLUME_TINY, dd_cells_peek(s, column), NULL, NULL);
        return false;
    }
    *ul = v.ul;
    return true;
}

bool dd_cells_seconds(dd_sheet *s, dd_column_id column, int64_t *seconds)
{
    dd_quantity q;
    *seconds = DD_UNKNOWN;
    if (!dd_cells_quantity(s, column, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    if (dd_quantity_seconds(q, seconds) != DD_OK || *seconds > INT64_C(366) * 86400) {
        dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, dd_cells_peek(s, column), NULL);
        return false;
    }
    if (*seconds == 0 && q.micro > 0)
        *seconds = 1; /* half a second is not nothing */
    return true;
}

bool dd_cells_count(dd_sheet *s, dd_column_id column, int64_t least, int64_t most, int64_t *out)
{
    const char *text;
    size_t length;
    *out = DD_UNKNOWN;
    if (!dd_cells_text(s, column, &text, &length))
        return false;
    if (!text)
        return true;
    int64_t n = 0;
    bool good = length > 0 && length <= 9;
    for (size_t i = 0; good && i < length; i++) {
        good = text[i] >= '0' && text[i] <= '9';
        n = n * 10 + (text[i] - '0');
    }
    if (!good || n < least || n > most) {
        dd_table_fault(s, column, DD_MSG_NUMBER_WHOLE, text, dd_column_list[column].expected, NULL);
        return false;
    }
    *out = n;
    return true;
}

/* ---- times ---- */

void dd_cells_time_fault(dd_sheet *s, dd_column_id column, dd_time_fault fault, const char *shown)
{
    static const dd_message_id ids[] = {
        [DD_TF_FORM] = DD_MSG_TIME_FORM, [DD_TF_DATE_FORM] = DD_MSG_DATE_FORM, [DD_TF_NO_DATE] = DD_MSG_DATE_NONE,
        [DD_TF_NO_CLOCK] = DD_MSG_CLOCK_NONE,
    };
    dd_table_fault(s, column, ids[fault], shown, dd_column_list[column].expected, NULL);
}

bool dd_cells_time(dd_sheet *s, dd_column_id column, dd_time_text *out, bool *blank)
{
    const char *text;
    size_t length;
    *out = (dd_time_text){0};
    *blank = true;
    if (!dd_cells_text(s, column, &text, &length))
        return false;
    if (!text)
        return true;
    *blank = false;
    dd_time_fault fault = dd_moment_read(text, length, out);
    if (fault == DD_TF_NONE)
        return true;
    dd_cells_time_fault(s, column, fault, text);
    return false;
}

bool dd_cells_instant(dd_sheet *s, dd_column_id column, const char *shown, const dd_zone *zone, const dd_time_text *time, dd_moment *out)
{
    *out = DD_NEVER;
    if (!zone)
        return true;
    dd_moment t;
    dd_clock_kind kind = DD_CLOCK_ONCE;
    if (time->has_offset) {
        const dd_civil *c = &time->civil;
        t = dd_moment_days(c->year, c->month, c->day) * 86400 + c->hour * 3600 + c->minute * 60 + c->second - time->offset;
    } else {
        t = dd_moment_resolve(zone, time->civil, &kind);
    }
    if (t < zone->covers_from + 86400 || t > zone->covers_to - 86400) {
        dd_table_fault(s, column, DD_MSG_TIME_FAR, shown, NULL, NULL);
        return false;
    }
    if (kind != DD_CLOCK_ONCE) {
        char first[DD_MOMENT_MAX], second[DD_MOMENT_MAX], both[2 * DD_MOMENT_MAX + 8];
        dd_moment_write(first, zone, t, DD_MOMENT_PROGRAM);
        snprintf(both, sizeof both, "%s", first);
        if (kind == DD_CLOCK_TWICE) {
            int32_t now = dd_moment_offset(zone, t), then = dd_moment_offset(zone, t + 86400);
            dd_moment_write(second, zone, t + (now - then), DD_MOMENT_PROGRAM);
            snprintf(both, sizeof both, "%s or %s", first, second);
        }
        dd_table_fault(s, column, kind == DD_CLOCK_TWICE ? DD_MSG_TIME_TWICE : DD_MSG_TIME_SKIPPED, shown, zone->name, both);
        return false;
    }
    *out = t;
    return true;
}

bool dd_cells_moment(dd_sheet *s, dd_column_id column, const dd_zone *zone, dd_moment *out)
{
    dd_time_text time;
    bool blank;
    *out = DD_NEVER;
    if (!dd_cells_time(s, column, &time, &blank))
        return false;
    if (blank)
        return true;
    const char *text = dd_cells_peek(s, column);
    if (!time.has_date || !time.has_clock) {
        dd_table_fault(s, column, time.has_date ? DD_MSG_TIME_CLOCK_NEEDED : DD_MSG_TIME_DATE_NEEDED, text,
                       dd_column_list[column].expected, NULL);
        return false;
    }
    return dd_cells_instant(s, column, text, zone, &time, out);
}

bool dd_cells_date(dd_sheet *s, dd_column_id column, const dd_zone *zone, dd_moment *out)
{
    dd_time_text time;
    bool blank;
    *out = DD_NEVER;
    if (!dd_cells_time(s, column, &time, &blank))
        return false;
    if (blank)
        return true;
    const char *text = dd_cells_peek(s, column);
    if (!time.has_date) {
        dd_table_fault(s, column, DD_MSG_TIME_DATE_NEEDED, text, dd_column_list[column].expected, NULL);
        return false;
    }
    if (time.has_clock)
        return dd_cells_instant(s, column, text, zone, &time, out);
    if (zone) {
        /* The end of the day: the beginning of the next one, wherever its midnight falls. */
        dd_civil noon = time.civil;
        noon.hour = 12;
        noon.minute = noon.second = 0;
        *out = dd_moment_clock_after(zone, dd_moment_resolve(zone, noon, NULL), 0);
    }
    return true;
}
