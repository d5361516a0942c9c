#include "show.h"

#include <stdio.h>
#include <string.h>

#define VALUE_CHARACTERS 60
#define ARGUMENT_CHARACTERS 200
#define EXCERPT_CHARACTERS 96 /* of a line that are shown; the field with its carets is always among them */
#define BEFORE_FIELD 40       /* characters kept before a field that lies far to the right */

static const dd_message_text texts[DD_MSG_COUNT] = {
#define MESSAGE(id, code, what, expected, manual) [DD_MSG_##id] = {code, what, expected, manual},
#include "message.def"
#undef MESSAGE
};

const dd_message_text *dd_show_text(dd_message_id id)
{
    return &texts[id];
}

dd_message_id dd_show_find(const char *code)
{
    for (int i = 0; i < DD_MSG_COUNT; i++)
        if (strcmp(texts[i].code, code) == 0)
            return (dd_message_id)i;
    return DD_MSG_COUNT;
}

/* Bytes of the character that begins at text[0], and whether it is one that may be shown. What is not valid UTF-8 counts as
 * one character a byte. */
static size_t character(const char *text, size_t length, bool *good)
{
    const unsigned char *s = (const unsigned char *)text;
    *good = false;
    if (s[0] < 0x80) {
        *good = s[0] >= 0x20 && s[0] != 0x7f;
        return 1;
    }
    size_t n = s[0] >= 0xf0 ? 4 : s[0] >= 0xe0 ? 3 : 2;
    if (s[0] < 0xc2 || s[0] > 0xf4 || n > length)
        return 1;
    uint32_t code = s[0] & (0x7fU >> n);
    for (size_t i = 1; i < n; i++) {
        if ((s[i] & 0xc0) != 0x80)
            return 1;
        code = code << 6 | (s[i] & 0x3fU);
    }
    if ((n == 3 && code < 0x800) || (n == 4 && (code < 0x10000 || code > 0x10ffff)) || (code >= 0xd800 && code < 0xe000))
        return 1;
    /* Second control range, marks that turn the direction of writing, line separators: valid, but not for a terminal. */
    *good = code >= 0xa0 && code != 0x061c && code != 0xfeff && !(code >= 0x200b && code <= 0x200f)
        && !(code >= 0x2028 && code <= 0x202e) && !(code >= 0x2060 && code <= 0x206f);
    return n;
}

/* Characters of a text, counted as they are shown. */
static size_t characters(const char *text, size_t length)
{
    size_t n = 0;
    bool good;
    for (size_t i = 0; i < length; n++)
        i += character(text + i, length - i, &good);
    return n;
}

void dd_show_safe(const char *text, size_t length, size_t most, dd_bytes *out)
{
    size_t n = 0;
    for (size_t i = 0; i < length; n++) {
        if (most && n == most) {
            dd_bytes_char(out, '~');
            return;
        }
        bool good;
        size_t bytes = character(text + i, length - i, &good);
        if (good)
            dd_bytes_add(out, text + i, bytes);
        else
            dd_bytes_char(out, text[i] == '\t' ? ' ' : '?');
        i += bytes;
    }
}

/* Fills the placeholders of a text from the list. */
static void fill(const char *pattern, const dd_message *m, dd_bytes *out)
{
    for (const char *p = pattern; *p; p++) {
        if (strncmp(p, "{value}", 7) == 0) {
            dd_bytes_char(out, '"');
            if (m->value)
                dd_show_safe(m->value, strlen(m->value), VALUE_CHARACTERS, out);
            dd_bytes_char(out, '"');
            p += 6;
        } else if (p[0] == '{' && (p[1] == '1' || p[1] == '2') && p[2] == '}') {
            const char *arg = m->args[p[1] - '1'];
            if (arg)
                dd_show_safe(arg, strlen(arg), ARGUMENT_CHARACTERS, out);
            p += 2;
        } else {
            dd_bytes_char(out, *p);
        }
    }
}

