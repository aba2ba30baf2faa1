#include "record/ledger.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "record/dialect.h"

#define TABLE_LIMIT_BYTES ((size_t)1 << 30)

/* ---- reading the rows ------------------------------------------------------------ */

static struct ledger_stamp stamp_of(const struct ledger *ledger)
{
    struct ledger_stamp stamp;
    struct stat info;

    memset(&stamp, 0, sizeof stamp);
    if (stat(ledger->path, &info) == 0) {
        stamp.there = true;
        stamp.device = info.st_dev;
        stamp.inode = info.st_ino;
        stamp.size = info.st_size;
        stamp.changed = info.st_mtim;
    }
    return stamp;
}

static bool same_stamp(const struct ledger_stamp *a, const struct ledger_stamp *b)
{
    return a->there == b->there && a->device == b->device && a->inode == b->inode &&
           a->size == b->size && a->changed.tv_sec == b->changed.tv_sec &&
           a->changed.tv_nsec == b->changed.tv_nsec;
}

/* The table as a spreadsheet saved it is kept beside the one in its own form. */
static enum omo_status put_back(struct ledger *ledger, const char *edited,
                                size_t edited_size, const char *standard, size_t size)
{
    char kept[RECORD_PATH_BYTES + 32];
    enum omo_status status;
    int number = 1;

    if (ledger->lock.file < 0)
        return OMO_OK; /* can be read all the same */
    do
        snprintf(kept, sizeof kept, "%s.edited-%d", ledger->path, number++);
    while (access(kept, F_OK) == 0);
    status = omo_file_write_atomic(kept, edited, edited_size, RECORD_FILE_MODE);
    if (status == OMO_OK)
        status = omo_file_write_atomic(ledger->path, standard, size, RECORD_FILE_MODE);
    if (status == OMO_OK)
        omo_warning(
            "%s was saved by a spreadsheet with semicolons and decimal commas; it is "
            "put back into its own form, and the edited one is kept as %s",
            ledger->path, kept);
    return status;
}

/* Reads the table, in whichever of the two manners it was saved. */
static enum omo_status read_bytes(struct ledger *ledger, const char *bytes, size_t size)
{
    size_t standard_size = 0;
    char *standard = omo_dialect_standard(ledger->form, bytes, size, &standard_size);
    enum omo_status status;

    if (standard == NULL)
        return omo_ledger_read(ledger, bytes, size);
    status = omo_ledger_read(ledger, standard, standard_size);
    if (status == OMO_OK)
        status = put_back(ledger, bytes, size, standard, standard_size);
    free(standard);
    return status;
}

static enum omo_status refresh(struct ledger *ledger)
{
    struct ledger_stamp now = stamp_of(ledger);
    enum omo_status status;
    char *bytes;
    size_t size;

    if (ledger->read_once && same_stamp(&now, &ledger->stamp))
        return OMO_OK;
    ledger->read_once = false;
    status = omo_file_read(ledger->path, TABLE_LIMIT_BYTES, &bytes, &size);
    if (status == OMO_ERR_OPEN && errno == ENOENT) {
        ledger->count = 0;
        ledger->keep_bytes = 0;
        ledger->lacks_line_end = false;
        status = OMO_OK;
    } else if (status == OMO_ERR_OPEN) {
        omo_error("%s cannot be opened: %s", ledger->path, g_strerror(errno));
    } else if (status == OMO_OK) {
        status = read_bytes(ledger, bytes, size);
        free(bytes);
        now = stamp_of(ledger); /* nobody else writes under the lock */
    }
    ledger->stamp = now;
    ledger->read_once = status == OMO_OK;
    return status;
}

/* ---- opening, the lock --------------------------------------------------------- */

enum omo_status omo_ledger_lock(struct ledger *ledger)
{
    enum omo_status status;

    pthread_mutex_lock(&ledger->threads);
    status = omo_folder_lock_take(&ledger->lock);
    if (status == OMO_OK) {
        status = refresh(ledger);
        if (status != OMO_OK)
            omo_folder_lock_release(&ledger->lock);
    }
    if (status != OMO_OK)
        pthread_mutex_unlock(&ledger->threads);
    return status;
}

void omo_ledger_unlock(struct ledger *ledger)
{
    omo_folder_lock_release(&ledger->lock);
    pthread_mutex_unlock(&ledger->threads);
}

