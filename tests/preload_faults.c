/*
 * Preloaded into a program under test: counts the calls that change files and makes the
 * n-th one go wrong. Only for tests; nothing else links it.
 *
 * OMO_FAULT_AT=n     the call, from 1; unset or 0: none
 * OMO_FAULT_HOW=...  fail: that one call fails; full: from it on the disk is full, and a
 *                    write stops half way; dead: from it on every call fails; kill: the
 *                    process is killed just before it; half: in the middle of a write, or
 *                    just after any other call; most: three bytes before a write's end
 * OMO_FAULT_LOG=path one line a counted call, "<number> <name> <what on>"; "0 said" for
 * what is written to standard output, which never goes wrong here
 */
/* Both sets of names are defined here; the switch would make one of them the other. */
#undef _FILE_OFFSET_BITS

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

#define REAL(name) (__extension__(__typeof__(&name)) real(#name))

enum kind { TAKES_SPACE, TAKES_NONE, SYNCS };
enum verdict { GO_ON, FAIL, HALF_THEN_FAIL, HALF_THEN_DIE, MOST_THEN_DIE };

static int calls;

static void *real(const char *name)
{
    void *function = dlsym(RTLD_NEXT, name);

    if (function == NULL)
        _exit(99);
    return function;
}

static void die(void)
{
    kill(getpid(), SIGKILL);
    pause();
}

static void note_call(int number, const char *name, const char *on)
{
    const char *path = getenv("OMO_FAULT_LOG");
    char line[PATH_MAX + 64];
    int length, log;

    if (path == NULL)
        return;
    /* Straight to the system, past the counters. */
    log = (int)syscall(SYS_openat, AT_FDCWD, path, O_WRONLY | O_CREAT | O_APPEND, 0600);
    length = snprintf(line, sizeof line, "%d %s %s\n", number, name, on);
    if (log < 0 || syscall(SYS_write, log, line, length) != length)
        _exit(98);
    syscall(SYS_close, log);
}

/* Name of an open file; lent until the next call. */
static const char *name_of(int file)
{
    static char name[PATH_MAX];
    char link_path[64];
    ssize_t length;

    snprintf(link_path, sizeof link_path, "/proc/self/fd/%d", file);
    length = readlink(link_path, name, sizeof name - 1);
    name[length < 0 ? 0 : length] = '\0';
    return name;
}

static enum verdict judge(const char *name, enum kind kind, const char *on)
{
    const char *at = getenv("OMO_FAULT_AT"), *how = getenv("OMO_FAULT_HOW");
    int fault = at == NULL ? 0 : atoi(at);

    calls++;
    note_call(calls, name, on);
    if (fault == 0 || how == NULL || calls < fault)
        return GO_ON;
    if (strcmp(how, "dead") == 0) {
        errno = EIO;
        return FAIL;
    }
    if (strcmp(how, "full") == 0) {
        errno = ENOSPC;
        if (kind != TAKES_SPACE)
            return GO_ON;
        return calls == fault ? HALF_THEN_FAIL : FAIL;
    }
    if (calls > fault)
        return GO_ON;
    if (strcmp(how, "kill") == 0)
        die();
    if (strcmp(how, "half") == 0)
        return HALF_THEN_DIE;
    if (strcmp(how, "most") == 0)
        return MOST_THEN_DIE;
    errno = kind == TAKES_SPACE ? ENOSPC : EIO;
    return FAIL;
}

/* For calls that either happen or not. */
#define WHOLE_CALL(kind, name, on, call)                                                 \
    do {                                                                                 \
        enum verdict verdict = judge(name, kind, on);                                    \
        int result;                                                                      \
                                                                                         \
        if (verdict == FAIL || verdict == HALF_THEN_FAIL)                                \
            return -1;                                                                   \
        result = (call);                                                                 \
        if (verdict != GO_ON)                                                            \
            die();                                                                       \
        return result;                                                                   \
    } while (0)

#define EXPORT __attribute__((visibility("default")))

static size_t part_of(size_t size, enum verdict verdict)
{
    if (verdict == GO_ON)
        return size;
    return verdict == MOST_THEN_DIE && size > 3 ? size - 3 : size / 2;
}

