/* append.h - rows added to a file that others add to at the same time, and that must never lose one.
 *
 * The lock is on the file itself. Who has it reads the file, decides, and adds with one write; a write that fails half way is cut
 * back, so that the file is as it was. A file that is not there yet is made beside its place and linked into it whole, so that
 * nobody ever reads half of it; of two who make it at once one is told to begin again. */
#ifndef DD_APPEND_H
#define DD_APPEND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daydrip/status.h"

typedef struct dd_append {
    int fd;             /* -1: nothing is open */
    uint64_t length;    /* bytes of the file, as long as it is locked */
    uint64_t device, inode;
} dd_append;

typedef enum dd_append_end {
    DD_APPEND_DONE,
    DD_APPEND_ABSENT,   /* open: there is no such file */
    DD_APPEND_BUSY,     /* open: somebody else kept the lock for DD_APPEND_WAIT seconds */
    DD_APPEND_AGAIN,    /* another file has taken its place meanwhile: begin again; nothing was written */
    DD_APPEND_REPLACED, /* another file took its place while it was written: what was added may be gone */
    DD_APPEND_REFUSED,  /* errno says why; the file is as it was */
    DD_APPEND_TORN      /* errno says why; the write failed half way and could not be cut back */
} dd_append_end;

#define DD_APPEND_WAIT 30 /* seconds */

/* Opens the file and waits for its lock, which the descriptor keeps until dd_append_close. */
DD_MUST_USE dd_append_end dd_append_open(dd_append *a, const char *path);
/* Adds the bytes at the end and syncs. The file keeps its mode. */
DD_MUST_USE dd_append_end dd_append_add(dd_append *a, const char *path, const char *bytes, size_t length);
/* Makes the file with these bytes, unless it is there by now (DD_APPEND_AGAIN). Who may read and write the file `like` may do the
 * same with it. */
DD_MUST_USE dd_append_end dd_append_create(const char *path, const char *like, const char *bytes, size_t length);
void dd_append_close(dd_append *a); /* harmless on one that is not open */

#endif
