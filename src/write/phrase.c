#include "phrase.h"

#include <string.h>

#include "names.h"
#include "stock.h"

dd_bytes *dd_phrase_start(dd_bytes *b)
{
    dd_bytes_clear(b);
    dd_bytes_text(b, ""); /* puts the NUL back */
    return b;
}

const char *dd_phrase_text(const dd_bytes *b)
{
    return b->data && !b->failed ? b->data : "";
}

/* ---- volumes, rates, times ---- */

int dd_phrase_decimals(const dd_patient *patient)
{
    return patient->class_at_begin == DD_CLASS_ADULT ? 0 : 1;
}

int64_t dd_phrase_shown(const dd_patient *patient, dd_u volume)
{
    dd_ratio ul;
    int64_t shown = 0;
    if (dd_ratio_make(volume.u, DD_U_PER_UL, &ul) != DD_OK || dd_ratio_half_up(ul, dd_phrase_decimals(patient) ? 100 : 1000, &shown) != DD_OK)
        return 0;
    return shown;
}

void dd_phrase_volume(dd_bytes *out, const dd_patient *patient, dd_u volume)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_u(number, volume, dd_phrase_decimals(patient), DD_STYLE_PERSON));
}

void dd_phrase_ul(dd_bytes *out, int64_t ul)
{
    char number[DD_NUMBER_MAX];
    if (ul == DD_UNKNOWN)
        dd_bytes_text(out, "?");
    else
        dd_bytes_add(out, number, dd_number_scaled(number, ul, 3, 3, DD_STYLE_PERSON));
    dd_bytes_text(out, " mL");
}

void dd_phrase_rate(dd_bytes *out, dd_rate rate)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, rate.ul_per_h, 3, 3, DD_STYLE_PERSON));
    dd_bytes_text(out, " mL/h");
}

void dd_phrase_set_rate(dd_bytes *out, dd_set_rate rate)
{
    char number[DD_NUMBER_MAX];
    if (rate.drops <= 0) {
        dd_phrase_rate(out, rate.set);
        return;
    }
    dd_bytes_add(out, number, dd_number_scaled(number, rate.drops, 0, 0, DD_STYLE_PERSON));
    dd_bytes_text(out, " drops/min");
}

void dd_phrase_rate_of(dd_bytes *out, const dd_timeline *t, int order, dd_rate rate)
{
    size_t steps = t->patient->orders[order].step_count;
    for (size_t i = 0; i < (steps ? steps : 1); i++)
        if (t->rates[order][i].set.ul_per_h == rate.ul_per_h) {
            dd_phrase_set_rate(out, t->rates[order][i]);
            return;
        }
    dd_phrase_rate(out, rate);
}

void dd_phrase_time(dd_bytes *out, const dd_plan *plan, dd_moment t, dd_moment_style style)
{
    char text[DD_MOMENT_MAX];
    dd_bytes_add(out, text, dd_moment_write(text, plan->zone, t, style));
    if (t == DD_NEVER || style == DD_MOMENT_OFFSET || style == DD_MOMENT_DATE)
        return;
    dd_clock_kind kind;
    dd_moment first = dd_moment_resolve(plan->zone, dd_moment_local(plan->zone, t), &kind);
    if (kind == DD_CLOCK_TWICE)
        dd_bytes_text(out, first == t ? " (1st)" : " (2nd)");
}

void dd_phrase_span(dd_bytes *out, int64_t seconds)
{
    char text[DD_MOMENT_MAX];
    dd_bytes_add(out, text, dd_moment_span(text, seconds));
}

/* ---- names ---- */

const char *dd_phrase_bed(const dd_patient *patient)
{
    return patient->bed ? patient->bed : patient->key;
}

void dd_phrase_capitals(dd_bytes *out, const char *text)
{
    for (; *text; text++)
        dd_bytes_char(out, *text >= 'a' && *text <= 'z' ? (char)(*text - 'a' + 'A') : *text);
}

