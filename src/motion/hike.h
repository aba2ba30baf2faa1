/** What the shoulder and the trunk may do before it is called hitching or leaning: one
 *  rule for the cues and for the result. */
#ifndef OMO_MOTION_HIKE_H
#define OMO_MOTION_HIKE_H

#include "omogon/rise.h"

struct omo_take;

/** Rise of the shoulder (upper arms) that goes with the arm's angle: the person's own
 *  curve, or without one (NULL) the stated allowance. NAN without an angle. */
double omo_expected_rise(const struct omo_allowances *allowances,
                         const struct omo_rise *own, double angle_deg);
/** How far beyond it the shoulder may rise. */
double omo_allowed_hike(const struct omo_allowances *allowances,
                        const struct omo_rise *own, double angle_deg);
/** How far the trunk may lean from how it stood at rest: a lean that is only guessed has
 *  to be clear of the guess's doubt as well. */
double omo_allowed_lean_deg(const struct omo_allowances *allowances,
                            enum omo_reference reference);

/** Whether anything shows the shoulder's rise: a band on the upper arm rises with it,
 *  whatever the shoulder does, and then an acromion marker alone tells. */
bool omo_hike_is_told(const struct omo_take *take);
/** Length of the upper arm at rest, by which the rise is divided. */
double omo_hike_arm_px(const struct omo_take *take);

#endif
