/*
 * Preloaded into a program under test: a V4L2 camera that is not there, answering at the
 * kernel's interface, so that everything above it is the real thing. It plays pictures
 * from files in real time. Only for tests; nothing else links it.
 *
 * OMO_PLAY_OFFER=...     what it can do, "FORMAT:WIDTHxHEIGHT:RATE,RATE:FILE;...". FORMAT
 * is MJPG (FILE: JPEGs one after the other), YUYV, NV12 or GREY (raw pictures one after
 * the other) OMO_PLAY_DEVICE=path   where it is (/dev/video0); every other /dev/video* is
 * missing OMO_PLAY_MOVES_TO=path where it is after it was unplugged and came back
 * OMO_PLAY_METADATA=path a second device of the same name without pictures
 * OMO_PLAY_NAME=text     what it calls itself
 * OMO_PLAY_LEAD=n        shows the first picture n times more (OpenCV leaves one out)
 * OMO_PLAY_END=stall     no more pictures at the end of the file; else it begins anew
 * OMO_PLAY_SPEED=x       times real time; 0: a picture whenever one is asked for, none is
 *                        lost; time stamps keep the rate's grid in any case
 * OMO_PLAY_STAMPS=zero   a driver without time stamps
 * OMO_PLAY_RANGE=full    raw samples of 0..255; else 16..235 and 16..240
 * OMO_PLAY_SETTINGS=none no exposure and no white balance to set
 * OMO_PLAY_FAULTS=...    what goes wrong from which picture on,
 * "NAME@PICTURE:ARGUMENT;...": unplug (seconds until it is back), stall (seconds), drop
 *                        (pictures), jitter (microseconds), resize (to OMO_PLAY_OTHER),
 *                        short (bytes left), empty, corrupt, junk
 * OMO_PLAY_STATE=name    how it is found: busy (another program streams), held (it cannot
 *                        be opened for that), denied, missing, no-camera
 * OMO_PLAY_OTHER=file    JPEGs of another size
 * OMO_PLAY_COMMANDS=path file to which faults and states can be added while it runs, one
 *                        "NAME:ARGUMENT" a line; also replug, go (on after a stall), free
 * OMO_PLAY_CONTROLS=path one line a change of exposure or white balance, with all of them
 * OMO_PLAY_LOG=path      one line a picture: number, sequence, time stamp in
 * microseconds, bytes, "shown" or "lost"
 */
/* Both sets of names are defined here; the switch would make one of them the other. */
#undef _FILE_OFFSET_BITS
/* The checked ones are defined, not called. */
#undef _FORTIFY_SOURCE

#include "played_parts.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/timerfd.h>
#include <unistd.h>

#include <linux/videodev2.h>

#define OURS       __attribute__((visibility("default")))
#define REAL(name) (__extension__(__typeof__(&name)) real(#name))

#define FILES_MOST  1024
#define VIDEO_MAJOR 81

static struct {
    enum { NOT_OURS, CAMERA, METADATA } what;
    bool waits;
    int life;
    int number;
} files[FILES_MOST];
/* Recursive: the parts below open and close files of their own. */
static pthread_mutex_t lock = PTHREAD_RECURSIVE_MUTEX_INITIALIZER_NP;

static void *real(const char *name)
{
    void *function = dlsym(RTLD_NEXT, name);

    if (function == NULL)
        _exit(97);
    return function;
}

static void begin(void)
{
    static bool begun;

    if (begun)
        return;
    begun = true;
    played_device_begin();
}

static bool is_video(const char *path)
{
    const char *own = getenv("OMO_PLAY_DEVICE");

    return path != NULL && (strncmp(path, "/dev/video", 10) == 0 ||
                            (own != NULL && strcmp(path, own) == 0));
}

static bool is_ours(int file)
{
    return file >= 0 && file < FILES_MOST && files[file].what != NOT_OURS;
}

static bool is_metadata(const char *path)
{
    const char *metadata = getenv("OMO_PLAY_METADATA");

    return metadata != NULL && strcmp(path, metadata) == 0;
}

/* 0, or why the path cannot be had. */
static int path_error(const char *path)
{
    begin();
    played_stream_look();
    if (is_metadata(path))
        return played_device_state() == PLAYED_STATE_GONE ? ENOENT : 0;
    return strcmp(path, played_device_path()) == 0 ? played_device_open_error() : ENOENT;
}

static int number_of(const char *path)
{
    return atoi(path + strcspn(path, "0123456789"));
}

/* ---- opening and closing ---- */

static int open_video(const char *path, int flags)
{
    int error, file = -1;

    pthread_mutex_lock(&lock);
    error = path_error(path);
    if (error == 0)
        file =
            timerfd_create(CLOCK_MONOTONIC,
                           TFD_NONBLOCK | ((flags & O_CLOEXEC) != 0 ? TFD_CLOEXEC : 0));
    if (file >= FILES_MOST) {
        (void)REAL(close)(file);
        file = -1;
        error = EMFILE;
    }
    if (file >= 0) {
        files[file].waits = (flags & O_NONBLOCK) == 0;
        files[file].life = played_device_life();
        files[file].number = number_of(path);
        files[file].what = is_metadata(path) ? METADATA : CAMERA;
    }
    pthread_mutex_unlock(&lock);
    if (file < 0 && error != 0)
        errno = error;
    return file;
}

static mode_t mode_of(int flags, va_list arguments)
{
    return (flags & (O_CREAT | __O_TMPFILE)) != 0 ? va_arg(arguments, mode_t) : 0;
}

