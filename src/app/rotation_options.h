/** What is asked about a rotation: from where it is seen, at which abduction. */
#ifndef OMO_APP_ROTATION_OPTIONS_H
#define OMO_APP_ROTATION_OPTIONS_H

#include "app/options.h"

/** --from takes a rotation that is usually seen along the arm to its front view. */
void omo_choose_view(const struct omo_option_words *words, struct omo_plan *plan);
/** The marker set that a call without --colours means: bands where a sticker would turn
 *  out of sight. */
const char *omo_usual_colours(const struct omo_option_words *words,
                              const struct omo_movement_table *table);
/** --from, where it does not go with the plan's movement: one sentence and false. */
bool omo_check_from(const struct omo_option_words *words, const struct omo_plan *plan);
/** --at-abduction and --forearm, once the markers' size is known. */
bool omo_resolve_rotation(const struct omo_option_words *words, struct omo_plan *plan);

#endif
