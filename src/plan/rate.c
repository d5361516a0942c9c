#include <stdio.h>
#include <string.h>

#include "order.h"
#include "set.h"

#define STEPS_MOST 100

static void fault(dd_order_row *r, dd_column_id column, dd_message_id id, const char *first)
{
    dd_table_fault(r->s, column, id, dd_cells_peek(r->s, column), first, NULL);
}

static void write_rate(char out[DD_NUMBER_MAX + 8], dd_ratio ul_per_h)
{
    dd_ratio ml;
    if (dd_ratio_times(ul_per_h, (dd_ratio){1, 1000}, &ml) != DD_OK)
        ml = ul_per_h;
    size_t n = dd_number_ratio(out, ml, 3, DD_STYLE_PROGRAM);
    memcpy(out + n, " mL/h", 6);
}

/* Within what any device gives, else a message. */
static bool in_range(dd_order_row *r, dd_column_id column, dd_ratio rate)
{
    if (dd_ratio_compare(rate, (dd_ratio){DD_NEEDS_RATE_MOST, 1}) > 0) {
        char text[DD_NUMBER_MAX + 8];
        write_rate(text, rate);
        fault(r, column, DD_MSG_RATE_LARGE, text);
        return false;
    }
    if (dd_ratio_compare(rate, (dd_ratio){1, 1}) < 0) {
        fault(r, column, DD_MSG_RATE_TINY, NULL);
        return false;
    }
    return true;
}

/* How strong the drug is: column strength, or its amount in the bag. */
static bool strength(dd_order_row *r, const char *shown, dd_dimension *dimension, dd_ratio *amount_per_ul)
{
    const dd_mixture *m = r->order->mixture;
    dd_quantity q = r->strength;
    if (q.unit == DD_UNIT_NONE && dd_cells_peek(r->s, DD_COL_ORDERS_STRENGTH))
        return false; /* reported */
    if (q.unit != DD_UNIT_NONE) {
        *dimension = dd_needs_unit(q.unit).dimension;
        return dd_needs_strength(q, amount_per_ul);
    }
    if (!m)
        return false;
    q = m->drug_amount;
    if (q.unit != DD_UNIT_NONE && q.per != DD_UNIT_NONE) {
        *dimension = dd_needs_unit(q.unit).dimension;
        return dd_needs_strength(q, amount_per_ul);
    }
    int64_t ul = r->order->bag_ul != DD_UNKNOWN ? r->order->bag_ul : r->order->volume_ul;
    if (q.unit != DD_UNIT_NONE && ul != DD_UNKNOWN && ul > 0) {
        *dimension = dd_needs_unit(q.unit).dimension;
        return dd_ratio_make((dd_int128)q.micro * dd_needs_unit(q.unit).size, (dd_int128)ul * 1000000, amount_per_ul) == DD_OK;
    }
    if (q.unit == DD_UNIT_NONE || r->s->row_errors == 0) /* the volume may be what was reported */
        dd_table_fault(r->s, DD_COL_ORDERS_RATE, DD_MSG_RATE_STRENGTH, shown, NULL, NULL);
    return false;
}

/* One written rate, exact, in uL/h. */
static bool one_rate(dd_order_row *r, const char *text, size_t length, dd_ratio *out)
{
    const dd_column_id column = DD_COL_ORDERS_RATE;
    char shown[320];
    snprintf(shown, sizeof shown, "%.*s", (int)(length < 310 ? length : 310), text);
    int64_t share;
    dd_quantity q;
    if (dd_needs_is_share(text, length, &share))
        return dd_needs_share(r->s, column, shown, share, r->patient, out) && in_range(r, column, *out);
    if (text[0] >= 'a' && text[0] <= 'z') {
        dd_table_fault(r->s, column, DD_MSG_RATE_FORM, shown, dd_column_list[column].expected, NULL);
        return false;
    }
    if (!dd_cells_part(r->s, column, text, length, dd_column_list[column].takes, false, &q))
        return false;
    dd_dimension dimension = dd_needs_unit(q.unit).dimension, of;
    bool good;
    if (dimension == DD_DIM_VOLUME) {
        good = dd_needs_rate(r->s, column, shown, q, r->patient, out);
    } else if (dimension == DD_DIM_DROPS) {
        if (r->order->device != DD_GRAVITY) {
            dd_table_fault(r->s, column, DD_MSG_RATE_DROPS, shown, NULL, NULL);
            return false;
        }
        good = dd_needs_drops(q, r->order->drop_factor_micro, out);
    } else {
        dd_ratio amount_per_ul;
        if (!strength(r, shown, &of, &amount_per_ul))
            return false;
        if (of != dimension) {
            dd_table_fault(r->s, column, DD_MSG_RATE_STRENGTH_UNIT, shown, NULL, NULL);
            return false;
        }
        good = dd_needs_dose(r->s, column, shown, q, r->patient, amount_per_ul, out);
    }
    return good && in_range(r, column, *out);
}

