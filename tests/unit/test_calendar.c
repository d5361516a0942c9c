/* test_calendar.c - text fit for a calendar, folding, the writer, and the strict reader that holds it to its word. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "calendar.h"
#include "calread.h"
#include "caltext.h"

TestSuite(calendar);
TestSuite(calread);
TestSuite(caltext);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])
#define PLENTY ((size_t)16 * 1024 * 1024)
#define UID_A "2ed6657d-e927-568b-95e1-2665a8aea6a2"
#define UID_B "74738ff5-5367-5958-9aee-98fffdcd1876"

/* ---- text ---- */

Test(caltext, clean)
{
    static const struct {
        const char *text;
        bool lines;
        const char *expected;
    } rows[] = {
        {"bay1-bed2: dose 22:00", false, "bay1-bed2: dose 22:00"},
        {"", true, ""},
        {"a, b; c: \"d\"", false, "a, b; c: \"d\""},
        {"one\ntwo", true, "one\ntwo"},
        {"one\ntwo", false, "one two"},
        {"one\r\ntwo\rthree\n", true, "one\ntwo\nthree\n"},
        {"tab\there", false, "tab here"},
        {"mg\\mL \\n", false, "mg/mL /n"},
        {"bell\a, escape\x1b[2J, delete\x7f", false, "bell?, escape?[2J, delete?"},
        {"next line\xc2\x85, csi\xc2\x9b""2J", false, "next line?, csi?2J"},
        {"\xe2\x80\x8fright\xe2\x80\x8e and \xe2\x80\xaeleft\xe2\x80\xac", false, "right and left"},
        {"\xd8\x9c\xe2\x81\xa6isolates\xe2\x81\xa9\xef\xbb\xbf", false, "isolates"},
        {"line\xe2\x80\xa8paragraph\xe2\x80\xa9""end", true, "line paragraph end"},
        {"\xf0\x9f\x91\xa9\xe2\x80\x8d\xe2\x9a\x95\xef\xb8\x8f nurse", false, "\xf0\x9f\x91\xa9\xe2\x80\x8d\xe2\x9a\x95\xef\xb8\x8f nurse"},
        {"\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d", false, "\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d"},
        {"bad \xff, cut \xe2\x82", false, "bad \xef\xbf\xbd, cut \xef\xbf\xbd\xef\xbf\xbd"},
        {"surrogate \xed\xa0\x80.", false, "surrogate \xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd."},
        {"over-long \xc0\xaf", false, "over-long \xef\xbf\xbd\xef\xbf\xbd"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_bytes once = DD_BYTES(PLENTY), twice = DD_BYTES(PLENTY);
        dd_bytes_text(&once, "");
        dd_bytes_text(&twice, "");
        dd_caltext_clean(&once, rows[i].text, 1000, rows[i].lines);
        cr_expect_str_eq(once.data, rows[i].expected, "row %zu: \"%s\"", i, once.data);
        dd_caltext_clean(&twice, once.data, 1000, rows[i].lines);
        cr_expect_str_eq(twice.data, once.data, "row %zu is not the same a second time", i);
        dd_bytes_free(&once);
        dd_bytes_free(&twice);
    }
}

Test(caltext, clean_cuts_at_characters)
{
    static const struct {
        const char *text;
        size_t most;
        const char *expected;
    } rows[] = {
        {"abcd", 4, "abcd"},
        {"abcde", 4, "abc~"},
        {"abc\xc3\xa9", 4, "abc\xc3\xa9"},
        {"abc\xc3\xa9""e", 4, "abc~"},
        {"ab\xf0\x9f\x92\x89\xf0\x9f\x92\x89x", 4, "ab\xf0\x9f\x92\x89~"},
        {"abcd\xe2\x80\x8f", 4, "abcd"},
        {"\xff\xff", 1, "~"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_bytes out = DD_BYTES(PLENTY);
        dd_caltext_clean(&out, rows[i].text, rows[i].most, false);
        cr_expect_str_eq(out.data, rows[i].expected, "row %zu: \"%s\"", i, out.data);
        dd_bytes_free(&out);
    }
}

/* ---- folding ---- */

/* What must hold for folded text, walked octet by octet; gives the text without its folds. */
static void unfold(const dd_bytes *folded, dd_bytes *out)
{
    size_t line = 0;
    bool escaped = false;
    const char *p = folded->data, *end = p + folded->length;
    while (p < end) {
        if (*p != '\r') {
            cr_assert(*p != '\n', "LF alone");
            cr_assert(++line <= 75, "a line above 75 octets");
            escaped = !escaped && *p == '\\';
            dd_bytes_char(out, *p++);
            continue;
        }
        cr_assert(end - p >= 2 && p[1] == '\n', "CR alone");
        p += 2;
        line = 0;
        if (p == end || *p != ' ') {
            dd_bytes_text(out, "\r\n");
            escaped = false;
            continue;
        }
        p++;
        line = 1;
        cr_assert(p < end && *p != '\r', "an empty continuation");
        cr_assert(((unsigned char)*p & 0xc0) != 0x80, "a fold inside a character");
        cr_assert(!escaped, "a fold inside an escape");
    }
}

Test(caltext, fold_lengths)
{
    static const struct {
        size_t length;
        const char *lines; /* octets of each line written */
    } rows[] = {
        {0, "0"}, {1, "1"}, {73, "73"}, {74, "74"}, {75, "75"}, {76, "75 2"}, {148, "75 74"}, {149, "75 75"}, {150, "75 75 2"},
        {223, "75 75 75"}, {224, "75 75 75 2"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        char line[256];
        memset(line, 'x', sizeof line);
        dd_bytes out = DD_BYTES(PLENTY), seen = DD_BYTES(PLENTY);
        dd_caltext_fold(&out, line, rows[i].length);
        for (char *p = out.data, *lf; (lf = strchr(p, '\n')); p = lf + 1)
            dd_bytes_form(&seen, "%s%d", p == out.data ? "" : " ", (int)(lf - p) - 1);
        cr_expect_str_eq(seen.data, rows[i].lines, "%zu octets: lines of %s", rows[i].length, seen.data);
        dd_bytes_free(&out);
        dd_bytes_free(&seen);
    }
}

/* Every kind of piece that must stay whole is moved over both boundaries, octet by octet. */
Test(caltext, fold_keeps_pieces_whole)
{
    static const char *const pieces[] = {"\xc3\xa9", "\xe2\x82\xac", "\xf0\x9f\x92\x89", "\\n", "\\,", "\\;", "\\\\", "\\\\\\n", "\\\\\\\\\\,",
        "\\n\\n\\n\\n", "\xf0\x9f\x92\x89\xf0\x9f\x92\x89\xf0\x9f\x92\x89", "\\,\xc3\xa9\\;", " ", "  "};
    for (size_t i = 0; i < ROWS(pieces); i++)
        for (size_t before = 0; before < 160; before++)
            for (size_t after = 0; after < 3; after++) {
                dd_bytes line = DD_BYTES(PLENTY), out = DD_BYTES(PLENTY), back = DD_BYTES(PLENTY);
                dd_bytes_repeat(&line, 'x', before);
                dd_bytes_text(&line, pieces[i]);
                dd_bytes_repeat(&line, 'y', after * 40);
                dd_caltext_fold(&out, line.data, line.length);
                unfold(&out, &back);
                dd_bytes_text(&line, "\r\n");
                cr_assert_str_eq(back.data, line.data);
                dd_bytes_free(&line);
                dd_bytes_free(&out);
                dd_bytes_free(&back);
            }
}

/* What the library's own folding has been seen to do, and what it must become. */
Test(caltext, refold)
{
    static const struct {
        const char *text, *expected;
    } rows[] = {
        {"A:one\r\nB:two\r\n", "A:one\r\nB:two\r\n"},
        {"A:on\r\n e\r\nB:two\r\n", "A:one\r\nB:two\r\n"},
        {"A:one\r\r\n \nB:two\r\n", "A:one\r\nB:two\r\n"},
        {"A:one\r\n \r\nB:two\r\n", "A:one\r\nB:two\r\n"},
        {"A:one\\\r\n ,two\r\n", "A:one\\,two\r\n"},
        {"A:one\r\n  two\r\n", "A:one two\r\n"},
        {"A:\xc3\r\n \xa9\r\n", "A:\xc3\xa9\r\n"},
        {"A:one", "A:one\r\n"},
        {"A:\r\n \r\n \r\n \r\n", "A:\r\n"},
        {"\r\n", "\r\n"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_bytes text = DD_BYTES(PLENTY), out = DD_BYTES(PLENTY);
        dd_bytes_text(&text, rows[i].text);
        dd_caltext_refold(&out, text.data, text.length);
        cr_expect_str_eq(out.data, rows[i].expected, "row %zu", i);
        dd_bytes_free(&text);
        dd_bytes_free(&out);
    }
}

/* ---- there and back ---- */

static dd_calendar_event plain_event(void)
{
    return (dd_calendar_event){.uid = UID_A, .title = "bay1-bed2: dose 22:00", .text = "Get ready: Wed 21:45.\nPage F3H7-9WKT", .category = "infusion",
        .start = 1795748400, .end = 1795749000, .last_modified = 1795737600, .lead_s = 900};
}

static void write_all(const dd_calendar_event *events, size_t count, dd_bytes *out)
{
    dd_calendar *writer;
    cr_assert_eq(dd_calendar_begin(out, &writer), DD_OK);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(dd_calendar_add(writer, &events[i]), DD_OK, "event %zu: %s", i, dd_calendar_reason(writer));
    cr_assert_eq(dd_calendar_end(writer), DD_OK, "%s", dd_calendar_reason(writer));
    cr_expect_str_eq(dd_calendar_reason(writer), "");
    dd_calendar_free(writer);
}

Test(calendar, one_event_byte_for_byte)
{
    dd_calendar_event e = plain_event();
    e.text = "Get ready: Wed 21:45. What, how much and how fast stand on the printed page; it counts.\nPage F3H7-9WKT";
    e.sequence = 2;
    dd_bytes out = DD_BYTES(PLENTY);
    write_all(&e, 1, &out);
    cr_expect_str_eq(out.data,
        "BEGIN:VCALENDAR\r\n"
        "PRODID:-//daydrip//infusion reminders//EN\r\n"
        "VERSION:2.0\r\n"
        "BEGIN:VEVENT\r\n"
        "UID:2ed6657d-e927-568b-95e1-2665a8aea6a2\r\n"
        "DTSTAMP:20261127T000000Z\r\n"
        "LAST-MODIFIED:20261127T000000Z\r\n"
        "SEQUENCE:2\r\n"
        "STATUS:CONFIRMED\r\n"
        "DTSTART:20261127T030000Z\r\n"
        "DTEND:20261127T031000Z\r\n"
        "SUMMARY:bay1-bed2: dose 22:00\r\n"
        "DESCRIPTION:Get ready: Wed 21:45. What\\, how much and how fast stand on the\r\n"
        "  printed page\\; it counts.\\nPage F3H7-9WKT\r\n"
        "CATEGORIES:infusion\r\n"
        "TRANSP:TRANSPARENT\r\n"
        "BEGIN:VALARM\r\n"
        "ACTION:DISPLAY\r\n"
        "TRIGGER:-PT15M\r\n"
        "DESCRIPTION:bay1-bed2: dose 22:00\\nGet ready: Wed 21:45. What\\, how much an\r\n"
        " d how fast stand on the printed page\\; it counts.\\nPage F3H7-9WKT\r\n"
        "END:VALARM\r\n"
        "END:VEVENT\r\n"
        "END:VCALENDAR\r\n");
    dd_bytes_free(&out);
}

static void expect_back(const dd_bytes *file, const dd_calendar_event *events, size_t count)
{
    dd_arena *arena = dd_arena_new();
    dd_bytes reason = DD_BYTES(PLENTY);
    const dd_calendar_event *back = NULL;
    size_t back_count = 0;
    cr_assert_eq(dd_calread_events(file->data, file->length, arena, &back, &back_count, &reason), DD_OK, "%s", reason.data);
    cr_assert_eq(back_count, count);
    for (size_t i = 0; i < count; i++) {
        dd_bytes title = DD_BYTES(PLENTY), text = DD_BYTES(PLENTY);
        dd_caltext_clean(&title, events[i].title, DD_CALENDAR_TITLE_MAX, false);
        dd_caltext_clean(&text, events[i].text, DD_CALENDAR_TEXT_MAX, true);
        cr_expect_str_eq(back[i].uid, events[i].uid);
        cr_expect_str_eq(back[i].title, title.data);
        cr_expect_str_eq(back[i].text, text.data);
        cr_expect_str_eq(back[i].category, events[i].category);
        cr_expect(back[i].start == events[i].start && back[i].end == events[i].end && back[i].last_modified == events[i].last_modified
                && back[i].lead_s == events[i].lead_s && back[i].sequence == events[i].sequence && back[i].state == events[i].state,
            "event %zu", i);
        dd_bytes_free(&title);
        dd_bytes_free(&text);
    }
    dd_bytes_free(&reason);
    dd_arena_free(arena);
}

Test(calendar, there_and_back)
{
    static const struct {
        const char *title, *text;
    } rows[] = {
        {"bay1-bed2: hang 01:42", "one line"},
        {"a, b, c; d: e", "bay1-bed1, bay1-bed2, bay1-bed4;;; ,,, :::"},
        {"quote \"this\"", "\nblank lines\n\n\nbetween\n"},
        {"\xf0\x9f\x92\x89 \xf0\x9f\x91\xa9\xe2\x80\x8d\xe2\x9a\x95\xef\xb8\x8f", "\xe5\x8c\xbb\xe9\x99\xa2 \xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d\n\xf0\x9f\x92\x89\xf0\x9f\x92\x89\xf0\x9f\x92\x89"},
        {"\xe2\x80\xaeturned\xe2\x80\xac", "\xe2\x80\x8fmarks\xe2\x81\xa9 go"},
        {" leading and trailing ", " \n "},
        {"back\\slash", "\\n \\, \\;"},
        {"bad \xff\xfe", "bad \xc0\x80 \xed\xbf\xbf"},
        {"BEGIN:VALARM\r\nEND:VEVENT", "END:VCALENDAR\r\nBEGIN:VCALENDAR\r\n X:Y"},
        {"100 % < > & + @", "{}[]|~^`$#!?*='"},
    };
    dd_calendar_event events[ROWS(rows)];
    char uids[ROWS(rows)][37];
    for (size_t i = 0; i < ROWS(rows); i++) {
        events[i] = plain_event();
        memcpy(uids[i], UID_A, 37);
        uids[i][0] = (char)('0' + i);
        events[i].uid = uids[i];
        events[i].title = rows[i].title;
        events[i].text = rows[i].text;
        events[i].sequence = (int32_t)i;
    }
    events[1].lead_s = DD_CALENDAR_NO_ALARM;
    events[1].state = DD_CALENDAR_CANCELLED;
    events[2].lead_s = 0;
    events[3].lead_s = DD_CALENDAR_LEAD_MAX;
    events[4].lead_s = 3600;
    events[5].lead_s = 5400;
    events[6].sequence = INT32_MAX;
    events[7].start = DD_CALENDAR_FIRST;
    events[8].end = DD_CALENDAR_LAST;
    dd_bytes out = DD_BYTES(PLENTY);
    write_all(events, ROWS(rows), &out);
    dd_bytes unfolded = DD_BYTES(PLENTY);
    unfold(&out, &unfolded);
    expect_back(&out, events, ROWS(rows));
    dd_bytes_free(&unfolded);
    dd_bytes_free(&out);
}

Test(calendar, without_events)
{
    dd_bytes out = DD_BYTES(PLENTY);
    write_all(NULL, 0, &out);
    expect_back(&out, NULL, 0);
    dd_bytes_free(&out);
}

/* Texts thrown together from what is awkward, so that pieces meet every boundary in every neighbourhood. */
Test(calendar, there_and_back_at_random)
{
    static const char *const pieces[] = {"a", "bed ", ",", ";", ":", "\n", "\\", "\"", "\xc3\xa9", "\xe2\x82\xac", "\xf0\x9f\x92\x89", "\t", "\r\n", "\xff",
        "\xe2\x80\x8f", "\xe2\x80\xa8", "\x1b", " ", "glucose 5 %, ", "\xcc\x81"};
    uint64_t state = 20261125;
    dd_bytes out = DD_BYTES(PLENTY), title = DD_BYTES(PLENTY), text = DD_BYTES(PLENTY);
    dd_arena *arena = dd_arena_new();
    dd_calendar_event events[400];
    for (size_t i = 0; i < ROWS(events); i++) {
        dd_bytes_clear(&title);
        dd_bytes_clear(&text);
        dd_bytes_text(&title, "t");
        dd_bytes_text(&text, "x");
        size_t longest = i % 10 == 0 ? 12000 : 200;
        for (size_t n = 0; n < i % 250 || (longest > 200 && n < longest); n++) {
            state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            const char *piece = pieces[(state >> 33) % ROWS(pieces)];
            dd_bytes_text(n < 190 ? &title : &text, piece);
            dd_bytes_text(&text, piece);
        }
        events[i] = plain_event();
        char *uid = dd_arena_text(arena, UID_B, 36);
        uid[0] = "0123456789abcdef"[i % 16];
        uid[1] = "0123456789abcdef"[i / 16 % 16];
        uid[2] = "0123456789abcdef"[i / 256];
        events[i].uid = uid;
        events[i].title = dd_arena_text(arena, title.data, title.length);
        events[i].text = dd_arena_text(arena, text.data, text.length);
    }
    write_all(events, ROWS(events), &out);
    dd_bytes_clear(&text);
    unfold(&out, &text);
    expect_back(&out, events, ROWS(events));
    dd_arena_free(arena);
    dd_bytes_free(&out);
    dd_bytes_free(&title);
    dd_bytes_free(&text);
}

Test(calendar, ranges)
{
    for (int i = 0; i < 12; i++) {
        dd_calendar_event e = plain_event();
        switch (i) {
        case 0: e.end = e.start; break;
        case 1: e.start = DD_CALENDAR_FIRST - 1; break;
        case 2: e.end = DD_CALENDAR_LAST + 1; break;
        case 3: e.last_modified = INT64_MIN; break;
        case 4: e.lead_s = 90; break;
        case 5: e.lead_s = -60; break;
        case 6: e.lead_s = DD_CALENDAR_LEAD_MAX + 60; break;
        case 7: e.sequence = -1; break;
        case 8: e.title = "\xe2\x80\x8f"; break;
        case 9: e.text = ""; break;
        case 10: e.category = ""; break;
        case 11: e.start = INT64_MAX; break;
        default: break;
        }
        dd_bytes out = DD_BYTES(PLENTY);
        dd_calendar *writer;
        cr_assert_eq(dd_calendar_begin(&out, &writer), DD_OK);
        size_t before = out.length;
        cr_expect_eq(dd_calendar_add(writer, &e), DD_TOO_LARGE, "case %d", i);
        cr_expect_eq(out.length, before);
        cr_expect_eq(dd_calendar_end(writer), DD_TOO_LARGE, "case %d: a failure sticks", i);
        cr_expect_eq(out.length, before);
        dd_calendar_free(writer);
        dd_bytes_free(&out);
    }
}

/* What the reader would refuse is never left in the file. */
Test(calendar, does_not_read_back)
{
    static const struct {
        const char *uid, *reason;
    } rows[] = {
        {"bay1-bed2-dose", "what was written does not read back: line 5: a UUID of version 5 in lower case is expected: \"bay1-bed2-dose\""},
        {"2ED6657D-E927-568B-95E1-2665A8AEA6A2",
            "what was written does not read back: line 5: a UUID of version 5 in lower case is expected: \"2ED6657D-E927-568B-95E1-2665A8AEA6A2\""},
        {"2ed6657d-e927-468b-95e1-2665a8aea6a2",
            "what was written does not read back: line 5: a UUID of version 5 in lower case is expected: \"2ed6657d-e927-468b-95e1-2665a8aea6a2\""},
        {"2ed6657d-e927-568b-95e1-2665a8aea6a2\r\nX:Y",
            "what was written does not read back: line 5: a UUID of version 5 in lower case is expected: \"2ed6657d-e927-568b-95e1-2665a8aea6a2\\nX:~\""},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_calendar_event e = plain_event();
        e.uid = rows[i].uid;
        dd_bytes out = DD_BYTES(PLENTY);
        dd_calendar *writer;
        cr_assert_eq(dd_calendar_begin(&out, &writer), DD_OK);
        size_t before = out.length;
        cr_expect_eq(dd_calendar_add(writer, &e), DD_CANNOT_WRITE);
        cr_expect_str_eq(dd_calendar_reason(writer), rows[i].reason, "%s", dd_calendar_reason(writer));
        cr_expect_eq(out.length, before);
        dd_calendar_free(writer);
        dd_bytes_free(&out);
    }
}

Test(calendar, ceiling)
{
    dd_calendar_event e = plain_event();
    dd_bytes file = DD_BYTES(PLENTY);
    write_all(&e, 1, &file);
    for (size_t ceiling = 1; ceiling < file.length + 10; ceiling++) {
        dd_bytes out = DD_BYTES(ceiling);
        dd_calendar *writer;
        dd_status status = dd_calendar_begin(&out, &writer);
        size_t whole = out.length;
        if (!status) {
            status = dd_calendar_add(writer, &e);
            if (!status)
                whole = out.length;
        }
        cr_expect_eq(out.length, whole, "ceiling %zu: a part of an event stayed", ceiling);
        if (!status)
            status = dd_calendar_end(writer);
        cr_expect_eq(status, ceiling > file.length ? DD_OK : DD_NO_MEMORY, "ceiling %zu: status %d, %zu octets", ceiling, status, out.length);
        dd_calendar_free(writer);
        dd_bytes_free(&out);
    }
    dd_bytes_free(&file);
}

static long allocations_left;

static void *failing_realloc(void *old, size_t size)
{
    if (size == 0) {
        free(old);
        return NULL;
    }
    return allocations_left-- > 0 ? realloc(old, size) : NULL;
}

Test(calendar, every_allocation_fails_once)
{
    dd_calendar_event e = plain_event();
    dd_status status = DD_NO_MEMORY;
    dd_arena_allocator = failing_realloc;
    for (long n = 0; status == DD_NO_MEMORY; n++) {
        cr_assert(n < 200);
        allocations_left = n;
        dd_bytes out = DD_BYTES(PLENTY), reason = DD_BYTES(PLENTY);
        dd_calendar *writer = NULL;
        status = dd_calendar_begin(&out, &writer);
        if (!status)
            status = dd_calendar_add(writer, &e);
        if (!status)
            status = dd_calendar_end(writer);
        dd_calendar_free(writer);
        if (!status) {
            const dd_calendar_event *events;
            size_t count;
            dd_arena *arena = dd_arena_new();
            status = arena ? dd_calread_events(out.data, out.length, arena, &events, &count, &reason) : DD_NO_MEMORY;
            dd_arena_free(arena);
        }
        dd_bytes_free(&out);
        dd_bytes_free(&reason);
    }
    cr_expect_eq(status, DD_OK);
}

/* ---- the strict reader ---- */

#define HEAD "BEGIN:VCALENDAR\r\nPRODID:-//daydrip//infusion reminders//EN\r\nVERSION:2.0\r\n"
#define FOOT "END:VCALENDAR\r\n"
#define EVENT_TOP "BEGIN:VEVENT\r\nUID:" UID_A "\r\nDTSTAMP:20261126T000000Z\r\nLAST-MODIFIED:20261126T000000Z\r\nSEQUENCE:0\r\n"
#define EVENT_REST                                                                                                                \
    "STATUS:CONFIRMED\r\nDTSTART:20261126T030000Z\r\nDTEND:20261126T031000Z\r\nSUMMARY:title\r\nDESCRIPTION:a\\, b\r\n"             \
    "CATEGORIES:infusion\r\nTRANSP:TRANSPARENT\r\n"
#define ALARM "BEGIN:VALARM\r\nACTION:DISPLAY\r\nTRIGGER:-PT15M\r\nDESCRIPTION:title\\na\\, b\r\nEND:VALARM\r\n"
#define EVENT EVENT_TOP EVENT_REST ALARM "END:VEVENT\r\n"

static dd_status read_reason(const char *text, size_t length, dd_bytes *reason)
{
    dd_arena *arena = dd_arena_new();
    const dd_calendar_event *events;
    size_t count;
    /* A copy of exactly this size, so that reading behind it is seen. */
    char *copy = malloc(length ? length : 1);
    memcpy(copy, text, length);
    dd_bytes_text(reason, "");
    dd_status status = dd_calread_events(copy, length, arena, &events, &count, reason);
    free(copy);
    dd_arena_free(arena);
    return status;
}

/* Each row changes one thing of a file that is read without a word. */
Test(calread, refuses)
{
    static const struct {
        const char *from, *to, *reason;
    } rows[] = {
        {"SUMMARY:title\r\n", "SUMMARY:title\n", "line 12: a line ends with LF alone, CR LF is expected"},
        {"SUMMARY:title\r\n", "SUMMARY:title\r\r\n", "line 12: a control character"},
        {"SUMMARY:title\r\n", "SUMMARY:ti\rtle\r\n", "line 12: a control character"},
        {"SUMMARY:title\r\n", "\r\nSUMMARY:title\r\n", "line 12: an empty line"},
        {"SUMMARY:title\r\n", "SUMMARY:ti\r\n \r\n tle\r\n", "line 13: a fold with nothing behind it"},
        {"SUMMARY:title\r\n", "SUMMARY:title\r\n \r\n", "line 13: a fold with nothing behind it"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\\\r\n , b\r\n", "line 14: a fold inside an escape"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:\xc3\r\n \xa9\r\n", "line 14: a fold inside a character"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\r\n \\, b\nX\r\n", "line 14: a line ends with LF alone, CR LF is expected"},
        {"BEGIN:VCALENDAR", " BEGIN:VCALENDAR", "line 1: a fold where no line has begun"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\\t b\r\n", "line 13: an unknown escape: \"\\t\""},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\\: b\r\n", "line 13: an unknown escape: \"\\:\""},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\\\r\n", "line 13: an unknown escape: \"\\\""},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a, b\r\n", "line 13: a comma without a backslash before it"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a; b\r\n", "line 13: a semicolon without a backslash before it"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:\r\n", "line 13: an empty text"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:\xff\r\n", "line 13: not valid UTF-8"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\tb\r\n", "line 13: a control character"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\xc2\x85""b\r\n", "line 13: a control character"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:aaaaaaaaaabbbbbbbbbbccccccccccddddddddddeeeeeeeeeeffffffffff1234\r\n",
            "line 13: 76 octets, and not folded at 75"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION;LANGUAGE=en:a\\, b\r\n",
            "line 13: this program writes no such line in a VEVENT: \"DESCRIPTION;LANGUAGE=en\""},
        {"SUMMARY:title\r\n", "SUMMARY\r\n", "line 12: a line without a colon: \"SUMMARY\""},
        {"SUMMARY:title\r\n", "", "line 20: VEVENT has no SUMMARY"},
        {"SUMMARY:title\r\n", "SUMMARY:title\r\nSUMMARY:title\r\n", "line 13: a second SUMMARY in one VEVENT"},
        {"SUMMARY:title\r\n", "SUMMARY:other\r\n", "line 21: the alarm says something else than the event that begins in line 4"},
        {"SUMMARY:title\r\n", "SUMMARY:title\r\nLOCATION:bay 1\r\n", "line 13: this program writes no such line in a VEVENT: \"LOCATION\""},
        {"SUMMARY:title\r\n", "SUMMARY:title\r\nX-\x80:1\r\n", "line 13: not valid UTF-8"},
        {"VERSION:2.0\r\n", "VERSION:2.0\r\nMETHOD:PUBLISH\r\n", "line 4: this program writes no such line in a VCALENDAR: \"METHOD\""},
        {"VERSION:2.0\r\n", "VERSION:1.0\r\n", "line 3: 2.0 is expected: \"1.0\""},
        {"VERSION:2.0\r\n", "", "line 3: VCALENDAR has no VERSION"},
        {"PRODID:-//daydrip//infusion reminders//EN\r\n", "PRODID:-//Somebody//Else 1.0//EN\r\n",
            "line 2: this file was made by another program: \"-//Somebody//Else 1.0//EN\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20260230T030000Z", "line 10: no such date: \"20260230T030000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20250229T030000Z", "line 10: no such date: \"20250229T030000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261326T030000Z", "line 10: no such date: \"20261326T030000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:00001126T030000Z", "line 10: no such date: \"00001126T030000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126T250000Z", "line 10: no such time of day: \"20261126T250000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126T240000Z", "line 10: no such time of day: \"20261126T240000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126T036000Z", "line 10: no such time of day: \"20261126T036000Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126T030060Z", "line 10: no such time of day: \"20261126T030060Z\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126T030000",
            "line 10: a time in UTC such as 20261125T080000Z is expected: \"20261126T030000\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126", "line 10: a time in UTC such as 20261125T080000Z is expected: \"20261126\""},
        {"DTSTART:20261126T030000Z", "DTSTART;TZID=Larkfield:20261126T030000",
            "line 10: this program writes no such line in a VEVENT: \"DTSTART;TZID=Larkfield\""},
        {"DTSTART:20261126T030000Z", "DTSTART:20261126T031000Z", "line 21: the event that begins in line 4 ends before it starts"},
        {"DTSTAMP:20261126T000000Z", "DTSTAMP:20261126T000001Z", "line 21: DTSTAMP and LAST-MODIFIED differ in the event that begins in line 4"},
        {"SEQUENCE:0", "SEQUENCE:-1", "line 8: a whole number is expected: \"-1\""},
        {"SEQUENCE:0", "SEQUENCE:2147483648", "line 8: a whole number is expected: \"2147483648\""},
        {"SEQUENCE:0", "SEQUENCE:", "line 8: a whole number is expected: \"\""},
        {"STATUS:CONFIRMED", "STATUS:TENTATIVE", "line 9: CONFIRMED is expected: \"TENTATIVE\""},
        {"TRANSP:TRANSPARENT", "TRANSP:OPAQUE", "line 15: TRANSPARENT is expected: \"OPAQUE\""},
        {"ACTION:DISPLAY", "ACTION:AUDIO", "line 17: DISPLAY is expected: \"AUDIO\""},
        {"-PT15M", "-PT15M30S", "line 18: the alarm is not whole minutes before, and at most a day: \"-PT15M30S\""},
        {"-PT15M", "PT15M", "line 18: the alarm is not whole minutes before, and at most a day: \"PT15M\""},
        {"-PT15M", "-P1DT1M", "line 18: the alarm is not whole minutes before, and at most a day: \"-P1DT1M\""},
        {"-PT15M", "-P", "line 18: a length of time such as -PT15M is expected: \"-P\""},
        {"-PT15M", "-PT", "line 18: a length of time such as -PT15M is expected: \"-PT\""},
        {"-PT15M", "-P1DT", "line 18: a length of time such as -PT15M is expected: \"-P1DT\""},
        {"-PT15M", "-P15M", "line 18: a length of time such as -PT15M is expected: \"-P15M\""},
        {"-PT15M", "-PT15", "line 18: a length of time such as -PT15M is expected: \"-PT15\""},
        {"-PT15M", "-PT1H60S", "line 18: a length of time such as -PT15M is expected: \"-PT1H60S\""},
        {"-PT15M", "-PT1M1H", "line 18: a length of time such as -PT15M is expected: \"-PT1M1H\""},
        {"-PT15M", "-PTM", "line 18: a length of time such as -PT15M is expected: \"-PTM\""},
        {"-PT15M", "-PT99999999999999999999M",
            "line 18: a length of time such as -PT15M is expected: \"-PT99999999999999999999M\""},
        {"-PT15M", "", "line 18: a length of time such as -PT15M is expected: \"\""},
        {"UID:2ed6657d", "UID:2ED6657D", "line 5: a UUID of version 5 in lower case is expected: \"2ED6657D-e927-568b-95e1-2665a8aea6a2\""},
        {"UID:2ed6657d", "UID:bay1-bed2-", "line 5: a UUID of version 5 in lower case is expected: \"bay1-bed2--e927-568b-95e1-2665a8aea6a2\""},
        {"ACTION:DISPLAY\r\n", "ACTION:DISPLAY\r\nBEGIN:VALARM\r\n", "line 18: nested deeper than 3"},
        {"SUMMARY:title\r\n", "BEGIN:VEVENT\r\n", "line 12: BEGIN:VALARM is expected here: \"VEVENT\""},
        {"BEGIN:VEVENT", "BEGIN:VTODO", "line 4: BEGIN:VEVENT is expected here: \"VTODO\""},
        {"BEGIN:VCALENDAR", "BEGIN:VCARD", "line 1: BEGIN:VCALENDAR is expected here: \"VCARD\""},
        {"BEGIN:VCALENDAR\r\n", "", "line 1: BEGIN:VCALENDAR is expected here: \"PRODID:-//daydrip//infusion reminders//E~\""},
        {"END:VALARM\r\n", "", "line 20: END:VALARM is expected here: \"VEVENT\""},
        {"END:VEVENT\r\n", "", "line 21: END:VEVENT is expected here: \"VCALENDAR\""},
        {"END:VCALENDAR\r\n", "", "line 22: the text stops before END:VCALENDAR"},
        {"END:VCALENDAR\r\n", "END:VCALENDAR", "line 22: the text stops inside a line"},
        {"END:VCALENDAR\r\n", "END:VCALENDAR\r\n" HEAD FOOT, "line 23: something follows the end of the calendar"},
        {"END:VCALENDAR\r\n", "VERSION:2.0\r\nEND:VCALENDAR\r\n", "line 22: a second VERSION in one VCALENDAR"},
        {"END:VCALENDAR\r\n", EVENT FOOT, "two events have the UID " UID_A},
        {"END:VALARM\r\n", "END:VALARM\r\nTRANSP:TRANSPARENT\r\n", "line 21: a second TRANSP in one VEVENT"},
        {"TRANSP:TRANSPARENT\r\n" ALARM, ALARM "TRANSP:TRANSPARENT\r\n", "line 20: TRANSP stands behind the alarm, which comes last"},
        {"END:VALARM\r\n", "END:VALARM\r\n" ALARM, "line 21: a second alarm in one event"},
    };
    static const char good[] = HEAD EVENT FOOT;
    dd_bytes reason = DD_BYTES(PLENTY), text = DD_BYTES(PLENTY);
    cr_assert_eq(read_reason(good, sizeof good - 1, &reason), DD_OK, "%s", reason.data);
    for (size_t i = 0; i < ROWS(rows); i++) {
        const char *at = strstr(good, rows[i].from);
        cr_assert(at, "row %zu changes nothing", i);
        dd_bytes_clear(&text);
        dd_bytes_add(&text, good, (size_t)(at - good));
        dd_bytes_text(&text, rows[i].to);
        dd_bytes_text(&text, at + strlen(rows[i].from));
        dd_bytes_clear(&reason);
        cr_expect_eq(read_reason(text.data, text.length, &reason), DD_BAD_INPUT, "row %zu is read", i);
        cr_expect_str_eq(reason.data, rows[i].reason, "row %zu: %s", i, reason.data);
    }
    dd_bytes_free(&reason);
    dd_bytes_free(&text);
}

Test(calread, takes)
{
    static const struct {
        const char *from, *to;
    } rows[] = {
        {"SUMMARY:title\r\n", "SUM\r\n MARY:title\r\n"},
        {"SUMMARY:title\r\n", "SUMMARY:ti\r\n\ttle\r\n"},
        {"DESCRIPTION:a\\, b\r\n", "DESCRIPTION:a\\,\r\n  b\r\n"},
        {"STATUS:CONFIRMED", "STATUS:CANCELLED"},
        {"title\\na", "title\\Na"},
        {"-PT15M", "-PT0S"},
        {"-PT15M", "PT0S"},
        {"-PT15M", "-PT900S"},
        {"-PT15M", "-PT23H59M"},
        {"-PT15M", "-P0DT1H"},
        {"-PT15M", "-P1D"},
        {ALARM, ""},
        {EVENT, ""},
        {"DTSTART:20261126", "DTSTART:20240229"},
    };
    static const char good[] = HEAD EVENT FOOT;
    dd_bytes reason = DD_BYTES(PLENTY), text = DD_BYTES(PLENTY);
    for (size_t i = 0; i < ROWS(rows); i++) {
        const char *at = strstr(good, rows[i].from);
        cr_assert(at, "row %zu changes nothing", i);
        dd_bytes_clear(&text);
        dd_bytes_add(&text, good, (size_t)(at - good));
        dd_bytes_text(&text, rows[i].to);
        dd_bytes_text(&text, at + strlen(rows[i].from));
        dd_bytes_clear(&reason);
        cr_expect_eq(read_reason(text.data, text.length, &reason), DD_OK, "row %zu: %s", i, reason.data);
    }
    dd_bytes_free(&reason);
    dd_bytes_free(&text);
}

/* Ceilings hold before anything else is looked at. */
Test(calread, ceilings)
{
    dd_bytes text = DD_BYTES(PLENTY), reason = DD_BYTES(PLENTY);
    dd_bytes_text(&text, HEAD "BEGIN:VEVENT\r\nDESCRIPTION:");
    dd_bytes_repeat(&text, 'x', (size_t)70 * 1024);
    dd_bytes_text(&text, "\r\n");
    cr_expect_eq(read_reason(text.data, text.length, &reason), DD_BAD_INPUT);
    cr_expect_str_eq(reason.data, "line 5: longer than 64 KiB");

    dd_bytes_clear(&text); /* the same, folded as it should be */
    dd_bytes_clear(&reason);
    dd_bytes_text(&text, HEAD "BEGIN:VEVENT\r\nDESCRIPTION:");
    for (int i = 0; i < 1000; i++) {
        dd_bytes_text(&text, "\r\n ");
        dd_bytes_repeat(&text, 'x', 70);
    }
    dd_bytes_text(&text, "\r\n");
    cr_expect_eq(read_reason(text.data, text.length, &reason), DD_BAD_INPUT);
    cr_expect_str_eq(reason.data, "line 942: longer than 64 KiB", "%s", reason.data);

    dd_bytes_clear(&text); /* one octet a line, and all of them backslashes */
    dd_bytes_clear(&reason);
    dd_bytes_text(&text, HEAD "BEGIN:VEVENT\r\nDESCRIPTION:");
    for (int i = 0; i < 60000; i++)
        dd_bytes_text(&text, "\r\n \\\\");
    dd_bytes_text(&text, "\r\n");
    cr_expect_eq(read_reason(text.data, text.length, &reason), DD_BAD_INPUT);
    cr_expect_str_eq(reason.data, "line 32768: longer than 64 KiB", "%s", reason.data);

    dd_bytes_clear(&text); /* no line end at all */
    dd_bytes_clear(&reason);
    dd_bytes_repeat(&text, 'x', (size_t)10 * 1024 * 1024);
    cr_expect_eq(read_reason(text.data, text.length, &reason), DD_BAD_INPUT);
    cr_expect_str_eq(reason.data, "line 1: longer than 64 KiB");

    dd_bytes_clear(&text); /* nested without end */
    dd_bytes_clear(&reason);
    for (int i = 0; i < 100000; i++)
        dd_bytes_text(&text, "BEGIN:VCALENDAR\r\n");
    cr_expect_eq(read_reason(text.data, text.length, &reason), DD_BAD_INPUT);
    cr_expect_str_eq(reason.data, "line 2: BEGIN:VEVENT is expected here: \"VCALENDAR\"");

    dd_bytes_clear(&reason);
    cr_expect_eq(read_reason("", 0, &reason), DD_BAD_INPUT);
    cr_expect_str_eq(reason.data, "line 1: there is no calendar");
    dd_bytes_free(&text);
    dd_bytes_free(&reason);
}

static dd_status ignore(void *user, const dd_calendar_event *event, size_t line)
{
    (void)user;
    (void)event;
    (void)line;
    return DD_OK;
}

/* Every beginning of a good file is refused, and every octet changed leads to a verdict and no more. */
Test(calread, cut_and_changed)
{
    static const char good[] = HEAD EVENT FOOT;
    size_t length = sizeof good - 1;
    dd_bytes reason = DD_BYTES(PLENTY);
    for (size_t cut = 0; cut < length; cut++) {
        dd_bytes_clear(&reason);
        cr_expect_eq(read_reason(good, cut, &reason), DD_BAD_INPUT, "the first %zu octets are taken for a whole file", cut);
    }
    char changed[sizeof good];
    for (size_t at = 0; at < length; at++)
        for (int to = 0; to < 256; to++) {
            memcpy(changed, good, sizeof good);
            changed[at] = (char)to;
            dd_calread *r = dd_calread_new(ignore, NULL);
            dd_status status = dd_calread_feed(r, changed, length);
            if (!status)
                status = dd_calread_end(r);
            cr_assert(status == DD_OK || status == DD_BAD_INPUT);
            cr_assert_eq(status == DD_BAD_INPUT, dd_calread_reason(r)[0] != '\0');
            for (const char *p = dd_calread_reason(r); *p; p++)
                cr_assert(*p >= 0x20 && *p < 0x7f, "a reason that is no plain text");
            dd_calread_free(r);
        }
    dd_bytes_free(&reason);
}
