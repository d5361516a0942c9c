#include "picture.h"

#include <string.h>

#include "glance.h"
#include "phrase.h"
#include "todo.h"

#define TEXT_CEILING ((size_t)1 << 20)
#define LABEL 15         /* columns for the name of a line; a longer one gets a line of its own */
#define MARK_S 900       /* seconds of a mark */
#define MARKS_OF_HOUR 4
#define SITE_COLUMNS 5   /* of an hour in the grid of sites */
#define SITES_MOST 24    /* hours side by side at most */

/* The name, and the row behind it where there is room. */
static void set_labelled(dd_sheet *s, int indent, const char *label, const char *row)
{
    dd_sheet_together(s);
    if ((int)dd_sheet_length(label) + indent >= LABEL) {
        dd_sheet_text(s, indent, indent + 2, label);
        label = "";
    }
    dd_sheet_row(s, (const dd_cell[]){{.at = indent, .width = LABEL - indent, .text = label}, {.at = LABEL, .text = row}}, 2);
    dd_sheet_apart(s);
}

/* ---- sites ---- */

/* Whether a round in (before, hour] looks at the site; those that are no full hour stand in the column of the hour after it. */
static bool looked_at(const dd_task *tasks, size_t count, int line, dd_moment before, dd_moment hour)
{
    for (size_t i = 0; i < count && tasks[i].at <= hour; i++)
        if (tasks[i].line == line && tasks[i].at > before && dd_todo_in_grid(&tasks[i]))
            return true;
    return false;
}

static void set_site(dd_sheet *s, const dd_timeline *t, int line, const dd_task *tasks, size_t task_count, dd_moment before, const dd_moment *hours, size_t count)
{
    char row[SITES_MOST * SITE_COLUMNS + 1];
    size_t at = 0;
    for (size_t i = 0; i < count; i++) {
        memcpy(row + at, looked_at(tasks, task_count, line, i ? hours[i - 1] : before, hours[i]) ? "..   " : "--   ", SITE_COLUMNS);
        at += SITE_COLUMNS;
    }
    while (at && row[at - 1] == ' ')
        at--;
    row[at] = '\0';
    set_labelled(s, 0, t->patient->lines[line].key, row);
}

static void set_hours(dd_sheet *s, const dd_timeline *t, const dd_moment *hours, size_t count)
{
    char row[DD_WIDTH_MAX + 1], clock[DD_MOMENT_MAX];
    size_t at = 0;
    memset(row, ' ', sizeof row);
    for (size_t i = 0; i < count; i++) {
        dd_moment_write(clock, t->plan->zone, hours[i], DD_MOMENT_CLOCK);
        memcpy(row + at, clock, 2); /* the hour's two digits */
        at += SITE_COLUMNS;
    }
    row[at > SITE_COLUMNS ? at - SITE_COLUMNS + 2 : 2] = '\0';
    dd_sheet_row(s, (const dd_cell[]){{.at = LABEL, .text = row}}, 1);
    dd_sheet_join(s);
}

/* `left-arm: looked at at 20:00, 21:00 and 22:00` */
static void say_sites(dd_sheet *s, const dd_timeline *t, const dd_task *tasks, size_t count)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    for (int line = 0; line < t->patient->line_count; line++) {
        bool any = false;
        dd_phrase_start(&text);
        dd_bytes_text(&text, t->patient->lines[line].key);
        for (size_t i = 0; i < count; i++) {
            if (tasks[i].line != line || !dd_todo_in_grid(&tasks[i]))
                continue;
            dd_bytes_text(&text, any ? ", " : ": looks at the rounds of ");
            dd_phrase_time(&text, t->plan, tasks[i].at, DD_MOMENT_CLOCK);
            any = true;
        }
        dd_bytes_text(&text, any ? "" : ": at no round of this span");
        dd_sheet_text(s, 0, 0, dd_phrase_text(&text));
    }
    s->body.failed |= text.failed;
    dd_bytes_free(&text);
}

