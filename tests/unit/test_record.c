/* Rows, cells and places of a table: what libcsv does not say. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "record.h"

/* The cells of all rows, `line:cell|cell;` after each other; a fault as `!number@field`. */
static const char *read_all(const char *text, size_t length)
{
    static char out[4096];
    dd_records *r;
    cr_assert_eq(dd_record_open(text, length, 0, &r), DD_OK);
    size_t at = 0;
    for (;;) {
        dd_record row;
        cr_assert_eq(dd_record_next(r, &row), DD_OK);
        if (!row.line)
            break;
        at += (size_t)snprintf(out + at, sizeof out - at, "%u:", (unsigned)row.line);
        for (size_t i = 0; i < row.count; i++)
            at += (size_t)snprintf(out + at, sizeof out - at, "%s%s", i ? "|" : "", row.cells[i].text);
        if (row.fault)
            at += (size_t)snprintf(out + at, sizeof out - at, "!%d@%zu", (int)row.fault, row.fault_cell);
        at += (size_t)snprintf(out + at, sizeof out - at, ";");
    }
    out[at] = '\0';
    dd_record_close(r);
    return out;
}
#define READ(text) read_all(text, sizeof text - 1)

Test(record, lines_are_physical)
{
    cr_expect_str_eq(READ("a,b\n\n1,2\n ,\n3,4"), "1:a|b;3:1|2;5:3|4;");
    cr_expect_str_eq(READ("a,b\r\n1,2\r\n"), "1:a|b;2:1|2;");
    cr_expect_str_eq(READ("\xef\xbb\xbf\"a\",b\n"), "1:a|b;");
    cr_expect_str_eq(READ(""), "");
    cr_expect_str_eq(READ("\n\n"), "");
}

Test(record, separator_by_the_first_row)
{
    cr_expect_str_eq(READ("a;b\n1,5;2\n"), "1:a|b;2:1,5|2;");
    cr_expect_str_eq(READ("a\tb\n1;5\t\"2\t3\"\n"), "1:a|b;2:1;5|2\t3;");
    cr_expect_str_eq(READ("a,b;c\n"), "1:a|b;c;");
}

Test(record, quotes)
{
    cr_expect_str_eq(READ("\"a\"\"b\", \" c \" ,d\n"), "1:a\"b|c|d;");
    cr_expect_str_eq(READ("a,\"b\"c,d\n1,2\n"), "1:a!3@1;2:1|2;");
    cr_expect_str_eq(READ("a,b\"c,d\n1,2\n"), "1:a!4@1;2:1|2;");
    cr_expect_str_eq(READ("a,\"b\n1,2\n"), "1:a!1@1;2:1|2;");
    cr_expect_str_eq(READ("a,\"b\nc\",d\n1,2\n"), "1:a|b\nc|d!2@1;3:1|2;");
    cr_expect_str_eq(READ("a,\"b\nc\"d\n1,2\n"), "1:a!1@1;2:!4@0;3:1|2;");
    cr_expect_str_eq(READ("a,\"b\nc\",\"d\ne\",f\n1,2\n"), "1:a|b\nc|d\ne|f!2@1;4:1|2;");
    cr_expect_str_eq(READ("a,\"\"\n"), "1:a|;");
    cr_expect_str_eq(READ("a,\""), "1:a!1@1;");
}

Test(record, bytes_that_cannot_stand)
{
    cr_expect_str_eq(READ("a,b\0c,d\n"), "1:a|b|d!6@1;");
    cr_expect_str_eq(READ("a,\xff\n"), "1:a|\xff!7@1;");
    cr_expect_str_eq(READ("a,\xc3\xa9\n"), "1:a|\xc3\xa9;");
    cr_expect_str_eq(READ("a,\xed\xa0\x80\n"), "1:a|\xed\xa0\x80!7@1;"); /* half of a pair */
    cr_expect_str_eq(READ("a,\xc0\xaf\n"), "1:a|\xc0\xaf!7@1;");         /* longer than needed */
}

Test(record, ceiling_of_a_field)
{
    static char text[DD_RECORD_FIELD_MOST + 8];
    memset(text, 'x', sizeof text);
    text[DD_RECORD_FIELD_MOST] = ',';
    dd_records *r;
    dd_record row;
    cr_assert_eq(dd_record_open(text, DD_RECORD_FIELD_MOST + 2, 0, &r), DD_OK);
    cr_assert_eq(dd_record_next(r, &row), DD_OK);
    cr_expect_eq(row.fault, DD_RECORD_FINE);
    dd_record_close(r);
    text[DD_RECORD_FIELD_MOST] = 'x';
    cr_assert_eq(dd_record_open(text, DD_RECORD_FIELD_MOST + 2, 0, &r), DD_OK);
    cr_assert_eq(dd_record_next(r, &row), DD_OK);
    cr_expect_eq(row.fault, DD_RECORD_FIELD_LONG);
    dd_record_close(r);
}

Test(record, places)
{
    static const struct { const char *raw; size_t field, from, length; } rows[] = {
        {"a,bc,d", 0, 0, 1},       {"a,bc,d", 1, 2, 2},      {"a,bc,d", 2, 5, 1},  {"a,bc,d", 3, 6, 0},
        {"a, bc ,d", 1, 3, 2},     {"\"a,b\",c", 0, 0, 5},   {"\"a,b\",c", 1, 6, 1}, {"a,\"b\"\"c\",d", 1, 2, 6},
        {"a,\"b\"\"c\",d", 2, 9, 1}, {"a,,b", 1, 2, 0},      {"", 0, 0, 0},        {"a,\"bcd", 1, 2, 4},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t from, length;
        dd_record_place(rows[i].raw, strlen(rows[i].raw), ',', rows[i].field, &from, &length);
        cr_expect_eq(from, rows[i].from, "row %zu: from %zu", i, from);
        cr_expect_eq(length, rows[i].length, "row %zu: length %zu", i, length);
    }
}
