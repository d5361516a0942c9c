#include "chart_words.h"

#include <stdio.h>
#include <string.h>

#include "nearest.h"
#include "show.h"

#define VALUE_CHARACTERS 60
#define LIST_CEILING ((size_t)64 << 10)
#define LISTED 12           /* keys that a message names */
#define WORDS_MOST 1000     /* bytes of a value */

typedef enum about { ORDER, LINE, PATIENT, ENTRY } about;
typedef enum takes { NOTHING, FLOW, VOLUME_OR_NOTHING, READING, SITE, MEASURE, WEIGHT } takes;

static const struct event_shape { const char *text; about about; takes takes; } shapes[DD_EVENT_COUNT] = {
#define EVENT(id, text, about, takes) [DD_EVENT_##id] = {text, about, takes},
#include "daydrip/event.def"
#undef EVENT
};

static const char *const whats[2][8] = {
    {"oral", "feed", "other", NULL}, {"urine", "stool", "vomit", "gastric", "drain", "blood", "other", NULL},
};
static const char *const what_words[2] = {"oral, feed or other", "urine, stool, vomit, gastric, drain, blood or other"};

/* ---- complaints ---- */

static void place(dd_chart *c, const dd_chart_line *line)
{
    if (line->text) {
        dd_show_safe(c->source, strlen(c->source), VALUE_CHARACTERS, c->err);
        dd_bytes_form(c->err, ":%lu: ", (unsigned long)line->number);
    } else {
        dd_bytes_text(c->err, "daydrip chart: ");
    }
}

static void excerpt(dd_chart *c, const dd_chart_line *line)
{
    if (!line->text)
        return;
    dd_bytes_form(c->err, "%4lu | ", (unsigned long)line->number);
    dd_show_safe(line->text, strlen(line->text), 96, c->err);
    dd_bytes_char(c->err, '\n');
}

void dd_chart_words_wrong(dd_chart *c, const dd_chart_line *line, const char *name, const char *before, const char *value, const char *after,
                          const char *code, const char *expected)
{
    place(c, line);
    dd_bytes_form(c->err, "%s: %s", name, before);
    if (value) {
        dd_bytes_char(c->err, '"');
        dd_show_safe(value, strlen(value), VALUE_CHARACTERS, c->err);
        dd_bytes_char(c->err, '"');
    }
    dd_bytes_text(c->err, after);
    if (code)
        dd_bytes_form(c->err, " [%s]", code);
    dd_bytes_char(c->err, '\n');
    excerpt(c, line);
    dd_bytes_form(c->err, "   expected %s\n", expected);
}

/* What stands for a value of the event. */
static void value_words(const dd_entry *entry, dd_bytes *out)
{
    int kind = entry->event.kind;
    const dd_patient *p = entry->patient;
    const char *key = entry->cells[DD_COL_CHART_ORDER - DD_COL_CHART_ENTRY];
    switch (shapes[kind].takes) {
    case NOTHING: dd_bytes_form(out, "nothing behind %s; a remark goes into --note", shapes[kind].text); return;
    case FLOW:
        for (int i = 0; key && i < p->order_count; i++)
            if (strcmp(p->orders[i].key, key) == 0) {
                dd_bytes_text(out, p->orders[i].device == DD_GRAVITY ? "a rate such as 24 gtt/min or 80 mL/h" : "a rate such as 80 mL/h");
                return;
            }
        dd_bytes_text(out, "a rate such as 80 mL/h, or 24 gtt/min on a gravity set");
        return;
    case VOLUME_OR_NOTHING: dd_bytes_text(out, "the volume of the bag such as 500 mL, or nothing: as ordered"); return;
    case READING: dd_bytes_text(out, "given 437 mL or left 120 mL"); return;
    case SITE: dd_bytes_text(out, "clean, red, swollen, painful or leaking"); return;
    case MEASURE: dd_bytes_text(out, "a volume such as 150 mL, grams of a nappy such as 60 g, or unmeasured"); return;
    case WEIGHT: dd_bytes_text(out, "a weight such as 8.9 kg"); return;
    }
}

