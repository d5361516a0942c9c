/* running.c - the front's parts about what flows now: the allowance and RUNNING. */
#include "front.h"

#include <string.h>

#include "glance.h"
#include "phrase.h"
#include "whole.h"

#define DAY_S INT64_C(86400)

/* Columns, counted from the right edge so that a wide page gives the room to the names. */
typedef struct columns { int rate, bag, left, dry, seen; } columns;

static columns columns_of(const dd_front *f)
{
    int w = f->sheet->width;
    return (columns){w - 46, w - 31, w - 26, w - 15, w - 4};
}

static void add_number(dd_bytes *out, int64_t value)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, value, 0, 0, DD_STYLE_PERSON));
}

static void set_words(dd_front *f)
{
    dd_sheet_text(f->sheet, 3, 5, dd_phrase_text(f->text));
}

/* ---- the allowance ---- */

/* Intake before now and from now on; one part where now is at an end of the plan. `asked`: what the doses hold of which nobody knows,
 * and how many there are. */
typedef struct allowance { dd_u sums[2], asked; uint32_t unknown[2], asks; size_t parts; } allowance;

static bool add_intake(dd_front *f, allowance *a)
{
    const dd_plan *plan = f->view->plan;
    dd_moment edges[3] = {plan->begins, plan->end, plan->end};
    a->parts = 1;
    if (f->view->now > plan->begins && f->view->now < plan->end) {
        edges[1] = f->view->now;
        a->parts = 2;
    }
    const dd_total *totals;
    size_t count;
    f->status = dd_timeline_totals(f->timeline, edges, a->parts, f->arena, &totals, &count);
    for (size_t i = 0; f->status == DD_OK && i < count; i++) {
        size_t part = totals[i].from == edges[0] ? 0 : 1;
        if (totals[i].out)
            continue;
        if (!dd_whole_plus(a->sums[part].u, totals[i].volume.u, &a->sums[part].u))
            f->status = DD_TOO_LARGE;
        a->unknown[part] += totals[i].unknown;
    }
    return f->status == DD_OK;
}

/* Doses past their window without an entry: those alone are unknown in what is in. */
static void add_asked(dd_front *f, allowance *a)
{
    const dd_timeline *t = f->timeline;
    for (size_t i = 0; i < t->run_count; i++) {
        const dd_order *o = &t->patient->orders[t->runs[i].order];
        int64_t flush = o->flush_ul == DD_UNKNOWN ? 0 : o->flush_ul;
        if (t->runs[i].why != DD_END_UNKNOWN)
            continue;
        a->asks++;
        if (o->volume_ul == DD_UNKNOWN || !dd_whole_plus(a->asked.u, (o->volume_ul + flush) * DD_U_PER_UL, &a->asked.u))
            f->status = DD_TOO_LARGE;
    }
}

/* `358.9 mL if it was given` */
static const char *if_given(dd_front *f, const allowance *a, dd_u sum, dd_bytes *out)
{
    dd_phrase_start(out);
    dd_phrase_volume(out, f->timeline->patient, (dd_u){sum.u + a->asked.u});
    dd_bytes_text(out, a->asks == 1 ? " mL if it was given" : " mL if they were given");
    return dd_phrase_text(out);
}

static void set_sum(dd_front *f, const char *label, dd_u sum, bool unknown, const char *behind)
{
    dd_phrase_start(f->text);
    dd_phrase_volume(f->text, f->timeline->patient, sum);
    dd_bytes_text(f->text, unknown ? "?" : "");
    dd_bytes_text(f->text, " mL");
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 1, .width = 22, .text = label},
        {.at = 24, .width = 14, .align = DD_POINT, .after = 7, .text = dd_phrase_text(f->text)}, {.at = 39, .text = behind}}, 3);
    dd_sheet_join(f->sheet);
}

static void set_remainder(dd_front *f)
{
    const dd_timeline *t = f->timeline;
    if (t->remainder_order < 0)
        return;
    const dd_order *o = &t->patient->orders[t->remainder_order];
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "what it leaves runs as ");
    dd_bytes_text(f->text, o->key);
    dd_bytes_text(f->text, " on ");
    dd_bytes_text(f->text, t->patient->lines[o->line].key);
    dd_bytes_text(f->text, ", set to ");
    dd_phrase_set_rate(f->text, t->rates[t->remainder_order][0]);
    dd_sheet_text(f->sheet, 1, 3, dd_phrase_text(f->text));
}

