/** A person renamed or deleted in all files of a folder. */
#ifndef RECORD_EDIT_FILES_H
#define RECORD_EDIT_FILES_H

#include "omogon/edit.h"
#include "record/ledger.h"

/** What is done to a person. */
struct edit_task {
    char person[24]; /* "": nobody is renamed or deleted */
    char to[24];     /* "": deleted */
};

/** With the folder's lock held: changes all files; done again it changes what is left.
 * One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_edit_person(const struct folder_lock *lock,
                                               const struct edit_task *task,
                                               struct omo_edit_done *done);
/** With the folder's lock held: rows of a person in all tables. */
OMO_MUST_CHECK enum omo_status omo_edit_count(const struct folder_lock *lock,
                                              const char *person, int *rows);
/** Where a row's person stands; SIZE_MAX: the table has none. */
size_t omo_edit_person_at(const struct row_form *form);

#endif
