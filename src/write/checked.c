#include "checked.h"

#include "names.h"
#include "phrase.h"

static void add_count(dd_bytes *out, size_t n)
{
    char number[DD_NUMBER_MAX];
    dd_bytes_add(out, number, dd_number_scaled(number, (int64_t)n, 0, 0, DD_STYLE_PERSON));
}

static void add_missing(dd_bytes *out, const dd_view *v, const char *what, bool (*missing)(const dd_patient *))
{
    enum { NAMED = 40 };
    size_t count = 0;
    for (size_t i = 0; i < v->count; i++) {
        if (v->patients[i]->errors > 0 || !missing(v->patients[i]))
            continue;
        if (count < NAMED) {
            dd_bytes_text(out, count ? ", " : what);
            dd_bytes_text(out, count ? "" : " not recorded: ");
            dd_bytes_text(out, dd_phrase_bed(v->patients[i]));
        }
        count++;
    }
    if (count > NAMED) {
        dd_bytes_text(out, " and ");
        add_count(out, count - NAMED);
        dd_bytes_text(out, " more");
    }
    dd_bytes_text(out, count ? ".\n" : "");
}

static bool no_allergies(const dd_patient *p)
{
    return !p->allergies;
}

static bool no_weight(const dd_patient *p)
{
    return p->weight_mg == DD_UNKNOWN;
}

static bool no_age(const dd_patient *p)
{
    return p->age_s == DD_UNKNOWN;
}

void dd_checked_write(dd_bytes *out, const dd_view *v, bool codes)
{
    size_t planned = 0;
    for (size_t i = 0; i < v->count; i++)
        planned += v->patients[i]->errors == 0;
    dd_bytes_text(out, "Checked: ");
    add_count(out, planned);
    dd_bytes_text(out, planned == 1 ? " patient, " : " patients, ");
    add_count(out, DD_FINDING_COUNT);
    dd_bytes_text(out, codes ? " kinds of finding and nothing else: " : " kinds of finding (named on the last page) and nothing else: ");
    for (int i = 0; codes && i < DD_FINDING_COUNT; i++) {
        dd_bytes_text(out, i ? ", " : "");
        dd_bytes_text(out, dd_names_finding(i));
    }
    dd_bytes_text(out, codes ? ".\n" : "not allergies, doses, strengths or what may not mix.\n");
    if (planned < v->count) {
        dd_bytes_text(out, "Not planned and not checked because of errors: ");
        add_count(out, v->count - planned);
        dd_bytes_text(out, v->count - planned == 1 ? " patient.\n" : " patients.\n");
    }
    add_missing(out, v, "Allergies", no_allergies);
    add_missing(out, v, "Weight", no_weight);
    add_missing(out, v, "Age", no_age);
}