/* `50 mL/h for 15 min; 120 mL/h`. */
static bool read_steps(dd_order_row *r, const char *text, size_t length)
{
    dd_step steps[STEPS_MOST];
    size_t count = 0;
    for (size_t at = 0; at <= length;) {
        const char *end = memchr(text + at, ';', length - at);
        size_t stop = end ? (size_t)(end - text) : length, from = at;
        at = stop + 1;
        while (from < stop && text[from] == ' ')
            from++;
        while (stop > from && text[stop - 1] == ' ')
            stop--;
        size_t middle = from;
        while (middle + 5 <= stop && memcmp(text + middle, " for ", 5) != 0)
            middle++;
        bool timed = middle + 5 <= stop, last = !end;
        if (count == STEPS_MOST || from == stop || timed == last) {
            fault(r, DD_COL_ORDERS_RATE, DD_MSG_RATE_STEPS, NULL);
            return false;
        }
        dd_quantity q;
        steps[count] = (dd_step){0};
        size_t rate_end = timed ? middle : stop;
        while (rate_end > from && text[rate_end - 1] == ' ')
            rate_end--;
        if (!one_rate(r, text + from, rate_end - from, &steps[count].rate))
            return false;
        if (timed) {
            size_t begin = middle + 5;
            while (begin < stop && text[begin] == ' ')
                begin++;
            if (!dd_cells_part(r->s, DD_COL_ORDERS_RATE, text + begin, stop - begin, DD_TAKES_TIME, false, &q))
                return false;
            if (dd_quantity_seconds(q, &steps[count].seconds) != DD_OK || steps[count].seconds < 1 || steps[count].seconds > INT64_C(366) * 86400) {
                fault(r, DD_COL_ORDERS_RATE, DD_MSG_RATE_STEPS, NULL);
                return false;
            }
        }
        count++;
    }
    dd_step *kept = dd_arena_take_many(r->f->arena, count, sizeof *kept);
    if (!kept) {
        r->f->no_memory = true;
        return false;
    }
    memcpy(kept, steps, count * sizeof *kept);
    r->order->steps = kept;
    r->order->step_count = (uint16_t)count;
    if (count > 1 && dd_cells_peek(r->s, DD_COL_ORDERS_OVER))
        fault(r, DD_COL_ORDERS_OVER, DD_MSG_STEPS_OVER, NULL);
    return true;
}

static bool set_rate(dd_order_row *r, dd_ratio rate)
{
    dd_step *step = dd_arena_take(r->f->arena, sizeof *step);
    if (!step) {
        r->f->no_memory = true;
        return false;
    }
    step->rate = rate;
    r->order->steps = step;
    r->order->step_count = 1;
    return true;
}

/* `500 mL`, `20 mL/kg`. */
static bool read_volume(dd_order_row *r)
{
    const dd_column_id column = DD_COL_ORDERS_VOLUME;
    dd_quantity q;
    dd_order *o = r->order;
    if (!dd_cells_quantity(r->s, column, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    const char *shown = dd_cells_peek(r->s, column);
    dd_ratio v;
    bool good = dd_ratio_make((dd_int128)q.micro * dd_needs_unit(q.unit).size, 1000000, &v) == DD_OK;
    if (good && q.per_kg) {
        if (r->patient->weight_mg == DD_UNKNOWN) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)r->patient->line_of_file);
            dd_table_fault(r->s, column, DD_MSG_WEIGHT_NEEDED, shown, line, NULL);
            return false;
        }
        good = dd_ratio_times(v, (dd_ratio){r->patient->weight_mg, 1000000}, &v) == DD_OK;
    }
    if (!good || dd_ratio_half_up(v, 1, &o->volume_ul) != DD_OK || o->volume_ul > DD_NEEDS_VOLUME_MOST) {
        o->volume_ul = DD_UNKNOWN;
        dd_table_fault(r->s, column, DD_MSG_VOLUME_LARGE, shown, "above 100 L", NULL);
        return false;
    }
    if (o->volume_ul == 0) {
        dd_table_fault(r->s, column, DD_MSG_VOLUME_TINY, shown, NULL, NULL);
        return false;
    }
    r->volume = v;
    return true;
}

