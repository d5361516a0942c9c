#include "reminder.h"

#include <stdio.h>
#include <string.h>

#include "calendar.h"
#include "digest.h"
#include "phrase.h"
#include "rounds.h"
#include "summary.h"
#include "todo.h"

#define TITLE_CEILING ((size_t)64 * 1024) /* octets of a title before it is measured: every text of a plan has at most 500 */
#define TEXT_CEILING ((size_t)16 << 20)
#define SITES_MOST 6000                   /* characters: above that a round's sites are not told one by one */

dd_status dd_reminder_start(dd_reminder *r, const dd_view *view, const dd_calendar_options *options, dd_arena *arena)
{
    *r = (dd_reminder){.view = view, .options = options, .arena = arena, .title = DD_BYTES(TITLE_CEILING), .text = DD_BYTES(TEXT_CEILING),
        .name = DD_BYTES(DD_UID_NAME_MAX)};
    if (!dd_uid_space(view->plan->id, r->space))
        return DD_BAD_INPUT;
    dd_moment_write(r->begins, view->plan->zone, view->plan->begins, DD_MOMENT_UTC);
    r->codes = dd_arena_take_many(arena, view->count + 1, sizeof *r->codes);
    return r->codes ? DD_OK : DD_NO_MEMORY;
}

void dd_reminder_free(dd_reminder *r)
{
    dd_bytes_free(&r->title);
    dd_bytes_free(&r->text);
    dd_bytes_free(&r->name);
}

/* ---- names ---- */

/* What tells a task from the others of its word and order or line: the due time of a dose, else its number. Where one word is used for more
 * than one thing, which of them it is stands before. */
static void add_number(dd_bytes *out, const dd_plan *plan, const dd_patient *patient, const dd_task *t)
{
    if (t->kind == DD_TASK_AFTER_DOSE)
        dd_bytes_form(out, "dose.%s.", t->run ? patient->orders[t->run->order].key : "");
    if (t->kind == DD_TASK_SECOND)
        dd_bytes_form(out, "%s.", dd_task_word(t->of));
    if (t->kind == DD_TASK_MAY_DRY) /* an order may have the name of a line, whose looks are counted too */
        dd_bytes_text(out, "dry.");
    if (t->due == DD_NEVER) {
        dd_bytes_form(out, "%d", (int)t->n);
        return;
    }
    char due[DD_MOMENT_MAX];
    dd_moment_write(due, plan->zone, t->due, DD_MOMENT_UTC);
    dd_bytes_text(out, due);
    if (t->n != 1) /* two clocks that fall in one instant are two doses */
        dd_bytes_form(out, ".%d", (int)t->n);
}

/* Which of the team's patients the view has, where it has not all: calendars of single beds may end in one, and a round of some must not
 * take the place of a round of others there. */
static void find_scope(dd_reminder *r, const char *team)
{
    const dd_plan *plan = r->view->plan;
    dd_bytes keys = DD_BYTES(TEXT_CEILING);
    bool all = true;
    if (r->scope_known && dd_summary_by_team(r->scope_team, team) == 0)
        return;
    for (size_t i = 0, k = 0; i < plan->patient_count; i++) { /* the view has them in the same order */
        const dd_patient *p = &plan->patients[i];
        bool asked = k < r->view->count && r->view->patients[k] == p;
        k += asked;
        if (dd_summary_by_team(p->team, team) != 0)
            continue;
        all &= asked;
        if (asked)
            dd_bytes_form(&keys, "%s|", p->key);
    }
    r->scope[0] = '\0';
    if (!all) {
        unsigned char digest[32];
        dd_digest_sha256(keys.data ? keys.data : "", keys.length, digest);
        for (size_t i = 0; i < sizeof r->scope / 2; i++)
            snprintf(r->scope + 2 * i, 3, "%02x", digest[i]);
    }
    r->scope_known = true;
    r->scope_team = team;
    r->name.failed |= keys.failed;
    dd_bytes_free(&keys);
}

