/* mixlist.h - what a litre and a bag of one mixture hold, with the working; or the same as rows quantity,value,unit. */
#ifndef DD_MIXLIST_H
#define DD_MIXLIST_H

#include "bytes.h"
#include "daydrip/write.h"
#include "mix.h"

/* Of the view only plan and width are looked at. */
DD_MUST_USE dd_status dd_mixlist_text(const dd_view *view, const dd_mix *mix, dd_bytes *out);
DD_MUST_USE dd_status dd_mixlist_rows(const dd_mix *mix, dd_bytes *out);

#endif
