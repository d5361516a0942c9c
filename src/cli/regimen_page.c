/* regimen_page.c - a regimen worked out: for people with formula, inputs and settings, and as rows for programs. */
#include <stdio.h>
#include <string.h>

#include "need.h"
#include "regimen_words.h"
#include "set.h"
#include "working.h"

#define WORDS_MOST 4000
#define ADULT_SET 20000000  /* drops/mL x 10^6: the two sets that are shown where none was named, */
#define CHILD_SET 60000000  /* those of the MSF cholera guide, appendix 5 */
#define DIFFERENCE_PERCENT 5 /* the rule settable-difference, its built-in value */

typedef struct page {
    const dd_regimen_ask *ask;
    dd_bytes words, *out;
} page;

static void end_line(page *p, const char *label)
{
    dd_working_end(p->out, label, &p->words);
}

static void volume(page *p, dd_ratio ul)
{
    dd_working_scaled(&p->words, ul, 1000, "mL");
}

static void rate(page *p, dd_ratio ul_h)
{
    dd_working_scaled(&p->words, ul_h, 1000, "mL/h");
}

static void kilograms(page *p, int64_t mg)
{
    dd_working_scaled(&p->words, (dd_ratio){mg, 1}, 1000000, "kg");
}

static void weight(page *p)
{
    kilograms(p, p->ask->in.weight_mg);
}

static void span(page *p, int64_t seconds)
{
    dd_working_span(&p->words, (dd_ratio){seconds, 1});
}

/* ---- above the stages ---- */

static void own_words(dd_bytes *words, const char *text)
{
    for (; *text != '\0'; text++)
        dd_bytes_char(words, *text >= 0x20 && *text < 0x7f ? *text : '?');
}

static void head_lines(page *p)
{
    const dd_regimen_ask *k = p->ask;
    const dd_regimen_edition *e = k->in.edition;
    dd_bytes *w = &p->words;
    dd_bytes_form(p->out, "%s\n", k->in.regimen->title);
    if (e != NULL)
        dd_bytes_form(w, "%s: %s%s", e->name, e->source, e->evidence == DD_EV_MEMORY ? "; from memory, not read" : "");
    else {
        own_words(w, k->source);
        dd_bytes_text(w, ", named by you: not among those built in, so nothing of it could be held against what it says");
    }
    end_line(p, "source");
    if (e != NULL && e->says != NULL) {
        dd_bytes_text(w, e->says);
        end_line(p, "it says");
    }
    for (const char *c = e != NULL ? k->in.class_->whom : ""; *c != '\0'; c++) /* a number keeps its unit */
        dd_bytes_char(w, *c == ' ' && c[-1] >= '0' && c[-1] <= '9' ? '\x1f' : *c);
    dd_bytes_text(w, e != NULL ? "; here " : "");
    if (k->age.unit != DD_UNIT_NONE) {
        dd_working_quantity(w, k->age);
        if (k->weight.unit != DD_UNIT_NONE)
            dd_bytes_text(w, ", ");
    }
    if (k->weight.unit != DD_UNIT_NONE)
        weight(p);
    end_line(p, "for");
}

