#include "working.h"

#include <string.h>

#include "daydrip/moment.h"

#define WIDTH 72
#define LABEL 12
#define KEEP '\x1f'
#define LINE_MOST 2000

/* The rule settable-difference, its built-in value: per cent of the ordered rate. */
#define DIFFERENCE_PERCENT 5

void dd_working_line(dd_bytes *out, const char *label, const char *words)
{
    size_t column = strlen(label);
    dd_bytes_text(out, label);
    bool first = true;
    while (*words != '\0') {
        size_t length = strcspn(words, " ");
        if (!first && column + 1 + length > WIDTH) {
            dd_bytes_char(out, '\n');
            column = 0;
            first = true;
        }
        if (first) {
            dd_bytes_repeat(out, ' ', column < LABEL ? LABEL - column : 1);
            column = column < LABEL ? LABEL : column + 1;
        } else {
            dd_bytes_char(out, ' ');
            column++;
        }
        for (size_t i = 0; i < length; i++)
            dd_bytes_char(out, words[i] == KEEP ? ' ' : words[i]);
        column += length;
        first = false;
        words += length;
        words += strspn(words, " ");
    }
    dd_bytes_char(out, '\n');
}

void dd_working_end(dd_bytes *out, const char *label, dd_bytes *words)
{
    dd_working_line(out, label, words->length > 0 ? words->data : "");
    out->failed = out->failed || words->failed;
    dd_bytes_clear(words);
}

void dd_working_keep(dd_bytes *words, const char *text)
{
    for (; *text != '\0'; text++)
        dd_bytes_char(words, *text == ' ' ? KEEP : *text);
}

void dd_working_number(dd_bytes *words, dd_ratio value, const char *unit)
{
    char text[DD_NUMBER_MAX];
    dd_number_ratio(text, value, 3, DD_STYLE_PERSON);
    if (1000 % value.den != 0)
        dd_bytes_text(words, "about ");
    dd_bytes_text(words, text);
    if (*unit != '\0') {
        dd_bytes_char(words, KEEP);
        dd_working_keep(words, unit);
    }
}

void dd_working_quantity(dd_bytes *words, dd_quantity q)
{
    char text[160];
    dd_number_quantity(text, sizeof text, q);
    dd_working_keep(words, text);
}

/* A figure counted in thousandths or in other units of what is printed. */
void dd_working_scaled(dd_bytes *words, dd_ratio value, int64_t by, const char *unit)
{
    dd_ratio scaled;
    if (dd_ratio_over(value, (dd_ratio){by, 1}, &scaled) == DD_OK)
        dd_working_number(words, scaled, unit);
    else
        dd_bytes_char(words, '?');
}

static void add_volume(dd_bytes *words, dd_ratio ul)
{
    dd_working_scaled(words, ul, 1000, "mL");
}

static void add_rate(dd_bytes *words, dd_ratio ul_per_h)
{
    dd_working_scaled(words, ul_per_h, 1000, "mL/h");
}

static void add_set(dd_bytes *words, dd_rate rate)
{
    add_rate(words, (dd_ratio){rate.ul_per_h, 1});
}

static void add_kg(dd_bytes *words, const dd_worked *k)
{
    dd_working_number(words, k->weight.exact, "kg");
}

/* `8 h`, or `about 131.579 min (2 h 12 min)` */
void dd_working_span(dd_bytes *words, dd_ratio seconds)
{
    char text[DD_MOMENT_MAX];
    int64_t near;
    if (dd_ratio_half_up(seconds, 1, &near) != DD_OK) {
        dd_bytes_char(words, '?');
        return;
    }
    dd_moment_span(text, near);
    bool exact = seconds.den == 1 && (near % 60 == 0 || near < 600);
    if (!exact) {
        dd_working_scaled(words, seconds, 60, "min");
        dd_bytes_text(words, " (");
    }
    dd_working_keep(words, text);
    if (!exact)
        dd_bytes_char(words, ')');
}

static void add_unit(dd_bytes *words, dd_ratio value, uint8_t unit, bool per_kg, const char *per)
{
    char text[64];
    size_t length = 0;
    const char *parts[] = {dd_quantity_unit(unit), per_kg ? "/kg" : "", *per != '\0' ? "/" : "", per};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        memcpy(text + length, parts[i], strlen(parts[i]));
        length += strlen(parts[i]);
    }
    text[length] = '\0';
    dd_working_number(words, value, text);
}