/* `begins|task|patient|order or line|n`, never the planned time, so that a task that moves keeps its name; of a round `round|team|time`. */
dd_status dd_reminder_name(dd_reminder *r, const dd_visit *visit, const dd_patient *patient, bool everyone)
{
    const dd_task *t = visit->tasks[0].task;
    dd_bytes *name = &r->name;
    dd_bytes_clear(name);
    if (visit->round) {
        char at[DD_MOMENT_MAX];
        dd_moment_write(at, r->view->plan->zone, visit->at, DD_MOMENT_UTC);
        dd_bytes_form(name, "round|%s|%s", visit->team ? visit->team : "", at);
        if (!everyone)
            find_scope(r, visit->team);
        if (!everyone && *r->scope)
            dd_bytes_form(name, "|%s", r->scope);
    } else {
        dd_bytes_form(name, "%s|%s|%s|%s|", r->begins, dd_task_word(t->kind), patient->key,
            t->order >= 0 ? patient->orders[t->order].key : patient->lines[t->line].key);
        add_number(name, r->view->plan, patient, t);
    }
    if (name->failed)
        return DD_NO_MEMORY;
    dd_uid_of(r->space, name->data, name->length, r->uid);
    return DD_OK;
}

/* ---- titles ---- */

/* Characters of valid UTF-8: bytes that do not continue one. */
static size_t characters(const dd_bytes *text)
{
    size_t n = 0;
    for (size_t i = 0; i < text->length; i++)
        n += ((unsigned char)text->data[i] & 0xc0) != 0x80;
    return n;
}

static void add_clock(dd_bytes *out, const dd_plan *plan, dd_moment t)
{
    char clock[DD_MOMENT_MAX];
    dd_bytes_add(out, clock, dd_moment_write(clock, plan->zone, t, DD_MOMENT_CLOCK));
}

/* `dose`; of several things `ends, observe`; with `second nurse` behind the clock where it takes two. */
static void add_kinds(dd_bytes *out, const dd_visit *v, const dd_plan *plan)
{
    bool told[DD_TASK_COUNT] = {false}, second = false;
    for (size_t i = 0; i < v->count; i++) {
        unsigned kind = v->tasks[i].task->kind;
        const char *word = dd_task_word(kind);
        bool again = false;
        for (unsigned k = 0; k < DD_TASK_COUNT; k++)
            again |= told[k] && strcmp(dd_task_word(k), word) == 0;
        told[kind] = true;
        if (again)
            continue;
        if (kind == DD_TASK_SECOND && i > 0) {
            second = true;
            continue;
        }
        dd_bytes_text(out, i ? ", " : "");
        dd_bytes_text(out, word);
        dd_bytes_text(out, kind == DD_TASK_SECOND ? " nurse" : "");
    }
    dd_bytes_char(out, ' ');
    add_clock(out, plan, v->at);
    dd_bytes_text(out, second ? ", second nurse" : "");
}

/* What then flows; 0 where nobody knows, or nothing does. */
static dd_rate rate_of(const dd_timeline *t, const dd_task *task)
{
    if (task->mark)
        return task->mark->rate;
    bool begins = task->kind == DD_TASK_HANG || task->kind == DD_TASK_START || task->kind == DD_TASK_DOSE || task->kind == DD_TASK_FEED
        || task->kind == DD_TASK_SECOND;
    for (size_t i = 0; i < t->flow_count && begins; i++) { /* by `from` */
        const dd_flow *f = &t->flows[i];
        bool its = task->bag ? f->bag == task->bag->number : !task->run->repeated || f->due == task->run->due;
        if (f->order == task->order && f->from >= task->at && its)
            return f->rate;
    }
    return (dd_rate){0};
}

