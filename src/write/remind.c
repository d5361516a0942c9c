/* remind.c - reminders for the calendar that people already carry (dd_remind_write, write.h).
 *
 * For each patient the timeline is gone through for what needs hands, as tasks; these are put in time order and written one by
 * one. A new kind of task is a row in `kinds`, and a function that gathers it. */
#include "remind.h"

#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "bytes.h"
#include "calendar.h"
#include "digest.h"
#include "pagecode.h"

#define NAME_CEILING ((size_t)512)        /* octets of the name behind a UID: two keys of 40, a word and two times */
#define TITLE_CEILING ((size_t)64 * 1024) /* octets of a title before it is measured: every text of a plan has at most 500 */
#define TEXT_CEILING ((size_t)128 * 1024)
#define EVENT_LASTS 600                   /* seconds; long enough to be seen in a calendar */
#define CATEGORY "infusion"

typedef enum kind { HANG, START, DOSE } kind;

/* The word stands in titles and in the names behind UIDs: once published it stays. */
static const char *const kinds[] = {[HANG] = "hang", [START] = "start", [DOSE] = "dose"};

typedef struct task {
    dd_moment at;       /* when hands are needed */
    dd_moment due;      /* DOSE: when it should start; moves within its window change `at`, never this */
    dd_rate rate;       /* what then flows; 0 where that is not known */
    int32_t number;     /* HANG: of the bag. DOSE: 1, or 2 and up for further doses of one order with the same due time */
    int16_t order, line;
    uint8_t kind;
} task;

typedef struct tasks {
    task *items;
    size_t count, room;
} tasks;

typedef struct remind {
    const dd_view *view;
    const dd_calendar_options *options;
    dd_calendar *calendar;
    dd_arena *arena;    /* of one patient; emptied before the next */
    unsigned char space[16];
    char begins[DD_MOMENT_MAX], made[DD_MOMENT_MAX];
    dd_bytes name, title, text;
} remind;

/* ---- UIDs ---- */

static int hex(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

static bool dash_at(size_t i)
{
    return i == 8 || i == 13 || i == 18 || i == 23;
}

bool dd_remind_space(const char *uuid, unsigned char out[16])
{
    if (!uuid || strlen(uuid) != DD_REMIND_UID_SIZE - 1)
        return false;
    unsigned char bytes[16] = {0};
    size_t digits = 0;
    for (size_t i = 0; i < DD_REMIND_UID_SIZE - 1; i++) {
        if (dash_at(i) != (uuid[i] == '-'))
            return false;
        if (dash_at(i))
            continue;
        int value = hex(uuid[i]);
        if (value < 0)
            return false;
        bytes[digits / 2] = (unsigned char)(bytes[digits / 2] << 4 | value);
        digits++;
    }
    memcpy(out, bytes, sizeof bytes);
    return true;
}

void dd_remind_uid(const unsigned char space[16], const char *name, size_t length, char out[DD_REMIND_UID_SIZE])
{
    char hashed[16 + NAME_CEILING];
    uint8_t digest[20];
    if (length > NAME_CEILING) /* no name that this file makes; a longer one would lose its end */
        length = NAME_CEILING;
    memcpy(hashed, space, 16);
    memcpy(hashed + 16, name, length);
    dd_digest_sha1(hashed, 16 + length, digest);
    digest[6] = (uint8_t)((digest[6] & 0x0f) | 0x50);
    digest[8] = (uint8_t)((digest[8] & 0x3f) | 0x80);
    size_t half = 0;
    for (size_t i = 0; i < DD_REMIND_UID_SIZE - 1; i++) {
        if (dash_at(i)) {
            out[i] = '-';
            continue;
        }
        out[i] = "0123456789abcdef"[half % 2 ? digest[half / 2] & 15 : digest[half / 2] >> 4];
        half++;
    }
    out[DD_REMIND_UID_SIZE - 1] = '\0';
}

/* `begins|task|patient|order|n`: never the planned time, so that a task that moves keeps its UID. */
static bool name_of(remind *r, const dd_patient *patient, const task *t)
{
    const char *order = patient->orders[t->order].key;
    dd_bytes_clear(&r->name);
    dd_bytes_form(&r->name, "%s|%s|%s|%s|", r->begins, kinds[t->kind], patient->key, order);
    if (t->kind == DOSE) {
        char due[DD_MOMENT_MAX];
        dd_moment_write(due, r->view->plan->zone, t->due, DD_MOMENT_UTC);
        dd_bytes_text(&r->name, due);
        if (t->number > 1) /* two clocks that fall in one instant are two doses */
            dd_bytes_form(&r->name, ".%d", (int)t->number);
    } else
        dd_bytes_form(&r->name, "%d", (int)t->number);
    return !r->name.failed;
}

/* ---- gathering ---- */

/* Whether it is in the span asked for, with an alarm that can still ring. */
static bool wanted(const remind *r, dd_moment at)
{
    return at >= r->view->from && at < r->view->to && at - r->options->lead_s >= r->view->now;
}

static dd_status gather(remind *r, tasks *list, task t)
{
    if (!wanted(r, t.at))
        return DD_OK;
    if (!dd_arena_room(r->arena, &list->items, &list->room, list->count, sizeof *list->items))
        return DD_NO_MEMORY;
    list->items[list->count++] = t;
    return DD_OK;
}

/* The first flow at or after `from` of this order and due time, and of this bag (0: any part of it); NULL where nothing flows. */
static const dd_flow *first_flow(const dd_timeline *timeline, int16_t order, dd_moment due, int32_t bag, dd_moment from)
{
    size_t low = 0, high = timeline->flow_count; /* flows are sorted by `from` */
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (timeline->flows[middle].from < from)
            low = middle + 1;
        else
            high = middle;
    }
    for (; low < timeline->flow_count; low++) {
        const dd_flow *f = &timeline->flows[low];
        if (f->order == order && f->due == due && (bag == 0 || f->bag == bag))
            return f;
    }
    return NULL;
}

