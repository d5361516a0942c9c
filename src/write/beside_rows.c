/* beside_rows.c - the rows of `maintenance`. A cell is blank where its figure is not known: for want of a weight or an age, where
 * something ran of which the contents are not known, or where all there is goes in by tube. */
#include "beside.h"
#include "bytes.h"
#include "rows.h"

dd_status dd_beside_rows_head(dd_bytes *out)
{
    dd_bytes_text(out, "patient,weight_kg,maintenance_ml_per_day,maintenance_ml_per_h,ordered_ml_per_day,percent,sodium_mmol_per_kg,"
                       "potassium_mmol_per_kg,glucose_g_per_kg,gir_mg_per_kg_per_min,potassium_peak_mmol_per_kg_per_h,glucose_gap_min\n");
    return out->failed ? DD_NO_MEMORY : DD_OK;
}

static void add_cell(dd_bytes *out, dd_ratio value, int64_t over)
{
    dd_ratio shown = value;
    dd_bytes_char(out, ',');
    if (value.den != 0 && dd_ratio_over(value, (dd_ratio){over, 1}, &shown) == DD_OK)
        dd_rows_ratio(out, shown);
}

dd_status dd_beside_rows(const dd_timeline *t, const dd_sums *s, dd_bytes *out)
{
    const dd_ratio none = {0}, gap = {s->longest_gap_s, 1};
    const dd_patient *p = t->patient;
    bool by_weight = s->need.kind == DD_NEED_WEIGHT, fed = dd_beside_only_fed(s);
    bool salt = !fed && !s->unknown[DD_SODIUM], potassium = !fed && !s->unknown[DD_POTASSIUM], glucose = !fed && !s->unknown[DD_GLUCOSE];
    dd_rows_text(out, p->key);
    add_cell(out, p->weight_mg == DD_UNKNOWN ? none : (dd_ratio){p->weight_mg, 1}, 1000000);
    add_cell(out, by_weight ? s->need.low : none, 1000);
    add_cell(out, by_weight ? s->need.low : none, 24000);
    add_cell(out, s->all_ul_day, 1000);
    add_cell(out, s->maintenance_percent, 1);
    add_cell(out, salt ? s->content_kg_day[DD_SODIUM] : none, 1);
    add_cell(out, potassium ? s->content_kg_day[DD_POTASSIUM] : none, 1);
    add_cell(out, glucose ? s->content_kg_day[DD_GLUCOSE] : none, 1);
    add_cell(out, glucose ? s->glucose_most_kg_min : none, 1);
    add_cell(out, potassium ? s->potassium_most_kg_h : none, 1);
    add_cell(out, glucose ? gap : none, 60);
    dd_bytes_char(out, '\n');
    return out->failed ? DD_NO_MEMORY : DD_OK;
}
