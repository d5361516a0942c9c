/* shared.h - a shared library that is loaded when it is needed, not when the program starts. */
#ifndef DD_SHARED_H
#define DD_SHARED_H

#include <stdbool.h>
#include <stddef.h>

/* Loads a library by its file name, such as libz.so.1, from where the system keeps them; it stays until the program ends. NULL: it
 * cannot be loaded, and `why` says so in the system's words. */
void *dd_shared_open(const char *file, char *why, size_t room);
/* Puts a function of the library into the pointer to a function that `function` points to. False: it has none of that name. */
bool dd_shared_bind(void *library, const char *name, void *function, char *why, size_t room);

#endif
