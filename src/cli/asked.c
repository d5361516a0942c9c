#include "asked.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "show.h"

#define VALUE_CHARACTERS 60

/* Spaces and tabs at both ends do not count, as in a cell. */
static size_t trim(const char **text)
{
    *text += strspn(*text, " \t");
    size_t length = strlen(*text);
    while (length > 0 && ((*text)[length - 1] == ' ' || (*text)[length - 1] == '\t'))
        length--;
    return length;
}

static void begin(dd_asked *a, const char *option)
{
    a->wrong = true;
    dd_bytes_form(a->err, "daydrip %s: %s: ", a->verb, option);
}

/* One pattern of message.def, where {value} is the text in quotes and {1}, {2} what is given. */
static void fill(dd_asked *a, const char *pattern, const char *text, size_t length, const char *first, const char *second)
{
    for (const char *p = pattern; *p != '\0'; p++) {
        if (strncmp(p, "{value}", 7) == 0) {
            dd_bytes_char(a->err, '"');
            dd_show_safe(text, length, VALUE_CHARACTERS, a->err);
            dd_bytes_char(a->err, '"');
            p += 6;
        } else if (strncmp(p, "{1}", 3) == 0 || strncmp(p, "{2}", 3) == 0) {
            dd_bytes_text(a->err, p[1] == '1' ? first : second);
            p += 2;
        } else {
            dd_bytes_char(a->err, *p);
        }
    }
}

static void say(dd_asked *a, const char *option, dd_message_id id, const char *text, size_t length, const char *expected, const char *hint)
{
    const dd_message_text *message = dd_show_text(id);
    begin(a, option);
    fill(a, message->what, text, length, expected, hint);
    dd_bytes_form(a->err, " [%s]\n    expected ", message->code);
    fill(a, message->expected, text, length, expected, hint);
    dd_bytes_char(a->err, '\n');
}

bool dd_asked_quantity(dd_asked *a, const char *option, const char *text, unsigned takes, bool zero, const char *expected, dd_quantity *out)
{
    static const dd_message_id ids[] = {
        [DD_QF_NO_NUMBER] = DD_MSG_NUMBER_MISSING, [DD_QF_COMMA] = DD_MSG_NUMBER_COMMA, [DD_QF_LEADING_POINT] = DD_MSG_NUMBER_LEADING_POINT,
        [DD_QF_TRAILING_POINT] = DD_MSG_NUMBER_TRAILING_POINT, [DD_QF_SIGN] = DD_MSG_NUMBER_SIGN, [DD_QF_THOUSANDS] = DD_MSG_NUMBER_THOUSANDS,
        [DD_QF_EXPONENT] = DD_MSG_NUMBER_EXPONENT, [DD_QF_DIGITS] = DD_MSG_NUMBER_DIGITS, [DD_QF_NO_UNIT] = DD_MSG_UNIT_MISSING,
        [DD_QF_UNIT_UNKNOWN] = DD_MSG_UNIT_UNKNOWN, [DD_QF_UNIT_UNSAFE] = DD_MSG_UNIT_UNSAFE, [DD_QF_UNIT_WRONG] = DD_MSG_UNIT_WRONG,
        [DD_QF_ZERO] = DD_MSG_NUMBER_ZERO, [DD_QF_TOO_LARGE] = DD_MSG_NUMBER_LARGE,
    };
    *out = (dd_quantity){.per_micro = 1000000, .unit = DD_UNIT_NONE, .per = DD_UNIT_NONE};
    if (text == NULL)
        return true;
    const char *hint = NULL;
    size_t length = trim(&text);
    dd_quantity_fault fault = dd_quantity_read(text, length, takes, zero, out, &hint);
    if (fault == DD_QF_NONE)
        return true;
    if (hint != NULL && fault != DD_QF_UNIT_UNSAFE) {
        char named[160];
        snprintf(named, sizeof named, "%s instead of that unit: %s", hint, expected);
        say(a, option, ids[fault], text, length, named, hint);
    } else {
        say(a, option, ids[fault], text, length, expected, hint != NULL ? hint : expected);
    }
    return false;
}

bool dd_asked_time(dd_asked *a, const char *option, const char *text, dd_time_text *out)
{
    static const dd_message_id ids[] = {
        [DD_TF_FORM] = DD_MSG_TIME_FORM, [DD_TF_DATE_FORM] = DD_MSG_DATE_FORM, [DD_TF_NO_DATE] = DD_MSG_DATE_NONE, [DD_TF_NO_CLOCK] = DD_MSG_CLOCK_NONE,
    };
    static const char expected[] = "a clock such as 08:00, or a date and clock such as 2026-11-25 08:00";
    *out = (dd_time_text){0};
    if (text == NULL)
        return true;
    size_t length = trim(&text);
    dd_time_text time;
    dd_time_fault fault = dd_moment_read(text, length, &time);
    if (fault == DD_TF_NONE && time.has_clock && !time.has_weekday && !time.has_offset) {
        *out = time;
        return true;
    }
    say(a, option, fault == DD_TF_NONE ? (time.has_clock ? DD_MSG_TIME_FORM : DD_MSG_TIME_CLOCK_NEEDED) : ids[fault], text, length, expected, expected);
    return false;
}

/* A message about the cell of an order, with the option in its place. */
static void say_message(dd_asked *a, const char *option, const dd_message *message)
{
    dd_message said = *message;
    said.name = option;
    a->wrong = true;
    dd_bytes_form(a->err, "daydrip %s: ", a->verb);
    dd_show_what(&said, a->err);
    dd_bytes_char(a->err, ' ');
    dd_show_expected(&said, a->err);
}

bool dd_asked_mixture(dd_asked *a, const char *option, const char *text, int64_t bag_ul, const char *needs, dd_folder *folder, dd_mix *out)
{
    switch (dd_mix_read(folder, text, bag_ul, out)) {
    case DD_MIX_READ: return true;
    case DD_MIX_WRONG:
        for (size_t i = 0; i < out->wrong.count; i++)
            say_message(a, option, &out->wrong.kept[i]);
        break;
    case DD_MIX_NEEDS_BAG: dd_asked_wrong(a, option, text, "has an amount for each bag\n    expected %s", needs); break;
    case DD_MIX_NO_MEMORY: dd_asked_no_memory(a); break;
    }
    return false;
}

void dd_asked_message(dd_asked *a, const char *option, dd_message_id id, const char *text, const char *first, const char *second)
{
    say(a, option, id, text, strlen(text), first, second);
}

void dd_asked_wrong(dd_asked *a, const char *option, const char *text, const char *format, ...)
{
    char said[512];
    va_list args;
    va_start(args, format);
    vsnprintf(said, sizeof said, format, args);
    va_end(args);
    begin(a, option);
    if (text != NULL) {
        dd_bytes_char(a->err, '"');
        dd_show_safe(text, strlen(text), VALUE_CHARACTERS, a->err);
        dd_bytes_text(a->err, "\" ");
    }
    dd_bytes_text(a->err, said);
    dd_bytes_char(a->err, '\n');
}

void dd_asked_no_memory(dd_asked *a)
{
    a->wrong = a->no_memory = true;
    dd_bytes_text(a->err, "daydrip: not enough memory\n");
}

int dd_asked_end(dd_asked *a)
{
    if (a->no_memory)
        return DD_EXIT_FILE;
    dd_bytes_form(a->err, "    daydrip %s --help says what can be asked\n", a->verb);
    return DD_EXIT_USAGE;
}
