/* test_gs1.c - scanned codes. What two other implementations make of codes is held against the command in tests/gs1. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "gs1.h"
#include "daydrip/quantity.h"

TestSuite(gs1);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

static dd_gs1_fault read_code(const char *text, dd_gs1 *out)
{
    return dd_gs1_read(text, strlen(text), 2026, out);
}

/* One code and what it says, as `ai=data` in the order of the code. */
static void says(const char *text, const char *expected)
{
    dd_gs1 code;
    char said[2000] = "";
    dd_gs1_fault fault = read_code(text, &code);
    cr_assert_eq(fault, DD_GS1_FINE, "%s: fault %d at (%s)", text, fault, code.ai);
    for (size_t i = 0; i < code.count; i++)
        snprintf(said + strlen(said), sizeof said - strlen(said), "%s%s=%s", i ? " " : "", code.parts[i].ai, code.text + code.parts[i].at);
    cr_expect_str_eq(said, expected, "%s says %s", text, said);
}

/* Examples that GS1 prints, quoted from memory; their check digits agree. */
Test(gs1, printed_examples)
{
    /* GS1 DataMatrix Guideline, "FNC1 as separator": use by 8 May 2012, a lot, and a location behind the separator */
    says("]d201034531200000111712050810ABCD1234\x1d" "4109501101020917", "01=03453120000011 17=120508 10=ABCD1234 410=9501101020917");
    says("(01)03453120000011(17)120508(10)ABCD1234(410)9501101020917", "01=03453120000011 17=120508 10=ABCD1234 410=9501101020917");
    /* GS1 General Specifications, variable measure trade items: net weight 0.123 kg in grams */
    says("(01)95012345678903(3103)000123", "01=95012345678903 3103=000123");
    says("]C101950123456789033103000123", "01=95012345678903 3103=000123");
    /* section 7.9, check digit of an 18-digit field: the sum is 101, the digit 9 */
    says("00376104250021234569", "00=376104250021234569");
    /* GS1, how to work a check digit out by hand: 629104150021 and 3 */
    says("]E06291041500213", "01=06291041500213");
}

Test(gs1, forms)
{
    static const char *const same[] = {
        "0109521234000013172705311030\x1d" "21A/B-1", "0109521234000013172705311030^21A/B-1", "(01)09521234000013(17)270531(10)30(21)A/B-1",
        "]d20109521234000013172705311030\x1d" "21A/B-1", "]Q3(01)09521234000013(17)270531(10)30\x1d(21)A/B-1", "\x1d" "0109521234000013172705311030\x1d" "21A/B-1",
        "0109521234000013\x1d" "17270531\x1d" "1030\x1d" "21A/B-1\x1d", "]e00109521234000013172705311030^21A/B-1", "]J10109521234000013172705311030^21A/B-1"};
    for (size_t i = 0; i < ROWS(same); i++)
        says(same[i], "01=09521234000013 17=270531 10=30 21=A/B-1");
    says("1030", "10=30");
    says("(10)ABCDEFGHIJKLMNOPQRST", "10=ABCDEFGHIJKLMNOPQRST");
    says("10!\"%&')*+,-./:;<=>?_", "10=!\"%&')*+,-./:;<=>?_"); /* the invariant set */
    says("10(9)", "10=(9)");
    says("(10)A(21)B(10)A", "10=A 21=B"); /* twice the same is no contradiction */
    says("7003" "2705311430", "7003=2705311430");
    says("80082705311459\x1d" "37120", "8008=2705311459 37=120");
    /* what may be left out: minutes and seconds, the serial part of a document, coupon or asset, further countries */
    says("800827053114\x1d" "423056", "8008=27053114 423=056");
    says("2534012345000054\x1d" "2554012345000054\x1d" "800304012345000054", "253=4012345000054 255=4012345000054 8003=04012345000054");
    says("7007270501270531", "7007=270501270531");
    says("]E495012346", "01=00000095012346");
    says("]I109521234000013", "01=09521234000013");
    says("9910E+27", "99=10E+27"); /* no spreadsheet writes two digits in front */
}

