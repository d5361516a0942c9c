/* regimen_orders.c - the stages as rows of orders.csv.
 *
 * A row has volume and time, never a rate: the plan makes the rate settable and runs it until the volume is in, so each stage
 * gives exactly its volume (to the microlitre), whatever the device can be set to; the next stage begins when it has ended. */
#include <string.h>

#include "cells.h"
#include "load.h"
#include "regimen_words.h"
#include "rows.h"

#define DAY_S 86400

typedef struct order {
    const char *patient, *line, *fluid, *start, *set;
    dd_quantity bag; /* unit NONE: not said */
    bool by_gut;     /* every stage goes by mouth or tube */
} order;

static void note(dd_asked *a, const char *about, int number, const char *what)
{
    char text[DD_NUMBER_MAX] = "";
    if (number > 0)
        dd_number_scaled(text, number, 0, 0, DD_STYLE_PERSON);
    dd_bytes_form(a->err, "daydrip regimen: NOTE: %s%s%s\n", about, text, what);
}

static const char *key_of(dd_asked *a, const dd_words *w, dd_option option, const char *name, const char *expected)
{
    const char *text = w->value[option];
    if (text == NULL)
        dd_asked_wrong(a, name, NULL, "not given, and rows of orders need it\n    expected %s", expected);
    else if (!dd_cells_is_key(text, strlen(text)))
        dd_asked_wrong(a, name, text, "is no key\n    expected %s", expected);
    return text;
}

/* What runs must be what the regimen counts with. */
static void check_fluid(dd_asked *a, const dd_regimen_ask *ask, const dd_mix *mix, const char *text)
{
    const dd_regimen_edition *e = ask->in.edition;
    if (mix->mixture->fluid < 0)
        note(a, "the fluid is not built in: the plan's fluids.csv must have it", 0, "");
    if (e == NULL || e->potassium_mmol_l == 0)
        return;
    dd_ratio has = mix->litre[DD_MEMBER_POTASSIUM];
    if (has.den == 0 || dd_ratio_compare(has, (dd_ratio){e->potassium_mmol_l * INT64_C(1000000), 1}) != 0)
        dd_asked_wrong(a, "--fluid", text, "does not hold the potassium of the regimen\n    expected %d mmol/L, such as \"nacl-0.9 + kcl %d mmol/L\"",
            (int)e->potassium_mmol_l, (int)e->potassium_mmol_l);
}

static void read_fluid(dd_asked *a, const dd_regimen_ask *ask, order *o)
{
    dd_folder *folder = NULL;
    dd_mix mix;
    dd_volume bag = {DD_UNKNOWN};
    o->fluid = ask->words->value[DD_OPTION_RUNS];
    if (o->fluid == NULL) {
        dd_asked_wrong(a, "--fluid", NULL, "not given, and rows of orders need it\n    expected a fluid as in the column fluid, such as hartmann");
        return;
    }
    if (o->bag.unit != DD_UNIT_NONE && dd_quantity_volume(o->bag, &bag) != DD_OK)
        bag.ul = DD_UNKNOWN;
    if (dd_folder_built_in(&folder) != DD_OK) {
        dd_asked_wrong(a, "--fluid", o->fluid, "needs more memory than there is\n    expected a shorter one");
        return;
    }
    if (dd_asked_mixture(a, "--fluid", o->fluid, bag.ul, "--bag too, or an amount per litre", folder, &mix))
        check_fluid(a, ask, &mix, o->fluid);
    dd_folder_free(folder);
}

static void read_start(dd_asked *a, const dd_words *w, order *o)
{
    dd_time_text time;
    o->start = w->value[DD_OPTION_BEGIN];
    if (o->start == NULL)
        dd_asked_wrong(a, "--start", NULL, "not given, and rows of orders need it\n    expected a clock such as 08:00, or a date and clock such as 2026-11-25 08:00");
    else
        dd_asked_time(a, "--start", o->start, &time);
}

static bool read_order(dd_asked *a, const dd_regimen_ask *ask, order *o)
{
    const dd_regimen_result *r = &ask->result;
    const dd_words *w = ask->words;
    bool open = false;
    size_t by_gut = 0;
    o->patient = key_of(a, w, DD_OPTION_WHOSE, "--patient", "the key of a patient, such as p-204");
    o->line = key_of(a, w, DD_OPTION_LINE, "--line", "the key of a line, such as left-arm");
    dd_asked_quantity(a, "--bag", w->value[DD_OPTION_EACH_BAG], DD_TAKES_VOLUME, false, "a volume such as 500 mL", &o->bag);
    read_fluid(a, ask, o);
    read_start(a, w, o);
    for (size_t i = 0; i < r->count; i++) {
        by_gut += r->steps[i].stage->route == DD_ROUTE_GUT;
        open = open || r->steps[i].open;
    }
    if (open && o->bag.unit == DD_UNIT_NONE)
        dd_asked_wrong(a, "--bag", w->value[DD_OPTION_EACH_BAG], "not given, and a stage without an end needs it\n    expected a volume such as 500 mL");
    o->by_gut = by_gut == r->count;
    o->set = w->value[DD_OPTION_DEVICE];
    return !a->wrong;
}

