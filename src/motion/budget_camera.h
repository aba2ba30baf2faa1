/** The camera's lines in an angle's budget: lens, level, rolling shutter. */
#ifndef OMO_MOTION_BUDGET_CAMERA_H
#define OMO_MOTION_BUDGET_CAMERA_H

#include "motion/take.h"

/* Where a line comes from. */
extern const char omo_origin_measured[], omo_origin_stated[];

/** Does the angle of row k start from the picture's vertical? A trunk line that was made
 *  vertical at rest does; chest and hip taken as they are carry their own direction. */
bool omo_from_the_vertical(const struct omo_take *take, size_t k);

/** Adds the three lines. `kept` as for omo_max_u95_deg(). */
void omo_budget_camera(const struct omo_take *take, size_t k, struct omo_camera_u *kept,
                       struct omo_budget *budget);

#endif