static void formula_lines(page *p)
{
    const dd_regimen_ask *k = p->ask;
    const dd_regimen_result *r = &k->result;
    dd_bytes *w = &p->words;
    if (!r->has_whole)
        return;
    if (k->in.coefficient.den != 0) {
        dd_working_number(w, k->in.coefficient, "mL/kg");
        dd_bytes_text(w, " for each per cent x ");
        weight(p);
        dd_bytes_text(w, " x ");
        dd_working_number(w, k->in.area, "%");
        dd_bytes_text(w, " =\x1f");
        volume(p, r->whole);
        end_line(p, "formula");
        return;
    }
    if (k->in.lost_mg != DD_UNKNOWN) {
        dd_working_quantity(w, k->before);
        dd_bytes_text(w, " before less ");
        weight(p);
        dd_bytes_text(w, " now, 1\x1fkg as 1,000\x1fmL");
    } else {
        dd_working_number(w, k->in.percent, "%");
        dd_bytes_text(w, " of ");
        weight(p);
        dd_bytes_text(w, ", 1\x1fkg as 1,000\x1fmL");
    }
    dd_bytes_text(w, " =\x1f");
    volume(p, r->whole);
    end_line(p, "deficit");
    if (dd_ratio_compare(r->left, r->whole) == 0)
        return;
    volume(p, r->whole);
    if (k->in.given.den != 0 && k->in.given.num != 0) {
        dd_bytes_text(w, " less ");
        volume(p, k->in.given);
        dd_bytes_text(w, " given");
    }
    for (size_t i = 0; i < r->count; i++)
        if (r->steps[i].stage->subtracts) {
            dd_bytes_text(w, " less ");
            volume(p, r->steps[i].own);
            dd_bytes_form(w, " of stage\x1f%d", (int)i + 1);
        }
    dd_bytes_text(w, " =\x1f");
    volume(p, r->left);
    end_line(p, "left");
}

static void maintenance_line(page *p)
{
    const dd_regimen_ask *k = p->ask;
    const dd_regimen_edition *e = k->in.edition;
    dd_bytes *w = &p->words;
    if (!k->result.has_maintenance)
        return;
    switch (k->in.need) {
    case DD_REGIMEN_NONE: dd_bytes_text(w, "none asked for"); break;
    case DD_REGIMEN_RATE:
        dd_working_quantity(w, k->rate);
        dd_bytes_text(w, ", as written");
        break;
    case DD_REGIMEN_HOURLY: dd_bytes_text(w, "by the hourly rule 4-2-1"); break;
    case DD_REGIMEN_DAILY: dd_bytes_text(w, "by Holliday and Segar, a 24th of the day"); break;
    case DD_REGIMEN_EDITION:
        dd_bytes_text(w, e->fixed_ul_h > 0 ? "of this edition, whatever the weight" : e->bands != NULL ? "of this edition, by bands of weight, a 24th of the day"
                                                                                             : "by Holliday and Segar, a 24th of the day");
        break;
    }
    if (e != NULL && e->cap_mg > 0 && k->in.weight_mg > e->cap_mg) {
        dd_bytes_text(w, ", for ");
        kilograms(p, e->cap_mg);
    }
    if (k->in.need != DD_REGIMEN_NONE) {
        dd_bytes_text(w, " =\x1f");
        rate(p, k->result.maintenance);
    }
    end_line(p, "maintenance");
}

/* ---- a stage ---- */

/* `30 mL/kg x 7.5 kg`, `half of 1,920 mL less 200 mL given` */
static void stage_formula(page *p, const dd_regimen_step *s)
{
    const dd_regimen_ask *k = p->ask;
    dd_bytes *w = &p->words;
    if (s->stage->of == DD_OF_LEFT && s->stage->den == 1) {
        dd_bytes_text(w, "all of the ");
        volume(p, k->result.left);
        return;
    }
    dd_regimen_amount(w, k->in.regimen, s->stage);
    switch (s->stage->of) {
    case DD_OF_ML_KG:
    case DD_OF_ML_KG_H:
        dd_bytes_text(w, " x ");
        weight(p);
        break;
    case DD_OF_TENS:
        dd_bytes_text(w, " x ");
        dd_working_number(w, k->in.area, "%");
        if (k->in.weight_mg > INT64_C(80000000)) {
            dd_bytes_text(w, ", and 10\x1fmL/h for each kg of ");
            kilograms(p, k->in.weight_mg - INT64_C(80000000));
            dd_bytes_text(w, " above 80\x1fkg (100 for each 10\x1fkg, in proportion between)");
        }
        break;
    case DD_OF_WHOLE:
        dd_bytes_text(w, " of ");
        volume(p, k->result.whole);
        break;
    case DD_OF_LEFT:
        dd_bytes_text(w, " of ");
        volume(p, k->result.left);
        break;
    case DD_OF_TABLE:
        dd_bytes_text(w, " at ");
        weight(p);
        break;
    case DD_OF_ML:
        break;
    }
    if (dd_ratio_compare(s->formula, s->own) != 0 && s->stage->of == DD_OF_WHOLE) {
        dd_bytes_text(w, " less ");
        volume(p, k->in.given);
        dd_bytes_text(w, " given");
    }
    if (s->stage->of == DD_OF_ML)
        return;
    dd_bytes_text(w, " =\x1f");
    if (s->stage->of == DD_OF_ML_KG_H || s->stage->of == DD_OF_TENS || s->stage->of == DD_OF_TABLE)
        rate(p, s->rate);
    else
        volume(p, s->own);
}

