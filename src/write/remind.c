/* remind.c - reminders for the calendar that people already carry: what is to be done, gathered by the engine (visit.h), put into words by
 * reminder.c, held against an earlier calendar (former.c), written one event at a time. */
#include "remind.h"

#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "bytes.h"
#include "caltext.h"
#include "former.h"
#include "phrase.h"
#include "reminder.h"
#include "show.h"

#define TEXT_CEILING ((size_t)16 << 20)
#define DRAIN_AT ((size_t)256 * 1024) /* octets */
#define EVENT_LASTS 600 /* seconds; long enough to be seen in a calendar */
#define CATEGORY "infusion"
#define CANCELLED "CANCELLED: "
#define TITLE_SHOWN 200 /* characters */
#define BEYOND_MOST INT64_C(172800) /* seconds after the plan's end in which a dose may still start */

typedef struct remind {
    dd_reminder words;
    const dd_view *view;
    const dd_calendar_options *options;
    dd_arena *arena;
    dd_moment first;       /* what rings from now on: nothing whose alarm is over is reminded of */
    dd_bytes text, clean;
    dd_remind_take *take;
    void *user;
} remind;

static dd_status give(remind *r, const dd_calendar_event *event)
{
    r->options->said->events++;
    r->options->said->alarms += event->lead_s != DD_CALENDAR_NO_ALARM;
    return r->text.failed || r->clean.failed ? DD_NO_MEMORY : r->take(r->user, event);
}

/* What reminder.c has said, and the two last lines. */
static const char *whole_text(remind *r, dd_moment made, const char *code)
{
    dd_bytes_clear(&r->text);
    dd_bytes_add(&r->text, r->words.text.data, r->words.text.length);
    dd_reminder_end(&r->text, r->view->plan, made, code);
    return dd_phrase_text(&r->text);
}

/* ---- against an earlier calendar ---- */

static bool reads(remind *r, const char *text, size_t most, bool lines, const char *is, size_t behind)
{
    dd_bytes_clear(&r->clean);
    dd_caltext_clean(&r->clean, text, most, lines);
    return !r->clean.failed && strlen(is) == r->clean.length + behind && memcmp(is, r->clean.data, r->clean.length) == 0;
}

/* Nothing has changed that anybody would see, but perhaps the page code. */
static bool is_same(remind *r, const dd_calendar_event *old, const dd_calendar_event *event, bool rings_late)
{
    return old->start == event->start && old->end == event->end && (old->lead_s == event->lead_s || (rings_late && old->lead_s == r->options->lead_s))
        && old->state == DD_CALENDAR_CONFIRMED && reads(r, r->words.title.data, DD_CALENDAR_TITLE_MAX, false, old->title, 0)
        && reads(r, whole_text(r, old->last_modified, ""), DD_CALENDAR_TEXT_MAX, true, old->text, DD_PAGECODE_SIZE - 1);
}

static int32_t next_sequence(const dd_calendar_event *old)
{
    return old->sequence < INT32_MAX ? old->sequence + 1 : INT32_MAX;
}

static dd_status say_visit(remind *r, const dd_visit *visit)
{
    bool late = visit->at < r->first;
    dd_former_event *old = NULL;
    dd_status status = r->options->former ? dd_reminder_name(&r->words, visit, r->view->patients[visit->tasks[0].patient], false) : DD_OK;
    if (status == DD_OK && r->options->former)
        old = dd_former_find(r->options->former, r->words.uid);
    if (status != DD_OK || (late && !old))
        return status;
    status = dd_reminder_say(&r->words, visit);
    if (status != DD_OK)
        return status;
    dd_calendar_event event = {.uid = r->words.uid, .title = r->words.title.data, .category = CATEGORY, .start = visit->at, .end = visit->at + EVENT_LASTS,
        .last_modified = r->view->now, .lead_s = late ? 0 : r->options->lead_s};
    if (old) {
        bool same = old->altered ? late && old->event.start == event.start : is_same(r, &old->event, &event, late);
        old->state = DD_FORMER_MET;
        if (same && (late || r->options->changes_only))
            return DD_OK;
        event.sequence = same ? old->event.sequence : next_sequence(&old->event);
        event.last_modified = same ? old->event.last_modified : event.last_modified;
    }
    event.text = whole_text(r, event.last_modified, r->words.code);
    return give(r, &event);
}

