#include "catalogue.h"

#include <stdio.h>
#include <string.h>

#include "desk.h"
#include "nearest.h"

enum { READ = DD_EV_READ, MEMORY = DD_EV_MEMORY, DEFAULT = DD_EV_DEFAULT };
#define FLUID_CATEGORY(c) CATEGORY_##c
enum { CATEGORY_FLUID = DD_CAT_FLUID, CATEGORY_NUTRITION = DD_CAT_NUTRITION, CATEGORY_BLOOD = DD_CAT_BLOOD, CATEGORY_FEED = DD_CAT_FEED,
       CATEGORY_DILUENT = DD_CAT_FLUID };
enum { DILUENT_FLUID, DILUENT_NUTRITION = 0, DILUENT_BLOOD = 0, DILUENT_FEED = 0, DILUENT_DILUENT = 1 };

#define NANO(micro) ((micro) == DD_UNKNOWN ? DD_UNKNOWN : (micro) * INT64_C(1000))
static const dd_fluid built_in[] = {
#define FLUID(key_, words_, category_, na, k, cl, ca, mg, po4, lac, ac, hco3, glu, osm, hang, form, evidence_, source_) \
    {.key = key_, .words = words_, .has = {NANO(na), NANO(k), NANO(cl), NANO(ca), NANO(mg), NANO(po4), NANO(lac), NANO(ac), NANO(hco3), \
     NANO(glu), NANO(osm)}, .hang_s = hang, .source = source_, \
     .category = CATEGORY_##category_, .evidence = evidence_, .glucose_form = DD_GLUCOSE_##form, .diluent_only = DILUENT_##category_},
#include "fluid.def"
};
#define BUILT_IN (sizeof built_in / sizeof *built_in)

enum { MMOL = 0, GRAM = 1 };
const dd_additive dd_catalogue_additives[] = {
#define ADDITIVE(key_, words_, counts_, unit_, of_, na, k, cl, ca, mg, po4, lac, ac, hco3, glu, osm, ug, val, evidence_, source_) \
    {.key = key_, .words = words_, .source = source_, .sodium = na, .potassium = k, .chloride = cl, .calcium = ca, .magnesium = mg, \
     .phosphate = po4, .lactate = lac, .acetate = ac, .bicarbonate = hco3, .glucose = glu, .osmoles = osm, .weighs_ug = ug, \
     .of = of_, .valence = val, .counts = DD_COUNTS_##counts_, .grams = unit_, .evidence = evidence_},
#include "additive.def"
};
const size_t dd_catalogue_additive_count = sizeof dd_catalogue_additives / sizeof *dd_catalogue_additives;

const dd_drug dd_catalogue_drugs[] = {
#define DRUG(name_, flag_) {name_, DD_DRUG_##flag_},
#include "drug.def"
};
const size_t dd_catalogue_drug_count = sizeof dd_catalogue_drugs / sizeof *dd_catalogue_drugs;

int dd_catalogue_additive(const char *key, size_t length)
{
    for (size_t i = 0; i < dd_catalogue_additive_count; i++)
        if (strlen(dd_catalogue_additives[i].key) == length && memcmp(dd_catalogue_additives[i].key, key, length) == 0)
            return (int)i;
    return -1;
}

const dd_drug *dd_catalogue_drug(const char *name, size_t length)
{
    for (size_t i = 0; i < dd_catalogue_drug_count; i++)
        if (strlen(dd_catalogue_drugs[i].name) == length && memcmp(dd_catalogue_drugs[i].name, name, length) == 0)
            return &dd_catalogue_drugs[i];
    return NULL;
}

const char *dd_catalogue_nearest(const dd_plan *plan, const char *name, size_t length)
{
    dd_nearest nearest = dd_nearest_begin(name, length);
    for (size_t i = 0; i < dd_catalogue_additive_count; i++)
        dd_nearest_offer(&nearest, dd_catalogue_additives[i].key, strlen(dd_catalogue_additives[i].key));
    for (size_t i = 0; i < dd_catalogue_drug_count; i++)
        dd_nearest_offer(&nearest, dd_catalogue_drugs[i].name, strlen(dd_catalogue_drugs[i].name));
    for (size_t i = 0; i < plan->fluid_count; i++)
        dd_nearest_offer(&nearest, plan->fluids[i].key, strlen(plan->fluids[i].key));
    return nearest.best;
}

/* Where a composition has each member, and where an additive says what it brings of it. */
static const struct { size_t of_composition, of_additive; } members[] = {
#define MEMBER(name, added) {offsetof(dd_composition, name), offsetof(dd_additive, added)}
    MEMBER(sodium, sodium), MEMBER(potassium, potassium), MEMBER(chloride, chloride), MEMBER(calcium, calcium), MEMBER(magnesium, magnesium),
    MEMBER(phosphate, phosphate), MEMBER(lactate, lactate), MEMBER(acetate, acetate), MEMBER(bicarbonate, bicarbonate), MEMBER(glucose, glucose),
    MEMBER(osmolarity, osmoles),
};
_Static_assert(sizeof members / sizeof *members == DD_MEMBERS && sizeof(dd_composition) == DD_MEMBERS * sizeof(int64_t), "every member, once");

int64_t dd_catalogue_member(const dd_composition *has, size_t member)
{
    return *(const int64_t *)(const void *)((const char *)has + members[member].of_composition);
}

void dd_catalogue_set_member(dd_composition *has, size_t member, int64_t value)
{
    *(int64_t *)(void *)((char *)has + members[member].of_composition) = value;
}

int32_t dd_catalogue_brings(const dd_additive *additive, size_t member)
{
    return *(const int32_t *)(const void *)((const char *)additive + members[member].of_additive);
}

const char *dd_catalogue_category(unsigned category)
{
    static const char *const names[] = {"fluid", "drug", "blood", "nutrition", "flush", "feed", "oral", "other"};
    return category < DD_CAT_COUNT ? names[category] : NULL;
}

/* ---- fluids.csv ---- */

/* An amount per litre: ions in nanomoles, from mmol; mEq is taken only where the charge of the ion is known. */
static bool per_litre(dd_sheet *s, dd_column_id column, dd_dimension dimension, int64_t scale, int charge, int64_t *out)
{
    dd_quantity q;
    *out = DD_UNKNOWN;
    if (!dd_cells_quantity(s, column, &q))
        return false;
    if (q.unit == DD_UNIT_NONE)
        return true;
    static const struct { dd_dimension dimension; int64_t size; } units[] = {
#define UNIT(id, text, dim, size, spoken) [DD_UNIT_##id] = {dim, size},
#include "unit.def"
#undef UNIT
    };
    bool as_charge = dimension == DD_DIM_MOLE && charge && units[q.unit].dimension == DD_DIM_CHARGE;
    if ((units[q.unit].dimension != dimension && !as_charge) || units[q.per].dimension != DD_DIM_VOLUME || q.per_kg) {
        dd_cells_quantity_fault(s, column, DD_QF_UNIT_WRONG, dd_cells_peek(s, column), NULL);
        return false;
    }
    /* micro x size / (per_micro x per size) is the amount in micro per microlitre; a litre has 10^6 of them. */
    dd_ratio r;
    if (dd_ratio_make((dd_int128)q.micro * units[q.unit].size * 1000000000, (dd_int128)q.per_micro * units[q.per].size * scale * (as_charge ? charge : 1), &r) != DD_OK
        || dd_ratio_half_up(r, 1, out) != DD_OK || *out > INT64_C(10000000000000)) {
        dd_cells_quantity_fault(s, column, DD_QF_TOO_LARGE, dd_cells_peek(s, column), NULL);
        return false;
    }
    return true;
}

static bool composition(dd_sheet *s, dd_composition *c)
{
    bool good = true;
    const struct { dd_column_id column; int64_t *out; int charge; } ions[] = {
        {DD_COL_FLUIDS_SODIUM, &c->sodium, 1},     {DD_COL_FLUIDS_POTASSIUM, &c->potassium, 1}, {DD_COL_FLUIDS_CHLORIDE, &c->chloride, 1},
        {DD_COL_FLUIDS_CALCIUM, &c->calcium, 2},   {DD_COL_FLUIDS_MAGNESIUM, &c->magnesium, 2}, {DD_COL_FLUIDS_PHOSPHATE, &c->phosphate, 0},
        {DD_COL_FLUIDS_LACTATE, &c->lactate, 1},   {DD_COL_FLUIDS_ACETATE, &c->acetate, 1},     {DD_COL_FLUIDS_BICARBONATE, &c->bicarbonate, 1},
    };
    for (size_t i = 0; i < sizeof ions / sizeof *ions; i++)
        good &= per_litre(s, ions[i].column, DD_DIM_MOLE, 1, ions[i].charge, ions[i].out);
    good &= per_litre(s, DD_COL_FLUIDS_GLUCOSE, DD_DIM_MASS, 1000000, 0, &c->glucose);
    good &= per_litre(s, DD_COL_FLUIDS_OSMOLARITY, DD_DIM_OSMOLE, 1, 0, &c->osmolarity);
    return good;
}

/* The categories in the order in which column.def lists them. */
static uint8_t category_of_word(int word)
{
    static const uint8_t order[] = {DD_CAT_FLUID, DD_CAT_DRUG, DD_CAT_BLOOD, DD_CAT_NUTRITION, DD_CAT_FEED, DD_CAT_FLUSH};
    return word < 0 ? DD_CAT_FLUID : order[word];
}

static bool read_fluid(dd_folder *f, dd_sheet *s, dd_fluid *out)
{
    const char *key;
    size_t length;
    int category;
    bool good = dd_cells_key(s, DD_COL_FLUIDS_FLUID, &key, &length);
    *out = (dd_fluid){.evidence = DD_EV_WARD, .at = {s->row.line, DD_TABLE_FLUIDS, DD_WHOLE_ROW}};
    if (good) {
        char *lower = dd_arena_text(f->arena, key, length);
        if (!lower) {
            f->no_memory = true;
            return false;
        }
        for (char *p = lower; *p; p++)
            *p = *p >= 'A' && *p <= 'Z' ? (char)(*p - 'A' + 'a') : *p;
        out->key = lower;
    }
    good &= dd_cells_copy(s, DD_COL_FLUIDS_WORDS, &out->words, &f->no_memory);
    good &= dd_cells_copy(s, DD_COL_FLUIDS_SOURCE, &out->source, &f->no_memory);
    good &= dd_cells_word(s, DD_COL_FLUIDS_CATEGORY, &category);
    good &= composition(s, &out->has);
    int64_t hang;
    good &= dd_cells_seconds(s, DD_COL_FLUIDS_HANG_TIME, &hang);
    if (!good)
        return false;
    out->category = category_of_word(category);
    out->glucose_form = out->has.glucose == 0 ? DD_GLUCOSE_NONE : DD_GLUCOSE_NOT_STATED;
    out->hang_s = hang == DD_UNKNOWN ? 0 : hang;
    if (!out->words)
        out->words = out->key;
    return true;
}

void dd_catalogue_read(dd_folder *f)
{
    dd_sheet *s = &f->sheets[DD_TABLE_FLUIDS];
    size_t most = BUILT_IN + (f->there[DD_TABLE_FLUIDS] ? dd_desk_rows_most(s) : 0);
    dd_fluid *fluids = most < INT16_MAX ? dd_arena_take_many(f->arena, most, sizeof *fluids) : NULL;
    if (!fluids || !dd_keys_room(&f->fluid_keys, f->arena, most)) {
        f->no_memory = true;
        return;
    }
    size_t count = 0;
    while (dd_desk_next(f, s)) {
        dd_fluid fluid;
        if (s->broken || !read_fluid(f, s, &fluid))
            continue;
        size_t length = strlen(fluid.key);
        const dd_keys_slot *slot = dd_keys_find(&f->fluid_keys, 0, fluid.key, length);
        if (slot) {
            char line[24];
            snprintf(line, sizeof line, "%lu", (unsigned long)fluids[slot->value].at.line);
            dd_table_fault(s, DD_COL_FLUIDS_FLUID, DD_MSG_FLUID_DOUBLED, NULL, line, NULL);
            continue;
        }
        fluids[count] = fluid;
        if (!dd_keys_add(&f->fluid_keys, f->arena, 0, fluid.key, (uint32_t)count++))
            f->no_memory = true;
    }
    for (size_t i = 0; i < BUILT_IN; i++) {
        fluids[count] = built_in[i];
        size_t length = strlen(built_in[i].key);
        if (!dd_keys_find(&f->fluid_keys, 0, built_in[i].key, length)
            && !dd_keys_add(&f->fluid_keys, f->arena, 0, built_in[i].key, (uint32_t)count))
            f->no_memory = true;
        count++;
    }
    f->fluids = f->plan.fluids = fluids;
    f->plan.fluid_count = count;
}
