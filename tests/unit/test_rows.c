/* test_rows.c - the rows that programs read. The timelines are made by hand; numbers and times are held against the one number
 * formatter and the one time formatter, which rows.c goes round for speed. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "bytes.h"
#include "daydrip/write.h"

TestSuite(rows);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])
#define PLENTY ((size_t)16 * 1024 * 1024)
#define BEGINS INT64_C(1795608000) /* 2026-11-25T12:00:00Z */
#define HOUR 3600

/* Clocks go back by an hour 20 h after the plan begins. */
static const dd_zone_span spans[] = {{0, -4 * HOUR}, {BEGINS + 20 * HOUR, -5 * HOUR}};
static const dd_zone zone = {"America/Somewhere", spans, 2, 0, INT64_C(1) << 40};
static const dd_line lines[] = {{.key = "left-arm"}, {.key = "b"}};
static const dd_order orders[] = {{.key = "main"}, {.key = "dose.1"}};
static const dd_patient patient = {.key = "bay1-bed2", .lines = lines, .line_count = 2, .orders = orders, .order_count = 2};
static const dd_plan plan = {.zone = &zone, .begins = BEGINS, .end = BEGINS + 24 * HOUR, .patients = &patient, .patient_count = 1};
static const dd_view view = {.plan = &plan, .from = BEGINS, .to = BEGINS + 24 * HOUR};

static dd_bytes schedule(const dd_view *v, const dd_flow *flows, size_t count)
{
    dd_timeline t = {.plan = &plan, .patient = &patient, .flows = flows, .flow_count = count};
    dd_bytes out = DD_BYTES(PLENTY);
    cr_assert_eq(dd_rows_schedule(v, &t, &out), DD_OK);
    return out;
}

Test(rows, schedule)
{
    const dd_flow flows[] = {
        {.from = BEGINS, .to = BEGINS + HOUR, .due = DD_NEVER, .given = {INT64_C(80000) * HOUR}, .rate = {80000}, .bag = 1, .basis = DD_PLANNED},
        {.from = BEGINS + HOUR, .to = BEGINS + HOUR + 1, .due = BEGINS + HOUR, .given = {1}, .rate = {23600}, .bag = 12, .order = 1, .line = 1, .basis = DD_CHARTED},
        {.from = BEGINS + HOUR, .to = BEGINS + 2 * HOUR, .due = BEGINS + HOUR, .given = {1800}, .rate = {1}, .order = 1, .line = 1, .part = DD_PART_FLUSH, .basis = DD_PLANNED},
    };
    dd_bytes out = DD_BYTES(PLENTY);
    cr_expect_eq(dd_rows_schedule_head(&out), DD_OK);
    cr_expect_str_eq(out.data, "patient,line,order,due,part,bag,from,to,rate_ml_per_h,volume_ml,basis\n");
    dd_bytes_free(&out);
    out = schedule(&view, flows, ROWS(flows));
    cr_expect_str_eq(out.data,
        "bay1-bed2,left-arm,main,,bag,1,2026-11-25T08:00:00-04:00,2026-11-25T09:00:00-04:00,80,80,planned\n"
        "bay1-bed2,b,dose.1,2026-11-25T09:00:00-04:00,bag,12,2026-11-25T09:00:00-04:00,2026-11-25T09:00:01-04:00,23.6,0,charted\n"
        "bay1-bed2,b,dose.1,2026-11-25T09:00:00-04:00,flush,,2026-11-25T09:00:00-04:00,2026-11-25T10:00:00-04:00,0.001,0.001,planned\n");
    dd_bytes_free(&out);
    /* a span takes the rows that touch it, whole */
    dd_view later = view;
    later.from = BEGINS + HOUR + 1;
    out = schedule(&later, flows, ROWS(flows));
    cr_expect(strncmp(out.data, "bay1-bed2,b,dose.1,2026-11-25T09:00:00-04:00,flush", 50) == 0, "%s", out.data);
    dd_bytes_free(&out);
}

/* The `column`th cell of the first row, from 0. */
static void cell(const dd_bytes *out, int column, char text[64])
{
    const char *p = out->data;
    while (column--)
        p = strchr(p, ',') + 1;
    size_t length = strcspn(p, ",\n");
    snprintf(text, 64, "%.*s", (int)length, p);
}

Test(rows, every_number_is_the_formatters)
{
    static const int64_t amounts[] = {1, 1799, 1800, 1801, 3599, 3600, 5399, 5400, 36000, 360000, 3600000, 3600000 - 1800, 3600000 - 1801, 123456789, 359999999999, 360000000000};
    for (size_t i = 0; i < ROWS(amounts); i++)
        for (int64_t rate = 0; rate < 3; rate++) {
            dd_flow flow = {.from = BEGINS, .to = BEGINS + 1, .due = DD_NEVER, .given = {amounts[i]}, .rate = {amounts[i] % 10000001 * rate}, .bag = (int32_t)i + 1};
            char got[64], expected[DD_NUMBER_MAX];
            dd_bytes out = schedule(&view, &flow, 1);
            cell(&out, 8, got);
            dd_number_scaled(expected, flow.rate.ul_per_h, 3, 3, DD_STYLE_PROGRAM);
            cr_expect_str_eq(got, expected);
            cell(&out, 9, got);
            dd_number_u(expected, flow.given, 3, DD_STYLE_PROGRAM);
            cr_expect_str_eq(got, expected);
            dd_bytes_free(&out);
        }
}

