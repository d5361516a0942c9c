/* explain_day.c - a day's amounts beside what is needed: volumes, salts, glucose; and the most of it that runs at once. */
#include "explain.h"

#include "beside.h"
#include "phrase.h"
#include "sums.h"

#define TEXT_CEILING ((size_t)1 << 16)
#define DAY_S INT64_C(86400)
#define ML 1000                              /* uL in one */
#define MMOL ((dd_int128)3600 * 1000000000000) /* u x nmol/L in 1 mmol; u x ug/L in 1 g */

/* What the steps share. */
typedef struct day {
    dd_explain *e;
    dd_arena *arena;
    dd_sums s;               /* as the page has them */
    dd_sums_counts *counts;  /* which flows are meant */
    dd_bytes what, value;
} day;

static bool is_any(const dd_patient *p, const dd_flow *f)
{
    (void)p;
    (void)f;
    return true;
}

static bool is_for_maintenance(const dd_patient *p, const dd_flow *f)
{
    return p->orders[f->order].purpose == DD_FOR_MAINTENANCE && f->part == DD_PART_BAG;
}

static void add_fraction(dd_bytes *out, dd_ratio value, int decimals)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_ratio(number, value, decimals, DD_STYLE_PERSON));
}

static void step_fraction(day *d, const char *what, dd_ratio value, int decimals, const char *unit, const char *origin)
{
    add_fraction(dd_phrase_start(&d->value), value, decimals);
    dd_bytes_form(&d->value, " %s", unit);
    dd_explain_step(d->e, what, dd_phrase_text(&d->value), origin);
}

static const char *weight_row(dd_explain *e)
{
    return dd_explain_row(e, "patients.csv", e->p->line_of_file);
}

/* ---- what each order brings ---- */

/* u of an order's bags or flushes over the plan that count, piece by piece or second by second. */
static int64_t part_of(const day *d, int order, int part, bool seconds)
{
    const dd_timeline *t = d->e->t;
    int64_t sum = 0;
    for (size_t i = 0; i < t->piece_count; i++) {
        const dd_flow *f = &t->pieces[i];
        if (f->order == order && f->part == part && d->counts(t->patient, f))
            sum += seconds ? dd_explain_piece(f, f->from, f->to) : f->given.u;
    }
    return sum;
}

static const dd_flow *flow_of(const day *d, int order, int part)
{
    for (size_t i = 0; i < d->e->t->piece_count; i++)
        if (d->e->t->pieces[i].order == order && d->e->t->pieces[i].part == part)
            return &d->e->t->pieces[i];
    return NULL;
}

static void start_part(day *d, int order, int part)
{
    dd_phrase_start(&d->what);
    dd_bytes_text(&d->what, d->e->p->orders[order].key);
    dd_bytes_text(&d->what, part == DD_PART_FLUSH ? ", flushes" : "");
}

/* The sums of what each order gives, in u: by the steps, and second by second. */
typedef struct two_ways { dd_int128 steps, seconds; bool unknown; } two_ways;

static two_ways volume_steps(day *d)
{
    two_ways sum = {0};
    for (int o = 0; o < d->e->p->order_count; o++)
        for (int part = DD_PART_BAG; part <= DD_PART_FLUSH; part++) {
            int64_t u = part_of(d, o, part, false);
            sum.seconds += part_of(d, o, part, true);
            if (u == 0)
                continue;
            start_part(d, o, part);
            dd_explain_exact(dd_phrase_start(&d->value), u);
            dd_explain_step(d->e, dd_phrase_text(&d->what), dd_phrase_text(&d->value), dd_explain_order_row(d->e, o));
            sum.steps += u;
        }
    return sum;
}

/* `main: 1,776 mL x 77 mmol/L` */
static two_ways content_steps(day *d, dd_content content)
{
    const char *unit = content == DD_GLUCOSE ? "g" : "mmol";
    two_ways sum = {0};
    for (int o = 0; o < d->e->p->order_count; o++)
        for (int part = DD_PART_BAG; part <= DD_PART_FLUSH; part++) {
            int64_t u = part_of(d, o, part, false);
            if (u == 0)
                continue;
            int64_t holds = dd_sums_content(dd_sums_holds(d->e->t->plan, d->e->p, flow_of(d, o, part)), content);
            start_part(d, o, part);
            dd_bytes_text(&d->what, ": ");
            dd_explain_exact(&d->what, u);
            if (holds == DD_UNKNOWN) {
                dd_bytes_text(&d->what, ", what is in it is not known");
                dd_explain_step(d->e, dd_phrase_text(&d->what), "?", dd_explain_order_row(d->e, o));
                sum.unknown = true;
                continue;
            }
            dd_bytes_text(&d->what, " x ");
            add_fraction(&d->what, (dd_ratio){holds, 1000000}, 3);
            dd_bytes_form(&d->what, " %s/L", unit);
            step_fraction(d, dd_phrase_text(&d->what), (dd_ratio){(dd_int128)u * holds, MMOL}, 3, unit, dd_explain_order_row(d->e, o));
            sum.steps += (dd_int128)u * holds;
            sum.seconds += (dd_int128)part_of(d, o, part, true) * holds;
        }
    return sum;
}

