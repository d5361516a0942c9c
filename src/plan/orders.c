#include <stdio.h>
#include <string.h>

#include "catalogue.h"
#include "content.h"
#include "mixture.h"
#include "order.h"

#define ORDERS_MOST 32000

static uint32_t order_line(const dd_folder *f, uint32_t value)
{
    return f->orders[value].line_of_file;
}

static void fault(dd_order_row *r, dd_column_id column, dd_message_id id, const char *first)
{
    dd_table_fault(r->s, column, id, dd_cells_peek(r->s, column), first, NULL);
}

/* `pump`, `syringe`, `20 gtt/mL`. */
static void read_set(dd_order_row *r)
{
    const char *text;
    size_t length;
    r->order->device = DD_PUMP;
    if (!dd_cells_text(r->s, DD_COL_ORDERS_SET, &text, &length) || !text || strcmp(text, "pump") == 0)
        return;
    if (strcmp(text, "syringe") == 0) {
        r->order->device = DD_SYRINGE;
        return;
    }
    if (text[0] < '0' || text[0] > '9') {
        fault(r, DD_COL_ORDERS_SET, DD_MSG_SET_FORM, dd_column_list[DD_COL_ORDERS_SET].expected);
        return;
    }
    dd_quantity q;
    r->order->device = DD_GRAVITY;
    r->order->drop_factor_micro = 20000000;
    if (dd_cells_part(r->s, DD_COL_ORDERS_SET, text, length, DD_TAKES_DROP_FACTOR, false, &q)) {
        dd_ratio factor;
        if (dd_ratio_make((dd_int128)q.micro * 1000 * 1000000, (dd_int128)q.per_micro * dd_needs_unit(q.per).size, &factor) != DD_OK
            || dd_ratio_half_up(factor, 1, &r->order->drop_factor_micro) != DD_OK || r->order->drop_factor_micro <= 0
            || r->order->drop_factor_micro > INT64_C(1000000000))
            fault(r, DD_COL_ORDERS_SET, DD_MSG_SET_FORM, dd_column_list[DD_COL_ORDERS_SET].expected);
    }
}

/* Category, how it runs and what it is for; each has a default that follows from the fluid and the line. */
static void read_kinds(dd_order_row *r)
{
    static const uint8_t categories[] = {DD_CAT_FLUID, DD_CAT_DRUG, DD_CAT_BLOOD, DD_CAT_NUTRITION, DD_CAT_FEED, DD_CAT_FLUSH};
    dd_order *o = r->order;
    int category, runs, purpose;
    bool good = dd_cells_word(r->s, DD_COL_ORDERS_CATEGORY, &category);
    const dd_mixture *m = o->mixture;
    bool enteral = r->line && r->line->kind == DD_KIND_ENTERAL;
    if (category >= 0)
        o->category = categories[category];
    else if (!m)
        o->category = DD_CAT_FLUID;
    else if (enteral && (m->category == DD_CAT_FLUID || (m->category == DD_CAT_DRUG && !m->drug_known && m->drug_amount.unit == DD_UNIT_NONE)))
        o->category = DD_CAT_FEED;
    else
        o->category = m->category;
    if (dd_cells_word(r->s, DD_COL_ORDERS_RUNS, &runs))
        o->runs = runs >= 0 ? (uint8_t)runs : o->category == DD_CAT_FEED ? DD_CONCURRENT : DD_PRIMARY;
    if (dd_cells_word(r->s, DD_COL_ORDERS_FOR, &purpose)) {
        bool feeds = o->runs == DD_PRIMARY && (o->category == DD_CAT_FLUID || o->category == DD_CAT_NUTRITION);
        o->purpose = purpose >= 0 ? (uint8_t)purpose : feeds ? DD_FOR_MAINTENANCE : DD_FOR_TREATMENT;
    }
    if (!good || !m || !r->line || r->line->kind == DD_KIND_COUNT)
        return;
    dd_column_id where = category >= 0 ? DD_COL_ORDERS_CATEGORY : DD_COL_ORDERS_LINE;
    const char *name = dd_catalogue_category(o->category);
    const char *kind = dd_column_list[DD_COL_LINES_KIND].words;
    char kind_name[32];
    for (int i = 0; i < r->line->kind; i++)
        kind = strchr(kind, ' ') + 1;
    snprintf(kind_name, sizeof kind_name, "%.*s", (int)strcspn(kind, " "), kind);
    if (r->line->kind == DD_KIND_ARTERIAL && o->category != DD_CAT_FLUSH)
        fault(r, where, DD_MSG_LINE_ARTERIAL, name);
    else if (o->category == DD_CAT_FEED && !enteral)
        fault(r, where, DD_MSG_LINE_FEED, kind_name);
    else if (enteral && o->category != DD_CAT_FEED && o->category != DD_CAT_DRUG && o->category != DD_CAT_FLUSH)
        fault(r, where, DD_MSG_LINE_ENTERAL, name);
}

