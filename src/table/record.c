#include "record.h"

#include <csv.h>
#include <string.h>

#include "arena.h"

struct dd_records {
    struct csv_parser parser;
    const char *bytes;
    size_t length, at;   /* at: where the next physical line begins */
    uint32_t line;       /* its number */
    char separator;
    /* the row that is read */
    dd_cell *cells;
    char *text;          /* decoded cells, one after the other */
    size_t cell_room, text_room, text_used;
    size_t fed;          /* raw bytes of the row so far */
    size_t count;        /* cells seen */
    size_t long_cell;    /* first one above the ceiling, else SIZE_MAX */
    bool ended, any, failed;
};

static int is_line_feed(unsigned char c)
{
    return c == '\n';
}

static void *grow(void *old, size_t size)
{
    return dd_arena_allocator(old, size);
}

static void release(void *old)
{
    if (old)
        dd_arena_allocator(old, 0);
}

/* A fresh parser: after an error libcsv still holds half a field. */
static bool begin_parser(dd_records *c)
{
    if (csv_init(&c->parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
        return false;
    csv_set_delim(&c->parser, (unsigned char)c->separator);
    csv_set_term_func(&c->parser, is_line_feed);
    csv_set_realloc_func(&c->parser, grow);
    csv_set_free_func(&c->parser, release);
    csv_set_blk_size(&c->parser, 1024);
    return true;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static void on_cell(void *bytes, size_t length, void *data)
{
    dd_records *c = data;
    const char *text = bytes;
    if (length > DD_RECORD_FIELD_MOST) {
        if (c->long_cell == SIZE_MAX)
            c->long_cell = c->count;
        length = 0;
        c->any = true;
    }
    while (length && is_blank(text[length - 1]))
        length--;
    while (length && is_blank(text[0])) {
        text++;
        length--;
    }
    size_t n = c->count++;
    if (length)
        c->any = true;
    if (n >= DD_RECORD_CELLS_MOST)
        return;
    if (n == c->cell_room) {
        size_t room = n ? n * 2 : 64;
        dd_cell *cells = dd_arena_allocator(c->cells, room * sizeof *cells);
        if (!cells) {
            c->failed = true;
            c->count--;
            return;
        }
        c->cells = cells;
        c->cell_room = room;
    }
    char *to = c->text + c->text_used; /* room was made for the whole row */
    if (length)
        memcpy(to, text, length);
    to[length] = '\0';
    c->cells[n] = (dd_cell){to, length};
    c->text_used += length + 1;
}

static void on_row(int term, void *data)
{
    (void)term;
    ((dd_records *)data)->ended = true;
}

dd_status dd_record_open(const char *bytes, size_t length, char separator, dd_records **out)
{
    dd_records *c = dd_arena_allocator(NULL, sizeof *c);
    if (!c)
        return DD_NO_MEMORY;
    *c = (dd_records){.bytes = bytes, .length = length, .line = 1};
    if (length >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0)
        c->at = 3;
    c->separator = separator;
    if (!separator) {
        size_t commas = 0, semicolons = 0, tabs = 0;
        size_t i = c->at;
        while (i < length && (bytes[i] == '\n' || bytes[i] == '\r'))
            i++;
        for (bool quoted = false; i < length && (quoted || bytes[i] != '\n') && i - c->at < DD_RECORD_FIELD_MOST; i++) {
            if (bytes[i] == '"')
                quoted = !quoted;
            else if (!quoted && bytes[i] == ',')
                commas++;
            else if (!quoted && bytes[i] == ';')
                semicolons++;
            else if (!quoted && bytes[i] == '\t')
                tabs++;
        }
        c->separator = commas ? ',' : semicolons ? ';' : tabs ? '\t' : ',';
    }
    if (!begin_parser(c)) {
        dd_arena_allocator(c, 0);
        return DD_NO_MEMORY;
    }
    *out = c;
    return DD_OK;
}

void dd_record_close(dd_records *c)
{
    if (!c)
        return;
    csv_free(&c->parser);
    release(c->cells);
    release(c->text);
    dd_arena_allocator(c, 0);
}

char dd_record_separator(const dd_records *c)
{
    return c->separator;
}

void dd_record_seek(dd_records *c, size_t offset, uint32_t line)
{
    c->at = offset;
    c->line = line;
}

/* Room for the decoded cells of the row with `more` raw bytes to come: a cell is never longer than what is written, and the
 * separator or line end behind it leaves a byte for its NUL. Counted from the raw bytes, since libcsv may still hold the part
 * of a field that was fed before. */
static bool text_room(dd_records *c, size_t more)
{
    c->fed += more;
    size_t want = c->fed + 2;
    if (want <= c->text_room)
        return true;
    size_t room = want * 2;
    char *old = c->text, *text = dd_arena_allocator(NULL, room);
    if (!text)
        return false;
    if (c->text_used)
        memcpy(text, old, c->text_used);
    size_t kept = c->count < DD_RECORD_CELLS_MOST ? c->count : DD_RECORD_CELLS_MOST;
    for (size_t i = 0; i < kept; i++)
        c->cells[i].text = text + (c->cells[i].text - old);
    release(old);
    c->text = text;
    c->text_room = room;
    return true;
}

/* The physical line at `at`: its length without its end, and where the next one begins. */
static size_t line_length(const dd_records *c, size_t at, size_t *next)
{
    const char *end = memchr(c->bytes + at, '\n', c->length - at);
    size_t stop = end ? (size_t)(end - c->bytes) : c->length;
    *next = end ? stop + 1 : stop;
    return stop > at && c->bytes[stop - 1] == '\r' ? stop - 1 - at : stop - at;
}

typedef enum feed_end { FEED_ROW, FEED_INSIDE, FEED_ERROR, FEED_NO_MEMORY } feed_end;

/* Feeds one physical line and its end. */
static feed_end feed(dd_records *c, size_t at, size_t length, size_t next)
{
    if (!text_room(c, next - at + 1))
        return FEED_NO_MEMORY;
    /* One call where the line ends in a plain line feed; otherwise the end is given by itself. */
    bool plain = next == at + length + 1;
    size_t n = plain ? length + 1 : length;
    if (csv_parse(&c->parser, c->bytes + at, n, on_cell, on_row, c) != n)
        return csv_error(&c->parser) == CSV_EPARSE ? FEED_ERROR : FEED_NO_MEMORY;
    if (!plain && csv_parse(&c->parser, "\n", 1, on_cell, on_row, c) != 1)
        return csv_error(&c->parser) == CSV_EPARSE ? FEED_ERROR : FEED_NO_MEMORY;
    return c->failed ? FEED_NO_MEMORY : c->ended ? FEED_ROW : FEED_INSIDE;
}

/* Whether the quoted field that is open at the end of a line is closed properly further on, within the ceiling. From `at`,
 * the beginning of the next line. */
static bool closes(const dd_records *c, size_t at)
{
    size_t limit = c->length - at < DD_RECORD_FIELD_MOST ? c->length : at + DD_RECORD_FIELD_MOST;
    for (size_t i = at; i < limit; i++) {
        if (c->bytes[i] != '"')
            continue;
        if (i + 1 < c->length && c->bytes[i + 1] == '"') {
            i++;
            continue;
        }
        i++;
        while (i < c->length && is_blank(c->bytes[i]) && c->bytes[i] != c->separator)
            i++;
        return i >= c->length || c->bytes[i] == c->separator || c->bytes[i] == '\n' || c->bytes[i] == '\r';
    }
    return false;
}

/* Looks for bytes that cannot stand: fast over plain text. */
static dd_record_fault look(const char *text, size_t length, size_t *where, bool *odd)
{
    unsigned high = 0, control = 0, nul = 0;
    const unsigned char *s = (const unsigned char *)text;
    for (size_t i = 0; i < length; i++) {
        high |= s[i];
        control |= (unsigned)((s[i] < 0x20) & (s[i] != '\t')) | (unsigned)(s[i] == 0x7f);
        nul |= (unsigned)(s[i] == 0);
    }
    *odd = control;
    if (nul) {
        const char *at = memchr(text, '\0', length);
        *where = at ? (size_t)(at - text) : 0;
        return DD_RECORD_NUL;
    }
    if (high < 0x80)
        return DD_RECORD_FINE;
    for (size_t i = 0; i < length;) {
        size_t n = s[i] < 0x80 ? 1 : s[i] < 0xc2 || s[i] > 0xf4 ? 0 : s[i] >= 0xf0 ? 4 : s[i] >= 0xe0 ? 3 : 2;
        bool good = n && n <= length - i;
        for (size_t k = 1; good && k < n; k++)
            good = (s[i + k] & 0xc0) == 0x80;
        if (good && n == 3)
            good = !(s[i] == 0xe0 && s[i + 1] < 0xa0) && !(s[i] == 0xed && s[i + 1] >= 0xa0);
        if (good && n == 4)
            good = !(s[i] == 0xf0 && s[i + 1] < 0x90) && !(s[i] == 0xf4 && s[i + 1] >= 0x90);
        if (!good) {
            *where = i;
            return DD_RECORD_ENCODING;
        }
        if (n == 2 && s[i] == 0xc2 && s[i + 1] < 0xa0)
            *odd = true;
        i += n;
    }
    return DD_RECORD_FINE;
}

/* Number of the field that the byte stands in. */
static size_t field_at(const char *raw, size_t length, char separator, size_t byte)
{
    bool quoted = false;
    size_t field = 0;
    for (size_t i = 0; i < length && i < byte; i++) {
        if (raw[i] == '"')
            quoted = !quoted;
        else if (raw[i] == separator && !quoted)
            field++;
    }
    return field;
}

/* One physical line, and what belongs to it where a field goes over its end. *blank: there was nothing in it. */
static dd_status read_row(dd_records *c, dd_record *row, bool *blank)
{
    size_t next, at = c->at, length = line_length(c, at, &next);
    *row = (dd_record){.raw = c->bytes + at, .raw_length = length, .offset = at, .line = c->line};
    c->count = c->text_used = c->fed = 0;
    c->long_cell = SIZE_MAX;
    c->ended = c->any = false;
    c->at = next;
    c->line++;
    size_t where = 0;
    dd_record_fault fault = look(row->raw, length, &where, &row->odd);
    if (fault != DD_RECORD_FINE)
        row->fault_cell = field_at(row->raw, length, c->separator, where);
    *blank = false;
    feed_end end = feed(c, at, length, next);
    bool empty = true;
    if (end == FEED_INSIDE)
        for (size_t i = 0; i < length && empty; i++)
            empty = is_blank(row->raw[i]);
    if (end == FEED_INSIDE && empty) {
        *blank = true; /* libcsv gives no row for an empty line */
    } else if (end == FEED_INSIDE) {
        size_t first = c->count;
        dd_record_fault over = DD_RECORD_QUOTE_OPEN;
        size_t resume = c->at;
        uint32_t resume_line = c->line;
        while (end == FEED_INSIDE && closes(c, c->at)) {
            over = DD_RECORD_NEWLINE;
            do {
                at = c->at;
                length = line_length(c, at, &next);
                bool odd;
                dd_record_fault further = look(c->bytes + at, length, &where, &odd);
                if (fault == DD_RECORD_FINE && further == DD_RECORD_NUL) {
                    fault = further;
                    row->fault_cell = first;
                }
                row->odd |= odd;
                size_t before = c->count;
                end = feed(c, at, length, next);
                c->at = next;
                c->line++;
                if (end == FEED_INSIDE && c->count > before && c->at < c->length)
                    break; /* the field was closed and another one is open */
            } while (end == FEED_INSIDE && c->at < c->length);
            resume = c->at;
            resume_line = c->line;
        }
        c->at = resume;
        c->line = resume_line;
        if (fault == DD_RECORD_FINE) {
            fault = over;
            row->fault_cell = first;
        }
    } else if (end == FEED_ERROR && fault == DD_RECORD_FINE) {
        fault = c->parser.quoted ? DD_RECORD_AFTER_QUOTE : DD_RECORD_QUOTE_INSIDE;
        row->fault_cell = c->count;
    }
    if (end == FEED_NO_MEMORY)
        return DD_NO_MEMORY;
    if (end != FEED_ROW && !*blank) {
        csv_free(&c->parser);
        if (!begin_parser(c))
            return DD_NO_MEMORY;
    }
    if (fault == DD_RECORD_FINE && c->long_cell != SIZE_MAX) {
        fault = DD_RECORD_FIELD_LONG;
        row->fault_cell = c->long_cell;
    }
    row->fault = fault;
    if (fault == DD_RECORD_FINE && !c->any)
        *blank = true;
    row->cells = c->cells;
    row->count = c->count < DD_RECORD_CELLS_MOST ? c->count : DD_RECORD_CELLS_MOST;
    return DD_OK;
}

dd_status dd_record_next(dd_records *c, dd_record *out)
{
    while (c->at < c->length && c->line < DD_RECORD_LINES_MOST) {
        bool blank;
        dd_status status = read_row(c, out, &blank);
        if (status != DD_OK || !blank)
            return status;
    }
    *out = (dd_record){0};
    return DD_OK;
}

void dd_record_place(const char *raw, size_t length, char separator, size_t field, size_t *from, size_t *bytes)
{
    size_t i = 0;
    for (size_t n = 0;; n++) {
        while (i < length && is_blank(raw[i]) && raw[i] != separator)
            i++;
        size_t begin = i, end;
        if (i < length && raw[i] == '"') {
            for (i++; i < length; i++) {
                if (raw[i] != '"')
                    continue;
                if (i + 1 < length && raw[i + 1] == '"')
                    i++;
                else
                    break;
            }
            if (i < length)
                i++;
        }
        while (i < length && raw[i] != separator)
            i++;
        end = i;
        while (end > begin && is_blank(raw[end - 1]))
            end--;
        if (n == field || i >= length) {
            *from = n == field ? begin : length;
            *bytes = n == field ? end - begin : 0;
            return;
        }
        i++;
    }
}
