#include "account.h"

#include <stdlib.h>

typedef struct book {
    dd_work *w;
    const dd_weave *v;
    dd_history *h;
    dd_accounts *a;
} book;

/* A run starts, or is moved to another line: it ends what has that line. */
typedef struct arrival {
    dd_moment at;
    uint32_t row;
    int32_t life;
    int16_t line; /* moved to; -1: it starts */
} arrival;

static const dd_order *order_of(const book *b, int index)
{
    return &b->w->patient->orders[index];
}

/* ---- which life an event is about ---- */

static bool hangs(const dd_life *l)
{
    return l->order->hanging_ul != DD_UNKNOWN && !l->repeated && l->due != DD_NEVER;
}

static bool hung_at_begin(const book *b, int order)
{
    const dd_life *l = &b->v->lives[b->v->first_life[order]];
    return b->v->first_life[order] < b->v->first_life[order + 1] && hangs(l) && l->due <= b->w->plan->begins;
}

/* Started before the plan began, and a row says what was left then: what flowed before is in that already, and nobody knows whether
 * readings count from there. Nor can another have taken its place before. */
static bool is_against_a_row(const book *b, const dd_event *e)
{
    int x = order_of(b, e->order)->replaces;
    return e->kind == DD_EVENT_STARTED && e->time < b->w->plan->begins && (hung_at_begin(b, e->order) || (x >= 0 && hung_at_begin(b, x)));
}

static bool starts_hanging(book *b, int32_t life, dd_moment by);

/* Another was charted in its place before it could start. */
static bool is_dropped(book *b, const dd_life *l)
{
    for (int i = 0; i < b->w->patient->order_count; i++) {
        int32_t y = b->v->first_life[i];
        if (order_of(b, i)->replaces == l->index && order_of(b, i)->repeat == DD_ONCE && y < b->v->first_life[i + 1])
            return starts_hanging(b, y, l->due - 1) && b->a->of[y].start < l->due;
    }
    return false;
}

/* An order with a bag hanging counts as started at its start. */
static bool starts_hanging(book *b, int32_t life, dd_moment by)
{
    const dd_life *l = &b->v->lives[life];
    dd_account *a = &b->a->of[life];
    if (!hangs(l) || a->start != DD_NEVER || a->omitted)
        return a->start != DD_NEVER;
    if (l->due > by || is_dropped(b, l))
        return false;
    a->start = l->due;
    return true;
}

static int32_t find_life(const book *b, const dd_event *e)
{
    int32_t first = b->v->first_life[e->order], end = b->v->first_life[e->order + 1], last = -1;
    if (!order_of(b, e->order)->repeat)
        return first < end ? first : -1;
    for (int32_t i = first; i < end; i++) {
        if (e->due != DD_NEVER && b->v->lives[i].due == e->due)
            return i;
        if (e->due == DD_NEVER && b->a->of[i].start != DD_NEVER)
            last = i;
    }
    return last;
}

/* Kept by time, then row. */
static bool add_touch(book *b, int32_t life, dd_touch touch, uint32_t row)
{
    dd_account *a = &b->a->of[life];
    if (!dd_arena_room(b->w->arena, &a->touches, &a->room, a->count, sizeof *a->touches) ||
        !dd_arena_room(b->w->arena, &a->rows, &a->row_room, a->count, sizeof *a->rows))
        return false;
    size_t i = a->count++;
    for (; i > 0 && (a->touches[i - 1].at > touch.at || (a->touches[i - 1].at == touch.at && a->rows[i - 1] > row)); i--) {
        a->touches[i] = a->touches[i - 1];
        a->rows[i] = a->rows[i - 1];
    }
    a->touches[i] = touch;
    a->rows[i] = row;
    return true;
}

static dd_status sort_out(book *b, size_t event)
{
    const dd_event *e = b->h->events[event];
    if (e->order < 0 || e->kind == DD_EVENT_VERIFIED)
        return DD_OK;
    int32_t life = find_life(b, e);
    if (life < 0 || is_against_a_row(b, e))
        return dd_history_impossible(b->w, b->h, event);
    dd_account *a = &b->a->of[life];
    bool begun = starts_hanging(b, life, e->time);
    if (!begun && !a->omitted && e->kind == DD_EVENT_STARTED) {
        a->start = e->time;
        a->row = e->line_of_file;
    } else if (!begun && !a->omitted && e->kind == DD_EVENT_OMITTED) {
        a->omitted = true;
    } else if (!begun) {
        return dd_history_impossible(b->w, b->h, event);
    } else if (!add_touch(b, life, (dd_touch){.at = e->time, .event = event, .order = -1, .line = -1}, e->line_of_file)) {
        return DD_NO_MEMORY;
    }
    return DD_OK;
}

static dd_status read_chart(book *b)
{
    dd_status status = DD_OK;
    for (int32_t i = 0; i < b->v->life_count; i++) {
        b->a->of[i].start = DD_NEVER;
        b->a->of[i].line = b->v->lives[i].line;
    }
    for (size_t i = 0; i < b->h->count && status == DD_OK; i++)
        status = sort_out(b, i);
    for (int32_t i = 0; i < b->v->life_count; i++)
        if (starts_hanging(b, i, b->w->from) && !b->a->of[i].omitted)
            b->a->started[b->a->started_count++] = i;
    return status;
}

