/* regimen_orders.c - the stages as rows of orders.csv.
 *
 * A row has volume and time, never a rate: the plan makes the rate settable and runs it until the volume is in, so each stage
 * gives exactly its volume (to the microlitre), whatever the device can be set to; the next stage begins when it has ended.
 * Maintenance is in the stages, or, where its fluid is named, in a row of its own that runs beside them. */
#include <string.h>

#include "cells.h"
#include "load.h"
#include "regimen_words.h"
#include "rows.h"

#define DAY_S 86400

typedef struct order {
    const char *patient, *line, *fluid, *start, *set;
    const char *maintenance; /* the fluid of its own row; NULL: it is in the stages */
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
static void check_potassium(dd_asked *a, const dd_regimen_ask *ask, const dd_mix *mix, const char *text)
{
    const dd_regimen_edition *e = ask->in.edition;
    if (e == NULL || e->potassium_mmol_l == 0)
        return;
    dd_ratio has = mix->litre[DD_MEMBER_POTASSIUM];
    if (has.den == 0 || dd_ratio_compare(has, (dd_ratio){e->potassium_mmol_l * INT64_C(1000000), 1}) != 0)
        dd_asked_wrong(a, "--fluid", text, "does not hold the potassium of the regimen\n    expected %d mmol/L, such as \"nacl-0.9 + kcl %d mmol/L\"",
            (int)e->potassium_mmol_l, (int)e->potassium_mmol_l);
}

static void read_fluid(dd_asked *a, const dd_regimen_ask *ask, const order *o, const char *option, const char *text)
{
    dd_folder *folder = NULL;
    dd_mix mix;
    dd_volume bag = {DD_UNKNOWN};
    if (o->bag.unit != DD_UNIT_NONE && dd_quantity_volume(o->bag, &bag) != DD_OK)
        bag.ul = DD_UNKNOWN;
    if (dd_folder_built_in(&folder) != DD_OK) {
        dd_asked_no_memory(a);
        return;
    }
    if (dd_asked_mixture(a, option, text, bag.ul, "--bag too, or an amount per litre", folder, &mix)) {
        if (mix.mixture->fluid < 0)
            dd_bytes_form(a->err, "daydrip regimen: NOTE: %s is not built in: the plan's fluids.csv must have it\n", option);
        check_potassium(a, ask, &mix, text);
    }
    dd_folder_free(folder);
}

static void read_fluids(dd_asked *a, const dd_regimen_ask *ask, order *o)
{
    o->fluid = ask->words->value[DD_OPTION_RUNS];
    o->maintenance = ask->words->value[DD_OPTION_ALSO_RUNS];
    if (o->fluid == NULL)
        dd_asked_wrong(a, "--fluid", NULL, "not given, and rows of orders need it\n    expected a fluid as in the column fluid, such as hartmann");
    else
        read_fluid(a, ask, o, "--fluid", o->fluid);
    if (o->maintenance == NULL)
        return;
    if (ask->result.maintenance.num == 0)
        dd_asked_wrong(a, "--maintenance-fluid", o->maintenance, "has nothing to carry: there is no maintenance\n    expected neither, or both");
    else
        read_fluid(a, ask, o, "--maintenance-fluid", o->maintenance);
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
    read_fluids(a, ask, o);
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

typedef struct cells { const char *order, *fluid, *runs, *purpose, *start; dd_ratio rate, volume; int64_t over_s; } cells; /* rate: den 0, or alone */

/* What a row gives: microlitres as an order counts them. */
static int64_t whole_ul(dd_ratio ul)
{
    int64_t whole;
    return dd_ratio_half_up(ul, 1, &whole) == DD_OK ? whole : 0;
}

static void write_row(const order *o, const cells *c, const char *said, dd_bytes *out)
{
    char number[DD_NUMBER_MAX];
    const char *const texts[] = {o->patient, c->order, c->fluid, o->line, c->runs, c->purpose, o->by_gut ? "feed" : ""};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        dd_rows_text(out, texts[i]);
        dd_bytes_char(out, ',');
    }
    if (c->rate.den != 0) {
        dd_number_ratio(number, c->rate, 3, DD_STYLE_PROGRAM);
        dd_bytes_form(out, "%s mL/h,,,", number);
    } else {
        dd_number_scaled(number, whole_ul(c->volume), 3, 3, DD_STYLE_PROGRAM);
        dd_bytes_form(out, ",%s mL,", number);
        over_text(out, c->over_s);
        dd_bytes_char(out, ',');
    }
    if (o->bag.unit != DD_UNIT_NONE) {
        dd_number_scaled(number, o->bag.micro, 6, 6, DD_STYLE_PROGRAM);
        dd_bytes_form(out, "%s %s", number, dd_quantity_unit(o->bag.unit));
    }
    dd_bytes_char(out, ',');
    dd_rows_text(out, o->set ? o->set : "");
    dd_bytes_char(out, ',');
    dd_rows_text(out, c->start);
    dd_bytes_char(out, ',');
    dd_rows_text(out, said);
    dd_bytes_char(out, '\n');
}

/* `burn by WCH 2010, `, plain text whatever the source is called. */
static void begin_note(const dd_regimen_ask *ask, dd_bytes *text)
{
    dd_bytes_clear(text);
    dd_bytes_form(text, "%s by %s, ", ask->in.regimen->name, ask->in.edition ? ask->in.edition->name : ask->source);
    for (char *t = text->data; t != NULL && *t != '\0'; t++)
        *t = *t >= 0x20 && *t < 0x7f ? *t : '?';
}

static void stage_row(const dd_regimen_ask *ask, const order *o, size_t i, int before, dd_bytes *out)
{
    const dd_regimen_step *s = &ask->result.steps[i];
    dd_bytes key = DD_BYTES(100), start = DD_BYTES(200), said = DD_BYTES(1000);
    dd_ratio ml_h = {0, 0};
    dd_bytes_form(&key, "%s-%d", ask->in.regimen->name, (int)i + 1);
    if (before < 0)
        dd_bytes_text(&start, o->start);
    else
        dd_bytes_form(&start, "after %s-%d", ask->in.regimen->name, before + 1);
    begin_note(ask, &said);
    dd_bytes_form(&said, "stage %d of %d", (int)i + 1, (int)ask->result.count);
    if (s->open && dd_ratio_over(s->rate, (dd_ratio){1000, 1}, &ml_h) != DD_OK)
        ml_h = (dd_ratio){0, 0};
    if (!key.failed && !start.failed && !said.failed)
        write_row(o, &(cells){key.data, o->fluid, "", ask->in.regimen->purpose, start.data, ml_h, o->maintenance ? s->own : s->volume, s->over_s}, said.data, out);
    out->failed = out->failed || key.failed || start.failed || said.failed;
    dd_bytes_free(&key);
    dd_bytes_free(&start);
    dd_bytes_free(&said);
}

/* Maintenance beside the stages that it belongs to, all of it in one row. */
static void maintenance_row(const dd_regimen_ask *ask, const order *o, dd_bytes *out)
{
    const dd_regimen_result *r = &ask->result;
    dd_bytes key = DD_BYTES(100), start = DD_BYTES(200), said = DD_BYTES(1000);
    dd_ratio volume = {0, 1};
    int64_t over = 0;
    size_t first = r->count;
    bool fits = true;
    for (size_t i = 0; i < r->count; i++)
        if (r->steps[i].with_maintenance) {
            first = first < i ? first : i;
            over += r->steps[i].over_s;
            fits = fits && dd_ratio_plus(volume, r->steps[i].maintenance, &volume) == DD_OK;
        }
    dd_bytes_form(&key, "%s-maintenance", ask->in.regimen->name);
    if (first == 0)
        dd_bytes_text(&start, o->start);
    else
        dd_bytes_form(&start, "after %s-%d", ask->in.regimen->name, (int)first);
    begin_note(ask, &said);
    dd_bytes_text(&said, "maintenance");
    if (!key.failed && !start.failed && !said.failed && fits)
        write_row(o, &(cells){key.data, o->maintenance, "concurrent", "maintenance", start.data, {0, 0}, volume, over}, said.data, out);
    out->failed = out->failed || key.failed || start.failed || said.failed || !fits;
    dd_bytes_free(&key);
    dd_bytes_free(&start);
    dd_bytes_free(&said);
}

static void say_notes(dd_asked *a, const dd_regimen_ask *ask)
{
    if (ask->words->value[DD_OPTION_ALSO_RUNS] == NULL && ask->result.maintenance.num > 0)
        note(a, "maintenance is in these rows, in the same fluid; where it is another one, say --maintenance-fluid", 0, "");
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
        if (!r->steps[i].open && whole_ul(o.maintenance ? r->steps[i].own : r->steps[i].volume) == 0) {
            dd_asked_wrong(a, "--as-orders", NULL, "nothing is left for stage %d, and there is no row without a volume\n    expected the stages that are left ordered by hand", (int)i + 1);
            return false;
        }
    dd_bytes_text(out, "patient,order,fluid,line,runs,for,category,rate,volume,over,bag,set,start,note\n");
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
        stage_row(ask, &o, i, before, out);
        before = (int)i;
        ended = s->open;
    }
    if (o.maintenance != NULL)
        maintenance_row(ask, &o, out);
    say_notes(a, ask);
    return true;
}
