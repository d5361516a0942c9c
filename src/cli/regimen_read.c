/* regimen_read.c - the options of `regimen` read, held against the edition that was named, and worked out. */
#include <stdio.h>
#include <string.h>

#include "daydrip/rule.h"
#include "regimen_words.h"

#define SOURCE_MOST 120
#define PERCENT_MOST 15     /* of dehydration: no edition goes above 10 */
#define COEFFICIENT_MOST 10 /* mL/kg per %: no edition goes above 4 */
#define NEONATE_S (INT64_C(28) * 86400)
#define YEAR_S INT64_C(31557600)
#define ADULT_S (16 * YEAR_S)

static const struct option { unsigned takes; dd_option option; const char *name; } options[] = {
    {DD_REG_WEIGHT, DD_OPTION_KG, "--weight"}, {DD_REG_AGE, DD_OPTION_AGE, "--age"}, {DD_REG_COURSE, DD_OPTION_COURSE, "--course"},
    {DD_REG_REPEAT, DD_OPTION_REPEAT, "--repeat"}, {DD_REG_AREA, DD_OPTION_AREA, "--area"}, {DD_REG_COEFFICIENT, DD_OPTION_COEFFICIENT, "--coefficient"},
    {DD_REG_SINCE, DD_OPTION_SINCE_BURN, "--since"}, {DD_REG_PERCENT, DD_OPTION_PERCENT, "--percent"}, {DD_REG_BEFORE, DD_OPTION_BEFORE, "--before"},
    {DD_REG_OVER, DD_OPTION_SPAN, "--over"}, {DD_REG_SPLIT, DD_OPTION_IN_PARTS, "--split"}, {DD_REG_SODIUM, DD_OPTION_SODIUM, "--sodium"},
    {DD_REG_MAINTENANCE, DD_OPTION_NEED, "--maintenance"}, {DD_REG_GIVEN, DD_OPTION_TAKEN, "--given"},
};
#define OPTIONS (sizeof options / sizeof *options)

static const char *expected_of(unsigned takes)
{
    switch (takes) {
    case DD_REG_WEIGHT: return "a weight such as 7.5 kg";
    case DD_REG_AGE: return "an age such as 8 months or 7 years";
    case DD_REG_AREA: return "a part of the body such as 40 %";
    case DD_REG_COEFFICIENT: return "mL/kg for each per cent, such as 4; it is always yours to say";
    case DD_REG_SINCE: return "a time such as 2 h";
    case DD_REG_PERCENT: return "per cent of the weight, such as 10";
    case DD_REG_BEFORE: return "the weight before, such as 8.2 kg";
    case DD_REG_OVER: return "a time such as 48 h";
    case DD_REG_SPLIT: return "times such as 8h,16h";
    case DD_REG_SODIUM: return "a strength such as 158 mmol/L";
    case DD_REG_MAINTENANCE: return "daily, hourly-421, none, or a rate such as 44 mL/h";
    case DD_REG_GIVEN: return "a volume such as 700 mL or 20 mL/kg";
    default: return "a whole number such as 1";
    }
}

static const char *text_of(const dd_words *words, unsigned takes)
{
    for (size_t i = 0; i < OPTIONS; i++)
        if (options[i].takes == takes)
            return words->value[options[i].option];
    return NULL;
}

static bool quantity(dd_asked *a, const dd_words *words, unsigned what, unsigned takes, bool zero, dd_quantity *out)
{
    const char *name = "";
    for (size_t i = 0; i < OPTIONS; i++)
        name = options[i].takes == what ? options[i].name : name;
    return dd_asked_quantity(a, name, text_of(words, what), takes, zero, expected_of(what), out) && out->unit != DD_UNIT_NONE;
}

/* ---- which options ---- */

