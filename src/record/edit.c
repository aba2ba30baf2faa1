#include "omogon/edit.h"

#include <stdio.h>
#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/tables.h"
#include "omogon/text.h"
#include "record/edit_files.h"
#include "record/record_private.h"

static const char *const words[] = {"withdraw", "restore", "replace"};

/** Adds a row to changes.csv. */
static enum omo_status write_down(const char *directory, struct omo_edit_row *row,
                                  const struct omo_edit_reason *why)
{
    struct omo_table *table = NULL;
    g_autoptr(GDateTime) now = g_date_time_new_now_utc();
    g_autofree char *text = g_date_time_format(now, "%Y-%m-%dT%H:%M:%SZ");
    omo_text_copy(row->changed_on, sizeof row->changed_on, text);
    omo_text_copy(row->changed_by, sizeof row->changed_by, why->by);
    omo_text_copy(row->reason, sizeof row->reason, why->reason);
    enum omo_status status = omo_table_open(directory, OMO_TABLE_CHANGES, &table);
    if (status == OMO_OK)
        status = omo_table_append(table, row);
    omo_table_close(table);
    return status;
}

/** The reason as a sentence at the end of a row's note, cut where the note is full. */
static void add_note(struct omo_session_row *row, const char *what,
                     const struct omo_edit_reason *why)
{
    omo_text_add(row->note, sizeof row->note, "%s%s by %s%s%s.", row->note[0] ? " " : "",
                 what, why->by, why->reason[0] ? ": " : "", why->reason);
}

static enum omo_status add_row(struct omo_record *record,
                               const struct omo_session_row *row)
{
    bool added = false;
    enum omo_status status = omo_record_append(record, row, &added);
    if (status == OMO_OK && !added) {
        omo_error("session %.8s is %s already", row->id, row->status);
        return OMO_ERR_ARG;
    }
    return status;
}

static bool find(struct omo_record *record, const char *id, struct omo_session_row *row)
{
    if (omo_record_find(record, id, row))
        return true;
    omo_error("there is no session %.8s in the record", id);
    return false;
}

enum omo_status omo_edit_session(struct omo_record *record, enum omo_edit_kind kind,
                                 const char *id, const char *with,
                                 const struct omo_edit_reason *why)
{
    static const char *const statuses[] = {"withdrawn", "ok", "replaced"};
    static const char *const sentences[] = {"Withdrawn", "Restored", "Replaced"};
    struct omo_session_row row, other;
    struct omo_edit_row change;
    if (!find(record, id, &row))
        return OMO_ERR_ARG;
    omo_table_row_init(OMO_TABLE_CHANGES, &change);
    if (kind == OMO_EDIT_REPLACE) {
        if (!find(record, with, &other))
            return OMO_ERR_ARG;
        if (!strcmp(id, with) || strcmp(other.status, "ok") != 0 ||
            strcmp(other.person, row.person) != 0) {
            omo_error("session %.8s cannot replace %.8s: it has to be another one of the "
                      "same person, and one that counts",
                      with, id);
            return OMO_ERR_ARG;
        }
        omo_text_copy(change.new_value, sizeof change.new_value, with);
        omo_text_copy(other.replaces, sizeof other.replaces, id);
    } else {
        omo_text_copy(change.new_value, sizeof change.new_value, statuses[kind]);
    }
    omo_text_copy(change.what, sizeof change.what, words[kind]);
    omo_text_copy(change.person, sizeof change.person, row.person);
    omo_text_copy(change.row, sizeof change.row, id);
    omo_text_copy(change.old_value, sizeof change.old_value, row.status);
    omo_text_copy(row.status, sizeof row.status, statuses[kind]);
    add_note(&row, sentences[kind], why);
    enum omo_status status = add_row(record, &row);
    if (status == OMO_OK && kind == OMO_EDIT_REPLACE)
        status = add_row(record, &other);
    if (status == OMO_OK)
        status = write_down(record->sessions.lock.folder, &change, why);
    return status;
}

/* ---- people -------------------------------------------------------------------------
 */

/** Does it under the lock; the row of changes.csv comes after it. */
static enum omo_status change_person(const char *directory, const struct edit_task *task,
                                     struct omo_edit_done *done)
{
    struct folder_lock lock;
    int rows = 0, taken = 0;
    *done = (struct omo_edit_done){0};
    if (!omo_pseudonym_valid(task->person) ||
        (task->to[0] && !omo_pseudonym_valid(task->to))) {
        omo_error("\"%s\" is no code; use 1 to 16 letters and digits, never a name or a "
                  "date",
                  omo_pseudonym_valid(task->person) ? task->to : task->person);
        return OMO_ERR_ARG;
    }
    folder_lock_open(&lock, directory);
    if (lock.file < 0) {
        say_unsaved(directory, lock.error);
        return OMO_ERR_IO;
    }
    enum omo_status status = folder_lock_take(&lock);
    if (status == OMO_OK) {
        status = edit_count(directory, task->person, &rows);
        if (status == OMO_OK && task->to[0])
            status = edit_count(directory, task->to, &taken);
        if (status == OMO_OK && rows == 0) {
            omo_error("there is nobody with the code %s in the record", task->person);
            status = OMO_ERR_ARG;
        } else if (status == OMO_OK && taken > 0) {
            omo_error("the code %s is taken; choose another, or delete that person first",
                      task->to);
            status = OMO_ERR_ARG;
        }
        if (status == OMO_OK)
            status = edit_run(directory, task, done);
        folder_lock_release(&lock);
    }
    folder_lock_close(&lock);
    return status;
}

enum omo_status omo_edit_rename(const char *directory, const char *from, const char *to,
                                const struct omo_edit_reason *why,
                                struct omo_edit_done *done)
{
    struct edit_task task = {.to = ""};
    struct omo_edit_row change;
    omo_text_copy(task.person, sizeof task.person, from);
    omo_text_copy(task.to, sizeof task.to, to[0] ? to : "-"); /* no code; is refused */
    enum omo_status status = change_person(directory, &task, done);
    if (status != OMO_OK)
        return status;
    omo_table_row_init(OMO_TABLE_CHANGES, &change);
    omo_text_copy(change.person, sizeof change.person, to);
    omo_text_copy(change.what, sizeof change.what, "rename");
    omo_text_copy(change.old_value, sizeof change.old_value, from);
    omo_text_copy(change.new_value, sizeof change.new_value, to);
    return write_down(directory, &change, why);
}

enum omo_status omo_edit_delete(const char *directory, const char *person,
                                const struct omo_edit_reason *why,
                                struct omo_edit_done *done)
{
    struct edit_task task = {.to = ""};
    struct omo_edit_row change;
    omo_text_copy(task.person, sizeof task.person, person);
    enum omo_status status = change_person(directory, &task, done);
    if (status != OMO_OK)
        return status;
    omo_table_row_init(OMO_TABLE_CHANGES, &change);
    omo_text_copy(change.what, sizeof change.what, "delete");
    omo_text_add(change.new_value, sizeof change.new_value, "%d rows, %d files",
                 done->rows, done->files);
    return write_down(directory, &change, why);
}
