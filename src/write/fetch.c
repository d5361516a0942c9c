#include "fetch.h"

#include <stdlib.h>
#include <string.h>

#include "glance.h"
#include "phrase.h"
#include "upkeep.h"

#define MORE(a, b) (((a) > (b)) - ((a) < (b)))

/* Common practice, and said so where it is printed. */
#define PLACING "tourniquet, antiseptic, gloves, extension set, end cap, prefilled saline syringe, dressing, tape, towel"

const char *dd_fetch_word(unsigned kind)
{
    static const char *const words[DD_FETCH_KINDS] = {"bag", "drug", "blood", "feed", "flush", "lock", "set", "dressing", "placing"};
    return kind < DD_FETCH_KINDS ? words[kind] : "";
}

/* ---- what each task needs ---- */

typedef struct gather {
    const dd_timeline *t;
    dd_moment from;
    dd_arena *arena;
    dd_fetch *items;
    size_t count, room;
} gather;

static bool add(gather *g, dd_fetch item)
{
    if (!dd_arena_room(g->arena, &g->items, &g->room, g->count, sizeof item))
        return false;
    g->items[g->count++] = item;
    return true;
}

static dd_fetch_kind kind_of(const dd_order *o)
{
    return o->category == DD_CAT_BLOOD ? DD_FETCH_BLOOD : o->category == DD_CAT_FEED ? DD_FETCH_FEED : o->mixture->drug ? DD_FETCH_DRUG : DD_FETCH_BAG;
}

static dd_u volume_of(int64_t ul)
{
    return (dd_u){ul == DD_UNKNOWN ? 0 : ul * DD_U_PER_UL}; /* at most 100 L: it fits */
}

static const dd_bag *bag_of(const dd_timeline *t, const dd_run *r)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == r->order && t->bags[i].up == r->start)
            return &t->bags[i];
    return NULL;
}

/* The set of a line was never said to be changed, or blood needs its own. */
static bool needs_set(const dd_timeline *t, const dd_task *task)
{
    const dd_upkeep care = dd_upkeep_of(t, task->line);
    return t->patient->orders[task->order].category == DD_CAT_BLOOD || (care.set_changed == DD_NEVER && t->patient->lines[task->line].kind != DD_KIND_ENTERAL);
}

static bool add_bag(gather *g, const dd_task *task, const dd_bag *bag)
{
    const dd_order *o = &g->t->patient->orders[task->order];
    dd_fetch item = {.needed = task->at, .order = task->order, .line = task->line, .kind = (uint8_t)kind_of(o), .first = true, .label = true,
        .second = dd_task_takes_two(o, task->kind), .bag = bag ? bag->number : 0, .volume = bag ? bag->hung : volume_of(o->bag_ul)};
    return add(g, item);
}

static bool add_start(gather *g, const dd_task *task)
{
    dd_fetch set = {.needed = task->at, .order = task->order, .line = task->line, .kind = DD_FETCH_SET};
    if (dd_glance_keeps_bag(g->t, task->run))
        return true;
    return add_bag(g, task, bag_of(g->t, task->run)) && (!needs_set(g->t, task) || add(g, set));
}

static bool add_dose(gather *g, const dd_task *task)
{
    const dd_order *o = &g->t->patient->orders[task->order];
    bool feed = task->kind == DD_TASK_FEED;
    dd_fetch dose = {.needed = task->at, .order = task->order, .line = task->line, .kind = (uint8_t)(feed ? DD_FETCH_FEED : kind_of(o)), .first = true,
        .label = !feed, .second = dd_task_takes_two(o, task->kind), .volume = volume_of(o->volume_ul)};
    dd_fetch flush = {.needed = task->at, .order = task->order, .line = task->line, .kind = DD_FETCH_FLUSH, .volume = volume_of(o->flush_ul)};
    return add(g, dose) && (flush.volume.u <= 0 || add(g, flush));
}

/* A line on which nothing follows is flushed and locked; after a dose its own flush is in already. */
static bool add_lock(gather *g, const dd_task *task)
{
    const dd_order *o = &g->t->patient->orders[task->order];
    if ((o->flush_ul != DD_UNKNOWN && o->flush_ul > 0) || dd_glance_flows(g->t, task->line, task->at) || o->category == DD_CAT_FEED)
        return true;
    return add(g, (dd_fetch){.needed = task->at, .order = task->order, .line = task->line, .kind = DD_FETCH_LOCK, .first = true});
}

static const dd_bag *bag_number(const dd_timeline *t, int order, int32_t number)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == order && t->bags[i].number == number)
            return &t->bags[i];
    return NULL;
}

/* What a gravity bag needs when it is over is to be there when it may be dry: then its task at that time brings it. */
static bool is_brought(const gather *g, const dd_bag *bag)
{
    dd_moment fast, slow;
    return bag && dd_glance_spread(g->t, bag, &fast, &slow) && fast >= g->from;
}

static const dd_bag *bag_that_ends(const dd_timeline *t, const dd_task *task)
{
    for (size_t i = 0; i < t->bag_count; i++)
        if (t->bags[i].order == task->order && t->bags[i].down == task->at)
            return &t->bags[i];
    return NULL;
}

