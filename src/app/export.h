/** What is taken out of the record for other programs, and the writers of each format. */
#ifndef OMO_APP_EXPORT_H
#define OMO_APP_EXPORT_H

#include <glib.h>

#include "app/person_tables.h"
#include "omogon/record.h"

/** Sessions that count, of people with a pseudonym, measured at a known time. */
struct omo_export {
    const struct omo_person_tables *tables;
    char directory[4096];
    GPtrArray *rows;       /**< const struct omo_session_row, by person, then by time */
    bool share;            /**< dates are shifted, and every id is another one */
    guint8 salt[32];       /**< of a shared copy: by chance, and kept nowhere */
    char installation[37]; /**< a UUID of this record, that says nothing of a machine */
};

/** The files of a folder in the making: hidden beside its place until all are whole. */
struct omo_export_folder {
    char *path, *hidden;
};
/** `path` has to be missing or an empty folder. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_export_folder_begin(const char *path,
                                                       struct omo_export_folder *out);
/** Writes a file, with the folders above it. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_export_add(const struct omo_export_folder *folder,
                                              const char *name, const char *bytes,
                                              size_t size);
/** Puts the folder in its place, or takes all away when `status` is no OMO_OK. Returns
 *  status, or what failed. */
enum omo_status omo_export_folder_end(struct omo_export_folder *folder,
                                      enum omo_status status);

/** What an angle is, in words for people of the trade and in no standard's name for one
 *  in three dimensions: "projected thoracohumeral elevation, sagittal plane". Constant.
 */
const char *omo_export_quantity(const struct omo_session_row *row);
/** Age at that session in whole years, at most 89; -1 not known. */
int omo_export_age(const struct omo_export *export, const struct omo_session_row *row);
/**
 * The session's start. Shifted: so that a person's first one is 1925-01-05T10:00:00 and
 * all distances stay; without an offset then, else with "Z". `decimals` of a second. All
 * formats take their times from here, so they agree.
 */
void omo_export_time(const struct omo_export *export, const struct omo_session_row *row,
                     bool shifted, int decimals, char *out, size_t size);
/** The same to the second and always with "Z", without which neither a time of FHIR nor a
 *  datetime of Table Schema is one; shifted where the copy is shared. */
void omo_export_instant(const struct omo_export *export,
                        const struct omo_session_row *row, char out[40]);
/** The trace of a session; OMO_ERR_EMPTY without one. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_export_trace(const struct omo_export *export,
                                                const struct omo_session_row *row,
                                                struct omo_trace *out);
/** The set-up of a session; NULL: not known. */
const struct omo_set_up_row *omo_export_set_up(const struct omo_export *export,
                                               const struct omo_session_row *row);

/* ---- ids: export_ids.c ---------------------------------------------------------------
 */

/** Draws the salt of a shared copy; nothing for another. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_export_salt(struct omo_export *export);
/**
 * 32 hex digits made of a kind and a key. Not shared: the same for the same, in every
 * export. Shared: HMAC-SHA-256 (RFC 2104) under the salt of this copy, so the same within
 * the copy, and nothing leads from it to the ids of another one.
 */
void omo_export_id(const struct omo_export *export, const char *kind, const char *key,
                   char out[33]);
/** The same as a UUID (RFC 9562, version 8). */
void omo_export_uuid(const struct omo_export *export, const char *kind, const char *key,
                     char out[37]);
/** An id of the record ("session", "set-up"): itself, or omo_export_id() of it where it
 *  is shared; empty stays empty. */
void omo_export_own_id(const struct omo_export *export, const char *kind, const char *id,
                       char out[33]);
/** Who it is: the pseudonym, or where it is shared a code for this copy alone. */
void omo_export_person(const struct omo_export *export, const char *person, char out[24]);

/* ---- formats: export_bids.c, export_table.c, export_fhir.c --------------------------
 */

/** Each writes all of it, or nothing, with one sentence. */
OMO_MUST_CHECK enum omo_status omo_export_bids(const struct omo_export *export,
                                               const char *target);
OMO_MUST_CHECK enum omo_status omo_export_table(const struct omo_export *export,
                                                const char *target);
OMO_MUST_CHECK enum omo_status omo_export_fhir(const struct omo_export *export,
                                               const char *target);

#endif