static void set_rules(dd_order_row *r)
{
    dd_order *o = r->order;
    const dd_mixture *m = o->mixture;
    r->about = (dd_rule_about){
        .fluid = m && m->fluid >= 0 ? r->f->fluids[m->fluid].key : NULL,
        .class_word = r->patient->class_at_begin == DD_CLASS_UNKNOWN ? DD_RULE_ANY - 1 : r->patient->class_at_begin,
        .kind_word = r->line ? r->line->kind : DD_RULE_ANY - 1,
        .category_word = o->category,
    };
    o->step_rule = dd_rule_find(&r->f->plan, DD_RULE_PUMP_STEP, &r->about);
    o->difference_rule = dd_rule_find(&r->f->plan, DD_RULE_SETTABLE_DIFFERENCE, &r->about);
    o->rate_step_ul_h = 100;
    if (o->step_rule) {
        dd_quantity q = o->step_rule->low;
        dd_ratio step;
        int64_t ul;
        if (dd_ratio_make((dd_int128)q.micro * dd_needs_unit(q.unit).size * 3600, (dd_int128)q.per_micro * dd_needs_unit(q.per).size, &step) == DD_OK
            && dd_ratio_half_up(step, 1, &ul) == DD_OK && ul > 0)
            o->rate_step_ul_h = ul;
    }
    o->settable_difference_micro = o->difference_rule ? o->difference_rule->low.micro : 5000000;
    const dd_rule *overfill = dd_rule_find(&r->f->plan, DD_RULE_OVERFILL, &r->about);
    o->overfill_micro = overfill ? overfill->low.micro : 0;
    const dd_rule *flush = dd_rule_find(&r->f->plan, DD_RULE_FLUSH_FLUID, &r->about);
    const dd_keys_slot *fluid = flush && flush->value_fluid ? dd_keys_find(&r->f->fluid_keys, 0, flush->value_fluid, strlen(flush->value_fluid)) : NULL;
    o->flush_fluid = fluid ? (int16_t)fluid->value : -1;
}

static bool written(const dd_order_row *r, dd_column_id column)
{
    return dd_cells_peek(r->s, column) != NULL;
}

/* Columns that a repeated order cannot have. */
static void repeated_checks(dd_order_row *r)
{
    static const dd_column_id alone[] = {DD_COL_ORDERS_HANGING, DD_COL_ORDERS_HUNG, DD_COL_ORDERS_GIVEN, DD_COL_ORDERS_PRIME};
    for (size_t i = 0; i < sizeof alone / sizeof *alone; i++)
        if (written(r, alone[i]))
            fault(r, alone[i], DD_MSG_REPEATED_WITH, dd_column_list[alone[i]].name);
    if (r->order->runs == DD_PRIMARY)
        fault(r, DD_COL_ORDERS_RUNS, DD_MSG_REPEATED_PRIMARY, NULL);
}

