#include "ledger.h"

#include <string.h>

#include "names.h"
#include "phrase.h"
#include "tally.h"

#define PARTS_MOST 12      /* columns of what goes in */
#define INFUSIONS_MOST 4   /* that have a column each; with more they stand by category */
#define HEAD_MOST 7        /* characters of an order's key that can head a column */
#define HOUR_S 3600
#define NOTES_CEILING ((size_t)1 << 20)

/* Columns that doses, flushes and charted intake share, behind those of infusions. */
enum { HEAD_DOSE, HEAD_FLUSH, HEAD_FEED, HEAD_ORAL, HEAD_OTHER, HEADS };
static const char *const shared[HEADS] = {"dose", "flush", "feed", "oral", "other"};

/* One period with its parts: an hour, or the part of one on either side of now. */
typedef struct line {
    dd_tally in[PARTS_MOST], out[DD_OUTPUTS], all_in, all_out, balance;
} line;

typedef struct ledger {
    dd_sheet *sheet;
    const dd_timeline *t;
    const dd_patient *p;
    dd_arena *arena;
    dd_bytes *text;
    const char *heads[PARTS_MOST];
    size_t heads_count;
    int infusions;            /* of them; -1 while they are counted: by category */
    bool by_category;
    bool outs[DD_OUTPUTS];
    const dd_moment *edges;   /* hours, and now */
    size_t count;
    const dd_total *totals;   /* charted rows by edges, for what no order gives */
    size_t total_count;
    dd_grid grid;
    line whole, shift;
    dd_bytes notes;           /* where printed hours do not make a printed sum */
    bool off;                 /* in some row the parts do not make IN or OUT, as printed */
    dd_tally running;         /* SUM so far */
} ledger;

/* ---- columns ---- */

static size_t head_of(ledger *l, const char *name)
{
    for (size_t i = 0; i < l->heads_count; i++)
        if (strcmp(l->heads[i], name) == 0)
            return i;
    if (l->heads_count < PARTS_MOST)
        l->heads[l->heads_count++] = name;
    return l->heads_count - 1;
}

static bool is_taken(const char *key)
{
    static const char *const words[] = {"hour", "IN", "OUT", "SUM"};
    for (size_t i = 0; i < HEADS; i++)
        if (strcmp(key, shared[i]) == 0)
            return true;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(key, words[i]) == 0)
            return true;
    for (int i = 0; i < DD_OUTPUTS; i++)
        if (strcmp(key, dd_names_output(i)) == 0)
            return true;
    return false;
}

/* The head under which what an order gives stands. */
static const char *name_of(const ledger *l, int order, int part)
{
    const dd_order *o = &l->p->orders[order];
    if (part == DD_PART_FLUSH || o->category == DD_CAT_FLUSH)
        return shared[HEAD_FLUSH];
    if (o->category == DD_CAT_FEED)
        return shared[HEAD_FEED];
    if (o->repeat != DD_ONCE || o->runs == DD_PIGGYBACK)
        return shared[HEAD_DOSE];
    return l->by_category || strlen(o->key) > HEAD_MOST || is_taken(o->key) ? dd_names_category(o->category) : o->key;
}

static const char *name_of_total(const dd_total *total)
{
    return total->category == DD_CAT_FEED ? shared[HEAD_FEED] : total->category == DD_CAT_ORAL ? shared[HEAD_ORAL] : shared[HEAD_OTHER];
}

static bool is_charted_intake(const dd_total *total)
{
    return !total->out && total->basis == DD_CHARTED && (total->category == DD_CAT_ORAL || total->category == DD_CAT_OTHER || total->category == DD_CAT_FEED);
}

static bool gives(const ledger *l, int order)
{
    for (size_t i = 0; i < l->t->run_count; i++)
        if (l->t->runs[i].order == order && (l->t->runs[i].given.u > 0 || l->t->runs[i].why == DD_END_UNKNOWN || l->t->runs[i].start != DD_NEVER))
            return true;
    return false;
}

