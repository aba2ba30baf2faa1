/** One arm of a movement as it happens: its take that grows, and its figures steadied for
 *  the eye and for the course. */
#ifndef OMO_MOTION_LIVE_ARM_H
#define OMO_MOTION_LIVE_ARM_H

#include <stdbool.h>

#include "motion/course.h"
#include "motion/follow.h"

/** One value steadied for the eye, through the turn at the end of its range. */
struct omo_eye {
    struct omo_one_euro filter;
    double last_deg; /**< not steadied, without turns; NAN */
};

struct omo_live_arm {
    struct omo_measure_settings settings;
    struct omo_follow follow;
    struct omo_eye eye, steady;
    double before_deg[2]; /**< the arm's last values */
    double eye_deg;       /**< of the frame that was read */
    double last_raise_deg;
    struct omo_camera_u camera_u;
};

/** The settings are copied; the arm may not move in memory afterwards. */
OMO_MUST_CHECK enum omo_status omo_live_arm_init(
    struct omo_live_arm *arm, const struct omo_measure_settings *settings);
void omo_live_arm_finish(struct omo_live_arm *arm);
/** What comes next does not go on from before: after a gap, or for the course alone since
 *  its angle is another one from now on. */
void omo_live_arm_gap(struct omo_live_arm *arm);
void omo_live_arm_forget(struct omo_live_arm *arm);
/** Reads a frame, without keeping it. */
OMO_MUST_CHECK enum omo_status omo_live_arm_read(struct omo_live_arm *arm,
                                                 const struct omo_track_frame *frame,
                                                 double reach_s);
/** What the course is told of the last frame kept. */
bool omo_live_arm_in_view(const struct omo_live_arm *arm);
double omo_live_arm_steady_deg(struct omo_live_arm *arm);
/** Fills all but what the course knows, from row k. */
void omo_live_arm_view(struct omo_live_arm *arm, size_t k, struct omo_live_view *view);

#endif
