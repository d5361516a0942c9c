#include "findings.h"

#include <stddef.h>

/* Those of finding.def are looked for; behind them stand kinds that a ward may have accepted already and that this version does
 * not look for yet. */
const char *const dd_findings_codes[] = {
#define FINDING(id, code, severity, rule, sentence) code,
#include "daydrip/finding.def"
#undef FINDING
    "allergies-unknown", "allergy", "not-verified", "record-differs", "bag-expired", "bag-mismatch", "drug-unknown", "weight-missing", "weight-old",
    "weight-estimated", "weight-implausible", "weight-changed", "late-entry",
    "blood-company", "blood-rate", "apart", "pair-not-on-file", "potassium-strength", "potassium-rate", "potassium-gravity",
    "osmolarity", "glucose-strength", "water", "tonicity", "glucose-rate", "glucose-gap", "insulin-alone", "above-maintenance", "below-maintenance",
    "maintenance-cap", "above-allowance", "adult-day", "adult-electrolyte", "bolus", "drift", "behind", "ahead", "gravity-spread",
    "urine-low", "urine-high", "overload", "site", "overdue", "feed-twice", "no-reading",
    NULL,
};
