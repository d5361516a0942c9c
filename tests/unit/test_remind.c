/* test_remind.c - which tasks of a timeline are reminded of, under which name, and what the reminder says. The timelines are
 * made by hand: nothing here rests on the engine. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "arena.h"
#include "bytes.h"
#include "calendar.h"
#include "calread.h"
#include "load.h"
#include "pagecode.h"
#include "remind.h"
#include "uid.h"

TestSuite(remind);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])
#define PLENTY ((size_t)16 * 1024 * 1024)
#define BEGINS INT64_C(1795608000) /* 2026-11-25T12:00:00Z, Wed 07:00 on the ward */
#define HOUR 3600
#define AT(hour, minute) (BEGINS + ((hour) * 60 + (minute)) * INT64_C(60) - 7 * HOUR) /* a clock of the ward's Wednesday, 24 and up: Thursday */

/* A folder whose tables give page codes something to rest on. */
static dd_folder *a_folder(void)
{
    static const char *const tables[][2] = {
        {"ward.csv", "setting,value\nward,Larkfield\ntimezone,America/Lima\nbegins,2026-11-25 07:00\n"},
        {"patients.csv", "patient,bed,age,weight,allergies\np1,bay1-bed1,67 years,80 kg,none\np2,bay1-bed2,67 years,82 kg,penicillin\n"},
        {"lines.csv", "patient,line,kind\np1,left-arm,peripheral\np2,left-arm,peripheral\n"},
        {"orders.csv", "patient,order,fluid,line,rate,bag\np1,main,nacl-0.9,left-arm,80 mL/h,1 L\np2,main,nacl-0.9,left-arm,80 mL/h,1 L\n"},
    };
    char path[] = "/tmp/daydrip-test-XXXXXX", file[64];
    dd_folder *folder = NULL;
    cr_assert(mkdtemp(path));
    for (size_t i = 0; i < ROWS(tables); i++) {
        snprintf(file, sizeof file, "%s/%s", path, tables[i][0]);
        FILE *f = fopen(file, "w");
        cr_assert(f && fputs(tables[i][1], f) >= 0 && fclose(f) == 0);
    }
    cr_assert_eq(dd_folder_read(path, &folder), DD_OK);
    for (size_t i = 0; i < ROWS(tables); i++) {
        snprintf(file, sizeof file, "%s/%s", path, tables[i][0]);
        unlink(file);
    }
    rmdir(path);
    return folder;
}

enum { MAIN, DRIP, METRO, ONCE, FEED, TWIN, NOTHING, ORDERS };

static const dd_zone_span spans[] = {{BEGINS - 30 * 86400, -4 * HOUR}, {BEGINS - 24 * 86400 - 6 * HOUR, -5 * HOUR}};
static const dd_zone zone = {"America/Somewhere", spans, 2, BEGINS - 1000 * INT64_C(86400), BEGINS + 1000 * INT64_C(86400)};

static const dd_mixture plain = {.fluid = -1, .text = "nacl-0.9", .words = "sodium chloride 0.9 %"};
static const dd_mixture dose = {.fluid = -1, .text = "metronidazole", .words = "metronidazole 500 mg in sodium chloride 0.9 %"};
static const dd_line lines[] = {{.key = "left-forearm"}, {.key = "right-hand"}};
static const dd_order orders[ORDERS] = {
    [MAIN] = {.key = "main", .mixture = &plain, .start = BEGINS, .runs = DD_PRIMARY, .step_count = 1, .line = 0},
    [DRIP] = {.key = "drip", .mixture = &plain, .start = AT(21, 0), .runs = DD_PRIMARY, .step_count = 1, .line = 1, .device = DD_GRAVITY},
    [METRO] = {.key = "metro", .mixture = &dose, .runs = DD_PIGGYBACK, .repeat = DD_TIMES, .step_count = 1, .line = 0},
    [ONCE] = {.key = "once", .mixture = &dose, .runs = DD_PIGGYBACK, .step_count = 1, .line = 0},
    [FEED] = {.key = "feed", .mixture = &plain, .runs = DD_CONCURRENT, .repeat = DD_EVERY, .step_count = 1, .line = 1},
    [TWIN] = {.key = "twin", .mixture = &dose, .runs = DD_PIGGYBACK, .repeat = DD_TIMES, .step_count = 1, .line = 1},
    [NOTHING] = {.key = "nothing", .mixture = &plain, .start = AT(20, 0), .runs = DD_PRIMARY, .rate_kind = DD_RATE_REMAINDER, .line = 1},
};
static const dd_patient patients[] = {
    {.key = "p1", .bed = "bay1-bed1"},
    {.key = "p2", .bed = "bay1-bed2", .lines = lines, .orders = orders, .line_count = ROWS(lines), .order_count = ORDERS},
};
static const dd_plan the_plan = {.ward = "Larkfield", .id = "0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A55", .zone = &zone, .begins = BEGINS,
    .end = BEGINS + 24 * HOUR, .patients = patients, .patient_count = ROWS(patients)};

