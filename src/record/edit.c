#include "omogon/edit.h"

#include <stdio.h>
#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/tables.h"
#include "omogon/text.h"
#include "record/journal.h"
#include "record/record_private.h"

static const char *const words[] = {"withdraw", "restore", "replace"};

/** Completes a row of changes.csv and puts it at the end of what is done. */
static enum omo_status add_change(struct journal *journal, struct omo_edit_row *row,
                                  const struct omo_edit_reason *why)
{
    g_autoptr(GDateTime) now = g_date_time_new_now_utc();
    g_autofree char *text = g_date_time_format(now, "%Y-%m-%dT%H:%M:%SZ");
    if (!omo_table_random_id(row->id))
        return OMO_ERR_IO;
    omo_text_copy(row->changed_on, sizeof row->changed_on, text);
    omo_text_copy(row->changed_by, sizeof row->changed_by, why->by);
    omo_text_copy(row->reason, sizeof row->reason, why->reason);
    omo_journal_add(journal, omo_table_form(OMO_TABLE_CHANGES), row);
    return OMO_OK;
}

/** The reason as a sentence at the end of a row's note, cut where the note is full. */
static void add_note(struct omo_session_row *row, const char *what,
                     const struct omo_edit_reason *why)
{
    omo_text_add(row->note, sizeof row->note, "%s%s by %s%s%s.", row->note[0] ? " " : "",
                 what, why->by, why->reason[0] ? ": " : "", why->reason);
}

/** The row of a session that counts; a sentence where there is none. */
static bool find(const struct omo_record *record, const char *id,
                 struct omo_session_row *row)
{
    const struct omo_session_row *found = omo_record_last_with(record, id);
    if (found)
        *row = *found;
    else
        omo_error("there is no session %.8s in the record", id);
    return found != NULL;
}

/** With the lock held: the rows that the change adds. */
static enum omo_status plan(const struct omo_record *record, enum omo_edit_kind kind,
                            const char *id, const char *with,
                            const struct omo_edit_reason *why, struct journal *journal)
{
    static const char *const statuses[] = {"withdrawn", "ok", "replaced"};
    static const char *const sentences[] = {"Withdrawn", "Restored", "Replaced"};
    struct omo_session_row row, other;
    struct omo_edit_row change;
    if (!find(record, id, &row))
        return OMO_ERR_ARG;
    if (!strcmp(row.status, statuses[kind])) {
        omo_error("session %.8s is %s already", id, row.status);
        return OMO_ERR_ARG;
    }
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
        omo_text_copy(other.replaces, sizeof other.replaces, id);
    }
    omo_text_copy(change.new_value, sizeof change.new_value,
                  kind == OMO_EDIT_REPLACE ? with : statuses[kind]);
    omo_text_copy(change.what, sizeof change.what, words[kind]);
    omo_text_copy(change.person, sizeof change.person, row.person);
    omo_text_copy(change.row, sizeof change.row, id);
    omo_text_copy(change.old_value, sizeof change.old_value, row.status);
    omo_text_copy(row.status, sizeof row.status, statuses[kind]);
    add_note(&row, sentences[kind], why);
    omo_journal_add(journal, &omo_session_form, &row);
    if (kind == OMO_EDIT_REPLACE)
        omo_journal_add(journal, &omo_session_form, &other);
    return add_change(journal, &change, why);
}

enum omo_status omo_edit_session(struct omo_record *record, enum omo_edit_kind kind,
                                 const char *id, const char *with,
                                 const struct omo_edit_reason *why)
{
    const struct folder_lock *lock = &record->sessions.lock;
    struct journal journal;
    if (lock->file < 0) {
        omo_say_unsaved(lock->folder, lock->error);
        return OMO_ERR_IO;
    }
    enum omo_status status = omo_ledger_lock(&record->sessions);
    if (status != OMO_OK)
        return status;
    omo_journal_init(&journal);
    status = plan(record, kind, id, with, why, &journal);
    if (status == OMO_OK)
        status = omo_journal_run(lock, &journal, NULL);
    omo_journal_clear(&journal);
    omo_ledger_unlock(&record->sessions);
    return status;
}

/* ---- people -------------------------------------------------------------------------
 */

/** With the lock held: whether the codes are what the change needs. */
static enum omo_status codes_fit(const struct folder_lock *lock,
                                 const struct edit_task *task, int *rows)
{
    int taken = 0;
    enum omo_status status = omo_edit_count(lock, task->person, rows);
    if (status == OMO_OK && task->to[0])
        status = omo_edit_count(lock, task->to, &taken);
    if (status == OMO_OK && *rows == 0) {
        omo_error("there is nobody with the code %s in the record", task->person);
        status = OMO_ERR_ARG;
    } else if (status == OMO_OK && taken > 0) {
        omo_error("the code %s is taken; choose another, or delete that person first",
                  task->to);
        status = OMO_ERR_ARG;
    }
    return status;
}

/** Under the lock, and its row of changes.csv with it. */
static enum omo_status change_person(const char *directory, const struct edit_task *task,
                                     const struct omo_edit_reason *why,
                                     struct omo_edit_done *done)
{
    struct folder_lock lock;
    struct journal journal;
    struct omo_edit_row change;
    int rows = 0;
    *done = (struct omo_edit_done){0};
    if (!omo_pseudonym_valid(task->person) ||
        (task->to[0] && !omo_pseudonym_valid(task->to))) {
        omo_error("\"%s\" is no code; use 1 to 16 letters and digits, never a name or a "
                  "date",
                  omo_pseudonym_valid(task->person) ? task->to : task->person);
        return OMO_ERR_ARG;
    }
    omo_folder_lock_open(&lock, directory);
    if (lock.file < 0) {
        omo_say_unsaved(directory, lock.error);
        return OMO_ERR_IO;
    }
    enum omo_status status = omo_folder_lock_take(&lock);
    if (status == OMO_OK) {
        omo_journal_init(&journal);
        journal.task = *task;
        status = codes_fit(&lock, task, &rows);
        if (status == OMO_OK) {
            omo_table_row_init(OMO_TABLE_CHANGES, &change);
            omo_text_copy(change.person, sizeof change.person, task->to);
            omo_text_copy(change.what, sizeof change.what,
                          task->to[0] ? "rename" : "delete");
            if (task->to[0]) {
                omo_text_copy(change.old_value, sizeof change.old_value, task->person);
                omo_text_copy(change.new_value, sizeof change.new_value, task->to);
            } else {
                omo_text_add(change.new_value, sizeof change.new_value, "%d rows", rows);
            }
            status = add_change(&journal, &change, why);
        }
        if (status == OMO_OK)
            status = omo_journal_run(&lock, &journal, done);
        omo_journal_clear(&journal);
        omo_folder_lock_release(&lock);
    }
    omo_folder_lock_close(&lock);
    return status;
}

enum omo_status omo_edit_rename(const char *directory, const char *from, const char *to,
                                const struct omo_edit_reason *why,
                                struct omo_edit_done *done)
{
    struct edit_task task = {.to = ""};
    omo_text_copy(task.person, sizeof task.person, from);
    omo_text_copy(task.to, sizeof task.to, to[0] ? to : "-"); /* no code; is refused */
    return change_person(directory, &task, why, done);
}

enum omo_status omo_edit_delete(const char *directory, const char *person,
                                const struct omo_edit_reason *why,
                                struct omo_edit_done *done)
{
    struct edit_task task = {.to = ""};
    omo_text_copy(task.person, sizeof task.person, person);
    return change_person(directory, &task, why, done);
}
