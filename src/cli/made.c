#include "made.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"

static bool cannot_write(dd_made *m, const char *path)
{
    if (!path)
        dd_bytes_text(m->err, "daydrip: not enough memory\n");
    else
        dd_bytes_form(m->err, "daydrip: %s: %s\n", path, strerror(errno));
    return false;
}

bool dd_made_begin(dd_made *m)
{
    const char **names;
    size_t count;
    if (mkdir(m->folder, 0777) == 0)
        return m->made = true;
    if (errno != EEXIST)
        return cannot_write(m, m->folder);
    dd_status status = dd_file_list(m->folder, m->arena, &names, &count);
    if (status != DD_OK)
        return cannot_write(m, status == DD_NO_MEMORY ? NULL : m->folder);
    if (count == 0)
        return true;
    dd_bytes_form(m->err, "daydrip: %s is there and not empty; %s needs a folder of its own\n", m->folder, m->what);
    return false;
}

bool dd_made_write(dd_made *m, const char *name, const char *bytes, size_t length)
{
    const char *path = m->count < DD_MADE_MOST ? dd_file_join(m->arena, m->folder, name) : NULL;
    if (!path)
        return cannot_write(m, NULL);
    m->files[m->count++] = path; /* removing one that could not be written does no harm: the folder was empty */
    return dd_file_write(path, bytes, length, false) == DD_OK || cannot_write(m, path);
}

void dd_made_undo(dd_made *m)
{
    while (m->count)
        unlink(m->files[--m->count]);
    if (m->made)
        rmdir(m->folder);
}
