#include "need.h"

#define TEN_KG_MG INT64_C(10000000)

/* Both rules are a sum over three bands of weight: the first 10 kg, the next 10, the rest. per_kg: uL per kg. */
static dd_status banded(int64_t weight_mg, const int64_t per_kg[3], dd_ratio *out)
{
    if (weight_mg < 0 || weight_mg > DD_WEIGHT_MOST_MG)
        return DD_TOO_LARGE;
    int64_t first = weight_mg < TEN_KG_MG ? weight_mg : TEN_KG_MG;
    int64_t next = weight_mg - first < TEN_KG_MG ? weight_mg - first : TEN_KG_MG;
    int64_t rest = weight_mg - first - next;
    return dd_ratio_make((dd_int128)first * per_kg[0] + (dd_int128)next * per_kg[1] + (dd_int128)rest * per_kg[2], 1000000, out);
}

dd_status dd_need_maintenance(int64_t weight_mg, dd_ratio *ul_per_day)
{
    static const int64_t per_kg[] = {100000, 50000, 20000};
    return banded(weight_mg, per_kg, ul_per_day);
}

dd_status dd_need_hourly_421(int64_t weight_mg, dd_ratio *ul_per_h)
{
    static const int64_t per_kg[] = {4000, 2000, 1000};
    return banded(weight_mg, per_kg, ul_per_h);
}

#define DAY_S INT64_C(86400)
#define NEONATE_S (28 * DAY_S)

bool dd_need_day(int64_t age_s, dd_need_range *out)
{
    static const struct row { int from; int64_t low, high; } rows[] = {
#define DAY(from, low, high) {from, low, high},
#include "need.def"
    };
    enum { ROWS = sizeof rows / sizeof *rows };
    if (age_s < 0 || age_s >= NEONATE_S)
        return false;
    int day = (int)(age_s / DAY_S) + 1, i = 0;
    while (i + 1 < ROWS && rows[i + 1].from <= day)
        i++;
    *out = (dd_need_range){.day = day, .low_ul_kg = rows[i].low * 1000, .high_ul_kg = rows[i].high * 1000,
        .holds_s = (i + 1 < ROWS ? (rows[i + 1].from - 1) * DAY_S : NEONATE_S) - age_s};
    return true;
}