/* The doses that --due may name. */
static void due_words(const dd_entry *entry, dd_bytes *out)
{
    const dd_order *o = &entry->patient->orders[entry->event.order];
    dd_bytes_text(out, "--due with the time at which the dose is due");
    if (o->repeat != DD_TIMES) {
        dd_bytes_text(out, ", such as --due 14:00");
        return;
    }
    for (int i = 0; i < o->clock_count && i < LISTED; i++)
        dd_bytes_form(out, "%s%02d:%02d", i == 0 ? ": " : i + 1 == o->clock_count ? " or " : ", ", o->clocks[i] / 3600, o->clocks[i] / 60 % 60);
}

void dd_chart_words_faults(dd_chart *c, const dd_chart_line *line, const dd_entry *entry)
{
    for (size_t i = 0; i < c->entries.faults.count; i++) {
        const dd_message *m = &c->entries.faults.kept[i];
        dd_bytes fits = DD_BYTES(LIST_CEILING);
        bool own = m->id == DD_MSG_UNIT_UNSAFE || m->id == DD_MSG_COLUMN_MISSING; /* its own words say more */
        if (m->id == DD_MSG_EVENT_DUE)
            due_words(entry, &fits);
        else if (strcmp(m->name, "value") == 0 && !own)
            value_words(entry, &fits);
        place(c, line);
        dd_show_what(m, c->err);
        excerpt(c, line);
        if (fits.length)
            dd_bytes_form(c->err, "   expected %s\n", fits.data);
        else
            dd_show_expected(m, c->err);
        dd_bytes_free(&fits);
    }
    c->entries.faults = DD_SINK(c->entries.faults.arena);
}

/* ---- lists of what there is ---- */

static void list_item(dd_bytes *out, size_t i, size_t count, const char *key)
{
    if (i < LISTED)
        dd_bytes_form(out, "%s%s", i ? ", " : "", key);
    else if (i == LISTED)
        dd_bytes_form(out, " and %lu more", (unsigned long)(count - LISTED));
}

static void list_orders(const dd_patient *p, dd_bytes *out)
{
    for (size_t i = 0; i < p->order_count; i++)
        list_item(out, i, p->order_count, p->orders[i].key);
    if (p->order_count == 0)
        dd_bytes_text(out, "no order: there is none");
}

static void list_lines(const dd_patient *p, dd_bytes *out)
{
    for (size_t i = 0; i < p->line_count; i++)
        list_item(out, i, p->line_count, p->lines[i].key);
    if (p->line_count == 0)
        dd_bytes_text(out, "no line: there is none");
}

static void list_events(about a, dd_bytes *out)
{
    size_t n = 0, count = 0;
    for (int i = 0; i < DD_EVENT_COUNT; i++)
        count += shapes[i].about == a;
    for (int i = 0; i < DD_EVENT_COUNT; i++)
        if (shapes[i].about == a) {
            dd_bytes_form(out, "%s%s", n == 0 ? "" : n + 1 == count ? " or " : ", ", shapes[i].text);
            n++;
        }
}

static int find_order(const dd_patient *p, const char *key)
{
    for (int i = 0; i < p->order_count; i++)
        if (strcmp(p->orders[i].key, key) == 0)
            return i;
    return -1;
}

static int find_line(const dd_patient *p, const char *key)
{
    for (int i = 0; i < p->line_count; i++)
        if (strcmp(p->lines[i].key, key) == 0)
            return i;
    return -1;
}

static int find_event(const char *word)
{
    for (int i = 0; word && i < DD_EVENT_COUNT; i++)
        if (strcmp(shapes[i].text, word) == 0)
            return i;
    return -1;
}

static bool is_what(int out, const char *word)
{
    for (const char *const *w = whats[out]; word && *w; w++)
        if (strcmp(*w, word) == 0)
            return true;
    return false;
}

