#include "omogon/extract.h"

#include <string.h>

#include <glib.h>

#include "omogon/log.h"
#include "omogon/tables.h"
#include "record/edit_files.h"
#include "record/lock.h"

/** Whether a row belongs to the person, or is a set-up that their sessions name. */
static bool wanted(const struct row_form *form, const char *row, const char *person,
                   GHashTable *set_ups)
{
    size_t at = omo_edit_person_at(form);
    if (at != SIZE_MAX)
        return !strcmp(row + at, person);
    return g_hash_table_contains(set_ups, row + form->columns[0].offset);
}

static enum omo_status extract_table(const struct folder_lock *lock,
                                     const struct row_form *form, const char *person,
                                     GHashTable *set_ups, omo_extract_file hook,
                                     void *user, int *rows)
{
    struct ledger ledger;
    struct omo_csv_text text = {0};
    int count = 0;
    enum omo_status status = omo_ledger_load(&ledger, lock, form);
    for (size_t i = 0; status == OMO_OK && i < ledger.count; i++) {
        const char *row = ledger.rows + i * form->row_bytes;
        if (!wanted(form, row, person, set_ups))
            continue;
        omo_row_write(form, row, &text);
        count++;
        if (form == &omo_session_form)
            g_hash_table_add(
                set_ups,
                g_strdup(((const struct omo_session_row *)(const void *)row)->set_up));
    }
    g_free(ledger.rows);
    if (status == OMO_OK && text.failed)
        status = OMO_ERR_MEMORY;
    if (status == OMO_OK && count > 0) {
        g_autofree char *whole = g_strconcat(form->header, "\n", text.bytes, NULL);
        status = hook(form->file, whole, strlen(whole), user);
    }
    omo_csv_text_free(&text);
    *rows += count;
    return status;
}

enum omo_status omo_record_extract(const char *directory, const char *person,
                                   omo_extract_file hook, void *user)
{
    g_autoptr(GHashTable) set_ups =
        g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    struct folder_lock lock;
    int rows = 0;
    omo_folder_lock_open(&lock, directory);
    enum omo_status status = omo_folder_lock_take(&lock);
    if (status == OMO_OK) {
        status =
            extract_table(&lock, &omo_session_form, person, set_ups, hook, user, &rows);
        g_hash_table_remove(set_ups, "");
        for (int kind = 0; status == OMO_OK && kind < OMO_TABLE_COUNT; kind++)
            status = extract_table(&lock, omo_table_form((enum omo_table_kind)kind),
                                   person, set_ups, hook, user, &rows);
        omo_folder_lock_release(&lock);
    }
    omo_folder_lock_close(&lock);
    if (status == OMO_OK && rows == 0) {
        omo_error("there is nobody with the code %s in the record", person);
        status = OMO_ERR_EMPTY;
    }
    return status;
}
