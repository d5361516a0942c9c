/* rulelist.h - the rules: all of them, or those that hold for a patient and from which row each came. */
#ifndef DD_RULELIST_H
#define DD_RULELIST_H

#include "bytes.h"
#include "daydrip/write.h"

/* `rules.csv: 3 rows of the ward, 1 of them looser than built in`; nothing where the ward has none. */
void dd_rulelist_count(dd_bytes *out, const dd_plan *plan);

#endif
