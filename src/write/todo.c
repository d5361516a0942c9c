#include "todo.h"

#include <string.h>

#include "arena.h"
#include "glance.h"
#include "phrase.h"
#include "upkeep.h"

/* ---- what a page lists ---- */

bool dd_todo_in_grid(const dd_task *task)
{
    return (task->kind == DD_TASK_LOOK || task->kind == DD_TASK_FIRST_LOOK) && task->round;
}

bool dd_todo_told(const dd_timeline *t, const dd_task *task, dd_moment from)
{
    switch ((dd_task_kind)task->kind) {
    case DD_TASK_SECOND:
        return true;
    case DD_TASK_AFTER_DOSE: /* a dose says itself when the primary goes on; not one that began before the list */
        return task->run && task->run->start >= from;
    case DD_TASK_OBSERVE_END: /* the end says it; another order that takes over does not */
        return dd_glance_is_infusion(&t->patient->orders[task->order]) && task->run->why != DD_END_REPLACED;
    case DD_TASK_FETCH: case DD_TASK_ASK: case DD_TASK_ENDS: case DD_TASK_FOLLOWED: case DD_TASK_STOP: case DD_TASK_PAUSE: case DD_TASK_GOES_ON:
    case DD_TASK_START: case DD_TASK_DOSE: case DD_TASK_FEED: case DD_TASK_HANG: case DD_TASK_RATE: case DD_TASK_MAY_DRY: case DD_TASK_OBSERVE:
    case DD_TASK_SET: case DD_TASK_DRESSING: case DD_TASK_FIRST_LOOK: case DD_TASK_LOOK: case DD_TASK_COUNT:
        break;
    }
    return false;
}

/* The errand for a dose, or of kind DD_TASK_COUNT where there is no time for one. */
static dd_task fetch_for(const dd_task *dose, dd_moment from)
{
    dd_task fetch = *dose;
    fetch.kind = dose->kind == DD_TASK_DOSE && dose->at != from ? DD_TASK_FETCH : DD_TASK_COUNT;
    fetch.at = dose->at - from < DD_FETCH_BEFORE ? from : dose->at - DD_FETCH_BEFORE;
    return fetch;
}

/* Keeps the errands in time order: each goes behind what is before it. */
static void put_fetch(dd_task *items, size_t *count, dd_task fetch)
{
    size_t at = *count;
    while (at > 0 && (items[at - 1].at > fetch.at || (items[at - 1].at == fetch.at && items[at - 1].kind > DD_TASK_FETCH)))
        at--;
    memmove(items + at + 1, items + at, (*count - at) * sizeof *items);
    items[at] = fetch;
    ++*count;
}

dd_status dd_todo_make(const dd_timeline *t, unsigned which, dd_moment from, dd_moment to, dd_arena *arena, const dd_task **items, size_t *count)
{
    const dd_task *all;
    size_t all_count, n = 0;
    dd_status status = dd_task_list(t, which, from, to, arena, &all, &all_count);
    if (status != DD_OK)
        return status;
    dd_task *list = dd_arena_take_many(arena, 2 * all_count + 1, sizeof *list);
    if (!list)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < all_count; i++) {
        if (dd_todo_in_grid(&all[i]) || dd_todo_told(t, &all[i], from))
            continue;
        dd_task fetch = fetch_for(&all[i], from);
        list[n++] = all[i];
        if (fetch.kind == DD_TASK_FETCH)
            put_fetch(list, &n, fetch);
    }
    *items = list;
    *count = n;
    return DD_OK;
}

/* ---- titles ---- */

static void add_bag_number(dd_bytes *out, int32_t number)
{
    char text[DD_NUMBER_MAX];
    dd_bytes_text(out, "bag ");
    dd_bytes_add(out, text, dd_number_scaled(text, number, 0, 0, DD_STYLE_PERSON));
}

void dd_todo_rate(dd_bytes *out, const dd_timeline *t, const dd_task *item)
{
    dd_bytes_text(out, dd_glance_rate_before(t, item->mark) > item->mark->rate.ul_per_h ? "down to " : "up to ");
    dd_phrase_rate_of(out, t, item->order, item->mark->rate);
}