/* `14:00`, or `Mon 2 Mar 14:00` */
static void add_time(dd_bytes *words, dd_worked_time time)
{
    static const dd_zone_span span = {0, 0};
    static const dd_zone local = {.name = "UTC", .spans = &span, .count = 1};
    char text[DD_MOMENT_MAX];
    dd_moment_write(text, &local, time.seconds, !time.has_date ? DD_MOMENT_CLOCK : time.seconds % 60 == 0 ? DD_MOMENT_DATE_CLOCK : DD_MOMENT_SECONDS);
    dd_working_keep(words, text);
}

typedef struct page {
    const dd_worked_inputs *in;
    const dd_worked *k;
    dd_bytes words, *out;
} page;

static void end_line(page *p, const char *label)
{
    dd_working_end(p->out, label, &p->words);
}

/* ---- how the rate was reached ---- */

static void volume_line(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (k->volume_by == DD_WORKED_BY_VOLUME && p->in->volume.per_kg) {
        dd_working_quantity(w, p->in->volume);
        dd_bytes_text(w, " x ");
        add_kg(w, k);
        dd_bytes_text(w, " =\x1f");
        add_volume(w, k->volume.exact);
        end_line(p, "volume");
    }
}

static void strength_line(page *p)
{
    if (!p->k->strength.has)
        return;
    dd_bytes *w = &p->words;
    dd_working_quantity(w, p->in->strength);
    if (p->in->strength.per != DD_UNIT_ML || p->in->strength.per_micro != 1000000) {
        dd_bytes_text(w, " =\x1f");
        add_unit(w, p->k->strength.exact, p->in->strength.unit, false, "mL");
    }
    end_line(p, "strength");
}

static void rate_by_dose(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    dd_working_quantity(w, p->in->dose);
    if (p->in->dose.per_kg) {
        dd_bytes_text(w, " x ");
        add_kg(w, k);
    }
    if (p->in->dose.per_kg || p->in->dose.unit != p->in->strength.unit || p->in->dose.per != DD_UNIT_H) {
        dd_bytes_text(w, " =\x1f");
        add_unit(w, k->dose_hourly.exact, p->in->strength.unit, false, "h");
    }
    end_line(p, "dose");
    add_unit(w, k->dose_hourly.exact, p->in->strength.unit, false, "h");
    dd_bytes_text(w, " / ");
    add_unit(w, k->strength.exact, p->in->strength.unit, false, "mL");
}

static void rate_as_written(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    dd_dimension dimension = dd_quantity_dimension(p->in->rate.unit);
    dd_working_quantity(w, p->in->rate);
    if (dimension == DD_DIM_PERCENT) {
        dd_bytes_text(w, " of the maintenance need of ");
        dd_working_scaled(w, k->maintenance.exact, 1000, "mL/day");
        dd_bytes_text(w, " / ");
        dd_working_keep(w, "24 h");
    } else if (dimension == DD_DIM_DROPS) {
        dd_bytes_text(w, " x ");
        dd_working_keep(w, "60 min");
        dd_bytes_text(w, " / ");
        dd_working_scaled(w, (dd_ratio){p->in->drop_factor_micro, 1}, 1000000, "drops/mL");
    } else if (p->in->rate.per_kg) {
        dd_bytes_text(w, " x ");
        add_kg(w, k);
    }
}

static void rate_line(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (!k->rate.has)
        return;
    switch (k->rate_by) {
    case DD_WORKED_BY_VOLUME:
        add_volume(w, k->volume.exact);
        dd_bytes_text(w, " over ");
        dd_working_quantity(w, p->in->over);
        break;
    case DD_WORKED_BY_LEFT:
        add_volume(w, k->left.exact);
        dd_bytes_text(w, " that are left, over ");
        dd_working_quantity(w, p->in->over);
        break;
    case DD_WORKED_BY_DOSE:
        rate_by_dose(p);
        break;
    case DD_WORKED_BY_RATE:
    case DD_WORKED_BY_TIME:
    case DD_WORKED_NO_WAY:
        rate_as_written(p);
        if (p->in->rate.unit == DD_UNIT_ML && p->in->rate.per == DD_UNIT_H && !p->in->rate.per_kg) {
            dd_bytes_text(w, ", as written");
            end_line(p, "rate");
            return;
        }
        break;
    }
    dd_bytes_text(w, " =\x1f");
    add_rate(w, k->rate.exact);
    end_line(p, "rate");
}

