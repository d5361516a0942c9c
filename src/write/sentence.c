#include "sentence.h"

#include <string.h>

#define SENTENCE_CEILING ((size_t)1 << 20)

static bool is_sound(char c)
{
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '?' || (unsigned char)c >= 0x80;
}

static bool is_silent(const dd_cell *cell)
{
    if (cell->silent || !cell->text)
        return true;
    for (const char *p = cell->text; *p; p++)
        if (is_sound(*p))
            return false;
    return true;
}

/* Puts a stop behind what stands in `line`, but behind an `END OF`, and hands it on. */
static void stop(dd_sheet *s, dd_bytes *line)
{
    while (line->length && strchr(" ,", line->data[line->length - 1]))
        line->length--;
    if (line->length && strncmp(line->data, "END OF ", 7) != 0 && !strchr(".:!?", line->data[line->length - 1]))
        dd_bytes_char(line, '.');
    if (line->failed)
        s->body.failed = true;
    else if (line->length)
        dd_sheet_line(s, line->data, line->length);
    dd_bytes_clear(line);
}

/* One byte of a text for each character, as everywhere on the sheet: plain ASCII. Two blanks and more become a comma, but at the beginning. */
static void say(dd_sheet *s, const char *text)
{
    dd_bytes line = DD_BYTES(SENTENCE_CEILING);
    size_t blanks = 0;
    for (const char *p = text; *p; p++) {
        unsigned char c = *p == DD_SHEET_KEEP ? ' ' : (unsigned char)*p;
        if (c == ' ') {
            blanks++;
            continue;
        }
        if ((c & 0xc0) == 0x80) /* the rest of a character that is said as one ? */
            continue;
        if (blanks && line.length) {
            bool parted = strchr(",:.", line.data[line.length - 1]) != NULL;
            dd_bytes_text(&line, blanks > 1 && !parted ? ", " : " ");
        }
        blanks = 0;
        if (c == ';' && (p[1] == ' ' || p[1] == '\0')) {
            stop(s, &line);
            continue;
        }
        dd_bytes_char(&line, c >= 0x20 && c < 0x7f ? (char)c : '?');
    }
    stop(s, &line);
    dd_bytes_free(&line);
}

/* `bag 2`, `left 488 mL`; `set due not known` */
static void add_cell(dd_bytes *out, const dd_cell *cell)
{
    if (cell->say) {
        dd_bytes_text(out, cell->say);
        dd_bytes_text(out, *cell->say ? " " : "");
    }
    if (cell->say && strcmp(cell->text, "?") == 0) {
        dd_bytes_text(out, "not known");
        return;
    }
    dd_bytes_text(out, cell->text);
    if (cell->unit && strpbrk(cell->text, "0123456789"))
        dd_bytes_text(out, cell->unit);
}

void dd_sentence_row(dd_sheet *s, const dd_cell *cells, size_t count)
{
    dd_bytes subject = DD_BYTES(SENTENCE_CEILING), text = DD_BYTES(SENTENCE_CEILING);
    bool alone = true;
    if (count == 1 && cells[0].typed) {
        dd_sheet_line(s, cells[0].text, strlen(cells[0].text));
        return;
    }
    for (size_t i = 0; i < count; i++) {
        bool goes_on = cells[i].say && *cells[i].say == ',';
        if (is_silent(&cells[i]))
            continue;
        if (cells[i].say && !goes_on) {
            alone = false;
            continue;
        }
        dd_bytes_text(&subject, subject.length && !goes_on ? ": " : "");
        add_cell(&subject, &cells[i]);
    }
    dd_bytes_text(&subject, "");
    if (alone && !subject.failed)
        say(s, subject.data);
    for (size_t i = 0; i < count && !alone; i++) {
        if (is_silent(&cells[i]) || !cells[i].say || *cells[i].say == ',')
            continue;
        dd_bytes_clear(&text);
        if (!subject.failed)
            dd_bytes_add(&text, subject.data, subject.length);
        dd_bytes_text(&text, subject.length ? ": " : "");
        add_cell(&text, &cells[i]);
        if (!text.failed)
            say(s, text.data);
    }
    if (subject.failed || text.failed)
        s->body.failed = true;
    dd_bytes_free(&subject);
    dd_bytes_free(&text);
}