/* In the order of time, as the engine gives them; the metronidazole due at 22:00 starts at 22:10. */
static const dd_flow flows[] = {
    {.from = AT(7, 0), .to = AT(12, 0), .due = DD_NEVER, .rate = {80000}, .bag = 1, .order = MAIN, .line = 0},
    {.from = AT(12, 0), .to = AT(22, 10), .due = DD_NEVER, .rate = {80000}, .bag = 2, .order = MAIN, .line = 0},
    {.from = AT(14, 0), .to = AT(14, 30), .due = AT(14, 0), .rate = {200000}, .bag = 1, .order = METRO, .line = 0},
    {.from = AT(21, 0), .to = AT(23, 0), .due = DD_NEVER, .rate = {63000}, .bag = 1, .order = DRIP, .line = 1},
    {.from = AT(22, 10), .to = AT(22, 40), .due = AT(22, 0), .rate = {200000}, .bag = 2, .order = METRO, .line = 0},
    {.from = AT(22, 40), .to = AT(22, 46), .due = AT(22, 0), .rate = {200000}, .order = METRO, .line = 0, .part = DD_PART_FLUSH},
    {.from = AT(22, 46), .to = AT(23, 0), .due = DD_NEVER, .rate = {80000}, .bag = 2, .order = MAIN, .line = 0},
    {.from = AT(23, 0), .to = AT(23, 30), .due = DD_NEVER, .rate = {200000}, .bag = 1, .order = ONCE, .line = 0},
    {.from = AT(24, 0), .to = AT(24, 30), .due = AT(24, 0), .rate = {20500}, .bag = 1, .order = FEED, .line = 1},
    {.from = AT(25, 0), .to = AT(25, 10), .due = AT(25, 0), .rate = {100000}, .bag = 1, .order = TWIN, .line = 1},
    {.from = AT(25, 10), .to = AT(25, 20), .due = AT(25, 0), .rate = {100000}, .bag = 2, .order = TWIN, .line = 1},
    {.from = AT(25, 42) + 18, .to = AT(31, 0), .due = DD_NEVER, .rate = {80000}, .bag = 3, .order = MAIN, .line = 0},
    {.from = AT(30, 0), .to = AT(30, 30), .due = AT(30, 0), .rate = {200000}, .bag = 3, .order = METRO, .line = 0},
};
static const dd_bag bags[] = {
    {.up = AT(1, 0), .due = DD_NEVER, .number = 1, .order = MAIN, .line = 0, .found_hanging = true},
    {.up = AT(12, 0), .due = DD_NEVER, .number = 2, .order = MAIN, .line = 0},
    {.up = AT(25, 42) + 18, .due = DD_NEVER, .number = 3, .order = MAIN, .line = 0},
    {.up = AT(21, 0), .due = DD_NEVER, .number = 1, .order = DRIP, .line = 1},
    {.up = AT(14, 0), .due = AT(14, 0), .number = 1, .order = METRO, .line = 0},
    {.up = AT(22, 10), .due = AT(22, 0), .number = 2, .order = METRO, .line = 0},
    {.up = AT(30, 0), .due = AT(30, 0), .number = 3, .order = METRO, .line = 0},
    {.up = AT(23, 0), .due = DD_NEVER, .number = 1, .order = ONCE, .line = 0},
    {.up = AT(24, 0), .due = AT(24, 0), .number = 1, .order = FEED, .line = 1},
    {.up = AT(25, 0), .due = AT(25, 0), .number = 1, .order = TWIN, .line = 1},
    {.up = AT(25, 10), .due = AT(25, 0), .number = 2, .order = TWIN, .line = 1},
};
static const dd_run runs[] = {
    {.due = AT(7, 0), .start = AT(7, 0), .order = MAIN, .line = 0},
    {.due = AT(14, 0), .start = AT(14, 0), .occurrence = 1, .order = METRO, .line = 0, .repeated = true},
    {.due = AT(20, 0), .start = DD_NEVER, .order = NOTHING, .line = 1, .why = DD_END_NEVER},
    {.due = AT(21, 0), .start = AT(21, 0), .end = AT(23, 0), .order = DRIP, .line = 1, .why = DD_END_VOLUME},
    {.due = AT(22, 0), .start = AT(22, 10), .end = AT(22, 46), .flush_from = AT(22, 40), .occurrence = 2, .order = METRO, .line = 0, .repeated = true},
    {.due = AT(23, 0), .start = AT(23, 0), .order = ONCE, .line = 0},
    {.due = AT(24, 0), .start = AT(24, 0), .occurrence = 1, .order = FEED, .line = 1, .repeated = true},
    {.due = AT(25, 0), .start = AT(25, 0), .occurrence = 1, .order = TWIN, .line = 1, .repeated = true},
    {.due = AT(25, 0), .start = AT(25, 10), .occurrence = 2, .order = TWIN, .line = 1, .repeated = true},
    {.due = AT(30, 0), .start = AT(30, 0), .occurrence = 3, .order = METRO, .line = 0, .repeated = true},
    {.due = AT(30, 30), .start = AT(31, 10), .occurrence = 4, .order = METRO, .line = 0, .repeated = true, .why = DD_END_BEYOND},
    {.due = AT(16, 0), .start = DD_NEVER, .order = ONCE, .line = 0, .why = DD_END_NEVER},
};
/* MAIN goes on at the second in which the dose is over. */
static const dd_mark marks[] = {{.at = AT(22, 46), .due = DD_NEVER, .rate = {80000}, .order = MAIN, .line = 0, .cause = METRO, .kind = DD_MARK_GOES_ON}};
static const dd_set_rate by_pump = {.set = {80000}}, by_drops = {.set = {63000}, .drops = 21};
static const dd_set_rate *const rates[ORDERS] = {&by_pump, &by_drops, &by_pump, &by_pump, &by_pump, &by_pump, &by_pump};