static int compare(int64_t a, int64_t b)
{
    return a < b ? -1 : a > b;
}

/* A next bag goes up: also the second in which the one before is empty or has hung long enough. `found_hanging` has an entry
 * per order: whether a bag of it was up when the plan began. */
static dd_status gather_bags(remind *r, const dd_timeline *timeline, bool *found_hanging, tasks *list)
{
    dd_status status = DD_OK;
    for (size_t i = 0; i < timeline->bag_count && !status; i++) {
        const dd_bag *b = &timeline->bags[i];
        if (b->found_hanging)
            found_hanging[b->order] = true;
        if (b->number < 2 || b->found_hanging || b->due != DD_NEVER || b->up == DD_NEVER || !wanted(r, b->up))
            continue;
        const dd_flow *f = first_flow(timeline, b->order, DD_NEVER, b->number, b->up);
        status = gather(r, list, (task){.at = b->up, .due = DD_NEVER, .rate = f ? f->rate : (dd_rate){0}, .number = b->number,
                                       .order = b->order, .line = b->line, .kind = HANG});
    }
    return status;
}

static int by_order_and_due(const void *left, const void *right)
{
    const dd_run *a = *(const dd_run *const *)left, *b = *(const dd_run *const *)right;
    int by = compare(a->order, b->order);
    if (!by)
        by = compare(a->due, b->due);
    return by ? by : compare(a->occurrence, b->occurrence);
}

/* Doses, and infusions that begin. They are reminded of in the second in which they first flow, as the schedule shows it. */
static dd_status gather_runs(remind *r, const dd_timeline *timeline, const bool *found_hanging, tasks *list)
{
    const dd_run **runs = dd_arena_take_many(r->arena, timeline->run_count, sizeof *runs);
    if (!runs)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < timeline->run_count; i++)
        runs[i] = &timeline->runs[i];
    qsort(runs, timeline->run_count, sizeof *runs, by_order_and_due);
    dd_status status = DD_OK;
    int32_t same_due = 0;
    for (size_t i = 0; i < timeline->run_count && !status; i++) {
        const dd_run *run = runs[i];
        const dd_order *order = &timeline->patient->orders[run->order];
        bool dose = run->repeated || order->runs == DD_PIGGYBACK;
        same_due = i && runs[i - 1]->order == run->order && runs[i - 1]->due == run->due ? same_due + 1 : 1;
        if (run->start == DD_NEVER || run->start >= r->view->to || run->start < timeline->plan->begins) /* the last: charted, it runs already */
            continue;
        if (!dose && found_hanging[run->order] && order->start_kind == DD_START_AT && order->start <= timeline->plan->begins)
            continue; /* it runs already */
        const dd_flow *f = first_flow(timeline, run->order, run->repeated ? run->due : DD_NEVER, 0, run->start);
        if (!f)
            continue;
        status = gather(r, list, (task){.at = f->from, .due = run->due, .rate = f->rate, .number = dose ? same_due : 1,
                                       .order = run->order, .line = run->line, .kind = dose ? DOSE : START});
    }
    return status;
}

