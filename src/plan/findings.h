/* findings.h - the codes of all findings, for tables that name one. */
#ifndef DD_FINDINGS_H
#define DD_FINDINGS_H

extern const char *const dd_findings_codes[]; /* ends with NULL */

/* What a figure that is accepted may be. */
#define DD_TAKES_ANY                                                                                                                       \
    (DD_TAKES_VOLUME | DD_TAKES_VOLUME_KG | DD_TAKES_RATE | DD_TAKES_RATE_KG | DD_TAKES_TIME | DD_TAKES_MASS | DD_TAKES_AMOUNT              \
     | DD_TAKES_DOSE_RATE | DD_TAKES_STRENGTH | DD_TAKES_PERCENT | DD_TAKES_OSMOLARITY | DD_TAKES_DOSE_DAY)

#endif
