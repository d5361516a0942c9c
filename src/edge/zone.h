/* zone.h - time zones of the system as plain data. */
#ifndef DD_ZONE_H
#define DD_ZONE_H

#include "arena.h"
#include "daydrip/moment.h"

typedef enum dd_zone_end {
    DD_ZONE_READ,
    DD_ZONE_FORM,      /* not an IANA name: an offset, a POSIX string, a path */
    DD_ZONE_NOT_KNOWN, /* the system does not know it */
    DD_ZONE_NO_MEMORY
} dd_zone_end;

#define DD_ZONE_YEARS 10 /* covered before and after the moment asked for */

/* Reads the zone with this IANA name, from 10 years before to 10 years after `around`, into `arena`. */
DD_MUST_USE dd_zone_end dd_zone_read(const char *name, dd_moment around, dd_arena *arena, dd_zone *out);

/* The version of the system's time-zone data, such as 2024a; "unknown" where it does not say. `out` of at least 16 bytes. */
void dd_zone_data_version(char *out, size_t room);

#endif
