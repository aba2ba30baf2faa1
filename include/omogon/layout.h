/** Limb lengths and joint limits of a human body as plain data (models/body.ini). */
#ifndef OMOGON_LAYOUT_H
#define OMOGON_LAYOUT_H

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Ratios to stature unless the name says otherwise. Winter, Biomechanics and Motor
 *  Control of Human Movement, after Drillis and Contini 1966 (from memory). */
struct omo_layout {
    double upper_arm, forearm, hand, half_shoulder_width, shoulder_height, hip_height,
        elbow_height, head_height, chest_height;
    double upper_arm_low, upper_arm_high; /**< plausible bounds */
    double elbow_flexion_low_deg, elbow_flexion_high_deg;
    double elevation_low_deg, elevation_high_deg;
    double fastest_arm_deg_per_s; /**< a gate, not a fact about people */
};
/** Reads models/body.ini, or `path` when not NULL. One sentence on failure. */
OMO_API OMO_MUST_CHECK enum omo_status omo_layout_load(const char *path,
                                                       struct omo_layout *layout);

#ifdef __cplusplus
}
#endif

#endif