/* ---- the words in their order ---- */

typedef struct phrase {
    dd_chart *c;
    const dd_chart_line *line;
    dd_entry *entry;
    char **words;
    int count;
} phrase;

static void set(phrase *p, dd_column_id column, const char *text)
{
    *dd_entry_cell(p->entry, column) = text && *text ? text : NULL;
}

/* A complaint that ends in a list. */
static bool wrong_list(phrase *p, const char *name, const char *value, const char *after, const char *code, dd_bytes *list)
{
    dd_chart_words_wrong(p->c, p->line, name, "", value, after, code, list->data ? list->data : "");
    p->c->no_memory = p->c->no_memory || list->failed;
    dd_bytes_free(list);
    return false;
}

static bool read_patient(phrase *p)
{
    size_t count;
    const dd_patient *patients = dd_entry_patients(p->c->folder, &count), *found = NULL;
    const char *word = p->words[0];
    bool two = false;
    dd_nearest nearest = dd_nearest_begin(word, strlen(word));
    for (size_t i = 0; i < count; i++) {
        const dd_patient *one = &patients[i];
        if (strcmp(one->key, word) == 0 || strcmp(one->bed, word) == 0) {
            two = two || found;
            found = one;
        }
        dd_nearest_offer(&nearest, one->bed, strlen(one->bed));
        dd_nearest_offer(&nearest, one->key, strlen(one->key));
    }
    if (found && !two) {
        p->entry->patient = found;
        return true;
    }
    dd_bytes list = DD_BYTES(LIST_CEILING);
    if (two)
        dd_bytes_text(&list, "the key of one patient, as it stands in patients.csv");
    else if (nearest.best)
        dd_bytes_text(&list, nearest.best);
    else
        for (size_t i = 0; i < count; i++)
            list_item(&list, i, count, patients[i].bed);
    return wrong_list(p, "BED", word, two ? " is the bed of one patient and the key of another" : " is no bed and no patient of this plan",
                      "patient-unknown", &list);
}

/* The words from `from` on, with a blank between them. */
static bool read_value(phrase *p, int from)
{
    dd_bytes value = DD_BYTES(WORDS_MOST);
    for (int i = from; i < p->count; i++) {
        if (i > from)
            dd_bytes_char(&value, ' ');
        dd_bytes_text(&value, p->words[i]);
    }
    bool fine = !value.failed;
    if (!fine)
        dd_chart_words_wrong(p->c, p->line, "VALUE", "", p->words[from], " and what follows is too long", NULL, "a value of a few words");
    else if (value.length) {
        char *text = dd_arena_text(p->c->entries.faults.arena, value.data, value.length);
        p->c->no_memory = p->c->no_memory || !text;
        set(p, DD_COL_CHART_VALUE, text);
    }
    dd_bytes_free(&value);
    return fine;
}

static void set_event(phrase *p, int kind)
{
    p->entry->event.kind = (uint8_t)kind;
    set(p, DD_COL_CHART_EVENT, shapes[kind].text);
}

/* BED intake oral 150 mL, BED weighed 8.9 kg; what went in or out may also stand first. */
static bool read_about_patient(phrase *p, int kind, int what)
{
    set_event(p, kind);
    if (kind == DD_EVENT_WEIGHED)
        return read_value(p, 2);
    int out = kind == DD_EVENT_OUTPUT;
    const char *word = what < p->count ? p->words[what] : NULL;
    if (!is_what(out, word)) {
        dd_chart_words_wrong(p->c, p->line, "what", "", word ? word : "", out ? " is not what output takes" : " is not what intake takes", "event-what",
                             what_words[out]);
        return false;
    }
    set(p, DD_COL_CHART_WHAT, word);
    return read_value(p, 3);
}

