/** A person's whole state out of the record, as the rules of care.h want it. */
#ifndef OMO_APP_PERSON_STATE_H
#define OMO_APP_PERSON_STATE_H

#include "omogon/care.h"

/**
 * Reads what a record holds of `person`. `today` is YYYY-MM-DD. Nothing known is no
 * fault: the state is then empty and the affected side unknown. Faults as
 * omo_record_open(), and of models/care.ini. Give *out back to omo_person_state_free().
 *
 * sheet.csv, by item (the last row counts):
 *   history:NAME         yes or no, NAME as omo_history_name()
 *   taught:AREA          yes or no, AREA one whose omo_area.taught is set
 *   weight               none, or the most that is allowed in kg
 *   mark                 none, or MOVEMENT:SIDE:DEGREES, with :above to let it rise above
 *                        the median
 *   taken-up:AREA        what was pressed there before this row is left out
 *   arms                 one or both: rows of sessions.csv measured otherwise are left
 * out programme, activity:1 .. activity:3   not part of the state notes.csv, for how sore
 * a day was where no step of that day says so, by item: pain-now, pain-worst-24h (0..10),
 * woken, constant, before-end (1 yes, 0 no) Of a day's sessions of one movement, side and
 * mode the last one counts. What is not known of a day counts as the more careful answer,
 * as today's does. A limit counts until it is withdrawn or another one takes its place,
 * expired or not.
 */
OMO_MUST_CHECK enum omo_status omo_person_state_load(const char *directory,
                                                     const char *person,
                                                     const char *today,
                                                     struct omo_person_state *out);
/** NULL and an empty state are fine. */
void omo_person_state_free(struct omo_person_state *state);

/** The practitioner's own mark, as its value stands in the sheet. */
struct omo_told_mark {
    char movement[24], side[8];
    double deg;
    bool above;
};
/** False when the value is none, or is not understood. */
bool omo_mark_parse(const char *value, struct omo_told_mark *out);

struct omo_person_tables;
/** The same from tables that are open already. */
OMO_MUST_CHECK enum omo_status omo_person_state_read(
    const struct omo_person_tables *tables, const char *person, const char *today,
    struct omo_person_state *out);

#endif
