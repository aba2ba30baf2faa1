/**
 * The one lock of a record's folder, for sessions.csv and every table beside it.
 *
 * The lock file is empty but while a row is being appended; then it holds the length that
 * the table had before, and the table's name. A killed run leaves it there, and whoever
 * locks next knows that a half line from there on was never announced as saved.
 */
#ifndef RECORD_LOCK_H
#define RECORD_LOCK_H

#include <limits.h>
#include <sys/types.h>

#include "omogon/status.h"

#define RECORD_FILE_MODE  0600
#define RECORD_PATH_BYTES (PATH_MAX + 300) /* a folder, and a file name in it */

struct folder_lock {
    char folder[PATH_MAX];
    int file;  /* descriptor, -1: the folder cannot be written to */
    int error; /* why */
};

/** Never fails: a folder that cannot be written to can still be read. */
void omo_folder_lock_open(struct folder_lock *lock, const char *folder);
void omo_folder_lock_close(struct folder_lock *lock);

/** Waits for the lock and mends what a killed run left; nothing to do where there is no
 *  lock file. On failure (one sentence) nothing is held. */
OMO_MUST_CHECK enum omo_status omo_folder_lock_take(struct folder_lock *lock);
void omo_folder_lock_release(struct folder_lock *lock);

/** While a row is added to `table`, `keep_bytes` long so far. 0 or the errno. */
OMO_MUST_CHECK int omo_folder_lock_mark(const struct folder_lock *lock, const char *table,
                                        off_t keep_bytes);
void omo_folder_lock_clear_mark(const struct folder_lock *lock);

/** Cuts an open table back to its whole lines and says so. 0 or the errno. */
OMO_MUST_CHECK int omo_folder_lock_cut(const char *path, int table, off_t keep_bytes);
/** One sentence: why nothing could be saved in a folder. */
void omo_say_unsaved(const char *folder, int error);

#endif
