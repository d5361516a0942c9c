#include "dialect.h"

#include <string.h>

dd_dialect dd_dialect_of(const dd_sheet *s)
{
    size_t end = s->row.offset + s->row.raw_length;
    return (dd_dialect){.cells = s->cells, .separator = s->separator, .crlf = end < s->length && s->bytes[end] == '\r'};
}

void dd_dialect_line_end(const dd_dialect *d, dd_bytes *out)
{
    dd_bytes_text(out, d->crlf ? "\r\n" : "\n");
}

static void cell(const dd_dialect *d, const char *text, dd_bytes *out)
{
    char special[] = {'"', '\r', '\n', d->separator, '\0'};
    size_t length = strlen(text);
    bool blank = length && (strchr(" \t", text[0]) || strchr(" \t", text[length - 1]));
    if (!blank && !strpbrk(text, special)) {
        dd_bytes_add(out, text, length);
        return;
    }
    dd_bytes_char(out, '"');
    for (const char *p = text; *p; p++) {
        if (*p == '"')
            dd_bytes_char(out, '"');
        dd_bytes_char(out, *p);
    }
    dd_bytes_char(out, '"');
}

void dd_dialect_row(const dd_dialect *d, const char *const *cells, dd_bytes *out)
{
    for (size_t i = 0; i < d->cells; i++) {
        if (i)
            dd_bytes_char(out, d->separator);
        if (cells[i])
            cell(d, cells[i], out);
    }
    dd_dialect_line_end(d, out);
}

bool dd_dialect_close(const dd_dialect *d, const char *bytes, size_t length, dd_bytes *out)
{
    if (length == 0 || bytes[length - 1] == '\n')
        return false;
    size_t begin = length, fields = 1;
    while (begin && bytes[begin - 1] != '\n')
        begin--;
    bool open = false, blank = true;
    for (size_t i = begin; i < length; i++) {
        blank = blank && (bytes[i] == ' ' || bytes[i] == '\t' || bytes[i] == '\r');
        if (bytes[i] == '"')
            open = !open;
        else if (bytes[i] == d->separator && !open)
            fields++;
    }
    bool cut = !blank && (open || fields < d->cells);
    if (open)
        dd_bytes_char(out, '"');
    if (cut) {
        dd_bytes_repeat(out, d->separator, fields < d->cells ? d->cells - fields + 1 : 1);
        dd_bytes_text(out, "cut off");
    }
    dd_dialect_line_end(d, out);
    return cut;
}
