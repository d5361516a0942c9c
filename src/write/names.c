#include "names.h"

#include "daydrip/timeline.h"

/* An index beyond its list cannot come from a plan that passed the gate; "?" keeps such a fault visible instead of reading
 * past the end. */
static const char *pick(const char *const *words, int count, int index)
{
    return index >= 0 && index < count ? words[index] : "?";
}

const char *dd_names_category(int category)
{
    static const char *const words[DD_CAT_COUNT] = {"fluid", "drug", "blood", "nutrition", "flush", "feed", "oral", "other"};
    return pick(words, DD_CAT_COUNT, category);
}

const char *dd_names_output(int output)
{
    static const char *const words[DD_OUTPUTS] = {"urine", "stool", "vomit", "gastric", "drain", "blood", "other"};
    return pick(words, DD_OUTPUTS, output);
}

const char *dd_names_device(int device)
{
    static const char *const words[] = {"pump", "syringe", "gravity"};
    return pick(words, 3, device);
}

const char *dd_names_severity(int severity)
{
    static const char *const words[] = {"", "NOTE", "WATCH", "CLARIFY"};
    return pick(words, 4, severity);
}

const char *dd_names_evidence(int evidence)
{
    static const char *const words[] = {"read", "memory", "default", "ward"};
    return pick(words, 4, evidence);
}

const char *dd_names_finding(int code)
{
    static const char *const words[] = {
#define FINDING(id, text, severity, rule, sentence) text,
#include "daydrip/finding.def"
    };
    return pick(words, DD_FINDING_COUNT, code);
}

int dd_names_finding_severity(int code)
{
    static const uint8_t severities[] = {
#define FINDING(id, text, severity, rule, sentence) DD_##severity,
#include "daydrip/finding.def"
    };
    return code >= 0 && code < DD_FINDING_COUNT ? severities[code] : DD_SEV_NONE;
}

const char *dd_names_sentence(int code)
{
    static const char *const words[] = {
#define FINDING(id, text, severity, rule, sentence) sentence,
#include "daydrip/finding.def"
    };
    return pick(words, DD_FINDING_COUNT, code);
}

const char *dd_names_refusal(int refusal)
{
    static const char *const words[] = {"",
#define REFUSAL(id, text) text,
#include "daydrip/refusal.def"
    };
    return pick(words, DD_REFUSAL_COUNT, refusal);
}

const char *dd_names_want(int want)
{
    static const char *const words[] = {
#define WANT(id, text) text,
#include "daydrip/want.def"
    };
    return pick(words, DD_WANT_COUNT, want);
}