static void check_options(dd_asked *a, const dd_regimen *r, const dd_words *words)
{
    for (size_t i = 0; i < OPTIONS; i++) {
        const char *text = words->value[options[i].option];
        if (text == NULL && r->needs & options[i].takes && options[i].takes != DD_REG_COURSE)
            dd_asked_wrong(a, options[i].name, NULL, "not given\n    expected %s", expected_of(options[i].takes));
        if (text != NULL && !((r->needs | r->may) & options[i].takes))
            dd_asked_wrong(a, options[i].name, text, "has no meaning for %s\n    expected without it", r->name);
    }
    if (r->may & DD_REG_PERCENT && (words->value[DD_OPTION_PERCENT] == NULL) == (words->value[DD_OPTION_BEFORE] == NULL))
        dd_asked_wrong(a, "--percent", words->value[DD_OPTION_PERCENT], "%s\n    expected either --percent or --before, the weight before",
            words->value[DD_OPTION_PERCENT] ? "and --before say the deficit twice" : "not given");
    if (r->may & DD_REG_OVER && (words->value[DD_OPTION_SPAN] == NULL) == (words->value[DD_OPTION_IN_PARTS] == NULL))
        dd_asked_wrong(a, "--over", words->value[DD_OPTION_SPAN], "%s\n    expected either --over, such as 48h, or --split, such as 8h,16h",
            words->value[DD_OPTION_SPAN] ? "and --split say the time twice" : "not given");
}

/* ---- for whom ---- */

/* Which set of stages is for this course, age and weight; what is not known is not held against it. */
static void find_class(dd_asked *a, dd_regimen_ask *ask)
{
    const dd_regimen_edition *e = ask->in.edition;
    const char *course = ask->words->value[DD_OPTION_COURSE];
    dd_bytes whom = DD_BYTES(1000), courses = DD_BYTES(1000);
    bool course_fits = false, age_fits = false;
    for (size_t i = 0; i < e->class_count; i++) {
        const dd_regimen_class *c = &e->classes[i];
        bool fits = *c->course == '\0' || (course != NULL && strcmp(course, c->course) == 0);
        if (*c->course != '\0')
            dd_bytes_form(&courses, "%s%s", courses.length ? ", " : "", c->course);
        if (!fits)
            continue;
        course_fits = true;
        dd_bytes_form(&whom, "%s%s", whom.length ? ", or " : "", c->whom);
        if (ask->age_s != DD_UNKNOWN && (ask->age_s < c->from_s || (c->below_s > 0 && ask->age_s >= c->below_s)))
            continue;
        age_fits = true;
        int64_t mg = ask->in.weight_mg;
        if (mg != DD_UNKNOWN && (mg < c->low_mg || (c->high_mg > 0 && mg > c->high_mg)))
            continue;
        ask->in.class_ = c;
        break;
    }
    if (!course_fits)
        dd_asked_wrong(a, "--course", course, "%s %s\n    expected one of: %s", course ? "is none of" : "not given;", course ? e->name : "it goes by what happens to the patient",
            courses.data ? courses.data : "");
    else if (!age_fits)
        dd_asked_wrong(a, "--age", ask->words->value[DD_OPTION_AGE], "is outside what %s is for\n    expected %s", e->name, whom.data ? whom.data : "");
    else if (ask->in.class_ == NULL)
        dd_asked_wrong(a, "--weight", ask->words->value[DD_OPTION_KG], "is outside what %s is for\n    expected %s", e->name, whom.data ? whom.data : "");
    dd_bytes_free(&whom);
    dd_bytes_free(&courses);
}

/* A class that goes by weight needs one, where the regimen leaves it open. */
static void check_weight(dd_asked *a, const dd_regimen_ask *ask)
{
    const dd_regimen_class *c = ask->in.class_;
    bool needed = false;
    for (size_t i = 0; c != NULL && i < c->stage_count; i++)
        needed = needed || c->stages[i].of != DD_OF_ML;
    if (needed && ask->in.weight_mg == DD_UNKNOWN)
        dd_asked_wrong(a, "--weight", NULL, "not given\n    expected %s", expected_of(DD_REG_WEIGHT));
}