/* ---- one that starts (or is moved) ends what has its line, and what it replaces ---- */

int16_t dd_account_line(const dd_account *a, const dd_history *h, dd_moment at, uint32_t row)
{
    int16_t line = a->line;
    for (size_t i = 0; i < a->count; i++) {
        const dd_touch *t = &a->touches[i];
        if (t->at > at || (t->at == at && a->rows[i] >= row))
            break;
        const dd_event *e = t->event == DD_NOT_CHARTED ? NULL : h->events[t->event];
        if (e ? e->kind == DD_EVENT_STOPPED : t->line < 0 || t->line == line)
            return -1;
        if (e && e->kind == DD_EVENT_MOVED)
            line = e->line;
    }
    return line;
}

/* The one life of the order that `l` replaces, where that has started; -1: none. */
static int32_t replaced_by(const book *b, const dd_life *l)
{
    int x = l->order->replaces;
    if (x < 0 || order_of(b, x)->repeat != DD_ONCE || b->v->first_life[x] == b->v->first_life[x + 1])
        return -1;
    int32_t life = b->v->first_life[x];
    return b->a->of[life].arrived ? life : -1;
}

/* It goes on where the one that it replaces is, moved or not: as the plan would have it (weave.c). Not where that has ended, and
 * not on a line that is out: there nothing can have been started. */
static int16_t line_of_start(const book *b, int32_t life, int32_t replaced)
{
    const dd_account *a = &b->a->of[life];
    dd_moment edge = DD_FOR_EVER;
    if (replaced < 0 || b->v->lives[replaced].order->runs == DD_PIGGYBACK)
        return a->line;
    int16_t line = dd_account_line(&b->a->of[replaced], b->h, a->start, a->row);
    return line < 0 || dd_history_in(b->h->off[line], b->h->off_count[line], a->start, &edge) ? a->line : line;
}

static bool excludes(const dd_order *a, const dd_order *b)
{
    return a->runs == b->runs && a->runs != DD_CONCURRENT;
}

static bool ends_others(book *b, const arrival *who, int16_t line, int32_t replaced)
{
    const dd_life *l = &b->v->lives[who->life];
    for (size_t i = 0; i < b->a->started_count; i++) {
        int32_t other = b->a->started[i];
        bool replaces = other == replaced;
        if (other == who->life || !b->a->of[other].arrived || (!replaces && !excludes(l->order, b->v->lives[other].order)))
            continue;
        dd_touch end = {.at = who->at, .event = DD_NOT_CHARTED, .order = l->index, .line = replaces ? (int16_t)-1 : line, .replaced = replaces};
        if (!add_touch(b, other, end, who->row))
            return false;
    }
    return true;
}

static bool arrive(book *b, const arrival *who)
{
    dd_account *a = &b->a->of[who->life];
    if (who->line >= 0) /* not one of a run that had ended before */
        return dd_account_line(a, b->h, who->at, who->row) < 0 || ends_others(b, who, who->line, -1);
    int32_t replaced = replaced_by(b, &b->v->lives[who->life]);
    a->line = line_of_start(b, who->life, replaced);
    a->arrived = true;
    return ends_others(b, who, a->line, replaced);
}

static int by_time(const void *left, const void *right)
{
    const arrival *a = left, *b = right;
    if (a->at != b->at)
        return a->at < b->at ? -1 : 1;
    if (a->row != b->row)
        return a->row < b->row ? -1 : 1;
    return (a->life > b->life) - (a->life < b->life);
}

/* In the order in which they happened: where one starts may hang on where another was moved before. */
static dd_status find_ends(book *b)
{
    arrival *list = dd_arena_take_many(b->w->arena, b->a->started_count + b->h->count + 1, sizeof *list);
    size_t count = 0, started = 0;
    if (!list)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < b->a->started_count; i++) {
        int32_t life = b->a->started[i];
        const dd_account *a = &b->a->of[life];
        list[count++] = (arrival){a->start, a->row, life, -1};
        for (size_t k = 0; k < a->count; k++) {
            const dd_event *e = b->h->events[a->touches[k].event];
            if (e->kind == DD_EVENT_MOVED)
                list[count++] = (arrival){e->time, e->line_of_file, life, e->line};
        }
    }
    if (count > 1)
        qsort(list, count, sizeof *list, by_time);
    for (size_t i = 0; i < count; i++)
        if (list[i].line < 0)
            b->a->started[started++] = list[i].life;
    for (size_t i = 0; i < count; i++)
        if (!arrive(b, &list[i]))
            return DD_NO_MEMORY;
    return DD_OK;
}

dd_status dd_account_make(dd_work *w, const dd_weave *v, dd_history *h, dd_accounts *out)
{
    size_t lives = (size_t)v->life_count + 1;
    book b = {.w = w, .v = v, .h = h, .a = out};
    *out = (dd_accounts){0};
    out->of = dd_arena_take_many(w->arena, lives, sizeof *out->of);
    out->started = dd_arena_take_many(w->arena, lives, sizeof *out->started);
    if (!out->of || !out->started)
        return DD_NO_MEMORY;
    dd_status status = read_chart(&b);
    return status == DD_OK ? find_ends(&b) : status;
}
