/* demo_files.h - the demo ward's tables, taken in when the program is built (demo.cmake). */
#ifndef DD_DEMO_FILES_H
#define DD_DEMO_FILES_H

#include <stddef.h>

typedef struct dd_demo_file { const char *name; const unsigned char *bytes; size_t length; } dd_demo_file;
extern const dd_demo_file dd_demo_files[]; /* a NULL name ends it */

#endif
