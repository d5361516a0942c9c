#include "summary.h"

#include <stdlib.h>
#include <string.h>

#include "checked.h"
#include "glance.h"
#include "names.h"
#include "phrase.h"
#include "todo.h"
#include "whole.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DAY_S INT64_C(86400)

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

static const char *bed_of(const dd_summary *m, size_t i)
{
    return dd_phrase_bed(m->view->patients[i]);
}

void dd_summary_when(dd_bytes *out, const dd_view *view, dd_moment t)
{
    dd_phrase_time(out, view->plan, t, t - view->now < DAY_S ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
}

int dd_summary_by_team(const char *a, const char *b)
{
    return !a || !b ? MORE(!a, !b) : strcmp(a, b);
}

void dd_summary_team(dd_bytes *out, const char *team)
{
    dd_bytes_text(out, team ? "team " : "no team");
    dd_bytes_text(out, team ? team : "");
}

static void add_count(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

/* ---- gathering ---- */

static dd_moment deadline(const dd_finding *f)
{
    return f->until != DD_NEVER ? f->until : f->at;
}

static int by_weight(const void *left, const void *right)
{
    const dd_summary_hint *a = left, *b = right;
    int c = MORE(b->finding->severity, a->finding->severity);
    c = c ? c : MORE(deadline(a->finding), deadline(b->finding));
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->finding, b->finding);
}

static int by_dry(const void *left, const void *right)
{
    const dd_summary_dry *a = left, *b = right;
    int c = MORE(a->at, b->at);
    c = c ? c : MORE(a->patient, b->patient);
    return c ? c : MORE(a->line, b->line);
}

static bool gather_dry(dd_summary *m, const dd_timeline *t, size_t i)
{
    for (size_t k = 0; k < t->bag_count; k++) {
        const dd_bag *b = &t->bags[k];
        dd_moment at = b->empty, fast, slow;
        if (!dd_glance_is_infusion(&t->patient->orders[b->order]))
            continue;
        if (b->left_at_now.u > 0 && dd_glance_spread(t, b, &fast, &slow))
            at = fast;
        if (at == DD_NEVER || at < m->from || at >= m->view->to)
            continue;
        if (!dd_arena_room(m->arena, &m->dries, &m->dry_room, m->dry_count, sizeof *m->dries))
            return false;
        m->dries[m->dry_count++] = (dd_summary_dry){at, i, b->line};
    }
    return true;
}

static bool gather_hints(dd_summary *m, const dd_timeline *t, size_t i)
{
    for (size_t k = 0; k < t->finding_count; k++) {
        if (t->findings[k].accepted || t->findings[k].severity < DD_WATCH) {
            *(t->findings[k].accepted ? &m->accepted : &m->notes) += 1;
            continue;
        }
        if (!dd_arena_room(m->arena, &m->hints, &m->hint_room, m->hint_count, sizeof *m->hints))
            return false;
        m->hints[m->hint_count++] = (dd_summary_hint){&t->findings[k], i};
    }
    return true;
}

static void sort_hints(dd_summary *m)
{
    if (m->hint_count > 1)
        qsort(m->hints, m->hint_count, sizeof *m->hints, by_weight);
}

static dd_status gather_tasks(dd_summary *m, const dd_timeline *t, size_t i)
{
    const dd_task *items;
    size_t count;
    dd_status status = dd_todo_make(t, DD_TASKS_FLOW, m->from, m->view->to, m->arena, &items, &count);
    for (size_t k = 0; status == DD_OK && k < count; k++) {
        if (items[k].kind == DD_TASK_FETCH)
            continue;
        if (!dd_arena_room(m->arena, &m->tasks, &m->task_room, m->task_count, sizeof *m->tasks))
            return DD_NO_MEMORY;
        m->tasks[m->task_count++] = (dd_summary_task){&items[k], i};
    }
    return status;
}

static dd_status gather(dd_summary *m)
{
    m->first_task = dd_arena_take_many(m->arena, m->view->count + 1, sizeof *m->first_task);
    if (!m->first_task)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < m->view->count; i++) {
        const dd_timeline *t = m->view->timelines[i];
        m->first_task[i] = m->task_count;
        if (!t)
            continue;
        m->charted |= t->event_count > 0;
        dd_status status = gather_tasks(m, t, i);
        if (status == DD_OK && !(gather_hints(m, t, i) && gather_dry(m, t, i)))
            status = DD_NO_MEMORY;
        if (status != DD_OK)
            return status;
    }
    m->first_task[m->view->count] = m->task_count;
    sort_hints(m);
    if (m->dry_count > 1)
        qsort(m->dries, m->dry_count, sizeof *m->dries, by_dry);
    return DD_OK;
}

