/* names.h - the words that rows and pages use for what the plan counts in enums. All are static and plain ASCII. */
#ifndef DD_NAMES_H
#define DD_NAMES_H

const char *dd_names_category(int category); /* dd_category: fluid drug blood ... */
const char *dd_names_output(int output);     /* urine stool vomit gastric drain blood other, 0 to 6 */
const char *dd_names_device(int device);     /* pump syringe gravity */
const char *dd_names_severity(int severity); /* CLARIFY WATCH NOTE, or nothing */
const char *dd_names_evidence(int evidence); /* read memory default ward */
const char *dd_names_finding(int code);      /* two-primaries ... */
int dd_names_finding_severity(int code); /* the built-in one, a dd_severity */
const char *dd_names_sentence(int code);     /* what the finding says */
const char *dd_names_refusal(int refusal);   /* why no other rate is offered; nothing where one is */
const char *dd_names_want(int want);         /* what is missing: no weight, ... */

#define DD_OUTPUTS 7

#endif
