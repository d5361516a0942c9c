/* failing.c - loaded before the command (LD_PRELOAD): makes one call fail, or the program die at it. Never part of what is built to be used.
 *
 *   DAYDRIP_FAIL       what happens at the call with the number DAYDRIP_FAIL_AT, counted from 1:
 *                      disk      it fails: EIO, or ENOSPC for what writes; a write gives half of its bytes first
 *                      kill      the program is killed there; a write gives half of its bytes first
 *                      TERM INT  the program gets that signal there, and goes on if it will; of these three, calls that read do not count
 *                      memory    an allocation of the program's own fails; memory-on: that one and all that follow
 *                      clock     nothing fails, but each look at the clock finds it three seconds later
 *   DAYDRIP_FAIL_LOG   gets one line, `write /a/b.csv`, when it has happened
 *
 * Disk calls are the program's own and those of the libraries that it uses. Allocations are those that the program itself makes: GLib and libical
 * end the program when they get no memory. */
#define _GNU_SOURCE 1
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

static enum { NOTHING, DISK, KILL, TERM, INT, MEMORY, MEMORY_ON, CLOCK } what;
static long at, calls;
static int full = -1; /* of a full disk: nothing more goes into this descriptor */
static uintptr_t program_from, program_to;

static int find_program(struct dl_phdr_info *info, size_t size, void *data)
{
    (void)size, (void)data;
    for (int i = 0; i < info->dlpi_phnum; i++)
        if (info->dlpi_phdr[i].p_type == PT_LOAD) {
            uintptr_t from = info->dlpi_addr + info->dlpi_phdr[i].p_vaddr, to = from + info->dlpi_phdr[i].p_memsz;
            program_from = program_from && program_from < from ? program_from : from;
            program_to = to > program_to ? to : program_to;
        }
    return 1; /* the program is the first */
}

__attribute__((constructor)) static void begin(void)
{
    static const char *const names[] = {"", "disk", "kill", "TERM", "INT", "memory", "memory-on", "clock"};
    const char *wanted = getenv("DAYDRIP_FAIL"), *number = getenv("DAYDRIP_FAIL_AT");
    dl_iterate_phdr(find_program, NULL);
    at = number ? atol(number) : 0;
    for (size_t i = 1; wanted && i < sizeof names / sizeof *names; i++)
        if (strcmp(names[i], wanted) == 0)
            what = (unsigned)i;
}

static void note(const char *call, const char *path)
{
    const char *log = getenv("DAYDRIP_FAIL_LOG");
    char line[4400];
    int fd = log ? (int)syscall(SYS_openat, AT_FDCWD, log, O_WRONLY | O_CREAT | O_APPEND, 0600) : -1;
    int n = snprintf(line, sizeof line, "%s %s\n", call, path);
    if (fd < 0 || n < 0 || syscall(SYS_write, fd, line, (size_t)n) != n)
        _exit(99); /* a test that cannot say what it did is no test */
    syscall(SYS_close, fd);
}

/* Whether this disk call is the one that fails; errno is set. Those that kill do not come back. */
static int hit(const char *call, const char *path, int why)
{
    static const char *const reads[] = {"open", "opendir", "readdir", "read", "close", "fstat", "flock"};
    for (size_t i = 0; what != DISK && i < sizeof reads / sizeof *reads; i++)
        if (strcmp(call, reads[i]) == 0)
            return 0;
    if (what == NOTHING || what >= MEMORY || ++calls != at)
        return 0;
    note(call, path);
    errno = why;
    if (what == KILL)
        kill(getpid(), SIGKILL);
    if (what == TERM || what == INT)
        kill(getpid(), what == TERM ? SIGTERM : SIGINT);
    return what == DISK;
}

static const char *path_of(int fd)
{
    static char path[4200];
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    long n = syscall(SYS_readlinkat, AT_FDCWD, link, path, sizeof path - 1);
    path[n > 0 ? n : 0] = '\0';
    return path;
}