/* ---- FIRST ---- */

/* Somebody has looked into them, and they are still so. */
static void set_accepted(dd_summary *m)
{
    enum { NAMED = 10 };
    size_t named = 0;
    dd_phrase_start(m->text);
    dd_bytes_text(m->text, "accepted and still so, look at the page: ");
    for (size_t i = 0; i < m->view->count; i++) {
        const dd_timeline *t = m->view->timelines[i];
        for (size_t k = 0; t && k < t->finding_count; k++) {
            if (!t->findings[k].accepted || named++ >= NAMED)
                continue;
            dd_bytes_form(m->text, "%s%s %s until ", named > 1 ? ", " : "", bed_of(m, i), dd_names_finding(t->findings[k].code));
            dd_phrase_time(m->text, m->view->plan, t->findings[k].accepted->until, DD_MOMENT_DAY);
        }
    }
    if (named > NAMED) {
        dd_bytes_text(m->text, " and ");
        add_count(m->text, named - NAMED);
        dd_bytes_text(m->text, " more");
    }
    dd_sheet_text(m->sheet, 1, 1, dd_phrase_text(m->text));
}

/* `ticks`: a list of some hours, with a box to tick; what is to be watched only after them is counted. */
static void set_first(dd_summary *m, const char *title, bool ticks)
{
    int by = m->sheet->width - (ticks ? 13 : 9);
    dd_bytes when = DD_BYTES((size_t)256);
    dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 0, .text = title, .silent = true}, {.at = by, .width = 9, .align = DD_RIGHT, .text = "do by", .silent = true}}, 2);
    dd_sheet_said(m->sheet, "What is to be clarified or watched first");
    dd_sheet_join(m->sheet);
    size_t later = 0;
    for (size_t i = 0; i < m->hint_count; i++) {
        const dd_summary_hint *h = &m->hints[i];
        if (ticks && h->finding->severity < DD_CLARIFY && deadline(h->finding) >= m->view->to) {
            later++;
            continue;
        }
        dd_phrase_start(m->text);
        dd_bytes_text(m->text, bed_of(m, h->patient));
        dd_bytes_text(m->text, "  "); /* said as a comma */
        dd_phrase_finding_brief(m->text, m->view->timelines[h->patient], h->finding);
        dd_phrase_start(&when);
        if (deadline(h->finding) <= m->view->now)
            dd_bytes_text(&when, "now");
        else
            dd_phrase_time(&when, m->view->plan, deadline(h->finding), DD_MOMENT_DAY);
        dd_sheet_together(m->sheet);
        dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 1, .width = 8, .text = dd_names_severity(h->finding->severity)},
            {.at = 10, .width = by - 11, .after = 2, .text = dd_phrase_text(m->text)}, {.at = by, .width = 9, .align = DD_RIGHT, .text = dd_phrase_text(&when), .say = deadline(h->finding) <= m->view->now ? ", do it" : ", do by"},
            {.at = m->sheet->width - 3, .text = "[ ]"}}, ticks ? 4 : 3);
        dd_sheet_apart(m->sheet);
    }
    if (m->hint_count == later)
        dd_sheet_text(m->sheet, 1, 1, ticks ? "nothing to clarify, or to watch in these hours, among the kinds of finding looked for (below)"
                                            : "nothing to clarify or to watch among the kinds of finding looked for (below)");
    if (later) {
        dd_phrase_start(m->text);
        add_count(m->text, later);
        dd_bytes_text(m->text, " to watch after these hours, on the patients' pages");
        dd_sheet_text(m->sheet, 1, 1, dd_phrase_text(m->text));
    }
    if (m->notes) {
        dd_phrase_start(m->text);
        add_count(m->text, m->notes);
        dd_bytes_text(m->text, m->notes == 1 ? " note, on the patient's page" : " notes, on the patients' pages");
        dd_sheet_text(m->sheet, 1, 1, dd_phrase_text(m->text));
    }
    if (m->accepted)
        set_accepted(m);
    dd_phrase_start(m->text);
    if (dd_phrase_later(m->text, m->view, m->view->timelines, m->view->count))
        dd_sheet_text(m->sheet, 1, 1, dd_phrase_text(m->text));
    dd_phrase_start(m->text);
    if (dd_phrase_clocks_change(m->text, m->view->plan, m->view->from, m->view->to))
        dd_sheet_text(m->sheet, 1, 1, dd_phrase_text(m->text));
    dd_bytes_free(&when);
    dd_sheet_rule(m->sheet);
}

