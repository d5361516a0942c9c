/* peaks.h - findings about what all lines give together from second to second: potassium, glucose, insulin. */
#ifndef DD_PEAKS_H
#define DD_PEAKS_H

#include "work.h"

/* The most of potassium and glucose, the least of glucose, stretches without it, insulin alone. Flows and runs must be there. */
DD_MUST_USE dd_status dd_peaks_find(dd_work *work);

#endif
