/* fast.h - findings about what is given at once: boluses for resuscitation, and blood that runs fast. */
#ifndef DD_FAST_H
#define DD_FAST_H

#include "use.h"

DD_MUST_USE dd_status dd_fast_find(dd_work *work, const dd_use *uses, size_t count);

#endif