static const dd_timeline the_timeline = {.plan = &the_plan, .patient = &patients[1], .now = AT(19, 0), .flows = flows, .flow_count = ROWS(flows),
    .bags = bags, .bag_count = ROWS(bags), .runs = runs, .run_count = ROWS(runs), .marks = marks, .mark_count = ROWS(marks), .rates = rates};

typedef struct asked {
    dd_folder *folder;
    dd_plan plan;
    dd_timeline timeline;
    const dd_timeline *timelines[2];
    const dd_patient *both[2];
    dd_view view;
    dd_calendar_options options;
    dd_calendar_said said;
    dd_bytes out;
    dd_arena *arena;
    const dd_calendar_event *events;
    size_t count;
} asked;

static void prepare(asked *a)
{
    *a = (asked){.folder = a_folder(), .plan = the_plan, .timeline = the_timeline, .both = {&patients[0], &patients[1]}, .options = {.lead_s = 900},
        .out = DD_BYTES(PLENTY)};
    a->options.said = &a->said;
    a->timeline.plan = &a->plan;
    a->timelines[1] = &a->timeline; /* bay1-bed1 has errors: it has no timeline */
    a->view = (dd_view){.plan = &a->plan, .folder = a->folder, .timelines = a->timelines, .patients = a->both, .count = 2, .now = AT(19, 0),
        .from = AT(19, 0), .to = AT(31, 0)};
}