static void set_allowance(dd_front *f)
{
    const dd_patient *p = f->timeline->patient;
    const dd_plan *plan = f->view->plan;
    allowance a = {0};
    int64_t window;
    dd_u all;
    if (p->allowance_ul_day == DD_UNKNOWN || !add_intake(f, &a))
        return;
    if (!dd_whole_scale_half_up(p->allowance_ul_day, plan->end - plan->begins, 86400, &window) ||
        !dd_whole_plus(a.sums[0].u, a.sums[1].u, &all.u)) {
        f->status = DD_TOO_LARGE;
        return;
    }
    dd_sheet_together(f->sheet);
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "ALLOWANCE ");
    dd_phrase_ul(f->text, window);
    dd_bytes_text(f->text, " from ");
    dd_phrase_time(f->text, plan, plan->begins, DD_MOMENT_DAY);
    dd_bytes_text(f->text, " to ");
    dd_phrase_time(f->text, plan, plan->end, DD_MOMENT_DAY);
    if (p->allowance_text && (strstr(p->allowance_text, "maintenance") || strstr(p->allowance_text, "kg"))) {
        dd_bytes_text(f->text, " (ordered: ");
        dd_phrase_spaced(f->text, p->allowance_text);
        dd_bytes_char(f->text, ')');
    } else if (window != p->allowance_ul_day) {
        dd_bytes_text(f->text, " (ordered: ");
        dd_phrase_ul(f->text, p->allowance_ul_day);
        dd_bytes_text(f->text, " a day)");
    }
    dd_sheet_title(f->sheet, 0, 10, dd_phrase_text(f->text), NULL);
    add_asked(f, &a);
    bool unknown = a.unknown[0] + a.unknown[1] > 0, asks = a.asks > 0 && a.asks == a.unknown[0] + a.unknown[1];
    dd_bytes more = DD_BYTES((size_t)4096);
    if (a.parts == 2) {
        dd_bytes label = DD_BYTES((size_t)256);
        dd_bytes_text(&label, "in by ");
        dd_phrase_time(&label, plan, f->view->now, DD_MOMENT_CLOCK);
        set_sum(f, dd_phrase_text(&label), a.sums[0], a.unknown[0] > 0, asks ? if_given(f, &a, a.sums[0], &more) : f->timeline->chart_counts ? "" : "by the plan: nothing is charted");
        dd_bytes_free(&label);
        set_sum(f, "to come", a.sums[1], a.unknown[1] > 0, "");
    }
    bool within = dd_phrase_shown(p, all) <= window;
    if (asks) {
        (void)if_given(f, &a, all, &more);
        dd_bytes_text(&more, !within ? ", ABOVE THE ALLOWANCE both ways" : dd_phrase_shown(p, (dd_u){all.u + a.asked.u}) <= window ? ", within the allowance both ways" : ", ABOVE THE ALLOWANCE then");
    }
    set_sum(f, a.parts == 2 ? "makes" : "planned", all, unknown, asks ? dd_phrase_text(&more) : unknown ? "and what is not known" : within ? "within the allowance" : "ABOVE THE ALLOWANCE");
    if (more.failed)
        f->status = DD_NO_MEMORY;
    dd_bytes_free(&more);
    int64_t parts;
    if (a.parts == 2 && dd_whole_plus(dd_phrase_shown(p, a.sums[0]), dd_phrase_shown(p, a.sums[1]), &parts) && parts != dd_phrase_shown(p, all))
        dd_sheet_text(f->sheet, 1, 3, "each figure is rounded by itself: the parts printed do not add up to the last digit");
    set_remainder(f);
    dd_sheet_apart(f->sheet);
    dd_sheet_rule(f->sheet);
}

/* ---- running ---- */