/* What the device is set to, and whether that is near enough. */
static void set_lines(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (!k->rate.has || k->rate.exact.num == 0)
        return;
    if (k->drops_exact.has) {
        add_rate(w, k->rate.exact);
        dd_bytes_text(w, " x ");
        dd_working_scaled(w, (dd_ratio){p->in->drop_factor_micro, 1}, 1000000, "drops/mL");
        dd_bytes_text(w, " / ");
        dd_working_keep(w, "60 min");
        dd_bytes_text(w, " =\x1f");
        dd_working_number(w, k->drops_exact.exact, "drops/min");
        end_line(p, "drops");
        dd_working_number(w, (dd_ratio){k->drops, 1}, "drops/min");
        dd_bytes_text(w, ", the nearest whole number; they give ");
        add_set(w, k->set);
    } else {
        add_set(w, k->set);
        dd_bytes_text(w, " on a pump, in steps of ");
        add_rate(w, (dd_ratio){p->in->step_ul_h, 1});
    }
    end_line(p, "set");
    dd_ratio apart, limit;
    if (dd_ratio_minus((dd_ratio){k->set.ul_per_h, 1}, k->rate.exact, &apart) != DD_OK || dd_ratio_over(apart, k->rate.exact, &apart) != DD_OK ||
        dd_ratio_times(apart, (dd_ratio){100, 1}, &apart) != DD_OK)
        return;
    bool more = apart.num > 0;
    apart.num = more ? apart.num : -apart.num;
    limit = (dd_ratio){DIFFERENCE_PERCENT, 1};
    if (dd_ratio_compare(apart, limit) <= 0)
        return;
    dd_bytes_text(w, "the set rate is ");
    dd_working_number(w, apart, "%");
    dd_bytes_text(w, more ? " above the rate worked out;" : " below the rate worked out;");
    dd_bytes_text(w, " a finer set, another device or another strength would come nearer");
    end_line(p, "CLARIFY");
}

/* ---- how long, until when, how much ---- */

static void volume_at_rate(page *p, const char *label, dd_ratio volume, dd_ratio span)
{
    add_volume(&p->words, volume);
    dd_bytes_text(&p->words, " at ");
    add_rate(&p->words, p->k->rate.exact);
    dd_bytes_text(&p->words, " =\x1f");
    dd_working_span(&p->words, span);
    end_line(p, label);
}

static void over_line(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (k->volume_by != DD_WORKED_BY_RATE)
        return;
    add_rate(w, k->rate.exact);
    dd_bytes_text(w, " over ");
    dd_working_quantity(w, p->in->over);
    dd_bytes_text(w, " =\x1f");
    add_volume(w, k->volume.exact);
    end_line(p, "volume");
}

static void given_lines(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (k->volume_by == DD_WORKED_BY_LEFT) {
        add_volume(w, k->given.exact);
        dd_bytes_text(w, " given and ");
        add_volume(w, k->left.exact);
        dd_bytes_text(w, " left =\x1f");
        add_volume(w, k->volume.exact);
        end_line(p, "volume");
        return;
    }
    if (k->given_by == DD_WORKED_BY_TIME) {
        add_time(w, p->in->start);
        dd_bytes_text(w, " to ");
        add_time(w, p->in->at);
        dd_bytes_text(w, " is ");
        dd_working_span(w, k->elapsed.exact);
        dd_bytes_text(w, "; at ");
        add_rate(w, k->rate.exact);
        dd_bytes_text(w, " =\x1f");
        add_volume(w, k->given.exact);
        if (k->volume.has && dd_ratio_compare(k->given.exact, k->volume.exact) == 0)
            dd_bytes_text(w, ", all of it");
        end_line(p, "given");
    } else if (k->given_by == DD_WORKED_BY_LEFT) {
        add_volume(w, k->volume.exact);
        dd_bytes_text(w, " less ");
        add_volume(w, k->left.exact);
        dd_bytes_text(w, " =\x1f");
        add_volume(w, k->given.exact);
        end_line(p, "given");
    }
    if (k->left.has && k->volume.has && k->given_by != DD_WORKED_BY_LEFT) {
        add_volume(w, k->volume.exact);
        dd_bytes_text(w, " less ");
        add_volume(w, k->given.exact);
        dd_bytes_text(w, " =\x1f");
        add_volume(w, k->left.exact);
        end_line(p, "left");
    }
}

static void end_lines(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (k->duration.has && k->rate_by != DD_WORKED_BY_VOLUME && k->volume_by != DD_WORKED_BY_RATE)
        volume_at_rate(p, "lasts", k->volume.exact, k->duration.exact);
    given_lines(p);
    if (k->left_for.has && k->rate_by != DD_WORKED_BY_LEFT)
        volume_at_rate(p, "left for", k->left.exact, k->left_for.exact);
    if (!k->ends.has)
        return;
    bool from_left = p->in->given.unit != DD_UNIT_NONE || p->in->left.unit != DD_UNIT_NONE;
    add_time(w, from_left && p->in->at.has ? p->in->at : p->in->start);
    dd_bytes_text(w, " and ");
    dd_working_span(w, from_left ? k->left_for.exact : k->duration.exact);
    dd_bytes_text(w, " =\x1f");
    add_time(w, k->ends);
    if (!k->ends.has_date && k->day_offset == 1)
        dd_bytes_text(w, " on the next day");
    else if (!k->ends.has_date && k->day_offset > 1)
        dd_bytes_form(w, " %d days later", (int)k->day_offset);
    end_line(p, "ends");
}