/* The next bag, or what locks the line. */
static bool add_may_dry(gather *g, const dd_task *task)
{
    const dd_bag *next = bag_number(g->t, task->order, task->bag->number + 1);
    dd_task end = *task;
    if (next && next->up != DD_NEVER)
        return add_bag(g, task, next);
    if (task->bag->down == DD_NEVER)
        return true;
    end.at = task->bag->down;
    size_t before = g->count;
    bool room = add_lock(g, &end);
    if (room && g->count > before)
        g->items[before].needed = task->at;
    return room;
}

static bool add_task(gather *g, const dd_task *task)
{
    dd_fetch line = {.needed = task->at, .order = -1, .line = task->line, .first = true};
    switch ((dd_task_kind)task->kind) {
    case DD_TASK_START:
        return add_start(g, task);
    case DD_TASK_DOSE: case DD_TASK_FEED:
        return add_dose(g, task);
    case DD_TASK_HANG:
        return is_brought(g, bag_number(g->t, task->order, task->bag->number - 1)) || add_bag(g, task, task->bag);
    case DD_TASK_MAY_DRY:
        return add_may_dry(g, task);
    case DD_TASK_ENDS: case DD_TASK_STOP:
        return is_brought(g, bag_that_ends(g->t, task)) || add_lock(g, task);
    case DD_TASK_SET:
        line.kind = DD_FETCH_SET;
        return add(g, line);
    case DD_TASK_DRESSING:
        line.kind = DD_FETCH_DRESSING;
        return add(g, line);
    case DD_TASK_FETCH: case DD_TASK_ASK: case DD_TASK_FOLLOWED: case DD_TASK_PAUSE: case DD_TASK_OBSERVE_END: case DD_TASK_GOES_ON: case DD_TASK_AFTER_DOSE:
    case DD_TASK_RATE: case DD_TASK_SECOND: case DD_TASK_OBSERVE: case DD_TASK_FIRST_LOOK: case DD_TASK_LOOK: case DD_TASK_COUNT:
        break;
    }
    return true;
}

/* A line is to be placed where lines.csv says that it will be, or where it was taken out and something still waits for it. */
static bool add_placing(gather *g, dd_moment from, dd_moment to)
{
    const dd_timeline *t = g->t;
    for (int line = 0; line < t->patient->line_count; line++) {
        const dd_upkeep care = dd_upkeep_of(t, line);
        bool waits = false;
        for (size_t i = 0; i < t->run_count && care.off_since != DD_NEVER; i++)
            waits |= t->runs[i].line == line && t->runs[i].end == DD_NEVER && t->runs[i].why != DD_END_OMITTED && t->runs[i].why != DD_END_UNKNOWN;
        dd_moment at = waits ? from : care.off_since == DD_NEVER && care.placed != DD_NEVER && care.placed > t->now ? care.placed : DD_NEVER;
        if (at != DD_NEVER && at >= from && at < to && !add(g, (dd_fetch){.needed = at, .order = -1, .line = (int16_t)line, .kind = DD_FETCH_PLACING, .first = true}))
            return false;
    }
    return true;
}

dd_status dd_fetch_list(const dd_timeline *t, dd_moment from, dd_moment to, dd_arena *arena, const dd_fetch **items, size_t *count)
{
    gather g = {.t = t, .from = from, .arena = arena};
    const dd_task *tasks;
    size_t task_count;
    dd_status status = dd_task_list(t, DD_TASKS_ALL, from, to, arena, &tasks, &task_count);
    if (status == DD_OK && !add_placing(&g, from, to))
        status = DD_NO_MEMORY;
    for (size_t i = 0; status == DD_OK && i < task_count; i++)
        if (!add_task(&g, &tasks[i]))
            status = DD_NO_MEMORY;
    for (size_t i = 1; i < g.count; i++) { /* what is for lines to be placed goes to its time; all else is in order */
        dd_fetch item = g.items[i];
        size_t k = i;
        for (; k > 0 && g.items[k - 1].needed > item.needed; k--)
            g.items[k] = g.items[k - 1];
        g.items[k] = item;
    }
    *items = g.items;
    *count = g.count;
    return status;
}

/* ---- in words ---- */

static void add_volume(dd_bytes *out, dd_u volume)
{
    char number[DD_NUMBER_MAX];
    if (volume.u <= 0)
        return;
    dd_bytes_add(out, number, dd_number_u(number, volume, 3, DD_STYLE_PERSON));
    dd_bytes_text(out, " mL");
}