dd_status dd_picture_sites(dd_sheet *s, const dd_timeline *t, dd_moment from, dd_moment to, dd_arena *arena)
{
    size_t across = (size_t)(s->width - LABEL + SITE_COLUMNS - 2) / SITE_COLUMNS, task_count;
    const dd_task *tasks;
    dd_status status = dd_task_list(t, DD_TASKS_CARE, from, to + 1, arena, &tasks, &task_count); /* the round at `to` too */
    if (across > SITES_MOST)
        across = SITES_MOST;
    if (s->sentences && status == DD_OK) {
        say_sites(s, t, tasks, task_count);
        return DD_OK;
    }
    dd_moment before = from;
    for (dd_moment hour = dd_moment_next_hour(t->plan->zone, from); status == DD_OK && hour <= to;) {
        dd_moment hours[SITES_MOST];
        size_t count = 0;
        for (; count < across && hour <= to; hour = dd_moment_next_hour(t->plan->zone, hour))
            hours[count++] = hour;
        set_hours(s, t, hours, count);
        for (int line = 0; line < t->patient->line_count; line++)
            set_site(s, t, line, tasks, task_count, before, hours, count);
        before = hours[count - 1];
    }
    return status;
}

/* ---- flows ---- */

enum { FLOWS, STOPPED, DOSE, BESIDE, NEW_BAG, DRY, STOPS, SIGNS };
static const char signs[SIGNS] = {[FLOWS] = '=', [STOPPED] = '-', [DOSE] = '#', [BESIDE] = '~', [NEW_BAG] = 'B', [DRY] = 'v', [STOPS] = 'x'};

typedef struct strip {
    const dd_timeline *t;
    dd_moment from;
    size_t marks;
    bool used[SIGNS], any;
    char row[DD_WIDTH_MAX + 1];
} strip;

static void start_strip(strip *p)
{
    memset(p->row, ' ', p->marks);
    p->row[p->marks] = '\0';
    p->any = false;
}

/* Marks every quarter of an hour that [from, to) touches. */
static void mark_span(strip *p, dd_moment from, dd_moment to, int sign)
{
    for (size_t i = 0; i < p->marks; i++) {
        dd_moment begins = p->from + (dd_moment)i * MARK_S;
        if (begins < to && begins + MARK_S > from) {
            p->row[i] = signs[sign];
            p->any = true;
        }
    }
}

static void mark_moment(strip *p, dd_moment at, int sign)
{
    if (at != DD_NEVER)
        mark_span(p, at, at + 1, sign);
}

enum { ROW_PRIMARY, ROW_DOSE, ROW_BESIDE, ROWS };

/* In which row of its line an order stands. */
static int row_of(const dd_timeline *t, int order)
{
    const dd_order *o = &t->patient->orders[order];
    if (!dd_glance_is_infusion(o))
        return ROW_DOSE;
    return o->runs == DD_CONCURRENT ? ROW_BESIDE : ROW_PRIMARY;
}

static void fill_row(strip *p, int line, int row)
{
    const dd_timeline *t = p->t;
    static const int sign_of[ROWS] = {FLOWS, DOSE, BESIDE};
    for (size_t i = 0; i < t->flow_count; i++)
        if (t->flows[i].line == line && row_of(t, t->flows[i].order) == row)
            mark_span(p, t->flows[i].from, t->flows[i].to, sign_of[row]);
    if (row == ROW_DOSE)
        return;
    for (size_t i = 0; i < t->mark_count; i++) { /* from each stop to the going on after it */
        const dd_mark *m = &t->marks[i];
        if (m->line != line || row_of(t, m->order) != row || m->kind != DD_MARK_STOPS)
            continue;
        dd_moment until = t->plan->end;
        for (size_t k = i + 1; k < t->mark_count; k++)
            if (t->marks[k].order == m->order && t->marks[k].kind == DD_MARK_GOES_ON) {
                until = t->marks[k].at;
                break;
            }
        mark_span(p, m->at, until, STOPPED);
    }
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].line == line && row_of(t, t->bags[i].order) == row && !t->bags[i].found_hanging)
            mark_moment(p, t->bags[i].up, NEW_BAG);
    for (size_t i = 0; i < t->run_count; i++) {
        const dd_run *r = &t->runs[i];
        if (r->line == line && r->start != DD_NEVER && row_of(t, r->order) == row && r->why != DD_END_REPLACED)
            mark_moment(p, r->end, r->why == DD_END_VOLUME ? DRY : STOPS);
    }
}

/* The hour's two digits above the mark in which the local clock strikes; where clocks change by half an hour, later ones move. */
static void set_clock(dd_sheet *s, strip *p)
{
    char clock[DD_MOMENT_MAX];
    start_strip(p);
    for (size_t i = 0; i + 1 < p->marks; i++) {
        dd_moment_write(clock, p->t->plan->zone, p->from + (dd_moment)i * MARK_S, DD_MOMENT_CLOCK);
        if (clock[3] == '0' && clock[4] == '0')
            memcpy(p->row + i, clock, 2);
    }
    dd_sheet_row(s, &(dd_cell){.at = LABEL, .width = (int)p->marks, .text = p->row}, 1);
    dd_sheet_join(s);
}

