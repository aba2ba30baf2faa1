/**
 * Changes of what was written down: a session is withdrawn, restored or replaced by a
 * further row; a person is renamed or deleted in every file. None is silent: each adds a
 * row to changes.csv.
 */
#ifndef OMOGON_EDIT_H
#define OMOGON_EDIT_H

#include "omogon/record.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What happens to a session. */
enum omo_edit_kind {
    OMO_EDIT_WITHDRAW, /**< counts no longer; kept, marked */
    OMO_EDIT_RESTORE,  /**< counts again */
    OMO_EDIT_REPLACE,  /**< another one counts in its place */
};
/** Who changes it and why; lent. */
struct omo_edit_reason {
    const char *by;     /**< a code */
    const char *reason; /**< a sentence; "" none */
};

/**
 * Adds a row with the same id to sessions.csv, with its new status and the reason in its
 * note; for REPLACE also one of the session `with`, which names the older one. Then the
 * row of changes.csv. `id` and `with` are whole ids. One sentence on failure: OMO_ERR_ARG
 * for a session that is not there, or is what it should become already; OMO_ERR_IO.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_edit_session(
    struct omo_record *record, enum omo_edit_kind kind, const char *id, const char *with,
    const struct omo_edit_reason *why);

/** What a change of a person came to. */
struct omo_edit_done {
    int rows, files; /**< rows of all tables, and traces and stills */
};
/**
 * Gives a person another pseudonym, in all tables and in the names of traces and stills,
 * or deletes everything of a person; of that changes.csv keeps that it was done, not who
 * it was. Under the folder's lock; a run that is killed in the middle is finished by the
 * next program that opens the record. One sentence on failure: OMO_ERR_ARG for a code
 * that is none, for someone who is not there, or for a new code that is taken;
 * OMO_ERR_IO.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_edit_rename(const char *directory,
                                                       const char *from, const char *to,
                                                       const struct omo_edit_reason *why,
                                                       struct omo_edit_done *done);
/** See omo_edit_rename(). */
OMO_API OMO_MUST_CHECK enum omo_status omo_edit_delete(const char *directory,
                                                       const char *person,
                                                       const struct omo_edit_reason *why,
                                                       struct omo_edit_done *done);

#ifdef __cplusplus
}
#endif

#endif
