/* review.h - findings alone, worst first: the review of the orders before a shift, as text and as rows. */
#ifndef DD_REVIEW_H
#define DD_REVIEW_H

#include "bytes.h"
#include "daydrip/write.h"

/* `not looked for: potassium-rate (no weight), ...`; nothing where everything was. */
void dd_review_unchecked(dd_bytes *out, const dd_timeline *timeline);
/* The same of those findings alone that `about` names; NULL: all. */
void dd_review_unchecked_of(dd_bytes *out, const dd_timeline *timeline, bool (*about)(const char *finding));

#endif
