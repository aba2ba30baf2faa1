/** What the parts of the overview share. */
#ifndef OMO_APP_OVERVIEW_PARTS_H
#define OMO_APP_OVERVIEW_PARTS_H

#include "app/overview.h"
#include "omogon/care.h"
#include "omogon/progress.h"

/** What all sections are made from. */
struct overview_reading {
    const struct omo_person_tables *tables;
    const char *person, *today;
    const struct omo_progress *progress;
    const struct omo_person_state *state;
    GPtrArray *steps, *notes; /* that count, newest first */
};

/** A new item of one row. */
struct omo_overview_item *omo_overview_add(struct omo_overview_section *section);
/** Adds a named number; `key` is constant. */
void omo_overview_number(struct omo_overview_item *item, const char *key, double value);
/** "108.2"; lent, eight at a time. */
const char *omo_overview_shown(double value, int decimals);

/* ---- overview_notes.c: out of what was written down ----------------------------------
 */

void omo_overview_nights(const struct overview_reading *r,
                         struct omo_overview_section *section);
void omo_overview_steps(const struct overview_reading *r,
                        struct omo_overview_section *section);
void omo_overview_tenderness(const struct overview_reading *r,
                             struct omo_overview_section *section);
void omo_overview_pendulum(const struct overview_reading *r,
                           struct omo_overview_section *section);
void omo_overview_activities(const struct overview_reading *r,
                             struct omo_overview_section *section);

#endif