bool dd_phrase_no_allergy(const dd_patient *patient)
{
    const char *a = patient->allergies;
    return a && (strcmp(a, "none") == 0 || strcmp(a, "None") == 0 || strcmp(a, "NONE") == 0);
}

void dd_phrase_allergy(dd_bytes *out, const dd_patient *patient)
{
    dd_bytes_text(out, "ALLERGY: ");
    if (!patient->allergies)
        dd_bytes_text(out, "NOT RECORDED");
    else if (dd_phrase_no_allergy(patient))
        dd_bytes_text(out, "NONE KNOWN");
    else
        dd_phrase_capitals(out, patient->allergies);
}

void dd_phrase_age(dd_bytes *out, const dd_patient *p)
{
    static const struct { int64_t below, unit; const char *one, *many; } steps[] = {
        {28 * 86400, 86400, "day", "days"}, {2 * 31557600, 2629800, "month", "months"}, {INT64_MAX, 31557600, "year", "years"}};
    if (!p->age_text)
        return;
    if (!strchr(p->age_text, '.') || p->age_s == DD_UNKNOWN) {
        dd_phrase_spaced(out, p->age_text);
        return;
    }
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (p->age_s < steps[i].below) {
            char number[DD_NUMBER_MAX];
            int64_t whole = p->age_s / steps[i].unit;
            dd_number_scaled(number, whole, 0, 0, DD_STYLE_PERSON);
            dd_bytes_form(out, "%s %s", number, whole == 1 ? steps[i].one : steps[i].many);
            return;
        }
}

void dd_phrase_weight(dd_bytes *out, const dd_patient *patient)
{
    char number[DD_NUMBER_MAX];
    if (patient->weight_mg == DD_UNKNOWN) {
        dd_bytes_text(out, "no weight");
        return;
    }
    dd_bytes_add(out, number, dd_number_scaled(number, patient->weight_mg, 6, 3, DD_STYLE_PERSON));
    dd_bytes_text(out, " kg");
}

static bool digit(char c)
{
    return c >= '0' && c <= '9';
}

void dd_phrase_spaced(dd_bytes *out, const char *text)
{
    for (char before = ' '; *text; before = *text++) {
        bool unit = *text == '%' || (*text >= 'a' && *text <= 'z') || (*text >= 'A' && *text <= 'Z');
        if (digit(before) && unit)
            dd_bytes_char(out, ' ');
        dd_bytes_char(out, *text);
    }
}

void dd_phrase_quantity(dd_bytes *out, dd_quantity q)
{
    char text[2 * DD_NUMBER_MAX];
    size_t length = dd_number_quantity(text, sizeof text, q);
    dd_bytes_add(out, text, length < sizeof text ? length : sizeof text - 1);
}

void dd_phrase_what(dd_bytes *out, const dd_order *order)
{
    const dd_mixture *m = order->mixture;
    if (!m->drug) {
        dd_bytes_text(out, m->words);
        return;
    }
    dd_bytes_text(out, m->drug);
    if (m->drug_amount.unit != DD_UNIT_NONE) {
        dd_bytes_char(out, ' ');
        dd_phrase_quantity(out, m->drug_amount);
    }
}

/* ---- findings ---- */

#define DAYS_FROM (3 * 86400) /* seconds; what is longer is said in days and whole hours */

static bool is_time(dd_quantity q, int64_t *seconds)
{
    return dd_quantity_dimension(q.unit) == DD_DIM_TIME && q.per == DD_UNIT_NONE && dd_quantity_seconds(q, seconds) == DD_OK;
}

/* Two times that are not the same and would be read as the same to the minute. */
static bool need_seconds(dd_quantity figure, dd_quantity limit)
{
    char a[DD_MOMENT_MAX], b[DD_MOMENT_MAX];
    int64_t x, y;
    if (!is_time(figure, &x) || !is_time(limit, &y) || x == y || x >= DAYS_FROM || y >= DAYS_FROM)
        return false;
    size_t length = dd_moment_span(a, x);
    return length == dd_moment_span(b, y) && memcmp(a, b, length) == 0;
}