static void with_maintenance_line(page *p, const dd_regimen_step *s)
{
    dd_bytes *w = &p->words;
    if (s->maintenance.num == 0)
        return;
    volume(p, s->own);
    dd_bytes_text(w, " and maintenance ");
    rate(p, p->ask->result.maintenance);
    dd_bytes_text(w, " x ");
    span(p, s->over_s);
    dd_bytes_text(w, " =\x1f");
    volume(p, s->maintenance);
    dd_bytes_text(w, ": together ");
    volume(p, s->volume);
    end_line(p, "  volume");
}

static void potassium_line(page *p, const dd_regimen_step *s)
{
    const dd_regimen_edition *e = p->ask->in.edition;
    dd_bytes *w = &p->words;
    dd_ratio mmol, hourly;
    if (e == NULL || e->potassium_mmol_l == 0 || dd_ratio_times(s->volume, (dd_ratio){e->potassium_mmol_l, 1000000}, &mmol) != DD_OK ||
        dd_ratio_times(s->rate, (dd_ratio){e->potassium_mmol_l, 1000000}, &hourly) != DD_OK)
        return;
    volume(p, s->volume);
    dd_bytes_text(w, " with potassium ");
    dd_working_number(w, (dd_ratio){e->potassium_mmol_l, 1}, "mmol/L");
    dd_bytes_text(w, " =\x1f");
    dd_working_number(w, mmol, "mmol");
    dd_bytes_text(w, ", ");
    dd_working_number(w, hourly, "mmol/h");
    end_line(p, "  potassium");
}

/* When all of it is in at what the device is set to, where that is a minute or more off the time of the stage: the volume is kept. */
static void until_words(page *p, const dd_regimen_step *s, dd_rate set)
{
    dd_ratio seconds;
    if (s->open || set.ul_per_h <= 0 || dd_ratio_compare((dd_ratio){set.ul_per_h, 1}, s->rate) == 0 || dd_ratio_times(s->volume, (dd_ratio){3600, set.ul_per_h}, &seconds) != DD_OK)
        return;
    char text[DD_MOMENT_MAX];
    int64_t near;
    if (dd_ratio_half_up(seconds, 1, &near) != DD_OK || (near > s->over_s - 60 && near < s->over_s + 60))
        return;
    dd_moment_span(text, near);
    dd_bytes_text(&p->words, ": all of it is in after ");
    dd_working_keep(&p->words, text);
}

static void apart_line(page *p, const dd_regimen_step *s, dd_rate set)
{
    dd_ratio apart;
    if (dd_ratio_minus((dd_ratio){set.ul_per_h, 1}, s->rate, &apart) != DD_OK || dd_ratio_over(apart, s->rate, &apart) != DD_OK ||
        dd_ratio_times(apart, (dd_ratio){apart.num < 0 ? -100 : 100, 1}, &apart) != DD_OK || dd_ratio_compare(apart, (dd_ratio){DIFFERENCE_PERCENT, 1}) <= 0)
        return;
    dd_bytes_text(&p->words, "what can be set is ");
    dd_working_number(&p->words, apart, "%");
    dd_bytes_text(&p->words, set.ul_per_h * s->rate.den > s->rate.num ? " above the rate worked out" : " below the rate worked out");
    dd_bytes_text(&p->words, "; a finer set or another device would come nearer");
    end_line(p, "  CLARIFY");
}