/* `5 h`, `90 min`, `100 s`: exactly. */
static void over_text(dd_bytes *out, int64_t seconds)
{
    char text[DD_NUMBER_MAX];
    int64_t by = seconds % 3600 == 0 ? 3600 : seconds % 60 == 0 ? 60 : 1;
    dd_number_scaled(text, seconds / by, 0, 0, DD_STYLE_PROGRAM);
    dd_bytes_form(out, "%s %s", text, by == 3600 ? "h" : by == 60 ? "min" : "s");
}

static void volume_text(dd_bytes *out, dd_ratio ul)
{
    char text[DD_NUMBER_MAX];
    if (dd_ratio_over(ul, (dd_ratio){1000, 1}, &ul) != DD_OK)
        ul = (dd_ratio){0, 0};
    dd_number_ratio(text, ul, 3, DD_STYLE_PROGRAM);
    dd_bytes_form(out, "%s mL", text);
}

static void write_row(const dd_regimen_ask *ask, const order *o, size_t i, int before, dd_bytes *out)
{
    const dd_regimen_step *s = &ask->result.steps[i];
    dd_bytes text = DD_BYTES(1000);
    char number[DD_NUMBER_MAX];
    dd_rows_text(out, o->patient);
    dd_bytes_form(out, ",%s-%d,", ask->in.regimen->name, (int)i + 1);
    dd_rows_text(out, o->fluid);
    dd_bytes_char(out, ',');
    dd_rows_text(out, o->line);
    dd_bytes_form(out, ",%s,%s,", ask->in.regimen->purpose, o->by_gut ? "feed" : "");
    dd_ratio ml_h;
    if (s->open && dd_ratio_over(s->rate, (dd_ratio){1000, 1}, &ml_h) == DD_OK) {
        dd_number_ratio(number, ml_h, 3, DD_STYLE_PROGRAM);
        dd_bytes_form(out, "%s mL/h,,,", number);
    } else {
        dd_bytes_char(out, ',');
        volume_text(out, s->volume);
        dd_bytes_char(out, ',');
        over_text(out, s->over_s);
        dd_bytes_char(out, ',');
    }
    if (o->bag.unit != DD_UNIT_NONE) {
        dd_number_scaled(number, o->bag.micro, 6, 6, DD_STYLE_PROGRAM);
        dd_bytes_form(&text, "%s %s", number, dd_quantity_unit(o->bag.unit));
    }
    dd_rows_text(out, text.data ? text.data : "");
    dd_bytes_char(out, ',');
    dd_rows_text(out, o->set ? o->set : "");
    dd_bytes_char(out, ',');
    if (before < 0)
        dd_rows_text(out, o->start);
    else
        dd_bytes_form(out, "after %s-%d", ask->in.regimen->name, before + 1);
    dd_bytes_clear(&text);
    dd_bytes_form(&text, "%s by %s, stage %d of %d", ask->in.regimen->name, ask->in.edition ? ask->in.edition->name : ask->source, (int)i + 1, (int)ask->result.count);
    for (char *t = text.data; t != NULL && *t != '\0'; t++)
        *t = *t >= 0x20 && *t < 0x7f ? *t : '?';
    dd_bytes_char(out, ',');
    dd_rows_text(out, text.data ? text.data : "");
    dd_bytes_char(out, '\n');
    out->failed = out->failed || text.failed;
    dd_bytes_free(&text);
}

static void say_notes(dd_asked *a, const dd_regimen_ask *ask)
{
    if (ask->in.regimen->needs & DD_REG_MAINTENANCE && ask->result.maintenance.num > 0)
        note(a, "maintenance is in these rows, in the same fluid; where it is another fluid, ask with --maintenance none and order it by itself", 0, "");
    if (ask->result.total_s > DAY_S)
        note(a, "the stages take ", (int)(ask->result.total_s / 3600), " h or more: the plan must be as long (hours in ward.csv), or be carried");
}

bool dd_regimen_orders(dd_asked *a, const dd_regimen_ask *ask, dd_bytes *out)
{
    order o = {0};
    const dd_regimen_result *r = &ask->result;
    if (!read_order(a, ask, &o))
        return false;
    for (size_t i = 0; i < r->count; i++)
        if (r->steps[i].rate.num == 0) {
            dd_asked_wrong(a, "--as-orders", NULL, "nothing is left for stage %d, and there is no row without a volume\n    expected the stages that are left ordered by hand", (int)i + 1);
            return false;
        }
    dd_bytes_text(out, "patient,order,fluid,line,for,category,rate,volume,over,bag,set,start,note\n");
    int before = -1;
    bool ended = false;
    for (size_t i = 0; i < r->count; i++) {
        const dd_regimen_step *s = &r->steps[i];
        if ((s->stage->route == DD_ROUTE_GUT && !o.by_gut) || s->stage->route == DD_ROUTE_BLOOD) {
            note(a, "stage ", (int)i + 1, s->stage->route == DD_ROUTE_GUT ? " goes by mouth or tube: it is not among the rows" : " is blood: it is not among the rows");
            continue;
        }
        if (ended) {
            note(a, "stage ", (int)i + 1, " follows one without an end: it is not among the rows");
            continue;
        }
        write_row(ask, &o, i, before, out);
        before = (int)i;
        ended = s->open;
    }
    say_notes(a, ask);
    return true;
}