/* The weights that can be believed: the built-in rows of the rule weight-band for the ages that it can be about. */
static void check_band(dd_asked *a, const dd_regimen_ask *ask)
{
    static const struct row { dd_rule_id id; const char *applies, *value; } rows[] = {
#define RULE(id_, name_, applies_, value_, severity_, evidence_, source_, note_) {DD_RULE_##id_, applies_, value_},
#include "daydrip/rule.def"
    };
    static const struct bound { const char *word; int64_t from_s, below_s; } bounds[] = {
        {"neonate", 0, NEONATE_S}, {"infant", NEONATE_S, YEAR_S}, {"child", YEAR_S, ADULT_S}, {"adult", ADULT_S, INT64_MAX},
    };
    const dd_regimen_class *c = ask->in.edition != NULL ? ask->in.class_ : NULL;
    bool known = ask->age_s != DD_UNKNOWN;
    int64_t from = known ? ask->age_s : c != NULL ? c->from_s : 0, below = known ? ask->age_s + 1 : c != NULL && c->below_s > 0 ? c->below_s : INT64_MAX;
    dd_quantity low = {.unit = DD_UNIT_NONE}, high = {.unit = DD_UNIT_NONE}, q;
    int64_t low_mg = 0, high_mg = 0, mg;
    if (ask->in.weight_mg == DD_UNKNOWN)
        return;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[64];
        size_t b = 0;
        const char *to = rows[i].id == DD_RULE_WEIGHT_BAND ? strstr(rows[i].value, " to ") : NULL;
        while (b < 4 && strcmp(bounds[b].word, rows[i].applies) != 0)
            b++;
        if (to == NULL || b == 4 || from >= bounds[b].below_s || below <= bounds[b].from_s)
            continue;
        int length = snprintf(text, sizeof text, "%.*s kg", (int)(to - rows[i].value), rows[i].value);
        if (dd_quantity_read(text, (size_t)length, DD_TAKES_MASS, false, &q, NULL) == DD_QF_NONE && dd_quantity_grams(q, &mg) == DD_OK && (low.unit == DD_UNIT_NONE || mg < low_mg)) {
            low = q;
            low_mg = mg;
        }
        if (dd_quantity_read(to + 4, strlen(to + 4), DD_TAKES_MASS, false, &q, NULL) == DD_QF_NONE && dd_quantity_grams(q, &mg) == DD_OK && mg > high_mg) {
            high = q;
            high_mg = mg;
        }
    }
    if (low.unit == DD_UNIT_NONE || high.unit == DD_UNIT_NONE || (ask->in.weight_mg >= low_mg && ask->in.weight_mg <= high_mg))
        return;
    char least[80], most[80];
    dd_number_quantity(least, sizeof least, low);
    dd_number_quantity(most, sizeof most, high);
    if (known)
        dd_asked_wrong(a, "--weight", ask->words->value[DD_OPTION_KG], "cannot be believed at the age of %.40s\n    expected %s to %s", ask->words->value[DD_OPTION_AGE], least, most);
    else
        dd_asked_wrong(a, "--weight", ask->words->value[DD_OPTION_KG], "cannot be believed of: %s\n    expected %s to %s", c != NULL ? c->whom : "anybody", least, most);
}

static void read_patient(dd_asked *a, dd_regimen_ask *ask)
{
    ask->age_s = ask->in.weight_mg = DD_UNKNOWN;
    if (quantity(a, ask->words, DD_REG_AGE, DD_TAKES_AGE, true, &ask->age) &&
        (dd_quantity_seconds(ask->age, &ask->age_s) != DD_OK || ask->age_s > INT64_C(130) * 31557600))
        dd_asked_wrong(a, "--age", text_of(ask->words, DD_REG_AGE), "is no age\n    expected %s", expected_of(DD_REG_AGE));
    if (quantity(a, ask->words, DD_REG_WEIGHT, DD_TAKES_MASS, false, &ask->weight) && dd_quantity_grams(ask->weight, &ask->in.weight_mg) != DD_OK)
        dd_asked_wrong(a, "--weight", text_of(ask->words, DD_REG_WEIGHT), "is too large\n    expected %s", expected_of(DD_REG_WEIGHT));
}

