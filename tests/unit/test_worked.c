/* test_worked.c - one rate worked out: what follows from what, what does not go together, and relations that must hold. The
 * published examples are in tests/published. */
#include <criterion/criterion.h>
#include <stdio.h>

#include "worked.h"

TestSuite(worked);

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

/* What is given, as it would be written; times as seconds with a leading `d` where they have a date. */
typedef struct given {
    const char *volume, *over, *rate, *weight, *strength, *dose, *dose_unit, *given, *left, *start, *at;
    int factor;      /* drops/mL; 0: pump */
    int64_t glucose; /* g/L; 0: none */
} given;

static dd_quantity quantity(const char *text)
{
    dd_quantity q = {.per_micro = 1000000};
    if (text != NULL)
        cr_assert_eq(dd_quantity_read(text, strlen(text), 0xffff, true, &q, NULL), DD_QF_NONE, "%s", text);
    return q;
}

static dd_worked_time moment(const char *text)
{
    if (text == NULL)
        return (dd_worked_time){0};
    return (dd_worked_time){.has = true, .has_date = *text == 'd', .seconds = strtoll(text + (*text == 'd'), NULL, 10)};
}

static dd_worked_inputs inputs(given g)
{
    return (dd_worked_inputs){
        .volume = quantity(g.volume), .over = quantity(g.over), .rate = quantity(g.rate), .weight = quantity(g.weight), .strength = quantity(g.strength),
        .dose = quantity(g.dose), .dose_unit = quantity(g.dose_unit), .given = quantity(g.given), .left = quantity(g.left), .start = moment(g.start),
        .at = moment(g.at), .drop_factor_micro = g.factor * INT64_C(1000000), .step_ul_h = 100, .glucose_ug_l = {g.glucose * INT64_C(1000000), g.glucose != 0},
    };
}

static void add(char *out, const char *name, dd_worked_figure f)
{
    char number[DD_NUMBER_MAX];
    if (!f.has)
        return;
    dd_number_ratio(number, f.exact, 6, DD_STYLE_PROGRAM);
    sprintf(out + strlen(out), " %s=%s", name, number);
}

/* Everything that is known, in the units of worked.h. */
static const char *all(const dd_worked *k)
{
    static char out[1024];
    out[0] = '\0';
    add(out, "rate", k->rate);
    if (k->rate.has)
        sprintf(out + strlen(out), " set=%lld", (long long)k->set.ul_per_h);
    if (k->drops_exact.has)
        sprintf(out + strlen(out), " drops=%d", (int)k->drops);
    add(out, "exact", k->drops_exact);
    add(out, "duration", k->duration);
    if (k->ends.has)
        sprintf(out + strlen(out), k->ends.has_date ? " ends=d%lld" : " ends=%lld day=%d", (long long)k->ends.seconds, (int)k->day_offset);
    add(out, "volume", k->volume);
    add(out, "given", k->given);
    add(out, "left", k->left);
    add(out, "left-for", k->left_for);
    add(out, "strength", k->strength);
    add(out, "dose", k->dose);
    add(out, "per-kg", k->per_kg);
    add(out, "glucose", k->glucose);
    return out + (out[0] == ' ');
}