/* Rate, volume and time are all written: they agree to less than one step of the device, a drop a minute on a gravity set. */
static void agree(dd_order_row *r, dd_ratio rate)
{
    const dd_order *o = r->order;
    dd_ratio given, difference, step = {o->rate_step_ul_h, 1};
    if (o->device == DD_GRAVITY && dd_ratio_make((dd_int128)60 * 1000 * 1000000, o->drop_factor_micro, &step) != DD_OK)
        return;
    if (dd_ratio_make((dd_int128)o->volume_ul * 3600, o->over_s, &given) != DD_OK || dd_ratio_minus(rate, given, &difference) != DD_OK)
        return;
    if (difference.num < 0)
        difference.num = -difference.num;
    if (dd_ratio_compare(difference, step) < 0)
        return;
    char text[DD_NUMBER_MAX + 8];
    write_rate(text, given);
    fault(r, DD_COL_ORDERS_RATE, DD_MSG_RATE_DISAGREES, text);
}

/* Any two of rate, volume and over give the third. */
static void third(dd_order_row *r)
{
    dd_order *o = r->order;
    bool rated = o->step_count > 0;
    if (!rated) {
        dd_ratio rate;
        if (o->volume_ul == DD_UNKNOWN || o->over_s == DD_UNKNOWN) {
            fault(r, DD_COL_ORDERS_RATE, DD_MSG_RATE_MISSING, NULL);
            return;
        }
        /* from the volume before it is rounded: what is derived is rounded once */
        if (dd_ratio_times(r->volume, (dd_ratio){3600, o->over_s}, &rate) == DD_OK && in_range(r, DD_COL_ORDERS_VOLUME, rate))
            (void)set_rate(r, rate);
        return;
    }
    if (o->step_count > 1 || o->over_s == DD_UNKNOWN)
        return;
    if (o->volume_ul != DD_UNKNOWN) {
        agree(r, o->steps[0].rate);
        return;
    }
    dd_ratio volume;
    if (dd_ratio_times(o->steps[0].rate, (dd_ratio){o->over_s, 3600}, &volume) != DD_OK || dd_ratio_half_up(volume, 1, &o->volume_ul) != DD_OK
        || o->volume_ul > DD_NEEDS_VOLUME_MOST) {
        o->volume_ul = DD_UNKNOWN;
        dd_table_fault(r->s, DD_COL_ORDERS_OVER, DD_MSG_VOLUME_LARGE, NULL, "above 100 L", NULL);
    } else if (o->volume_ul == 0) {
        o->volume_ul = DD_UNKNOWN;
        fault(r, DD_COL_ORDERS_OVER, DD_MSG_VOLUME_TINY, NULL);
    }
}

static void read_remainder(dd_order_row *r)
{
    r->order->rate_kind = DD_RATE_REMAINDER;
    if (dd_cells_peek(r->s, DD_COL_ORDERS_VOLUME))
        fault(r, DD_COL_ORDERS_VOLUME, DD_MSG_REMAINDER_WITH, "volume");
    if (dd_cells_peek(r->s, DD_COL_ORDERS_OVER))
        fault(r, DD_COL_ORDERS_OVER, DD_MSG_REMAINDER_WITH, "over");
    if (r->patient->allowance_ul_day == DD_UNKNOWN && r->patient->errors == 0) {
        char line[24];
        snprintf(line, sizeof line, "%lu", (unsigned long)r->patient->line_of_file);
        fault(r, DD_COL_ORDERS_RATE, DD_MSG_REMAINDER_ALLOWANCE, line);
    }
}

void dd_rate_read(dd_order_row *r)
{
    dd_order *o = r->order;
    const char *text;
    size_t length;
    bool good = dd_cells_text(r->s, DD_COL_ORDERS_RATE, &text, &length);
    good &= read_volume(r);
    good &= dd_cells_seconds(r->s, DD_COL_ORDERS_OVER, &o->over_s);
    good &= dd_cells_quantity(r->s, DD_COL_ORDERS_STRENGTH, &r->strength);
    if (o->bag_ul == DD_UNKNOWN && !r->bag_written)
        o->bag_ul = o->volume_ul;
    if (text && !(o->rate_text = dd_arena_text(r->f->arena, text, length))) {
        r->f->no_memory = true;
        return;
    }
    /* A patient whose own row is wrong has perhaps a weight or an age that could not be read: no second error about it. */
    bool known = r->patient->errors == 0 || (r->patient->weight_mg != DD_UNKNOWN && r->patient->age_s != DD_UNKNOWN);
    if (!known || !o->mixture)
        return;
    if (text && strcmp(text, "remainder") == 0) {
        read_remainder(r);
        return;
    }
    dd_ratio rate;
    /* The rate by itself, also where the volume is wrong; the two together only where both are right. */
    if (text && (memchr(text, ';', length) || strstr(text, " for ")))
        good &= read_steps(r, text, length);
    else if (text)
        good &= one_rate(r, text, length, &rate) && set_rate(r, rate);
    if (!good)
        return;
    third(r);
    if (o->bag_ul == DD_UNKNOWN && !r->bag_written)
        o->bag_ul = o->volume_ul;
}