/* ---- numbers ---- */

/* A number that may stand without its per cent sign: the option's name says it. */
static bool bare(dd_asked *a, const dd_words *words, unsigned what, dd_ratio *out)
{
    char text[80];
    const char *given = text_of(words, what), *name = "";
    dd_quantity q;
    if (given == NULL)
        return false;
    for (size_t i = 0; i < OPTIONS; i++)
        name = options[i].takes == what ? options[i].name : name;
    size_t length = strlen(given), digits = strspn(given, "0123456789.,");
    snprintf(text, sizeof text, digits == length && length > 0 && length < 60 ? "%.60s %%" : "%.70s", given);
    return dd_asked_quantity(a, name, text, DD_TAKES_PERCENT, false, expected_of(what), &q) && dd_ratio_make(q.micro, 1000000, out) == DD_OK;
}

static bool within(dd_ratio value, int32_t low, int32_t high)
{
    return dd_ratio_compare(value, (dd_ratio){low, 1}) >= 0 && dd_ratio_compare(value, (dd_ratio){high, 1}) <= 0;
}

static void read_burn(dd_asked *a, dd_regimen_ask *ask)
{
    const dd_regimen_edition *e = ask->in.edition;
    const dd_words *w = ask->words;
    if (quantity(a, w, DD_REG_AREA, DD_TAKES_PERCENT, false, &ask->area) && dd_quantity_exact(ask->area, &ask->in.area) == DD_OK) {
        if (!within(ask->in.area, 1, 100))
            dd_asked_wrong(a, "--area", w->value[DD_OPTION_AREA], "is no part of the body that this is for\n    expected 1 %% to 100 %%, such as 40 %%");
        else if (ask->in.regimen->needs == (DD_REG_WEIGHT | DD_REG_AREA) && e->area_from > 0 && dd_ratio_compare(ask->in.area, (dd_ratio){e->area_from, 1}) <= 0)
            dd_asked_wrong(a, "--area", w->value[DD_OPTION_AREA], "is not what %s is for\n    expected more than %d %%", e->name, (int)e->area_from);
    }
    if (ask->in.regimen->coefficient > 0)
        ask->in.coefficient = (dd_ratio){ask->in.regimen->coefficient, 1};
    if (!bare(a, w, DD_REG_COEFFICIENT, &ask->in.coefficient))
        return;
    if (e != NULL && e->coefficient_low > 0 && !within(ask->in.coefficient, e->coefficient_low, e->coefficient_high)) {
        char said[40];
        snprintf(said, sizeof said, e->coefficient_low == e->coefficient_high ? "%d" : "%d to %d", (int)e->coefficient_low, (int)e->coefficient_high);
        dd_asked_wrong(a, "--coefficient", w->value[DD_OPTION_COEFFICIENT], "is not what %s says\n    expected %s, or the source that says this one", e->name, said);
    } else if (!within(ask->in.coefficient, 1, COEFFICIENT_MOST)) {
        dd_asked_wrong(a, "--coefficient", w->value[DD_OPTION_COEFFICIENT], "is far from what any source says, 2 to 4\n    expected 1 to %d", COEFFICIENT_MOST);
    }
}

static bool percent_fits(const dd_regimen_edition *e, dd_ratio percent)
{
    if (e->percent_high > 0)
        return within(percent, e->percent_low, e->percent_high);
    for (size_t i = 0; i < 4 && e->percents[i] > 0; i++)
        if (dd_ratio_compare(percent, (dd_ratio){e->percents[i], 1}) == 0)
            return true;
    return e->percents[0] == 0;
}