/* Finds what is in the plan though it was not asked for now, of all patients and to the plan's end. */
static dd_status find_elsewhere(remind *r)
{
    const dd_plan *plan = r->view->plan;
    const dd_visit *visits;
    size_t count;
    dd_status status = dd_visit_plan(r->options->everyone, plan->patient_count, r->view->now, r->first, plan->end, r->options->each, r->arena, &visits, &count);
    for (size_t i = 0; status == DD_OK && i < count; i++) {
        status = dd_reminder_name(&r->words, &visits[i], &plan->patients[visits[i].tasks[0].patient], true);
        dd_former_event *old = status == DD_OK ? dd_former_find(r->options->former, r->words.uid) : NULL;
        if (old)
            old->state = DD_FORMER_ELSEWHERE;
    }
    return status;
}

/* Whether it seems to be of a patient whose rows have errors now: its title begins with the bed. */
static bool may_be_unplanned(const remind *r, const char *title)
{
    const dd_plan *plan = r->view->plan;
    for (size_t i = 0; i < plan->patient_count; i++) {
        const char *bed = dd_phrase_bed(&plan->patients[i]);
        size_t length = strlen(bed);
        if (!r->options->everyone[i] && strncmp(title, bed, length) == 0 && title[length] == ':')
            return true;
    }
    return false;
}

static void list_gone(remind *r, const dd_calendar_event *old)
{
    dd_bytes *out = r->options->said->gone;
    char when[DD_MOMENT_MAX];
    dd_moment_write(when, r->view->plan->zone, old->start, DD_MOMENT_DATE_CLOCK);
    dd_bytes_form(out, "  %s  ", when);
    dd_show_safe(old->title, strlen(old->title), TITLE_SHOWN, out);
    dd_bytes_char(out, '\n');
}

/* An event that went away, in the form that a calendar which takes changes understands. */
static dd_status cancel(remind *r, const dd_calendar_event *old)
{
    dd_calendar_event event = *old;
    char code[DD_PAGECODE_SIZE];
    dd_status status = dd_pagecode(r->view, NULL, code);
    if (status != DD_OK)
        return status;
    event.state = DD_CALENDAR_CANCELLED;
    event.lead_s = DD_CALENDAR_NO_ALARM;
    event.sequence = next_sequence(old);
    event.last_modified = r->view->now;
    dd_phrase_start(&r->words.title);
    dd_bytes_form(&r->words.title, CANCELLED "%s", old->title);
    dd_phrase_start(&r->words.text);
    dd_bytes_text(&r->words.text, r->view->plan->demo ? "DEMO, NOT FOR CARE\n" : "");
    dd_bytes_text(&r->words.text, "No longer in the plan: delete this reminder.\nThe page counts, not this reminder.\n");
    event.title = dd_phrase_text(&r->words.title);
    event.text = whole_text(r, event.last_modified, code);
    list_gone(r, old);
    return give(r, &event);
}

/* Whether the earlier calendar is of another plan: it has events outside this one's time, or several ahead of which the plan knows none. All
 * of them would be told as gone. */
static bool is_foreign(const remind *r)
{
    const dd_plan *plan = r->view->plan;
    const dd_former *former = r->options->former;
    size_t known = 0, ahead = 0;
    for (size_t i = 0; i < former->count; i++) {
        const dd_calendar_event *e = &former->events[i].event;
        if (e->start < plan->begins || e->start >= plan->end + BEYOND_MOST)
            return true;
        known += former->events[i].state == DD_FORMER_ELSEWHERE || may_be_unplanned(r, e->title);
        ahead += e->start >= r->view->now && e->state == DD_CALENDAR_CONFIRMED;
    }
    return ahead > 1 && known == 0;
}

static int by_start(const void *left, const void *right)
{
    const dd_calendar_event *a = &(*(dd_former_event *const *)left)->event, *b = &(*(dd_former_event *const *)right)->event;
    int c = (a->start > b->start) - (a->start < b->start);
    return c ? c : strcmp(a->uid, b->uid);
}