/* `21 drops/min (63 mL/h)` on a gravity set: as they are counted, with what they deliver. */
static void add_rate(dd_bytes *out, const dd_timeline *t, const dd_task *task)
{
    dd_rate rate = rate_of(t, task);
    if (rate.ul_per_h <= 0)
        return;
    dd_bytes_text(out, ", ");
    size_t before = out->length;
    dd_phrase_rate_of(out, t, task->order, rate);
    if (!out->failed && strstr(out->data + before, "drops")) {
        dd_bytes_text(out, " (");
        dd_phrase_rate(out, rate);
        dd_bytes_char(out, ')');
    }
}

/* `left-forearm, bag 3, glucose 5 % with ..., 80 mL/h` */
static void add_detail(dd_bytes *out, const dd_timeline *t, const dd_task *task)
{
    const dd_patient *p = t->patient;
    dd_bytes_text(out, p->lines[task->line].key);
    if (task->bag) {
        char number[DD_NUMBER_MAX];
        dd_bytes_text(out, ", bag ");
        dd_bytes_add(out, number, dd_number_scaled(number, task->bag->number, 0, 0, DD_STYLE_PERSON));
    }
    if (task->order < 0)
        return;
    dd_bytes_text(out, ", ");
    dd_bytes_text(out, p->orders[task->order].mixture->words);
    add_rate(out, t, task);
}

/* Nothing is cut: where the detail does not fit a title, it stands in the text alone, and a bed's name that does not fit gives way to the
 * patient's key. */
static void say_title(dd_reminder *r, const dd_visit *v)
{
    const dd_timeline *t = r->view->timelines[v->tasks[0].patient];
    const char *names[] = {dd_phrase_bed(t->patient), t->patient->key};
    for (size_t i = 0; i < 2 && (i == 0 || characters(&r->title) > DD_CALENDAR_TITLE_MAX); i++) {
        dd_phrase_start(&r->title);
        dd_bytes_form(&r->title, "%s: ", names[i]);
        add_kinds(&r->title, v, r->view->plan);
    }
    size_t short_title = r->title.length;
    if (!r->options->detail)
        return;
    dd_bytes_text(&r->title, ", ");
    add_detail(&r->title, t, v->tasks[0].task);
    if (!r->title.failed && characters(&r->title) > DD_CALENDAR_TITLE_MAX) {
        r->title.length = short_title;
        r->title.data[short_title] = '\0';
    }
}

/* ---- texts ---- */

/* A clock that occurs twice that night would mean either. */
static void say_which_clock(dd_reminder *r, dd_moment at)
{
    const dd_plan *plan = r->view->plan;
    dd_clock_kind occurs = DD_CLOCK_ONCE;
    dd_moment_resolve(plan->zone, dd_moment_local(plan->zone, at), &occurs);
    if (occurs != DD_CLOCK_TWICE)
        return;
    char offset[DD_MOMENT_MAX];
    dd_moment_write(offset, plan->zone, at, DD_MOMENT_OFFSET);
    dd_bytes_text(&r->text, "The clocks change: it is ");
    add_clock(&r->text, plan, at);
    dd_bytes_form(&r->text, " twice, this is the one at %s.\n", offset);
}