static void add_shared(ledger *l, const char *name)
{
    for (int o = 0; o < l->p->order_count; o++)
        if (gives(l, o) && strcmp(name_of(l, o, DD_PART_BAG), name) == 0)
            head_of(l, name);
    bool flush = strcmp(name, shared[HEAD_FLUSH]) == 0;
    for (size_t i = 0; flush && i < l->t->flow_count; i++)
        if (l->t->flows[i].part == DD_PART_FLUSH)
            head_of(l, name);
    for (size_t i = 0; i < l->total_count; i++)
        if (is_charted_intake(&l->totals[i]) && strcmp(name_of_total(&l->totals[i]), name) == 0)
            head_of(l, name);
}

static void settle_columns(ledger *l)
{
    for (int pass = 0; pass < 2; pass++) {
        l->heads_count = 0;
        for (int o = 0; o < l->p->order_count; o++) {
            const char *name = name_of(l, o, DD_PART_BAG);
            bool common = false;
            for (size_t i = 0; i < HEADS; i++)
                common = common || name == shared[i];
            if (!common && gives(l, o))
                head_of(l, name);
        }
        if (l->heads_count <= INFUSIONS_MOST)
            break;
        l->by_category = true;
    }
    for (size_t i = 0; i < HEADS; i++)
        add_shared(l, shared[i]);
    bool any = false;
    for (size_t i = 0; i < l->total_count; i++)
        if (l->totals[i].out)
            l->outs[l->totals[i].category] = any = true;
    l->outs[0] = l->outs[0] || !any; /* room to write urine */
}

/* ---- sums ---- */

/* Doses of which nobody knows, due in the period. */
static bool unknown_dose(const ledger *l, int order, dd_moment from, dd_moment to)
{
    for (size_t i = 0; i < l->t->run_count; i++) {
        const dd_run *r = &l->t->runs[i];
        if (r->order == order && r->why == DD_END_UNKNOWN && r->due >= from && r->due < to)
            return true;
    }
    return false;
}

static void fill(ledger *l, size_t period, line *row)
{
    dd_moment from = l->edges[period], to = l->edges[period + 1];
    for (int o = 0; o < l->p->order_count; o++) {
        static const int parts[] = {DD_PART_BAG, DD_PART_FLUSH};
        for (size_t k = 0; k < 2; k++) {
            int64_t u = dd_timeline_given_of(l->t, (dd_given_of){.order = o, .part = parts[k], .due = DD_NEVER}, from, to).u;
            bool spoilt = k == 0 && unknown_dose(l, o, from, to);
            if (u || spoilt)
                dd_tally_add(&row->in[head_of(l, name_of(l, o, parts[k]))], u, 0, spoilt);
        }
    }
    for (size_t i = 0; i < l->total_count; i++) {
        const dd_total *total = &l->totals[i];
        if (total->from != from)
            continue;
        if (total->out)
            dd_tally_add(&row->out[total->category], total->volume.u, 0, total->unknown > 0);
    }
    for (size_t i = 0; i < l->t->event_count; i++) { /* what no order gives */
        const dd_event *e = l->t->events[i];
        if (e->kind != DD_EVENT_INTAKE || e->time < from || e->time >= to || !e->what)
            continue;
        int head = strcmp(e->what, "oral") == 0 ? HEAD_ORAL : strcmp(e->what, "feed") == 0 ? HEAD_FEED : HEAD_OTHER;
        int64_t u;
        bool known = dd_timeline_measure(e, &u);
        dd_tally_add(&row->in[head_of(l, shared[head])], known ? u : 0, 0, !known);
    }
    for (size_t i = 0; i < l->heads_count; i++) {
        row->in[i].printed_ul = dd_phrase_shown(l->p, (dd_u){row->in[i].u});
        dd_tally_add(&row->all_in, row->in[i].u, row->in[i].printed_ul, row->in[i].spoilt);
    }
    for (int i = 0; i < DD_OUTPUTS; i++) {
        row->out[i].printed_ul = dd_phrase_shown(l->p, (dd_u){row->out[i].u});
        dd_tally_add(&row->all_out, row->out[i].u, row->out[i].printed_ul, row->out[i].spoilt);
    }
}

static bool is_off(const ledger *l, const dd_tally *sum)
{
    return sum->printed_ul != dd_phrase_shown(l->p, (dd_u){sum->u});
}

