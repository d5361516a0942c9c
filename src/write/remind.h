/* remind.h - the names under which reminders stay the same when a plan is made again.
 *
 * dd_remind_write itself stands in write.h. Beside what is said there it gives DD_BAD_INPUT where the plan has no id that is a
 * UUID (the setting `plan` of ward.csv): without one no reminder could keep its name; DD_TOO_LARGE where the lead is not whole
 * minutes from 0 to 24 h; DD_CANNOT_WRITE where what was written does not read back as what was meant. By every failure
 * nothing is added to `out`. */
#ifndef DD_REMIND_H
#define DD_REMIND_H

#include "daydrip/write.h"

#define DD_REMIND_UID_SIZE 37 /* bytes of a UUID in text with its NUL */

/* The 16 bytes of a UUID written 8-4-4-4-12 in hexadecimal of either case. False: it is not one (NULL included). */
bool dd_remind_space(const char *uuid, unsigned char out[16]);
/* The UUID of version 5 of a name within a namespace (RFC 9562, 5.5), lower case. */
void dd_remind_uid(const unsigned char space[16], const char *name, size_t length, char out[DD_REMIND_UID_SIZE]);

#endif
