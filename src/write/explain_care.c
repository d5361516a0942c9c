/* explain_care.c - when a set, a dressing or a line is to be changed: since when it counts, and the rule. */
#include "explain.h"

#include "daydrip/rule.h"
#include "phrase.h"
#include "upkeep.h"

#define TEXT_CEILING ((size_t)1 << 16)
#define DAY_S INT64_C(86400)

static void step_time(dd_explain *e, const char *what, dd_moment t, const char *origin)
{
    dd_bytes value = DD_BYTES(TEXT_CEILING);
    dd_phrase_time(&value, e->t->plan, t, t % 60 ? DD_MOMENT_SECONDS : DD_MOMENT_DATE_CLOCK);
    dd_explain_step(e, what, dd_phrase_text(&value), origin);
    dd_bytes_free(&value);
}

/* The entry about the line that says so, or NULL. */
static const dd_event *entry_at(const dd_timeline *t, int line, dd_moment at)
{
    for (size_t i = 0; i < t->event_count; i++) {
        const dd_event *v = t->events[i];
        if (v->line == line && v->time == at && (v->kind == DD_EVENT_PLACED || v->kind == DD_EVENT_DRESSED || v->kind == DD_EVENT_SET_CHANGED))
            return v;
    }
    return NULL;
}

static const char *since_what(const dd_explain *e, const dd_upkeep *care, const dd_upkeep_due *due, const dd_event *entry)
{
    const dd_line *line = &e->p->lines[e->figure->line];
    if (entry)
        return entry->kind == DD_EVENT_PLACED ? "placed, charted" : entry->kind == DD_EVENT_DRESSED ? "dressed, charted" : "set changed, charted";
    if (e->figure->kind == DD_FIGURE_SET)
        return due->since == care->set_changed ? "set changed" : "since when that is in the set which wants a new one";
    return e->figure->kind == DD_FIGURE_DRESSING && line->dressed == due->since ? "dressed" : "placed";
}

void dd_explain_rule_step(dd_explain *e, const dd_rule *rule)
{
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    dd_bytes_form(&what, "rule %s: ", dd_rule_names[rule->id].name);
    dd_bytes_text(&what, rule->source);
    dd_bytes_text(&what, rule->evidence == DD_EV_MEMORY ? " (from memory)" : "");
    int64_t seconds = dd_rule_seconds(rule);
    char number[DD_NUMBER_MAX];
    if (seconds > DAY_S && seconds % DAY_S == 0) {
        dd_bytes_add(&value, number, dd_number_scaled(number, seconds / DAY_S, 0, 0, DD_STYLE_PERSON));
        dd_bytes_text(&value, " days");
    } else
        dd_phrase_spaced(&value, rule->value_text);
    dd_explain_step(e, dd_phrase_text(&what), dd_phrase_text(&value), rule->at.line ? dd_explain_row(e, "rules.csv", rule->at.line) : "built in");
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}

void dd_explain_care(dd_explain *e)
{
    int line = e->figure->line;
    const dd_upkeep care = dd_upkeep_of(e->t, line);
    const dd_upkeep_due due = e->figure->kind == DD_FIGURE_SET ? care.set : e->figure->kind == DD_FIGURE_DRESSING ? care.dressing : care.device;
    const char *name = e->figure->kind == DD_FIGURE_SET ? "set due" : e->figure->kind == DD_FIGURE_DRESSING ? "dressing due" : "to be replaced by";
    if (care.off_since != DD_NEVER || due.every <= 0 || due.at == DD_NEVER || !due.rule) {
        dd_sheet_text(e->sheet, 0, 0, care.off_since != DD_NEVER ? "the line is out" : due.every <= 0 ? "no rule holds for this line" : "nobody said since when it counts");
        return;
    }
    dd_bytes what = DD_BYTES(TEXT_CEILING), value = DD_BYTES(TEXT_CEILING);
    dd_bytes_form(&what, "%s, %s", e->p->lines[line].key, name);
    dd_phrase_time(&value, e->t->plan, due.at, DD_MOMENT_DATE_CLOCK);
    dd_explain_title(e, dd_phrase_text(&what), dd_phrase_text(&value));
    const dd_event *entry = entry_at(e->t, line, due.since);
    step_time(e, since_what(e, &care, &due, entry), due.since, entry ? dd_explain_event_row(e, entry) : dd_explain_row(e, "lines.csv", e->p->lines[line].line_of_file));
    dd_explain_rule_step(e, due.rule);
    dd_moment at = due.since;
    int64_t left = dd_rule_seconds(due.rule);
    step_time(e, "so much later", due.since + left, NULL);
    dd_sheet_rule(e->sheet);
    dd_explain_note(e, "rounding", "none; one whose time is over stands as overdue");
    for (int64_t part; left > 0; left -= part) { /* the clock goes on, whatever people do to it that night */
        part = left < 60 ? left : 60;
        at += part;
    }
    dd_phrase_time(dd_phrase_start(&value), e->t->plan, at, DD_MOMENT_DATE_CLOCK);
    dd_explain_second(e, "minute by minute from then", dd_phrase_text(&value), at == due.at);
    e->text->failed = e->text->failed || what.failed || value.failed;
    dd_bytes_free(&what);
    dd_bytes_free(&value);
}
