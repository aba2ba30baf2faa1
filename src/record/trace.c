#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/clock.h"
#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"
#include "record/record_private.h"

/* While "walk.trace.csv" is in the making, ".walk.trace.csv.writing" stands beside it and
   is locked. Unlocked it marks a leftover; a trace without it is finished and never
   touched. */
#define TRACE_SUFFIX   ".trace.csv"
#define MARK_SUFFIX    ".writing"
#define STEM_MAX_BYTES 200 /* leaves room for a number and the suffixes in 255 bytes */
#define NUMBER_MAX     99999
#define SYNC_PERIOD_NS 500000000
#define PIECE_BYTES    65536

struct omo_trace_file {
    struct omo_record *record;
    char name[256]; /* below the record's folder */
    char path[RECORD_PATH_BYTES], mark_path[RECORD_PATH_BYTES];
    int file, mark;
    int picture_width, picture_height;
    off_t whole_bytes; /* length up to the last whole line */
    int64_t synced_ns;
    bool failed;
    struct omo_csv_text line;
};

static void trace_folder(const struct omo_record *record, char *out, size_t size)
{
    snprintf(out, size, "%s%s", record->sessions.lock.folder,
             record->flat ? "" : "/" RECORD_TRACES);
}

static void paths_of(const struct omo_record *record, const char *file_name, char *path,
                     char *mark_path)
{
    char folder[PATH_MAX + 16];

    trace_folder(record, folder, sizeof folder);
    snprintf(path, RECORD_PATH_BYTES, "%s/%s", folder, file_name);
    snprintf(mark_path, RECORD_PATH_BYTES, "%s/.%s" MARK_SUFFIX, folder, file_name);
}

static void name_of(const struct omo_record *record, const char *file_name, char out[256])
{
    out[0] = '\0';
    omo_text_add(out, 256, "%s%s", record->flat ? "" : RECORD_TRACES "/", file_name);
}

/* ---- leftovers ------------------------------------------------------------------- */

/* Opens and locks a mark that is there. -1 with EWOULDBLOCK: its trace is being written;
   with ENOENT: gone. */
static int lock_mark(const char *mark_path)
{
    int mark = open(mark_path, O_RDWR | O_NOFOLLOW | O_CLOEXEC);
    struct stat info;

    if (mark < 0)
        return -1;
    if (flock(mark, LOCK_EX | LOCK_NB) != 0) {
        int error = errno;

        close(mark);
        errno = error;
        return -1;
    }
    /* Its owner may have removed it after it was opened here. */
    if (fstat(mark, &info) != 0 || info.st_nlink == 0) {
        close(mark);
        errno = ENOENT;
        return -1;
    }
    return mark;
}

/* Cuts a half last line off. False when not even the header is whole. */
static bool cut_half_line(const char *path)
{
    int file = open(path, O_RDWR | O_NOFOLLOW | O_CLOEXEC);
    off_t size, at;
    char last = '\0';
    bool whole;

    if (file < 0)
        return errno != ENOENT;
    at = size = lseek(file, 0, SEEK_END);
    while (at > 0 && pread(file, &last, 1, at - 1) == 1 && last != '\n')
        at--;
    whole = at > 0 && (at == size || ftruncate(file, at) == 0);
    close(file);
    return whole;
}

static void tidy_one(struct omo_record *record, const char *file_name)
{
    char path[RECORD_PATH_BYTES], mark_path[RECORD_PATH_BYTES], name[256];
    int mark;

    paths_of(record, file_name, path, mark_path);
    name_of(record, file_name, name);
    mark = lock_mark(mark_path);
    if (mark < 0)
        return;
    if (omo_record_names_trace(record, name)) {
        unlink(mark_path); /* the run ended after its row was saved */
    } else if (!cut_half_line(path)) {
        unlink(path);
        unlink(mark_path);
    }
    close(mark);
}

void omo_trace_tidy(struct omo_record *record)
{
    char folder[PATH_MAX + 16];
    const struct dirent *entry;
    DIR *entries;

    trace_folder(record, folder, sizeof folder);
    if (!record->flat)
        omo_atomic_sweep(folder);
    entries = opendir(folder);
    if (entries == NULL)
        return;
    while ((entry = readdir(entries)) != NULL) {
        if (entry->d_name[0] == '.' &&
            g_str_has_suffix(entry->d_name, TRACE_SUFFIX MARK_SUFFIX)) {
            char *file_name = g_strndup(entry->d_name + 1,
                                        strlen(entry->d_name) - strlen("." MARK_SUFFIX));

            tidy_one(record, file_name);
            g_free(file_name);
        }
    }
    closedir(entries);
}

/* ---- claiming a name ------------------------------------------------------------- */