/* `main day 254.8`: what the printed hours of a column make, where that is not the printed sum. */
static void note_column(ledger *l, const char *name, const char *label, const dd_tally *sum)
{
    char number[DD_NUMBER_MAX];
    if (!is_off(l, sum))
        return;
    dd_bytes_text(&l->notes, l->notes.length ? ", " : "Rounding: printed hours make ");
    dd_bytes_form(&l->notes, "%s %s ", name, label);
    dd_bytes_add(&l->notes, number, dd_number_scaled(number, sum->printed_ul, 3, 3, DD_STYLE_PERSON));
}

static void note_rounding(ledger *l, const char *label, const line *sum, bool outs)
{
    for (size_t i = 0; i < l->heads_count; i++)
        note_column(l, l->heads[i], label, &sum->in[i]);
    note_column(l, "IN", label, &sum->all_in);
    for (int i = 0; outs && i < DD_OUTPUTS; i++)
        note_column(l, dd_names_output(i), label, &sum->out[i]);
    if (outs)
        note_column(l, "OUT", label, &sum->all_out);
}

static void add_line(const ledger *l, line *to, const line *row)
{
    for (size_t i = 0; i < PARTS_MOST; i++)
        dd_tally_add(&to->in[i], row->in[i].u, row->in[i].printed_ul, row->in[i].spoilt);
    for (int i = 0; i < DD_OUTPUTS; i++)
        dd_tally_add(&to->out[i], row->out[i].u, row->out[i].printed_ul, row->out[i].spoilt);
    dd_tally_add(&to->all_in, row->all_in.u, dd_phrase_shown(l->p, (dd_u){row->all_in.u}), row->all_in.spoilt);
    dd_tally_add(&to->all_out, row->all_out.u, dd_phrase_shown(l->p, (dd_u){row->all_out.u}), row->all_out.spoilt);
}

/* ---- rows ---- */

/* A planned hour has dots to write into: intake that is only charted, what comes out, and the running sum. */
static void set_line(ledger *l, const char *label, const line *row, bool planned, bool sum)
{
    dd_grid *g = &l->grid;
    dd_bytes_text(&g->cells, l->sheet->sentences && !sum ? "hour " : "");
    dd_grid_cell(g, label);
    for (size_t i = 0; i < l->heads_count; i++) {
        bool written = l->heads[i] == shared[HEAD_ORAL] || l->heads[i] == shared[HEAD_OTHER];
        if (planned && written && row->in[i].u == 0 && !row->in[i].spoilt)
            dd_grid_cell(g, "..");
        else
            dd_tally_cell(g, l->p, &row->in[i], true, l->text);
    }
    dd_tally_cell(g, l->p, &row->all_in, false, l->text);
    for (int i = 0; i < DD_OUTPUTS; i++)
        if (l->outs[i]) {
            if (planned)
                dd_grid_cell(g, sum ? "" : "....");
            else
                dd_tally_cell(g, l->p, &row->out[i], true, l->text);
        }
    if (planned) {
        dd_grid_cell(g, sum ? "" : "....");
        dd_grid_cell(g, sum ? "" : "....");
        return;
    }
    dd_tally_cell(g, l->p, &row->all_out, true, l->text);
    dd_tally_cell(g, l->p, &l->running, false, l->text);
}

static void set_label(ledger *l, const char *label)
{
    size_t outs = 0;
    for (int i = 0; i < DD_OUTPUTS; i++)
        outs += l->outs[i];
    dd_grid_cell(&l->grid, label);
    for (size_t i = 0; i < l->heads_count + 1 + outs + 2; i++)
        dd_grid_cell(&l->grid, "");
}

static const char *shift_at(const dd_plan *plan, dd_moment t)
{
    dd_civil local = dd_moment_local(plan->zone, t);
    int32_t second = local.hour * HOUR_S + local.minute * 60 + local.second;
    const char *name = plan->shift_count ? plan->shifts[plan->shift_count - 1].name : "shift";
    for (size_t i = 0; i < plan->shift_count; i++)
        if (plan->shifts[i].second_of_day <= second)
            name = plan->shifts[i].name;
    return name;
}

/* `day`; `day, so far` and `day, rest` where now lies in it. */
static void set_shift(ledger *l, dd_moment from, bool planned, bool cut)
{
    dd_bytes label = DD_BYTES(1024);
    dd_bytes_text(&label, shift_at(l->t->plan, from));
    if (cut)
        dd_bytes_text(&label, planned ? ", rest" : ", so far");
    set_line(l, dd_phrase_text(&label), &l->shift, planned, true);
    note_rounding(l, dd_phrase_text(&label), &l->shift, !planned);
    if (label.failed)
        l->text->failed = true;
    dd_bytes_free(&label);
    l->shift = (line){0};
}