/* A time as people say it, `1 h 35 min`, `7 days 1 h`, to the second `44 min 40 s`; anything else as it is written. */
static void add_figure(dd_bytes *out, dd_quantity q, bool to_the_second)
{
    char number[DD_NUMBER_MAX];
    int64_t seconds;
    bool time = is_time(q, &seconds);
    if (time && to_the_second && seconds > 60 && seconds % 60) {
        dd_phrase_span(out, seconds - seconds % 60);
        dd_bytes_char(out, ' ');
        dd_phrase_span(out, seconds % 60);
    } else if (time && seconds >= DAYS_FROM) {
        dd_bytes_add(out, number, dd_number_scaled(number, seconds / 86400, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(out, seconds % 86400 >= 3600 ? " days " : " days");
        if (seconds % 86400 >= 3600)
            dd_phrase_span(out, seconds % 86400 / 3600 * 3600);
    } else if (time)
        dd_phrase_span(out, seconds);
    else
        dd_phrase_quantity(out, q);
}

/* ` by 40 mL: 288 mL left, should be 248 mL` */
static void add_reading(dd_bytes *out, const dd_patient *p, const dd_course *c)
{
    bool left = c->reading->event->what[0] == 'l';
    int64_t away = c->said.u > c->should.u ? c->said.u - c->should.u : c->should.u - c->said.u;
    dd_bytes_text(out, " by ");
    dd_phrase_volume(out, p, (dd_u){away});
    dd_bytes_text(out, " mL: ");
    dd_phrase_volume(out, p, c->said);
    dd_bytes_text(out, left ? " mL left, should be " : " mL given, should be ");
    dd_phrase_volume(out, p, c->should);
    dd_bytes_text(out, " mL");
}

void dd_phrase_expiry(dd_bytes *out, const dd_plan *plan, dd_moment expires)
{
    dd_civil local = dd_moment_local(plan->zone, expires);
    bool day = local.hour == 0 && local.minute == 0 && local.second == 0;
    char text[DD_MOMENT_MAX];
    size_t length = dd_moment_write(text, plan->zone, day ? expires - 1 : expires, DD_MOMENT_LOCAL);
    dd_bytes_add(out, text, day ? strcspn(text, " ") : length - 3); /* seconds are never written there */
}

/* `, lot LF1042A, expires 2027-05-31, bags.csv line 2` */
static void add_stock(dd_bytes *out, const dd_plan *plan, const dd_stock *s)
{
    char number[DD_NUMBER_MAX];
    const char *lot = s->lot ? s->lot : s->code_lot;
    dd_moment expires = dd_stock_expires(s);
    if (lot) {
        dd_bytes_text(out, ", lot ");
        dd_bytes_text(out, lot);
    }
    if (expires != DD_NEVER) {
        dd_bytes_text(out, ", expires ");
        dd_phrase_expiry(out, plan, expires);
    }
    dd_bytes_text(out, ", bags.csv line ");
    dd_bytes_add(out, number, dd_number_scaled(number, s->line_of_file, 0, 0, DD_STYLE_PROGRAM));
}

/* Whether the line's name alone says which order is meant: a fluid, and no other one is written for that line. */
static bool line_says(const dd_patient *p, int order, int line)
{
    if (p->orders[order].mixture->drug || p->orders[order].category == DD_CAT_FEED)
        return false;
    for (int o = 0; o < p->order_count; o++)
        if (o != order && p->orders[o].line == line && !p->orders[o].mixture->drug)
            return false;
    return true;
}

/* `brief`: beside a bed, where the rest stands on the patient's page. */
static void add_finding(dd_bytes *out, const dd_timeline *t, const dd_finding *f, bool brief)
{
    const dd_patient *p = t->patient;
    bool named = f->order >= 0 && !(brief && f->line >= 0 && line_says(p, f->order, f->line));
    if (named)
        dd_phrase_what(out, &p->orders[f->order]);
    if (f->line >= 0) {
        dd_bytes_text(out, named ? " on " : "");
        dd_bytes_text(out, p->lines[f->line].key);
    }
    const char *sentence = dd_names_sentence(f->code);
    bool asks = *sentence && sentence[strlen(sentence) - 1] == '?'; /* then nothing stands behind it */
    if (asks && f->due != DD_NEVER) {
        dd_bytes_text(out, ", due ");
        dd_phrase_time(out, t->plan, f->due, DD_MOMENT_DAY);
    }
    if (f->order >= 0 || f->line >= 0)
        dd_bytes_text(out, ": ");
    dd_bytes_text(out, sentence);
    if (f->course)
        add_reading(out, p, f->course);
    if (f->other >= 0) {
        dd_bytes_text(out, "; the other: ");
        dd_phrase_what(out, &p->orders[f->other]);
    }
    if (f->word) {
        dd_bytes_text(out, ": ");
        dd_bytes_text(out, f->word);
    }
    if (f->stock)
        add_stock(out, t->plan, f->stock);
    if (f->to != DD_NEVER) {
        dd_bytes_text(out, ", from ");
        dd_phrase_time(out, t->plan, f->at, DD_MOMENT_DAY);
        dd_bytes_text(out, " to ");
        dd_phrase_time(out, t->plan, f->to, DD_MOMENT_DAY);
    }
    if (f->event && !(brief && f->course)) {
        dd_bytes_text(out, ", entry ");
        dd_bytes_text(out, f->event->entry);
        dd_bytes_text(out, " of ");
        dd_phrase_time(out, t->plan, f->event->time, DD_MOMENT_DAY);
        if (f->event->kind == DD_EVENT_WEIGHED) {
            dd_bytes_text(out, ": ");
            dd_phrase_quantity(out, f->event->value);
        }
    }
    if (f->due != DD_NEVER && !asks) {
        dd_bytes_text(out, ", due ");
        dd_phrase_time(out, t->plan, f->due, DD_MOMENT_DAY);
    }
    bool to_the_second = need_seconds(f->figure, f->limit);
    if (f->figure.unit != DD_UNIT_NONE && !(brief && f->course)) {
        dd_bytes_text(out, ", ");
        add_figure(out, f->figure, to_the_second);
    }
    if (!brief && f->limit.unit != DD_UNIT_NONE) {
        dd_bytes_text(out, " (limit ");
        add_figure(out, f->limit, to_the_second);
        dd_bytes_char(out, ')');
    }
}

void dd_phrase_finding(dd_bytes *out, const dd_timeline *t, const dd_finding *f)
{
    add_finding(out, t, f, false);
}

void dd_phrase_finding_brief(dd_bytes *out, const dd_timeline *t, const dd_finding *f)
{
    add_finding(out, t, f, true);
}

void dd_phrase_source(dd_bytes *out, const dd_finding *f)
{
    char number[DD_NUMBER_MAX];
    const dd_rule *rule = f->rule;
    dd_bytes_text(out, rule ? rule->source : f->source ? f->source : "");
    if (rule && rule->evidence == DD_EV_MEMORY)
        dd_bytes_text(out, " (from memory)");
    if (rule && rule->at.line) {
        dd_bytes_text(out, ", rules.csv line ");
        dd_bytes_add(out, number, dd_number_scaled(number, rule->at.line, 0, 0, DD_STYLE_PROGRAM));
    }
}

/* ---- entries ---- */

void dd_phrase_forward(dd_bytes *out, const dd_patient *p)
{
    if (!p->forward_known || p->forward_ul == DD_UNKNOWN)
        return;
    dd_bytes_text(out, p->forward_ul > 0 ? "brought forward, not in SUM: +" : "brought forward, not in SUM: ");
    dd_phrase_ul(out, p->forward_ul);
}

void dd_phrase_event(dd_bytes *out, const dd_timeline *t, const dd_event *e)
{
    static const char *const kinds[] = {
#define EVENT(id, text, about, takes) text,
#include "daydrip/event.def"
#undef EVENT
    };
    const dd_patient *p = t->patient;
    if (e->order >= 0)
        dd_bytes_text(out, p->orders[e->order].key);
    else if (e->line >= 0)
        dd_bytes_text(out, p->lines[e->line].key);
    dd_bytes_text(out, e->order >= 0 || e->line >= 0 ? " " : "");
    dd_bytes_text(out, kinds[e->kind]);
    if (e->kind == DD_EVENT_STRUCK && e->strikes >= 0) {
        dd_bytes_text(out, " entry ");
        dd_bytes_text(out, p->events[e->strikes].entry);
    }
    if (e->kind == DD_EVENT_MOVED && e->line >= 0) {
        dd_bytes_text(out, " to ");
        dd_bytes_text(out, p->lines[e->line].key);
    }
    if (e->value_text) {
        dd_bytes_char(out, ' ');
        if (e->value.unit != DD_UNIT_NONE)
            dd_phrase_quantity(out, e->value);
        else
            dd_bytes_text(out, e->value_text);
    }
    dd_bytes_char(out, ' ');
    dd_phrase_time(out, t->plan, e->time, DD_MOMENT_DAY);
}

/* ---- headings ---- */

void dd_phrase_not_planned(dd_bytes *out, const dd_view *view, size_t most)
{
    char number[DD_NUMBER_MAX];
    size_t shown = 0, more = 0;
    for (size_t i = 0; i < view->count; i++) {
        const dd_patient *p = view->patients[i];
        if (p->errors == 0)
            continue;
        if (shown == most) {
            more++;
            continue;
        }
        shown++;
        dd_bytes_text(out, "NOT PLANNED: ");
        dd_bytes_text(out, dd_phrase_bed(p));
        dd_bytes_text(out, ", ");
        dd_bytes_add(out, number, dd_number_scaled(number, p->errors, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(out, p->errors == 1 ? " error\n" : " errors\n");
    }
    if (more) {
        dd_bytes_text(out, "NOT PLANNED: ");
        dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)more, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(out, " more\n");
    }
}

void dd_phrase_made(dd_bytes *out, const dd_view *view)
{
    dd_bytes_text(out, "made ");
    dd_phrase_time(out, view->plan, view->now, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(out, " (");
    dd_phrase_time(out, view->plan, view->now, DD_MOMENT_OFFSET);
    dd_bytes_char(out, ')');
}

void dd_phrase_view_span(dd_bytes *out, const dd_view *view)
{
    if (view->shift) {
        dd_bytes_text(out, view->shift);
        dd_bytes_text(out, ", ");
    }
    dd_phrase_time(out, view->plan, view->from, DD_MOMENT_DATE_CLOCK);
    dd_bytes_text(out, " to ");
    dd_phrase_time(out, view->plan, view->to, DD_MOMENT_DATE_CLOCK);
}

bool dd_phrase_clocks_change(dd_bytes *out, const dd_plan *plan, dd_moment from, dd_moment to)
{
    if (dd_moment_offset(plan->zone, from) == dd_moment_offset(plan->zone, to))
        return false;
    dd_bytes_text(out, "The clocks change: this span has ");
    dd_phrase_span(out, to - from);
    dd_bytes_text(out, ".");
    return true;
}

bool dd_phrase_later(dd_bytes *out, const dd_view *view, const dd_timeline *const *timelines, size_t count)
{
    char number[DD_NUMBER_MAX];
    size_t entries = 0;
    for (size_t i = 0; i < count; i++)
        if (timelines[i])
            entries += timelines[i]->later_entries + (view->known_asked ? 0 : timelines[i]->unwritten_entries);
    if (entries == 0)
        return false;
    dd_number_scaled(number, (int64_t)entries, 0, 0, DD_STYLE_PERSON);
    dd_bytes_text(out, number);
    dd_bytes_text(out, entries == 1 ? " entry is later than " : " entries are later than ");
    dd_phrase_time(out, view->plan, view->now, DD_MOMENT_DAY);
    dd_bytes_text(out, " and not counted");
    return true;
}
