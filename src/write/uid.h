/* uid.h - names under which reminders stay the same when a plan is made again: UUIDs of version 5 (RFC 9562, 5.5). */
#ifndef DD_UID_H
#define DD_UID_H

#include <stdbool.h>
#include <stddef.h>

#define DD_UID_SIZE 37                /* bytes of a UUID in text with its NUL */
#define DD_UID_NAME_MAX ((size_t)1024) /* octets of the name behind one: two keys of 40, two words and two times; or a team of 500 */

/* The 16 bytes of a UUID written 8-4-4-4-12 in hexadecimal of either case. False: it is not one (NULL included). */
bool dd_uid_space(const char *uuid, unsigned char out[16]);
/* The UUID of a name within a namespace, lower case. */
void dd_uid_of(const unsigned char space[16], const char *name, size_t length, char out[DD_UID_SIZE]);

#endif
