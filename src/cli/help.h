/* help.h - what --help and --version print, from the same lists as the parsing. */
#ifndef DD_HELP_H
#define DD_HELP_H

#include "words.h"

void dd_help_all(dd_bytes *out);
void dd_help_verb(dd_verb verb, dd_bytes *out);
void dd_help_version(dd_bytes *out);

#endif