/* `metronidazole`, where a bed stands before it; with its amount where there is room. */
static void add_drug(dd_bytes *out, const dd_order *o, bool brief)
{
    if (brief && o->mixture->drug)
        dd_bytes_text(out, o->mixture->drug);
    else
        dd_phrase_what(out, o);
}

static void add_named(dd_bytes *out, const dd_order *o, const char *word)
{
    dd_bytes_text(out, word);
    dd_phrase_what(out, o);
}

/* About an order or its bag: without the line. */
static void add_about_order(dd_bytes *out, const dd_timeline *t, const dd_task *item, bool brief)
{
    const dd_order *o = &t->patient->orders[item->order];
    switch ((dd_task_kind)item->kind) {
    case DD_TASK_ASK:
        dd_bytes_text(out, brief ? "ask: " : "ASK: ");
        if (o->category == DD_CAT_FEED)
            dd_bytes_text(out, "feed");
        else
            add_drug(out, o, brief);
        dd_bytes_text(out, " given or not?");
        break;
    case DD_TASK_ENDS:
    case DD_TASK_FOLLOWED: /* of a dose; an infusion runs dry */
        dd_phrase_what(out, o);
        dd_bytes_text(out, " ends");
        break;
    case DD_TASK_STOP:
        add_named(out, o, brief ? "stop " : "STOP ");
        break;
    case DD_TASK_PAUSE:
        add_named(out, o, brief ? "pause " : "PAUSE ");
        break;
    case DD_TASK_GOES_ON:
    case DD_TASK_AFTER_DOSE:
        add_named(out, o, brief ? "goes on: " : "GOES ON ");
        if (!brief) {
            dd_bytes_text(out, " at ");
            dd_phrase_rate_of(out, t, item->order, item->mark->rate);
        }
        break;
    case DD_TASK_START:
        add_named(out, o, brief ? "start " : "START ");
        break;
    case DD_TASK_DOSE:
        dd_bytes_text(out, brief ? "dose " : "DOSE ");
        add_drug(out, o, brief);
        break;
    case DD_TASK_FEED:
        dd_bytes_text(out, brief ? "feed " : "FEED ");
        dd_phrase_ul(out, o->volume_ul);
        break;
    case DD_TASK_HANG:
        dd_bytes_text(out, brief ? "change to " : "CHANGE BAG to ");
        add_bag_number(out, item->bag->number);
        break;
    case DD_TASK_RATE:
        dd_bytes_text(out, brief ? "rate " : "RATE ");
        dd_todo_rate(out, t, item);
        if (!brief) {
            dd_bytes_text(out, ": ");
            dd_phrase_what(out, o);
        }
        break;
    case DD_TASK_OBSERVE:
    case DD_TASK_OBSERVE_END:
        dd_bytes_text(out, brief ? "observe: " : "OBSERVE the patient, ");
        if (!brief && item->kind == DD_TASK_OBSERVE)
            dd_phrase_span(out, item->at - item->run->start);
        dd_bytes_text(out, brief ? "" : item->kind == DD_TASK_OBSERVE ? " after the start of " : "at the end of ");
        dd_phrase_what(out, o);
        break;
    case DD_TASK_FETCH: case DD_TASK_SECOND: case DD_TASK_MAY_DRY: case DD_TASK_SET: case DD_TASK_DRESSING: case DD_TASK_FIRST_LOOK: case DD_TASK_LOOK:
    case DD_TASK_COUNT:
        break;
    }
}

