/* progress.h - work that takes long says how far it is: one line on the terminal, gone again when it is done. */
#ifndef DD_PROGRESS_H
#define DD_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct dd_progress {
    int64_t began_ms, said_ms; /* on a clock that nobody sets */
    bool heard, shown;         /* heard: somebody looks at a terminal that nothing else is written to now */
} dd_progress;

/* Work begins; and: its results go to standard output as they come. Where that is a terminal they are progress enough. */
void dd_progress_begin(dd_progress *progress);
void dd_progress_streams(dd_progress *progress);
/* So many patients of so many are done: said once the work has taken two seconds, a few times a second. */
void dd_progress_patients(dd_progress *progress, size_t done, size_t of);
/* Takes the line away. Harmless where there is none. */
void dd_progress_end(dd_progress *progress);

#endif
