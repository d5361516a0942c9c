#include "gs1.h"

#include <string.h>

#include "daydrip/quantity.h"

#define SEPARATOR '\x1d'

typedef enum holds { CHECK, DATE, DAY, EXPIRY, MADE, DATA } holds;

static const struct row { const char *head; int8_t last; const char *format; uint8_t holds; const char *words; } rows[] = {
#define GS1_AI(head, last, format, holds, words) {head, last, format, holds, words},
#include "gs1_ai.def"
};
#define ROWS (sizeof rows / sizeof *rows)

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Invariant set (figure 7.11-1 of the specifications) and the set of component identifiers (7.11-2). */
static bool in_set(char set, char c)
{
    if (is_digit(c) || set == 'N')
        return is_digit(c);
    if ((c >= 'A' && c <= 'Z') || c == '-' || c == '/' || (set == 'Y' && c == '#'))
        return true;
    return set == 'X' && c && ((c >= 'a' && c <= 'z') || strchr("!\"%&'()*+,.:;<=>?_", c));
}

/* The lengths of these are known in advance (figure 7.8.5-2), so that no separator stands behind them. */
static bool is_predefined(const char *ai)
{
    static const char *const starts[] = {"00", "01", "02", "03", "04", "11", "12", "13", "14", "15", "16", "17", "18", "19", "20",
                                         "31", "32", "33", "34", "35", "36", "41"};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++)
        if (memcmp(starts[i], ai, 2) == 0)
            return true;
    return false;
}

/* The row whose identifier a text begins with; -1: none. *size: its digits. */
static int find_row(const char *text, size_t length, size_t *size)
{
    for (size_t i = 0; i < ROWS; i++) {
        size_t n = strlen(rows[i].head), digit = rows[i].last >= 0;
        if (n + digit > length || memcmp(rows[i].head, text, n) != 0 || (digit && (text[n] < '0' || text[n] > '0' + rows[i].last)))
            continue;
        *size = n + digit;
        return (int)i;
    }
    return -1;
}

/* Names what is not known: as many characters as it takes to see that no identifier begins so, two at least. */
static dd_gs1_fault unknown(dd_gs1 *out, const char *text, size_t length)
{
    size_t n = 0;
    bool begins = true;
    while (n < length && n < sizeof out->ai - 1 && (begins || n < 2)) {
        out->ai[n] = text[n] > ' ' && text[n] < '\x7f' ? text[n] : '?';
        n++;
        begins = false;
        for (size_t i = 0; i < ROWS && !begins; i++) {
            size_t head = strlen(rows[i].head);
            bool last = rows[i].last >= 0 && head + 1 == n && text[head] >= '0' && text[head] <= '0' + rows[i].last;
            begins = memcmp(rows[i].head, text, head < n ? head : n) == 0 && (head >= n || last);
        }
    }
    out->ai[n] = '\0';
    return DD_GS1_UNKNOWN;
}

/* One part of a format: `N14`, `X..20`, `[+N6]`, `[+N..4]`. *at goes behind it. */
typedef struct piece { char set; size_t least, most; bool whole; } piece;

static bool next_piece(const char **at, piece *p)
{
    const char *c = *at;
    bool optional = *c == '[';
    c += optional;
    c += *c == '+';
    if (!*c)
        return false;
    p->set = *c++;
    bool up_to = *c == '.';
    c += up_to ? 2 : 0;
    for (p->most = 0; is_digit(*c); c++)
        p->most = p->most * 10 + (size_t)(*c - '0');
    p->whole = !up_to;
    p->least = optional ? 0 : up_to ? 1 : p->most;
    c += optional; /* its closing bracket */
    *at = c;
    return true;
}

static size_t most_of(const char *format)
{
    size_t most = 0;
    for (piece p; next_piece(&format, &p);)
        most += p.most;
    return most;
}

