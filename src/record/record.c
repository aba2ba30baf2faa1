#include "omogon/record.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/clock.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "record/record_private.h"

#define TABLE_LIMIT_BYTES ((size_t)1 << 30)
#define LOCK_WAIT_S       20
#define LOCK_PAUSE_NS     1000000

void record_say_unsaved(const struct omo_record *record, int error)
{
    omo_error("nothing was saved in %s: %s%s", record->folder, g_strerror(error),
              omo_errno_remedy(error));
}

/* ---- reading the rows ------------------------------------------------------------ */

static struct record_stamp stamp_of(const struct omo_record *record)
{
    struct record_stamp stamp;
    struct stat info;

    memset(&stamp, 0, sizeof stamp);
    if (stat(record->table_path, &info) == 0) {
        stamp.there = true;
        stamp.device = info.st_dev;
        stamp.inode = info.st_ino;
        stamp.size = info.st_size;
        stamp.changed = info.st_mtim;
    }
    return stamp;
}

static bool same_stamp(const struct record_stamp *a, const struct record_stamp *b)
{
    return a->there == b->there && a->device == b->device && a->inode == b->inode &&
           a->size == b->size && a->changed.tv_sec == b->changed.tv_sec &&
           a->changed.tv_nsec == b->changed.tv_nsec;
}

static enum omo_status refresh(struct omo_record *record)
{
    struct record_stamp now = stamp_of(record);
    enum omo_status status;
    char *bytes;
    size_t size;

    if (record->read_once && same_stamp(&now, &record->stamp))
        return OMO_OK;
    record->read_once = false;
    status = omo_file_read(record->table_path, TABLE_LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN && errno == ENOENT) {
        record->count = 0;
        record->keep_bytes = 0;
        record->lacks_line_end = false;
        status = OMO_OK;
    } else if (status == OMO_ERR_OPEN) {
        omo_error("%s cannot be opened: %s", record->table_path, g_strerror(errno));
    } else if (status == OMO_OK) {
        status = record_read_table(record, bytes, size);
        free(bytes);
    }
    record->stamp = now;
    record->read_once = status == OMO_OK;
    return status;
}

/* ---- the lock -----------------------------------------------------------------------
   The lock file is empty but while a row is being appended; then it holds the length that
   sessions.csv had before. A killed run leaves it there, and whoever locks next knows
   that a half line from there on was never announced as saved. */

static off_t read_mark(const struct omo_record *record)
{
    char text[32];
    ssize_t length = pread(record->lock, text, sizeof text - 1, 0);
    long long value;

    /* Only with its line end is the mark itself whole. */
    if (length < 2 || text[length - 1] != '\n')
        return -1;
    text[length - 1] = '\0';
    return omo_integer_parse(text, &value) && value >= 0 ? (off_t)value : -1;
}

static void clear_mark(const struct omo_record *record)
{
    /* Should this fail, the next one to lock finds whole lines only and tries again. */
    if (lseek(record->lock, 0, SEEK_END) > 0 && ftruncate(record->lock, 0) != 0)
        return;
}

static int write_mark(const struct omo_record *record)
{
    char text[32];
    int length = snprintf(text, sizeof text, "%lld\n", (long long)record->keep_bytes);
    ssize_t written = pwrite(record->lock, text, (size_t)length, 0);

    int error = written == length ? 0 : written < 0 ? errno : ENOSPC;

    if (error != 0)
        clear_mark(record);
    return error;
}

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

static int cut_table(const struct omo_record *record, int table, off_t keep)
{
    if (ftruncate(table, keep) != 0)
        return errno;
    omo_warning(
        "the last line of %s was cut short by an interrupted run and is taken out",
        record->table_path);
    return 0;
}

static int mend_table(const struct omo_record *record, off_t mark)
{
    int table = open(record->table_path, O_RDWR | O_CLOEXEC);
    int error = 0;
    off_t keep;

    if (table < 0)
        return errno == ENOENT ? 0 : errno;
    keep = half_line_start(table, mark);
    if (keep >= 0)
        error = cut_table(record, table, keep);
    /* A row that was written whole but not yet synced counts from now on. */
    if (error == 0 && fsync(table) != 0)
        error = errno;
    close(table);
    return error;
}

