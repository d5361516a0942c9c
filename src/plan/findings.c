#include "findings.h"

#include <stddef.h>

const char *const dd_findings_codes[] = {
#define FINDING(id, code, severity, rule, sentence) code,
#include "daydrip/finding.def"
    NULL,
};