/* ---- one line per patient ---- */

typedef struct columns { int age, kg, worst, dry, next, in; } columns;

static columns columns_of(const dd_summary *m)
{
    return (columns){10, 20, 27, 29, 35, m->sheet->width - 7};
}

static const char *worst_sign(const dd_summary *m, const dd_timeline *t)
{
    static const char *const letters[] = {[DD_SEV_NONE] = ".", [DD_NOTE] = ".", [DD_WATCH] = "W", [DD_CLARIFY] = "C"};
    static const char *const words[] = {[DD_SEV_NONE] = "nothing", [DD_NOTE] = "a note", [DD_WATCH] = "something to watch", [DD_CLARIFY] = "something to clarify"};
    uint8_t worst = DD_SEV_NONE;
    for (size_t i = 0; i < t->finding_count; i++)
        if (!t->findings[i].accepted && t->findings[i].severity > worst && t->findings[i].severity <= DD_CLARIFY)
            worst = t->findings[i].severity;
    return (m->sheet->sentences ? words : letters)[worst];
}

static void add_dry(dd_summary *m, const dd_timeline *t)
{
    int order = -1;
    bool hangs = false;
    dd_moment first = dd_glance_dry_first(t, &order);
    if (first != DD_NEVER) {
        dd_summary_when(m->text, m->view, first);
        return;
    }
    for (size_t i = 0; i < t->bag_count; i++)
        hangs |= t->bags[i].left_at_now.u > 0 && dd_glance_is_infusion(&t->patient->orders[t->bags[i].order]);
    dd_bytes_text(m->text, hangs ? "later" : "none");
}

static void add_next(dd_summary *m, size_t i)
{
    const dd_summary_task *next = m->first_task[i] < m->first_task[i + 1] ? &m->tasks[m->first_task[i]] : NULL;
    if (!next) {
        dd_bytes_text(m->text, "nothing in this span");
        return;
    }
    dd_summary_when(m->text, m->view, next->todo->at);
    dd_bytes_char(m->text, ' ');
    dd_todo_title(m->text, m->view->timelines[i], next->todo, true);
}

/* In less out over [from, to); *spoilt where something was not measured. */
static dd_u balance(dd_summary *m, const dd_timeline *t, dd_moment from, dd_moment to, bool *spoilt)
{
    const dd_moment edges[2] = {from, to};
    const dd_total *totals;
    size_t count;
    dd_u sum = {0};
    m->status = dd_timeline_totals(t, edges, 1, m->arena, &totals, &count);
    for (size_t i = 0; m->status == DD_OK && i < count; i++) {
        bool fits = totals[i].out ? dd_whole_minus(sum.u, totals[i].volume.u, &sum.u) : dd_whole_plus(sum.u, totals[i].volume.u, &sum.u);
        if (!fits)
            m->status = DD_TOO_LARGE;
        *spoilt |= totals[i].unknown > 0;
    }
    return sum;
}

/* Where nothing is charted on the ward, what is planned to go in over the span; else what went in less what came out so far,
 * and nothing for a patient of whom nothing is charted. */