static int wait_for_lock(const struct omo_record *record)
{
    const struct timespec pause = {.tv_nsec = LOCK_PAUSE_NS};
    int64_t start_ns = omo_clock_ns();

    while (flock(record->lock, LOCK_EX | LOCK_NB) != 0) {
        if (errno != EWOULDBLOCK && errno != EINTR)
            return errno;
        nanosleep(&pause, NULL);
        if (omo_clock_ns() - start_ns >= (int64_t)LOCK_WAIT_S * 1000000000)
            return EWOULDBLOCK;
    }
    return 0;
}

static enum omo_status lock_file(struct omo_record *record)
{
    int error = wait_for_lock(record);
    off_t mark;

    if (error == EWOULDBLOCK) {
        omo_error(
            "another program has been writing in %s for %d seconds; end it, then run "
            "this again",
            record->folder, LOCK_WAIT_S);
        return OMO_ERR_BUSY;
    }
    if (error != 0) {
        omo_error("%s cannot be locked: %s", record->folder, g_strerror(error));
        return OMO_ERR_IO;
    }
    mark = read_mark(record);
    if (mark >= 0)
        error = mend_table(record, mark);
    if (error != 0) {
        flock(record->lock, LOCK_UN);
        omo_error("what an interrupted run left in %s cannot be mended: %s%s",
                  record->folder, g_strerror(error), omo_errno_remedy(error));
        return OMO_ERR_IO;
    }
    clear_mark(record);
    return OMO_OK;
}

enum omo_status record_lock(struct omo_record *record)
{
    enum omo_status status = OMO_OK;

    pthread_mutex_lock(&record->threads);
    if (record->lock >= 0)
        status = lock_file(record);
    if (status == OMO_OK) {
        status = refresh(record);
        if (status != OMO_OK && record->lock >= 0)
            flock(record->lock, LOCK_UN);
    }
    if (status != OMO_OK)
        pthread_mutex_unlock(&record->threads);
    return status;
}

void record_unlock(struct omo_record *record)
{
    if (record->lock >= 0)
        flock(record->lock, LOCK_UN);
    pthread_mutex_unlock(&record->threads);
}

/* ---- opening and asking ---------------------------------------------------------- */

static void open_lock(struct omo_record *record)
{
    char path[RECORD_PATH_BYTES];

    snprintf(path, sizeof path, "%s/" RECORD_LOCK, record->folder);
    record->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, RECORD_FILE_MODE);
    record->lock_error = record->lock < 0 ? errno : 0;
}

enum omo_status omo_record_open(const char *directory, bool flat, struct omo_record **out)
{
    struct omo_record *record;
    enum omo_status status = omo_folder_make(directory);

    if (status != OMO_OK)
        return status;
    record = calloc(1, sizeof *record);
    if (record == NULL)
        return OMO_ERR_MEMORY;
    omo_text_copy(record->folder, sizeof record->folder, directory);
    snprintf(record->table_path, sizeof record->table_path, "%s/" RECORD_FILE, directory);
    record->flat = flat;
    pthread_mutex_init(&record->threads, NULL);
    open_lock(record);
    status = record_lock(record);
    if (status != OMO_OK) {
        omo_record_close(record);
        return status;
    }
    if (record->lock >= 0) {
        omo_atomic_sweep(record->folder);
        trace_tidy(record);
    }
    record_unlock(record);
    *out = record;
    return OMO_OK;
}

void omo_record_close(struct omo_record *record)
{
    if (record == NULL)
        return;
    if (record->lock >= 0)
        close(record->lock);
    pthread_mutex_destroy(&record->threads);
    if (record->claimed != NULL)
        g_ptr_array_free(record->claimed, TRUE);
    g_free(record->rows);
    free(record);
}

/* The last row with an id is the one that counts: a later one takes back an earlier. */
static const struct omo_session_row *last_with(const struct omo_record *record,
                                               const char *id)
{
    for (size_t i = record->count; i > 0; i--)
        if (strcmp(record->rows[i - 1].id, id) == 0)
            return &record->rows[i - 1];
    return NULL;
}

bool omo_record_find(struct omo_record *record, const char *id,
                     struct omo_session_row *row)
{
    const struct omo_session_row *found;