/* Every part takes what it can; only the last one may take less. */
static dd_gs1_fault fits(const char *format, const char *data, size_t length)
{
    size_t at = 0;
    for (piece p; next_piece(&format, &p);) {
        size_t rest = length - at, take = rest < p.most ? rest : p.most;
        if (take < p.least || (p.whole && take != 0 && take != p.most))
            return DD_GS1_LENGTH;
        for (size_t i = 0; i < take; i++)
            if (!in_set(p.set, data[at + i]))
                return DD_GS1_CHARACTER;
        at += take;
    }
    return at == length ? DD_GS1_FINE : DD_GS1_LENGTH;
}

/* The last digit of a number, from those before it: weights 3 and 1 from the right (section 7.9). */
static char check_digit(const char *digits, size_t before)
{
    unsigned sum = 0;
    for (size_t i = 0; i < before; i++)
        sum += (unsigned)(digits[before - 1 - i] - '0') * (i % 2 == 0 ? 3 : 1);
    return (char)('0' + (10 - sum % 10) % 10);
}

static int two(const char *digits)
{
    return (digits[0] - '0') * 10 + digits[1] - '0';
}

static int full_year(int of_two, int near)
{
    int away = of_two - near % 100, century = near - near % 100;
    return century + of_two + (away >= 51 ? -100 : away <= -50 ? 100 : 0);
}

static bool read_date(const char *six, int near, bool month_end, dd_civil *out)
{
    int year = full_year(two(six), near), month = two(six + 2), day = two(six + 4);
    if (day == 0 && month_end)
        for (day = 31; day > 28 && !dd_moment_date_exists(year, month, day);)
            day--;
    if (!dd_moment_date_exists(year, month, day))
        return false;
    *out = (dd_civil){.year = year, .month = (uint8_t)month, .day = (uint8_t)day};
    return true;
}

/* What the data of a row say beside their form. */
static dd_gs1_fault holds_true(dd_gs1 *out, const struct row *row, const char *data, size_t length)
{
    const char *format = row->format;
    dd_civil date;
    piece first;
    switch ((holds)row->holds) {
    case CHECK:
        if (!next_piece(&format, &first))
            return DD_GS1_FORM;
        out->check = check_digit(data, first.most - 1);
        return data[first.most - 1] == out->check ? DD_GS1_FINE : DD_GS1_CHECK;
    case DATE: return read_date(data, out->year, true, &date) ? DD_GS1_FINE : DD_GS1_DATE;
    case DAY: return read_date(data, out->year, false, &date) ? DD_GS1_FINE : DD_GS1_DATE;
    case EXPIRY: return read_date(data, out->year, false, &date) && two(data + 6) < 24 && two(data + 8) < 60 ? DD_GS1_FINE : DD_GS1_DATE;
    case MADE:
        if (length % 2)
            return DD_GS1_LENGTH;
        for (size_t i = 8; i < length; i += 2)
            if (two(data + i) > 59)
                return DD_GS1_DATE;
        return read_date(data, out->year, false, &date) && two(data + 6) < 24 ? DD_GS1_FINE : DD_GS1_DATE;
    case DATA: break;
    }
    return DD_GS1_FINE;
}

/* One identifier with its data. */
static dd_gs1_fault add(dd_gs1 *out, size_t *used, int row, const char *ai, size_t size, const char *data, size_t length)
{
    memcpy(out->ai, ai, size);
    out->ai[size] = '\0';
    memcpy(out->format, rows[row].format, strlen(rows[row].format) + 1);
    dd_gs1_fault fault = fits(rows[row].format, data, length);
    if (fault == DD_GS1_FINE)
        fault = holds_true(out, &rows[row], data, length);
    if (fault != DD_GS1_FINE)
        return fault;
    const char *before = dd_gs1_data(out, out->ai);
    if (before)
        return strlen(before) == length && memcmp(before, data, length) == 0 ? DD_GS1_FINE : DD_GS1_TWICE;
    if (out->count == DD_GS1_PARTS)
        return DD_GS1_FORM;
    dd_gs1_part *part = &out->parts[out->count++];
    memcpy(part->ai, out->ai, sizeof part->ai);
    part->row = (uint8_t)row;
    part->at = (uint16_t)*used;
    memcpy(out->text + *used, data, length);
    out->text[*used + length] = '\0';
    *used += length + 1;
    return DD_GS1_FINE;
}

