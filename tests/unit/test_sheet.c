/* test_sheet.c - the fixed-width page: columns, wrapping, page breaks, and tables that are as wide as what stands in them. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "grid.h"
#include "sheet.h"

TestSuite(sheet);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])
#define PLENTY ((size_t)16 * 1024 * 1024)

static dd_bytes out;

static void hold(const char *expected)
{
    const char *got = out.data ? out.data : "";
    cr_expect_str_eq(got, expected, "got:\n%s\nexpected:\n%s", got, expected);
}

/* One cell on a plain sheet. */
static void one_cell(dd_cell cell, const char *expected)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, false, 1);
    dd_sheet_row(&s, &cell, 1);
    dd_sheet_pour(&s);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    hold(expected);
    dd_bytes_free(&out);
}

Test(sheet, a_cell_stands_where_it_is_put)
{
    static const struct { dd_cell cell; const char *expected; } cases[] = {
        {{.at = 3, .text = "left"}, "   left\n"},
        {{.at = 3, .width = 6, .align = DD_RIGHT, .text = "right"}, "    right\n"},
        {{.at = 0, .width = 5, .text = ""}, "\n"},
        {{.at = 0, .width = 5, .text = NULL}, "\n"},
        /* the point lines up, zeros are not padded */
        {{.at = 0, .width = 8, .align = DD_POINT, .after = 2, .text = "23.6"}, "    23.6\n"},
        {{.at = 0, .width = 8, .align = DD_POINT, .after = 2, .text = "5"}, "     5\n"},
        {{.at = 0, .width = 8, .align = DD_POINT, .after = 2, .text = "1,159.6"}, " 1,159.6\n"},
        {{.at = 0, .width = 8, .align = DD_POINT, .after = 2, .text = "634?"}, "   634?\n"},
        {{.at = 0, .width = 8, .align = DD_POINT, .after = 2, .text = "+144?"}, "  +144?\n"},
        {{.at = 0, .width = 8, .align = DD_POINT, .after = 2, .text = "?"}, "     ?\n"},
        {{.at = 0, .width = 10, .align = DD_POINT, .after = 5, .text = "225.1 mL"}, "  225.1 mL\n"},
        /* wraps between words, later lines hang */
        {{.at = 2, .width = 12, .after = 1, .text = "glucose 5 % with sodium"}, "  glucose 5 %\n   with sodium\n"},
        /* a number never stands without what it counts, a weekday not without its clock */
        {{.at = 0, .width = 10, .text = "to give 500 mL"}, "to give\n500 mL\n"},
        {{.at = 0, .width = 10, .text = "down Thu 07:00"}, "down\nThu 07:00\n"},
        /* nor what was said to stay together */
        {{.at = 0, .width = 14, .text = "all of\x1fit\x1fis ?, and\x1fmore"}, "all of it is\n?, and more\n"},
        {{.at = 0, .width = 12, .text = "chloride\x1f?, phosphate\x1f?"}, "chloride ?,\nphosphate ?\n"},
        /* a word longer than its column goes on in the next line, behind a hyphen where there is one */
        {{.at = 0, .width = 10, .text = "left-forearm-one"}, "left-\nforearm-\none\n"},
        {{.at = 0, .width = 6, .text = "abcdefghijkl"}, "abcdef\nghijkl\n"},
        {{.at = 0, .width = 4, .align = DD_RIGHT, .text = "abcdefg"}, "abcd\n efg\n"},
        /* one ? for each character that is not printable ASCII */
        {{.at = 0, .text = "\xc2\xb5g \xe2\x82\xac" "5\t\x1b[2J"}, "?g ?5??[2J\n"},
    };
    for (size_t i = 0; i < ROWS(cases); i++)
        one_cell(cases[i].cell, cases[i].expected);
}

Test(sheet, cells_outside_the_page_stay_on_it)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, false, 1);
    dd_sheet_row(&s, (const dd_cell[]){{.at = 200, .width = 10, .text = "ab"}, {.at = 70, .width = 40, .text = "xy z"}}, 2);
    dd_sheet_pour(&s);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    for (const char *p = out.data; *p; p += strcspn(p, "\n") + 1)
        cr_expect_leq(strcspn(p, "\n"), 72);
    dd_bytes_free(&out);
}

