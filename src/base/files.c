#include "omogon/files.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/text.h"

/* Hidden files in the making are called ".<name>.<process>-<number>.omogon-tmp". */
#define PART_SUFFIX ".omogon-tmp"
#define PART_TRIES  1000

int omo_write_all(int descriptor, const void *bytes, size_t size)
{
    const char *next = bytes;

    while (size > 0) {
        ssize_t written = write(descriptor, next, size);

        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return errno;
        if (written == 0)
            return ENOSPC;
        next += written;
        size -= (size_t)written;
    }
    return 0;
}

const char *omo_errno_remedy(int error)
{
    switch (error) {
    case ENOSPC:
    case EDQUOT:
        return "; free some space, then run it again";
    case EACCES:
    case EPERM:
    case EROFS:
        return "; choose a folder that can be written to";
    default:
        return "";
    }
}

int omo_folder_sync(const char *folder)
{
    int descriptor = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int error = 0;

    if (descriptor < 0)
        return errno;
    /* Some network and FAT file systems cannot sync a folder and say so with EINVAL. */
    if (fsync(descriptor) != 0 && errno != EINVAL && errno != ENOTSUP)
        error = errno;
    close(descriptor);
    return error;
}

static void folder_of(const char *path, char *folder, size_t size)
{
    char *name = g_path_get_dirname(path);

    omo_text_copy(folder, size, name);
    g_free(name);
}

/* ---- atomic files ---------------------------------------------------------------- */

struct omo_atomic_file {
    int descriptor;
    char path[PATH_MAX], part[PATH_MAX], folder[PATH_MAX];
};

static enum omo_status cannot_write(const char *folder, int error)
{
    /* The folder only: a file's name may hold a person's code. */
    omo_error("nothing was saved in %s: %s%s", folder, g_strerror(error),
              omo_errno_remedy(error));
    return OMO_ERR_IO;
}

/* Holds a lock while it is in the making, so that a sweep can tell it from a leftover. A
   sweep may have caught it between opening and locking; then it is gone and the next name
   is tried. */
static int open_part(const char *part, unsigned mode)
{
    int descriptor = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    struct stat info;

    if (descriptor < 0)
        return -1;
    if (flock(descriptor, LOCK_EX) == 0 && fstat(descriptor, &info) == 0 &&
        info.st_nlink == 0) {
        close(descriptor);
        errno = EEXIST;
        return -1;
    }
    if (fchmod(descriptor, (mode_t)mode) != 0) {
        int error = errno;

        unlink(part);
        close(descriptor);
        errno = error;
        return -1;
    }
    return descriptor;
}

static int open_some_part(struct omo_atomic_file *file, unsigned mode)
{
    char *name = g_path_get_basename(file->path);
    int error = EEXIST;

    for (int i = 0; i < PART_TRIES && error == EEXIST; i++) {
        int length = snprintf(file->part, sizeof file->part, "%s/.%s.%ld-%d" PART_SUFFIX,
                              file->folder, name, (long)getpid(), i);

        if (length < 0 || (size_t)length >= sizeof file->part) {
            error = ENAMETOOLONG;
            break;
        }
        file->descriptor = open_part(file->part, mode);
        error = file->descriptor < 0 ? errno : 0;
    }
    g_free(name);
    return error;
}

enum omo_status omo_atomic_begin(const char *path, unsigned mode,
                                 struct omo_atomic_file **out)
{
    struct omo_atomic_file *file = malloc(sizeof *file);
    int error;

    if (file == NULL)
        return OMO_ERR_MEMORY;
    omo_text_copy(file->path, sizeof file->path, path);
    folder_of(path, file->folder, sizeof file->folder);
    error = strlen(path) >= PATH_MAX ? ENAMETOOLONG : open_some_part(file, mode);
    if (error != 0) {
        enum omo_status status = cannot_write(file->folder, error);

        free(file);
        return status;
    }
    *out = file;
    return OMO_OK;
}

enum omo_status omo_atomic_add(struct omo_atomic_file *file, const void *bytes,
                               size_t size)
{
    int error = omo_write_all(file->descriptor, bytes, size);

    if (error == 0)
        return OMO_OK;
    cannot_write(file->folder, error);
    omo_atomic_abort(file);
    return OMO_ERR_IO;
}

enum omo_status omo_atomic_commit(struct omo_atomic_file *file)
{
    int error = 0;

    if (fsync(file->descriptor) != 0 || rename(file->part, file->path) != 0) {
        cannot_write(file->folder, errno);
        omo_atomic_abort(file);
        return OMO_ERR_IO;
    }
    error = omo_folder_sync(file->folder);
    close(file->descriptor);
    if (error != 0)
        omo_error("a file in %s is written but may not outlast a power cut: %s",
                  file->folder, g_strerror(error));
    free(file);
    return error != 0 ? OMO_ERR_IO : OMO_OK;
}