    if (record_lock(record) != OMO_OK)
        return false;
    found = last_with(record, id);
    if (found != NULL)
        *row = *found;
    record_unlock(record);
    return found != NULL;
}

bool omo_record_has(struct omo_record *record, const char *id)
{
    struct omo_session_row row;

    return omo_record_find(record, id, &row) && strcmp(row.status, "ok") == 0;
}

size_t omo_record_count(const struct omo_record *record)
{
    return record->count;
}

const struct omo_session_row *omo_record_row(const struct omo_record *record,
                                             size_t index)
{
    return index < record->count ? &record->rows[index] : NULL;
}

bool record_names_trace(const struct omo_record *record, const char *name)
{
    for (size_t i = 0; i < record->count; i++)
        if (strcmp(record->rows[i].trace, name) == 0)
            return true;
    return false;
}

/* ---- appending ------------------------------------------------------------------- */

/* A table that is not there, or empty, begins with its header, in one step. */
static enum omo_status make_table(struct omo_record *record)
{
    char header[2048];
    enum omo_status status;

    if (record->keep_bytes > 0)
        return OMO_OK;
    snprintf(header, sizeof header, "%s\n", omo_session_header());
    status = omo_file_write_atomic(record->table_path, header, strlen(header),
                                   RECORD_FILE_MODE);
    if (status == OMO_OK)
        record->keep_bytes = (off_t)strlen(header);
    return status;
}

static int write_line(const struct omo_record *record, int table,
                      const struct omo_csv_text *line)
{
    int error = 0;

    if (lseek(table, record->keep_bytes, SEEK_SET) < 0)
        return errno;
    error = omo_write_all(table, line->bytes, line->size);
    if (error == 0 && fsync(table) != 0)
        error = errno;
    /* Should the cut fail too, the mark stays and the next one to lock cuts. */
    if (error == 0 || ftruncate(table, record->keep_bytes) == 0)
        clear_mark(record);
    return error;
}

static int append_line(struct omo_record *record, const struct omo_csv_text *line)
{
    int table = open(record->table_path, O_RDWR | O_CLOEXEC);
    int error = 0;

    if (table < 0)
        return errno;
    if (lseek(table, 0, SEEK_END) > record->keep_bytes)
        error = cut_table(record, table, record->keep_bytes);
    if (error == 0)
        error = write_mark(record);
    if (error == 0)
        error = write_line(record, table, line);
    close(table);
    return error;
}

/* Keeps the rows in memory in step, as reading them back would give them. */
static void take_up_line(struct omo_record *record, const struct omo_csv_text *line)
{
    struct omo_csv_table *table;
    size_t bad;

    record->read_once = false;
    if (omo_csv_parse(line->bytes, line->size, &table, NULL) != OMO_OK)
        return;
    if (record_add_rows(record, table, 0, &bad)) {
        record->keep_bytes += (off_t)line->size;
        record->lacks_line_end = false;
        record->stamp = stamp_of(record);
        record->read_once = true;
    }
    omo_csv_destroy(table);
}

static enum omo_status append_row(struct omo_record *record,
                                  const struct omo_session_row *row)
{
    struct omo_csv_text line = {0};
    enum omo_status status = make_table(record);
    int error;

    if (status != OMO_OK)
        return status;
    if (record->lacks_line_end)
        omo_csv_end_row(&line);
    session_row_write(row, &line);
    error = line.failed ? ENOMEM : append_line(record, &line);
    if (error == 0)
        take_up_line(record, &line);
    else
        record_say_unsaved(record, error);
    omo_csv_text_free(&line);
    return error == 0 ? OMO_OK : OMO_ERR_IO;
}

enum omo_status omo_record_append(struct omo_record *record,
                                  const struct omo_session_row *row, bool *added)
{
    const struct omo_session_row *before;
    enum omo_status status;

    if (row->id[0] == '\0')
        return OMO_ERR_ARG;
    if (record->lock < 0) {
        record_say_unsaved(record, record->lock_error);
        return OMO_ERR_IO;
    }
    status = record_lock(record);
    if (status != OMO_OK)
        return status;
    before = last_with(record, row->id);
    if (before != NULL && strcmp(before->status, row->status) == 0) {
        *added = false;
    } else {
        status = append_row(record, row);
        if (status == OMO_OK)
            *added = true;
    }
    record_unlock(record);
    return status;
}