#define NEXT(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))
#define PATH_CALL(name, why, parameters, arguments, path) \
    int name parameters                                   \
    {                                                     \
        if (hit(#name, path, why))                        \
            return -1;                                    \
        return NEXT(name) arguments;                      \
    }
#define FD_CALL(name, why, parameters, arguments, fd)     \
    int name parameters                                   \
    {                                                     \
        if (hit(#name, path_of(fd), why))                 \
            return -1;                                    \
        return NEXT(name) arguments;                      \
    }

PATH_CALL(mkdir, ENOSPC, (const char *path, mode_t mode), (path, mode), path)
PATH_CALL(unlink, EIO, (const char *path), (path), path)
PATH_CALL(rmdir, EIO, (const char *path), (path), path)
PATH_CALL(rename, EIO, (const char *from, const char *to), (from, to), to)
PATH_CALL(link, EIO, (const char *from, const char *to), (from, to), to)
PATH_CALL(mkstemp, ENOSPC, (char *path), (path), path)
FD_CALL(fsync, EIO, (int fd), (fd), fd)
FD_CALL(ftruncate, EIO, (int fd, off_t length), (fd, length), fd)
FD_CALL(fchmod, EIO, (int fd, mode_t mode), (fd, mode), fd)
FD_CALL(flock, ENOLCK, (int fd, int how), (fd, how), fd)
FD_CALL(fstat, EIO, (int fd, struct stat *st), (fd, st), fd)

#define OPEN_CALL(name)                                               \
    int name(const char *path, int flags, ...)                        \
    {                                                                 \
        va_list args;                                                 \
        va_start(args, flags);                                        \
        mode_t mode = flags & O_CREAT ? va_arg(args, mode_t) : 0;     \
        va_end(args);                                                 \
        if (hit("open", path, flags & O_CREAT ? ENOSPC : EIO))        \
            return -1;                                                \
        return NEXT(name)(path, flags, mode);                         \
    }
OPEN_CALL(open)
OPEN_CALL(open64)

DIR *opendir(const char *path)
{
    return hit("opendir", path, EIO) ? NULL : NEXT(opendir)(path);
}

struct dirent *readdir(DIR *folder)
{
    return hit("readdir", path_of(dirfd(folder)), EIO) ? NULL : NEXT(readdir)(folder);
}

int close(int fd)
{
    if (hit("close", path_of(fd), EIO)) {
        syscall(SYS_close, fd); /* as Linux does: it is closed all the same */
        return -1;
    }
    return NEXT(close)(fd);
}

ssize_t read(int fd, void *bytes, size_t count)
{
    return hit("read", path_of(fd), EIO) ? -1 : NEXT(read)(fd, bytes, count);
}

ssize_t write(int fd, const void *bytes, size_t count)
{
    if (what != NOTHING && what < MEMORY && calls + 1 == at && count > 1 && (what == DISK || what == KILL)) {
        full = fd;
        count = (size_t)syscall(SYS_write, fd, bytes, count / 2);
        return hit("write", path_of(fd), ENOSPC) ? (ssize_t)count : -1;
    }
    if (fd == full && what == DISK) {
        errno = ENOSPC;
        return -1;
    }
    return hit("write", path_of(fd), ENOSPC) ? -1 : NEXT(write)(fd, bytes, count);
}

int clock_gettime(clockid_t clock, struct timespec *time)
{
    static long looks;
    int end = NEXT(clock_gettime)(clock, time);
    if (what == CLOCK && clock == CLOCK_MONOTONIC)
        time->tv_sec += 3 * ++looks;
    return end;
}

void *realloc(void *old, size_t size)
{
    uintptr_t from = (uintptr_t)__builtin_return_address(0);
    if ((what == MEMORY || what == MEMORY_ON) && size && from >= program_from && from < program_to) {
        long n = __atomic_add_fetch(&calls, 1, __ATOMIC_RELAXED);
        if (n == at)
            note("realloc", "");
        if (n == at || (n > at && what == MEMORY_ON)) {
            errno = ENOMEM;
            return NULL;
        }
    }
    return NEXT(realloc)(old, size);
}
