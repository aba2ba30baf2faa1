/** What the files of this folder share: the open record and the table's columns. */
#ifndef RECORD_PRIVATE_H
#define RECORD_PRIVATE_H

#include <limits.h>
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>
#include <time.h>

#include <glib.h>

#include "omogon/csv.h"
#include "omogon/record.h"

#define RECORD_FILE       "sessions.csv"
#define RECORD_LOCK       ".sessions.lock"
#define RECORD_TRACES     "traces"
#define RECORD_FILE_MODE  0600
#define RECORD_PATH_BYTES (PATH_MAX + 300) /* a folder, and a file name in it */

struct omo_record {
    pthread_mutex_t threads; /* guards all below and goes with the lock file's lock */
    char folder[PATH_MAX];
    char table_path[RECORD_PATH_BYTES];
    bool flat;
    int lock;       /* descriptor of the lock file, -1: cannot be written to */
    int lock_error; /* why */
    struct omo_session_row *rows;
    size_t count, room;
    /* What the rows in memory were read from; nothing is read again while it stands. */
    bool read_once;
    struct record_stamp {
        bool there;
        dev_t device;
        ino_t inode;
        off_t size;
        struct timespec changed;
    } stamp;
    off_t keep_bytes;    /* the table's length without a half last line */
    bool lacks_line_end; /* the last whole row has none (an editor took it away) */
    GPtrArray *claimed;  /* names of the traces begun here, owned */
};

/* ---- record.c -------------------------------------------------------------------- */

/** Waits for the record's lock, mends what a killed run left, and reads the rows anew if
 *  they have changed. On failure (one sentence) nothing is held. */
OMO_MUST_CHECK enum omo_status record_lock(struct omo_record *record);
void record_unlock(struct omo_record *record);
/** Whether a row names this trace; rows as last read. */
bool record_names_trace(const struct omo_record *record, const char *name);
/** One sentence: why nothing could be saved in the record's folder. */
void record_say_unsaved(const struct omo_record *record, int error);

/* ---- table.c ---------------------------------------------------------------------- */

/** Reads a whole sessions.csv into the record's rows and finds where its last whole line
 *  ends. OMO_ERR_FORMAT with a sentence when it is another version's, or damaged. */
OMO_MUST_CHECK enum omo_status record_read_table(struct omo_record *record,
                                                 const char *bytes, size_t size);
/** Adds the table's rows from `first` on. False at a row that is none; *bad_row says
 * which. */
OMO_MUST_CHECK bool record_add_rows(struct omo_record *record,
                                    const struct omo_csv_table *table, size_t first,
                                    size_t *bad_row);

/* ---- columns.c ------------------------------------------------------------------- */

/** Adds the row's cells and line end. */
void session_row_write(const struct omo_session_row *row, struct omo_csv_text *csv);
/** Reads row `index`. False when the width or a number is wrong; *row is then undefined.
 */
OMO_MUST_CHECK bool session_row_read(const struct omo_csv_table *table, size_t index,
                                     struct omo_session_row *row);
/** Whether the table's first row is this version's header. */
bool session_header_matches(const struct omo_csv_table *table);
void trace_row_write(const struct omo_trace_row *row, int picture_width,
                     int picture_height, struct omo_csv_text *csv);

/* ---- trace.c --------------------------------------------------------------------- */

/** Under the lock: ends what killed runs left of traces, so that readers see whole lines
 *  only. */
void trace_tidy(struct omo_record *record);

#endif