/* `Get ready at 21:45.`, with the weekday where that is another day. */
static void say_ready(dd_reminder *r, dd_moment at)
{
    const dd_plan *plan = r->view->plan;
    char ready[DD_MOMENT_MAX];
    dd_moment alarm = at - r->options->lead_s;
    bool same_day = dd_moment_local(plan->zone, alarm).weekday == dd_moment_local(plan->zone, at).weekday;
    dd_moment_write(ready, plan->zone, alarm, same_day ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
    dd_bytes_form(&r->text, "Get ready %s%s. ", same_day ? "at " : "", ready);
}

/* What is looked at or changed, which no page's list of things to do names where it is done at a round. */
static void say_care(dd_reminder *r, const dd_visit *v)
{
    const dd_timeline *t = r->view->timelines[v->tasks[0].patient];
    for (size_t i = 0; i < v->count; i++) {
        const dd_task *task = v->tasks[i].task;
        if (!dd_visit_has_span(task) && task->kind != DD_TASK_MAY_DRY)
            continue;
        dd_bytes_text(&r->text, "To do: ");
        dd_todo_title(&r->text, t, task, true);
        if (task->latest < task->at) {
            char since[DD_MOMENT_MAX];
            dd_moment_write(since, r->view->plan->zone, task->latest, DD_MOMENT_DAY);
            dd_bytes_form(&r->text, ", overdue since %s", since);
        }
        dd_bytes_text(&r->text, ".\n");
    }
}

static void say_dose(dd_reminder *r, const dd_task *task)
{
    if ((task->kind != DD_TASK_DOSE && task->kind != DD_TASK_FEED) || task->run->end == DD_NEVER)
        return;
    dd_bytes_text(&r->text, "Over at ");
    add_clock(&r->text, r->view->plan, task->run->end);
    dd_bytes_text(&r->text, task->run->flush_from != DD_NEVER ? ", flush included.\n" : ".\n");
}

static void say_visit(dd_reminder *r, const dd_visit *v)
{
    const dd_timeline *t = r->view->timelines[v->tasks[0].patient];
    const dd_task *first = v->tasks[0].task;
    bool amount = first->kind == DD_TASK_DOSE || first->kind == DD_TASK_FEED || first->kind == DD_TASK_START || first->kind == DD_TASK_HANG
        || first->kind == DD_TASK_RATE || first->kind == DD_TASK_GOES_ON || first->kind == DD_TASK_AFTER_DOSE || first->kind == DD_TASK_SECOND;
    if (r->options->detail) {
        add_detail(&r->text, t, first);
        dd_bytes_char(&r->text, '\n');
    }
    say_care(r, v);
    say_ready(r, v->at);
    dd_bytes_text(&r->text, amount ? "What, how much and how fast stand on the printed page, front of " : "What is to be done stands on the printed page, front of ");
    dd_phrase_capitals(&r->text, dd_phrase_bed(t->patient));
    dd_bytes_text(&r->text, ".\n");
    say_dose(r, first);
    say_which_clock(r, v->at);
    dd_bytes_text(&r->text, "The page counts, not this reminder; if the page is missing, go by the order.\n");
}

/* Sets and dressings of a round, one after the other. */
static void say_changes(dd_reminder *r, const dd_visit *v, unsigned kind, const char *word)
{
    bool any = false;
    for (size_t i = 0; i < v->count; i++) {
        const dd_task *task = v->tasks[i].task;
        if (task->kind != kind)
            continue;
        const dd_patient *p = r->view->patients[v->tasks[i].patient];
        dd_bytes_form(&r->text, "%s%s %s", any ? ", " : word, dd_phrase_bed(p), p->lines[task->line].key);
        any = true;
    }
    dd_bytes_text(&r->text, any ? ".\n" : "");
}

static size_t count_of(const dd_visit *v, unsigned kind)
{
    size_t n = 0;
    for (size_t i = 0; i < v->count; i++)
        n += v->tasks[i].task->kind == kind;
    return n;
}

static void add_count(dd_bytes *out, size_t n, const char *one, const char *many)
{
    char number[DD_NUMBER_MAX];
    if (n == 0)
        return;
    dd_bytes_text(out, ", ");
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
    dd_bytes_form(out, " %s", n == 1 ? one : many);
}

/* Patients of the team with errors in their rows: nothing of theirs is in the list, and that must not look as if nothing were to be done. */
static void say_not_planned(dd_reminder *r, const char *team)
{
    bool any = false;
    for (size_t i = 0; i < r->view->count; i++) {
        const dd_patient *p = r->view->patients[i];
        if (r->view->timelines[i] || dd_summary_by_team(p->team, team) != 0)
            continue;
        dd_bytes_form(&r->text, "%s%s", any ? ", " : "NOT PLANNED, go by the orders: ", dd_phrase_bed(p));
        any = true;
    }
    dd_bytes_text(&r->text, any ? ".\n" : "");
}

/* `team A: round 20:00, 6 sites, 1 set`, and whose. */
static dd_status say_round(dd_reminder *r, const dd_visit *v)
{
    size_t count = 0;
    dd_rounds_look *looks = dd_arena_take_many(r->arena, v->count, sizeof *looks);
    if (!looks)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < v->count; i++)
        if (v->tasks[i].task->kind == DD_TASK_LOOK || v->tasks[i].task->kind == DD_TASK_FIRST_LOOK)
            looks[count++] = (dd_rounds_look){v->tasks[i].task, v->team, v->tasks[i].patient};
    for (int with_team = v->team != NULL; with_team >= 0; with_team--) {
        dd_phrase_start(&r->title);
        if (with_team) {
            dd_summary_team(&r->title, v->team);
            dd_bytes_text(&r->title, ": ");
        }
        dd_bytes_text(&r->title, "round ");
        add_clock(&r->title, r->view->plan, v->at);
        if (count) {
            dd_bytes_text(&r->title, ", ");
            dd_rounds_count(&r->title, r->view, looks, count);
        }
        add_count(&r->title, count_of(v, DD_TASK_SET), "set", "sets");
        add_count(&r->title, count_of(v, DD_TASK_DRESSING), "dressing", "dressings");
        if (characters(&r->title) <= DD_CALENDAR_TITLE_MAX)
            break;
    }
    if (count) {
        dd_bytes_text(&r->text, "Sites: ");
        dd_rounds_sites(&r->text, r->view, looks, count);
        dd_bytes_text(&r->text, ".\n");
    }
    say_changes(r, v, DD_TASK_SET, "Sets to change: ");
    say_changes(r, v, DD_TASK_DRESSING, "Dressings to change: ");
    if (characters(&r->text) > SITES_MOST) {
        dd_phrase_start(&r->text);
        dd_bytes_text(&r->text, "Sites: too many to name here; they stand on the printed pages.\n");
    }
    say_not_planned(r, v->team);
    dd_bytes_text(&r->text, "Levels to expect stand on the printed page, which counts, not this reminder.\n");
    say_which_clock(r, v->at);
    return DD_OK;
}