Test(gs1, faults)
{
    static const struct { const char *text; dd_gs1_fault fault; const char *ai; } rows[] = {
        {"", DD_GS1_FORM, ""},
        {"]d2", DD_GS1_FORM, ""},
        {"\x1d", DD_GS1_FORM, ""},
        {"10A\x1d\x1d" "21B", DD_GS1_FORM, NULL},
        {"()A", DD_GS1_FORM, ""},
        {"(10", DD_GS1_FORM, ""},
        {"(10)A(21", DD_GS1_FORM, NULL},
        {"1.23E+13", DD_GS1_EXPONENT, NULL},
        {"1,0952E+15", DD_GS1_EXPONENT, NULL},
        {"]d1(10)A", DD_GS1_SYMBOL, NULL},
        {"]C0(10)A", DD_GS1_SYMBOL, NULL},
        {"]", DD_GS1_SYMBOL, NULL},
        {"89A", DD_GS1_UNKNOWN, "89"},
        {"3159000001", DD_GS1_UNKNOWN, "3159"}, /* nine decimals of six digits */
        {"3106000001", DD_GS1_UNKNOWN, "3106"},
        {"(3)A", DD_GS1_FORM, ""},
        {"(315)000500", DD_GS1_UNKNOWN, "315"},
        {"(0112)A", DD_GS1_UNKNOWN, "011"},
        {"ABC", DD_GS1_UNKNOWN, "AB"},
        {"A", DD_GS1_UNKNOWN, "A"},
        {"\xc3\xa4", DD_GS1_UNKNOWN, "??"},
        {"718X", DD_GS1_UNKNOWN, "718"},
        {"0109521234000013891", DD_GS1_UNKNOWN, "89"},
        {"010952123400001", DD_GS1_LENGTH, "01"},
        {"(01)095212340000131", DD_GS1_LENGTH, "01"},
        {"01095212340\x1d" "000131", DD_GS1_LENGTH, "01"},
        {"(17)27053", DD_GS1_LENGTH, "17"},
        {"10", DD_GS1_LENGTH, "10"},
        {"(10)ABCDEFGHIJKLMNOPQRSTU", DD_GS1_LENGTH, "10"},
        {"4222760", DD_GS1_LENGTH, "422"}, /* three digits, and not predefined: the rest is not another identifier */
        {"]E0629104150021", DD_GS1_LENGTH, "01"},
        {"7007270531270", DD_GS1_LENGTH, "7007"},
        {"8008270531145", DD_GS1_LENGTH, "8008"},
        {"10A B", DD_GS1_CHARACTER, "10"},
        {"10\xc3\xa4", DD_GS1_CHARACTER, "10"},
        {"10A#", DD_GS1_CHARACTER, "10"},
        {"010952123400001A", DD_GS1_CHARACTER, "01"},
        {"17(70531", DD_GS1_CHARACTER, "17"},
        {"8010ab", DD_GS1_CHARACTER, "8010"},
        {"0109521234000012", DD_GS1_CHECK, "01"},
        {"]E06291041500214", DD_GS1_CHECK, "01"},
        {"00376104250021234568", DD_GS1_CHECK, "00"},
        {"4109501101020918", DD_GS1_CHECK, "410"},
        {"17270230", DD_GS1_DATE, "17"},
        {"17271300", DD_GS1_DATE, "17"},
        {"17270000", DD_GS1_DATE, "17"},
        {"70032705312400", DD_GS1_DATE, "7003"},
        {"7003270531240", DD_GS1_LENGTH, "7003"},
        {"70032705312360", DD_GS1_DATE, "7003"},
        {"70032705001200", DD_GS1_DATE, "7003"},
        {"8008270531145960", DD_GS1_DATE, "8008"},
        {"(10)A(21)B(10)C", DD_GS1_TWICE, "10"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_gs1 code;
        dd_gs1_fault fault = read_code(rows[i].text, &code);
        cr_expect_eq(fault, rows[i].fault, "%s: fault %d, not %d", rows[i].text, fault, rows[i].fault);
        if (rows[i].ai)
            cr_expect_str_eq(code.ai, rows[i].ai, "%s: names (%s)", rows[i].text, code.ai);
    }
}

/* Section 7.12: a year 51 and more above the current one was in the century before, one 50 and more below is in the next. */
Test(gs1, century)
{
    static const struct { int near; const char *date; int year, month, day; } rows[] = {
        {2026, "270531", 2027, 5, 31}, {2026, "760101", 2076, 1, 1}, {2026, "770101", 1977, 1, 1}, {2026, "990101", 1999, 1, 1},
        {2026, "000229", 2000, 2, 29}, {2026, "260200", 2026, 2, 28}, {2028, "280200", 2028, 2, 29}, {2026, "261200", 2026, 12, 31},
        {2026, "260400", 2026, 4, 30}, {2049, "990101", 2099, 1, 1}, {2051, "010101", 2101, 1, 1}, {2051, "020101", 2002, 1, 1},
        {2050, "000101", 2100, 1, 1}, {2050, "000200", 2100, 2, 28}, {1999, "490101", 2049, 1, 1}, {1999, "500101", 1950, 1, 1}};
    for (size_t i = 0; i < ROWS(rows); i++) {
        char text[16];
        dd_gs1 code;
        dd_civil date;
        snprintf(text, sizeof text, "17%s", rows[i].date);
        cr_assert_eq(dd_gs1_read(text, strlen(text), rows[i].near, &code), DD_GS1_FINE);
        cr_assert(dd_gs1_date(&code, &code.parts[0], &date));
        cr_expect(date.year == rows[i].year && date.month == rows[i].month && date.day == rows[i].day, "%s in %d: %d-%d-%d", rows[i].date, rows[i].near,
                  date.year, date.month, date.day);
    }
}

/* The end of the day, on the local clock; the night of 24 to 25 October 2026 has 25 h in London, the day of 28 March 2027 23. */
Test(gs1, expiry)
{
    static const dd_zone_span spans[] = {{0, 3600}, {1792890000, 0}, {1806195600, 3600}}; /* 2026-10-25 01:00Z, 2027-03-28 01:00Z */
    static const dd_zone london = {.name = "Europe/London", .spans = spans, .count = 3, .covers_from = 0, .covers_to = INT64_MAX};
    static const struct { const char *text; int64_t expires; } rows[] = {
        {"(17)261024", 1792882800},                  /* 2026-10-24 24:00+01:00 */
        {"(17)261025", 1792972800},                  /* 2026-10-25 24:00Z */
        {"(17)261000", 1793491200},                  /* 2026-10-31 24:00Z */
        {"(7003)2610242330", 1792881000},            /* 23:30+01:00 */
        {"(17)261024(7003)2610242330", 1792881000},  /* whichever is sooner */
        {"(17)261023(7003)2610242330", 1792796400},
        {"(15)261024", 1792882800},                  /* best before, where nothing else is said */
        {"(15)261024(17)261025", 1792972800},
        {"(10)A", DD_NEVER}, {"(11)261024", DD_NEVER}, {"(16)261024", DD_NEVER}};
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_gs1 code;
        cr_assert_eq(read_code(rows[i].text, &code), DD_GS1_FINE);
        cr_expect_eq(dd_gs1_expires(&code, &london), rows[i].expires, "%s: %lld", rows[i].text, (long long)dd_gs1_expires(&code, &london));
    }
}