/* BED ENTRY struck. */
static bool read_struck(phrase *p, const char *entry)
{
    set_event(p, DD_EVENT_STRUCK);
    set(p, DD_COL_CHART_STRIKES, entry);
    return read_value(p, 3);
}

/* BED ORDER EVENT [VALUE]. An order that nobody knows may stand in a row that could not be read: nobody else's error refuses an entry. */
static bool read_about_order(phrase *p, int kind)
{
    const dd_patient *patient = p->entry->patient;
    const char *key = p->words[1];
    dd_bytes list = DD_BYTES(LIST_CEILING);
    set_event(p, kind);
    if (find_order(patient, key) < 0 && !dd_entry_lost(p->c->folder, patient, DD_TABLE_ORDERS)) {
        list_orders(patient, &list);
        return wrong_list(p, "ORDER", key, find_line(patient, key) >= 0 ? " is a line, and this event is about an order" : " is no order of this patient",
                          "order-unknown", &list);
    }
    set(p, DD_COL_CHART_ORDER, key);
    if (kind != DD_EVENT_MOVED)
        return read_value(p, 3);
    if (p->count != 4 || (find_line(patient, p->words[3]) < 0 && !dd_entry_lost(p->c->folder, patient, DD_TABLE_LINES))) {
        list_lines(patient, &list);
        return wrong_list(p, "LINE", p->count > 3 ? p->words[p->count - 1] : "", " is no line that it could be moved to", "line-unknown", &list);
    }
    set(p, DD_COL_CHART_LINE, p->words[3]);
    return true;
}

/* BED LINE EVENT [VALUE]. */
static bool read_about_line(phrase *p, int kind)
{
    const dd_patient *patient = p->entry->patient;
    const char *key = p->words[1];
    set_event(p, kind);
    if (find_line(patient, key) < 0 && !dd_entry_lost(p->c->folder, patient, DD_TABLE_LINES)) {
        dd_bytes list = DD_BYTES(LIST_CEILING);
        list_lines(patient, &list);
        return wrong_list(p, "LINE", key, find_order(patient, key) >= 0 ? " is an order, and this event is about a line" : " is no line of this patient",
                          "line-unknown", &list);
    }
    set(p, DD_COL_CHART_LINE, key);
    return read_value(p, 3);
}

/* The third word is no event: what would be one. */
static bool no_event(phrase *p)
{
    const dd_patient *patient = p->entry->patient;
    const char *thing = p->words[1], *word = p->count > 2 ? p->words[2] : NULL;
    bool order = find_order(patient, thing) >= 0, line = find_line(patient, thing) >= 0;
    dd_bytes list = DD_BYTES(LIST_CEILING);
    if (!order && !line) {
        dd_bytes_text(&list, "an order: ");
        list_orders(patient, &list);
        dd_bytes_text(&list, "; a line: ");
        list_lines(patient, &list);
        dd_bytes_text(&list, "; or intake, output or weighed");
        return wrong_list(p, "ORDER-or-LINE", thing, " is no order and no line of this patient", "order-unknown", &list);
    }
    dd_nearest nearest = dd_nearest_begin(word ? word : "", word ? strlen(word) : 0);
    for (int i = 0; i < DD_EVENT_COUNT; i++)
        if ((shapes[i].about == ORDER && order) || (shapes[i].about == LINE && line))
            dd_nearest_offer(&nearest, shapes[i].text, strlen(shapes[i].text));
    if (nearest.best && word) {
        dd_bytes_text(&list, nearest.best);
    } else {
        if (order)
            list_events(ORDER, &list);
        if (order && line)
            dd_bytes_text(&list, ", ");
        if (line)
            list_events(LINE, &list);
    }
    if (!word)
        return wrong_list(p, "EVENT", thing, ": what happened is not said", NULL, &list);
    return wrong_list(p, "EVENT", word, order && line ? " is not what happens to an order or a line" : order ? " is not what happens to an order"
                      : " is not what happens to a line", "word-unknown", &list);
}