static void ask(asked *a)
{
    dd_bytes reason = DD_BYTES(PLENTY);
    a->arena = dd_arena_new();
    cr_assert_eq(dd_remind_write(&a->view, &a->options, &a->out), DD_OK);
    cr_assert_eq(dd_calread_events(a->out.data, a->out.length, a->arena, &a->events, &a->count, &reason), DD_OK, "%s", reason.data);
    dd_bytes_free(&reason);
}

static void done(asked *a)
{
    dd_bytes_free(&a->out);
    dd_arena_free(a->arena);
    dd_folder_free(a->folder);
}

typedef struct expected {
    dd_moment start;
    const char *title, *uid;
} expected;

/* The UIDs were worked out with Python's uuid.uuid5. */
static const expected night[] = {
    {AT(21, 0), "bay1-bed2: start 21:00", "1e3f00bd-8159-5d5d-8f1a-eba0f4dad184"},
    {AT(22, 10), "bay1-bed2: dose 22:10", "868dc915-b32a-5bb8-9452-307c13ff08f7"},
    {AT(23, 0), "bay1-bed2: ends 23:00", "14676dcb-74d1-5b21-bcd7-6b5b43bf8f87"},
    {AT(23, 0), "bay1-bed2: dose 23:00", "9e29beb7-06ba-5933-bd2a-c3e0353e6d17"},
    {AT(24, 0), "bay1-bed2: dose 00:00", "2230f0e4-84ae-52a0-afac-856ff0389b95"},
    {AT(25, 0), "bay1-bed2: dose 01:00", "d322215a-f443-5a29-a725-6c4e95f6f678"},
    {AT(25, 10), "bay1-bed2: dose 01:10", "169a7a8f-8bf6-5ae3-8bb0-059ffb36836c"},
    {AT(25, 42) + 18, "bay1-bed2: hang 01:42", "6c01a181-1911-581b-9f3f-d2c0acf79a3c"},
    {AT(30, 0), "bay1-bed2: dose 06:00", "cd4daebf-6133-5824-87d4-6b3b7fce0865"},
    {AT(31, 10), "bay1-bed2: dose 07:10", "9d1cd611-bc33-5890-8d8f-678c3bd516d4"}, /* due before the plan's end, started behind it */
};

static void expect_events(const asked *a, const expected *events, size_t count)
{
    cr_assert_eq(a->count, count, "%zu events", a->count);
    for (size_t i = 0; i < count; i++) {
        const dd_calendar_event *e = &a->events[i];
        cr_expect_str_eq(e->title, events[i].title, "event %zu: %s", i, e->title);
        cr_expect_str_eq(e->uid, events[i].uid, "event %zu: %s", i, e->uid);
        cr_expect(e->start == events[i].start && e->end == e->start + 600 && e->lead_s == a->options.lead_s && e->sequence == 0
                && e->last_modified == a->view.now && e->state == DD_CALENDAR_CONFIRMED,
            "event %zu", i);
    }
}

Test(remind, a_night)
{
    asked a;
    char code[DD_PAGECODE_SIZE];
    prepare(&a);
    ask(&a);
    expect_events(&a, night, ROWS(night));
    cr_assert_eq(dd_pagecode(&a.view, &a.view.plan->patients[1], code), DD_OK);
    dd_bytes text = DD_BYTES(PLENTY);
    dd_bytes_form(&text,
        "Get ready at 21:55. What, how much and how fast stand on the printed page, front of BAY1-BED2.\n"
        "Over at 22:46, flush included.\n"
        "The page counts, not this reminder; if the page is missing, go by the order.\n"
        "Made Wed 25 Nov 19:00. A plan, not an order.\n"
        "Page %s",
        code);
    cr_expect_str_eq(a.events[1].text, text.data, "%s", a.events[1].text);
    dd_bytes_free(&text);
    done(&a);
}

