/* merge.h - rows of all patients in time order: each stands behind a key until all are there, then they are sorted by it (dd_merge_rows,
 * write.h) and it is taken off. */
#ifndef DD_MERGE_H
#define DD_MERGE_H

#include "bytes.h"
#include "daydrip/write.h"

void dd_merge_key(dd_bytes *out, dd_moment at); /* before the row, which holds one LF, its last byte */

#endif