/* `x 24 h / 12 h`, where the plan is longer or shorter than a day. */
static dd_ratio day_step(day *d, dd_ratio sum, int decimals, const char *unit)
{
    int64_t span = d->s.to - d->s.from;
    dd_ratio by_day = sum;
    if (span == DAY_S || dd_ratio_times(sum, (dd_ratio){DAY_S, span}, &by_day) != DD_OK)
        return sum;
    dd_bytes_text(dd_phrase_start(&d->what), "a day: x 24 h / ");
    dd_explain_duration(&d->what, span);
    step_fraction(d, dd_phrase_text(&d->what), by_day, decimals, unit, NULL);
    return by_day;
}

static void kg_step(day *d, dd_ratio by_day, int decimals, const char *unit)
{
    dd_ratio kg;
    if (d->e->p->weight_mg == DD_UNKNOWN || dd_ratio_times(by_day, (dd_ratio){1000000, d->e->p->weight_mg}, &kg) != DD_OK)
        return;
    dd_bytes_text(dd_phrase_start(&d->what), "by the weight, ");
    dd_phrase_weight(&d->what, d->e->p);
    step_fraction(d, dd_phrase_text(&d->what), kg, decimals, unit, weight_row(d->e));
}

static void percent_step(day *d, dd_ratio percent)
{
    if (percent.den == 0)
        return;
    dd_bytes_text(dd_phrase_start(&d->what), "of the need (explain need), ");
    dd_beside_figure(&d->what, d->s.need.low, ML, 3, false);
    dd_bytes_text(&d->what, " mL");
    step_fraction(d, dd_phrase_text(&d->what), percent, 2, "%", NULL);
}

/* The second way, and whether both come to what the page has. */
static void finish(day *d, two_ways sum, dd_ratio page, dd_int128 scale, int decimals, const char *unit)
{
    dd_ratio steps, again;
    int64_t span = d->s.to - d->s.from;
    bool fits = dd_ratio_make(sum.steps, scale, &steps) == DD_OK && dd_ratio_times(steps, (dd_ratio){DAY_S, span}, &steps) == DD_OK;
    fits = fits && dd_ratio_make(sum.seconds, scale, &again) == DD_OK && dd_ratio_times(again, (dd_ratio){DAY_S, span}, &again) == DD_OK;
    dd_sheet_rule(d->e->sheet);
    dd_explain_note(d->e, "rounding", "the exact parts are added, then each figure is rounded once, half up");
    if (sum.unknown)
        dd_explain_note(d->e, "?", "not all is known: at least so much");
    add_fraction(dd_phrase_start(&d->value), fits ? again : (dd_ratio){0, 1}, decimals);
    dd_bytes_form(&d->value, " %s a day", unit);
    dd_explain_second(d->e, "all flows second by second", dd_phrase_text(&d->value),
                      fits && dd_ratio_compare(steps, page) == 0 && dd_ratio_compare(again, page) == 0);
}

/* ---- volumes ---- */

static void explain_volume(day *d, const char *name, dd_ratio by_day, dd_ratio kg, dd_ratio percent)
{
    dd_beside_figure(dd_phrase_start(&d->value), by_day, ML, 0, false);
    dd_bytes_text(&d->value, " mL");
    if (kg.den != 0) {
        dd_bytes_text(&d->value, ", ");
        dd_beside_figure(&d->value, kg, ML, 1, false);
        dd_bytes_text(&d->value, " mL by kg");
    }
    if (percent.den != 0) {
        dd_bytes_text(&d->value, ", ");
        dd_beside_figure(&d->value, percent, 1, 0, false);
        dd_bytes_text(&d->value, " % of the need");
    }
    dd_explain_title(d->e, name, dd_phrase_text(&d->value));
    two_ways sum = volume_steps(d);
    dd_ratio ml = {sum.steps, (dd_int128)DD_U_PER_UL * ML};
    step_fraction(d, "in all", ml, 3, "mL", NULL);
    ml = day_step(d, ml, 3, "mL");
    if (kg.den != 0)
        kg_step(d, ml, 3, "mL");
    percent_step(d, percent);
    dd_ratio page;
    if (dd_ratio_over(by_day, (dd_ratio){ML, 1}, &page) == DD_OK)
        finish(d, sum, page, (dd_int128)DD_U_PER_UL * ML, 3, "mL");
}