Test(sheet, a_row_is_as_high_as_its_highest_cell)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, false, 1);
    dd_sheet_row(&s, (const dd_cell[]){{.at = 0, .width = 1, .text = "|", .every = true}, {.at = 2, .width = 7, .text = "one two three"},
        {.at = 10, .width = 5, .align = DD_RIGHT, .text = "9"}, {.at = 16, .width = 1, .text = "|", .every = true}}, 4);
    dd_sheet_rule(&s);
    dd_sheet_text(&s, 1, 4, "short");
    dd_sheet_pour(&s);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    hold("| one two     9 |\n"
         "| three         |\n"
         "------------------------------------------------------------------------\n"
         " short\n");
    dd_bytes_free(&out);
}

/* ---- pages ---- */

static const dd_heading heading = {.subject = "BAY1-BED2", .title = "THIS SHIFT", .span = "night, Wed 25 Nov 19:00 to Thu 26 Nov 07:00", .ward = "Larkfield",
    .made = "made Wed 25 Nov 19:00 (UTC-05:00)", .code = "F3H7-9WKT", .end = "BAY1-BED2"};

static void section(dd_sheet *s, const dd_heading *h, int lines, int join_from, int join_to, const char *closing)
{
    char text[32];
    dd_sheet_open(s, h);
    for (int i = 1; i <= lines; i++) {
        if (i == join_from)
            dd_sheet_together(s);
        snprintf(text, sizeof text, "line %d", i);
        dd_sheet_text(s, 0, 0, text);
        if (i == join_to)
            dd_sheet_apart(s);
    }
    dd_sheet_close(s, closing);
}

/* The lines of page `page`, from 1; its first line in *first and its last in *last (static, cut). */
static int lines_of(int page, char first[200], char last[200])
{
    const char *p = out.data;
    while (--page)
        p = strchr(p, '\f') + 1;
    size_t length = strcspn(p, "\f");
    int lines = 0;
    for (const char *q = p; q < p + length; q += strcspn(q, "\n") + 1) {
        size_t n = strcspn(q, "\n");
        cr_expect_leq(n, 72);
        char *to = lines++ == 0 ? first : last;
        memcpy(to, q, n < 199 ? n : 199);
        to[n < 199 ? n : 199] = '\0';
    }
    return lines;
}

Test(sheet, a_page_has_heading_content_and_end)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, true, 2);
    section(&s, &heading, 1, 0, 0, NULL);
    section(&s, &heading, 1, 0, 0, "Checked: nothing.\nEND OF REPORT\n");
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    hold("BAY1-BED2   THIS SHIFT   night, Wed 25 Nov 19:00 to Thu 26 Nov 07:00\n"
         "Larkfield  made Wed 25 Nov 19:00 (UTC-05:00)  page 1 of 2  F3H7-9WKT\n"
         "line 1\n"
         "END OF PAGE 1, BAY1-BED2\n"
         "\fBAY1-BED2   THIS SHIFT   night, Wed 25 Nov 19:00 to Thu 26 Nov 07:00\n"
         "Larkfield  made Wed 25 Nov 19:00 (UTC-05:00)  page 2 of 2  F3H7-9WKT\n"
         "line 1\n"
         "END OF PAGE 2, BAY1-BED2\n"
         "Checked: nothing.\n"
         "END OF REPORT\n");
    dd_bytes_free(&out);
}

Test(sheet, a_demo_says_so_first_and_notes_stand_on_every_page)
{
    dd_heading h = heading;
    dd_sheet s;
    h.demo = true;
    h.notes = "NOT PLANNED: bay1-bed3, 1 error\n";
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, true, 1);
    section(&s, &h, 1, 0, 0, NULL);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    hold("DEMO, NOT FOR CARE   BAY1-BED2   THIS SHIFT\n"
         "night, Wed 25 Nov 19:00 to Thu 26 Nov 07:00\n"
         "Larkfield  made Wed 25 Nov 19:00 (UTC-05:00)  page 1 of 1  F3H7-9WKT\n"
         "NOT PLANNED: bay1-bed3, 1 error\n"
         "line 1\n"
         "END OF PAGE 1, BAY1-BED2\n");
    dd_bytes_free(&out);
}