static bool is_shift_edge(const ledger *l, dd_moment t)
{
    if (t == l->t->plan->end)
        return true;
    dd_civil local = dd_moment_local(l->t->plan->zone, t);
    for (size_t i = 0; i < l->t->plan->shift_count; i++)
        if (l->t->plan->shifts[i].second_of_day == local.hour * HOUR_S + local.minute * 60 + local.second)
            return true;
    return false;
}

static void set_rows(ledger *l)
{
    const dd_plan *plan = l->t->plan;
    bool counts = l->t->chart_counts || l->t->event_count > 0, long_plan = plan->end - plan->begins > INT64_C(25) * HOUR_S;
    int told = -1, day = -1;
    dd_moment shift_from = plan->begins;
    for (size_t i = 0; i < l->count; i++) {
        dd_moment from = l->edges[i], to = l->edges[i + 1];
        bool planned = !counts || from >= l->t->now;
        dd_civil local = dd_moment_local(plan->zone, from);
        line row = {0};
        char hour[DD_MOMENT_MAX];
        fill(l, i, &row);
        if (told != planned) {
            set_label(l, !l->sheet->sentences ? planned ? "PLANNED" : "CHARTED" : planned ? "From here on it is planned" : "From here on it is charted");
            told = planned;
        }
        if (long_plan && local.day != day) {
            dd_moment_write(hour, plan->zone, from, DD_MOMENT_DATE_CLOCK);
            hour[strlen(hour) > 6 ? strlen(hour) - 6 : 0] = '\0'; /* the date alone */
            set_label(l, hour);
            day = local.day;
        }
        dd_moment_write(hour, plan->zone, from, DD_MOMENT_CLOCK);
        hour[local.minute == 0 && local.second == 0 ? 2 : 5] = '\0';
        dd_tally_add(&l->running, row.all_in.u - row.all_out.u, 0, row.all_in.spoilt || row.all_out.spoilt);
        set_line(l, hour, &row, planned, false);
        l->off = l->off || is_off(l, &row.all_in) || is_off(l, &row.all_out);
        add_line(l, &l->whole, &row);
        add_line(l, &l->shift, &row);
        bool ends = is_shift_edge(l, to), now_inside = counts && to == l->t->now;
        if (ends || now_inside) {
            set_shift(l, shift_from, planned, !ends || !(shift_from == plan->begins || is_shift_edge(l, shift_from)));
            shift_from = to;
        }
    }
}

/* ---- what the marks mean ---- */

static void set_marks(ledger *l)
{
    for (size_t i = 0; i < l->t->run_count; i++) {
        const dd_run *r = &l->t->runs[i];
        const dd_order *o = &l->p->orders[r->order];
        if (r->why != DD_END_UNKNOWN)
            continue;
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "? ");
        dd_bytes_text(l->text, o->key);
        dd_bytes_text(l->text, " due ");
        dd_phrase_time(l->text, l->t->plan, r->due, DD_MOMENT_DAY);
        dd_bytes_text(l->text, " has no entry: IN and SUM are ");
        int64_t flush = o->flush_u != DD_UNKNOWN ? o->flush_u : 0;
        dd_phrase_volume(l->text, l->p, (dd_u){o->volume_ul * DD_U_PER_UL + flush});
        dd_bytes_text(l->text, " mL more if it was given.");
        dd_sheet_text(l->sheet, 1, 3, dd_phrase_text(l->text));
    }
    for (size_t i = 0; i < l->t->event_count; i++) {
        const dd_event *e = l->t->events[i];
        bool in = e->kind == DD_EVENT_INTAKE;
        if ((!in && e->kind != DD_EVENT_OUTPUT) || !e->unmeasured || !e->what || e->time < l->t->plan->begins)
            continue;
        dd_phrase_start(l->text);
        dd_bytes_text(l->text, "? ");
        dd_bytes_text(l->text, e->what);
        dd_bytes_text(l->text, " at ");
        dd_phrase_time(l->text, l->t->plan, e->time, DD_MOMENT_DAY);
        dd_bytes_text(l->text, in ? " was not measured: the true IN and SUM are higher." : " was not measured: the true OUT is higher, the true SUM lower.");
        dd_sheet_text(l->sheet, 1, 3, dd_phrase_text(l->text));
    }
    for (int o = 0; o < l->p->order_count; o++)
        for (size_t i = 0; i < l->t->piece_count; i++)
            if (l->t->pieces[i].order == o && l->t->pieces[i].scale_of != 0) {
                dd_phrase_start(l->text);
                dd_bytes_text(l->text, l->p->orders[o].key);
                dd_bytes_text(l->text, ": spread evenly to meet what was read.");
                dd_sheet_text(l->sheet, 1, 3, dd_phrase_text(l->text));
                break;
            }
}