enum omo_status omo_ledger_open(struct ledger *ledger, const char *folder,
                                const struct row_form *form)
{
    enum omo_status status = omo_folder_make(folder);

    if (status != OMO_OK)
        return status;
    memset(ledger, 0, sizeof *ledger);
    ledger->form = form;
    snprintf(ledger->path, sizeof ledger->path, "%s/%s", folder, form->file);
    pthread_mutex_init(&ledger->threads, NULL);
    omo_folder_lock_open(&ledger->lock, folder);
    status = omo_ledger_lock(ledger);
    if (status != OMO_OK) {
        omo_ledger_close(ledger);
        return status;
    }
    if (ledger->lock.file >= 0)
        omo_atomic_sweep(folder);
    return OMO_OK;
}

enum omo_status omo_ledger_load(struct ledger *ledger, const struct folder_lock *held,
                                const struct row_form *form)
{
    memset(ledger, 0, sizeof *ledger);
    ledger->form = form;
    ledger->lock = *held;
    snprintf(ledger->path, sizeof ledger->path, "%s/%s", held->folder, form->file);
    return refresh(ledger);
}

void omo_ledger_close(struct ledger *ledger)
{
    omo_folder_lock_close(&ledger->lock);
    pthread_mutex_destroy(&ledger->threads);
    g_free(ledger->rows);
}

const void *omo_ledger_row(const struct ledger *ledger, size_t index)
{
    return index < ledger->count ? ledger->rows + index * ledger->form->row_bytes : NULL;
}

/* ---- appending ------------------------------------------------------------------- */

/* A table that is not there, or empty, begins with its header, in one step. */
static enum omo_status make_table(struct ledger *ledger)
{
    char header[2048];
    enum omo_status status;

    if (ledger->keep_bytes > 0)
        return OMO_OK;
    snprintf(header, sizeof header, "%s\n", ledger->form->header);
    status =
        omo_file_write_atomic(ledger->path, header, strlen(header), RECORD_FILE_MODE);
    if (status == OMO_OK)
        ledger->keep_bytes = (off_t)strlen(header);
    return status;
}

static int write_line(const struct ledger *ledger, int table,
                      const struct omo_csv_text *line)
{
    int error = 0;

    if (lseek(table, ledger->keep_bytes, SEEK_SET) < 0)
        return errno;
    error = omo_write_all(table, line->bytes, line->size);
    if (error == 0 && fsync(table) != 0)
        error = errno;
    /* Should the cut fail too, the mark stays and the next one to lock cuts. */
    if (error == 0 || ftruncate(table, ledger->keep_bytes) == 0)
        omo_folder_lock_clear_mark(&ledger->lock);
    return error;
}

static int append_line(struct ledger *ledger, const struct omo_csv_text *line)
{
    int table = open(ledger->path, O_RDWR | O_CLOEXEC);
    int error = 0;

    if (table < 0)
        return errno;
    if (lseek(table, 0, SEEK_END) > ledger->keep_bytes)
        error = omo_folder_lock_cut(ledger->path, table, ledger->keep_bytes);
    if (error == 0)
        error =
            omo_folder_lock_mark(&ledger->lock, ledger->form->file, ledger->keep_bytes);
    if (error == 0)
        error = write_line(ledger, table, line);
    close(table);
    return error;
}

/* Keeps the rows in memory in step, as reading them back would give them. */
static void take_up_line(struct ledger *ledger, const struct omo_csv_text *line)
{
    struct omo_csv_table *table;
    size_t bad;

    ledger->read_once = false;
    if (omo_csv_parse(line->bytes, line->size, &table, NULL) != OMO_OK)
        return;
    if (omo_ledger_add_rows(ledger, table, 0, &bad)) {
        ledger->keep_bytes += (off_t)line->size;
        ledger->lacks_line_end = false;
        ledger->stamp = stamp_of(ledger);
        ledger->read_once = true;
    }
    omo_csv_destroy(table);
}

enum omo_status omo_ledger_append(struct ledger *ledger, const void *row)
{
    struct omo_csv_text line = {0};
    enum omo_status status = make_table(ledger);
    int error;

    if (status != OMO_OK)
        return status;
    if (ledger->lacks_line_end)
        omo_csv_end_row(&line);
    omo_row_write(ledger->form, row, &line);
    error = line.failed ? ENOMEM : append_line(ledger, &line);
    if (error == 0)
        take_up_line(ledger, &line);
    else
        omo_say_unsaved(ledger->lock.folder, error);
    omo_csv_text_free(&line);
    return error == 0 ? OMO_OK : OMO_ERR_IO;
}
