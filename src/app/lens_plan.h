/** Which lens profile a measurement goes by. */
#ifndef OMO_APP_LENS_PLAN_H
#define OMO_APP_LENS_PLAN_H

#include <stdbool.h>

#include "app/options.h"

/** --lens NAME, FILE or "none"; one sentence and false when there is no such profile. */
bool omo_plan_resolve_lens(const struct omo_option_words *words, struct omo_plan *plan);
/** A camera is open: without --lens the plan takes the profile that this camera used
 * last; with it, that is remembered for the camera. "" as its name changes nothing. */
void omo_plan_camera_lens(struct omo_plan *plan, const char *camera);
/** The plan's lens for pictures of this size, in `room` as long as that is there; *lens
 * NULL when the plan has none. False with a sentence when the profile does not fit. */
bool omo_plan_fit_lens(const struct omo_plan *plan, int width, int height,
                       struct omo_lens *room, const struct omo_lens **lens);

#endif
