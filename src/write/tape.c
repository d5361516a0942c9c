/* tape.c - the time tape of a gravity bag: what should be left in it, hour by hour, with room for what is seen. */
#include "label.h"

#include "glance.h"
#include "phrase.h"

#define AT 2
#define LEFT 9
#define SEEN 29
#define LEFT_LONG 13 /* with the weekday */
#define DAY_S INT64_C(86400)

static void set_row(dd_label *l, dd_moment at, bool weekday, const char *left, bool seen)
{
    int from = weekday ? LEFT_LONG : LEFT;
    dd_bytes clock = DD_BYTES((size_t)256);
    dd_phrase_time(&clock, l->view->plan, at, weekday ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    dd_sheet_row(l->sheet, (const dd_cell[]){{.at = 0, .width = 1, .text = "|", .every = true}, {.at = AT, .width = from - AT - 1, .text = dd_phrase_text(&clock)},
        {.at = from, .width = (seen ? SEEN : DD_LABEL_WIDTH - 1) - from - 1, .text = left}, {.at = SEEN, .text = seen ? "....." : NULL},
        {.at = DD_LABEL_WIDTH - 1, .width = 1, .text = "|", .every = true}}, 5);
    dd_bytes_free(&clock);
}

bool dd_tape_write(dd_label *l, const dd_bag *bag)
{
    const dd_timeline *t = l->timeline;
    dd_moment since, fast, slow;
    dd_u left;
    if (dd_glance_left(t, bag, &since) <= 0 || since == DD_NEVER || !dd_glance_level(t, bag, since, &left))
        return false;
    dd_moment end = bag->down != DD_NEVER ? bag->down : t->plan->end;
    bool weekday = end - since > DAY_S;
    dd_label_edge(l);
    dd_sheet_row(l->sheet, (const dd_cell[]){{.at = 0, .text = "|"}, {.at = AT, .text = "at"}, {.at = weekday ? LEFT_LONG : LEFT, .text = "left in the bag"},
        {.at = SEEN, .text = "seen"}, {.at = DD_LABEL_WIDTH - 1, .text = "|"}}, 5);
    bool unit = true;
    for (dd_moment at = since; at < end && dd_glance_level(t, bag, at, &left); at = dd_moment_next_hour(t->plan->zone, at)) {
        dd_phrase_volume(dd_phrase_start(l->text), t->patient, left);
        dd_bytes_text(l->text, unit ? " mL" : "");
        set_row(l, at, weekday, dd_phrase_text(l->text), true);
        unit = false;
    }
    dd_phrase_start(l->text);
    dd_bytes_text(l->text, bag->empty != DD_NEVER ? "dry" : bag->down != DD_NEVER ? "comes down" : "this plan ends");
    if (dd_glance_spread(t, bag, &fast, &slow) && fast < end) {
        dd_bytes_text(l->text, ", look from ");
        dd_phrase_time(l->text, t->plan, fast, weekday ? DD_MOMENT_DAY : DD_MOMENT_CLOCK);
    }
    set_row(l, end, weekday, dd_phrase_text(l->text), false);
    return true;
}