/* `5, 7, 10`, or `5 to 8` */
static void say_percents(const dd_regimen_edition *e, char out[40])
{
    int length = 0;
    if (e->percent_high > 0) {
        snprintf(out, 40, "%d to %d", (int)e->percent_low, (int)e->percent_high);
        return;
    }
    for (size_t i = 0; i < 4 && e->percents[i] > 0; i++)
        length += snprintf(out + length, 40 - (size_t)length, "%s%d", i ? ", " : "", (int)e->percents[i]);
}

static void read_deficit(dd_asked *a, dd_regimen_ask *ask)
{
    const dd_regimen_edition *e = ask->in.edition;
    char said[40];
    int64_t before;
    if (bare(a, ask->words, DD_REG_PERCENT, &ask->in.percent)) {
        ask->percent = (dd_quantity){.micro = (int64_t)(ask->in.percent.num * (1000000 / ask->in.percent.den)), .per_micro = 1000000, .unit = DD_UNIT_PERCENT};
        if (!within(ask->in.percent, 1, PERCENT_MOST))
            dd_asked_wrong(a, "--percent", ask->words->value[DD_OPTION_PERCENT], "is far from what any source has, up to 10\n    expected 1 to %d, per cent of the weight", PERCENT_MOST);
        else if (e != NULL && !percent_fits(e, ask->in.percent)) {
            say_percents(e, said);
            dd_asked_wrong(a, "--percent", ask->words->value[DD_OPTION_PERCENT], "is not what %s has\n    expected %s", e->name, said);
        }
    }
    if (quantity(a, ask->words, DD_REG_BEFORE, DD_TAKES_MASS, false, &ask->before) && ask->in.weight_mg != DD_UNKNOWN) {
        if (dd_quantity_grams(ask->before, &before) != DD_OK || before <= ask->in.weight_mg)
            dd_asked_wrong(a, "--before", ask->words->value[DD_OPTION_BEFORE], "is not above --weight, which is the weight now\n    expected more than %.40s", ask->words->value[DD_OPTION_KG]);
        else if ((before - ask->in.weight_mg) * 100 > before * PERCENT_MOST)
            dd_asked_wrong(a, "--before", ask->words->value[DD_OPTION_BEFORE], "would be a loss of more than %d %%, more than any source has\n    expected a weight nearer to %.40s", PERCENT_MOST, ask->words->value[DD_OPTION_KG]);
        else
            ask->in.lost_mg = before - ask->in.weight_mg;
    }
}

static bool read_part(dd_asked *a, dd_regimen_ask *ask, const char *option, const char *text)
{
    dd_quantity q;
    dd_regimen_inputs *in = &ask->in;
    if (in->part_count == DD_REGIMEN_PARTS_MOST) {
        dd_asked_wrong(a, option, text, "is one part too many\n    expected at most %d", DD_REGIMEN_PARTS_MOST);
        return false;
    }
    if (!dd_asked_quantity(a, option, text, DD_TAKES_TIME, false, "a time such as 8 h", &q) || dd_quantity_seconds(q, &in->parts_s[in->part_count]) != DD_OK)
        return false;
    if (in->parts_s[in->part_count] < 60) {
        dd_asked_wrong(a, option, text, "is too short\n    expected at least 1 min");
        return false;
    }
    in->part_count++;
    return true;
}

/* An edition's own times: one of them, or all of them in turn. */
static bool spans_fit(const dd_regimen_edition *e, const dd_regimen_inputs *in)
{
    size_t count = 0;
    while (count < 4 && e->spans[count] > 0)
        count++;
    if (e->split) {
        bool same = count == in->part_count;
        for (size_t i = 0; same && i < count; i++)
            same = in->parts_s[i] == e->spans[i] * INT64_C(60);
        return same;
    }
    bool found = count == 0;
    for (size_t i = 0; i < count; i++)
        found = found || (in->part_count == 1 && in->parts_s[0] == e->spans[i] * INT64_C(60));
    return found;
}

