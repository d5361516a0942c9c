#include "file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The temporary that exists now, for the signal handler. */
static char temporary[PATH_MAX];
static volatile sig_atomic_t temporary_exists;

void dd_file_abandon(void)
{
    if (temporary_exists) {
        unlink(temporary);
        temporary_exists = 0;
    }
}

char *dd_file_join(dd_arena *arena, const char *folder, const char *name)
{
    size_t a = strlen(folder), b = strlen(name);
    char *path = dd_arena_take(arena, a + b + 2);
    if (!path)
        return NULL;
    memcpy(path, folder, a);
    if (a && folder[a - 1] != '/')
        path[a++] = '/';
    memcpy(path + a, name, b);
    return path;
}

/* Reads from an open descriptor; `guess` is what it probably holds. */
static dd_file_end read_all(int fd, size_t guess, size_t ceiling, dd_arena *arena, char **bytes, size_t *length)
{
    size_t room = guess + 1, used = 0;
    char *data = dd_arena_space(arena, room + 1);
    if (!data)
        return DD_FILE_NO_MEMORY;
    for (;;) {
        if (used == room) {
            if (room > ceiling)
                return DD_FILE_TOO_LARGE;
            char *more = dd_arena_space(arena, room * 2 + 1);
            if (!more)
                return DD_FILE_NO_MEMORY;
            memcpy(more, data, used);
            data = more;
            room *= 2;
        }
        ssize_t n = read(fd, data + used, room - used);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return DD_FILE_REFUSED;
        if (n == 0)
            break;
        used += (size_t)n;
    }
    if (used > ceiling)
        return DD_FILE_TOO_LARGE;
    data[used] = '\0';
    *bytes = data;
    *length = used;
    return DD_FILE_READ;
}