static void set_roundings(ledger *l)
{
    if (l->off)
        dd_sheet_text(l->sheet, 1, 3, "In a row each figure is rounded by itself: not all parts make IN or OUT to the last digit.");
    if (l->notes.length == 0)
        return;
    dd_bytes_char(&l->notes, '.');
    dd_sheet_text(l->sheet, 1, 3, dd_phrase_text(&l->notes));
}

static dd_status settle_edges(ledger *l)
{
    const dd_moment *hours;
    size_t count, n = 0;
    dd_status status = dd_timeline_periods(l->t->plan, DD_BY_HOUR, l->arena, &hours, &count);
    dd_moment *edges = status == DD_OK ? dd_arena_take_many(l->arena, count + 2, sizeof *edges) : NULL;
    if (!edges)
        return DD_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        edges[n++] = hours[i];
        if (hours[i] < l->t->now && l->t->now < hours[i + 1])
            edges[n++] = l->t->now;
    }
    edges[n] = hours[count];
    l->edges = edges;
    l->count = n;
    return dd_timeline_totals(l->t, edges, n, l->arena, &l->totals, &l->total_count);
}

dd_status dd_ledger_write(dd_sheet *sheet, const dd_timeline *timeline, dd_arena *arena, dd_bytes *text)
{
    ledger l = {.sheet = sheet, .t = timeline, .p = timeline->patient, .arena = arena, .text = text, .notes = DD_BYTES(NOTES_CEILING)};
    dd_status status = settle_edges(&l);
    if (status != DD_OK)
        return status;
    settle_columns(&l);
    dd_column columns[PARTS_MOST + DD_OUTPUTS + 4];
    size_t n = 0;
    columns[n++] = (dd_column){.head = "hour", .align = DD_LEFT};
    for (size_t i = 0; i < l.heads_count; i++)
        columns[n++] = (dd_column){.head = l.heads[i], .align = DD_POINT, .unit = " mL"};
    columns[n++] = (dd_column){.head = "IN", .align = DD_POINT, .say = "in", .unit = " mL"};
    size_t bar = n;
    for (int i = 0; i < DD_OUTPUTS; i++)
        if (l.outs[i])
            columns[n++] = (dd_column){.head = dd_names_output(i), .align = DD_POINT, .unit = " mL"};
    columns[n++] = (dd_column){.head = "OUT", .align = DD_POINT, .say = "out", .unit = " mL"};
    columns[n++] = (dd_column){.head = "SUM", .align = DD_POINT, .say = "sum of in less out so far", .unit = " mL"};
    columns[bar].bar = true;
    dd_phrase_forward(dd_phrase_start(text), timeline->patient);
    dd_sheet_said(sheet, "In and out, hour by hour");
    if (text->length)
        dd_sheet_text(sheet, 0, 2, dd_phrase_text(text));
    dd_grid_start(&l.grid, columns, n);
    set_rows(&l);
    char whole[DD_MOMENT_MAX];
    dd_moment_span(whole, timeline->plan->end - timeline->plan->begins);
    set_line(&l, whole, &l.whole, true, true);
    note_rounding(&l, whole, &l.whole, false);
    dd_grid_write(&l.grid, sheet, 0);
    dd_phrase_start(text);
    if (dd_phrase_clocks_change(text, timeline->plan, timeline->plan->begins, timeline->plan->end))
        dd_sheet_text(sheet, 1, 3, dd_phrase_text(text));
    set_marks(&l);
    set_roundings(&l);
    bool failed = text->failed || l.notes.failed;
    dd_bytes_free(&l.notes);
    return failed ? DD_NO_MEMORY : DD_OK;
}
