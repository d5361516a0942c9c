#include "regimen.h"

#include <string.h>

#include "need.h"

#define MONTH_S INT64_C(2629800) /* 30.4375 days, as in ages */
#define HOUR_S 3600
#define RULE_OF_TENS_TO_MG INT64_C(80000000)

#define STAGE(num, den, of, minutes, route, words) {num, den, DD_OF_##of, minutes, DD_ROUTE_##route, false, words}
#define FIRST(num, den, of, minutes, route, words) {num, den, DD_OF_##of, minutes, DD_ROUTE_##route, true, words}
#define STAGES(...) (const dd_regimen_stage[]){__VA_ARGS__}, sizeof((const dd_regimen_stage[]){__VA_ARGS__}) / sizeof(dd_regimen_stage)
#define NO_STAGES NULL, 0
#define HALVES STAGES(STAGE(1, 2, WHOLE, 480, VEIN, ""), STAGE(1, 2, WHOLE, 960, VEIN, ""))
#define FOR(whom, course, from, below, low, high, repeats, when, ...) \
    {whom, course, (from) * MONTH_S, (below) * MONTH_S, low, high, repeats, when, __VA_ARGS__}
#define CLASSES(...) .classes = (const dd_regimen_class[]){__VA_ARGS__}, .class_count = sizeof((const dd_regimen_class[]){__VA_ARGS__}) / sizeof(dd_regimen_class)
#define CELLS(...) .cells = (const dd_regimen_cell[]){__VA_ARGS__}, .cell_count = sizeof((const dd_regimen_cell[]){__VA_ARGS__}) / sizeof(dd_regimen_cell)
#define BANDS(...) .bands = (const dd_regimen_band[]){__VA_ARGS__}, .band_count = sizeof((const dd_regimen_band[]){__VA_ARGS__}) / sizeof(dd_regimen_band)
#define EDITIONS(...) (const dd_regimen_edition[]){__VA_ARGS__}, sizeof((const dd_regimen_edition[]){__VA_ARGS__}) / sizeof(dd_regimen_edition)
#define REGIMEN(name, title, what, decides, needs, may, free, coefficient, purpose, ...) \
    {name, title, what, decides, needs, may, free, coefficient, purpose, __VA_ARGS__},

const dd_regimen dd_regimens[] = {
#include "regimen.def"
};
const size_t dd_regimen_count = sizeof dd_regimens / sizeof *dd_regimens;

static bool alike(const char *a, const char *b)
{
    for (;; a++, b++) {
        char x = *a >= 'A' && *a <= 'Z' ? (char)(*a + 32) : *a, y = *b >= 'A' && *b <= 'Z' ? (char)(*b + 32) : *b;
        if (x != y)
            return false;
        if (x == '\0')
            return true;
    }
}

const dd_regimen *dd_regimen_find(const char *name)
{
    for (size_t i = 0; i < dd_regimen_count; i++)
        if (alike(dd_regimens[i].name, name))
            return &dd_regimens[i];
    return NULL;
}

const dd_regimen_edition *dd_regimen_edition_find(const dd_regimen *regimen, const char *name)
{
    for (size_t i = 0; i < regimen->edition_count; i++)
        if (alike(regimen->editions[i].name, name))
            return &regimen->editions[i];
    return NULL;
}

/* ---- working out ---- */

/* One sum of factors, uL or uL/h; a failure sticks. */
typedef struct sum { dd_ratio value; bool failed; } sum;

static void times(sum *s, dd_int128 num, dd_int128 den)
{
    dd_ratio factor;
    s->failed = s->failed || dd_ratio_make(num, den, &factor) != DD_OK || dd_ratio_times(s->value, factor, &s->value) != DD_OK;
}

static void plus(sum *s, dd_ratio other)
{
    s->failed = s->failed || dd_ratio_plus(s->value, other, &s->value) != DD_OK;
}

static void minus(sum *s, dd_ratio other)
{
    s->failed = s->failed || dd_ratio_minus(s->value, other, &s->value) != DD_OK;
}

static sum begin(int64_t num, int64_t den)
{
    sum s = {{0, 1}, false};
    s.failed = dd_ratio_make(num, den, &s.value) != DD_OK;
    return s;
}

/* The formula's or the deficit's volume. */
static bool find_whole(const dd_regimen_inputs *in, dd_regimen_result *out)
{
    sum s = begin(in->weight_mg, 1000000); /* kg */
    if (in->lost_mg != DD_UNKNOWN) {
        s = begin(in->lost_mg, 1); /* 1 kg is 1 L, so 1 mg is 1 uL */
    } else if (in->percent.den != 0) {
        times(&s, in->percent.num, in->percent.den);
        times(&s, 10000, 1); /* 1 % of a kg is 10 mL */
    } else if (in->coefficient.den != 0) {
        times(&s, in->coefficient.num, in->coefficient.den);
        times(&s, in->area.num, in->area.den);
        times(&s, 1000, 1);
    } else {
        out->whole = (dd_ratio){0, 1};
        return true;
    }
    out->has_whole = true;
    out->whole = s.value;
    return !s.failed;
}

