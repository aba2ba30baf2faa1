#include "omogon/record.h"

#include <stdlib.h>
#include <string.h>

#include <glib.h>

#include "omogon/text.h"
#include "record/record_private.h"

const char *omo_session_header(void)
{
    return omo_session_form.header;
}

void omo_session_row_init(struct omo_session_row *row)
{
    omo_row_clear(&omo_session_form, row);
    omo_text_copy(row->version, sizeof row->version, OMO_VERSION);
    omo_text_copy(row->status, sizeof row->status, "ok");
}

bool omo_session_field(const struct omo_session_row *row, int index,
                       struct omo_session_field *field)
{
    return omo_row_field(&omo_session_form, row, index, field);
}

/* ---- opening and asking ---------------------------------------------------------- */

enum omo_status omo_record_open(const char *directory, bool flat, struct omo_record **out)
{
    struct omo_record *record = calloc(1, sizeof *record);
    enum omo_status status;

    if (record == NULL)
        return OMO_ERR_MEMORY;
    status = omo_ledger_open(&record->sessions, directory, &omo_session_form);
    if (status != OMO_OK) {
        free(record);
        return status;
    }
    record->flat = flat;
    if (record->sessions.lock.file >= 0)
        omo_trace_tidy(record);
    omo_ledger_unlock(&record->sessions);
    *out = record;
    return OMO_OK;
}

void omo_record_close(struct omo_record *record)
{
    if (record == NULL)
        return;
    omo_ledger_close(&record->sessions);
    if (record->claimed != NULL)
        g_ptr_array_free(record->claimed, TRUE);
    free(record);
}

const struct omo_session_row *omo_record_last_with(const struct omo_record *record,
                                                   const char *id)
{
    for (size_t i = omo_record_count(record); i > 0; i--) {
        const struct omo_session_row *row = omo_record_row(record, i - 1);

        if (strcmp(row->id, id) == 0)
            return row;
    }
    return NULL;
}

bool omo_record_find(struct omo_record *record, const char *id,
                     struct omo_session_row *row)
{
    const struct omo_session_row *found;

    if (omo_ledger_lock(&record->sessions) != OMO_OK)
        return false;
    found = omo_record_last_with(record, id);
    if (found != NULL)
        *row = *found;
    omo_ledger_unlock(&record->sessions);
    return found != NULL;
}

bool omo_record_has(struct omo_record *record, const char *id)
{
    struct omo_session_row row;

    return omo_record_find(record, id, &row) && strcmp(row.status, "ok") == 0;
}

size_t omo_record_count(const struct omo_record *record)
{
    return record->sessions.count;
}

const struct omo_session_row *omo_record_row(const struct omo_record *record,
                                             size_t index)
{
    return omo_ledger_row(&record->sessions, index);
}

bool omo_record_names_trace(const struct omo_record *record, const char *name)
{
    for (size_t i = 0; i < omo_record_count(record); i++)
        if (strcmp(omo_record_row(record, i)->trace, name) == 0)
            return true;
    return false;
}

enum omo_status omo_record_append(struct omo_record *record,
                                  const struct omo_session_row *row, bool *added)
{
    const struct omo_session_row *before;
    enum omo_status status;

    if (row->id[0] == '\0')
        return OMO_ERR_ARG;
    if (record->sessions.lock.file < 0) {
        omo_say_unsaved(record->sessions.lock.folder, record->sessions.lock.error);
        return OMO_ERR_IO;
    }
    status = omo_ledger_lock(&record->sessions);
    if (status != OMO_OK)
        return status;
    before = omo_record_last_with(record, row->id);
    if (before != NULL && strcmp(before->status, row->status) == 0 &&
        strcmp(before->replaces, row->replaces) == 0) {
        *added = false;
    } else {
        status = omo_ledger_append(&record->sessions, row);
        if (status == OMO_OK)
            *added = true;
    }
    omo_ledger_unlock(&record->sessions);
    return status;
}
