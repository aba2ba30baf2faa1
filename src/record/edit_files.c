#include "record/edit_files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <glib.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/tables.h"
#include "omogon/text.h"
#include "record/ledger.h"
#include "record/record_private.h"

#define TRACE_SUFFIX ".trace.csv"

/* ---- one table ----------------------------------------------------------------------
 */

size_t omo_edit_person_at(const struct row_form *form)
{
    for (size_t i = 0; i < form->column_count; i++)
        if (!strcmp(form->columns[i].name, "person"))
            return form->columns[i].offset;
    return SIZE_MAX;
}

static enum omo_status write_table(const struct ledger *ledger)
{
    struct omo_csv_text text = {0};
    g_autofree char *header = g_strconcat(ledger->form->header, "\n", NULL);
    for (size_t i = 0; i < ledger->count; i++)
        omo_row_write(ledger->form, ledger->rows + i * ledger->form->row_bytes, &text);
    enum omo_status status = text.failed ? OMO_ERR_MEMORY : OMO_OK;
    if (status == OMO_OK) {
        g_autofree char *whole = g_strconcat(header, text.bytes, NULL);
        status =
            omo_file_write_atomic(ledger->path, whole, strlen(whole), RECORD_FILE_MODE);
    }
    omo_csv_text_free(&text);
    return status;
}

/* ---- the files of a session ---------------------------------------------------------
 */

/** "traces/P07-20260101T090000-flexion-right.trace.csv" under the new code; the same name
 *  where it does not begin with the person's. */
static void renamed(const char *trace, const struct edit_task *task, char *out,
                    size_t size)
{
    const char *slash = strrchr(trace, '/');
    const char *name = slash ? slash + 1 : trace;
    size_t code = strlen(task->person);
    if (task->to[0] && !strncmp(name, task->person, code) && name[code] == '-') {
        out[0] = '\0';
        omo_text_add(out, size, "%.*s%s%s", (int)(name - trace), trace, task->to,
                     name + code);
    } else {
        omo_text_copy(out, size, trace);
    }
}

/** A trace and what lies beside it under its stem: "STEM.highest.jpg" and so on. */
static enum omo_status change_files(const char *folder, const char *trace,
                                    const char *new_trace, struct omo_edit_done *done)
{
    g_autofree char *path = g_build_filename(folder, trace, NULL);
    g_autofree char *new_path = g_build_filename(folder, new_trace, NULL);
    g_autofree char *directory = g_path_get_dirname(path);
    g_autofree char *stem = g_path_get_basename(path);
    g_autofree char *new_stem = g_path_get_basename(new_path);
    if (!g_str_has_suffix(stem, TRACE_SUFFIX) || strstr(trace, ".."))
        return OMO_OK; /* is no name that this program gave */
    stem[strlen(stem) - strlen(TRACE_SUFFIX) + 1] = '\0'; /* with its dot */
    if (new_trace[0])
        new_stem[strlen(new_stem) - strlen(TRACE_SUFFIX) + 1] = '\0';
    g_autoptr(GDir) there = g_dir_open(directory, 0, NULL);
    g_autoptr(GPtrArray) names = g_ptr_array_new_with_free_func(g_free);
    for (const char *name; there && (name = g_dir_read_name(there));)
        if (g_str_has_prefix(name, stem))
            g_ptr_array_add(names, g_strdup(name));
    for (guint i = 0; i < names->len; i++) {
        const char *name = g_ptr_array_index(names, i);
        g_autofree char *old = g_build_filename(directory, name, NULL);
        g_autofree char *new_name = g_strconcat(new_stem, name + strlen(stem), NULL);
        g_autofree char *to = g_build_filename(directory, new_name, NULL);
        int failed = new_trace[0]
                         ? renameat2(AT_FDCWD, old, AT_FDCWD, to, RENAME_NOREPLACE)
                         : unlink(old);
        if (failed != 0 && errno != ENOENT) {
            if (errno == EEXIST)
                omo_error(
                    "%s cannot be renamed, %s is in the way; move that away and run "
                    "this again",
                    old, to);
            else
                omo_error("%s cannot be %s: %s", old,
                          new_trace[0] ? "renamed" : "deleted", g_strerror(errno));
            return OMO_ERR_IO;
        }
        done->files++;
    }
    return OMO_OK;
}