/* ---- what is in it ---- */

static void explain_content(day *d, dd_content content, const char *name)
{
    bool of_day = d->counts == dd_sums_of_day, glucose = content == DD_GLUCOSE;
    const char *unit = glucose ? "g" : "mmol";
    dd_ratio by_day = of_day ? d->s.day_content_day[content] : d->s.content_day[content];
    dd_ratio kg = of_day ? d->s.day_content_kg_day[content] : d->s.content_kg_day[content];
    bool unknown = of_day ? d->s.day_unknown[content] : d->s.unknown[content];
    dd_beside_figure(dd_phrase_start(&d->value), by_day, 1, 0, unknown);
    dd_bytes_form(&d->value, " %s", unit);
    if (kg.den != 0) {
        dd_bytes_text(&d->value, ", ");
        dd_beside_figure(&d->value, kg, 1, 2, unknown);
        dd_bytes_form(&d->value, " %s by kg", unit);
    }
    dd_phrase_start(&d->what);
    dd_bytes_form(&d->what, "%s in a day%s", name, of_day ? ", without what replaces losses or is for resuscitation" : " by vein");
    dd_explain_title(d->e, dd_phrase_text(&d->what), dd_phrase_text(&d->value));
    two_ways sum = content_steps(d, content);
    dd_ratio all = {sum.steps, MMOL};
    step_fraction(d, sum.unknown ? "in all, as far as it is known" : "in all", all, 3, unit, NULL);
    kg_step(d, day_step(d, all, 3, unit), 3, unit);
    finish(d, sum, by_day, MMOL, 3, unit);
}

/* ---- the worst second ---- */

/* Of one moment: fmol/h, pg/h. */
static dd_int128 running_at(day *d, dd_moment at, dd_content content, bool steps)
{
    const dd_timeline *t = d->e->t;
    dd_int128 sum = 0;
    for (size_t i = 0; i < t->piece_count; i++) {
        const dd_flow *f = &t->pieces[i];
        if (f->from > at || f->to <= at || !dd_sums_by_vein(t->patient, f))
            continue;
        int64_t holds = dd_sums_content(dd_sums_holds(t->plan, t->patient, f), content);
        if (holds == DD_UNKNOWN || holds == 0)
            continue;
        sum += (dd_int128)f->rate.ul_per_h * holds;
        if (!steps)
            continue;
        start_part(d, f->order, f->part);
        dd_bytes_text(&d->what, ": ");
        dd_phrase_rate(&d->what, f->rate);
        dd_bytes_text(&d->what, " x ");
        add_fraction(&d->what, (dd_ratio){holds, 1000000}, 3);
        dd_bytes_text(&d->what, content == DD_GLUCOSE ? " g/L" : " mmol/L");
        step_fraction(d, dd_phrase_text(&d->what), (dd_ratio){(dd_int128)f->rate.ul_per_h * holds, INT64_C(1000000000000)}, 4,
                      content == DD_GLUCOSE ? "g/h" : "mmol/h", dd_explain_order_row(d->e, f->order));
    }
    return sum;
}

/* The first stretch in which so much runs. */
static dd_interval worst(const day *d, dd_int128 most, dd_content content)
{
    const dd_timeline *t = d->e->t;
    const dd_sums_flows flows = {t->plan, t->patient, t->pieces, t->piece_count};
    const dd_stretch *list;
    size_t count;
    if (dd_sums_stretches(&flows, d->s.from, d->s.to, d->arena, &list, &count) != DD_OK)
        count = 0;
    for (size_t i = 0; i < count; i++) {
        if ((content == DD_POTASSIUM ? list[i].potassium : list[i].glucose) != most)
            continue;
        size_t last = i;
        while (last + 1 < count && (content == DD_POTASSIUM ? list[last + 1].potassium : list[last + 1].glucose) == most)
            last++;
        return (dd_interval){list[i].from, list[last].to};
    }
    return (dd_interval){d->s.from, d->s.from};
}