Test(rows, every_time_is_the_formatters)
{
    /* forwards and to and fro, over midnights and over the change of clocks */
    for (int64_t step = 1; step < 90000; step = step * 3 + 7) {
        dd_flow flows[40];
        for (int i = 0; i < 40; i++)
            flows[i] = (dd_flow){.from = BEGINS + (i % 2 ? i : 40 - i) * step % 86400, .due = BEGINS - i * step, .bag = 1, .given = {3600}, .rate = {1}};
        for (int i = 0; i < 40; i++)
            flows[i].to = flows[i].from + step % 86400 + 1;
        dd_bytes out = schedule(&view, flows, 40);
        const char *p = out.data;
        for (int i = 0; i < 40; i++, p = strchr(p, '\n') + 1) {
            char due[DD_MOMENT_MAX], from[DD_MOMENT_MAX], to[DD_MOMENT_MAX], expected[256];
            dd_moment_write(due, &zone, flows[i].due, DD_MOMENT_PROGRAM);
            dd_moment_write(from, &zone, flows[i].from, DD_MOMENT_PROGRAM);
            dd_moment_write(to, &zone, flows[i].to, DD_MOMENT_PROGRAM);
            snprintf(expected, sizeof expected, "bay1-bed2,left-arm,main,%s,bag,1,%s,%s,", due, from, to);
            cr_expect(strncmp(p, expected, strlen(expected)) == 0, "%.120s\n%s", p, expected);
        }
        dd_bytes_free(&out);
    }
}

Test(rows, text_is_quoted_only_where_it_must_be)
{
    static const char *const cases[][2] = {{"plain", "plain"}, {"a,b", "\"a,b\""}, {"a \"b\"", "\"a \"\"b\"\"\""}, {"=1", "'=1"}, {"+1", "'+1"}, {"-1", "'-1"},
        {"@x", "'@x"}, {"=a,b", "\"'=a,b\""}, {"a=b", "a=b"}, {"a b ", "a b "}, {"a\nb", "\"a\nb\""}};
    for (size_t i = 0; i < ROWS(cases); i++) {
        const dd_order odd = {.key = cases[i][0]};
        const dd_patient p = {.key = "p", .lines = lines, .orders = &odd, .line_count = 1, .order_count = 1};
        const dd_flow flow = {.from = BEGINS, .to = BEGINS + 1, .due = DD_NEVER, .given = {1}, .bag = 1};
        dd_timeline t = {.plan = &plan, .patient = &p, .flows = &flow, .flow_count = 1};
        dd_bytes out = DD_BYTES(PLENTY);
        char expected[64];
        cr_assert_eq(dd_rows_schedule(&view, &t, &out), DD_OK);
        snprintf(expected, sizeof expected, "p,left-arm,%s,,bag,", cases[i][1]);
        cr_expect(strncmp(out.data, expected, strlen(expected)) == 0, "%s", out.data);
        dd_bytes_free(&out);
    }
}

Test(rows, totals)
{
    const dd_total totals[] = {{BEGINS, BEGINS + HOUR, {INT64_C(3600) * 523900}, 0, 0, DD_CAT_FLUID, DD_CHARTED},
        {BEGINS, BEGINS + HOUR, {0}, 1, 0, DD_CAT_ORAL, DD_CHARTED}, {BEGINS, BEGINS + HOUR, {3600}, 2, 1, 2, DD_PLANNED}, {BEGINS, BEGINS + HOUR, {3600}, 0, 1, 6, DD_PLANNED}};
    dd_timeline t = {.plan = &plan, .patient = &patient};
    dd_bytes out = DD_BYTES(PLENTY);
    cr_expect_eq(dd_rows_totals_head(&out), DD_OK);
    cr_expect_eq(dd_rows_totals(&view, &t, totals, ROWS(totals), &out), DD_OK);
    cr_expect_str_eq(out.data,
        "patient,from,to,direction,category,volume_ml,basis,unknown\n"
        "bay1-bed2,2026-11-25T08:00:00-04:00,2026-11-25T09:00:00-04:00,in,fluid,523.9,charted,0\n"
        "bay1-bed2,2026-11-25T08:00:00-04:00,2026-11-25T09:00:00-04:00,in,oral,0,charted,1\n"
        "bay1-bed2,2026-11-25T08:00:00-04:00,2026-11-25T09:00:00-04:00,out,vomit,0.001,planned,2\n"
        "bay1-bed2,2026-11-25T08:00:00-04:00,2026-11-25T09:00:00-04:00,out,other,0.001,planned,0\n");
    dd_bytes_free(&out);
}

Test(rows, a_ceiling_is_told)
{
    const dd_flow flow = {.from = BEGINS, .to = BEGINS + 1, .due = DD_NEVER, .given = {1}, .bag = 1};
    dd_timeline t = {.plan = &plan, .patient = &patient, .flows = &flow, .flow_count = 1};
    dd_bytes out = DD_BYTES(50);
    cr_expect_eq(dd_rows_schedule(&view, &t, &out), DD_NO_MEMORY);
    dd_bytes_free(&out);
}
