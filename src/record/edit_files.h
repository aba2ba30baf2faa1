/** A person renamed or deleted in all files of a folder, whatever interrupts it. */
#ifndef RECORD_EDIT_FILES_H
#define RECORD_EDIT_FILES_H

#include "omogon/edit.h"
#include "record/ledger.h"

/** What is done to a person. */
struct edit_task {
    char person[24];
    char to[24]; /* "": deleted */
};

/** Under the folder's lock: ends what a killed run began. One sentence on failure. */
OMO_MUST_CHECK enum omo_status edit_resume(const char *folder);
/** Under the folder's lock: writes down what is going to be done, then does it. */
OMO_MUST_CHECK enum omo_status edit_run(const char *folder, const struct edit_task *task,
                                        struct omo_edit_done *done);
/** Under the folder's lock: rows of a person in all tables. */
OMO_MUST_CHECK enum omo_status edit_count(const char *folder, const char *person,
                                          int *rows);

/** Reads a table without its lock, which is the caller's; g_free() its rows. A missing
 * file has none. One sentence on failure. */
OMO_MUST_CHECK enum omo_status edit_read_table(const char *folder,
                                               const struct row_form *form,
                                               struct ledger *ledger);
/** Where a row's person stands; SIZE_MAX: the table has none. */
size_t edit_person_at(const struct row_form *form);

#endif