static void drops_line(page *p, const dd_regimen_step *s, int64_t factor, const char *label)
{
    dd_bytes *w = &p->words;
    dd_rate set;
    int32_t drops;
    if (dd_set_gravity(s->rate, factor, &drops, &set) != DD_OK)
        return;
    dd_working_number(w, (dd_ratio){drops, 1}, "drops/min");
    dd_bytes_text(w, " with ");
    dd_working_scaled(w, (dd_ratio){factor, 1}, 1000000, "drops/mL");
    if (dd_ratio_compare((dd_ratio){set.ul_per_h, 1}, s->rate) != 0) {
        dd_bytes_text(w, ", which give ");
        rate(p, (dd_ratio){set.ul_per_h, 1});
    }
    until_words(p, s, set);
    end_line(p, label);
    if (p->ask->drop_factor_micro > 0)
        apart_line(p, s, set);
}

static void set_lines(page *p, const dd_regimen_step *s)
{
    const dd_regimen_ask *k = p->ask;
    dd_rate set;
    if (s->rate.num <= 0)
        return;
    if (k->drop_factor_micro == 0 && dd_set_pump(s->rate, DD_REGIMEN_STEP_UL_H, &set) == DD_OK) {
        rate(p, (dd_ratio){set.ul_per_h, 1});
        dd_bytes_text(&p->words, " on a pump, in steps of ");
        rate(p, (dd_ratio){DD_REGIMEN_STEP_UL_H, 1});
        until_words(p, s, set);
        end_line(p, "  set");
        apart_line(p, s, set);
    }
    if (k->drop_factor_micro > 0) {
        drops_line(p, s, k->drop_factor_micro, "  set");
    } else if (!k->pump) {
        drops_line(p, s, ADULT_SET, "  drops");
        drops_line(p, s, CHILD_SET, "");
    }
}

static void stage_lines(page *p, size_t i)
{
    const dd_regimen_step *s = &p->ask->result.steps[i];
    dd_bytes *w = &p->words;
    char label[24];
    snprintf(label, sizeof label, "stage %d", (int)i + 1);
    stage_formula(p, s);
    if (s->again)
        dd_bytes_text(w, ", the first stage again");
    if (*s->stage->words != '\0') {
        dd_bytes_text(w, "; ");
        dd_bytes_text(w, s->stage->words);
    }
    end_line(p, label);
    with_maintenance_line(p, s);
    if (s->open) {
        dd_bytes_text(w, "as long as it is ordered");
        end_line(p, "  over");
        set_lines(p, s);
        return;
    }
    span(p, s->over_s);
    if (p->ask->in.since_s > 0 && i == 0 && s->stage->of == DD_OF_WHOLE) {
        dd_bytes_text(w, ": ");
        span(p, s->stage->minutes * INT64_C(60));
        dd_bytes_text(w, " from the burn, ");
        span(p, p->ask->in.since_s);
        dd_bytes_text(w, " of them gone");
    }
    end_line(p, "  over");
    volume(p, s->volume);
    dd_bytes_text(w, " / ");
    span(p, s->over_s);
    dd_bytes_text(w, " =\x1f");
    rate(p, s->rate);
    end_line(p, "  rate");
    potassium_line(p, s);
    if (s->stage->route == DD_ROUTE_GUT) {
        dd_working_line(p->out, "  by", "mouth or tube, not by vein");
        return;
    }
    set_lines(p, s);
}

static void say_line(void *to, const char *label, const char *words)
{
    page *p = to;
    dd_bytes_text(&p->words, words);
    end_line(p, label);
}

