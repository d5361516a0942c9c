/* due.h - what comes next over all patients of a view, in time order: what the text and the rows of `due` share. */
#ifndef DD_DUE_H
#define DD_DUE_H

#include "bytes.h"
#include "daydrip/task.h"
#include "daydrip/write.h"

/* What one patient's task is about, in a line without bed and line: `bag 3, 500 mL: sodium chloride 0.9 %, 50 mL/h`. */
void dd_due_detail(dd_bytes *out, const dd_timeline *timeline, const dd_task *task);

#endif