/* That an infusion goes on behind its dose is a reminder of its own where every task is. */
Test(remind, each)
{
    asked a;
    prepare(&a);
    a.options.each = true;
    ask(&a);
    cr_assert_eq(a.count, ROWS(night) + 1);
    cr_expect_str_eq(a.events[2].title, "bay1-bed2: goes-on 22:46");
    cr_expect_str_eq(a.events[2].uid, "b9544bf6-4ec0-57c6-bc4c-ee6c3ca3dd38");
    done(&a);
}

Test(remind, span_and_alarm)
{
    static const struct {
        dd_moment now, from, to;
        int64_t lead_s;
        size_t first, count; /* of `night` */
    } rows[] = {
        {AT(19, 0), AT(19, 0), AT(22, 10), 900, 0, 1}, /* `to` is outside */
        {AT(19, 0), AT(22, 10), AT(31, 0), 900, 1, 9}, /* `from` is inside */
        {AT(20, 45), AT(20, 45), AT(31, 0), 900, 0, 10}, /* an alarm that rings now */
        {AT(20, 45) + 1, AT(20, 45), AT(31, 0), 900, 1, 9}, /* one that would have rung a second ago */
        {AT(21, 0), AT(21, 0), AT(31, 0), 0, 0, 10},
        {AT(19, 0), AT(19, 0), AT(31, 0), 13800, 2, 8},
        {AT(19, 0), AT(19, 0), AT(19, 0), 900, 0, 0},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        asked a;
        prepare(&a);
        a.view.now = rows[i].now;
        a.view.from = rows[i].from;
        a.view.to = rows[i].to;
        a.options.lead_s = rows[i].lead_s;
        ask(&a);
        expect_events(&a, night + rows[i].first, rows[i].count);
        done(&a);
    }
}

Test(remind, from_the_beginning)
{
    asked a;
    prepare(&a);
    a.view.now = a.view.from = BEGINS;
    a.options.lead_s = 0;
    ask(&a);
    cr_assert_eq(a.count, ROWS(night) + 2); /* the bag that hangs already is no task, and nothing that flows at no rate */
    cr_expect_str_eq(a.events[0].title, "bay1-bed2: hang 12:00");
    cr_expect_str_eq(a.events[0].uid, "c121f42e-98d8-56c3-ac68-389e3739fc32");
    cr_expect_str_eq(a.events[1].title, "bay1-bed2: dose 14:00");
    done(&a);
}

Test(remind, detail)
{
    asked a;
    prepare(&a);
    a.options.detail = true;
    ask(&a);
    static const char *const titles[] = {
        "bay1-bed2: start 21:00, right-hand, sodium chloride 0.9 %, 21 drops/min (63 mL/h)",
        "bay1-bed2: dose 22:10, left-forearm, metronidazole 500 mg in sodium chloride 0.9 %, 200 mL/h",
        "bay1-bed2: ends 23:00, right-hand, sodium chloride 0.9 %",
        "bay1-bed2: dose 23:00, left-forearm, metronidazole 500 mg in sodium chloride 0.9 %, 200 mL/h",
        "bay1-bed2: dose 00:00, right-hand, sodium chloride 0.9 %, 20.5 mL/h",
        "bay1-bed2: dose 01:00, right-hand, metronidazole 500 mg in sodium chloride 0.9 %, 100 mL/h",
        "bay1-bed2: dose 01:10, right-hand, metronidazole 500 mg in sodium chloride 0.9 %, 100 mL/h",
        "bay1-bed2: hang 01:42, left-forearm, bag 3, sodium chloride 0.9 %, 80 mL/h",
        "bay1-bed2: dose 06:00, left-forearm, metronidazole 500 mg in sodium chloride 0.9 %, 200 mL/h",
        "bay1-bed2: dose 07:10, left-forearm, metronidazole 500 mg in sodium chloride 0.9 %",
    };
    cr_assert_eq(a.count, ROWS(titles));
    for (size_t i = 0; i < a.count; i++) {
        cr_expect_str_eq(a.events[i].title, titles[i], "%s", a.events[i].title);
        cr_expect_str_eq(a.events[i].uid, night[i].uid);
        const char *detail = strstr(titles[i], ", ") + 2;
        cr_expect(strncmp(a.events[i].text, detail, strlen(detail)) == 0 && a.events[i].text[strlen(detail)] == '\n', "%s", a.events[i].text);
    }
    done(&a);
}