/* The line with its number, cut to a window in which the field can be seen, and carets under the field. */
static void excerpt(const dd_message *m, dd_bytes *out)
{
    if (!m->raw || m->raw_length == 0)
        return;
    size_t from = m->from < m->raw_length ? m->from : m->raw_length;
    size_t bytes = m->length < m->raw_length - from ? m->length : m->raw_length - from;
    size_t before = characters(m->raw, from), wide = characters(m->raw + from, bytes);
    size_t skip = before > BEFORE_FIELD + 3 && characters(m->raw, m->raw_length) > EXCERPT_CHARACTERS ? before - BEFORE_FIELD : 0;
    size_t first = 0;
    bool good;
    for (size_t n = 0; n < skip; n++)
        first += character(m->raw + first, m->raw_length - first, &good);
    size_t last = first, shown = 0;
    while (last < m->raw_length && shown < EXCERPT_CHARACTERS) {
        last += character(m->raw + last, m->raw_length - last, &good);
        shown++;
    }
    dd_bytes_form(out, "%4lu | ", (unsigned long)m->line);
    if (skip)
        dd_bytes_text(out, "...");
    dd_show_safe(m->raw + first, last - first, 0, out);
    if (last < m->raw_length)
        dd_bytes_text(out, "...");
    dd_bytes_text(out, "\n");
    char number[24];
    int digits = snprintf(number, sizeof number, "%4lu", (unsigned long)m->line);
    dd_bytes_repeat(out, ' ', digits > 0 ? (size_t)digits + 1 : 5);
    dd_bytes_text(out, "| ");
    size_t lead = before - skip + (skip ? 3 : 0), room = EXCERPT_CHARACTERS - (before - skip);
    dd_bytes_repeat(out, ' ', lead);
    dd_bytes_repeat(out, '^', wide == 0 ? 1 : wide < room ? wide : room);
    dd_bytes_text(out, "\n");
}

void dd_show_what(const dd_message *m, dd_bytes *out)
{
    dd_show_safe(m->name, strlen(m->name), VALUE_CHARACTERS, out);
    dd_bytes_text(out, ": ");
    fill(texts[m->id].what, m, out);
    dd_bytes_form(out, " [%s]\n", texts[m->id].code);
}

void dd_show_expected(const dd_message *m, dd_bytes *out)
{
    dd_bytes_text(out, "   expected ");
    fill(texts[m->id].expected, m, out);
    dd_bytes_char(out, '\n');
}

void dd_show_message(const dd_message *m, dd_bytes *out)
{
    size_t from = m->from < m->raw_length ? m->from : m->raw_length;
    size_t column = m->raw ? characters(m->raw, from) + 1 : 1;
    dd_show_safe(m->file, strlen(m->file), VALUE_CHARACTERS, out);
    dd_bytes_form(out, ":%lu:%lu: ", (unsigned long)m->line, (unsigned long)column);
    dd_show_what(m, out);
    excerpt(m, out);
    dd_show_expected(m, out);
}

void dd_show_all(const dd_sink *sink, dd_bytes *out)
{
    size_t shown = 0;
    for (size_t i = 0; i < sink->count; i++) {
        const dd_message *m = &sink->kept[i];
        if (shown < DD_SHOWN)
            dd_show_message(m, out);
        shown++;
        bool last = i + 1 == sink->count || sink->kept[i + 1].table != m->table;
        if (last && sink->counted[m->table] > DD_SHOWN) {
            dd_show_safe(m->file, strlen(m->file), VALUE_CHARACTERS, out);
            dd_bytes_form(out, ": %lu more not shown\n", (unsigned long)(sink->counted[m->table] - DD_SHOWN));
        }
        if (last)
            shown = 0;
    }
}

static void count(dd_bytes *out, size_t n, const char *what)
{
    dd_bytes_form(out, "%lu %s%s", (unsigned long)n, what, n == 1 ? "" : "s");
}

void dd_show_verdict(const dd_verdict *v, dd_bytes *out)
{
    count(out, v->tables, "table");
    dd_bytes_text(out, ", ");
    count(out, v->rows, "row");
    dd_bytes_text(out, ": ");
    count(out, v->errors, "error");
    if (v->nothing_planned)
        dd_bytes_text(out, "; nothing is planned");
    else if (v->stopped)
        dd_bytes_form(out, "; %lu of %lu patient%s not planned", (unsigned long)v->stopped, (unsigned long)v->patients,
                      v->patients == 1 ? "" : "s");
    dd_bytes_char(out, '\n');
}
