#include <string.h>

#include "omogon/tables.h"
#include "omogon/text.h"
#include "record/ledger.h"
#include "record/record_private.h"

/* Of the cells as they are written, so that what is equal in the file has one id. */
static void identify(const struct row_form *form, struct omo_set_up_row *row)
{
    struct omo_id *id = omo_id_create();
    struct omo_session_field field;

    for (int i = 1; omo_row_field(form, row, i, &field); i++)
        omo_id_add_text(id, field.name, field.text);
    omo_id_finish(id, row->id);
}

static bool is_there(const struct ledger *ledger, const char *id)
{
    const struct omo_set_up_row *row;

    for (size_t i = 0; (row = omo_ledger_row(ledger, i)) != NULL; i++)
        if (strcmp(row->id, id) == 0)
            return true;
    return false;
}

enum omo_status omo_record_set_up(struct omo_record *record, struct omo_set_up_row *row)
{
    const struct row_form *form = omo_table_form(OMO_TABLE_SET_UPS);
    struct omo_set_up_row whole = *row;
    struct ledger ledger;
    enum omo_status status = omo_ledger_open(&ledger, record->sessions.lock.folder, form);

    if (status != OMO_OK)
        return status;
    identify(form, &whole);
    if (!is_there(&ledger, whole.id)) {
        if (ledger.lock.file < 0) {
            omo_say_unsaved(ledger.lock.folder, ledger.lock.error);
            status = OMO_ERR_IO;
        } else {
            status = omo_ledger_append(&ledger, &whole);
        }
    }
    omo_ledger_unlock(&ledger);
    omo_ledger_close(&ledger);
    if (status == OMO_OK)
        *row = whole;
    return status;
}
