#include "written.h"

static const char by_memory[] = "families of drugs, from memory";

static bool find_unrecorded(dd_work *w)
{
    if (w->patient->allergies)
        return true;
    return dd_work_finding(w, DD_FINDING_ALLERGIES_UNKNOWN, -1, -1, w->plan->begins) && dd_work_unchecked(w, DD_FINDING_ALLERGY, DD_WANT_ALLERGIES, -1);
}

static bool find_allergy(dd_work *w, const dd_use *use)
{
    const dd_order *o = &w->patient->orders[use->order];
    if (!o->allergy)
        return true;
    dd_finding *f = dd_work_finding(w, DD_FINDING_ALLERGY, use->order, use->line, use->at);
    if (!f)
        return false;
    f->word = o->allergy_words;
    f->source = o->allergy_family ? by_memory : NULL;
    return true;
}

static bool say_unknown(dd_work *w, const dd_use *use, const char *hint)
{
    if (!hint)
        return true;
    dd_finding *f = dd_work_finding(w, DD_FINDING_DRUG_UNKNOWN, use->order, use->line, use->at);
    if (f)
        f->word = hint;
    return f != NULL;
}

static bool find_unknown(dd_work *w, const dd_use *use)
{
    const dd_mixture *m = w->patient->orders[use->order].mixture;
    bool good = say_unknown(w, use, m->hint);
    for (uint8_t i = 0; i < m->addition_count && good; i++)
        good = say_unknown(w, use, m->additions[i].hint);
    return good;
}

/* Nothing is dissolved in it, and it carries no drug: whatever is added has no osmoles that anybody knows of. */
static bool is_water(const dd_plan *plan, const dd_mixture *m, const dd_composition *has)
{
    if (m->drug || m->fluid < 0)
        return false;
    return has->osmolarity == 0 || (plan->fluids[m->fluid].diluent_only && m->addition_count == 0);
}

static bool find_water(dd_work *w, const dd_use *use)
{
    const dd_order *o = &w->patient->orders[use->order];
    if (w->patient->lines[use->line].kind == DD_KIND_ENTERAL)
        return true;
    bool bag = is_water(w->plan, o->mixture, o->has), flush = o->flush && is_water(w->plan, o->flush, &w->plan->fluids[o->flush->fluid].has);
    if (!bag && !flush)
        return true;
    dd_finding *f = dd_work_finding(w, DD_FINDING_WATER, use->order, use->line, use->at);
    if (!f)
        return false;
    f->word = bag ? NULL : "its flush";
    return true;
}

dd_status dd_written_find(dd_work *w, const dd_use *uses, size_t count)
{
    bool good = find_unrecorded(w);
    for (size_t i = 0; i < count && good; i++)
        if (uses[i].first)
            good = find_allergy(w, &uses[i]) && find_unknown(w, &uses[i]) && find_water(w, &uses[i]);
    return good ? DD_OK : DD_NO_MEMORY;
}