void omo_atomic_abort(struct omo_atomic_file *file)
{
    if (file == NULL)
        return;
    unlink(file->part);
    close(file->descriptor);
    free(file);
}

enum omo_status omo_file_write_atomic(const char *path, const void *bytes, size_t size,
                                      unsigned mode)
{
    struct omo_atomic_file *file;
    enum omo_status status = omo_atomic_begin(path, mode, &file);

    if (status == OMO_OK)
        status = omo_atomic_add(file, bytes, size);
    return status == OMO_OK ? omo_atomic_commit(file) : status;
}

static void remove_if_left(int folder, const char *name)
{
    int descriptor = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);

    if (descriptor < 0)
        return;
    if (flock(descriptor, LOCK_EX | LOCK_NB) == 0)
        unlinkat(folder, name, 0);
    close(descriptor);
}

void omo_atomic_sweep(const char *folder)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry;

    if (entries == NULL)
        return;
    while ((entry = readdir(entries)) != NULL)
        if (entry->d_name[0] == '.' && g_str_has_suffix(entry->d_name, PART_SUFFIX))
            remove_if_left(dirfd(entries), entry->d_name);
    closedir(entries);
}

/* ---- folders and reading --------------------------------------------------------- */

static int make_one(const char *path)
{
    char parent[PATH_MAX];

    if (mkdir(path, 0700) != 0)
        return errno;
    folder_of(path, parent, sizeof parent);
    return omo_folder_sync(parent);
}

/* 0 or the errno of the first folder that could not be made. */
static int make_all(char *path)
{
    for (char *slash = path + 1; *slash != '\0'; slash++) {
        struct stat info;
        int error = 0;

        if (*slash != '/')
            continue;
        *slash = '\0';
        if (stat(path, &info) != 0)
            error = make_one(path);
        *slash = '/';
        if (error != 0 && error != EEXIST)
            return error;
    }
    return make_one(path);
}

enum omo_status omo_folder_make(const char *path)
{
    char copy[PATH_MAX];
    struct stat info;
    int error;

    if (path[0] == '\0' || strlen(path) >= sizeof copy) {
        omo_error("the name of the folder is empty or too long; give a shorter one");
        return OMO_ERR_ARG;
    }
    if (stat(path, &info) != 0) {
        omo_text_copy(copy, sizeof copy, path);
        error = make_all(copy);
        if (error != 0 && error != EEXIST) {
            omo_error("the folder %s cannot be made: %s%s", path, g_strerror(error),
                      omo_errno_remedy(error));
            return OMO_ERR_IO;
        }
        if (stat(path, &info) != 0)
            info.st_mode = 0;
    }
    if (!S_ISDIR(info.st_mode)) {
        omo_error("%s is not a folder; name a folder for the results", path);
        return OMO_ERR_OPEN;
    }
    return OMO_OK;
}

/* Reads to the end or to one byte over the limit. 0 or the errno. */
static int read_all(int descriptor, size_t limit, char **bytes, size_t *size)
{
    size_t room = 0, used = 0;
    char *text = NULL;

    for (;;) {
        ssize_t got;

        if (used + 1 >= room) {
            char *grown = realloc(text, room = room < 4096 ? 8192 : room * 2);

            if (grown == NULL) {
                free(text);
                return ENOMEM;
            }
            text = grown;
        }
        got = read(descriptor, text + used, room - used - 1);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            int error = errno;

            free(text);
            return error;
        }
        used += (size_t)got;
        if (got == 0 || used > limit)
            break;
    }
    text[used] = '\0';
    *bytes = text;
    *size = used;
    return 0;
}

enum omo_status omo_file_read(const char *path, size_t limit, char **bytes, size_t *size)
{
    int descriptor = open(path, O_RDONLY | O_CLOEXEC);
    char *text = NULL;
    size_t used = 0;
    int error;

    if (descriptor < 0)
        return OMO_ERR_OPEN;
    error = read_all(descriptor, limit, &text, &used);
    close(descriptor);
    if (error != 0) {
        omo_error("%s cannot be read: %s", path, g_strerror(error));
        return OMO_ERR_IO;
    }
    if (used > limit) {
        free(text);
        omo_error("%s is too large to be what it should be", path);
        return OMO_ERR_FORMAT;
    }
    *bytes = text;
    *size = used;
    return OMO_OK;
}

void omo_folder_remove(const char *path)
{
    GDir *folder = g_dir_open(path, 0, NULL);
    const char *name;
    while (folder && (name = g_dir_read_name(folder)) != NULL) {
        char *inside = g_build_filename(path, name, NULL);
        struct stat about;
        if (lstat(inside, &about) == 0 && S_ISDIR(about.st_mode))
            omo_folder_remove(inside);
        else
            unlink(inside);
        g_free(inside);
    }
    if (folder)
        g_dir_close(folder);
    rmdir(path);
}
