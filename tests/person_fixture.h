/** Invented rows of one person, P001, in the folder of record_fixture.h. */
#ifndef PERSON_FIXTURE_H
#define PERSON_FIXTURE_H

#include "omogon/care.h"
#include "omogon/record.h"
#include "omogon/tables.h"

#define TODAY "2026-11-26"

extern struct omo_person_state person_state; /* as person_load() found it */

/** Puts a row into the table of its kind. */
void person_append(enum omo_table_kind kind, void *row);
void person_fact(const char *item, const char *value, const char *set_on);
void person_affected(const char *side);
void person_limit(const char *movement, const char *side, double ceiling_deg,
                  const char *allowed, const char *until, const char *status);
/** A measured movement of a day, active, one arm; `number` makes its id and its mean. */
struct omo_session_row person_session(int number, const char *date);
void person_record(const struct omo_session_row *row);
void person_note(const char *item, double value, const char *date);
/** What is told on a day without anything to be careful about. */
void person_calm_day(const char *date);
/** Pain 1 at the start and at most. */
struct omo_step_row person_step(const char *kind, const char *result, const char *date);

/** Loads the state anew; nothing may be said. */
void person_load(void);
/** Frees it, and the folder. */
void person_end(void);

#endif