void dd_regimen_page(const dd_regimen_ask *ask, dd_bytes *out)
{
    page p = {.ask = ask, .words = DD_BYTES(WORDS_MOST), .out = out};
    const dd_regimen_result *r = &ask->result;
    head_lines(&p);
    if (!dd_regimen_remarks(ask, say_line, &p))
        out->failed = true;
    formula_lines(&p);
    maintenance_line(&p);
    for (size_t i = 0; i < r->count; i++)
        stage_lines(&p, i);
    if (r->total_s > 0) {
        dd_working_scaled(&p.words, r->total, 1000, "mL");
        dd_bytes_text(&p.words, " in ");
        span(&p, r->total_s);
        if (!r->all_end)
            dd_bytes_text(&p.words, ", without what has no end of its own");
        end_line(&p, "total");
    }
    dd_working_line(out, "decides", ask->in.regimen->decides);
    dd_working_line(out, "caution", "Worked out from what was typed; it doses nobody and replaces no order. Hold it against the order, the label, local policy and a second check.");
    dd_bytes_text(out, "END OF REPORT\n");
    dd_bytes_free(&p.words);
}

/* ---- rows ---- */

static void row(dd_bytes *out, const char *quantity, dd_ratio value, int64_t by, const char *unit)
{
    char text[DD_NUMBER_MAX];
    if (dd_ratio_over(value, (dd_ratio){by, 1}, &value) != DD_OK)
        value = (dd_ratio){0, 0}; /* written as "?" */
    dd_number_ratio(text, value, 3, DD_STYLE_PROGRAM);
    dd_bytes_form(out, "%s,%s,%s\n", quantity, text, unit);
}

static void stage_row(dd_bytes *out, size_t i, const char *what, dd_ratio value, int64_t by, const char *unit)
{
    char name[64];
    snprintf(name, sizeof name, "stage-%d-%s", (int)i + 1, what);
    row(out, name, value, by, unit);
}

void dd_regimen_rows(const dd_regimen_ask *ask, dd_bytes *out)
{
    const dd_regimen_result *r = &ask->result;
    const dd_regimen_edition *e = ask->in.edition;
    dd_ratio value;
    dd_bytes_text(out, "quantity,value,unit\n");
    for (size_t i = 0; i < r->count; i++) {
        const dd_regimen_step *s = &r->steps[i];
        if (!s->open) {
            stage_row(out, i, "volume", s->volume, 1000, "mL");
            stage_row(out, i, "over", (dd_ratio){s->over_s, 1}, 60, "min");
        }
        stage_row(out, i, "rate", s->rate, 1000, "mL/h");
        if (e != NULL && e->potassium_mmol_l > 0 && dd_ratio_times(s->volume, (dd_ratio){e->potassium_mmol_l, 1}, &value) == DD_OK)
            stage_row(out, i, "potassium", value, 1000000, "mmol");
        if (e != NULL && e->potassium_mmol_l > 0 && dd_ratio_times(s->rate, (dd_ratio){e->potassium_mmol_l, 1}, &value) == DD_OK)
            stage_row(out, i, "potassium-rate", value, 1000000, "mmol/h");
    }
    if (r->has_whole && ask->in.coefficient.den != 0) {
        row(out, "burn-volume", r->whole, 1000, "mL");
    } else if (r->has_whole) {
        row(out, "deficit", r->whole, 1000, "mL");
        row(out, "deficit-left", r->left, 1000, "mL");
        for (size_t i = 0; i < r->count; i++)
            if (r->steps[i].stage->of == DD_OF_LEFT) {
                if (dd_ratio_times(r->steps[i].own, (dd_ratio){3600, r->steps[i].over_s}, &value) == DD_OK)
                    row(out, "deficit-rate", value, 1000, "mL/h");
                break;
            }
    }
    if (r->has_maintenance)
        row(out, "maintenance-rate", r->maintenance, 1000, "mL/h");
    if (r->total_s > 0)
        row(out, "total-volume", r->total, 1000, "mL");
}