static ssize_t end_write(ssize_t written, enum verdict verdict)
{
    if (verdict == HALF_THEN_DIE || verdict == MOST_THEN_DIE)
        die();
    return written;
}

EXPORT ssize_t write(int file, const void *bytes, size_t size)
{
    enum verdict verdict = GO_ON;

    if (file == STDOUT_FILENO)
        note_call(0, "said", "");
    else
        verdict = judge("write", TAKES_SPACE, name_of(file));
    if (verdict == FAIL)
        return -1;
    return end_write(REAL(write)(file, bytes, part_of(size, verdict)), verdict);
}

static ssize_t write_at(ssize_t (*function)(int, const void *, size_t, off_t), int file,
                        const void *bytes, size_t size, off_t offset)
{
    enum verdict verdict = judge("pwrite", TAKES_SPACE, name_of(file));

    if (verdict == FAIL)
        return -1;
    return end_write(function(file, bytes, part_of(size, verdict), offset), verdict);
}

EXPORT ssize_t pwrite(int file, const void *bytes, size_t size, off_t offset)
{
    return write_at(REAL(pwrite), file, bytes, size, offset);
}

EXPORT ssize_t pwrite64(int file, const void *bytes, size_t size, off64_t offset)
{
    return write_at(REAL(pwrite64), file, bytes, size, offset);
}

EXPORT int fsync(int file)
{
    WHOLE_CALL(SYNCS, "fsync", name_of(file), REAL(fsync)(file));
}

EXPORT int fdatasync(int file)
{
    WHOLE_CALL(SYNCS, "fdatasync", name_of(file), REAL(fdatasync)(file));
}

EXPORT int rename(const char *from, const char *to)
{
    WHOLE_CALL(TAKES_NONE, "rename", to, REAL(rename)(from, to));
}

EXPORT int link(const char *from, const char *to)
{
    WHOLE_CALL(TAKES_SPACE, "link", to, REAL(link)(from, to));
}

EXPORT int unlink(const char *path)
{
    WHOLE_CALL(TAKES_NONE, "unlink", path, REAL(unlink)(path));
}

EXPORT int unlinkat(int folder, const char *path, int flags)
{
    WHOLE_CALL(TAKES_NONE, "unlinkat", path, REAL(unlinkat)(folder, path, flags));
}

EXPORT int mkdir(const char *path, mode_t mode)
{
    WHOLE_CALL(TAKES_SPACE, "mkdir", path, REAL(mkdir)(path, mode));
}

EXPORT int fchmod(int file, mode_t mode)
{
    WHOLE_CALL(TAKES_NONE, "fchmod", name_of(file), REAL(fchmod)(file, mode));
}

EXPORT int ftruncate(int file, off_t size)
{
    WHOLE_CALL(TAKES_NONE, "ftruncate", name_of(file), REAL(ftruncate)(file, size));
}

EXPORT int ftruncate64(int file, off64_t size)
{
    WHOLE_CALL(TAKES_NONE, "ftruncate", name_of(file), REAL(ftruncate64)(file, size));
}

static int counted_open(int (*function)(const char *, int, ...), const char *path,
                        int flags, mode_t mode)
{
    if ((flags & O_CREAT) == 0)
        return function(path, flags, mode);
    WHOLE_CALL(TAKES_SPACE, "open", path, function(path, flags, mode));
}

static mode_t mode_argument(int flags, va_list arguments)
{
    return (flags & O_CREAT) != 0 ? va_arg(arguments, mode_t) : 0;
}

EXPORT int open(const char *path, int flags, ...)
{
    va_list arguments;
    mode_t mode;

    va_start(arguments, flags);
    mode = mode_argument(flags, arguments);
    va_end(arguments);
    return counted_open(REAL(open), path, flags, mode);
}

EXPORT int open64(const char *path, int flags, ...)
{
    va_list arguments;
    mode_t mode;

    va_start(arguments, flags);
    mode = mode_argument(flags, arguments);
    va_end(arguments);
    return counted_open(REAL(open64), path, flags, mode);
}
