#include "rate.h"

#include <stdio.h>
#include <string.h>

#include "asked.h"
#include "load.h"
#include "working.h"
#include "worked.h"

#define PUMP_STEP_UL_H 100 /* the rule pump-step, its built-in value: 0.1 mL/h */

static const char *const options[] = {
    [DD_WORKED_VOLUME] = "--volume", [DD_WORKED_OVER] = "--over", [DD_WORKED_RATE] = "--rate", [DD_WORKED_SET] = "--set", [DD_WORKED_WEIGHT] = "--weight",
    [DD_WORKED_STRENGTH] = "--strength", [DD_WORKED_DOSE] = "--dose", [DD_WORKED_DOSE_UNIT] = "--dose-unit", [DD_WORKED_START] = "--start",
    [DD_WORKED_GIVEN] = "--given", [DD_WORKED_LEFT] = "--left", [DD_WORKED_AT] = "--at", [DD_WORKED_FLUID] = "--fluid",
};

static const char *const examples[] = {
    [DD_WORKED_VOLUME] = "500 mL", [DD_WORKED_OVER] = "8 h", [DD_WORKED_RATE] = "83.3 mL/h", [DD_WORKED_SET] = "20 gtt/mL", [DD_WORKED_WEIGHT] = "18.5 kg",
    [DD_WORKED_STRENGTH] = "400 mg/250 mL", [DD_WORKED_DOSE] = "5 mcg/kg/min", [DD_WORKED_DOSE_UNIT] = "mg/h", [DD_WORKED_START] = "08:00",
    [DD_WORKED_GIVEN] = "200 mL", [DD_WORKED_LEFT] = "120 mL", [DD_WORKED_AT] = "11:00", [DD_WORKED_FLUID] = "glucose-10",
};

/* ---- the fluid ---- */

/* The fluid as an order has it; what the working calls it belongs to the folder. What is added per bag goes by the volume. */
static void read_fluid(dd_asked *a, const dd_rate_words *words, dd_worked_inputs *in, dd_folder *folder, const char **called)
{
    dd_volume bag = {DD_UNKNOWN};
    dd_mix mix;
    if (in->volume.unit != DD_UNIT_NONE && !in->volume.per_kg && dd_quantity_volume(in->volume, &bag) != DD_OK)
        bag.ul = DD_UNKNOWN;
    if (!dd_asked_mixture(a, "--fluid", words->fluid, bag.ul, "--volume too, or an amount per litre", folder, &mix))
        return;
    if (mix.mixture->fluid < 0)
        dd_asked_wrong(a, "--fluid", words->fluid, "is not in the catalogue\n    expected a fluid as in the column fluid, such as glucose-10");
    else if (mix.litre[DD_MEMBER_GLUCOSE].den == 0)
        dd_asked_wrong(a, "--fluid", words->fluid, "has an amount of glucose that nobody stated\n    expected a fluid such as glucose-10");
    in->glucose_ug_l = mix.litre[DD_MEMBER_GLUCOSE];
    *called = mix.mixture->words;
}

/* ---- the other options ---- */

/* `80% maintenance`: the part before the word, else the length of the whole. */
static bool is_share(const char *text, size_t *length)
{
    static const char word[] = "maintenance";
    size_t all = strlen(text);
    while (all > 0 && (text[all - 1] == ' ' || text[all - 1] == '\t'))
        all--;
    if (all < sizeof word || memcmp(text + all - (sizeof word - 1), word, sizeof word - 1) != 0)
        return false;
    *length = all - (sizeof word - 1);
    return true;
}

/* A dose rate stands in the column `rate` too; here it is the same as --dose. */
static void read_rate(dd_asked *a, const dd_rate_words *words, dd_worked_inputs *in)
{
    static const char expected[] = "a rate such as 83.3 mL/h, 4 mL/kg/h, 31 gtt/min or 80% maintenance";
    size_t length;
    if (words->rate != NULL && is_share(words->rate, &length)) {
        char share[64];
        if (length >= sizeof share) {
            dd_asked_wrong(a, "--rate", words->rate, "is too long\n    expected %s", expected);
            return;
        }
        memcpy(share, words->rate, length);
        share[length] = '\0';
        dd_asked_quantity(a, "--rate", share, DD_TAKES_PERCENT, false, expected, &in->rate);
        return;
    }
    unsigned takes = DD_TAKES_RATE | DD_TAKES_RATE_KG | DD_TAKES_DROP_RATE;
    if (words->dose == NULL)
        takes |= DD_TAKES_DOSE_RATE;
    if (!dd_asked_quantity(a, "--rate", words->rate, takes, false, expected, &in->rate) || in->rate.unit == DD_UNIT_NONE)
        return;
    dd_dimension dimension = dd_quantity_dimension(in->rate.unit);
    if (dimension != DD_DIM_VOLUME && dimension != DD_DIM_DROPS) {
        in->dose = in->rate;
        in->rate = (dd_quantity){.per_micro = 1000000};
    }
}