/* `24 h or 48 h`, `8h,16h` */
static void say_spans(const dd_regimen_edition *e, char out[80])
{
    int length = 0;
    for (size_t i = 0; i < 4 && e->spans[i] > 0; i++)
        length += snprintf(out + length, 80 - (size_t)length, e->split ? "%s%dh" : "%s%d h", i == 0 ? "" : e->split ? "," : " or ", (int)(e->spans[i] / 60));
}

static void read_parts(dd_asked *a, dd_regimen_ask *ask)
{
    const dd_words *w = ask->words;
    const char *split = w->value[DD_OPTION_IN_PARTS], *option = split ? "--split" : "--over", *text = split ? split : w->value[DD_OPTION_SPAN];
    if (text == NULL || !(ask->in.regimen->may & DD_REG_OVER))
        return;
    for (const char *from = text;; from++) {
        char part[64];
        size_t length = split ? strcspn(from, ",") : strlen(from);
        snprintf(part, sizeof part, "%.*s", (int)(length < sizeof part ? length : sizeof part - 1), from);
        if (!read_part(a, ask, option, part))
            return;
        from += length;
        if (*from == '\0')
            break;
    }
    char said[80];
    int64_t all = 0;
    for (size_t i = 0; i < ask->in.part_count; i++)
        all += ask->in.parts_s[i];
    if (all > DD_REGIMEN_SPAN_MOST_S)
        dd_asked_wrong(a, option, text, "is longer than any source has\n    expected at most 96 h in all");
    else if (ask->in.edition != NULL && !spans_fit(ask->in.edition, &ask->in)) {
        say_spans(ask->in.edition, said);
        dd_asked_wrong(a, option, text, "is not what %s says\n    expected %s %s, or the source that says this", ask->in.edition->name, ask->in.edition->split ? "--split" : "--over", said);
    }
}

/* Maintenance by weight holds for children from 28 days on. */
static void read_maintenance(dd_asked *a, dd_regimen_ask *ask)
{
    const char *text = ask->words->value[DD_OPTION_NEED];
    dd_ratio per;
    if (!(ask->in.regimen->needs & DD_REG_MAINTENANCE)) {
        ask->in.need = ask->in.regimen->needs & DD_REG_PERCENT ? DD_REGIMEN_EDITION : DD_REGIMEN_NONE;
        return;
    }
    if (text == NULL || strcmp(text, "none") == 0)
        return;
    if (strcmp(text, "daily") == 0 || strcmp(text, "hourly-421") == 0) {
        ask->in.need = *text == 'd' ? DD_REGIMEN_DAILY : DD_REGIMEN_HOURLY;
        if (ask->age_s != DD_UNKNOWN && (ask->age_s < NEONATE_S || ask->age_s >= ADULT_S))
            dd_asked_wrong(a, "--maintenance", text, "holds from 28 days to under 16 years\n    expected none, or a rate that was ordered");
        return;
    }
    if (!quantity(a, ask->words, DD_REG_MAINTENANCE, DD_TAKES_RATE | DD_TAKES_RATE_KG, false, &ask->rate))
        return;
    ask->in.need = DD_REGIMEN_RATE;
    bool fits = dd_quantity_exact(ask->rate, &ask->in.rate) == DD_OK && dd_quantity_below(ask->rate, &per) == DD_OK &&
        dd_ratio_over(ask->in.rate, per, &ask->in.rate) == DD_OK && dd_ratio_times(ask->in.rate, (dd_ratio){3600, 1}, &ask->in.rate) == DD_OK &&
        (!ask->rate.per_kg || ask->in.weight_mg == DD_UNKNOWN || dd_ratio_times(ask->in.rate, (dd_ratio){ask->in.weight_mg, 1000000}, &ask->in.rate) == DD_OK);
    if (!fits)
        dd_asked_wrong(a, "--maintenance", text, "is too large\n    expected %s", expected_of(DD_REG_MAINTENANCE));
}