Test(sheet, made_page_and_code_stay_in_the_first_four_lines)
{
    dd_heading h = heading;
    dd_sheet s;
    h.demo = true;
    h.ward = "The ward of the long name, in the house of the long name, on the far side of the long bridge";
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, true, 1);
    section(&s, &h, 1, 0, 0, NULL);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    const char *fourth = out.data;
    for (int i = 0; i < 4; i++)
        fourth = strchr(fourth, '\n') + 1;
    for (size_t i = 0; i < 4; i++) {
        static const char *const parts[] = {"made Wed 25 Nov 19:00", "page 1 of 1", "F3H7-9WKT", "The ward of the long name"};
        const char *found = strstr(out.data, parts[i]);
        cr_expect(found && found < fourth, "%s", parts[i]);
    }
    dd_bytes_free(&out);
}

Test(sheet, long_sections_go_on_with_the_heading_repeated)
{
    static const struct { int lines, join_from, join_to; const char *closing; int pages[3]; const char *second; } cases[] = {
        /* 60 lines: two of heading and one of END leave 57; on later pages the heading takes three lines and a rule */
        {57, 0, 0, NULL, {60, 0, 0}, NULL},
        {58, 0, 0, NULL, {60, 6, 0}, "line 58"},
        {57 + 55, 0, 0, NULL, {60, 60, 0}, "line 58"},
        {57 + 56, 0, 0, NULL, {60, 60, 6}, "line 58"},
        /* lines kept together move to the next page whole; those that no page can hold are broken all the same */
        {60, 50, 60, NULL, {52, 16, 0}, "line 50"},
        {70, 1, 70, NULL, {60, 18, 0}, "line 58"},
        /* what closes the report needs room under the last END */
        {57, 0, 0, "Checked.\nEND OF REPORT\n", {59, 8, 0}, "line 57"},
    };
    for (size_t i = 0; i < ROWS(cases); i++) {
        dd_sheet s;
        char first[200], last[200];
        out = DD_BYTES(PLENTY);
        dd_sheet_start(&s, &out, 72, true, 1);
        section(&s, &heading, cases[i].lines, cases[i].join_from, cases[i].join_to, cases[i].closing);
        cr_assert_eq(dd_sheet_finish(&s), DD_OK);
        int pages = 1;
        for (const char *p = out.data; *p; p++)
            pages += *p == '\f';
        cr_expect_eq(pages, cases[i].pages[2] ? 3 : cases[i].pages[1] ? 2 : 1, "case %zu: %d pages", i, pages);
        for (int page = 1; page <= pages; page++) {
            int lines = lines_of(page, first, last);
            cr_expect_eq(lines, cases[i].pages[page - 1], "case %zu, page %d: %d lines", i, page, lines);
            cr_expect(strncmp(first, "BAY1-BED2   THIS SHIFT", 22) == 0, "case %zu: %s", i, first);
            cr_expect_eq(strstr(first, "(continued)") != NULL, page > 1, "case %zu: %s", i, first);
            cr_expect(strncmp(last, "END OF", 6) == 0, "case %zu: %s", i, last);
        }
        if (cases[i].second) {
            const char *second = strchr(strchr(out.data, '\f'), '-');
            second = strstr(second, "\n---");
            cr_assert(second);
            second = strchr(second + 1, '\n') + 1;
            cr_expect(strncmp(second, cases[i].second, strlen(cases[i].second)) == 0, "case %zu: %.20s", i, second);
        }
        dd_bytes_free(&out);
    }
}

Test(sheet, a_page_does_not_begin_with_a_rule_or_a_blank_line)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, true, 1);
    dd_sheet_open(&s, &heading);
    for (int i = 0; i < 57; i++)
        dd_sheet_text(&s, 0, 0, "text");
    dd_sheet_rule(&s);
    dd_sheet_blank(&s);
    dd_sheet_text(&s, 0, 0, "behind");
    dd_sheet_close(&s, NULL);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    cr_expect(strstr(out.data, "---\nbehind\nEND OF PAGE 2"));
    dd_bytes_free(&out);
}