/* The flow of this order at now, in a page of the plan's very end in its last second; or NULL: it is stopped. */
static const dd_flow *flow_now(const dd_timeline *t, int order)
{
    dd_moment now = t->now < t->plan->end ? t->now : t->plan->end - 1;
    for (size_t i = 0; i < t->flow_count && t->flows[i].from <= now; i++)
        if (t->flows[i].order == order && t->flows[i].to > now)
            return &t->flows[i];
    return NULL;
}

/* When a stopped order goes on, and at which rate. */
static const dd_mark *goes_on(const dd_timeline *t, int order)
{
    for (size_t i = 0; i < t->mark_count; i++)
        if (t->marks[i].order == order && t->marks[i].kind == DD_MARK_GOES_ON && t->marks[i].at > t->now)
            return &t->marks[i];
    return NULL;
}

static void add_clock(dd_front *f, dd_moment t, dd_moment_style style)
{
    dd_phrase_time(f->text, f->view->plan, t, style);
}

/* `left should be   20:00 225 mL   21:00 162`, as far as this bag goes and as many as are of use. */
static void set_levels(dd_front *f, const dd_bag *bag)
{
    enum { LEVELS = 6 };
    const dd_timeline *t = f->timeline;
    dd_moment hour = dd_moment_next_hour(f->view->plan->zone, t->now);
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "left should be");
    int shown = 0;
    for (; shown < LEVELS && hour < f->view->to; hour = dd_moment_next_hour(f->view->plan->zone, hour), shown++) {
        dd_u left;
        if (!dd_glance_level(t, bag, hour, &left))
            break;
        dd_bytes_text(f->text, "   ");
        add_clock(f, hour, DD_MOMENT_CLOCK);
        dd_bytes_char(f->text, ' ');
        dd_phrase_volume(f->text, t->patient, left);
        dd_bytes_text(f->text, shown == 0 || f->sheet->sentences ? " mL" : "");
    }
    if (shown > 0)
        set_words(f);
}

static void set_gravity(dd_front *f, int order, const dd_bag *bag)
{
    dd_moment fast, slow;
    if (dd_glance_spread(f->timeline, bag, &fast, &slow)) {
        int64_t share = dd_glance_spread_share(f->timeline, order);
        char number[DD_NUMBER_MAX];
        dd_phrase_start(f->text);
        dd_bytes_add(f->text, number, dd_number_scaled(number, share, 6, 1, DD_STYLE_PERSON));
        dd_bytes_text(f->text, " % fast or slow: dry between ");
        bool far = slow - f->timeline->now >= DAY_S; /* both with the weekday, the later one still no earlier than it is */
        add_clock(f, fast, far ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, " and ");
        add_clock(f, far ? slow + 59 : slow, far ? DD_MOMENT_DAY : DD_MOMENT_CLOCK_UP);
        set_words(f);
    }
    set_levels(f, bag);
}

/* `glucose 5 % with ...` and what else is worth knowing of a running order. */
static void set_details(dd_front *f, int order, const dd_flow *flow, const dd_bag *bag)
{
    const dd_timeline *t = f->timeline;
    const dd_order *o = &t->patient->orders[order];
    char number[DD_NUMBER_MAX];
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, o->mixture->words);
    if (o->device == DD_GRAVITY && flow) {
        dd_bytes_text(f->text, ", ");
        dd_phrase_rate(f->text, flow->rate);
        dd_bytes_text(f->text, " with a ");
        dd_bytes_add(f->text, number, dd_number_scaled(number, o->drop_factor_micro, 6, 3, DD_STYLE_PERSON));
        dd_bytes_text(f->text, " drops/mL set");
    }
    if (o->bag_ul != DD_UNKNOWN && o->volume_ul != o->bag_ul) {
        dd_bytes_text(f->text, o->volume_ul == DD_UNKNOWN || o->volume_ul > o->bag_ul ? ", bags of " : ", bag of ");
        dd_phrase_ul(f->text, o->bag_ul);
    }
    set_words(f);
    if (bag && bag->empty == DD_NEVER) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "bag ");
        add_number(f->text, bag->number);
        if (bag->down == DD_NEVER) {
            bool hangs_long = o->hang_s > 0 && bag->up != DD_NEVER && bag->up + o->hang_s <= t->plan->end;
            dd_bytes_text(f->text, hangs_long ? " is to come down by its hang time, " : " lasts past ");
            add_clock(f, hangs_long ? bag->up + o->hang_s : t->plan->end, DD_MOMENT_DAY);
        } else {
            dd_bytes_text(f->text, bag->expired ? " comes down when its hang time is over, " : " comes down before it is empty, ");
            add_clock(f, bag->down, DD_MOMENT_DAY);
        }
        set_words(f);
    }
    if (o->device == DD_GRAVITY && bag)
        set_gravity(f, order, bag);
    if (o->note) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "note: ");
        dd_bytes_text(f->text, o->note);
        set_words(f);
    }
}