static void read_others(dd_asked *a, dd_regimen_ask *ask)
{
    const dd_words *w = ask->words;
    const char *repeat = w->value[DD_OPTION_REPEAT], *set = w->value[DD_OPTION_DEVICE];
    dd_quantity q;
    dd_ratio exact, below;
    if (quantity(a, w, DD_REG_SINCE, DD_TAKES_TIME, true, &ask->since) && dd_quantity_seconds(ask->since, &ask->in.since_s) != DD_OK)
        dd_asked_wrong(a, "--since", w->value[DD_OPTION_SINCE_BURN], "is too long\n    expected %s", expected_of(DD_REG_SINCE));
    if (quantity(a, w, DD_REG_GIVEN, DD_TAKES_VOLUME | DD_TAKES_VOLUME_KG, true, &ask->given) &&
        (dd_quantity_exact(ask->given, &ask->in.given) != DD_OK ||
            (ask->given.per_kg && (ask->in.weight_mg == DD_UNKNOWN || dd_ratio_times(ask->in.given, (dd_ratio){ask->in.weight_mg, 1000000}, &ask->in.given) != DD_OK))))
        dd_asked_wrong(a, "--given", w->value[DD_OPTION_TAKEN], "is too large\n    expected %s", expected_of(DD_REG_GIVEN));
    if (quantity(a, w, DD_REG_SODIUM, DD_TAKES_STRENGTH, false, &q) && ask->in.edition != NULL && ask->in.edition->sodium_high > 0) {
        bool mmol = q.unit == DD_UNIT_MMOL && dd_quantity_exact(q, &exact) == DD_OK && dd_quantity_below(q, &below) == DD_OK &&
            dd_ratio_over(exact, below, &exact) == DD_OK && dd_ratio_times(exact, (dd_ratio){1000, 1}, &exact) == DD_OK; /* umol/uL to mmol/L */
        if (!mmol || dd_ratio_compare(exact, (dd_ratio){ask->in.edition->sodium_low, 1}) < 0 || dd_ratio_compare(exact, (dd_ratio){ask->in.edition->sodium_high + 1, 1}) >= 0)
            dd_asked_wrong(a, "--sodium", w->value[DD_OPTION_SODIUM], "is not what the table of %s is for\n    expected %d to %d mmol/L", ask->in.edition->name,
                (int)ask->in.edition->sodium_low, (int)ask->in.edition->sodium_high);
    }
    if (repeat != NULL && ask->in.class_ != NULL && ask->in.regimen->may & DD_REG_REPEAT) {
        bool whole = strlen(repeat) == 1 && *repeat >= '0' && *repeat <= '9';
        if (!whole || (*repeat > '0' && ask->in.class_->repeat_most == 0))
            dd_asked_wrong(a, "--repeat", repeat, "is not what %s says of: %s\n    expected %s", ask->in.edition->name, ask->in.class_->whom,
                ask->in.class_->repeat_most == 0 ? "each stage once" : expected_of(DD_REG_REPEAT));
        else if (*repeat - '0' > ask->in.class_->repeat_most)
            dd_asked_wrong(a, "--repeat", repeat, "is more than %s says of: %s\n    expected at most %d", ask->in.edition->name, ask->in.class_->whom, (int)ask->in.class_->repeat_most);
        else
            ask->in.repeat = *repeat - '0';
    }
    ask->pump = set != NULL && (strcmp(set, "pump") == 0 || strcmp(set, "syringe") == 0);
    if (set != NULL && !ask->pump && dd_asked_quantity(a, "--set", set, DD_TAKES_DROP_FACTOR, false, "pump, syringe, or drops per mL such as 20 gtt/mL", &q))
        ask->drop_factor_micro = q.micro;
}

/* ---- all of it ---- */