static int in_time_order(const void *left, const void *right)
{
    const task *a = left, *b = right;
    int by = compare(a->at, b->at);
    if (!by)
        by = compare(a->order, b->order);
    if (!by)
        by = compare(a->kind, b->kind);
    if (!by)
        by = compare(a->due, b->due);
    return by ? by : compare(a->number, b->number);
}

/* ---- what a reminder says ---- */

/* The set rate: drops as they are counted on a gravity set, with what they deliver. */
static void say_rate(dd_bytes *out, const dd_timeline *timeline, const task *t)
{
    const dd_order *order = &timeline->patient->orders[t->order];
    const dd_set_rate *rates = timeline->rates[t->order];
    char number[DD_NUMBER_MAX];
    if (t->rate.ul_per_h <= 0)
        return;
    dd_number_scaled(number, t->rate.ul_per_h, 3, 3, DD_STYLE_PERSON);
    size_t count = order->rate_kind == DD_RATE_REMAINDER ? 1 : order->step_count;
    for (size_t i = 0; rates && i < count && order->device == DD_GRAVITY; i++)
        if (rates[i].set.ul_per_h == t->rate.ul_per_h && rates[i].drops > 0) {
            dd_bytes_form(out, ", %d drops/min (%s mL/h)", (int)rates[i].drops, number);
            return;
        }
    dd_bytes_form(out, ", %s mL/h", number);
}

/* `left-forearm, bag 3, glucose 5 % with ..., 80 mL/h` */
static void say_detail(dd_bytes *out, const dd_timeline *timeline, const task *t)
{
    const dd_patient *patient = timeline->patient;
    if (t->line >= 0)
        dd_bytes_form(out, "%s, ", patient->lines[t->line].key);
    if (t->kind == HANG)
        dd_bytes_form(out, "bag %d, ", (int)t->number);
    dd_bytes_text(out, patient->orders[t->order].mixture->words);
    say_rate(out, timeline, t);
}

/* Characters of valid UTF-8: bytes that do not continue one. */
static size_t characters(const dd_bytes *text)
{
    size_t n = 0;
    for (size_t i = 0; i < text->length; i++)
        n += ((unsigned char)text->data[i] & 0xc0) != 0x80;
    return n;
}

/* `bay1-bed2: dose 22:00`, with --detail what hangs where and how fast. Nothing is cut: where the detail does not fit a title,
 * it stands in the text alone, and a bed's name that does not fit gives way to the patient's key. */
static void say_title(remind *r, const dd_timeline *timeline, const task *t, const char *clock)
{
    const dd_patient *patient = timeline->patient;
    dd_bytes_clear(&r->title);
    dd_bytes_form(&r->title, "%s: %s %s", patient->bed, kinds[t->kind], clock);
    if (characters(&r->title) > DD_CALENDAR_TITLE_MAX) {
        dd_bytes_clear(&r->title);
        dd_bytes_form(&r->title, "%s: %s %s", patient->key, kinds[t->kind], clock);
    }
    size_t short_title = r->title.length;
    if (!r->options->detail)
        return;
    dd_bytes_text(&r->title, ", ");
    say_detail(&r->title, timeline, t);
    if (!r->title.failed && characters(&r->title) > DD_CALENDAR_TITLE_MAX) {
        r->title.length = short_title;
        r->title.data[short_title] = '\0';
    }
}