/* Which form it is. An order or line may have the name of an event, so the third word is looked at first where it is an event and
 * the second is known. */
static bool read_form(phrase *p)
{
    const dd_patient *patient = p->entry->patient;
    const char *second = p->words[1], *third = p->count > 2 ? p->words[2] : NULL;
    int kind = find_event(third), early = find_event(second);
    bool known = find_order(patient, second) >= 0 || find_line(patient, second) >= 0;
    if (early >= 0 && shapes[early].about == PATIENT && !(known && kind >= 0))
        return read_about_patient(p, early, 2);
    if (early == DD_EVENT_STRUCK && !(known && kind >= 0))
        return read_struck(p, third);
    if (kind < 0)
        return no_event(p);
    switch (shapes[kind].about) {
    case ORDER: return read_about_order(p, kind);
    case LINE: return read_about_line(p, kind);
    case ENTRY: return read_struck(p, second);
    case PATIENT: break;
    }
    return kind == DD_EVENT_WEIGHED ? no_event(p) : read_about_patient(p, kind, 1);
}

static bool said(dd_chart *c, const dd_chart_line *line, const dd_entry *entry)
{
    dd_chart_words_faults(c, line, entry);
    return false;
}

/* When it happened, and which dose is meant. */
static bool read_times(phrase *p)
{
    dd_chart *c = p->c;
    const dd_words *w = p->line->words;
    const char *at = w->value[DD_OPTION_AT] ? w->value[DD_OPTION_AT] : c->words->value[DD_OPTION_AT], *due = w->value[DD_OPTION_DUE];
    char text[DD_MOMENT_MAX];
    const dd_zone *zone = dd_folder_plan(c->folder)->zone;
    p->entry->time = p->entry->entered = c->now;
    if (at && dd_entry_time(&c->entries, "--at", at, c->now, &p->entry->time, NULL) != DD_OK)
        return said(c, p->line, p->entry);
    if (p->entry->time > c->now) {
        char expected[DD_MOMENT_MAX + 32];
        dd_entry_moment(zone, c->now, text);
        snprintf(expected, sizeof expected, "a time up to now, %s", text);
        dd_chart_words_wrong(c, p->line, "--at", "", at, " has not come yet", "entered-early", expected);
        return false;
    }
    if (!due)
        return true;
    dd_moment when;
    if (shapes[p->entry->event.kind].about != ORDER) {
        dd_chart_words_wrong(c, p->line, "--due", "", due, ": only what happens to an order has a dose that is due", NULL, "no --due");
        return false;
    }
    if (dd_entry_time(&c->entries, "--due", due, p->entry->time, &when, NULL) != DD_OK)
        return said(c, p->line, p->entry);
    dd_entry_moment(zone, when, text);
    char *copy = dd_arena_text(c->entries.faults.arena, text, strlen(text));
    c->no_memory = c->no_memory || !copy;
    set(p, DD_COL_CHART_DUE, copy);
    return true;
}

bool dd_chart_words_read(dd_chart *c, const dd_chart_line *line, dd_entry *entry)
{
    const dd_words *w = line->words;
    *entry = (dd_entry){.patient = NULL};
    phrase p = {.c = c, .line = line, .entry = entry, .words = w->rest, .count = w->rest_count};
    if (p.count < 2) {
        dd_chart_words_wrong(c, line, "chart", "", p.count ? p.words[0] : NULL, p.count ? " alone says nothing that happened" : "nothing is said", NULL,
                             "BED ORDER-or-LINE EVENT [VALUE], such as bay1-bed2 drip rate 24 gtt/min");
        return false;
    }
    set(&p, DD_COL_CHART_BY, w->value[DD_OPTION_WHO] ? w->value[DD_OPTION_WHO] : c->words->value[DD_OPTION_WHO]);
    set(&p, DD_COL_CHART_NOTE, w->value[DD_OPTION_NOTE]);
    return read_patient(&p) && read_form(&p) && read_times(&p);
}