void dd_todo_title(dd_bytes *out, const dd_timeline *t, const dd_task *item, bool brief)
{
    const dd_line *line = &t->patient->lines[item->line];
    const dd_order *o = item->order >= 0 ? &t->patient->orders[item->order] : NULL;
    bool dry = (item->kind == DD_TASK_ENDS || item->kind == DD_TASK_FOLLOWED) && dd_glance_is_infusion(o);
    if (dry) {
        dd_bytes_text(out, line->key);
        add_named(out, o, brief ? " dry: " : " DRY: ");
    } else if (item->kind == DD_TASK_FETCH) {
        add_named(out, o, "fetch ");
    } else if (item->kind == DD_TASK_MAY_DRY) {
        dd_bytes_text(out, line->key);
        dd_bytes_text(out, " may be dry from now on: look");
    } else if (item->kind == DD_TASK_SET || item->kind == DD_TASK_DRESSING) {
        bool set = item->kind == DD_TASK_SET;
        dd_bytes_text(out, brief ? (set ? "change set" : "change dressing") : set ? "CHANGE SET" : "CHANGE DRESSING");
        dd_bytes_text(out, ", ");
        dd_bytes_text(out, line->key);
    } else if (item->kind == DD_TASK_FIRST_LOOK || item->kind == DD_TASK_LOOK) {
        dd_bytes_text(out, item->kind == DD_TASK_LOOK ? "look at " : "first look at ");
        dd_bytes_text(out, line->key);
    } else {
        add_about_order(out, t, item, brief);
        if (!brief) { /* the brief form stands beside a bed and says only what kind of thing comes */
            dd_bytes_text(out, item->kind == DD_TASK_ASK ? " " : ", ");
            dd_bytes_text(out, line->key);
        }
    }
}

/* ---- how it runs ---- */

void dd_todo_dose(dd_bytes *out, const dd_timeline *t, const dd_run *r)
{
    const dd_order *o = &t->patient->orders[r->order];
    dd_phrase_ul(out, o->volume_ul);
    dd_bytes_text(out, " at ");
    dd_phrase_set_rate(out, t->rates[r->order][0]); /* later steps have items of their own */
    dd_bytes_text(out, " to ");
    dd_phrase_time(out, t->plan, r->flush_from != DD_NEVER ? r->flush_from : r->end, DD_MOMENT_CLOCK);
    if (r->flush_from != DD_NEVER) {
        dd_bytes_text(out, ", flush ");
        dd_phrase_ul(out, o->flush_ul);
        dd_bytes_text(out, " to ");
        dd_phrase_time(out, t->plan, r->end, DD_MOMENT_CLOCK);
    }
}

void dd_todo_start(dd_bytes *out, const dd_timeline *t, const dd_run *r)
{
    const dd_order *o = &t->patient->orders[r->order];
    dd_set_rate first = t->rates[r->order][0];
    if (o->volume_ul != DD_UNKNOWN) {
        dd_phrase_ul(out, o->volume_ul);
        dd_bytes_text(out, " at ");
    }
    dd_phrase_set_rate(out, first);
    if (first.drops > 0) {
        dd_bytes_text(out, " (");
        dd_phrase_rate(out, first.set);
        dd_bytes_char(out, ')');
    }
    if (o->bag_ul != DD_UNKNOWN && o->bag_ul != o->volume_ul) {
        dd_bytes_text(out, o->volume_ul == DD_UNKNOWN || o->volume_ul > o->bag_ul ? ", bags of " : ", bag of ");
        dd_phrase_ul(out, o->bag_ul);
    }
    if (r->end != DD_NEVER) {
        dd_bytes_text(out, ", to ");
        dd_phrase_time(out, t->plan, r->end, r->end - r->start < 86400 ? DD_MOMENT_CLOCK : DD_MOMENT_DAY);
    }
}

void dd_todo_since(dd_bytes *out, const dd_timeline *t, const dd_task *item)
{
    const dd_upkeep care = dd_upkeep_of(t, item->line);
    bool by_fluid = item->kind == DD_TASK_SET && care.set.since != care.set_changed;
    dd_bytes_text(out, by_fluid ? "what is in it wants a new one, in it from " : "last changed ");
    dd_phrase_time(out, t->plan, by_fluid ? care.set.since : item->kind == DD_TASK_SET ? care.set_changed : care.dressed, DD_MOMENT_DATE_CLOCK);
}
