#include "sheet.h"

#include <string.h>

#include "sentence.h"

#define CELLS_MAX 48
#define WHOLE_NUMBER "0123456789,+-"
/* The place of a page count that is not known yet: s->digits of this byte, which no cleaned text holds. */
#define LATER '\x01'
#define SHEET_CEILING ((size_t)64 << 20) /* bytes of one section */

void dd_sheet_start(dd_sheet *s, dd_bytes *out, int width, bool pages, size_t sections)
{
    const dd_bytes none = DD_BYTES(SHEET_CEILING);
    *s = (dd_sheet){.out = out, .start = out->length, .body = none, .joined = none, .scratch = none, .head = none, .foot = none,
        .tail = none, .width = width > DD_WIDTH_MAX ? DD_WIDTH_MAX : width, .pages = pages};
    s->into = &s->body;
    char most[DD_NUMBER_MAX];
    s->digits = dd_number_scaled(most, sections < 1000000 ? (int64_t)sections : 1000000, 0, 0, DD_STYLE_PROGRAM) + 2;
}

static bool failed(const dd_sheet *s)
{
    return s->body.failed || s->joined.failed || s->out->failed || s->head.failed || s->foot.failed || s->tail.failed;
}

/* ---- text ---- */

/* The bytes of one character become one printable ASCII character; returns how many bytes it took. */
static size_t plain(const char *text, char *out)
{
    unsigned char c = (unsigned char)*text;
    *out = c >= 0x20 && c < 0x7f ? (char)c : '?';
    size_t n = 1;
    if (c >= 0xc0)
        while (((unsigned char)text[n] & 0xc0) == 0x80)
            n++;
    return n;
}

static void clean(dd_bytes *to, const char *text)
{
    while (*text) {
        char c = *text;
        text += c == DD_SHEET_KEEP ? 1 : plain(text, &c);
        dd_bytes_char(to, c);
    }
}

size_t dd_sheet_length(const char *text)
{
    size_t length = 0;
    char c;
    for (; *text; length++)
        text += plain(text, &c);
    return length;
}

size_t dd_sheet_before_point(const char *text)
{
    size_t n = strspn(text, WHOLE_NUMBER);
    return n ? n : dd_sheet_length(text); /* a word stands where the whole numbers stand */
}

/* A space at `at` where the line may not break: between a number and what it counts, a weekday and its clock. */
static bool glued(const char *text, size_t at)
{
    static const char days[] = "MonTueWedThuFriSatSun";
    size_t from = at;
    while (from && text[from - 1] != ' ')
        from--;
    if (at - from == 3)
        for (size_t d = 0; d + 1 < sizeof days; d += 3)
            if (memcmp(text + from, days + d, 3) == 0)
                return true;
    for (size_t i = from; i < at; i++)
        if (!strchr("0123456789.,", text[i]))
            return false;
    return at > from;
}

/* How much of text[0 .. length) goes on a line of `room` characters: up to a space, or behind a hyphen, a stroke or a point
 * of a word that alone is too long. */
static size_t line_break(const char *text, size_t length, size_t room)
{
    if (length <= room)
        return length;
    for (size_t i = room; i > 0; i--)
        if (text[i] == ' ' && !glued(text, i))
            return i;
    for (size_t i = room; i > room / 3; i--)
        if (strchr("-_./, ", text[i - 1]))
            return i;
    return room;
}

/* ---- lines ---- */

void dd_sheet_line(dd_sheet *s, const char *line, size_t length)
{
    while (length && line[length - 1] == ' ')
        length--;
    dd_bytes_add(s->into, line, length);
    dd_bytes_char(s->into, '\n');
    if (s->into == &s->body)
        dd_bytes_char(&s->joined, s->together ? 1 : 0);
}

/* A piece of a cell set into the line. */
static void set_piece(char *line, const dd_cell *cell, size_t room, const char *piece, size_t length)
{
    size_t skip = 0;
    if (cell->align == DD_RIGHT) {
        skip = room - length;
    } else if (cell->align == DD_POINT) {
        size_t before = strspn(piece, WHOLE_NUMBER);
        if (before == 0 || before > length)
            before = length;
        size_t edge = room > (size_t)cell->after ? room - (size_t)cell->after : 0;
        skip = edge > before ? edge - before : 0;
        if (skip + length > room)
            skip = room - length;
    }
    for (size_t i = 0; i < length; i++)
        line[(size_t)cell->at + skip + i] = piece[i] == DD_SHEET_KEEP ? ' ' : piece[i];
}

typedef struct rest { size_t at, length; } rest; /* of a cell's text in the scratch */