/* Bag, what hangs, what was given, prime, flush: held against volume and each other. */
static void bag_checks(dd_order_row *r)
{
    dd_order *o = r->order;
    const char *bag = r->bag_written ? dd_cells_peek(r->s, DD_COL_ORDERS_BAG) : dd_cells_peek(r->s, DD_COL_ORDERS_VOLUME);
    bool repeated = o->repeat != DD_ONCE;
    if (o->volume_ul == DD_UNKNOWN && (repeated || o->runs == DD_PIGGYBACK)) {
        fault(r, DD_COL_ORDERS_VOLUME, DD_MSG_VOLUME_MISSING, repeated ? "a repeated order" : "a piggyback");
        return;
    }
    if (o->bag_ul == DD_UNKNOWN) {
        for (uint8_t i = 0; o->mixture && i < o->mixture->addition_count; i++)
            if (o->mixture->additions[i].per_bag) {
                fault(r, DD_COL_ORDERS_FLUID, DD_MSG_ADDITIVE_BAG, o->mixture->additions[i].key);
                return;
            }
        fault(r, DD_COL_ORDERS_BAG, DD_MSG_BAG_MISSING, NULL);
        return;
    }
    if (repeated) {
        if (o->bag_ul != DD_UNKNOWN && o->bag_ul < o->volume_ul)
            fault(r, DD_COL_ORDERS_BAG, DD_MSG_BAG_SMALL, dd_cells_peek(r->s, DD_COL_ORDERS_VOLUME));
        return;
    }
    if (o->hanging_ul != DD_UNKNOWN && o->bag_ul != DD_UNKNOWN && o->hanging_ul > o->bag_ul)
        fault(r, DD_COL_ORDERS_HANGING, DD_MSG_HANGING_LARGE, bag);
    else if (o->hanging_ul != DD_UNKNOWN && o->runs != DD_PIGGYBACK && o->start_kind == DD_START_AT && o->start != DD_NEVER && o->start < r->f->plan.begins)
        fault(r, DD_COL_ORDERS_HANGING, DD_MSG_HANGING_EARLY, NULL);
    else if (o->hanging_ul != DD_UNKNOWN && o->volume_ul != DD_UNKNOWN && o->given_ul == DD_UNKNOWN && !written(r, DD_COL_ORDERS_GIVEN)) {
        char text[DD_NUMBER_MAX + 8];
        int64_t given = o->volume_ul > o->hanging_ul ? o->volume_ul - o->hanging_ul : 0;
        size_t n = dd_number_scaled(text, given, 3, 3, DD_STYLE_PROGRAM);
        memcpy(text + n, " mL", 4);
        fault(r, DD_COL_ORDERS_GIVEN, DD_MSG_GIVEN_MISSING, text);
    }
    if (o->given_ul != DD_UNKNOWN && o->volume_ul != DD_UNKNOWN && o->given_ul > o->volume_ul)
        fault(r, DD_COL_ORDERS_GIVEN, DD_MSG_GIVEN_LARGE, dd_cells_peek(r->s, DD_COL_ORDERS_VOLUME));
    if (written(r, DD_COL_ORDERS_HUNG) && !written(r, DD_COL_ORDERS_HANGING))
        fault(r, DD_COL_ORDERS_HUNG, DD_MSG_HUNG_ALONE, NULL);
    if (o->prime_ul != DD_UNKNOWN && o->bag_ul != DD_UNKNOWN && o->prime_ul >= o->bag_ul)
        fault(r, DD_COL_ORDERS_PRIME, DD_MSG_PRIME_LARGE, bag);
    /* The rest of an occurrence that began in the plan before says what was given, and has its flush still to come. */
    if (written(r, DD_COL_ORDERS_FLUSH) && o->runs != DD_PIGGYBACK && !(o->runs == DD_CONCURRENT && written(r, DD_COL_ORDERS_GIVEN)))
        fault(r, DD_COL_ORDERS_FLUSH, DD_MSG_FLUSH_RUN, NULL);
}