static void add_volume(dd_summary *m, const dd_timeline *t)
{
    bool spoilt = false;
    dd_u sum;
    if (m->charted && t->event_count == 0) {
        dd_bytes_char(m->text, '?');
        return;
    }
    if (!m->charted)
        sum = balance(m, t, m->view->from, m->view->to, &spoilt);
    else if (m->view->now > m->view->plan->begins)
        sum = balance(m, t, m->view->plan->begins, m->view->now, &spoilt);
    else
        sum.u = 0;
    dd_bytes_text(m->text, m->charted && sum.u > 0 ? "+" : "");
    dd_phrase_volume(m->text, t->patient, sum);
    dd_bytes_text(m->text, spoilt ? "?" : "");
}

static void set_not_planned(dd_summary *m, size_t i)
{
    columns c = columns_of(m);
    dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 0, .width = c.age - 1, .after = 1, .text = bed_of(m, i)}, {.at = c.age, .text = "NOT PLANNED"}}, 2);
}

static void set_patient(dd_summary *m, size_t i)
{
    const dd_timeline *t = m->view->timelines[i];
    const dd_patient *p = m->view->patients[i];
    columns c = columns_of(m);
    enum { AGE, KG, DRY, NEXT, VOLUME, CELLS };
    size_t at[CELLS];
    if (!t) {
        set_not_planned(m, i);
        return;
    }
    dd_phrase_start(m->text);
    at[AGE] = m->text->length;
    if (p->age_text)
        dd_phrase_age(m->text, p);
    else
        dd_bytes_char(m->text, '?');
    dd_bytes_char(m->text, '\0');
    at[KG] = m->text->length;
    if (p->weight_mg == DD_UNKNOWN) {
        dd_bytes_char(m->text, '?');
    } else {
        char number[DD_NUMBER_MAX];
        dd_bytes_add(m->text, number, dd_number_scaled(number, p->weight_mg, 6, 3, DD_STYLE_PERSON));
    }
    dd_bytes_char(m->text, '\0');
    at[DRY] = m->text->length;
    add_dry(m, t);
    dd_bytes_char(m->text, '\0');
    at[NEXT] = m->text->length;
    add_next(m, i);
    dd_bytes_char(m->text, '\0');
    at[VOLUME] = m->text->length;
    add_volume(m, t);
    if (m->text->failed)
        return;
    const char *text = m->text->data;
    dd_sheet_together(m->sheet);
    dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 0, .width = c.age - 1, .after = 1, .text = bed_of(m, i)},
        {.at = c.age, .width = c.kg - c.age - 1, .text = text + at[AGE], .say = "age"},
        {.at = c.kg, .width = 6, .align = DD_POINT, .after = 3, .text = text + at[KG], .say = "weight", .unit = " kg"},
        {.at = c.worst, .width = 1, .text = worst_sign(m, t), .say = "worst of what is found:"},
        {.at = c.dry, .width = c.next - c.dry - 1, .text = text + at[DRY], .say = "runs dry first:"},
        {.at = c.next, .width = c.in - c.next - 1, .after = 6, .text = text + at[NEXT], .say = "next to do but rounds:"},
        {.at = c.in, .width = 7, .align = DD_POINT, .after = 2, .text = text + at[VOLUME], .say = m->charted ? "in less out:" : "in:", .unit = " mL"}}, 7);
    dd_sheet_apart(m->sheet);
}

/* ---- teams ---- */

typedef struct member { const char *team; size_t patient; } member;

static int by_team(const void *left, const void *right)
{
    const member *a = left, *b = right;
    int c = dd_summary_by_team(a->team, b->team);
    return c ? c : MORE(a->patient, b->patient);
}