static void read_set(dd_asked *a, const char *text, dd_worked_inputs *in)
{
    dd_quantity factor;
    dd_ratio exact;
    in->step_ul_h = PUMP_STEP_UL_H;
    if (text == NULL || strcmp(text, "pump") == 0 || strcmp(text, "syringe") == 0)
        return;
    if (dd_asked_quantity(a, "--set", text, DD_TAKES_DROP_FACTOR, false, "pump, syringe, or drops per mL such as 20 gtt/mL", &factor) &&
        dd_quantity_exact(factor, &exact) == DD_OK)
        in->drop_factor_micro = factor.micro;
}

/* A unit alone is read as one of it. */
static void read_dose_unit(dd_asked *a, const char *text, dd_worked_inputs *in)
{
    char one[64] = "1 ";
    const char *hint = NULL;
    if (text == NULL)
        return;
    text += strspn(text, " \t");
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    if (length < sizeof one - 2 && !(*text >= '0' && *text <= '9')) {
        memcpy(one + 2, text, length);
        if (dd_quantity_read(one, length + 2, DD_TAKES_DOSE_RATE, false, &in->dose_unit, &hint) == DD_QF_NONE)
            return;
    }
    if (hint != NULL)
        dd_asked_wrong(a, "--dose-unit", text, "is no unit for a dose: write %s\n    expected a unit such as mg/h or mcg/kg/min", hint);
    else
        dd_asked_wrong(a, "--dose-unit", text, "is no unit for a dose\n    expected a unit such as mg/h or mcg/kg/min");
}

static void read_time(dd_asked *a, const char *option, const char *text, dd_worked_time *out)
{
    dd_time_text time;
    if (!dd_asked_time(a, option, text, &time) || !time.has_clock)
        return;
    int64_t days = time.has_date ? dd_moment_days(time.civil.year, time.civil.month, time.civil.day) : 0;
    out->has = true;
    out->has_date = time.has_date;
    out->seconds = days * 86400 + time.civil.hour * 3600 + time.civil.minute * 60 + time.civil.second;
}

static void read_words(dd_asked *a, const dd_rate_words *words, dd_worked_inputs *in)
{
    dd_asked_quantity(a, "--volume", words->volume, DD_TAKES_VOLUME | DD_TAKES_VOLUME_KG, false, "a volume such as 500 mL or 20 mL/kg", &in->volume);
    dd_asked_quantity(a, "--over", words->over, DD_TAKES_TIME, false, "a time such as 8 h or 30 min", &in->over);
    dd_asked_quantity(a, "--weight", words->weight, DD_TAKES_MASS, false, "a weight such as 18.5 kg or 640 g", &in->weight);
    dd_asked_quantity(a, "--strength", words->strength, DD_TAKES_STRENGTH, false, "an amount per volume such as 400 mg/250 mL", &in->strength);
    dd_asked_quantity(a, "--dose", words->dose, DD_TAKES_DOSE_RATE, false, "a dose rate such as 5 mcg/kg/min or 1000 units/h", &in->dose);
    read_rate(a, words, in);
    read_set(a, words->set, in);
    read_dose_unit(a, words->dose_unit, in);
    dd_asked_quantity(a, "--given", words->given, DD_TAKES_VOLUME, true, "a volume such as 200 mL", &in->given);
    dd_asked_quantity(a, "--left", words->left, DD_TAKES_VOLUME, words->over == NULL, "a volume such as 120 mL", &in->left);
    read_time(a, "--start", words->start, &in->start);
    read_time(a, "--at", words->at, &in->at);
}

/* ---- what does not go together ---- */

static const char *way_words(dd_worked_way way)
{
    return way == DD_WORKED_BY_DOSE ? "--dose with --strength" : way == DD_WORKED_BY_RATE ? "--rate" : way == DD_WORKED_BY_LEFT ? "--left with --over" : "--volume with --over";
}

