/* differ_list.h - what differ.h found, as rows and as text. */
#ifndef DD_DIFFER_LIST_H
#define DD_DIFFER_LIST_H

#include "bytes.h"
#include "differ.h"

typedef struct dd_differ_list {
    const dd_view *view;
    const dd_folder *record;
} dd_differ_list;

/* `patient,order,column,ordered,recorded,same`: every cell that is compared, as it is written. */
DD_MUST_USE dd_status dd_differ_rows_head(dd_bytes *out);
DD_MUST_USE dd_status dd_differ_rows(const dd_patient *patient, const dd_differ_cell *cells, size_t count, dd_bytes *out);

/* Under the heading of the list: which file it is, what is not compared. */
DD_MUST_USE dd_status dd_differ_head(const dd_differ_list *list, dd_bytes *out);
/* A patient with differences: what is the same, counted, then the differences, worst first. Sorts the cells. */
DD_MUST_USE dd_status dd_differ_block(const dd_differ_list *list, const dd_patient *patient, dd_differ_cell *cells, size_t count, dd_bytes *out);
/* A patient without any, on a line. */
DD_MUST_USE dd_status dd_differ_line(const dd_differ_list *list, const dd_patient *patient, const dd_differ_cell *cells, size_t count, dd_bytes *out);

#endif