Test(worked, what_follows)
{
    static const struct {
        given given;
        const char *all;
    } rows[] = {
        {{.volume = "500 mL", .over = "8 h"}, "rate=62500 set=62500 duration=28800 volume=500000"},
        {{.volume = "500 mL", .over = "8 h", .factor = 20}, "rate=62500 set=63000 drops=21 exact=20.833333 duration=28800 volume=500000"},
        {{.volume = "1 L", .over = "8 h", .rate = "125 mL/h"}, "rate=125000 set=125000 duration=28800 volume=1000000"},
        {{.volume = "500 mL", .over = "6 h", .rate = "83.3 mL/h"}, "rate=83333.333333 set=83300 duration=21600 volume=500000"},
        {{.volume = "500 mL", .rate = "125 mL/h"}, "rate=125000 set=125000 duration=14400 volume=500000"},
        {{.over = "6 h", .rate = "125 mL/h"}, "rate=125000 set=125000 duration=21600 volume=750000"},
        {{.volume = "20 mL/kg", .weight = "18 kg", .over = "1 h"}, "rate=360000 set=360000 duration=3600 volume=360000 per-kg=20000"},
        {{.rate = "4 mL/kg/h", .weight = "18.5 kg"}, "rate=74000 set=74000 per-kg=4000"},
        {{.rate = "1800 mL/day"}, "rate=75000 set=75000"},
        {{.rate = "0.5 mL/min"}, "rate=30000 set=30000"},
        {{.rate = "38 gtt/min", .factor = 10}, "rate=228000 set=228000 drops=38 exact=38"},
        {{.rate = "80%", .weight = "18.5 kg"}, "rate=47500 set=47500 per-kg=2567.567568"},
        {{.dose = "5 mcg/kg/min", .weight = "70 kg", .strength = "400 mg/250 mL"},
            "rate=13125 set=13100 strength=1.6 dose=5 per-kg=187.5"},
        {{.dose = "5 mcg/min", .strength = "50 mg/250 mL"}, "rate=1500 set=1500 strength=0.2 dose=5"},
        {{.dose = "1200 units/h", .strength = "25000 units/0.5 L", .volume = "500 mL"}, "rate=24000 set=24000 duration=75000 volume=500000 strength=50 dose=1200"},
        {{.rate = "20 mL/h", .strength = "25000 units/500 mL"}, "rate=20000 set=20000 strength=50 dose=1000"},
        {{.rate = "13.125 mL/h", .strength = "400 mg/250 mL", .weight = "70 kg", .dose_unit = "1 mcg/kg/min"},
            "rate=13125 set=13100 strength=1.6 dose=5 per-kg=187.5"},
        {{.dose = "4 mg/kg/min", .dose_unit = "1 g/kg/day"}, "dose=5.76"},
        {{.dose = "4 mg/kg/min", .dose_unit = "1 mg/h", .weight = "3 kg"}, "dose=720"},
        {{.dose = "720 mg/h", .dose_unit = "1 mg/kg/min", .weight = "3000 g"}, "dose=4"},
        {{.strength = "25000 units/500 mL"}, "strength=50"},
        {{.strength = "20 mmol/L"}, "strength=0.02"},
        {{.rate = "75 mL/h", .weight = "65 kg", .glucose = 150}, "rate=75000 set=75000 per-kg=1153.846154 glucose=2.884615"},
        {{.volume = "500 mL", .given = "200 mL"}, "volume=500000 given=200000 left=300000"},
        {{.volume = "500 mL", .left = "200 mL"}, "volume=500000 given=300000 left=200000"},
        {{.given = "300 mL", .left = "200 mL"}, "volume=500000 given=300000 left=200000"},
        {{.volume = "500 mL", .given = "300 mL", .left = "200 mL", .rate = "100 mL/h"},
            "rate=100000 set=100000 duration=18000 volume=500000 given=300000 left=200000 left-for=7200"},
        {{.left = "500 mL", .over = "4 h"}, "rate=125000 set=125000 left=500000 left-for=14400"},
        {{.volume = "1 L", .left = "500 mL", .over = "4 h"}, "rate=125000 set=125000 volume=1000000 given=500000 left=500000 left-for=14400"},
        {{.left = "0 mL", .rate = "100 mL/h"}, "rate=100000 set=100000 left=0 left-for=0"},
        {{.rate = "0 mL/h", .volume = "500 mL"}, "rate=0 set=0 volume=500000"},
        /* clocks: 08:00 is 28800 */
        {{.volume = "500 mL", .rate = "62.5 mL/h", .start = "21600"}, "rate=62500 set=62500 duration=28800 ends=50400 day=0 volume=500000"},
        {{.volume = "1 L", .rate = "80 mL/h", .start = "79200"}, "rate=80000 set=80000 duration=45000 ends=37800 day=1 volume=1000000"},
        {{.volume = "500 mL", .rate = "228 mL/h", .start = "68400"}, "rate=228000 set=228000 duration=7894.736842 ends=76320 day=0 volume=500000"},
        {{.volume = "500 mL", .over = "50 h", .start = "0"}, "rate=10000 set=10000 duration=180000 ends=7200 day=2 volume=500000"},
        {{.volume = "250 mL", .rate = "100 mL/h", .start = "47700", .at = "54000"},
            "rate=100000 set=100000 duration=9000 ends=56700 day=0 volume=250000 given=175000 left=75000 left-for=2700"},
        {{.rate = "100 mL/h", .start = "82800", .at = "3600"}, "rate=100000 set=100000 given=200000"},
        {{.volume = "100 mL", .rate = "100 mL/h", .start = "0", .at = "7200"},
            "rate=100000 set=100000 duration=3600 ends=3600 day=0 volume=100000 given=100000 left=0 left-for=0"},
        {{.volume = "100 mL", .rate = "100 mL/h", .start = "7200", .at = "7200"},
            "rate=100000 set=100000 duration=3600 ends=10800 day=0 volume=100000 given=0 left=100000 left-for=3600"},
        {{.left = "200 mL", .rate = "100 mL/h", .at = "82800"}, "rate=100000 set=100000 ends=3600 day=1 left=200000 left-for=7200"},
        {{.left = "200 mL", .rate = "100 mL/h", .start = "82800"}, "rate=100000 set=100000 ends=3600 day=1 left=200000 left-for=7200"},
        {{.volume = "500 mL", .given = "300 mL", .rate = "100 mL/h", .start = "28800", .at = "43200"},
            "rate=100000 set=100000 duration=18000 ends=50400 day=0 volume=500000 given=300000 left=200000 left-for=7200"},
        {{.volume = "500 mL", .rate = "62.5 mL/h", .start = "d1000000000"}, "rate=62500 set=62500 duration=28800 ends=d1000028800 volume=500000"},
        {{.volume = "1 mL", .rate = "7 mL/h", .start = "d0"}, "rate=7000 set=7000 duration=514.285714 ends=d514 volume=1000"},
        {{.volume = "1 L", .rate = "100 mL/h", .start = "d0", .at = "7200"},
            "rate=100000 set=100000 duration=36000 ends=d36000 volume=1000000 given=200000 left=800000 left-for=28800"},
        {{.volume = "1 L", .rate = "100 mL/h", .start = "82800", .at = "d90000"},
            "rate=100000 set=100000 duration=36000 ends=d118800 volume=1000000 given=200000 left=800000 left-for=28800"},
        /* three ways that agree to the device's step */
        {{.volume = "250 mL", .over = "19 h", .dose = "5 mcg/kg/min", .weight = "70 kg", .strength = "400 mg/250 mL", .rate = "13.2 mL/h"}, NULL},
        {{.volume = "250 mL", .over = "1143 min", .dose = "5 mcg/kg/min", .weight = "70 kg", .strength = "400 mg/250 mL", .rate = "13.1 mL/h"},
            "rate=13123.35958 set=13100 duration=68580 volume=250000 strength=1.6 dose=4.999375 per-kg=187.476565"},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_worked_inputs in = inputs(rows[i].given);
        dd_worked worked;
        dd_worked_option about[2];
        dd_worked_fault fault = dd_worked_out(&in, &worked, about);
        if (rows[i].all == NULL) {
            cr_expect_eq(fault, DD_WORKED_DISAGREE, "row %zu", i);
            continue;
        }
        cr_assert_eq(fault, DD_WORKED_FINE, "row %zu: fault %d about %d, %d", i, (int)fault, (int)about[0], (int)about[1]);
        cr_expect_str_eq(all(&worked), rows[i].all, "row %zu:\n%s\n%s", i, all(&worked), rows[i].all);
    }
}

