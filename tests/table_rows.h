/** Invented rows of the tables beside sessions.csv. */
#ifndef TABLE_ROWS_H
#define TABLE_ROWS_H

#include "omogon/tables.h"

union table_row {
    struct omo_step_row step;
    struct omo_note_row note;
    struct omo_limit_row limit;
    struct omo_sheet_row sheet;
    struct omo_person_row person;
    struct omo_set_up_row set_up;
    struct omo_edit_row edit;
};

/** Without an id. */
void invented_row(enum omo_table_kind kind, union table_row *row);

#endif
