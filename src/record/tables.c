#include "omogon/tables.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

#include "omogon/text.h"
#include "record/ledger.h"

#define ID_BYTES ((TABLE_ID_BYTES - 1) / 2)

struct omo_table {
    enum omo_table_kind kind;
    struct ledger ledger;
};

const char *omo_table_file(enum omo_table_kind kind)
{
    return omo_table_form(kind)->file;
}

const char *omo_table_header(enum omo_table_kind kind)
{
    return omo_table_form(kind)->header;
}

bool omo_table_field(enum omo_table_kind kind, const void *row, int index,
                     struct omo_session_field *field)
{
    return omo_row_field(omo_table_form(kind), row, index, field);
}

void omo_table_row_init(enum omo_table_kind kind, void *row)
{
    omo_row_clear(omo_table_form(kind), row);
    switch (kind) {
    case OMO_TABLE_STEPS: {
        struct omo_step_row *step = row;

        omo_text_copy(step->version, sizeof step->version, OMO_VERSION);
        break;
    }
    case OMO_TABLE_NOTES: {
        struct omo_note_row *note = row;

        omo_text_copy(note->status, sizeof note->status, "ok");
        break;
    }
    case OMO_TABLE_LIMITS: {
        struct omo_limit_row *limit = row;

        omo_text_copy(limit->status, sizeof limit->status, "ok");
        break;
    }
    case OMO_TABLE_SET_UPS: {
        struct omo_set_up_row *set_up = row;

        omo_text_copy(set_up->version, sizeof set_up->version, OMO_VERSION);
        break;
    }
    case OMO_TABLE_SHEET:
    case OMO_TABLE_PEOPLE:
    case OMO_TABLE_CHANGES:
    case OMO_TABLE_COUNT:
        break;
    }
}

enum omo_status omo_table_open(const char *directory, enum omo_table_kind kind,
                               struct omo_table **out)
{
    struct omo_table *table;
    enum omo_status status;

    if ((int)kind < 0 || kind >= OMO_TABLE_COUNT)
        return OMO_ERR_ARG;
    table = calloc(1, sizeof *table);
    if (table == NULL)
        return OMO_ERR_MEMORY;
    table->kind = kind;
    status = omo_ledger_open(&table->ledger, directory, omo_table_form(kind));
    if (status != OMO_OK) {
        free(table);
        return status;
    }
    omo_ledger_unlock(&table->ledger);
    *out = table;
    return OMO_OK;
}

void omo_table_close(struct omo_table *table)
{
    if (table == NULL)
        return;
    omo_ledger_close(&table->ledger);
    free(table);
}

enum omo_table_kind omo_table_kind_of(const struct omo_table *table)
{
    return table->kind;
}

enum omo_status omo_table_refresh(struct omo_table *table)
{
    enum omo_status status = omo_ledger_lock(&table->ledger);

    if (status == OMO_OK)
        omo_ledger_unlock(&table->ledger);
    return status;
}

size_t omo_table_count(const struct omo_table *table)
{
    return table->ledger.count;
}

const void *omo_table_row(const struct omo_table *table, size_t index)
{
    return omo_ledger_row(&table->ledger, index);
}

bool omo_table_random_id(char out[TABLE_ID_BYTES])
{
    unsigned char bytes[ID_BYTES];

    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
        return false;
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(out + 2 * i, 3, "%02x", bytes[i]);
    return true;
}

enum omo_status omo_table_append(struct omo_table *table, void *row)
{
    const struct column *key = &table->ledger.form->columns[0];
    char *id = (char *)row + key->offset;
    bool fill_in = id[0] == '\0';
    enum omo_status status;

    if (fill_in && (key->size < TABLE_ID_BYTES || !omo_table_random_id(id)))
        return OMO_ERR_ARG; /* a person without a pseudonym */
    if (table->ledger.lock.file < 0) {
        omo_say_unsaved(table->ledger.lock.folder, table->ledger.lock.error);
        status = OMO_ERR_IO;
    } else {
        status = omo_ledger_lock(&table->ledger);
        if (status == OMO_OK) {
            status = omo_ledger_append(&table->ledger, row);
            omo_ledger_unlock(&table->ledger);
        }
    }
    if (status != OMO_OK && fill_in)
        id[0] = '\0';
    return status;
}