static void explain_peak(day *d, dd_content content)
{
    bool glucose = content == DD_GLUCOSE, unknown = d->s.unknown[content];
    dd_int128 most = glucose ? d->s.glucose_most : d->s.potassium_most, again = 0;
    dd_ratio kg = glucose ? d->s.glucose_most_kg_min : d->s.potassium_most_kg_h;
    const dd_timeline *t = d->e->t;
    dd_interval when = worst(d, most, content);
    dd_phrase_start(&d->what);
    dd_bytes_form(&d->what, "%s, the most that runs by vein at once, ", glucose ? "glucose" : "potassium");
    if (most > 0)
        dd_explain_span(&d->what, d->e, when.from, when.to);
    dd_phrase_start(&d->value);
    if (!glucose) {
        dd_beside_figure(&d->value, d->s.potassium_most_h, 1, 2, unknown);
        dd_bytes_text(&d->value, kg.den != 0 ? " mmol/h, " : " mmol/h");
    }
    if (kg.den != 0) {
        dd_beside_figure(&d->value, kg, 1, glucose ? 2 : 3, unknown);
        dd_bytes_text(&d->value, glucose ? " mg by kg and minute" : " mmol/h by kg");
    }
    dd_explain_title(d->e, dd_phrase_text(&d->what), dd_phrase_text(&d->value));
    dd_int128 sum = most > 0 ? running_at(d, when.from, content, true) : 0;
    dd_ratio all = {sum, INT64_C(1000000000000)};
    step_fraction(d, "in all", all, 4, glucose ? "g/h" : "mmol/h", NULL);
    if (glucose && dd_ratio_times(all, (dd_ratio){1000, 60}, &all) == DD_OK)
        step_fraction(d, "x 1,000 mg / 60 min", all, 3, "mg/min", NULL);
    kg_step(d, all, 4, glucose ? "mg/kg/min" : "mmol/kg/h");
    for (size_t i = 0; i < t->piece_count; i++) { /* it can only rise where something begins */
        dd_int128 here = running_at(d, t->pieces[i].from, content, false);
        again = here > again ? here : again;
    }
    dd_sheet_rule(d->e->sheet);
    add_fraction(dd_phrase_start(&d->value), (dd_ratio){again, INT64_C(1000000000000)}, 4);
    dd_bytes_text(&d->value, glucose ? " g/h" : " mmol/h");
    dd_explain_second(d->e, "what runs whenever anything begins, the most of these", dd_phrase_text(&d->value), sum == most && again == most);
}

/* ---- the frame ---- */

static void choose(day *d, dd_figure_kind kind)
{
    bool adult = d->e->p->class_at_begin == DD_CLASS_ADULT;
    d->counts = is_any;
    if (kind == DD_FIGURE_ORDERED) {
        explain_volume(d, "all that is ordered, a day", d->s.all_ul_day, d->s.all_ul_kg_day, d->s.all_percent);
    } else if (kind == DD_FIGURE_FLUID) {
        d->counts = dd_sums_of_day;
        explain_volume(d, "fluid for the day, without what replaces losses or is for resuscitation", d->s.day_ul_day, d->s.day_ul_kg_day, (dd_ratio){0});
    } else if (kind == DD_FIGURE_MAINTENANCE) {
        d->counts = is_for_maintenance;
        explain_volume(d, "what is for maintenance, a day", d->s.maintenance_ul_day, (dd_ratio){0}, d->s.maintenance_percent);
    } else if (kind == DD_FIGURE_POTASSIUM_PEAK || kind == DD_FIGURE_GLUCOSE_PEAK) {
        explain_peak(d, kind == DD_FIGURE_GLUCOSE_PEAK ? DD_GLUCOSE : DD_POTASSIUM);
    } else {
        static const char *const names[DD_CONTENTS] = {[DD_SODIUM] = "sodium", [DD_POTASSIUM] = "potassium", [DD_CHLORIDE] = "chloride", [DD_GLUCOSE] = "glucose"};
        dd_content content = kind == DD_FIGURE_SODIUM ? DD_SODIUM : kind == DD_FIGURE_POTASSIUM ? DD_POTASSIUM : kind == DD_FIGURE_CHLORIDE ? DD_CHLORIDE : DD_GLUCOSE;
        d->counts = adult && content != DD_GLUCOSE ? dd_sums_of_day : dd_sums_by_vein; /* as the page has it */
        explain_content(d, content, names[content]);
    }
}

void dd_explain_day(dd_explain *e)
{
    day d = {.e = e, .arena = dd_arena_new(), .what = DD_BYTES(TEXT_CEILING), .value = DD_BYTES(TEXT_CEILING)};
    dd_status status = d.arena ? dd_timeline_sums(e->t, e->t->plan->begins, e->t->plan->end, d.arena, &d.s) : DD_NO_MEMORY;
    if (status == DD_OK)
        choose(&d, e->figure->kind);
    e->text->failed = e->text->failed || status != DD_OK || d.what.failed || d.value.failed;
    dd_bytes_free(&d.what);
    dd_bytes_free(&d.value);
    dd_arena_free(d.arena);
}
