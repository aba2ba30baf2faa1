/** What a person's sheet says of a movement that is about to be measured. */
#ifndef OMO_APP_MEASURING_LIMITS_H
#define OMO_APP_MEASURING_LIMITS_H

#include "app/measuring.h"

/**
 * Sets m->ceiling_deg from the limits in the sheet of the plan's person, in m->directory.
 * False when the movement is not to be measured: then `why` has the sentence, translated.
 * An unreadable sheet is said and forbids it, too: `why` is then "".
 */
bool omo_measuring_limits(struct omo_measuring *m, const struct omo_plan *plan, char *why,
                          size_t size);

#endif