#define OPENS(name)                                                                      \
    OURS int name(const char *path, int flags, ...)                                      \
    {                                                                                    \
        va_list arguments;                                                               \
        mode_t mode;                                                                     \
                                                                                         \
        va_start(arguments, flags);                                                      \
        mode = mode_of(flags, arguments);                                                \
        va_end(arguments);                                                               \
        return is_video(path) ? open_video(path, flags) : REAL(name)(path, flags, mode); \
    }
OPENS(open)
OPENS(open64)

#define OPENS_AT(name)                                                                   \
    OURS int name(int folder, const char *path, int flags, ...)                          \
    {                                                                                    \
        va_list arguments;                                                               \
        mode_t mode;                                                                     \
                                                                                         \
        va_start(arguments, flags);                                                      \
        mode = mode_of(flags, arguments);                                                \
        va_end(arguments);                                                               \
        return is_video(path) ? open_video(path, flags)                                  \
                              : REAL(name)(folder, path, flags, mode);                   \
    }
OPENS_AT(openat)
OPENS_AT(openat64)

OURS int __open_2(const char *path, int flags);
OURS int __open_2(const char *path, int flags)
{
    return is_video(path) ? open_video(path, flags) : REAL(__open_2)(path, flags);
}

OURS int __open64_2(const char *path, int flags);
OURS int __open64_2(const char *path, int flags)
{
    return is_video(path) ? open_video(path, flags) : REAL(__open64_2)(path, flags);
}

OURS int close(int file)
{
    if (is_ours(file)) {
        pthread_mutex_lock(&lock);
        played_stream_closed(file);
        files[file].what = NOT_OURS;
        pthread_mutex_unlock(&lock);
    }
    return REAL(close)(file);
}

/* ---- asking ---- */

static int ask_metadata(unsigned long request, struct v4l2_capability *capability)
{
    if (request != VIDIOC_QUERYCAP)
        return -ENOTTY;
    (void)played_device_ask(-1, false, request, capability);
    capability->device_caps = V4L2_CAP_META_CAPTURE | V4L2_CAP_STREAMING;
    return 0;
}

OURS int ioctl(int file, unsigned long request, ...)
{
    va_list arguments;
    void *argument;
    int result;

    va_start(arguments, request);
    argument = va_arg(arguments, void *);
    va_end(arguments);
    if (!is_ours(file))
        return REAL(ioctl)(file, request, argument);
    /* Callers pass the code as int or as unsigned long. */
    request &= 0xffffffffu;
    pthread_mutex_lock(&lock);
    played_stream_look();
    if (files[file].life != played_device_life())
        result = -ENODEV;
    else if (files[file].what == METADATA)
        result = ask_metadata(request, argument);
    else
        result = played_device_ask(file, files[file].waits, request, argument);
    pthread_mutex_unlock(&lock);
    if (result < 0)
        errno = -result;
    return result < 0 ? -1 : result;
}

OURS ssize_t read(int file, void *bytes, size_t size)
{
    if (is_ours(file)) {
        errno = EINVAL; /* it streams only */
        return -1;
    }
    return REAL(read)(file, bytes, size);
}

static int behind(int file)
{
    int memory = file;

    if (is_ours(file)) {
        pthread_mutex_lock(&lock);
        memory = played_stream_memory();
        pthread_mutex_unlock(&lock);
    }
    return memory;
}

OURS void *mmap(void *at, size_t size, int protection, int flags, int file, off_t offset)
{
    return REAL(mmap)(at, size, protection, flags, behind(file), offset);
}

OURS void *mmap64(void *at, size_t size, int protection, int flags, int file,
                  off64_t offset)
{
    return REAL(mmap64)(at, size, protection, flags, behind(file), offset);
}

/* ---- looking ---- */

static bool may_be_seen(const char *path)
{
    int error;

    pthread_mutex_lock(&lock);
    error = path_error(path);
    pthread_mutex_unlock(&lock);
    if (error == ENOENT)
        errno = error;
    return error != ENOENT;
}

/* A character device, and which. */
#define DESCRIBE(about, device_number)                                                   \
    (memset(about, 0, sizeof *(about)), (about)->st_mode = S_IFCHR | 0660,               \
     (about)->st_rdev = makedev(VIDEO_MAJOR, (unsigned)(device_number)), 0)

#define LOOKS(name, about_type)                                                          \
    OURS int name(const char *restrict path, struct about_type *restrict about)          \
    {                                                                                    \
        if (!is_video(path))                                                             \
            return REAL(name)(path, about);                                              \
        return may_be_seen(path) ? DESCRIBE(about, number_of(path)) : -1;                \
    }
LOOKS(stat, stat)
LOOKS(stat64, stat64)
LOOKS(lstat, stat)
LOOKS(lstat64, stat64)

#define LOOKS_AT_FILE(name, about_type)                                                  \
    OURS int name(int file, struct about_type *about)                                    \
    {                                                                                    \
        return is_ours(file) ? DESCRIBE(about, files[file].number)                       \
                             : REAL(name)(file, about);                                  \
    }
LOOKS_AT_FILE(fstat, stat)
LOOKS_AT_FILE(fstat64, stat64)

OURS int access(const char *path, int mode)
{
    int error;

    if (!is_video(path))
        return REAL(access)(path, mode);
    pthread_mutex_lock(&lock);
    error = path_error(path);
    pthread_mutex_unlock(&lock);
    if (error == ENOENT || (error == EACCES && mode != F_OK)) {
        errno = error;
        return -1;
    }
    return 0;
}