static bool read_key(dd_order_row *r, dd_column_id column, const char **out)
{
    const char *key;
    size_t length;
    *out = NULL;
    if (!dd_cells_key(r->s, column, &key, &length) || !key)
        return false;
    if (!(*out = dd_arena_text(r->f->arena, key, length)))
        r->f->no_memory = true;
    return true;
}

#define BLANK_ORDER(line_number) \
    (dd_order) \
    { \
        .line_of_file = (line_number), .line = -1, .after = -1, .replaces = -1, .flush_fluid = -1, .hung = DD_NEVER, .start = DD_NEVER, \
        .stop = DD_NEVER, .ordered = DD_NEVER, .volume_ul = DD_UNKNOWN, .over_s = DD_UNKNOWN, .bag_ul = DD_UNKNOWN, .hanging_ul = DD_UNKNOWN, \
        .given_ul = DD_UNKNOWN, .prime_ul = DD_UNKNOWN, .flush_ul = DD_UNKNOWN, .hanging_u = DD_UNKNOWN, .given_u = DD_UNKNOWN, \
        .flush_u = DD_UNKNOWN \
    }

/* A row of a record whose order is in no plan: what it is and on which line; the rest is only looked at as text. */
static bool read_stranger(dd_order_row *r)
{
    dd_order *o = r->order;
    const char *text;
    size_t length;
    *o = BLANK_ORDER(r->s->row.line);
    bool keyed = read_key(r, DD_COL_ORDERS_ORDER, &o->key);
    o->mixture = dd_mixture_read(r->f, r->s);
    (void)dd_desk_line(r->f, r->s, DD_COL_ORDERS_LINE, (uint32_t)(r->patient - r->f->patients), &o->line);
    for (dd_column_id c = DD_COL_ORDERS_RUNS; c <= DD_COL_ORDERS_NOTE; c++)
        (void)dd_cells_text(r->s, c, &text, &length);
    return keyed;
}

/* Reads a row into an order. Each cell that can be read by itself is; what compares cells comes last and only where no cell
 * was wrong. False: it has no key. */
static bool read_order(dd_order_row *r)
{
    dd_order *o = r->order;
    *o = BLANK_ORDER(r->s->row.line);
    bool keyed = read_key(r, DD_COL_ORDERS_ORDER, &o->key);
    o->mixture = dd_mixture_read(r->f, r->s);
    if (dd_desk_line(r->f, r->s, DD_COL_ORDERS_LINE, (uint32_t)(r->patient - r->f->patients), &o->line) && o->line >= 0)
        r->line = &r->patient->lines[o->line];
    read_set(r);
    read_kinds(r);
    (void)dd_cells_volume(r->s, DD_COL_ORDERS_BAG, &o->bag_ul);
    (void)dd_cells_volume_fine(r->s, DD_COL_ORDERS_HANGING, &o->hanging_ul, &o->hanging_u);
    (void)dd_cells_volume_fine(r->s, DD_COL_ORDERS_GIVEN, &o->given_ul, &o->given_u);
    (void)dd_cells_volume(r->s, DD_COL_ORDERS_PRIME, &o->prime_ul);
    (void)dd_cells_volume_fine(r->s, DD_COL_ORDERS_FLUSH, &o->flush_ul, &o->flush_u);
    (void)read_key(r, DD_COL_ORDERS_REPLACES, &r->desk->replaces);
    (void)dd_cells_copy(r->s, DD_COL_ORDERS_NOTE, &o->note, &r->f->no_memory);
    r->bag_written = written(r, DD_COL_ORDERS_BAG);
    set_rules(r);
    dd_when_read(r);
    if (r->f->no_memory)
        return false;
    dd_rate_read(r);
    if (o->repeat != DD_ONCE)
        repeated_checks(r);
    if (r->s->row_errors == 0)
        bag_checks(r);
    if (r->s->row_errors == 0 && o->bag_ul != DD_UNKNOWN) { /* it may be unknown in a record alone */
        o->has = dd_content_read(r);
        if (o->flush_u != DD_UNKNOWN && o->flush_u > 0 && o->flush_fluid >= 0)
            o->flush = dd_mixture_plain(r->f, o->flush_fluid);
        dd_when_rules(r);
    }
    return keyed;
}