static void clean_stem(const char *stem, char *out, size_t size)
{
    char *valid = g_utf8_make_valid(stem, -1);

    omo_text_copy(out, size, valid[0] == '\0' ? "trace" : valid);
    g_free(valid);
    for (char *c = out; *c != '\0'; c++)
        if ((unsigned char)*c < ' ' || *c == 127 || *c == '/' || *c == '\\')
            *c = '_';
    /* Neither hidden, nor an option, nor a formula. */
    if (strchr(".-=+@'", out[0]) != NULL)
        out[0] = '_';
}

static bool claimed_here(const struct omo_record *record, const char *name)
{
    for (guint i = 0; record->claimed != NULL && i < record->claimed->len; i++)
        if (strcmp(g_ptr_array_index(record->claimed, i), name) == 0)
            return true;
    return false;
}

static void remember_claim(struct omo_record *record, const char *name)
{
    if (record->claimed == NULL)
        record->claimed = g_ptr_array_new_with_free_func(g_free);
    g_ptr_array_add(record->claimed, g_strdup(name));
}

/* A mark for a name that has none. EEXIST when the trace itself is there: a finished
 * file. */
static int new_mark(const char *path, const char *mark_path)
{
    struct stat info;
    int mark;

    if (lstat(path, &info) == 0) {
        errno = EEXIST;
        return -1;
    }
    mark = open(mark_path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, RECORD_FILE_MODE);
    if (mark >= 0 && flock(mark, LOCK_EX | LOCK_NB) != 0) {
        int error = errno;

        unlink(mark_path);
        close(mark);
        errno = error;
        return -1;
    }
    return mark;
}

/* 0, the errno of a real failure, or EEXIST when the next number is to be tried. */
static int claim(struct omo_trace_file *trace)
{
    trace->mark = lock_mark(trace->mark_path);
    if (trace->mark < 0 && errno == ENOENT)
        trace->mark = new_mark(trace->path, trace->mark_path);
    if (trace->mark < 0)
        return errno == EWOULDBLOCK ? EEXIST : errno;
    trace->file = open(trace->path, O_RDWR | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC,
                       RECORD_FILE_MODE);
    if (trace->file < 0) {
        int error = errno;

        unlink(trace->mark_path);
        close(trace->mark);
        return error;
    }
    return 0;
}

static int claim_some_name(struct omo_trace_file *trace, const char *stem)
{
    char file_name[256];
    int error = EEXIST;

    for (int number = 1; number <= NUMBER_MAX && error == EEXIST; number++) {
        if (number == 1)
            snprintf(file_name, sizeof file_name, "%s" TRACE_SUFFIX, stem);
        else
            snprintf(file_name, sizeof file_name, "%s-%d" TRACE_SUFFIX, stem, number);
        name_of(trace->record, file_name, trace->name);
        if (omo_record_names_trace(trace->record, trace->name) ||
            claimed_here(trace->record, trace->name))
            continue;
        paths_of(trace->record, file_name, trace->path, trace->mark_path);
        error = claim(trace);
    }
    return error;
}

/* ---- writing --------------------------------------------------------------------- */

/* Writes the line as a whole or not at all. 0 or the errno. */
static int write_line(struct omo_trace_file *trace)
{
    int error = trace->line.failed ? ENOMEM : 0;

    if (error == 0)
        error = omo_write_all(trace->file, trace->line.bytes, trace->line.size);
    if (error == 0) {
        trace->whole_bytes += (off_t)trace->line.size;
    } else if (ftruncate(trace->file, trace->whole_bytes) != 0) {
        /* The next run that opens the record cuts the half line off. */
        trace->failed = true;
    }
    trace->line.size = 0;
    return error;
}

static void add_header(struct omo_csv_text *text)
{
    const char *name = omo_trace_header();

    while (*name != '\0') {
        char cell[64];
        size_t length = strcspn(name, ",");

        omo_text_copy(cell, length + 1 < sizeof cell ? length + 1 : sizeof cell, name);
        omo_csv_add_text(text, cell);
        name += length + (name[length] == ',');
    }
    omo_csv_end_row(text);
}

static void destroy(struct omo_trace_file *trace)
{
    close(trace->file);
    close(trace->mark);
    omo_csv_text_free(&trace->line);
    free(trace);
}

/* Under the lock. */
static enum omo_status begin(struct omo_trace_file *trace, const char *stem)
{
    char clean[STEM_MAX_BYTES + 1];
    int error;