/* What of the earlier calendar was not asked for now, in time order. */
static dd_status settle_former(remind *r)
{
    const dd_former *former = r->options->former;
    dd_former_event **events = dd_arena_take_many(r->arena, former->count + 1, sizeof *events);
    dd_status status = events ? DD_OK : DD_NO_MEMORY;
    for (size_t i = 0; events && i < former->count; i++)
        events[i] = &former->events[i];
    if (events && former->count > 1)
        qsort(events, former->count, sizeof *events, by_start);
    for (size_t i = 0; status == DD_OK && i < former->count; i++) {
        dd_former_event *old = events[i];
        if (old->state != DD_FORMER_AHEAD)
            continue;
        bool keep = may_be_unplanned(r, old->event.title);
        old->state = old->event.start < r->view->now ? DD_FORMER_OVER : keep ? DD_FORMER_KEPT : DD_FORMER_GONE;
        r->options->said->kept += old->state == DD_FORMER_KEPT;
        bool again = old->state == DD_FORMER_KEPT || old->event.state == DD_CALENDAR_CANCELLED; /* as it stands */
        if (old->state == DD_FORMER_OVER || r->options->apart || (again && r->options->changes_only))
            continue;
        status = again ? give(r, &old->event) : cancel(r, &old->event);
    }
    return status;
}

static dd_status say_each(remind *r)
{
    const dd_view *view = r->view;
    const dd_visit *visits;
    size_t count;
    dd_moment from = r->options->former ? view->now : r->first;
    dd_status status = r->options->former ? find_elsewhere(r) : DD_OK;
    if (status == DD_OK && r->options->former && !r->options->apart && is_foreign(r)) {
        r->options->said->foreign = true;
        return DD_BAD_INPUT;
    }
    if (status == DD_OK)
        status = dd_visit_plan(view->timelines, view->count, from > view->from ? from : view->from, r->first, view->to, r->options->each, r->arena, &visits, &count);
    for (size_t i = 0; status == DD_OK && i < count; i++)
        status = say_visit(r, &visits[i]);
    return status == DD_OK && r->options->former ? settle_former(r) : status;
}

dd_status dd_remind_each(const dd_view *view, const dd_calendar_options *options, dd_remind_take *take, void *user)
{
    remind r = {.view = view, .options = options, .first = view->now + options->lead_s, .text = DD_BYTES(TEXT_CEILING), .clean = DD_BYTES(TEXT_CEILING),
        .take = take, .user = user};
    if (options->lead_s < 0 || options->lead_s > DD_CALENDAR_LEAD_MAX || options->lead_s % 60 != 0)
        return DD_TOO_LARGE;
    r.arena = dd_arena_new();
    dd_status status = r.arena ? dd_reminder_start(&r.words, view, options, r.arena) : DD_NO_MEMORY;
    if (status == DD_OK)
        status = say_each(&r);
    dd_reminder_free(&r.words);
    dd_bytes_free(&r.text);
    dd_bytes_free(&r.clean);
    dd_arena_free(r.arena);
    return status;
}

/* ---- one file ---- */

typedef struct one_file {
    const dd_calendar_options *options;
    dd_calendar *calendar;
    dd_bytes *out;
} one_file;

static dd_status add(void *user, const dd_calendar_event *event)
{
    one_file *f = user;
    dd_status status = dd_calendar_add(f->calendar, event);
    return status == DD_OK && f->options->drain && f->out->length >= DRAIN_AT ? f->options->drain(f->options->drain_user, f->out) : status;
}

dd_status dd_remind_write(const dd_view *view, const dd_calendar_options *options, dd_bytes *out)
{
    one_file f = {.options = options, .out = out};
    size_t before = out->length;
    dd_status status = dd_calendar_begin(out, &f.calendar);
    if (status == DD_OK)
        status = dd_remind_each(view, options, add, &f);
    if (status == DD_OK)
        status = dd_calendar_end(f.calendar);
    if (f.calendar && options->said->why)
        dd_bytes_text(options->said->why, dd_calendar_reason(f.calendar));
    if (status && out->data) { /* whole or not at all */
        before = before < out->length ? before : out->length;
        out->length = before;
        out->data[before] = '\0';
    }
    dd_calendar_free(f.calendar);
    return status;
}
