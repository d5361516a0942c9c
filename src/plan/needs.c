#include "needs.h"

#include <stdio.h>
#include <string.h>

#include "need.h"

dd_unit_shape dd_needs_unit(unsigned unit)
{
    static const dd_unit_shape shapes[DD_UNIT_COUNT] = {
#define UNIT(id, text, dimension, size, spoken) [DD_UNIT_##id] = {dimension, size, text},
#include "unit.def"
#undef UNIT
    };
    return shapes[unit < DD_UNIT_COUNT ? unit : DD_UNIT_NONE];
}

bool dd_needs_is_share(const char *text, size_t length, int64_t *share)
{
    static const char word[] = "maintenance";
    size_t n = sizeof word - 1;
    if (length <= n || memcmp(text + length - n, word, n) != 0)
        return false;
    length -= n;
    while (length && text[length - 1] == ' ')
        length--;
    dd_quantity q;
    if (dd_quantity_read(text, length, DD_TAKES_PERCENT, false, &q, NULL) != DD_QF_NONE)
        return false;
    *share = q.micro;
    return true;
}

static void needs(dd_sheet *s, dd_column_id column, dd_message_id id, const char *shown, const dd_patient *p)
{
    char line[24];
    snprintf(line, sizeof line, "%lu", (unsigned long)p->line_of_file);
    dd_table_fault(s, column, id, shown, line, NULL);
}

bool dd_needs_share(dd_sheet *s, dd_column_id column, const char *shown, int64_t share, const dd_patient *p, dd_ratio *out)
{
    dd_ratio day;
    dd_message_id id = DD_MSG_COUNT;
    if (p->class_at_begin == DD_CLASS_UNKNOWN)
        id = DD_MSG_MAINTENANCE_AGE;
    else if (p->class_at_begin == DD_CLASS_ADULT)
        id = DD_MSG_MAINTENANCE_ADULT;
    else if (p->class_at_begin == DD_CLASS_NEONATE || p->age_s < INT64_C(28) * 86400)
        id = DD_MSG_MAINTENANCE_NEONATE; /* whatever a ward calls a neonate, the formula begins at 28 days */
    else if (p->weight_mg == DD_UNKNOWN)
        id = DD_MSG_WEIGHT_NEEDED;
    if (id != DD_MSG_COUNT) {
        needs(s, column, id, shown, p);
        return false;
    }
    if (dd_need_maintenance(p->weight_mg, &day) == DD_OK
        && dd_ratio_times(day, (dd_ratio){share, (dd_int128)24 * 100 * 1000000}, out) == DD_OK)
        return true;
    dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, shown, NULL);
    return false;
}

/* The number above the stroke, in the size of its dimension, per hour; per kg worked out with the weight. */
static bool per_hour(dd_sheet *s, dd_column_id column, const char *shown, dd_quantity q, const dd_patient *p, dd_ratio *out)
{
    dd_ratio r;
    bool good = dd_ratio_make((dd_int128)q.micro * dd_needs_unit(q.unit).size * 3600, (dd_int128)q.per_micro * dd_needs_unit(q.per).size, &r) == DD_OK;
    if (good && q.per_kg) {
        if (p->weight_mg == DD_UNKNOWN) {
            needs(s, column, DD_MSG_WEIGHT_NEEDED, shown, p);
            return false;
        }
        good = dd_ratio_times(r, (dd_ratio){p->weight_mg, 1000000}, &r) == DD_OK;
    }
    if (good)
        *out = r;
    else
        dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, shown, NULL);
    return good;
}

bool dd_needs_rate(dd_sheet *s, dd_column_id column, const char *shown, dd_quantity q, const dd_patient *p, dd_ratio *out)
{
    return per_hour(s, column, shown, q, p, out);
}

/* drops/min x 60 / (drops/mL) x 1000 uL. */
bool dd_needs_drops(dd_quantity q, int64_t drop_factor_micro, dd_ratio *out)
{
    return dd_ratio_make((dd_int128)q.micro * 60 * 1000, drop_factor_micro, out) == DD_OK;
}

bool dd_needs_dose(dd_sheet *s, dd_column_id column, const char *shown, dd_quantity q, const dd_patient *p, dd_ratio amount_per_ul, dd_ratio *out)
{
    dd_ratio hour;
    if (!per_hour(s, column, shown, q, p, &hour))
        return false;
    if (dd_ratio_over(hour, amount_per_ul, out) == DD_OK)
        return true;
    dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, shown, NULL);
    return false;
}

bool dd_needs_strength(dd_quantity q, dd_ratio *amount_per_ul)
{
    return dd_ratio_make((dd_int128)q.micro * dd_needs_unit(q.unit).size, (dd_int128)q.per_micro * dd_needs_unit(q.per).size, amount_per_ul) == DD_OK;
}