/* `gravity set, 20 drops/mL`: what the line's next order runs on; `set` where nobody knows. */
static void add_set(dd_bytes *out, const dd_timeline *t, const dd_fetch *item)
{
    char number[DD_NUMBER_MAX];
    const dd_run *next = NULL;
    for (size_t i = 0; i < t->run_count && item->order < 0; i++) { /* by start */
        const dd_run *r = &t->runs[i];
        if (r->line == item->line && r->start != DD_NEVER && (!next || r->start <= item->needed))
            next = r;
    }
    const dd_order *o = item->order >= 0 ? &t->patient->orders[item->order] : next ? &t->patient->orders[next->order] : NULL;
    if (o && o->category == DD_CAT_BLOOD)
        dd_bytes_text(out, "blood set with filter");
    else if (o && o->device == DD_GRAVITY) {
        dd_bytes_text(out, "gravity set, ");
        dd_bytes_add(out, number, dd_number_scaled(number, o->drop_factor_micro, 6, 3, DD_STYLE_PERSON));
        dd_bytes_text(out, " drops/mL");
    } else
        dd_bytes_text(out, !o ? "set" : o->device == DD_SYRINGE ? "extension line for a syringe" : "pump set");
}

static void add_placed(dd_bytes *out, const dd_line *line)
{
    if (line->kind == DD_KIND_ENTERAL || line->kind != DD_KIND_PERIPHERAL) {
        dd_bytes_text(out, line->kind == DD_KIND_ENTERAL ? "feeding tube and what placing it takes" : "what placing the line takes, by local policy");
        return;
    }
    dd_bytes_text(out, "cannula");
    if (line->gauge) {
        dd_bytes_text(out, ", gauge ");
        dd_bytes_text(out, line->gauge);
    }
    dd_bytes_text(out, "; " PLACING);
}

void dd_fetch_what(dd_bytes *out, const dd_timeline *t, const dd_fetch *item)
{
    const dd_order *o = item->order >= 0 ? &t->patient->orders[item->order] : NULL;
    const dd_line *line = &t->patient->lines[item->line];
    switch ((dd_fetch_kind)item->kind) {
    case DD_FETCH_BAG: case DD_FETCH_FEED: /* as on the shelf: what it is called stands behind how large it is */
        add_volume(out, item->volume);
        dd_bytes_text(out, item->volume.u > 0 ? " " : "");
        dd_bytes_text(out, o->mixture->words);
        dd_bytes_text(out, o->device == DD_SYRINGE ? ", syringe" : "");
        break;
    case DD_FETCH_DRUG: case DD_FETCH_BLOOD:
        dd_bytes_text(out, o->mixture->words);
        dd_bytes_text(out, item->volume.u > 0 ? ", " : "");
        add_volume(out, item->volume);
        dd_bytes_text(out, o->device == DD_SYRINGE ? ", syringe" : "");
        break;
    case DD_FETCH_FLUSH:
        dd_bytes_text(out, "flush ");
        add_volume(out, item->volume);
        dd_bytes_char(out, ' ');
        dd_bytes_text(out, o->flush_fluid >= 0 ? t->plan->fluids[o->flush_fluid].words : "");
        break;
    case DD_FETCH_LOCK:
        dd_bytes_text(out, "saline syringe to flush and lock");
        break;
    case DD_FETCH_SET:
        add_set(out, t, item);
        break;
    case DD_FETCH_DRESSING:
        dd_bytes_text(out, line->dressing ? line->dressing : "");
        dd_bytes_text(out, line->dressing ? " dressing, antiseptic, gloves" : "dressing, antiseptic, gloves");
        break;
    case DD_FETCH_PLACING:
        add_placed(out, line);
        break;
    case DD_FETCH_KINDS:
        break;
    }
}

/* The bag that bags.csv names for this order: `at hand: lot LF1042A`. */
static const dd_stock *stock_of(const dd_patient *p, int order)
{
    for (uint32_t i = 0; i < p->stock_count; i++)
        if (p->stock[i].order == order && p->stock[i].lot)
            return &p->stock[i];
    return NULL;
}

void dd_fetch_more(dd_bytes *out, const dd_timeline *t, const dd_fetch *item)
{
    const dd_stock *stock = item->label ? stock_of(t->patient, item->order) : NULL;
    size_t before = out->length;
    if (item->kind == DD_FETCH_BLOOD)
        dd_bytes_text(out, "collect it last, when it can start at once");
    if (item->kind == DD_FETCH_LOCK)
        dd_bytes_text(out, "how much and what by local policy");
    if (item->kind == DD_FETCH_PLACING)
        dd_bytes_text(out, "for a line to be placed; common practice, local policy goes before it");
    if (item->second) {
        dd_bytes_text(out, out->length > before ? "; " : "");
        dd_bytes_text(out, "second nurse");
    }
    if (stock) {
        dd_bytes_text(out, out->length > before ? "; " : "");
        dd_bytes_text(out, "at hand for this order: lot ");
        dd_bytes_text(out, stock->lot);
    }
}

bool dd_fetch_shows_allergy(const dd_timeline *t, const dd_fetch *item)
{
    if (item->kind == DD_FETCH_FEED) /* so many, and most of them for nobody with an allergy */
        return !dd_phrase_no_allergy(t->patient);
    return item->kind == DD_FETCH_DRUG || item->kind == DD_FETCH_BLOOD || item->kind == DD_FETCH_PLACING || (item->kind == DD_FETCH_BAG && item->bag == 1);
}