Test(sheet, a_screen_gets_no_breaks)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, false, 1);
    section(&s, &heading, 200, 0, 0, NULL);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    cr_expect(!strchr(out.data, '\f'));
    cr_expect(strstr(out.data, "page 1 of 1"));
    cr_expect(strstr(out.data, "line 200\nEND OF PAGE 1"));
    dd_bytes_free(&out);
}

Test(sheet, the_count_of_pages_has_room_for_its_digits)
{
    dd_sheet s;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, true, 1200);
    for (int i = 0; i < 1200; i++)
        section(&s, &heading, 1, 0, 0, NULL);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    cr_expect(strstr(out.data, "page 1 of 1200"));
    cr_expect(strstr(out.data, "page 1200 of 1200"));
    for (const char *p = out.data; *p; p += strcspn(p, "\n") + 1)
        cr_expect_leq(strcspn(p + (*p == '\f'), "\n"), 72);
    dd_bytes_free(&out);
}

/* ---- tables ---- */

Test(sheet, columns_are_as_wide_as_what_stands_in_them)
{
    static const dd_column columns[] = {{.head = "hour", .align = DD_LEFT}, {.head = "fluid", .align = DD_POINT}, {.head = "IN", .align = DD_POINT}, {.head = "SUM", .align = DD_POINT, .bar = true}};
    static const char *const cells[] = {"07", "23.6", "23.6", "23.6", "08", "9.4", "21.4?", "45?", "all", "1,033", "", "?"};
    dd_sheet s;
    dd_grid g;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, false, 1);
    dd_grid_start(&g, columns, ROWS(columns));
    for (size_t i = 0; i < ROWS(cells); i++)
        dd_grid_cell(&g, cells[i]);
    dd_grid_write(&g, &s, 1);
    dd_sheet_pour(&s);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    hold(" hour    fluid     IN |  SUM\n"
         " 07       23.6  23.6  | 23.6\n"
         " 08        9.4  21.4? | 45?\n"
         " all   1,033          |  ?\n");
    dd_bytes_free(&out);
}

Test(sheet, columns_that_do_not_fit_go_on_below)
{
    static const dd_column columns[] = {{.head = "bed", .align = DD_LEFT}, {.head = "a rather long heading", .align = DD_POINT}, {.head = "another long heading", .align = DD_POINT},
        {.head = "one more long heading", .align = DD_POINT}};
    dd_sheet s;
    dd_grid g;
    out = DD_BYTES(PLENTY);
    dd_sheet_start(&s, &out, 72, false, 1);
    dd_grid_start(&g, columns, ROWS(columns));
    for (size_t i = 0; i < 4; i++)
        dd_grid_cell(&g, i == 0 ? "bay1-bed2" : "1");
    dd_grid_write(&g, &s, 0);
    dd_sheet_pour(&s);
    cr_expect_eq(dd_sheet_finish(&s), DD_OK);
    hold("bed        a rather long heading  another long heading\n"
         "bay1-bed2                      1                     1\n"
         "bed        one more long heading\n"
         "bay1-bed2                      1\n");
    dd_bytes_free(&out);
}

/* ---- memory ---- */

static int allowed;

static void *some_realloc(void *old, size_t size)
{
    if (size == 0) {
        free(old);
        return NULL;
    }
    return allowed-- > 0 ? realloc(old, size) : NULL;
}

Test(sheet, without_memory_it_says_so)
{
    dd_arena_realloc *before = dd_arena_allocator;
    dd_status status = DD_NO_MEMORY;
    int tries = 0;
    for (; status == DD_NO_MEMORY && tries < 1000; tries++) {
        dd_sheet s;
        allowed = tries;
        dd_arena_allocator = some_realloc;
        out = DD_BYTES(PLENTY);
        dd_sheet_start(&s, &out, 72, true, 1);
        section(&s, &heading, 100, 40, 60, "END OF REPORT");
        status = dd_sheet_finish(&s);
        dd_arena_allocator = before;
        dd_bytes_free(&out);
    }
    cr_expect_eq(status, DD_OK);
    cr_expect_gt(tries, 5);
}