static void say_text(remind *r, const dd_timeline *timeline, const task *t, const char *clock, const char *code)
{
    const dd_plan *plan = r->view->plan;
    dd_bytes *out = &r->text;
    char ready[DD_MOMENT_MAX];
    dd_bytes_clear(out);
    if (plan->demo)
        dd_bytes_text(out, "DEMO, NOT FOR CARE\n");
    if (r->options->detail) {
        say_detail(out, timeline, t);
        dd_bytes_text(out, "\n");
    }
    dd_moment_write(ready, plan->zone, t->at - r->options->lead_s, DD_MOMENT_DAY);
    dd_bytes_form(out, "Get ready: %s. What, how much and how fast stand on the printed page, front of %s.\n", ready, timeline->patient->bed);
    dd_clock_kind occurs = DD_CLOCK_ONCE;
    dd_moment_resolve(plan->zone, dd_moment_local(plan->zone, t->at), &occurs);
    if (occurs == DD_CLOCK_TWICE) { /* the title's clock alone would mean either */
        char offset[DD_MOMENT_MAX];
        dd_moment_write(offset, plan->zone, t->at, DD_MOMENT_OFFSET);
        dd_bytes_form(out, "The clocks change: it is %s twice, this is the one at %s.\n", clock, offset);
    }
    dd_bytes_form(out,
        "The page counts, not this reminder; if the page is missing, go by the order.\n"
        "Made %s. A plan, not an order.\n"
        "Page %s",
        r->made, code);
}

static dd_status write_task(remind *r, const dd_timeline *timeline, const task *t, const char *code)
{
    char clock[DD_MOMENT_MAX], uid[DD_REMIND_UID_SIZE];
    dd_moment_write(clock, r->view->plan->zone, t->at, DD_MOMENT_CLOCK);
    say_title(r, timeline, t, clock);
    say_text(r, timeline, t, clock, code);
    if (!name_of(r, timeline->patient, t) || r->title.failed || r->text.failed)
        return DD_NO_MEMORY;
    dd_remind_uid(r->space, r->name.data, r->name.length, uid);
    return dd_calendar_add(r->calendar,
        &(dd_calendar_event){.uid = uid, .title = r->title.data, .text = r->text.data, .category = CATEGORY, .start = t->at,
            .end = t->at + EVENT_LASTS, .last_modified = r->view->now, .lead_s = r->options->lead_s});
}

static dd_status write_patient(remind *r, const dd_timeline *timeline)
{
    const dd_patient *patient = timeline->patient;
    tasks list = {0};
    char code[DD_PAGECODE_SIZE];
    dd_arena_reset(r->arena);
    bool *found_hanging = dd_arena_take_many(r->arena, patient->order_count, sizeof *found_hanging);
    if (!found_hanging)
        return DD_NO_MEMORY;
    dd_status status = gather_bags(r, timeline, found_hanging, &list);
    if (!status)
        status = gather_runs(r, timeline, found_hanging, &list);
    if (status || !list.count)
        return status;
    qsort(list.items, list.count, sizeof *list.items, in_time_order);
    status = dd_pagecode(r->view, patient, code);
    for (size_t i = 0; i < list.count && !status; i++)
        status = write_task(r, timeline, &list.items[i], code);
    return status;
}

dd_status dd_remind_write(const dd_view *view, const dd_calendar_options *options, dd_bytes *out)
{
    remind r = {.view = view, .options = options, .name = DD_BYTES(NAME_CEILING), .title = DD_BYTES(TITLE_CEILING),
        .text = DD_BYTES(TEXT_CEILING)};
    if (options->lead_s < 0 || options->lead_s > DD_CALENDAR_LEAD_MAX || options->lead_s % 60 != 0)
        return DD_TOO_LARGE;
    if (!dd_remind_space(view->plan->id, r.space))
        return DD_BAD_INPUT;
    dd_moment_write(r.begins, view->plan->zone, view->plan->begins, DD_MOMENT_UTC);
    dd_moment_write(r.made, view->plan->zone, view->now, DD_MOMENT_DATE_CLOCK);
    size_t before = out->length;
    dd_status status = DD_NO_MEMORY;
    r.arena = dd_arena_new();
    if (r.arena)
        status = dd_calendar_begin(out, &r.calendar);
    for (size_t i = 0; i < view->count && !status; i++)
        if (view->timelines[i])
            status = write_patient(&r, view->timelines[i]);
    if (!status)
        status = dd_calendar_end(r.calendar);
    if (r.calendar && options->why)
        dd_bytes_text(options->why, dd_calendar_reason(r.calendar));
    if (status && out->data) { /* whole or not at all */
        out->length = before;
        out->data[before] = '\0';
    }
    dd_calendar_free(r.calendar);
    dd_arena_free(r.arena);
    dd_bytes_free(&r.name);
    dd_bytes_free(&r.title);
    dd_bytes_free(&r.text);
    return status;
}