static void set_patients(dd_summary *m)
{
    const dd_view *v = m->view;
    columns c = columns_of(m);
    member *members = dd_arena_take_many(m->arena, v->count + 1, sizeof *members);
    if (!members) {
        m->status = DD_NO_MEMORY;
        return;
    }
    bool teams = false;
    for (size_t i = 0; i < v->count; i++) {
        members[i] = (member){m->view->patients[i]->team, i};
        teams |= members[i].team != NULL;
    }
    if (v->count > 1)
        qsort(members, v->count, sizeof *members, by_team);
    dd_sheet_said(m->sheet, "Patient by patient");
    if (!m->sheet->sentences)
        dd_sheet_row(m->sheet, (const dd_cell[]){{.at = 0, .text = "bed"}, {.at = c.age, .text = "age"}, {.at = c.kg, .width = 3, .align = DD_RIGHT, .text = "kg"},
            {.at = c.worst, .text = "!"}, {.at = c.dry, .text = "dry"}, {.at = c.next, .text = "next to do (but rounds)"},
            {.at = c.in, .width = 7, .align = DD_RIGHT, .text = m->charted ? "in-out" : "in, mL"}}, 7);
    dd_sheet_join(m->sheet);
    for (size_t i = 0; i < v->count && m->status == DD_OK; i++) {
        if (teams && (i == 0 || dd_summary_by_team(members[i].team, members[i - 1].team) != 0)) {
            dd_summary_team(dd_phrase_start(m->text), members[i].team);
            dd_sheet_title(m->sheet, 0, 2, dd_phrase_text(m->text), NULL);
            dd_sheet_join(m->sheet);
        }
        set_patient(m, members[i].patient);
    }
    dd_phrase_start(m->text);
    dd_bytes_text(m->text, m->sheet->sentences ? "Of several bags the first to run dry, on gravity at the earliest; later means after this plan; "
        : "! C clarify, W watch, . nothing found but notes.  dry: the first bag, on gravity at the earliest; later: after this plan.  ");
    if (m->charted) {
        dd_bytes_text(m->text, m->sheet->sentences ? "in less out is from " : "in-out: mL from ");
        dd_phrase_time(m->text, v->plan, v->plan->begins, DD_MOMENT_DAY);
        dd_bytes_text(m->text, " to ");
        dd_phrase_time(m->text, v->plan, v->now, DD_MOMENT_DAY);
        dd_bytes_text(m->text, ", without what was brought forward; ? not all, or nothing, is measured or charted.");
    } else {
        dd_bytes_text(m->text, m->sheet->sentences ? "in is what is planned for this span, all lines and feeds" : "in: planned for this span, all lines and feeds.");
    }
    dd_sheet_text(m->sheet, 1, 1, dd_phrase_text(m->text));
    dd_sheet_rule(m->sheet);
}

dd_status dd_summary_first(dd_sheet *sheet, const dd_view *view, const char *title, bool ticks, dd_arena *arena)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_summary m = {.sheet = sheet, .view = view, .arena = arena, .text = &text};
    for (size_t i = 0; i < view->count && m.status == DD_OK; i++)
        if (view->timelines[i] && !gather_hints(&m, view->timelines[i], i))
            m.status = DD_NO_MEMORY;
    sort_hints(&m);
    if (m.status == DD_OK)
        set_first(&m, title, ticks);
    if (text.failed)
        m.status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    return m.status;
}

dd_status dd_summary_write(dd_sheet *sheet, const dd_view *view, dd_arena *arena)
{
    dd_bytes text = DD_BYTES(TEXT_CEILING);
    dd_summary m = {.sheet = sheet, .view = view, .arena = arena, .text = &text};
    m.from = view->now > view->from && view->now < view->to ? view->now : view->from;
    m.status = gather(&m);
    dd_sheet_text(sheet, 0, 0, "A plan only: orders, records, labels, local policy and the second check of a licensed person stand above it.");
    dd_sheet_rule(sheet);
    if (m.status == DD_OK) {
        set_first(&m, "FIRST", false);
        set_patients(&m);
    }
    if (m.status == DD_OK) {
        dd_soon_write(&m);
        dd_sheet_rule(sheet);
        if (m.status == DD_OK)
            m.status = dd_checked_set(sheet, view, false);
    }
    dd_sheet_form(sheet, "given over by .................  taken over by ................. ..:..");
    if (text.failed && m.status == DD_OK)
        m.status = DD_NO_MEMORY;
    dd_bytes_free(&text);
    return m.status;
}