static bool is_separator(char c)
{
    return c == SEPARATOR || c == '^';
}

static size_t until_separator(const char *text, size_t length)
{
    size_t n = 0;
    while (n < length && !is_separator(text[n]))
        n++;
    return n;
}

/* As a scanner gives it. */
static dd_gs1_fault read_plain(const char *text, size_t length, dd_gs1 *out)
{
    size_t used = 0;
    for (size_t at = 0; at < length;) {
        size_t size, n = until_separator(text + at, length - at);
        if (n == 0)
            return DD_GS1_FORM;
        int row = find_row(text + at, n, &size);
        if (row < 0)
            return unknown(out, text + at, n);
        const char *ai = text + at;
        at += size;
        n -= size;
        if (is_predefined(ai) && n > most_of(rows[row].format))
            n = most_of(rows[row].format);
        dd_gs1_fault fault = add(out, &used, row, ai, size, text + at, n);
        if (fault != DD_GS1_FINE)
            return fault;
        at += n;
        at += at < length && is_separator(text[at]);
    }
    return out->count ? DD_GS1_FINE : DD_GS1_FORM;
}

/* As it is printed beside the bars: (01)09521234000013(17)270531. */
static dd_gs1_fault read_bracketed(const char *text, size_t length, dd_gs1 *out)
{
    size_t used = 0;
    for (size_t at = 0; at < length;) {
        const char *close = memchr(text + at, ')', length - at);
        if (text[at] != '(' || !close || close - (text + at) < 3)
            return DD_GS1_FORM;
        const char *ai = text + at + 1, *data = close + 1, *next = memchr(data, '(', (size_t)(text + length - data));
        size_t size, written = (size_t)(close - ai), n = (size_t)((next ? next : text + length) - data);
        int row = find_row(ai, written, &size);
        if (row < 0 || size != written)
            return unknown(out, ai, written);
        at = (size_t)(data - text) + n;
        n -= n && is_separator(data[n - 1]);
        dd_gs1_fault fault = add(out, &used, row, ai, size, data, n);
        if (fault != DD_GS1_FINE)
            return fault;
    }
    return DD_GS1_FINE;
}

/* A barcode that holds a trade item number and no identifier. */
static dd_gs1_fault read_number(const char *text, size_t length, size_t digits, dd_gs1 *out)
{
    char number[14];
    size_t used = 0, size;
    memset(number, '0', sizeof number);
    memcpy(out->ai, "01", 3);
    memcpy(out->format, "N14", 4);
    if (length != digits)
        return DD_GS1_LENGTH;
    memcpy(number + sizeof number - digits, text, digits);
    return add(out, &used, find_row("01", 2, &size), "01", 2, number, sizeof number);
}

dd_gs1_fault dd_gs1_read(const char *text, size_t length, int year, dd_gs1 *out)
{
    static const struct prefix { char text[4]; uint8_t digits; } prefixes[] = {
        {"]C1", 0}, {"]e0", 0}, {"]d2", 0}, {"]Q3", 0}, {"]J1", 0}, {"]E0", 13}, {"]E4", 8}, {"]I1", 14}};
    *out = (dd_gs1){.year = year};
    if (length > DD_GS1_MOST)
        return DD_GS1_FORM;
    if (length > 1 && !is_digit(text[1]) && dd_gs1_is_exponent(text, length)) /* an identifier has two digits at least */
        return DD_GS1_EXPONENT;
    if (length && text[0] == ']') {
        size_t i = 0;
        while (i < sizeof prefixes / sizeof *prefixes && (length < 3 || memcmp(prefixes[i].text, text, 3) != 0))
            i++;
        if (i == sizeof prefixes / sizeof *prefixes)
            return DD_GS1_SYMBOL;
        text += 3;
        length -= 3;
        if (prefixes[i].digits)
            return read_number(text, length, prefixes[i].digits, out);
    }
    if (length && is_separator(text[0])) {
        text++;
        length--;
    }
    if (length == 0)
        return DD_GS1_FORM;
    return text[0] == '(' ? read_bracketed(text, length, out) : read_plain(text, length, out);
}