/* What does not fit a title is left out whole, never cut. */
Test(remind, long_names)
{
    char words[300], bed[300], capitals[300];
    memset(words, 'w', sizeof words - 1);
    memset(bed, 'b', sizeof bed - 1);
    memset(capitals, 'B', sizeof capitals - 1);
    words[sizeof words - 1] = bed[sizeof bed - 1] = capitals[sizeof capitals - 1] = '\0';
    dd_mixture mixture = {.fluid = -1, .text = "x", .words = words};
    dd_order all[ORDERS];
    for (size_t i = 0; i < ORDERS; i++) {
        all[i] = orders[i];
        all[i].mixture = &mixture;
    }
    dd_patient both[2] = {patients[0], patients[1]};
    both[1].orders = all;
    asked a;
    prepare(&a);
    a.options.detail = true;
    a.plan.patients = both;
    a.timeline.patient = &both[1];
    ask(&a);
    cr_expect_str_eq(a.events[0].title, "bay1-bed2: start 21:00");
    cr_expect(strstr(a.events[0].text, words), "the whole name stands in the text");
    done(&a);

    both[1].bed = bed;
    prepare(&a);
    a.plan.patients = both;
    a.timeline.patient = &both[1];
    ask(&a);
    cr_expect_str_eq(a.events[0].title, "p2: start 21:00");
    cr_expect(strstr(a.events[0].text, capitals), "the whole name stands in the text");
    done(&a);
}

Test(remind, demo_says_so)
{
    asked a;
    prepare(&a);
    a.plan.demo = true;
    ask(&a);
    cr_assert_eq(a.count, ROWS(night));
    cr_expect(strncmp(a.events[0].text, "DEMO, NOT FOR CARE\n", 19) == 0);
    done(&a);
}

/* 01:00 to 02:00 comes twice where the second span begins. */
Test(remind, a_clock_that_comes_twice)
{
    dd_moment change = spans[1].since;
    for (int second = 0; second < 2; second++) {
        dd_moment at = change - 1800 + second * 3600;
        dd_flow flow = {.from = at, .to = at + 600, .due = at, .rate = {200000}, .bag = 1, .order = METRO, .line = 0};
        dd_run run = {.due = at, .start = at, .occurrence = 1, .order = METRO, .line = 0, .repeated = true};
        asked a;
        prepare(&a);
        a.timeline.flows = &flow;
        a.timeline.runs = &run;
        a.timeline.flow_count = a.timeline.run_count = 1;
        a.timeline.bag_count = 0;
        a.plan.begins = a.view.now = a.view.from = change - 7200;
        a.view.to = change + 7200;
        ask(&a);
        cr_assert_eq(a.count, 1);
        cr_expect_str_eq(a.events[0].title, "bay1-bed2: dose 01:30", "%s", a.events[0].title);
        cr_expect_eq(a.events[0].start, at);
        cr_expect(strstr(a.events[0].text, second ? "The clocks change: it is 01:30 twice, this is the one at UTC-05:00.\n"
                                                  : "The clocks change: it is 01:30 twice, this is the one at UTC-04:00.\n"),
            "%s", a.events[0].text);
        done(&a);
    }
}