static const char *text_of(const dd_rate_words *words, dd_worked_option option)
{
    const char *const texts[] = {
        [DD_WORKED_VOLUME] = words->volume, [DD_WORKED_OVER] = words->over, [DD_WORKED_RATE] = words->rate, [DD_WORKED_SET] = words->set,
        [DD_WORKED_WEIGHT] = words->weight, [DD_WORKED_STRENGTH] = words->strength, [DD_WORKED_DOSE] = words->dose,
        [DD_WORKED_DOSE_UNIT] = words->dose_unit, [DD_WORKED_START] = words->start, [DD_WORKED_GIVEN] = words->given, [DD_WORKED_LEFT] = words->left,
        [DD_WORKED_AT] = words->at, [DD_WORKED_FLUID] = words->fluid,
    };
    /* A dose that was written as --rate. */
    return option == DD_WORKED_DOSE && words->dose == NULL ? words->rate : texts[option];
}

static int refuse(dd_asked *a, const dd_rate_words *words, const dd_worked *worked, dd_worked_fault fault, const dd_worked_option about[2])
{
    char first[DD_NUMBER_MAX], second[DD_NUMBER_MAX];
    dd_ratio ml;
    const char *name = fault == DD_WORKED_NOTHING ? "" : about[0] == DD_WORKED_DOSE && words->dose == NULL ? "--rate" : options[about[0]];
    const char *text = fault == DD_WORKED_NOTHING ? NULL : text_of(words, about[0]);
    switch (fault) {
    case DD_WORKED_NOTHING:
        dd_asked_wrong(a, "nothing follows", NULL, "say what is known\n    expected for instance --volume 500mL --over 8h --set 20gtt/mL");
        break;
    case DD_WORKED_NEEDS:
        dd_asked_wrong(a, name, text, "needs %s too\n    expected %s such as \"%s\"", options[about[1]], options[about[1]], examples[about[1]]);
        break;
    case DD_WORKED_OTHER_KIND:
        dd_asked_wrong(a, name, text, "and %s \"%.60s\" are amounts of different kinds\n    expected both in units that convert, such as mg and mcg", options[about[1]],
            text_of(words, about[1]));
        break;
    case DD_WORKED_DISAGREE:
        if (dd_ratio_over(worked->rate.exact, (dd_ratio){1000, 1}, &ml) != DD_OK)
            ml = (dd_ratio){0, 1};
        dd_number_ratio(first, ml, 3, DD_STYLE_PERSON);
        if (dd_ratio_over(worked->clash, (dd_ratio){1000, 1}, &ml) != DD_OK)
            ml = (dd_ratio){0, 1};
        dd_number_ratio(second, ml, 3, DD_STYLE_PERSON);
        dd_asked_wrong(a, name, text, "does not go with the rest: %s gives %s mL/h, %s gives %s mL/h\n    expected options that agree, or one fewer",
            way_words(worked->rate_by), first, way_words(worked->clash_by), second);
        break;
    case DD_WORKED_MORE:
        dd_asked_wrong(a, name, text, "is more than the whole\n    expected at most what %s says", options[about[1]]);
        break;
    case DD_WORKED_NOT_THE_SUM:
        dd_asked_wrong(a, name, text, "and --left \"%.60s\" do not make --volume\n    expected two of the three, or three that add up", words->left);
        break;
    case DD_WORKED_EARLIER:
        dd_asked_wrong(a, name, text, "lies before --start\n    expected a time at or after \"%.60s\"", words->start);
        break;
    case DD_WORKED_TOO_LARGE:
    case DD_WORKED_FINE:
        dd_asked_wrong(a, name, text, "leads to more than there can be\n    expected at most 100 L and 10 L/h");
        break;
    }
    return dd_asked_end(a);
}

/* ---- rows ---- */

static void row(dd_bytes *out, const char *quantity, const char *value, const char *unit)
{
    dd_bytes_text(out, quantity);
    dd_bytes_char(out, ',');
    dd_bytes_text(out, value);
    dd_bytes_char(out, ',');
    dd_bytes_text(out, unit);
    dd_bytes_char(out, '\n');
}