    clean_stem(stem, clean, sizeof clean);
    error = claim_some_name(trace, clean);
    if (error != 0) {
        omo_say_unsaved(trace->record->sessions.lock.folder, error);
        return OMO_ERR_IO;
    }
    add_header(&trace->line);
    error = write_line(trace);
    if (error != 0) {
        omo_say_unsaved(trace->record->sessions.lock.folder, error);
        unlink(trace->path);
        unlink(trace->mark_path);
        close(trace->file);
        close(trace->mark);
        return OMO_ERR_IO;
    }
    remember_claim(trace->record, trace->name);
    return OMO_OK;
}

enum omo_status omo_trace_begin(struct omo_record *record, const char *stem,
                                int picture_width, int picture_height,
                                struct omo_trace_file **out, char *name_out)
{
    char folder[PATH_MAX + 16];
    struct omo_trace_file *trace;
    enum omo_status status = OMO_OK;

    if (record->sessions.lock.file < 0) {
        omo_say_unsaved(record->sessions.lock.folder, record->sessions.lock.error);
        return OMO_ERR_IO;
    }
    trace_folder(record, folder, sizeof folder);
    if (!record->flat)
        status = omo_folder_make(folder);
    trace = calloc(1, sizeof *trace);
    if (status == OMO_OK && trace == NULL)
        status = OMO_ERR_MEMORY;
    if (status == OMO_OK)
        status = omo_ledger_lock(&record->sessions);
    if (status != OMO_OK) {
        free(trace);
        return status;
    }
    trace->record = record;
    trace->picture_width = picture_width;
    trace->picture_height = picture_height;
    trace->synced_ns = omo_clock_ns();
    status = begin(trace, stem);
    omo_ledger_unlock(&record->sessions);
    if (status != OMO_OK) {
        omo_csv_text_free(&trace->line);
        free(trace);
        return status;
    }
    omo_text_copy(name_out, sizeof trace->name, trace->name);
    *out = trace;
    return OMO_OK;
}

enum omo_status omo_trace_add(struct omo_trace_file *trace,
                              const struct omo_trace_row *row)
{
    int64_t now_ns = omo_clock_ns();
    int error;

    if (trace->failed)
        return OMO_ERR_IO;
    omo_trace_row_write(row, trace->picture_width, trace->picture_height, &trace->line);
    error = write_line(trace);
    /* A process that dies loses nothing that was written; a power cut only what was
       written since the last sync. */
    if (error == 0 && now_ns - trace->synced_ns >= SYNC_PERIOD_NS) {
        if (fdatasync(trace->file) != 0)
            error = errno;
        trace->synced_ns = now_ns;
    }
    if (error == 0)
        return OMO_OK;
    trace->failed = true; /* said once */
    omo_say_unsaved(trace->record->sessions.lock.folder, error);
    return OMO_ERR_IO;
}

/* The rows in pieces, so that a long trace needs no second copy in memory. */
static enum omo_status add_rows(struct omo_trace_file *trace,
                                struct omo_atomic_file *finished,
                                const struct omo_trace_row *rows, size_t count)
{
    struct omo_csv_text *text = &trace->line;

    text->size = 0;
    add_header(text);
    for (size_t i = 0; i < count; i++) {
        enum omo_status status;

        omo_trace_row_write(&rows[i], trace->picture_width, trace->picture_height, text);
        if (text->size < PIECE_BYTES || text->failed)
            continue;
        status = omo_atomic_add(finished, text->bytes, text->size);
        if (status != OMO_OK)
            return status;
        text->size = 0;
    }
    if (text->failed) {
        omo_atomic_abort(finished);
        return OMO_ERR_MEMORY;
    }
    return text->size > 0 ? omo_atomic_add(finished, text->bytes, text->size) : OMO_OK;
}

enum omo_status omo_trace_finish(struct omo_trace_file *trace,
                                 const struct omo_trace_row *rows, size_t count)
{
    struct omo_atomic_file *finished;
    enum omo_status status = omo_atomic_begin(trace->path, RECORD_FILE_MODE, &finished);

    if (status == OMO_OK)
        status = add_rows(trace, finished, rows, count);
    trace->line.size = 0;
    if (status == OMO_OK)
        status = omo_atomic_commit(finished);
    /* The file that frames were added to is gone; a further one would be lost. */
    if (status == OMO_OK)
        trace->failed = true;
    return status;
}

void omo_trace_close(struct omo_trace_file *trace, bool keep)
{
    if (trace == NULL)
        return;
    if (!keep) {
        unlink(trace->path);
        unlink(trace->mark_path);
    } else if (omo_ledger_lock(&trace->record->sessions) == OMO_OK) {
        /* Without a row it stays marked, for the next try to take its place. */
        if (omo_record_names_trace(trace->record, trace->name))
            unlink(trace->mark_path);
        omo_ledger_unlock(&trace->record->sessions);
    }
    destroy(trace);
}