/** Whether another person's row needs this trace. */
static bool shared(const struct ledger *sessions, const char *trace, const char *person)
{
    const struct omo_session_row *row;
    for (size_t i = 0; (row = omo_ledger_row(sessions, i)); i++)
        if (!strcmp(row->trace, trace) && strcmp(row->person, person) != 0)
            return true;
    return false;
}

/** The files of every session of the person, and what killed runs left of theirs. */
static enum omo_status change_traces(const struct folder_lock *lock,
                                     const struct edit_task *task,
                                     struct omo_edit_done *done)
{
    struct ledger sessions;
    enum omo_status status = omo_ledger_load(&sessions, lock, &omo_session_form);
    for (size_t i = 0; status == OMO_OK && i < sessions.count; i++) {
        struct omo_session_row *row = (void *)(sessions.rows + i * sizeof *row);
        char new_trace[sizeof row->trace];
        if (strcmp(row->person, task->person) != 0 || !row->trace[0] ||
            shared(&sessions, row->trace, task->person))
            continue;
        renamed(row->trace, task, new_trace, sizeof new_trace);
        if (!task->to[0])
            status = change_files(lock->folder, row->trace, "", done);
        else if (strcmp(new_trace, row->trace) != 0)
            status = change_files(lock->folder, row->trace, new_trace, done);
    }
    g_free(sessions.rows);
    return status;
}

/* ---- all tables ---------------------------------------------------------------------
 */

static enum omo_status change_table(const struct folder_lock *lock,
                                    const struct row_form *form,
                                    const struct edit_task *task,
                                    struct omo_edit_done *done)
{
    size_t at = omo_edit_person_at(form), kept = 0;
    struct ledger ledger;
    int changed = 0;
    if (at == SIZE_MAX)
        return OMO_OK;
    enum omo_status status = omo_ledger_load(&ledger, lock, form);
    for (size_t i = 0; status == OMO_OK && i < ledger.count; i++) {
        char *row = ledger.rows + i * form->row_bytes;
        bool theirs = !strcmp(row + at, task->person);
        if (theirs && task->to[0]) {
            omo_text_copy(row + at, sizeof task->to, task->to);
            if (form == &omo_session_form) {
                struct omo_session_row *session = (void *)row;
                char trace[sizeof session->trace];
                renamed(session->trace, task, trace, sizeof trace);
                omo_text_copy(session->trace, sizeof session->trace, trace);
            }
        }
        changed += theirs;
        if (!theirs || task->to[0])
            memmove(ledger.rows + kept++ * form->row_bytes, row, form->row_bytes);
    }
    if (status == OMO_OK && changed > 0) {
        ledger.count = kept;
        status = write_table(&ledger);
        done->rows += changed;
    }
    g_free(ledger.rows);
    return status;
}

/** Every table with a person, sessions.csv first. NULL past the last. */
static const struct row_form *form_at(int index)
{
    if (index == 0)
        return &omo_session_form;
    return index <= OMO_TABLE_COUNT ? omo_table_form((enum omo_table_kind)(index - 1))
                                    : NULL;
}

/** The files go first: their names are known from the rows alone. Done again, a file that
 *  has its new name already is passed over. */
enum omo_status omo_edit_person(const struct folder_lock *lock,
                                const struct edit_task *task, struct omo_edit_done *done)
{
    enum omo_status status = change_traces(lock, task, done);
    const struct row_form *form;
    for (int i = 0; status == OMO_OK && (form = form_at(i)); i++)
        status = change_table(lock, form, task, done);
    return status;
}

enum omo_status omo_edit_count(const struct folder_lock *lock, const char *person,
                               int *rows)
{
    enum omo_status status = OMO_OK;
    const struct row_form *form;
    *rows = 0;
    for (int i = 0; status == OMO_OK && (form = form_at(i)); i++) {
        struct ledger ledger;
        size_t at = omo_edit_person_at(form);
        if (at == SIZE_MAX)
            continue;
        status = omo_ledger_load(&ledger, lock, form);
        for (size_t k = 0; status == OMO_OK && k < ledger.count; k++)
            *rows += !strcmp(ledger.rows + k * form->row_bytes + at, person);
        g_free(ledger.rows);
    }
    return status;
}