/* The next line's piece of one cell; false: nothing is left of it. */
static bool next_piece(const dd_sheet *s, char *line, dd_cell cell, rest *left, bool first)
{
    if (left->length == 0)
        return false;
    int shift = cell.align == DD_LEFT && !first ? cell.after : 0;
    int width = cell.width ? cell.width - shift : s->width;
    cell.at += shift;
    if (cell.at >= s->width) /* a cell set too far right or too narrow: one character a line, never outside */
        cell.at = s->width - 1;
    if (width > s->width - cell.at)
        width = s->width - cell.at;
    size_t room = width < 1 ? 1 : (size_t)width;
    const char *text = s->scratch.data + left->at;
    size_t take = line_break(text, left->length, room);
    set_piece(line, &cell, room, text, take);
    while (take < left->length && text[take] == ' ')
        take++;
    left->at += take;
    left->length -= take;
    return true;
}

void dd_sheet_row(dd_sheet *s, const dd_cell *cells, size_t count)
{
    rest left[CELLS_MAX];
    if (s->sentences) {
        dd_sentence_row(s, cells, count);
        return;
    }
    if (count > CELLS_MAX)
        count = CELLS_MAX;
    dd_bytes_clear(&s->scratch);
    for (size_t i = 0; i < count; i++) {
        left[i].at = s->scratch.length;
        if (cells[i].text)
            clean(&s->scratch, cells[i].text);
        left[i].length = s->scratch.length - left[i].at;
    }
    if (s->scratch.failed) {
        s->body.failed = true;
        return;
    }
    for (bool first = true;; first = false) {
        char line[DD_WIDTH_MAX];
        bool any = false;
        memset(line, ' ', sizeof line);
        for (size_t i = 0; i < count; i++) {
            rest whole = left[i];
            bool more = next_piece(s, line, cells[i], cells[i].every ? &whole : &left[i], first);
            any = (more && !cells[i].every) || any;
        }
        if (!any && !first)
            return;
        dd_sheet_line(s, line, (size_t)s->width);
    }
}

void dd_sheet_text(dd_sheet *s, int indent, int hang, const char *text)
{
    dd_sheet_row(s, &(dd_cell){.at = indent, .after = hang - indent, .text = text}, 1);
}

void dd_sheet_title(dd_sheet *s, int indent, int hang, const char *text, const char *words)
{
    if (s->sentences)
        dd_sheet_said(s, words ? words : text);
    else
        dd_sheet_text(s, indent, hang, text);
}

void dd_sheet_said(dd_sheet *s, const char *words)
{
    if (!s->sentences)
        return;
    dd_sheet_line(s, "", 0);
    dd_sheet_text(s, 0, 0, words);
}

void dd_sheet_form(dd_sheet *s, const char *text)
{
    if (!s->sentences)
        dd_sheet_text(s, 0, 0, text);
}

void dd_sheet_rule(dd_sheet *s)
{
    if (s->sentences)
        return;
    char line[DD_WIDTH_MAX];
    memset(line, '-', sizeof line);
    dd_sheet_line(s, line, (size_t)s->width);
}

void dd_sheet_blank(dd_sheet *s)
{
    if (!s->sentences)
        dd_sheet_line(s, "", 0);
}

void dd_sheet_together(dd_sheet *s)
{
    s->together++;
}

void dd_sheet_apart(dd_sheet *s)
{
    if (--s->together == 0 && s->joined.length && !s->joined.failed)
        s->joined.data[s->joined.length - 1] = 0;
}

void dd_sheet_join(dd_sheet *s)
{
    if (s->joined.length && !s->joined.failed)
        s->joined.data[s->joined.length - 1] = 1;
}

/* ---- pages ---- */

void dd_sheet_open(dd_sheet *s, const dd_heading *heading)
{
    s->heading = *heading;
    dd_bytes_clear(&s->body);
    dd_bytes_clear(&s->joined);
    s->together = 0;
}

/* Sets `parts` on one line, as far apart as there is room (3 blanks at most), and says whether they fit. */
static bool on_one_line(dd_sheet *s, const char *const *parts, size_t count)
{
    size_t length = 0, used = 0;
    for (size_t i = 0; i < count; i++)
        if (parts[i]) {
            length += dd_sheet_length(parts[i]);
            used++;
        }
    size_t room = (size_t)s->width, gaps = used ? used - 1 : 0;
    if (length + gaps > room)
        return false;
    size_t gap = gaps ? (room - length) / gaps : 0;
    char line[DD_WIDTH_MAX];
    size_t at = 0;
    for (size_t i = 0; i < count; i++) {
        if (!parts[i])
            continue;
        for (size_t b = 0; at && b < (gap < 3 ? gap : 3); b++)
            line[at++] = ' ';
        for (const char *p = parts[i]; *p;)
            if (*p == LATER)
                line[at++] = *p++;
            else
                p += plain(p, &line[at++]);
    }
    dd_sheet_line(s, line, at);
    return true;
}

