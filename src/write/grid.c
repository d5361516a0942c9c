#include "grid.h"

#include <string.h>

#define GRID_CEILING ((size_t)64 << 20)
#define GAP 2 /* blanks between columns; one where the table would not fit otherwise */

void dd_grid_start(dd_grid *g, const dd_column *columns, size_t count)
{
    *g = (dd_grid){columns, count < DD_GRID_COLUMNS ? count : DD_GRID_COLUMNS, GAP, DD_BYTES(GRID_CEILING)};
}

void dd_grid_cell(dd_grid *g, const char *text)
{
    dd_bytes_text(&g->cells, text);
    dd_bytes_char(&g->cells, '\0');
}

/* Where each column's point stands and how much stands behind it, over all rows. */
typedef struct extent { size_t before, after, width; } extent;

static void measure(const dd_grid *g, extent *extents)
{
    for (size_t c = 0; c < g->count; c++)
        extents[c] = (extent){0};
    size_t c = 0;
    for (const char *p = g->cells.data; p < g->cells.data + g->cells.length; p += strlen(p) + 1, c = (c + 1) % g->count) {
        size_t length = dd_sheet_length(p), before = g->columns[c].align == DD_POINT ? dd_sheet_before_point(p) : length;
        if (before > extents[c].before)
            extents[c].before = before;
        if (length - before > extents[c].after)
            extents[c].after = length - before;
    }
    for (c = 0; c < g->count; c++) {
        size_t head = dd_sheet_length(g->columns[c].head), width = extents[c].before + extents[c].after;
        extents[c].width = head > width ? head : width;
    }
}

static size_t space_before(const dd_grid *g, size_t column)
{
    return g->columns[column].bar ? g->gap + 1 : g->gap; /* ` | ` */
}

/* How many columns from `first` on fit beside the label column; at least one. */
static size_t fitting(const dd_grid *g, const extent *extents, size_t first, size_t room)
{
    size_t used = extents[0].width, count = 0;
    for (size_t c = first; c < g->count; c++, count++) {
        used += space_before(g, c) + extents[c].width;
        if (used > room && count > 0)
            break;
    }
    return count;
}

/* One row of a block: the label and `count` columns from `first` on. `texts` has the whole row, or is NULL for the heads. */
static void set_row(const dd_grid *g, dd_sheet *s, const extent *extents, int indent, size_t first, size_t count, const char *texts)
{
    dd_cell cells[2 * DD_GRID_COLUMNS];
    size_t used = 0;
    int at = indent;
    const char *text = texts;
    for (size_t c = 0; c < first + count; c++) {
        const dd_column *column = &g->columns[c];
        const char *shown = texts ? text : column->head;
        if (texts)
            text += strlen(text) + 1;
        if (c != 0 && c < first)
            continue;
        if (c != 0) {
            at += (int)space_before(g, c);
            if (column->bar)
                cells[used++] = (dd_cell){.at = at - (int)g->gap, .width = 1, .text = "|"};
        }
        dd_cell cell = {.at = at, .width = (int)extents[c].width, .align = column->align, .text = shown};
        if (column->align == DD_POINT) {
            cell.align = texts ? DD_POINT : DD_RIGHT;
            cell.after = (int)extents[c].after;
        }
        cells[used++] = cell;
        at += (int)extents[c].width;
    }
    dd_sheet_row(s, cells, used);
}

/* A row for each row: the label, and what stands in each column under its own name. */
static void say_rows(const dd_grid *g, dd_sheet *s)
{
    for (const char *p = g->cells.data; p < g->cells.data + g->cells.length;) {
        dd_cell cells[DD_GRID_COLUMNS] = {{0}};
        for (size_t c = 0; c < g->count; c++, p += strlen(p) + 1) {
            cells[c] = (dd_cell){.text = p, .unit = g->columns[c].unit};
            if (c > 0)
                cells[c].say = g->columns[c].say ? g->columns[c].say : g->columns[c].head;
        }
        cells[0].text += strspn(cells[0].text, " ");
        dd_sheet_row(s, cells, g->count);
    }
}

void dd_grid_write(dd_grid *g, dd_sheet *s, int indent)
{
    extent extents[DD_GRID_COLUMNS];
    if (g->cells.failed)
        s->body.failed = true;
    if (!g->cells.length || g->cells.failed) {
        dd_bytes_free(&g->cells);
        return;
    }
    if (s->sentences) {
        say_rows(g, s);
        dd_bytes_free(&g->cells);
        return;
    }
    measure(g, extents);
    size_t room = (size_t)(s->width - indent), most = room / 2;
    if (extents[0].width > most) /* a long label wraps in its column */
        extents[0].width = most;
    if (g->count > 1 && fitting(g, extents, 1, room) < g->count - 1) {
        g->gap = 1;
        if (fitting(g, extents, 1, room) < g->count - 1)
            g->gap = GAP; /* it has to be parted anyway */
    }
    for (size_t first = 1, count; first < g->count || first == 1; first += count) {
        count = g->count > 1 ? fitting(g, extents, first, room) : 0;
        set_row(g, s, extents, indent, first, count, NULL);
        dd_sheet_join(s);
        for (const char *p = g->cells.data; p < g->cells.data + g->cells.length;) {
            set_row(g, s, extents, indent, first, count, p);
            for (size_t c = 0; c < g->count; c++)
                p += strlen(p) + 1;
        }
        if (count == 0)
            break;
    }
    dd_bytes_free(&g->cells);
}