Test(remind, refuses)
{
    static const struct {
        const char *id;
        int64_t lead_s;
        dd_status status;
    } rows[] = {
        {NULL, 900, DD_BAD_INPUT},
        {"", 900, DD_BAD_INPUT},
        {"larkfield", 900, DD_BAD_INPUT},
        {"0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A5", 900, DD_BAD_INPUT},
        {"0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A555", 900, DD_BAD_INPUT},
        {"0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A5G", 900, DD_BAD_INPUT},
        {"0B5A9E6C3-C1D-4F6E-9B7A-2D8E4C1F7A55", 900, DD_BAD_INPUT},
        {"0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A55", 901, DD_TOO_LARGE},
        {"0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A55", -60, DD_TOO_LARGE},
        {"0B5A9E6C-3C1D-4F6E-9B7A-2D8E4C1F7A55", 86460, DD_TOO_LARGE},
        {"0b5a9e6c-3c1d-4f6e-9b7a-2d8e4c1f7a55", 86400, DD_OK},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        asked a;
        prepare(&a);
        dd_bytes_text(&a.out, "before");
        a.plan.id = rows[i].id;
        a.options.lead_s = rows[i].lead_s;
        cr_expect_eq(dd_remind_write(&a.view, &a.options, &a.out), rows[i].status, "row %zu", i);
        if (rows[i].status)
            cr_expect_str_eq(a.out.data, "before", "row %zu", i);
        done(&a);
    }
}

Test(remind, whole_or_not_at_all)
{
    asked a;
    prepare(&a);
    ask(&a);
    for (size_t ceiling = 8; ceiling <= a.out.length; ceiling += 13) {
        dd_bytes out = DD_BYTES(ceiling);
        dd_bytes_text(&out, "before");
        cr_expect_eq(dd_remind_write(&a.view, &a.options, &out), DD_NO_MEMORY);
        cr_expect_str_eq(out.data, "before");
        dd_bytes_free(&out);
    }
    done(&a);
}

/* RFC 9562 A.4 has the first; the others are Python's. */
Test(remind, uid)
{
    static const char *const rows[][2] = {
        {"www.example.com", "2ed6657d-e927-568b-95e1-2665a8aea6a2"},
        {"", "4ebd0208-8328-5d69-8c44-ec50939c0967"},
        {"python.org", "886313e1-3b8a-5372-9b90-0c9aee199e5d"},
    };
    unsigned char space[16];
    char uid[DD_UID_SIZE];
    cr_assert(dd_uid_space("6ba7b810-9dad-11d1-80b4-00c04fd430c8", space));
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_uid_of(space, rows[i][0], strlen(rows[i][0]), uid);
        cr_expect_str_eq(uid, rows[i][1]);
    }
}

/* Five groups of eight bits become eight of five, in an alphabet without I L O U. */
Test(remind, page_code)
{
    char ward[DD_PAGECODE_SIZE], first[DD_PAGECODE_SIZE], second[DD_PAGECODE_SIZE], again[DD_PAGECODE_SIZE];
    dd_folder *folder = a_folder();
    const dd_plan *plan = dd_folder_plan(folder);
    const dd_patient *all[] = {&plan->patients[0], &plan->patients[1]};
    dd_view view = {.plan = plan, .folder = folder, .patients = all, .count = 2, .now = plan->begins, .known = plan->begins};
    cr_assert(dd_pagecode(&view, NULL, ward) == DD_OK && dd_pagecode(&view, all[0], first) == DD_OK && dd_pagecode(&view, all[1], second) == DD_OK
        && dd_pagecode(&view, all[1], again) == DD_OK);
    cr_expect_str_eq(second, again);
    cr_expect(strcmp(first, second) != 0 && strcmp(ward, first) != 0);
    for (size_t i = 0; i < 9; i++)
        cr_expect(i == 4 ? second[i] == '-' : strchr("0123456789ABCDEFGHJKMNPQRSTVWXYZ", second[i]) != NULL, "%s", second);
    cr_expect_eq(strlen(second), 9);
    dd_folder_free(folder);
}