/* A paragraph for each line of `lines`, which may be NULL. */
static void set_paragraphs(dd_sheet *s, const char *lines)
{
    dd_bytes text = DD_BYTES(SHEET_CEILING);
    for (const char *p = lines; p && *p;) {
        size_t length = strcspn(p, "\n");
        dd_bytes_clear(&text);
        dd_bytes_add(&text, p, length);
        if (text.failed)
            break;
        dd_sheet_text(s, 0, 1, text.data);
        p += length + (p[length] == '\n');
    }
    s->body.failed |= text.failed;
    dd_bytes_free(&text);
}

/* The same said: one thing a line. */
static void say_heading(dd_sheet *s, size_t page)
{
    const dd_heading *h = &s->heading;
    dd_bytes text = DD_BYTES(SHEET_CEILING);
    if (h->demo)
        dd_sheet_text(s, 0, 0, "DEMO, NOT FOR CARE");
    dd_bytes_form(&text, "%s, %s", h->subject, h->title);
    dd_sheet_text(s, 0, 0, text.failed ? "" : text.data);
    dd_sheet_text(s, 0, 0, h->span);
    dd_bytes_clear(&text);
    if (h->ward)
        dd_bytes_form(&text, "%s, ", h->ward);
    dd_bytes_form(&text, "%s, page %zu of ", h->made, page);
    dd_bytes_repeat(&text, LATER, s->digits);
    dd_bytes_form(&text, ", page code %s.", h->code);
    if (text.failed)
        s->body.failed = true;
    else
        dd_sheet_line(s, text.data, text.length);
    dd_bytes_free(&text);
    set_paragraphs(s, h->notes);
}

/* The heading of a page, into s->head. Ward, date, made, page and code are in its first four lines, unless a label alone
 * takes more than two. */
static void set_heading(dd_sheet *s, size_t page, bool continued)
{
    const dd_heading *h = &s->heading;
    if (s->sentences) {
        say_heading(s, page);
        return;
    }
    enum { SUBJECT, TITLE, NUMBER, CODE, PARTS };
    size_t at[PARTS];
    dd_bytes text = DD_BYTES(SHEET_CEILING);
    at[SUBJECT] = text.length;
    dd_bytes_text(&text, h->demo ? "DEMO, NOT FOR CARE   " : "");
    dd_bytes_text(&text, h->subject);
    dd_bytes_char(&text, '\0');
    at[TITLE] = text.length;
    dd_bytes_text(&text, h->title);
    dd_bytes_text(&text, continued ? " (continued)" : "");
    dd_bytes_char(&text, '\0');
    at[NUMBER] = text.length;
    dd_bytes_form(&text, "page %zu of ", page);
    dd_bytes_repeat(&text, LATER, s->digits);
    dd_bytes_char(&text, '\0');
    at[CODE] = text.length;
    dd_bytes_form(&text, "page code %s", h->code);
    if (text.failed) {
        s->body.failed = true;
        dd_bytes_free(&text);
        return;
    }
    const char *subject = text.data + at[SUBJECT], *title = text.data + at[TITLE];
    const char *number = text.data + at[NUMBER], *code = text.data + at[CODE];
    if (!on_one_line(s, (const char *const[]){subject, title, h->span}, 3)) {
        if (!on_one_line(s, (const char *const[]){subject, title}, 2)) {
            dd_sheet_text(s, 0, 2, subject);
            dd_sheet_text(s, 2, 4, title);
        }
        dd_sheet_text(s, 0, 2, h->span);
    }
    if (!on_one_line(s, (const char *const[]){h->ward, h->made, number, code}, 4) &&
        !on_one_line(s, (const char *const[]){h->ward, h->made, number, h->code}, 4)) {
        if (!on_one_line(s, (const char *const[]){h->made, number, code}, 3))
            (void)on_one_line(s, (const char *const[]){h->made, number, h->code}, 3);
        if (h->ward)
            dd_sheet_text(s, 0, 2, h->ward);
    }
    dd_bytes_free(&text);
    set_paragraphs(s, h->notes);
}