Test(gs1, volume)
{
    static const struct { const char *text; int64_t ul; } rows[] = {
        {"(3153)001000", 1000000}, {"(3150)000001", 1000000}, {"(3155)050000", 500000}, {"(3155)000001", 10}, {"(3165)000100", 1000000},
        {"(3150)999999", INT64_C(999999000000)}, {"(3160)999999", INT64_C(999999000000000)}, {"(3153)000000", DD_UNKNOWN}, {"(3103)001000", DD_UNKNOWN},
        {"(3353)001000", DD_UNKNOWN}, {"(10)A", DD_UNKNOWN}};
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_gs1 code;
        cr_assert_eq(read_code(rows[i].text, &code), DD_GS1_FINE, "%s", rows[i].text);
        cr_expect_eq(dd_gs1_volume(&code), rows[i].ul, "%s", rows[i].text);
    }
}

/* Whatever one digit of a trade item number is misread as, it is seen: that is what the check digit is for. */
Test(gs1, one_digit_wrong)
{
    char text[] = "0109521234000013";
    dd_gs1 code;
    for (size_t i = 2; i < 16; i++)
        for (char c = '0'; c <= '9'; c++) {
            char was = text[i];
            text[i] = c;
            cr_expect_eq(read_code(text, &code), c == was ? DD_GS1_FINE : DD_GS1_CHECK, "%s", text);
            text[i] = was;
        }
}

static uint32_t next_random(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

/* Bytes of any kind, pieces of real codes, and any length: never a crash, never a read beyond the end (the text has no NUL behind it),
 * and what is accepted can be put together again into a code that says the same. */
Test(gs1, whatever_comes)
{
    static const char *const pieces[] = {"01", "09521234000013", "17", "270531", "10", "(", ")", "(01)", "(10)", "]d2", "]C1", "\x1d", "^", "21", "AB-1", "3153",
                                         "001000", "7003", "2705311430", "8008", "7007", "E+", "00", "99", "91", ".", "\0", "\xff", "95", "410"};
    uint32_t state = 7;
    size_t accepted = 0;
    for (int round = 0; round < 200000; round++) {
        char made[320], *text;
        size_t length = 0, want = next_random(&state) % (round % 50 ? 60 : 260);
        while (length < want) {
            const char *piece = pieces[next_random(&state) % ROWS(pieces)];
            size_t n = strlen(piece);
            if (next_random(&state) % 4 == 0 || n == 0)
                made[length++] = (char)next_random(&state);
            else {
                memcpy(made + length, piece, n);
                length += n;
            }
        }
        text = malloc(length ? length : 1); /* its own block, so that the sanitizer sees a byte too far */
        cr_assert(text);
        memcpy(text, made, length);
        dd_gs1 code, again;
        dd_gs1_fault fault = dd_gs1_read(text, length, 2026, &code);
        free(text);
        cr_assert(fault <= DD_GS1_TWICE && code.count <= DD_GS1_PARTS && strlen(code.ai) < sizeof code.ai);
        if (fault != DD_GS1_FINE)
            continue;
        accepted++;
        char joined[1000] = "";
        for (size_t i = 0; i < code.count; i++)
            snprintf(joined + strlen(joined), sizeof joined - strlen(joined), "%s%s%s", i ? "\x1d" : "", code.parts[i].ai, code.text + code.parts[i].at);
        if (strlen(joined) > DD_GS1_MOST)
            continue;
        cr_assert_eq(read_code(joined, &again), DD_GS1_FINE, "%s", joined);
        cr_assert_eq(again.count, code.count);
        for (size_t i = 0; i < code.count; i++)
            cr_assert(strcmp(again.parts[i].ai, code.parts[i].ai) == 0 && strcmp(again.text + again.parts[i].at, code.text + code.parts[i].at) == 0);
    }
    cr_expect_gt(accepted, 1000, "%zu accepted", accepted);
}
