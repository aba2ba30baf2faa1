/**
 * One CSV table of a record's folder, to which rows are only added: sessions.csv and
 * every other one. Under the folder's lock, on disk before it counts; a half line that a
 * killed run left is cut off; a table that is damaged or another version's is left alone.
 */
#ifndef RECORD_LEDGER_H
#define RECORD_LEDGER_H

#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>
#include <time.h>

#include "record/columns.h"
#include "record/lock.h"

struct ledger {
    const struct row_form *form;
    pthread_mutex_t threads; /* guards all below and goes with the lock file's lock */
    struct folder_lock lock;
    char path[RECORD_PATH_BYTES];
    char *rows; /* of the form's struct */
    size_t count, room;
    /* What the rows in memory were read from; nothing is read again while it stands. */
    bool read_once;
    struct ledger_stamp {
        bool there;
        dev_t device;
        ino_t inode;
        off_t size;
        struct timespec changed;
    } stamp;
    off_t keep_bytes;    /* the table's length without a half last line */
    bool lacks_line_end; /* the last whole row has none (an editor took it away) */
};

/* ---- ledger.c ------------------------------------------------------------------ */

/** Makes the folder if it is missing, takes the lock and reads the rows; the lock is then
 *  held. On failure (one sentence) there is nothing to close. */
OMO_MUST_CHECK enum omo_status omo_ledger_open(struct ledger *ledger, const char *folder,
                                               const struct row_form *form);
/** A table whose folder's lock the caller holds and keeps: for omo_ledger_append() and
 * its rows, which are freed by g_free(). A missing file has none. One sentence on
 * failure.
 */
OMO_MUST_CHECK enum omo_status omo_ledger_load(struct ledger *ledger,
                                               const struct folder_lock *held,
                                               const struct row_form *form);
/** Not while it is locked. */
void omo_ledger_close(struct ledger *ledger);
/** Waits for the folder's lock, mends what a killed run left, and reads the rows anew if
 *  they have changed. On failure (one sentence) nothing is held. */
OMO_MUST_CHECK enum omo_status omo_ledger_lock(struct ledger *ledger);
void omo_ledger_unlock(struct ledger *ledger);
/** NULL past the last. Rows as last read. */
const void *omo_ledger_row(const struct ledger *ledger, size_t index);
/** Under the lock: adds a row, on disk before it returns. One sentence on failure; the
 *  table is then as it was. */
OMO_MUST_CHECK enum omo_status omo_ledger_append(struct ledger *ledger, const void *row);

/* ---- ledger_read.c ------------------------------------------------------------- */

/** Reads a whole table and finds where its last whole line ends. OMO_ERR_FORMAT with a
 *  sentence when it is another version's, or damaged. */
OMO_MUST_CHECK enum omo_status omo_ledger_read(struct ledger *ledger, const char *bytes,
                                               size_t size);
/** Adds the table's rows from `first` on. False at a row that is none; *bad_row says
 * which. */
OMO_MUST_CHECK bool omo_ledger_add_rows(struct ledger *ledger,
                                        const struct omo_csv_table *table, size_t first,
                                        size_t *bad_row);

#endif
