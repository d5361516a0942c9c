/* mixture.h - the cell `fluid` of an order, understood. */
#ifndef DD_MIXTURE_H
#define DD_MIXTURE_H

#include "desk.h"

#define DD_ADDITIONS_MOST 16

/* Reads the cell of the row that is read. Orders with the same text get the same mixture. NULL: reported. */
const dd_mixture *dd_mixture_read(dd_folder *f, dd_sheet *sheet);
/* A fluid of the catalogue alone, as if it were ordered by its key. NULL: no memory. */
const dd_mixture *dd_mixture_plain(dd_folder *f, int16_t fluid);

#endif