Test(worked, what_does_not_go_together)
{
    static const struct {
        given given;
        dd_worked_fault fault;
        dd_worked_option first, second;
    } rows[] = {
        {{0}, DD_WORKED_NOTHING, DD_WORKED_VOLUME, DD_WORKED_VOLUME},
        {{.weight = "5 kg"}, DD_WORKED_NOTHING, DD_WORKED_VOLUME, DD_WORKED_VOLUME},
        {{.over = "5 h"}, DD_WORKED_NOTHING, DD_WORKED_VOLUME, DD_WORKED_VOLUME},
        {{.start = "0"}, DD_WORKED_NOTHING, DD_WORKED_VOLUME, DD_WORKED_VOLUME},
        {{.factor = 20}, DD_WORKED_NOTHING, DD_WORKED_VOLUME, DD_WORKED_VOLUME},
        {{.volume = "20 mL/kg"}, DD_WORKED_NEEDS, DD_WORKED_VOLUME, DD_WORKED_WEIGHT},
        {{.rate = "4 mL/kg/h"}, DD_WORKED_NEEDS, DD_WORKED_RATE, DD_WORKED_WEIGHT},
        {{.rate = "80%"}, DD_WORKED_NEEDS, DD_WORKED_RATE, DD_WORKED_WEIGHT},
        {{.rate = "20 gtt/min"}, DD_WORKED_NEEDS, DD_WORKED_RATE, DD_WORKED_SET},
        {{.dose = "5 mcg/min"}, DD_WORKED_NEEDS, DD_WORKED_DOSE, DD_WORKED_STRENGTH},
        {{.dose = "5 mcg/kg/min", .strength = "1 mg/mL"}, DD_WORKED_NEEDS, DD_WORKED_DOSE, DD_WORKED_WEIGHT},
        {{.dose_unit = "1 mg/h"}, DD_WORKED_NEEDS, DD_WORKED_DOSE_UNIT, DD_WORKED_STRENGTH},
        {{.dose_unit = "1 mg/h", .rate = "5 mL/h"}, DD_WORKED_NEEDS, DD_WORKED_DOSE_UNIT, DD_WORKED_STRENGTH},
        {{.dose_unit = "1 mg/h", .strength = "1 mg/mL"}, DD_WORKED_NEEDS, DD_WORKED_DOSE_UNIT, DD_WORKED_RATE},
        {{.dose_unit = "1 mg/kg/h", .strength = "1 mg/mL", .rate = "5 mL/h"}, DD_WORKED_NEEDS, DD_WORKED_DOSE_UNIT, DD_WORKED_WEIGHT},
        {{.dose = "5 mg/kg/h", .dose_unit = "1 mg/h"}, DD_WORKED_NEEDS, DD_WORKED_DOSE_UNIT, DD_WORKED_WEIGHT},
        {{.rate = "5 mL/h", .glucose = 100}, DD_WORKED_NEEDS, DD_WORKED_FLUID, DD_WORKED_WEIGHT},
        {{.weight = "5 kg", .glucose = 100}, DD_WORKED_NEEDS, DD_WORKED_FLUID, DD_WORKED_RATE},
        {{.rate = "5 mL/h", .at = "0"}, DD_WORKED_NEEDS, DD_WORKED_AT, DD_WORKED_START},
        {{.dose = "5 mcg/min", .strength = "100 units/mL"}, DD_WORKED_OTHER_KIND, DD_WORKED_DOSE, DD_WORKED_STRENGTH},
        {{.dose = "5 mmol/h", .strength = "20 mEq/L"}, DD_WORKED_OTHER_KIND, DD_WORKED_DOSE, DD_WORKED_STRENGTH},
        {{.rate = "5 mL/h", .strength = "100 units/mL", .dose_unit = "1 mg/h"}, DD_WORKED_OTHER_KIND, DD_WORKED_DOSE_UNIT, DD_WORKED_STRENGTH},
        {{.dose = "5 mg/h", .dose_unit = "1 units/h"}, DD_WORKED_OTHER_KIND, DD_WORKED_DOSE_UNIT, DD_WORKED_DOSE},
        {{.volume = "500 mL", .over = "8 h", .rate = "83.3 mL/h"}, DD_WORKED_DISAGREE, DD_WORKED_OVER, DD_WORKED_RATE},
        {{.volume = "500 mL", .over = "8 h", .dose = "5 mg/h", .strength = "1 mg/mL"}, DD_WORKED_DISAGREE, DD_WORKED_OVER, DD_WORKED_DOSE},
        {{.dose = "5 mg/h", .strength = "1 mg/mL", .rate = "5.1 mL/h"}, DD_WORKED_DISAGREE, DD_WORKED_DOSE, DD_WORKED_RATE},
        {{.left = "500 mL", .over = "4 h", .rate = "100 mL/h"}, DD_WORKED_DISAGREE, DD_WORKED_OVER, DD_WORKED_RATE},
        {{.volume = "500 mL", .over = "8 h", .rate = "30 gtt/min", .factor = 20}, DD_WORKED_DISAGREE, DD_WORKED_OVER, DD_WORKED_RATE},
        {{.volume = "500 mL", .given = "501 mL"}, DD_WORKED_MORE, DD_WORKED_GIVEN, DD_WORKED_VOLUME},
        {{.volume = "500 mL", .left = "500.001 mL"}, DD_WORKED_MORE, DD_WORKED_LEFT, DD_WORKED_VOLUME},
        {{.volume = "500 mL", .left = "200 mL", .given = "299 mL"}, DD_WORKED_NOT_THE_SUM, DD_WORKED_GIVEN, DD_WORKED_LEFT},
        {{.rate = "5 mL/h", .start = "d100", .at = "d99"}, DD_WORKED_EARLIER, DD_WORKED_AT, DD_WORKED_START},
        {{.volume = "100 L", .over = "1 h"}, DD_WORKED_TOO_LARGE, DD_WORKED_OVER, DD_WORKED_OVER},
        {{.rate = "1000 mL/kg/h", .weight = "11 kg"}, DD_WORKED_TOO_LARGE, DD_WORKED_RATE, DD_WORKED_RATE},
        {{.rate = "10000 mL/h", .over = "11 h"}, DD_WORKED_TOO_LARGE, DD_WORKED_OVER, DD_WORKED_VOLUME},
        {{.volume = "1 L/kg", .weight = "500 kg"}, DD_WORKED_TOO_LARGE, DD_WORKED_VOLUME, DD_WORKED_VOLUME},
        {{.dose = "100 g/min", .strength = "1 mcg/L"}, DD_WORKED_TOO_LARGE, DD_WORKED_DOSE, DD_WORKED_DOSE},
    };
    for (size_t i = 0; i < ROWS(rows); i++) {
        dd_worked_inputs in = inputs(rows[i].given);
        dd_worked worked;
        dd_worked_option about[2] = {DD_WORKED_VOLUME, DD_WORKED_VOLUME};
        dd_worked_fault fault = dd_worked_out(&in, &worked, about);
        cr_expect(fault == rows[i].fault && about[0] == rows[i].first && about[1] == rows[i].second, "row %zu: fault %d about %d and %d", i, (int)fault,
            (int)about[0], (int)about[1]);
    }
}

