#include "maintenance.h"

#include "asked.h"
#include "daydrip/quantity.h"
#include "need.h"
#include "working.h"

#define WORDS_MOST 2000

typedef struct need {
    dd_ratio kg, bands[3];           /* kg in the first 10, the next 10, above */
    dd_ratio per_day, per_h, hourly; /* mL */
} need;

static bool work_out(dd_quantity weight, need *n)
{
    int64_t mg;
    if (dd_quantity_grams(weight, &mg) != DD_OK || dd_need_maintenance(mg, &n->per_day) != DD_OK || dd_need_hourly_421(mg, &n->hourly) != DD_OK)
        return false;
    const dd_ratio thousand = {1000, 1}, hours = {24, 1};
    int64_t left = mg;
    for (int i = 0; i < 3; i++) {
        int64_t band = i < 2 && left > 10000000 ? 10000000 : left;
        if (dd_ratio_make(band, 1000000, &n->bands[i]) != DD_OK)
            return false;
        left -= band;
    }
    return dd_ratio_make(mg, 1000000, &n->kg) == DD_OK && dd_ratio_over(n->per_day, thousand, &n->per_day) == DD_OK &&
        dd_ratio_over(n->per_day, hours, &n->per_h) == DD_OK && dd_ratio_over(n->hourly, thousand, &n->hourly) == DD_OK;
}

static void row(dd_bytes *out, const char *quantity, dd_ratio value, const char *unit)
{
    char text[DD_NUMBER_MAX];
    dd_number_ratio(text, value, 3, DD_STYLE_PROGRAM);
    dd_bytes_form(out, "%s,%s,%s\n", quantity, text, unit);
}

/* `10 kg x 100 mL and 8.5 kg x 50 mL = 1,425 mL/day` */
static void bands_line(dd_bytes *out, const char *label, const need *n, const int factors[3], dd_ratio sum, const char *unit)
{
    dd_bytes words = DD_BYTES(WORDS_MOST);
    for (int i = 0; i < 3 && (i == 0 || n->bands[i].num > 0); i++) {
        if (i > 0)
            dd_bytes_text(&words, " and ");
        dd_working_number(&words, n->bands[i], "kg");
        dd_bytes_form(&words, "\x1fx\x1f%d\x1fmL", factors[i]);
    }
    dd_bytes_text(&words, " =\x1f");
    dd_working_number(&words, sum, unit);
    dd_working_line(out, label, words.data != NULL ? words.data : "");
    out->failed = out->failed || words.failed;
    dd_bytes_free(&words);
}

/* By how much the two rules differ at this weight. */
static void difference_line(dd_bytes *out, const need *n)
{
    dd_bytes words = DD_BYTES(WORDS_MOST);
    dd_ratio percent;
    int way = dd_ratio_compare(n->hourly, n->per_h);
    if (way == 0) {
        dd_bytes_text(&words, "The hourly rule; at this weight the two give the same.");
    } else if (dd_ratio_minus(n->hourly, n->per_h, &percent) == DD_OK && dd_ratio_over(percent, n->per_h, &percent) == DD_OK &&
        dd_ratio_times(percent, (dd_ratio){way * 100, 1}, &percent) == DD_OK) {
        dd_bytes_text(&words, "The hourly rule, another one: ");
        dd_working_number(&words, percent, "%");
        dd_bytes_text(&words, way < 0 ? " less at this weight." : " more at this weight.");
        dd_bytes_text(&words, " Say which one is meant.");
    }
    dd_working_line(out, "", words.data != NULL ? words.data : "");
    out->failed = out->failed || words.failed;
    dd_bytes_free(&words);
}

static void write_text(dd_bytes *out, const need *n)
{
    static const int daily[] = {100, 50, 20}, hourly[] = {4, 2, 1};
    dd_bytes words = DD_BYTES(WORDS_MOST);
    dd_bytes_text(&words, "of a child of ");
    dd_working_number(&words, n->kg, "kg");
    dd_bytes_text(&words, ", by weight");
    dd_working_line(out, "MAINTENANCE", words.data != NULL ? words.data : "");
    bands_line(out, "daily", n, daily, n->per_day, "mL/day");
    dd_working_line(out, "", "Holliday and Segar, Pediatrics 1957: 100 mL/kg/day for the first 10\x1fkg, 50 for the next 10, 20 for each above 20.");
    dd_bytes_clear(&words);
    dd_working_number(&words, n->per_day, "mL/day");
    dd_bytes_text(&words, " / 24\x1fh =\x1f");
    dd_working_number(&words, n->per_h, "mL/h");
    dd_working_line(out, "per hour", words.data != NULL ? words.data : "");
    bands_line(out, "by 4-2-1", n, hourly, n->hourly, "mL/h");
    difference_line(out, n);
    if (dd_ratio_compare(n->per_day, (dd_ratio){2000, 1}) > 0)
        dd_working_line(out, "ceilings", "Published tables stop below this: 2,000\x1fmL/day (Medecins Sans Frontieres 2021, from 35\x1fkg), 100\x1fmL/h "
                                         "(wall chart of the Royal Children's Hospital Melbourne).");
    dd_working_line(out, "not for", "Under 28\x1f""days, where no such rule holds: the day of life counts. Adults: 25 to 30\x1fmL/kg/day (NICE CG174, 2013).");
    dd_working_line(out, "", "It doses nobody: what is ordered is what counts. Many children need less; none of it replaces what is lost.");
    out->failed = out->failed || words.failed;
    dd_bytes_free(&words);
}

int dd_maintenance_run(const dd_maintenance_words *words, dd_bytes *out, dd_bytes *err)
{
    static const char expected[] = "a weight such as 18.5kg or 640g";
    dd_asked a = {.verb = "maintenance", .err = err};
    dd_quantity weight;
    need n = {{0, 1}, {{0, 1}, {0, 1}, {0, 1}}, {0, 1}, {0, 1}, {0, 1}};
    if (words->weight == NULL)
        dd_asked_wrong(&a, "WEIGHT", NULL, "not given\n    expected %s", expected);
    else if (dd_asked_quantity(&a, "WEIGHT", words->weight, DD_TAKES_MASS, false, expected, &weight) && !work_out(weight, &n))
        dd_asked_wrong(&a, "WEIGHT", words->weight, "is too large\n    expected %s", expected);
    if (a.wrong)
        return dd_asked_end(&a);
    if (!words->csv) {
        write_text(out, &n);
        return DD_EXIT_DONE;
    }
    dd_bytes_text(out, "quantity,value,unit\n");
    row(out, "maintenance", n.per_day, "mL/day");
    row(out, "maintenance", n.per_h, "mL/h");
    row(out, "hourly-421", n.hourly, "mL/h");
    return DD_EXIT_DONE;
}