/* ---- what it says ---- */

static const dd_gs1_part *find(const dd_gs1 *code, const char *ai)
{
    for (size_t i = 0; i < code->count; i++)
        if (strcmp(code->parts[i].ai, ai) == 0)
            return &code->parts[i];
    return NULL;
}

const char *dd_gs1_data(const dd_gs1 *code, const char *ai)
{
    const dd_gs1_part *part = find(code, ai);
    return part ? code->text + part->at : NULL;
}

const char *dd_gs1_words(const dd_gs1_part *part)
{
    return rows[part->row].words;
}

bool dd_gs1_date(const dd_gs1 *code, const dd_gs1_part *part, dd_civil *out)
{
    holds h = (holds)rows[part->row].holds;
    return (h == DATE || h == DAY || h == EXPIRY || h == MADE) && read_date(code->text + part->at, code->year, h == DATE, out);
}

/* The beginning of the next day, wherever its midnight falls. */
static dd_moment end_of(const dd_gs1 *code, const char *ai, const dd_zone *zone)
{
    const dd_gs1_part *part = find(code, ai);
    dd_civil day;
    if (!part || !dd_gs1_date(code, part, &day))
        return DD_NEVER;
    day.hour = 12;
    return dd_moment_clock_after(zone, dd_moment_resolve(zone, day, NULL), 0);
}

dd_moment dd_gs1_clock(const dd_gs1 *code, const dd_zone *zone)
{
    const dd_gs1_part *part = find(code, "7003");
    dd_civil c;
    if (!part || !dd_gs1_date(code, part, &c))
        return DD_NEVER;
    c.hour = (uint8_t)two(code->text + part->at + 6);
    c.minute = (uint8_t)two(code->text + part->at + 8);
    return dd_moment_resolve(zone, c, NULL);
}

dd_moment dd_gs1_expires(const dd_gs1 *code, const dd_zone *zone)
{
    dd_moment day = end_of(code, "17", zone), clock = dd_gs1_clock(code, zone);
    if (day == DD_NEVER && clock == DD_NEVER)
        return end_of(code, "15", zone);
    return day == DD_NEVER || (clock != DD_NEVER && clock < day) ? clock : day;
}

int64_t dd_gs1_volume(const dd_gs1 *code)
{
    for (size_t i = 0; i < code->count; i++) {
        const dd_gs1_part *part = &code->parts[i];
        bool litres = memcmp(part->ai, "315", 3) == 0, cubic = memcmp(part->ai, "316", 3) == 0;
        if (!litres && !cubic)
            continue;
        int64_t ul = 0;
        for (const char *c = code->text + part->at; *c; c++)
            ul = ul * 10 + (*c - '0');
        for (int decimals = part->ai[3] - '0'; decimals < (cubic ? 9 : 6); decimals++) /* 10^6 uL in a litre */
            ul *= 10;
        if (ul > 0)
            return ul;
    }
    return DD_UNKNOWN;
}

bool dd_gs1_is_exponent(const char *t, size_t n)
{
    size_t i = 0, digits = 0;
    for (; i < n && (is_digit(t[i]) || t[i] == '.' || t[i] == ','); i++)
        digits += is_digit(t[i]);
    if (digits == 0 || i + 2 >= n || (t[i] != 'E' && t[i] != 'e') || (t[i + 1] != '+' && t[i + 1] != '-'))
        return false;
    for (i += 2; i < n; i++)
        if (!is_digit(t[i]))
            return false;
    return true;
}

bool dd_gs1_row(size_t row, const char **head, int *last, const char **format, bool *predefined)
{
    if (row >= ROWS)
        return false;
    *head = rows[row].head;
    *last = rows[row].last;
    *format = rows[row].format;
    *predefined = is_predefined(rows[row].head);
    return true;
}