void dd_reminder_end(dd_bytes *out, const dd_plan *plan, dd_moment at, const char *code)
{
    char made[DD_MOMENT_MAX];
    dd_moment_write(made, plan->zone, at, DD_MOMENT_DATE_CLOCK);
    dd_bytes_form(out, "Made %s. A plan, not an order.", made);
    if (code)
        dd_bytes_form(out, "\nPage %s", code);
}

/* Of the patient's pages, or of one about all. */
static dd_status find_code(dd_reminder *r, size_t which)
{
    r->code = r->codes[which];
    return *r->codes[which] ? DD_OK : dd_pagecode(r->view, which < r->view->count ? r->view->patients[which] : NULL, r->codes[which]);
}

dd_status dd_reminder_say(dd_reminder *r, const dd_visit *v)
{
    size_t patient = v->tasks[0].patient;
    dd_status status = dd_reminder_name(r, v, r->view->patients[patient], false);
    dd_phrase_start(&r->text);
    if (r->view->plan->demo)
        dd_bytes_text(&r->text, "DEMO, NOT FOR CARE\n");
    if (status == DD_OK && v->round) {
        status = say_round(r, v);
    } else {
        say_title(r, v);
        say_visit(r, v);
    }
    if (status == DD_OK)
        status = find_code(r, v->round ? r->view->count : patient);
    return status == DD_OK && (r->title.failed || r->text.failed) ? DD_NO_MEMORY : status;
}