static void set_line(dd_sheet *s, strip *p, int line)
{
    static const char *const names[ROWS] = {NULL, "dose", "beside"};
    bool named = false;
    for (int row = 0; row < ROWS; row++) {
        start_strip(p);
        fill_row(p, line, row);
        if (!p->any && (row < ROW_BESIDE || named))
            continue;
        if (named)
            set_labelled(s, 2, names[row], p->row);
        else /* the first that there is stands in the line's own row; a line on which nothing runs has an empty one */
            set_labelled(s, 0, p->t->patient->lines[line].key, p->row);
        named = true;
        for (int i = 0; i < SIGNS; i++)
            p->used[i] |= strchr(p->row, signs[i]) != NULL;
    }
}

static void set_legend(dd_sheet *s, const bool *used)
{
    static const char *const words[SIGNS] = {"= flows", "- stopped", "# dose or feed", "~ runs beside", "B new bag", "v dry", "x stops"};
    dd_bytes text = DD_BYTES((size_t)4096);
    bool any = false;
    for (int i = 0; i < SIGNS; i++)
        if (used[i]) {
            any = true;
            dd_bytes_text(&text, words[i]);
            dd_bytes_text(&text, "  ");
        }
    dd_bytes_text(&text, any ? "each 15 min" : "nothing flows in this span");
    dd_sheet_text(s, 3, 3, dd_phrase_text(&text));
    dd_bytes_free(&text);
}

/* `main on left-arm: flows from Wed 19:00 to Wed 22:00`, stretches without a break joined. */
static void say_flows(dd_sheet *s, const dd_timeline *t, dd_moment from, dd_moment to)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    bool any = false;
    dd_sheet_said(s, "What flows when");
    for (int o = 0; o < t->patient->order_count; o++)
        for (size_t i = 0, next; i < t->flow_count; i = next) {
            const dd_flow *f = &t->flows[i];
            dd_moment until = f->to;
            next = i + 1;
            if (f->order != o || f->to <= from || f->from >= to)
                continue;
            for (size_t k = next; k < t->flow_count && t->flows[k].from <= until; k++)
                if (t->flows[k].order == o && t->flows[k].line == f->line && t->flows[k].from == until) {
                    until = t->flows[k].to;
                    next = k + 1;
                }
            any = true;
            dd_phrase_start(&text);
            dd_bytes_text(&text, t->patient->orders[o].key);
            dd_bytes_text(&text, " on ");
            dd_bytes_text(&text, t->patient->lines[f->line].key);
            dd_bytes_text(&text, f->from < from ? ": flows until " : ": flows from ");
            if (f->from >= from) {
                dd_phrase_time(&text, t->plan, f->from, DD_MOMENT_DAY);
                dd_bytes_text(&text, until > to ? " on" : " to ");
            }
            if (f->from < from || until <= to)
                dd_phrase_time(&text, t->plan, until < to ? until : to, DD_MOMENT_DAY);
            dd_bytes_text(&text, until > to && f->from < from ? " and longer" : "");
            dd_sheet_text(s, 0, 0, dd_phrase_text(&text));
        }
    if (!any)
        dd_sheet_text(s, 0, 0, "nothing flows in this span");
    s->body.failed |= text.failed;
    dd_bytes_free(&text);
}

void dd_picture_flows(dd_sheet *s, const dd_timeline *t, dd_moment from, dd_moment to)
{
    if (s->sentences) {
        say_flows(s, t, from, to);
        return;
    }
    strip p = {.t = t};
    size_t across = (size_t)(s->width - LABEL) / MARKS_OF_HOUR; /* hours */
    dd_moment hour = dd_moment_next_hour(t->plan->zone, from - 1); /* from itself where it is a full hour */
    if (hour > from) { /* the hour that `from` is in: only whole hours can be counted back */
        dd_civil clock = dd_moment_local(t->plan->zone, from);
        hour = from - clock.minute * 60 - clock.second;
    }
    while (hour < to) {
        p.from = hour;
        for (p.marks = 0; p.marks < across * MARKS_OF_HOUR && hour < to; hour += MARKS_OF_HOUR * MARK_S)
            p.marks += MARKS_OF_HOUR;
        set_clock(s, &p);
        for (int line = 0; line < t->patient->line_count; line++)
            set_line(s, &p, line);
    }
    set_legend(s, p.used);
}