/* Odd numbers, so that nothing comes out even: the relations hold exactly all the same. */
Test(worked, relations)
{
    uint64_t random = 11;
    for (int i = 0; i < 20000; i++) {
        int64_t n[6];
        for (int j = 0; j < 6; j++) {
            random = random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            n[j] = (int64_t)(random >> 40) + 1;
        }
        dd_worked_inputs in = {.step_ul_h = 100};
        in.volume = (dd_quantity){n[0] * 1000, 1000000, DD_UNIT_ML, DD_UNIT_NONE, false};
        in.over = (dd_quantity){n[1] * 10000, 1000000, DD_UNIT_MIN, DD_UNIT_NONE, false};
        in.weight = (dd_quantity){n[2], 1000000, DD_UNIT_KG, DD_UNIT_NONE, false};
        in.strength = (dd_quantity){n[3], n[4], DD_UNIT_MG, DD_UNIT_ML, false};
        in.dose_unit = (dd_quantity){1000000, 1000000, DD_UNIT_MCG, DD_UNIT_MIN, true};
        in.drop_factor_micro = i % 2 ? n[5] : 0;
        dd_worked a, b;
        dd_worked_option about[2];
        dd_worked_fault fault = dd_worked_out(&in, &a, about);
        if (fault == DD_WORKED_TOO_LARGE)
            continue;
        cr_assert_eq(fault, DD_WORKED_FINE);
        dd_ratio back;
        cr_assert(dd_ratio_times(a.rate.exact, a.duration.exact, &back) == DD_OK && dd_ratio_over(back, a.volume.exact, &back) == DD_OK);
        cr_assert(back.num == 3600 && back.den == 1, "volume is rate x duration");
        cr_assert_eq(dd_ratio_compare(a.duration.exact, a.over.exact), 0);
        cr_assert(dd_ratio_times(a.per_kg.exact, a.weight.exact, &back) == DD_OK && dd_ratio_compare(back, a.rate.exact) == 0);
        cr_assert(a.set.ul_per_h > 0);
        /* dose in mcg/kg/min: mL/h x mg/mL x 1000 / kg / 60 */
        dd_ratio dose;
        cr_assert(dd_ratio_times(a.rate.exact, a.strength.exact, &dose) == DD_OK && dd_ratio_over(dose, a.weight.exact, &dose) == DD_OK &&
            dd_ratio_over(dose, (dd_ratio){60, 1}, &dose) == DD_OK && dd_ratio_compare(dose, a.dose.exact) == 0);
        /* and what is left after a part of the time */
        in.start = (dd_worked_time){.has = true, .has_date = true, .seconds = 1000};
        in.at = (dd_worked_time){.has = true, .has_date = true, .seconds = 1000 + n[5] % 100000};
        cr_assert_eq(dd_worked_out(&in, &b, about), DD_WORKED_FINE);
        cr_assert(dd_ratio_plus(b.given.exact, b.left.exact, &back) == DD_OK && dd_ratio_compare(back, b.volume.exact) == 0);
        cr_assert(b.given.exact.num >= 0 && b.left.exact.num >= 0);
    }
}
