#include "record/journal.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "omogon/files.h"
#include "omogon/log.h"
#include "omogon/text.h"

/* While it is there a change is not ended. Every step of one can be done twice. */
#define JOURNAL_FILE ".change"
#define GROUP        "change"

void omo_journal_init(struct journal *journal)
{
    *journal = (struct journal){.task = {.to = ""}};
    journal->tables = g_ptr_array_new();
    journal->lines = g_ptr_array_new_with_free_func(free);
}

void omo_journal_clear(struct journal *journal)
{
    g_ptr_array_free(journal->tables, TRUE);
    g_ptr_array_free(journal->lines, TRUE);
}

void omo_journal_add(struct journal *journal, const struct row_form *form,
                     const void *row)
{
    struct omo_csv_text line = {0};
    omo_row_write(form, row, &line);
    if (line.failed)
        g_error("no memory for a row of %s", form->file); /* as GLib itself does */
    g_ptr_array_add(journal->tables, (gpointer)(uintptr_t)form);
    g_ptr_array_add(journal->lines, line.bytes);
}

/* ---- the file -----------------------------------------------------------------------
 */

static enum omo_status write_down(const struct journal *journal, const char *path)
{
    g_autoptr(GKeyFile) file = g_key_file_new();
    g_key_file_set_string(file, GROUP, "person", journal->task.person);
    g_key_file_set_string(file, GROUP, "to", journal->task.to);
    for (guint i = 0; i < journal->lines->len; i++) {
        const struct row_form *form = g_ptr_array_index(journal->tables, i);
        g_autofree char *group = g_strdup_printf("row %u", i);
        g_key_file_set_string(file, group, "table", form->file);
        g_key_file_set_string(file, group, "line", g_ptr_array_index(journal->lines, i));
    }
    gsize size = 0;
    g_autofree char *text = g_key_file_to_data(file, &size, NULL);
    return omo_file_write_atomic(path, text, size, RECORD_FILE_MODE);
}

static bool read_code(GKeyFile *file, const char *key, char *out, size_t size)
{
    g_autofree char *code = g_key_file_get_string(file, GROUP, key, NULL);
    if (!code || (code[0] && !omo_pseudonym_valid(code)))
        return false;
    omo_text_copy(out, size, code);
    return true;
}

/** False when it is not what write_down() wrote. */
static bool read_back(struct journal *journal, const char *path)
{
    g_autoptr(GKeyFile) file = g_key_file_new();
    if (!g_key_file_load_from_file(file, path, G_KEY_FILE_NONE, NULL) ||
        !read_code(file, "person", journal->task.person, sizeof journal->task.person) ||
        !read_code(file, "to", journal->task.to, sizeof journal->task.to))
        return false;
    for (guint i = 0;; i++) {
        g_autofree char *group = g_strdup_printf("row %u", i);
        if (!g_key_file_has_group(file, group))
            return true;
        g_autofree char *table = g_key_file_get_string(file, group, "table", NULL);
        g_autofree char *line = g_key_file_get_string(file, group, "line", NULL);
        const struct row_form *form = table ? omo_form_of_file(table) : NULL;
        if (!form || !line)
            return false;
        g_ptr_array_add(journal->tables, (gpointer)(uintptr_t)form);
        g_ptr_array_add(journal->lines, strdup(line));
    }
}

/* ---- doing it -----------------------------------------------------------------------
 */

/** Whether the last row that has this one's first cell is the row itself. */
static bool is_there(const struct ledger *ledger, const char *row, const char *line)
{
    const struct row_form *form = ledger->form;
    const char *key = row + form->columns[0].offset;
    for (size_t i = ledger->count; i > 0; i--) {
        const char *other = ledger->rows + (i - 1) * form->row_bytes;
        if (strcmp(other + form->columns[0].offset, key) != 0)
            continue;
        struct omo_csv_text text = {0};
        omo_row_write(form, other, &text);
        bool same = !text.failed && !strcmp(text.bytes, line);
        omo_csv_text_free(&text);
        return same;
    }
    return false;
}

static enum omo_status add_once(const struct folder_lock *lock,
                                const struct row_form *form, const char *line)
{
    struct ledger ledger;
    struct omo_csv_table *table = NULL;
    g_autofree char *row = g_malloc0(form->row_bytes);
    if (omo_csv_parse(line, strlen(line), &table, NULL) != OMO_OK ||
        !omo_row_read(form, table, 0, row)) {
        omo_csv_destroy(table);
        omo_error("%s/" JOURNAL_FILE " is damaged; a change may be made in part: move it "
                  "away and make the change again",
                  lock->folder);
        return OMO_ERR_FORMAT;
    }
    omo_csv_destroy(table);
    enum omo_status status = omo_ledger_load(&ledger, lock, form);
    if (status == OMO_OK && !is_there(&ledger, row, line))
        status = omo_ledger_append(&ledger, row);
    g_free(ledger.rows);
    return status;
}

static enum omo_status carry_out(const struct folder_lock *lock, const char *path,
                                 const struct journal *journal,
                                 struct omo_edit_done *done)
{
    enum omo_status status =
        journal->task.person[0] ? omo_edit_person(lock, &journal->task, done) : OMO_OK;
    for (guint i = 0; status == OMO_OK && i < journal->lines->len; i++)
        status = add_once(lock, g_ptr_array_index(journal->tables, i),
                          g_ptr_array_index(journal->lines, i));
    if (status == OMO_OK && unlink(path) != 0) {
        omo_error("%s cannot be removed: %s", path, g_strerror(errno));
        status = OMO_ERR_IO;
    }
    return status;
}

enum omo_status omo_journal_run(const struct folder_lock *lock,
                                const struct journal *journal, struct omo_edit_done *done)
{
    g_autofree char *path = g_build_filename(lock->folder, JOURNAL_FILE, NULL);
    struct omo_edit_done unasked = {0};
    enum omo_status status = write_down(journal, path);
    return status == OMO_OK ? carry_out(lock, path, journal, done ? done : &unasked)
                            : status;
}

enum omo_status omo_journal_resume(const struct folder_lock *lock)
{
    g_autofree char *path = g_build_filename(lock->folder, JOURNAL_FILE, NULL);
    struct omo_edit_done done = {0};
    struct journal journal;
    if (access(path, F_OK) != 0)
        return OMO_OK;
    omo_journal_init(&journal);
    enum omo_status status = OMO_ERR_FORMAT;
    if (read_back(&journal, path)) {
        omo_warning("a change of the record that was interrupted is ended now");
        status = carry_out(lock, path, &journal, &done);
    } else {
        omo_error(
            "%s is damaged; a change may be made in part: move it away and make the "
            "change again",
            path);
    }
    omo_journal_clear(&journal);
    return status;
}
