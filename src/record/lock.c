#include "record/lock.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/file.h>
#include <time.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/clock.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "record/columns.h"
#include "record/journal.h"

#define LOCK_FILE     ".sessions.lock"
#define LOCK_WAIT_S   20
#define LOCK_PAUSE_NS 1000000

void omo_say_unsaved(const char *folder, int error)
{
    omo_error("nothing was saved in %s: %s%s", folder, g_strerror(error),
              omo_errno_remedy(error));
}

/* ---- the mark ------------------------------------------------------------------ */

/* The form of the table that a killed run was adding to, NULL: none. */
static const struct row_form *read_mark(const struct folder_lock *lock, off_t *keep_bytes)
{
    char text[64];
    ssize_t length = pread(lock->file, text, sizeof text - 1, 0);
    long long value;
    char *name;

    /* Only with its line end is the mark itself whole. */
    if (length < 2 || text[length - 1] != '\n')
        return NULL;
    text[length - 1] = '\0';
    name = strchr(text, ' ');
    if (name == NULL)
        return NULL;
    *name++ = '\0';
    if (!omo_integer_parse(text, &value) || value < 0)
        return NULL;
    *keep_bytes = (off_t)value;
    return omo_form_of_file(name);
}

void omo_folder_lock_clear_mark(const struct folder_lock *lock)
{
    /* Should this fail, the next one to lock finds whole lines only and tries again. */
    if (lseek(lock->file, 0, SEEK_END) > 0 && ftruncate(lock->file, 0) != 0)
        return;
}

int omo_folder_lock_mark(const struct folder_lock *lock, const char *table,
                         off_t keep_bytes)
{
    char text[64];
    int length = snprintf(text, sizeof text, "%lld %s\n", (long long)keep_bytes, table);
    ssize_t written = pwrite(lock->file, text, (size_t)length, 0);
    int error = written == length ? 0 : written < 0 ? errno : ENOSPC;

    if (error != 0)
        omo_folder_lock_clear_mark(lock);
    return error;
}

/* ---- mending ------------------------------------------------------------------- */

/* The length to cut the table to, or -1 when it ends with a whole line. */
static off_t half_line_start(int table, off_t mark)
{
    off_t size = lseek(table, 0, SEEK_END);
    off_t at = size;
    char last = '\n';

    if (size <= mark)
        return -1;
    while (at > mark && pread(table, &last, 1, at - 1) == 1 && last != '\n')
        at--;
    return at < size ? at : -1;
}

int omo_folder_lock_cut(const char *path, int table, off_t keep_bytes)
{
    if (ftruncate(table, keep_bytes) != 0)
        return errno;
    omo_warning(
        "the last line of %s was cut short by an interrupted run and is taken out", path);
    return 0;
}

static int mend_table(const struct folder_lock *lock, const char *file, off_t mark)
{
    char path[RECORD_PATH_BYTES];
    int table, error = 0;
    off_t keep;

    snprintf(path, sizeof path, "%s/%s", lock->folder, file);
    table = open(path, O_RDWR | O_CLOEXEC);
    if (table < 0)
        return errno == ENOENT ? 0 : errno;
    keep = half_line_start(table, mark);
    if (keep >= 0)
        error = omo_folder_lock_cut(path, table, keep);
    /* A row that was written whole but not yet synced counts from now on. */
    if (error == 0 && fsync(table) != 0)
        error = errno;
    close(table);
    return error;
}

/* ---- the lock ------------------------------------------------------------------ */

static int wait_for_lock(const struct folder_lock *lock)
{
    const struct timespec pause = {.tv_nsec = LOCK_PAUSE_NS};
    int64_t start_ns = omo_clock_ns();

    while (flock(lock->file, LOCK_EX | LOCK_NB) != 0) {
        if (errno != EWOULDBLOCK && errno != EINTR)
            return errno;
        nanosleep(&pause, NULL);
        if (omo_clock_ns() - start_ns >= (int64_t)LOCK_WAIT_S * 1000000000)
            return EWOULDBLOCK;
    }
    return 0;
}

enum omo_status omo_folder_lock_take(struct folder_lock *lock)
{
    const struct row_form *form;
    off_t mark = 0;
    int error;

    if (lock->file < 0)
        return OMO_OK;
    error = wait_for_lock(lock);
    if (error == EWOULDBLOCK) {
        omo_error(
            "another program has been writing in %s for %d seconds; end it, then run "
            "this again",
            lock->folder, LOCK_WAIT_S);
        return OMO_ERR_BUSY;
    }
    if (error != 0) {
        omo_error("%s cannot be locked: %s", lock->folder, g_strerror(error));
        return OMO_ERR_IO;
    }
    form = read_mark(lock, &mark);
    if (form != NULL)
        error = mend_table(lock, form->file, mark);
    if (error != 0) {
        flock(lock->file, LOCK_UN);
        omo_error("what an interrupted run left in %s cannot be mended: %s%s",
                  lock->folder, g_strerror(error), omo_errno_remedy(error));
        return OMO_ERR_IO;
    }
    omo_folder_lock_clear_mark(lock);
    enum omo_status status = omo_journal_resume(lock);
    if (status != OMO_OK)
        flock(lock->file, LOCK_UN);
    return status;
}

void omo_folder_lock_release(struct folder_lock *lock)
{
    if (lock->file >= 0)
        flock(lock->file, LOCK_UN);
}

void omo_folder_lock_open(struct folder_lock *lock, const char *folder)
{
    char path[RECORD_PATH_BYTES];

    omo_text_copy(lock->folder, sizeof lock->folder, folder);
    snprintf(path, sizeof path, "%s/" LOCK_FILE, folder);
    lock->file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, RECORD_FILE_MODE);
    lock->error = lock->file < 0 ? errno : 0;
}

void omo_folder_lock_close(struct folder_lock *lock)
{
    if (lock->file >= 0)
        close(lock->file);
}