dd_file_end dd_file_read(const char *path, size_t ceiling, dd_arena *arena, char **bytes, size_t *length)
{
    if (strcmp(path, "-") == 0)
        return read_all(STDIN_FILENO, 65536, ceiling, arena, bytes, length);
    /* Without O_NONBLOCK a named pipe would keep us waiting for a writer that never comes. */
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return errno == ENOENT || errno == ENOTDIR ? DD_FILE_ABSENT : DD_FILE_REFUSED;
    struct stat st;
    dd_file_end end;
    if (fstat(fd, &st) != 0) {
        end = DD_FILE_REFUSED;
    } else if (S_ISDIR(st.st_mode)) {
        errno = EISDIR;
        end = DD_FILE_REFUSED;
    } else if (!S_ISREG(st.st_mode)) {
        errno = EINVAL;
        end = DD_FILE_REFUSED;
    } else if ((size_t)st.st_size > ceiling) {
        end = DD_FILE_TOO_LARGE;
    } else {
        end = read_all(fd, (size_t)st.st_size, ceiling, arena, bytes, length);
    }
    int why = errno;
    close(fd);
    errno = why;
    return end;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

dd_status dd_file_list(const char *folder, dd_arena *arena, const char ***names, size_t *count)
{
    DIR *dir = opendir(folder);
    if (!dir)
        return DD_CANNOT_READ;
    const char **list = NULL;
    size_t n = 0, room = 0;
    dd_status status = DD_OK;
    for (;;) {
        errno = 0;
        const struct dirent *entry = readdir(dir);
        if (!entry) {
            if (errno)
                status = DD_CANNOT_READ;
            break;
        }
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        char *name = dd_arena_text(arena, entry->d_name, strlen(entry->d_name));
        if (!name || !dd_arena_room(arena, &list, &room, n, sizeof *list)) {
            status = DD_NO_MEMORY;
            break;
        }
        list[n++] = name;
    }
    int why = errno;
    closedir(dir);
    errno = why;
    if (status != DD_OK)
        return status;
    if (n)
        qsort(list, n, sizeof *list, by_name);
    *names = list;
    *count = n;
    return DD_OK;
}

/* The file that a path means in the end: a link is followed, also one that points to nothing yet. */
static bool resolve(const char *path, char out[PATH_MAX])
{
    size_t length = strlen(path);
    if (length >= PATH_MAX) {
        errno = ENAMETOOLONG;
        return false;
    }
    memcpy(out, path, length + 1);
    for (int hops = 0; hops < 40; hops++) {
        char target[PATH_MAX];
        ssize_t n = readlink(out, target, sizeof target - 1);
        if (n < 0)
            return errno == EINVAL || errno == ENOENT; /* not a link, or not there */
        target[n] = '\0';
        char *slash = strrchr(out, '/');
        size_t keep = target[0] == '/' || !slash ? 0 : (size_t)(slash - out) + 1;
        if (keep + (size_t)n >= PATH_MAX) {
            errno = ENAMETOOLONG;
            return false;
        }
        memcpy(out + keep, target, (size_t)n + 1);
    }
    errno = ELOOP;
    return false;
}

/* A rename lasts only when the folder is synced too. Some file systems cannot: that is no failure of the write. */
static void sync_folder(const char *path)
{
    char folder[PATH_MAX];
    const char *slash = strrchr(path, '/');
    if (!slash)
        memcpy(folder, ".", 2);
    else if (slash == path)
        memcpy(folder, "/", 2);
    else {
        memcpy(folder, path, (size_t)(slash - path));
        folder[slash - path] = '\0';
    }
    int fd = open(folder, O_RDONLY | O_CLOEXEC);
    if (fd >= 0) {
        fsync(fd);
        close(fd);
    }
}

dd_status dd_file_begin(dd_file_writing *f, const char *path)
{
    struct stat st;
    f->fd = -1;
    if (dd_arena_starved()) {
        errno = ENOMEM;
        return DD_NO_MEMORY;
    }
    if (!resolve(path, f->path))
        return DD_CANNOT_WRITE;
    f->replaces = stat(f->path, &st) == 0;
    f->mode = f->replaces ? st.st_mode & 07777 : 0;
    if (f->replaces && S_ISDIR(st.st_mode)) {
        errno = EISDIR;
        return DD_CANNOT_WRITE;
    }
    int n = snprintf(temporary, sizeof temporary, "%s.XXXXXX", f->path);
    if (n < 0 || (size_t)n >= sizeof temporary) {
        errno = ENAMETOOLONG;
        return DD_CANNOT_WRITE;
    }
    /* No signal between the file and the note that it is there. */
    sigset_t all, before;
    sigfillset(&all);
    sigprocmask(SIG_BLOCK, &all, &before);
    f->fd = mkstemp(temporary); /* mode 0600 */
    temporary_exists = f->fd >= 0;
    int why = errno;
    sigprocmask(SIG_SETMASK, &before, NULL);
    errno = why;
    return f->fd < 0 ? DD_CANNOT_WRITE : DD_OK;
}

dd_status dd_file_more(dd_file_writing *f, const char *bytes, size_t length)
{
    while (length) {
        ssize_t n = write(f->fd, bytes, length);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return DD_CANNOT_WRITE;
        bytes += n;
        length -= (size_t)n;
    }
    return DD_OK;
}

ssize_t dd_file_again(dd_file_writing *f, char *bytes, size_t room, size_t at)
{
    size_t used = 0;
    while (used < room) {
        ssize_t n = pread(f->fd, bytes + used, room - used, (off_t)(at + used));
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return -1;
        if (n == 0)
            break;
        used += (size_t)n;
    }
    return (ssize_t)used;
}

void dd_file_drop(dd_file_writing *f)
{
    int why = errno;
    if (f->fd >= 0)
        close(f->fd);
    f->fd = -1;
    dd_file_abandon();
    errno = why;
}

dd_status dd_file_place(dd_file_writing *f, bool keep_mode)
{
    sigset_t all, before;
    if (dd_arena_starved()) { /* what was made meanwhile may lack a word */
        dd_file_drop(f);
        errno = ENOMEM;
        return DD_NO_MEMORY;
    }
    bool good = fsync(f->fd) == 0;
    if (good && f->replaces && keep_mode)
        good = fchmod(f->fd, f->mode) == 0;
    int why = errno, fd = f->fd;
    f->fd = -1;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    if (good) {
        sigfillset(&all);
        sigprocmask(SIG_BLOCK, &all, &before);
        good = rename(temporary, f->path) == 0;
        why = errno;
        if (good)
            temporary_exists = 0;
        sigprocmask(SIG_SETMASK, &before, NULL);
    }
    if (!good) {
        dd_file_abandon();
        errno = why;
        return DD_CANNOT_WRITE;
    }
    sync_folder(f->path);
    return DD_OK;
}

dd_status dd_file_write(const char *path, const char *bytes, size_t length, bool keep_mode)
{
    dd_file_writing f;
    dd_status status = dd_file_begin(&f, path);
    if (status == DD_OK)
        status = dd_file_more(&f, bytes, length);
    if (status == DD_OK)
        return dd_file_place(&f, keep_mode);
    dd_file_drop(&f);
    return status;
}