/* A figure divided into the unit of its row. */
static void figure_row(dd_bytes *out, const char *quantity, const dd_worked_figure *f, int64_t by, const char *unit)
{
    char text[DD_NUMBER_MAX];
    dd_ratio value;
    if (!f->has)
        return;
    if (dd_ratio_over(f->exact, (dd_ratio){by, 1}, &value) != DD_OK)
        value = (dd_ratio){0, 0}; /* written as "?" */
    dd_number_ratio(text, value, 3, DD_STYLE_PROGRAM);
    row(out, quantity, text, unit);
}

static void end_rows(dd_bytes *out, const dd_worked *worked)
{
    static const dd_zone_span span = {0, 0};
    static const dd_zone local = {.name = "UTC", .spans = &span, .count = 1};
    char text[DD_MOMENT_MAX], days[DD_NUMBER_MAX];
    if (!worked->ends.has)
        return;
    if (!worked->ends.has_date) {
        dd_moment_write(text, &local, worked->ends.seconds, DD_MOMENT_CLOCK);
        row(out, "ends", text, "time");
        dd_number_scaled(days, worked->day_offset, 0, 0, DD_STYLE_PROGRAM);
        row(out, "day-offset", days, "days");
        return;
    }
    dd_moment_write(text, &local, worked->ends.seconds, DD_MOMENT_LOCAL);
    text[10] = 'T';
    row(out, "ends", text, "time");
}

static void write_rows(dd_bytes *out, const dd_worked_inputs *in, const dd_worked *worked)
{
    char unit[64];
    dd_bytes_text(out, "quantity,value,unit\n");
    figure_row(out, "rate", &worked->rate, 1000, "mL/h");
    dd_worked_figure set = {{worked->set.ul_per_h, 1}, worked->rate.has}, drops = {{worked->drops, 1}, worked->drops_exact.has};
    figure_row(out, "rate-set", &set, 1000, "mL/h");
    figure_row(out, "drops", &drops, 1, "gtt/min");
    figure_row(out, "drops-exact", &worked->drops_exact, 1, "gtt/min");
    figure_row(out, "duration", &worked->duration, 60, "min");
    end_rows(out, worked);
    figure_row(out, "volume", &worked->volume, 1000, "mL");
    figure_row(out, "given", &worked->given, 1000, "mL");
    figure_row(out, "left", &worked->left, 1000, "mL");
    figure_row(out, "left-for", &worked->left_for, 60, "min");
    snprintf(unit, sizeof unit, "%s/mL", dd_quantity_unit(in->strength.unit));
    figure_row(out, "strength", &worked->strength, 1, unit);
    const dd_quantity *dose = &worked->dose_unit;
    snprintf(unit, sizeof unit, "%s%s/%s", dd_quantity_unit(dose->unit), dose->per_kg ? "/kg" : "", dd_quantity_unit(dose->per));
    figure_row(out, "dose", &worked->dose, 1, unit);
    figure_row(out, "per-kg", &worked->per_kg, 1000, "mL/kg/h");
    figure_row(out, "glucose-rate", &worked->glucose, 1, "mg/kg/min");
}

static int run(dd_asked *a, const dd_rate_words *words, dd_folder *folder, dd_bytes *out)
{
    dd_worked_inputs in = {.step_ul_h = PUMP_STEP_UL_H};
    dd_worked worked;
    dd_worked_option about[2] = {DD_WORKED_VOLUME, DD_WORKED_VOLUME};
    const char *fluid = NULL;
    read_words(a, words, &in);
    if (words->fluid != NULL)
        read_fluid(a, words, &in, folder, &fluid);
    if (a->wrong)
        return dd_asked_end(a);
    dd_worked_fault fault = dd_worked_out(&in, &worked, about);
    if (fault != DD_WORKED_FINE)
        return refuse(a, words, &worked, fault, about);
    if (words->csv)
        write_rows(out, &in, &worked);
    else
        dd_working_write(&in, &worked, fluid, out);
    return DD_EXIT_DONE;
}

int dd_rate_run(const dd_rate_words *words, dd_bytes *out, dd_bytes *err)
{
    dd_asked a = {.verb = "rate", .err = err};
    dd_folder *folder = NULL;
    if (words->fluid != NULL && dd_folder_built_in(&folder) != DD_OK) {
        dd_bytes_text(err, "daydrip: not enough memory\n");
        return DD_EXIT_FILE;
    }
    int status = run(&a, words, folder, out);
    dd_folder_free(folder);
    return status;
}