enum { WHERE, RATE, BAG, LEFT, DRY, CELLS };

/* The texts of a run's row, one behind the other, each ended by NUL; at[] says where each begins. */
static void fill_cells(const dd_timeline *t, const dd_run *run, const dd_flow *flow, const dd_bag *bag, dd_bytes *out, size_t at[CELLS])
{
    static const char *const devices[] = {"pump", "syringe", "gravity"};
    const dd_order *o = &t->patient->orders[run->order];
    bool flushing = flow && flow->part == DD_PART_FLUSH;
    at[WHERE] = out->length;
    dd_bytes_text(out, t->patient->lines[run->line].key);
    dd_bytes_text(out, ", ");
    dd_bytes_text(out, o->device <= DD_GRAVITY ? devices[o->device] : "?");
    dd_bytes_char(out, '\0');
    at[RATE] = out->length;
    if (flow)
        dd_phrase_rate_of(out, t, run->order, flow->rate);
    else
        dd_bytes_text(out, "stopped");
    dd_bytes_char(out, '\0');
    at[BAG] = out->length;
    if (flushing)
        dd_bytes_text(out, "flush");
    else if (bag)
        add_number(out, bag->number);
    dd_bytes_char(out, '\0');
    at[LEFT] = out->length;
    if (bag) {
        dd_phrase_volume(out, t->patient, bag->left_at_now);
        dd_bytes_text(out, " mL");
    }
    dd_bytes_char(out, '\0');
    at[DRY] = out->length;
    if (flushing)
        dd_phrase_time(out, t->plan, run->end, DD_MOMENT_DAY);
    else if (bag && bag->empty != DD_NEVER)
        dd_phrase_time(out, t->plan, bag->empty, DD_MOMENT_DAY);
    else
        dd_bytes_text(out, bag ? "later" : "?");
    dd_bytes_char(out, '\0');
}

/* One run that goes on at now. */
static void set_run(dd_front *f, const dd_run *run)
{
    const dd_timeline *t = f->timeline;
    const dd_flow *flow = flow_now(t, run->order);
    const dd_bag *bag = dd_glance_bag_now(t, run->order);
    const dd_mark *next = flow ? NULL : goes_on(t, run->order);
    columns c = columns_of(f);
    dd_bytes cells = DD_BYTES((size_t)4096);
    size_t at[CELLS];
    fill_cells(t, run, flow, bag, &cells, at);
    if (cells.failed) {
        f->status = DD_NO_MEMORY;
        dd_bytes_free(&cells);
        return;
    }
    dd_sheet_together(f->sheet);
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = c.rate - 1, .after = 1, .text = cells.data + at[WHERE]},
        {.at = c.rate, .width = c.bag - c.rate - 1, .text = cells.data + at[RATE], .say = flow ? "set rate" : ""},
        {.at = c.bag, .width = 5, .align = DD_RIGHT, .text = cells.data + at[BAG], .say = flow && flow->part == DD_PART_FLUSH ? "now" : "bag"},
        {.at = c.left, .width = 10, .align = DD_POINT, .after = 5, .text = cells.data + at[LEFT], .say = "left"},
        {.at = c.dry, .width = 10, .text = cells.data + at[DRY], .say = "dry"}, {.at = c.seen, .text = "[ ]"}}, 6);
    if (next) {
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "goes on at ");
        add_clock(f, next->at, DD_MOMENT_CLOCK);
        dd_bytes_text(f->text, " at ");
        dd_phrase_rate_of(f->text, t, run->order, next->rate);
        set_words(f);
    }
    set_details(f, run->order, flow, bag);
    dd_sheet_apart(f->sheet);
    dd_bytes_free(&cells);
}

