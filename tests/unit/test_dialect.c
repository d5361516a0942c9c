/* Rows written as their table is written, and last lines without an end. */
#include <criterion/criterion.h>
#include <string.h>

#include "dialect.h"

#define CEILING 4096

static void row_is(dd_dialect d, const char *const *cells, const char *wanted)
{
    dd_bytes out = DD_BYTES(CEILING);
    dd_dialect_row(&d, cells, &out);
    cr_expect_str_eq(out.data, wanted);
    dd_bytes_free(&out);
}

Test(dialect, rows)
{
    const char *const cells[] = {"e-0001", NULL, "", "a,b", "a;b", "a\tb", "say \"no\"", " blank ", "x"};
    row_is((dd_dialect){9, ',', false}, cells, "e-0001,,,\"a,b\",a;b,a\tb,\"say \"\"no\"\"\",\" blank \",x\n");
    row_is((dd_dialect){9, ';', true}, cells, "e-0001;;;a,b;\"a;b\";a\tb;\"say \"\"no\"\"\";\" blank \";x\r\n");
    row_is((dd_dialect){6, '\t', false}, cells, "e-0001\t\t\ta,b\ta;b\t\"a\tb\"\n");
    row_is((dd_dialect){1, ',', false}, cells, "e-0001\n");
}

static void closed_by(const char *bytes, const char *wanted, bool cut)
{
    const dd_dialect d = {3, ',', false};
    dd_bytes out = DD_BYTES(CEILING);
    cr_expect_eq(dd_dialect_close(&d, bytes, strlen(bytes), &out), cut, "%s", bytes);
    cr_expect_str_eq(out.data ? out.data : "", wanted, "%s", bytes);
    dd_bytes_free(&out);
}

Test(dialect, last_line)
{
    closed_by("", "", false);
    closed_by("a,b,c\n", "", false);
    closed_by("a,b,c", "\n", false);
    closed_by("a,b,c\n1,2,3", "\n", false);
    closed_by("a,b,c\n1,2,", "\n", false);
    closed_by("a,b,c\n  ", "\n", false);
    closed_by("a,b,c\n1,2", ",,cut off\n", true);
    closed_by("a,b,c\n1", ",,,cut off\n", true);
    closed_by("a,b,c\n1,2,\"3", "\",cut off\n", true);
    closed_by("a,b,c\n1,\"2,", "\",,cut off\n", true);
    closed_by("a,b,c\n\"1,2\",\"3,4\"", ",,cut off\n", true);
    closed_by("a,b,c\n1,2,\"3 \"\"x\"\"\"", "\n", false);
}
