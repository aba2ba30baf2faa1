/** All that a record holds of one person, read; and which row of a thing counts. */
#ifndef OMO_APP_PERSON_TABLES_H
#define OMO_APP_PERSON_TABLES_H

#include <glib.h>

#include "omogon/record.h"
#include "omogon/tables.h"

struct omo_person_tables {
    struct omo_table *table[OMO_TABLE_COUNT];
    struct omo_record *record;
};

/** Opens sessions.csv and the tables beside it. Faults as omo_record_open(); nothing is
 *  open then. */
OMO_MUST_CHECK enum omo_status omo_person_tables_open(const char *directory,
                                                      struct omo_person_tables *out);
void omo_person_tables_close(struct omo_person_tables *tables);

/* Rows are lent until the next append or refresh; the last one about a thing counts. */

/** Of people.csv; NULL: not entered. */
const struct omo_person_row *omo_person_who(const struct omo_person_tables *tables,
                                            const char *person);
/** Of sheet.csv; NULL: never said. */
const struct omo_sheet_row *omo_person_fact(const struct omo_person_tables *tables,
                                            const char *person, const char *item);
/** Its value, "" when never said. */
const char *omo_person_value(const struct omo_person_tables *tables, const char *person,
                             const char *item);
/** What one arm is compared by: "left", "right", "both" also where the history says so,
 * "" where it is not known. */
const char *omo_person_affected(const struct omo_person_tables *tables,
                                const char *person);
/** Of limits.csv for a movement and side; NULL: none, or withdrawn. */
const struct omo_limit_row *omo_person_limit(const struct omo_person_tables *tables,
                                             const char *person, const char *movement,
                                             const char *side);

/** Pointers to rows, for the caller to free with g_ptr_array_unref(). */
/** Every limit in force, expired ones among them, in the order they were first set. */
GPtrArray *omo_person_limits(const struct omo_person_tables *tables, const char *person);
/** Notes and steps that count, newest first. */
GPtrArray *omo_person_notes(const struct omo_person_tables *tables, const char *person);
GPtrArray *omo_person_steps(const struct omo_person_tables *tables, const char *person);
/** Measured movements that count, newest first. */
GPtrArray *omo_person_sessions(const struct omo_person_tables *tables,
                               const char *person);
/** Everybody who is in any table, by the alphabet; texts are lent as rows are. */
GPtrArray *omo_person_all(const struct omo_person_tables *tables);

/** "YYYY-MM-DD" of a time as the tables write it; "" when it is none. */
void omo_date_of(const char *time, char out[16]);
/** Today where the computer stands, and now in UTC as the tables write it. */
void omo_today(char out[16]);
void omo_now_utc(char out[32]);

#endif
