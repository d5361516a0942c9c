/* file.h - files whole: read under a ceiling, written beside and put in place at once. */
#ifndef DD_FILE_H
#define DD_FILE_H

#include <limits.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "arena.h"

#define DD_FILE_CEILING ((size_t)512 << 20) /* bytes of a table */

typedef enum dd_file_end {
    DD_FILE_READ,
    DD_FILE_ABSENT,
    DD_FILE_REFUSED,  /* it is there and cannot be opened or read; errno says why */
    DD_FILE_TOO_LARGE,
    DD_FILE_NO_MEMORY
} dd_file_end;

/* Reads a file whole into `arena`, a NUL behind it. `-` is standard input. ceiling in bytes. */
DD_MUST_USE dd_file_end dd_file_read(const char *path, size_t ceiling, dd_arena *arena, char **bytes, size_t *length);

/* The names in a folder, sorted by byte, in `arena`. DD_CANNOT_READ: no such folder, or it cannot be opened (errno). */
DD_MUST_USE dd_status dd_file_list(const char *folder, dd_arena *arena, const char ***names, size_t *count);

/* folder/name in `arena`; NULL: no memory. */
DD_MUST_USE char *dd_file_join(dd_arena *arena, const char *folder, const char *name);

/* Writes a file whole or not at all: a temporary beside it, never named *.csv, mode 0600, synced, renamed. On a link what it
 * points to is replaced. keep_mode: a file that is there keeps its mode. DD_CANNOT_WRITE: errno says why and nothing has
 * changed; DD_NO_MEMORY. */
DD_MUST_USE dd_status dd_file_write(const char *path, const char *bytes, size_t length, bool keep_mode);

/* The same piece by piece, so that it need not fit into memory: begun, given more, read again, and put in place or dropped. One at a time.
 * What begin gives other than DD_OK: nothing is there to be dropped. */
typedef struct dd_file_writing {
    char path[PATH_MAX]; /* where it goes; no link */
    mode_t mode;         /* of the file that it replaces */
    int fd;
    bool replaces;
} dd_file_writing;
DD_MUST_USE dd_status dd_file_begin(dd_file_writing *file, const char *path);
DD_MUST_USE dd_status dd_file_more(dd_file_writing *file, const char *bytes, size_t length);
/* Reads what was written, from `at` on; returns how much, at most `room`; 0: the end, below 0: errno says why. */
ssize_t dd_file_again(dd_file_writing *file, char *bytes, size_t room, size_t at);
DD_MUST_USE dd_status dd_file_place(dd_file_writing *file, bool keep_mode);
void dd_file_drop(dd_file_writing *file); /* errno stays */

/* Removes the temporary that is being written, if any. Safe in a signal handler. */
void dd_file_abandon(void);

#endif
