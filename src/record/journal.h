/** What is being changed, written down before it is begun: a run that is killed in the
 *  middle is finished by whoever takes the folder's lock next. */
#ifndef RECORD_JOURNAL_H
#define RECORD_JOURNAL_H

#include <glib.h>

#include "record/edit_files.h"

/** A change as a whole: of a person, and rows that are added after it. */
struct journal {
    struct edit_task task;
    GPtrArray *tables; /* of const struct row_form */
    GPtrArray *lines;  /* as many, a row as it stands in its file; owned */
};

void omo_journal_init(struct journal *journal);
void omo_journal_clear(struct journal *journal);
/** Copies the row. */
void omo_journal_add(struct journal *journal, const struct row_form *form,
                     const void *row);

/** With the folder's lock held: writes the change down, makes it, and takes the journal
 *  away. *done may be NULL. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_journal_run(const struct folder_lock *lock,
                                               const struct journal *journal,
                                               struct omo_edit_done *done);
/** With the folder's lock held: ends what a killed run began. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_journal_resume(const struct folder_lock *lock);

#endif