/* A feed between two of its runs: `feeding-tube   20 mL every 3 h, next 21:00`. */
static void set_feed(dd_front *f, int order)
{
    const dd_timeline *t = f->timeline;
    const dd_order *o = &t->patient->orders[order];
    columns c = columns_of(f);
    const dd_run *next = NULL;
    for (size_t i = 0; i < t->run_count && !next; i++)
        if (t->runs[i].order == order && t->runs[i].start != DD_NEVER && t->runs[i].start > t->now)
            next = &t->runs[i];
    if (!next)
        return;
    dd_phrase_start(f->text);
    dd_phrase_ul(f->text, o->volume_ul);
    if (o->repeat == DD_EVERY) {
        dd_bytes_text(f->text, " every ");
        dd_phrase_span(f->text, o->every_s);
    }
    dd_bytes_text(f->text, ", next ");
    add_clock(f, next->start, DD_MOMENT_DAY);
    dd_sheet_together(f->sheet);
    dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = c.rate - 1, .after = 1, .text = t->patient->lines[o->line].key},
        {.at = c.rate, .width = c.seen - c.rate - 1, .text = dd_phrase_text(f->text)}, {.at = c.seen, .text = "[ ]"}}, 3);
    dd_sheet_text(f->sheet, 3, 5, o->mixture->words);
    dd_sheet_apart(f->sheet);
}

static bool goes_on_now(const dd_run *r, dd_moment now)
{
    return r->start != DD_NEVER && r->start <= now && (r->end == DD_NEVER || r->end > now);
}

static void set_line(dd_front *f, int line)
{
    const dd_timeline *t = f->timeline;
    bool any = false;
    for (size_t i = 0; i < t->run_count; i++)
        if (t->runs[i].line == line && goes_on_now(&t->runs[i], t->now) && t->runs[i].why != DD_END_NEVER) {
            set_run(f, &t->runs[i]);
            any = true;
        }
    if (any)
        return;
    for (int o = 0; o < t->patient->order_count; o++)
        if (t->patient->orders[o].line == line && t->patient->orders[o].category == DD_CAT_FEED && t->patient->orders[o].repeat != DD_ONCE) {
            set_feed(f, o);
            any = true;
        }
    if (!any) {
        columns c = columns_of(f);
        const dd_run *next = dd_glance_next_run(t, line, t->now);
        dd_phrase_start(f->text);
        dd_bytes_text(f->text, "nothing runs");
        if (next) {
            dd_bytes_text(f->text, "; next ");
            add_clock(f, next->start, DD_MOMENT_DAY);
        }
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = c.rate - 1, .after = 1, .text = t->patient->lines[line].key},
            {.at = c.rate, .width = c.seen - c.rate - 1, .text = dd_phrase_text(f->text)}, {.at = c.seen, .text = "[ ]"}}, 3);
    }
}

void dd_running_write(dd_front *f)
{
    const dd_timeline *t = f->timeline;
    columns c = columns_of(f);
    set_allowance(f);
    dd_phrase_start(f->text);
    dd_bytes_text(f->text, "RUNNING ");
    add_clock(f, t->now, DD_MOMENT_CLOCK);
    if (!t->chart_counts) /* what somebody planned, not what somebody saw */
        dd_bytes_text(f->text, ", by plan");
    dd_sheet_said(f->sheet, dd_phrase_text(f->text));
    if (!f->sheet->sentences)
        dd_sheet_row(f->sheet, (const dd_cell[]){{.at = 0, .width = c.rate - 1, .text = dd_phrase_text(f->text)}, {.at = c.rate, .text = "set rate"},
            {.at = c.bag, .width = 5, .align = DD_RIGHT, .text = "bag"}, {.at = c.left, .text = "  left"}, {.at = c.dry, .text = "dry"}, {.at = c.seen, .text = "seen"}}, 6);
    dd_sheet_join(f->sheet);
    for (int line = 0; line < t->patient->line_count; line++)
        set_line(f, line);
    if (t->patient->line_count == 0)
        dd_sheet_text(f->sheet, 0, 0, "no lines");
    dd_sheet_rule(f->sheet);
}
