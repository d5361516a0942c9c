/* status.h - what a call can come back with, and the exit status of the command.
 *
 * Everything that can fail returns a dd_status that must be looked at. DD_OK is zero. A status says what kind of
 * failure it was; what exactly was wrong, and where, is in the messages the call left in its sink (message.h). */
#ifndef DAYDRIP_STATUS_H
#define DAYDRIP_STATUS_H

#define DD_MUST_USE __attribute__((warn_unused_result))

typedef enum dd_status {
    DD_OK = 0,
    DD_NO_MEMORY,   /* an allocation failed or a ceiling named in a header was reached */
    DD_TOO_LARGE,   /* a result does not fit its range; nothing was changed */
    DD_BAD_INPUT,   /* the plan has errors; the sink holds them; what could be read is there */
    DD_CANNOT_READ, /* a file or folder could not be opened or read */
    DD_CANNOT_WRITE /* an output could not be written whole */
} dd_status;

/* Exit status of the command. Where several hold: 2 before 4 before 3 before 1. */
enum {
    DD_EXIT_DONE = 0,
    DD_EXIT_CLARIFY = 1, /* done, and there is something to clarify (verbs check, compare, bag only) */
    DD_EXIT_USAGE = 2,
    DD_EXIT_PLAN = 3, /* the plan has errors; what could be planned was */
    DD_EXIT_FILE = 4  /* could not read or write, standard output included */
};

#endif