/* What the settable rate makes of it, where that is not the rate worked out. */
static void as_set_lines(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    const dd_ratio set = {k->set.ul_per_h, 1};
    dd_ratio seconds, dose;
    if (!k->rate.has || k->rate.exact.num == 0 || dd_ratio_compare(set, k->rate.exact) == 0)
        return;
    const dd_worked_figure *rest = k->left_for.has ? &k->left_for : &k->duration;
    if (rest->has && dd_ratio_times(rest->exact, k->rate.exact, &seconds) == DD_OK && dd_ratio_over(seconds, set, &seconds) == DD_OK) {
        dd_bytes_text(w, "at ");
        add_set(w, k->set);
        dd_bytes_text(w, k->left_for.has ? " the rest is in after " : " all is in after ");
        dd_working_span(w, seconds);
        end_line(p, "as set");
    }
    if (k->dose.has && k->strength.has && dd_ratio_over(set, k->rate.exact, &dose) == DD_OK && dd_ratio_times(dose, k->dose.exact, &dose) == DD_OK) {
        dd_bytes_text(w, "at ");
        add_set(w, k->set);
        dd_bytes_text(w, " the dose is ");
        add_unit(w, dose, k->dose_unit.unit, k->dose_unit.per_kg, dd_quantity_unit(k->dose_unit.per));
        end_line(p, "as set");
    }
}

/* ---- by dose and weight ---- */

static void dose_line(page *p)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (!k->dose.has || (k->rate_by == DD_WORKED_BY_DOSE && p->in->dose_unit.unit == DD_UNIT_NONE))
        return;
    if (k->rate.has && k->strength.has) {
        add_rate(w, k->rate.exact);
        dd_bytes_text(w, " x ");
        add_unit(w, k->strength.exact, p->in->strength.unit, false, "mL");
        if (k->dose_unit.per_kg) {
            dd_bytes_text(w, " / ");
            add_kg(w, k);
        }
    } else {
        dd_working_quantity(w, p->in->dose);
        if (p->in->dose.per_kg != k->dose_unit.per_kg) {
            dd_bytes_text(w, k->dose_unit.per_kg ? " / " : " x ");
            add_kg(w, k);
        }
    }
    dd_bytes_text(w, " =\x1f");
    add_unit(w, k->dose.exact, k->dose_unit.unit, k->dose_unit.per_kg, dd_quantity_unit(k->dose_unit.per));
    end_line(p, "dose");
}

static void per_kg_lines(page *p, const char *fluid)
{
    const dd_worked *k = p->k;
    dd_bytes *w = &p->words;
    if (!k->per_kg.has)
        return;
    add_rate(w, k->rate.exact);
    dd_bytes_text(w, " / ");
    add_kg(w, k);
    dd_bytes_text(w, " =\x1f");
    dd_working_scaled(w, k->per_kg.exact, 1000, "mL/kg/h");
    end_line(p, "per kg");
    if (!k->glucose.has)
        return;
    dd_bytes_text(w, fluid != NULL ? fluid : "the fluid");
    dd_bytes_text(w, ": ");
    add_rate(w, k->rate.exact);
    dd_bytes_text(w, " x ");
    dd_working_scaled(w, p->in->glucose_ug_l, 1000000, "mg/mL");
    dd_bytes_text(w, " / ");
    add_kg(w, k);
    dd_bytes_text(w, " / ");
    dd_working_keep(w, "60 min");
    dd_bytes_text(w, " =\x1f");
    dd_working_number(w, k->glucose.exact, "mg/kg/min");
    end_line(p, "glucose");
}

void dd_working_write(const dd_worked_inputs *in, const dd_worked *worked, const char *fluid, dd_bytes *out)
{
    page p = {.in = in, .k = worked, .words = DD_BYTES(LINE_MOST), .out = out};
    volume_line(&p);
    strength_line(&p);
    rate_line(&p);
    set_lines(&p);
    over_line(&p);
    end_lines(&p);
    dose_line(&p);
    as_set_lines(&p);
    per_kg_lines(&p, fluid);
    dd_working_line(out, "", "Worked out from what was typed; it doses nobody. Hold it against the order, the label and a second check.");
    dd_bytes_free(&p.words);
}