static void refuse(dd_asked *a, const dd_regimen_ask *ask, dd_regimen_fault fault)
{
    const dd_words *w = ask->words;
    char number[DD_NUMBER_MAX];
    const dd_regimen_result *r = &ask->result;
    dd_ratio ml;
    bool burn = ask->in.regimen->may & DD_REG_SINCE;
    switch (fault) {
    case DD_REGIMEN_MORE:
        if (dd_ratio_over(burn ? r->steps[0].formula : r->whole, (dd_ratio){1000, 1}, &ml) != DD_OK)
            ml = (dd_ratio){0, 1};
        dd_number_ratio(number, ml, 3, DD_STYLE_PERSON);
        if (w->value[DD_OPTION_TAKEN] == NULL)
            dd_asked_wrong(a, "--course", w->value[DD_OPTION_COURSE], "gives more at once than the whole deficit of %s mL\n    expected another course; whoever leads decides", number);
        else
            dd_asked_wrong(a, "--given", w->value[DD_OPTION_TAKEN], "is more than is due%s: %s mL\n    expected at most that; what follows is for whoever leads the treatment to say",
                burn ? " in the first stage" : "", number);
        break;
    case DD_REGIMEN_OVER:
        dd_asked_wrong(a, "--since", w->value[DD_OPTION_SINCE_BURN], "is past the first stage, which ends %d h after the burn\n    expected less; what is due now is for the burn team to say",
            (int)(r->steps[0].stage->minutes / 60));
        break;
    case DD_REGIMEN_NO_CELL: {
        dd_bytes kg = DD_BYTES(1000);
        for (size_t i = 0; i < ask->in.edition->cell_count; i++)
            dd_bytes_form(&kg, "%s%d", i ? ", " : "", (int)ask->in.edition->cells[i].kg);
        dd_asked_wrong(a, "--weight", w->value[DD_OPTION_KG], "has no row in the table of %s that was read, and nothing is put between rows\n    expected one of %s kg", ask->in.edition->name, kg.data ? kg.data : "");
        dd_bytes_free(&kg);
        break;
    }
    case DD_REGIMEN_TOO_LARGE:
    case DD_REGIMEN_FINE:
        dd_asked_wrong(a, ask->in.weight_mg != DD_UNKNOWN ? "--weight" : "--given", ask->in.weight_mg != DD_UNKNOWN ? w->value[DD_OPTION_KG] : NULL,
            "leads to more than there can be\n    expected at most 100 L and 10 L/h");
        break;
    }
}

bool dd_regimen_read(dd_asked *a, const dd_regimen *regimen, const dd_words *words, dd_regimen_ask *ask)
{
    static const dd_quantity none = {.per_micro = 1000000, .unit = DD_UNIT_NONE, .per = DD_UNIT_NONE};
    *ask = (dd_regimen_ask){.words = words, .source = words->value[DD_OPTION_SOURCE], .age_s = DD_UNKNOWN, .weight = none, .age = none, .before = none, .area = none,
        .percent = none, .given = none, .rate = none, .since = none};
    ask->in = (dd_regimen_inputs){.regimen = regimen, .edition = dd_regimen_edition_find(regimen, ask->source), .weight_mg = DD_UNKNOWN, .lost_mg = DD_UNKNOWN};
    size_t length = strlen(ask->source);
    if (length == 0 || length > SOURCE_MOST || strspn(ask->source, " \t") == length)
        dd_asked_wrong(a, "--source", ask->source, "is no name of a source\n    expected 1 to %d characters", SOURCE_MOST);
    check_options(a, regimen, words);
    read_patient(a, ask);
    if (a->wrong)
        return false;
    if (ask->in.edition != NULL)
        find_class(a, ask);
    else
        ask->in.class_ = &regimen->editions[0].classes[0]; /* a source of the user's own goes as the first edition does */
    check_weight(a, ask);
    check_band(a, ask);
    read_burn(a, ask);
    read_deficit(a, ask);
    read_parts(a, ask);
    read_maintenance(a, ask);
    read_others(a, ask);
    if (a->wrong)
        return false;
    dd_regimen_fault fault = dd_regimen_work_out(&ask->in, &ask->result);
    if (fault != DD_REGIMEN_FINE)
        refuse(a, ask, fault);
    return !a->wrong;
}