static bool find_maintenance(const dd_regimen_inputs *in, dd_regimen_result *out)
{
    const dd_regimen_edition *e = in->edition;
    int64_t mg = in->weight_mg;
    sum s = {{0, 1}, false};
    if (e != NULL && e->cap_mg > 0 && mg > e->cap_mg)
        mg = e->cap_mg;
    out->has_maintenance = true;
    switch (in->need) {
    case DD_REGIMEN_NONE:
        break;
    case DD_REGIMEN_RATE:
        s.value = in->rate;
        break;
    case DD_REGIMEN_HOURLY:
        s.failed = dd_need_hourly_421(mg, &s.value) != DD_OK;
        if (!s.failed && e != NULL && e->cap_ul_h > 0 && dd_ratio_compare(s.value, (dd_ratio){e->cap_ul_h, 1}) > 0)
            s = begin(e->cap_ul_h, 1);
        break;
    case DD_REGIMEN_EDITION:
        if (e->fixed_ul_h > 0) {
            s = begin(e->fixed_ul_h, 1);
            break;
        }
        if (e->bands != NULL) {
            size_t i = 0;
            while (i + 1 < e->band_count && mg >= e->bands[i].below_mg)
                i++;
            s = begin(mg, 1000000);
            times(&s, e->bands[i].ul_kg_day, 24);
            break;
        }
        /* fall through */
    case DD_REGIMEN_DAILY:
        s.failed = dd_need_maintenance(mg, &s.value) != DD_OK;
        times(&s, 1, 24);
        break;
    }
    out->maintenance = s.value;
    return !s.failed;
}

/* mL/h by the rule of tens: so much for each per cent, and 10 mL/h for each kg above 80. */
static sum rule_of_tens(const dd_regimen_inputs *in, const dd_regimen_stage *stage)
{
    sum s = begin(stage->num, stage->den), more = begin(in->weight_mg > RULE_OF_TENS_TO_MG ? in->weight_mg - RULE_OF_TENS_TO_MG : 0, 100);
    times(&s, in->area.num, in->area.den);
    times(&s, 1000, 1);
    plus(&s, more.value);
    return s;
}

static bool cell_of(const dd_regimen_inputs *in, int32_t *ml_h)
{
    for (size_t i = 0; i < in->edition->cell_count; i++)
        if (in->edition->cells[i].kg * INT64_C(1000000) == in->weight_mg) {
            *ml_h = in->edition->cells[i].ml_h;
            return true;
        }
    return false;
}

/* What a stage of so much per hour gives; without an end it has a rate alone. */
static void by_rate(dd_regimen_step *step, sum rate, bool *failed)
{
    step->rate = rate.value;
    if (!step->open)
        times(&rate, step->over_s, HOUR_S);
    step->own = step->open ? (dd_ratio){0, 1} : rate.value;
    *failed = *failed || rate.failed;
}

static dd_regimen_fault stage_amount(const dd_regimen_inputs *in, dd_regimen_result *out, dd_regimen_step *step, bool *failed)
{
    const dd_regimen_stage *stage = step->stage;
    sum s = begin(stage->num, stage->den);
    int32_t ml_h;
    switch (stage->of) {
    case DD_OF_ML_KG:
    case DD_OF_ML_KG_H:
        times(&s, in->weight_mg, 1000);
        break;
    case DD_OF_ML:
        times(&s, 1000, 1);
        break;
    case DD_OF_WHOLE:
        times(&s, out->whole.num, out->whole.den);
        break;
    case DD_OF_LEFT:
        times(&s, out->left.num, out->left.den);
        break;
    case DD_OF_TENS:
        s = rule_of_tens(in, stage);
        break;
    case DD_OF_TABLE:
        if (!cell_of(in, &ml_h))
            return DD_REGIMEN_NO_CELL;
        s = begin(ml_h * INT64_C(1000), 1);
        break;
    }
    if (stage->of == DD_OF_ML_KG_H || stage->of == DD_OF_TENS || stage->of == DD_OF_TABLE) {
        by_rate(step, s, failed);
        return DD_REGIMEN_FINE;
    }
    step->own = step->formula = s.value;
    *failed = *failed || s.failed;
    return DD_REGIMEN_FINE;
}

/* Volume and rate from the stage's own amount, maintenance included where it runs. */
static bool close_step(const dd_regimen_result *out, dd_regimen_step *step)
{
    if (step->open)
        return dd_ratio_compare(step->rate, (dd_ratio){DD_RATE_MOST_UL_H, 1}) <= 0;
    sum m = {step->with_maintenance ? out->maintenance : (dd_ratio){0, 1}, false}, v = {step->own, false};
    times(&m, step->over_s, HOUR_S);
    step->maintenance = m.value;
    plus(&v, m.value);
    step->volume = v.value;
    times(&v, HOUR_S, step->over_s);
    step->rate = v.value;
    return !m.failed && !v.failed && dd_ratio_compare(step->volume, (dd_ratio){DD_VOLUME_MOST_UL, 1}) <= 0 &&
        dd_ratio_compare(step->rate, (dd_ratio){DD_RATE_MOST_UL_H, 1}) <= 0;
}

