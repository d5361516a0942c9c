#include "append.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define MOST_PAUSE 8000000L /* nanoseconds between two looks at a lock that somebody has */

void dd_append_close(dd_append *a)
{
    if (a->fd >= 0)
        close(a->fd);
    a->fd = -1;
}

/* Whether the path still leads to the file that is open: an editor that saves puts another one in its place. */
static bool in_place(const dd_append *a, const char *path)
{
    struct stat st;
    return stat(path, &st) == 0 && (uint64_t)st.st_dev == a->device && (uint64_t)st.st_ino == a->inode;
}

/* flock, not fcntl: a lock of fcntl would be lost as soon as this program closed any other descriptor of the same file, and it
 * is read through another one. Waits by looking again, because nothing else ends after a given time. */
static dd_append_end lock(int fd)
{
    long pause = 500000;
    for (struct timespec waited = {0, 0}; flock(fd, LOCK_EX | LOCK_NB) != 0;) {
        if (errno == EINTR)
            continue;
        if (errno != EWOULDBLOCK)
            return DD_APPEND_REFUSED;
        if (waited.tv_sec >= DD_APPEND_WAIT)
            return DD_APPEND_BUSY;
        const struct timespec wait = {0, pause};
        nanosleep(&wait, NULL);
        waited.tv_nsec += pause;
        if (waited.tv_nsec >= 1000000000L) {
            waited.tv_sec++;
            waited.tv_nsec -= 1000000000L;
        }
        pause = pause < MOST_PAUSE ? pause * 2 : MOST_PAUSE;
    }
    return DD_APPEND_DONE;
}

static dd_append_end open_once(dd_append *a, const char *path)
{
    struct stat st;
    /* Without O_NONBLOCK a named pipe would keep us waiting. */
    a->fd = open(path, O_RDWR | O_APPEND | O_CLOEXEC | O_NONBLOCK);
    if (a->fd < 0)
        return errno == ENOENT || errno == ENOTDIR ? DD_APPEND_ABSENT : DD_APPEND_REFUSED;
    dd_append_end end = lock(a->fd);
    if (end != DD_APPEND_DONE)
        return end;
    if (fstat(a->fd, &st) != 0)
        return DD_APPEND_REFUSED;
    if (!S_ISREG(st.st_mode)) {
        errno = EINVAL;
        return DD_APPEND_REFUSED;
    }
    a->length = (uint64_t)st.st_size;
    a->device = (uint64_t)st.st_dev;
    a->inode = (uint64_t)st.st_ino;
    return in_place(a, path) ? DD_APPEND_DONE : DD_APPEND_AGAIN;
}

dd_append_end dd_append_open(dd_append *a, const char *path)
{
    dd_append_end end = DD_APPEND_AGAIN;
    for (int tries = 0; end == DD_APPEND_AGAIN && tries < 100; tries++) {
        *a = (dd_append){.fd = -1};
        end = open_once(a, path);
        int why = errno;
        if (end != DD_APPEND_DONE)
            dd_append_close(a);
        errno = why;
    }
    return end == DD_APPEND_AGAIN ? DD_APPEND_BUSY : end;
}

/* One write takes it all unless the disk is full. False: errno. */
static bool write_all(int fd, const char *bytes, size_t length)
{
    while (length) {
        ssize_t n = write(fd, bytes, length);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return false;
        bytes += n;
        length -= (size_t)n;
    }
    return fsync(fd) == 0;
}

dd_append_end dd_append_add(dd_append *a, const char *path, const char *bytes, size_t length)
{
    sigset_t all, before;
    if (!in_place(a, path))
        return DD_APPEND_AGAIN;
    /* No signal ends the program between the write and the word that it was written. */
    sigfillset(&all);
    sigprocmask(SIG_BLOCK, &all, &before);
    dd_append_end end = DD_APPEND_DONE;
    if (!write_all(a->fd, bytes, length)) {
        int why = errno;
        end = ftruncate(a->fd, (off_t)a->length) == 0 ? DD_APPEND_REFUSED : DD_APPEND_TORN;
        errno = why;
    } else if (!in_place(a, path)) {
        end = DD_APPEND_REPLACED;
    } else {
        a->length += length;
    }
    int why = errno;
    sigprocmask(SIG_SETMASK, &before, NULL);
    errno = why;
    return end;
}

/* A file made with its content, for file systems that have no links: its beginning may be seen for a moment. */
static dd_append_end create_open(const char *path, mode_t mode, const char *bytes, size_t length)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0600);
    if (fd < 0)
        return errno == EEXIST ? DD_APPEND_AGAIN : DD_APPEND_REFUSED;
    bool good = lock(fd) == DD_APPEND_DONE && write_all(fd, bytes, length) && fchmod(fd, mode) == 0;
    int why = errno;
    if (!good)
        unlink(path);
    close(fd);
    errno = why;
    return good ? DD_APPEND_DONE : DD_APPEND_REFUSED;
}

/* A new name lasts only when its folder is synced too. Some file systems cannot: that is no failure of the write. */
static void sync_folder(char *path)
{
    char *slash = NULL;
    for (char *p = path; *p; p++)
        if (*p == '/')
            slash = p;
    if (slash)
        slash[slash == path] = '\0';
    int fd = open(slash ? path : ".", O_RDONLY | O_CLOEXEC);
    if (fd >= 0) {
        fsync(fd);
        close(fd);
    }
}

dd_append_end dd_append_create(const char *path, const char *like, const char *bytes, size_t length)
{
    char beside[PATH_MAX];
    struct stat st;
    sigset_t all, before;
    mode_t mode = stat(like, &st) == 0 ? (st.st_mode & 0666) | 0600 : 0600;
    int n = snprintf(beside, sizeof beside, "%s.XXXXXX", path);
    if (n < 0 || (size_t)n >= sizeof beside) {
        errno = ENAMETOOLONG;
        return DD_APPEND_REFUSED;
    }
    /* No signal leaves the file beside behind. */
    sigfillset(&all);
    sigprocmask(SIG_BLOCK, &all, &before);
    dd_append_end end = DD_APPEND_REFUSED;
    int fd = mkstemp(beside), why = errno;
    if (fd >= 0) {
        bool good = write_all(fd, bytes, length) && fchmod(fd, mode) == 0;
        why = errno;
        close(fd);
        bool linked = good && link(beside, path) == 0;
        if (good && !linked)
            why = errno;
        unlink(beside);
        if (linked)
            end = DD_APPEND_DONE;
        else if (good && why == EEXIST)
            end = DD_APPEND_AGAIN;
        else if (good && (why == EPERM || why == ENOSYS || why == EOPNOTSUPP || why == EMLINK)) {
            end = create_open(path, mode, bytes, length);
            why = errno;
        }
        if (end == DD_APPEND_DONE)
            sync_folder(beside);
    }
    sigprocmask(SIG_SETMASK, &before, NULL);
    errno = why;
    return end;
}
