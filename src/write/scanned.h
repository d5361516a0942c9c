/* scanned.h - what a scanned code says, and what does not fit, as rows and as text. */
#ifndef DD_SCANNED_H
#define DD_SCANNED_H

#include "bytes.h"
#include "daydrip/write.h"
#include "gs1.h"
#include "hold.h"

typedef struct dd_scanned {
    const dd_timeline *timeline;
    const dd_gs1 *code;
    const dd_hold *hold;
    int order;
} dd_scanned;

/* `quantity,value,unit`: what the code says in its order, the bag as which it hangs, and a row `clarify` for all that does not fit. */
DD_MUST_USE dd_status dd_scanned_rows(const dd_scanned *scanned, dd_bytes *out);
/* The same as a block of text. */
DD_MUST_USE dd_status dd_scanned_list(const dd_view *view, const dd_scanned *scanned, dd_bytes *out);

#endif
