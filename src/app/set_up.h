/** Which camera, markers and settings a movement was measured with: set-ups.csv. */
#ifndef OMO_APP_SET_UP_H
#define OMO_APP_SET_UP_H

#include <stddef.h>

#include "app/options.h"
#include "omogon/tables.h"

/** What the plan does not know. */
struct omo_set_up_seen {
    const char *camera;   /**< "clip" for a file */
    const char *exposure; /**< "held", "automatic", "" */
    int width, height;
    double frames_per_second; /**< NAN: not known */
    const struct omo_trace_row *rows;
    size_t count;
};

/** The set-up of one movement; its id is still empty. */
void omo_set_up_fill(const struct omo_plan *plan, const struct omo_set_up_seen *seen,
                     struct omo_set_up_row *set_up);
/** Sees to it that the set-up is in the record and names it in the row. When it cannot be
 *  written a sentence says so, and the row names none: the movement counts more. */
void omo_set_up_save(struct omo_record *record, struct omo_set_up_row *set_up,
                     struct omo_session_row *row);

#endif