/* Orders of one patient stand together in the plan, however they stand in the file. within: the place of each among the patient's. */
static void group(dd_folder *f, size_t count, const uint32_t *patient_of, const uint32_t *within, uint32_t *first, uint32_t *count_of)
{
    dd_keys_renumber(&f->order_keys, within); /* until now they had their places in the file */
    f->orders = dd_desk_group(f, f->orders, count, sizeof *f->orders, patient_of, first, count_of);
    f->order_desk = dd_desk_group(f, f->order_desk, count, sizeof *f->order_desk, patient_of, first, count_of);
    if (!f->orders || !f->order_desk) {
        f->no_memory = true;
        return;
    }
    for (size_t i = 0; i < f->plan.patient_count; i++) {
        f->patients[i].orders = f->orders + first[i];
        f->patients[i].order_count = (uint16_t)count_of[i];
    }
    f->order_total = count;
}

void dd_orders_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_ORDERS];
    if (!f->there[DD_TABLE_ORDERS])
        return;
    size_t most = dd_desk_rows_most(s), patients = f->plan.patient_count, count = 0;
    f->orders = dd_arena_take_many(f->arena, most, sizeof *f->orders);
    f->order_desk = dd_arena_take_many(f->arena, most, sizeof *f->order_desk);
    uint32_t *patient_of = dd_arena_take_many(f->arena, most, sizeof *patient_of);
    uint32_t *first = dd_arena_take_many(f->arena, patients + 1, sizeof *first);
    uint32_t *count_of = dd_arena_take_many(f->arena, patients + 1, sizeof *count_of);
    uint32_t *within = dd_arena_take_many(f->arena, most, sizeof *within);
    if (!f->orders || !f->order_desk || !patient_of || !first || !count_of || !within || !dd_keys_room(&f->order_keys, f->arena, most)) {
        f->no_memory = true;
        return;
    }
    while (dd_desk_next(f, s)) {
        uint32_t patient = dd_desk_patient(f, s, DD_COL_ORDERS_PATIENT);
        if (patient == DD_DESK_NONE)
            continue;
        bool kept = false;
        if (!s->broken) {
            dd_order_row r = {.f = f, .s = s, .patient = &f->patients[patient], .order = &f->orders[count], .desk = &f->order_desk[count]};
            *r.desk = (dd_order_desk){.patient = patient};
            kept = f->ordered && !dd_recorded_begin(f, s, patient) ? read_stranger(&r) : read_order(&r);
            if (kept && count_of[patient] >= ORDERS_MOST) {
                char limit[24];
                snprintf(limit, sizeof limit, "%d", ORDERS_MOST);
                dd_table_fault(s, DD_COLUMN_COUNT, DD_MSG_TOO_MANY_ROWS, NULL, limit, NULL);
                kept = false;
            }
            const char *key = f->orders[count].key;
            if (kept && !dd_desk_add_key(f, s, DD_COL_ORDERS_ORDER, &f->order_keys, patient, key, (uint32_t)count, order_line)) {
                dd_keys_drop(&f->order_keys, patient, key, (uint32_t)count); /* one that differs in capitals alone was added */
                kept = false;
            }
        }
        if (kept) {
            f->order_desk[count].errors = s->row_errors;
            within[count] = count_of[patient]++;
            patient_of[count++] = patient;
        } else {
            f->beside[patient].lost[DD_TABLE_ORDERS] = true;
        }
        dd_desk_row_done(f, s, patient);
    }
    s->other = NULL;
    if (!f->no_memory)
        group(f, count, patient_of, within, first, count_of);
}