static void lay_out(const dd_regimen_inputs *in, dd_regimen_result *out)
{
    const dd_regimen_stage *stages = in->part_count > 0 ? out->parts : in->class_->stages;
    size_t count = in->part_count > 0 ? in->part_count : in->class_->stage_count;
    for (size_t i = 0; i < in->part_count; i++)
        out->parts[i] = (dd_regimen_stage){1, (int32_t)in->part_count, DD_OF_LEFT, 0, DD_ROUTE_VEIN, false, ""};
    for (size_t i = 0; i < count; i++)
        for (int32_t again = 0; again <= (i == 0 ? in->repeat : 0) && out->count < DD_REGIMEN_STAGES_MOST; again++)
            out->steps[out->count++] = (dd_regimen_step){.stage = &stages[i], .again = again > 0, .open = stages[i].minutes == 0 && in->part_count == 0,
                .with_maintenance = in->regimen->needs & DD_REG_MAINTENANCE ? true : stages[i].of == DD_OF_LEFT && in->need != DD_REGIMEN_NONE,
                .over_s = in->part_count > 0 ? in->parts_s[i] : stages[i].minutes * INT64_C(60), .own = {0, 1}, .formula = {0, 1},
                .maintenance = {0, 1}, .volume = {0, 1}, .rate = {0, 1}};
}

/* What is left of a deficit: less what was given and what the stages before subtract. */
static dd_regimen_fault find_left(const dd_regimen_inputs *in, dd_regimen_result *out, bool *failed)
{
    sum left = {out->whole, false};
    if (in->given.den != 0)
        minus(&left, in->given);
    for (size_t i = 0; i < out->count; i++)
        if (out->steps[i].stage->subtracts) {
            sum s = begin(out->steps[i].stage->num, out->steps[i].stage->den);
            times(&s, in->weight_mg, 1000);
            minus(&left, s.value);
            left.failed = left.failed || s.failed;
        }
    *failed = *failed || left.failed;
    out->left = left.value;
    return !left.failed && left.value.num < 0 ? DD_REGIMEN_MORE : DD_REGIMEN_FINE;
}

/* A burn: the clock runs from the burn, and what was given comes off the first stage. */
static dd_regimen_fault shorten_first(const dd_regimen_inputs *in, dd_regimen_step *first, bool *failed)
{
    if (in->since_s >= first->over_s)
        return DD_REGIMEN_OVER;
    first->over_s -= in->since_s;
    if (in->given.den == 0)
        return DD_REGIMEN_FINE;
    sum s = {first->own, false};
    minus(&s, in->given);
    *failed = *failed || s.failed;
    first->own = s.value;
    return s.value.num < 0 ? DD_REGIMEN_MORE : DD_REGIMEN_FINE;
}

dd_regimen_fault dd_regimen_work_out(const dd_regimen_inputs *in, dd_regimen_result *out)
{
    *out = (dd_regimen_result){.whole = {0, 1}, .left = {0, 1}, .maintenance = {0, 1}, .total = {0, 1}, .all_end = true};
    bool failed = !find_whole(in, out);
    if (in->regimen->needs & DD_REG_MAINTENANCE || in->need != DD_REGIMEN_NONE)
        failed = !find_maintenance(in, out) || failed;
    lay_out(in, out);
    bool burn = out->count > 0 && out->steps[0].stage->of == DD_OF_WHOLE;
    dd_regimen_fault fault = burn ? DD_REGIMEN_FINE : find_left(in, out, &failed);
    if (failed || fault != DD_REGIMEN_FINE)
        return failed ? DD_REGIMEN_TOO_LARGE : fault;
    sum total = {{0, 1}, false};
    for (size_t i = 0; i < out->count; i++) {
        dd_regimen_step *step = &out->steps[i];
        fault = stage_amount(in, out, step, &failed);
        if (fault == DD_REGIMEN_FINE && burn && i == 0)
            fault = shorten_first(in, step, &failed);
        if (fault != DD_REGIMEN_FINE)
            return failed ? DD_REGIMEN_TOO_LARGE : fault;
        if (failed || !close_step(out, step))
            return DD_REGIMEN_TOO_LARGE;
        step->from_s = out->total_s;
        out->total_s += step->over_s;
        out->all_end = out->all_end && !step->open;
        plus(&total, step->volume);
    }
    out->total = total.value;
    return total.failed ? DD_REGIMEN_TOO_LARGE : DD_REGIMEN_FINE;
}
