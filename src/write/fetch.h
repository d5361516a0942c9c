/* fetch.h - what has to be at hand for a patient's tasks, item by item: what `gather` lists and sums. */
#ifndef DD_FETCH_H
#define DD_FETCH_H

#include "arena.h"
#include "bytes.h"
#include "daydrip/task.h"
#include "daydrip/write.h"

/* In the order in which things for one task are listed. The word stands in rows. */
typedef enum dd_fetch_kind {
    DD_FETCH_BAG, DD_FETCH_DRUG, DD_FETCH_BLOOD, DD_FETCH_FEED, DD_FETCH_FLUSH, DD_FETCH_LOCK, DD_FETCH_SET, DD_FETCH_DRESSING, DD_FETCH_PLACING,
    DD_FETCH_KINDS
} dd_fetch_kind;

typedef struct dd_fetch {
    dd_moment needed;
    dd_u volume;         /* of the bag, dose, feed or flush; 0: none */
    int32_t bag;         /* number of the bag; 0: not one */
    int16_t order, line; /* indexes; order -1: for the line alone */
    uint8_t kind;
    bool second;         /* a second nurse is needed for it */
    bool label;          /* it gets a label of its own */
    bool first;          /* the first of what one task needs: bed and time stand before it */
} dd_fetch;

/* What is needed in [from, to), by time; in `arena`. */
DD_MUST_USE dd_status dd_fetch_list(const dd_timeline *timeline, dd_moment from, dd_moment to, dd_arena *arena, const dd_fetch **items, size_t *count);
const char *dd_fetch_word(unsigned kind);
/* What it is, without for whom: `cefazolin 1 g in sodium chloride 0.9 %, 50 mL`. The same words are the same thing. */
void dd_fetch_what(dd_bytes *out, const dd_timeline *timeline, const dd_fetch *item);
/* What else is to be known of it, or nothing: `collect only ...`. */
void dd_fetch_more(dd_bytes *out, const dd_timeline *timeline, const dd_fetch *item);
/* Whether what the patient may not get stands beside it. */
bool dd_fetch_shows_allergy(const dd_timeline *timeline, const dd_fetch *item);

#endif