/* The line that ends a page, into s->foot. */
static void set_foot(dd_sheet *s, size_t page)
{
    dd_bytes text = DD_BYTES(SHEET_CEILING);
    dd_bytes_form(&text, "END OF PAGE %zu, ", page);
    dd_bytes_text(&text, s->heading.end);
    if (text.failed)
        s->body.failed = true;
    else if (s->sentences)
        dd_sheet_line(s, text.data, text.length);
    else
        dd_sheet_text(s, 0, 2, text.data);
    dd_bytes_free(&text);
}

static size_t count_lines(const dd_bytes *b)
{
    size_t lines = 0;
    for (size_t i = 0; i < b->length; i++)
        lines += b->data[i] == '\n';
    return lines;
}

/* How many of the `left` lines from line `at` on go on a page with room for `room` of them. */
static size_t page_break(const dd_sheet *s, size_t at, size_t left, size_t room)
{
    size_t most = left <= room ? left - 1 : room; /* the last page keeps a line for its tail to stand under */
    for (size_t n = most; n > 0; n--)
        if (!s->joined.data[at + n - 1])
            return n;
    return most ? most : 1;
}

static const char *past_lines(const char *p, size_t lines)
{
    while (lines--)
        p += strcspn(p, "\n") + 1;
    return p;
}

static void write_page(dd_sheet *s, const char *from, const char *to)
{
    if (s->page > 1)
        dd_bytes_char(s->out, s->pages ? '\f' : '\n');
    dd_bytes_add(s->out, s->head.data, s->head.length);
    dd_bytes_add(s->out, from, (size_t)(to - from));
    dd_bytes_add(s->out, s->foot.data, s->foot.length);
}

void dd_sheet_close(dd_sheet *s, const char *closing)
{
    size_t lines = count_lines(&s->body), at = 0;
    const char *from = s->body.data;
    dd_bytes_clear(&s->tail);
    s->into = &s->tail;
    set_paragraphs(s, closing);
    for (bool first = true, last = false; !last && !failed(s); first = false) {
        s->page++;
        dd_bytes_clear(&s->head);
        s->into = &s->head;
        set_heading(s, s->page, !first);
        if (!first)
            dd_sheet_rule(s);
        dd_bytes_clear(&s->foot);
        s->into = &s->foot;
        set_foot(s, s->page);
        if (failed(s))
            break;
        size_t taken = count_lines(&s->head) + count_lines(&s->foot), tail = count_lines(&s->tail), left = lines - at;
        size_t room = taken + 1 < DD_PAGE_LINES ? DD_PAGE_LINES - taken : 1;
        last = !s->pages || left + tail <= room || left <= 1;
        size_t take = last ? left : page_break(s, at, left, room);
        const char *to = past_lines(from, take);
        write_page(s, from, to);
        at += take;
        for (from = to; at < lines && (*from == '-' || *from == '\n'); at++) /* no rule or blank at the top of a page */
            from = past_lines(from, 1);
    }
    if (s->tail.length)
        dd_bytes_add(s->out, s->tail.data, s->tail.length);
    s->into = &s->body;
}

void dd_sheet_pour(dd_sheet *s)
{
    if (s->body.length)
        dd_bytes_add(s->out, s->body.data, s->body.length);
    dd_bytes_clear(&s->body);
    dd_bytes_clear(&s->joined);
}

/* Every place kept for the count of pages gets it; what was kept too much goes. (A section of more than 100 pages on average
 * would need more digits than were kept: `?` stands there then.) */
static void fill_count(dd_bytes *out, size_t start, size_t pages)
{
    char count[DD_NUMBER_MAX];
    size_t digits = dd_number_scaled(count, (int64_t)pages, 0, 0, DD_STYLE_PROGRAM), to = start;
    for (size_t from = start; from < out->length;) {
        if (out->data[from] != LATER) {
            out->data[to++] = out->data[from++];
            continue;
        }
        size_t kept = 0;
        while (from < out->length && out->data[from] == LATER)
            from++, kept++;
        memcpy(out->data + to, digits <= kept ? count : "?", digits <= kept ? digits : 1);
        to += digits <= kept ? digits : 1;
    }
    out->length = to;
    out->data[to] = '\0';
}

dd_status dd_sheet_finish(dd_sheet *s)
{
    bool lost = failed(s);
    if (!lost && s->page)
        fill_count(s->out, s->start, s->page);
    dd_bytes_free(&s->body);
    dd_bytes_free(&s->joined);
    dd_bytes_free(&s->scratch);
    dd_bytes_free(&s->head);
    dd_bytes_free(&s->foot);
    dd_bytes_free(&s->tail);
    return lost ? DD_NO_MEMORY : DD_OK;
}
