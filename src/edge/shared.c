#include "shared.h"

#include <dlfcn.h>
#include <stdio.h>
#include <string.h>

static void say_why(char *why, size_t room)
{
    const char *reason = dlerror();
    snprintf(why, room, "%s", reason ? reason : "the system does not say why");
}

void *dd_shared_open(const char *file, char *why, size_t room)
{
    /* All of it now: a part that is missing is to be known before anything was written. */
    void *library = dlopen(file, RTLD_NOW | RTLD_LOCAL);
    if (!library)
        say_why(why, room);
    return library;
}

bool dd_shared_bind(void *library, const char *name, void *function, char *why, size_t room)
{
    void *found = dlsym(library, name);
    if (!found) {
        say_why(why, room);
        return false;
    }
    memcpy(function, &found, sizeof found); /* ISO C has no conversion from one kind of pointer to the other; POSIX has them alike */
    return true;
}
