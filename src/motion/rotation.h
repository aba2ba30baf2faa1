/** Rotation seen from in front: where the forearm points in space. */
#ifndef OMO_MOTION_ROTATION_H
#define OMO_MOTION_ROTATION_H

#include <stdbool.h>

#include "motion/take.h"

/** One frame's forearm. Picture positions in px from the picture's centre, y down. */
struct omo_front_forearm {
    struct omo_point joint, wrist; /**< of the elbow joint and the wrist marker */
    struct omo_point upper;        /**< unit, along the upper arm towards the elbow */
    double length_px;              /**< the forearm's, at the elbow's distance */
    double focal_px;
    double skin_ratio; /**< how far the wrist's marker looks out of the bone's line, on
                          the side that faces the camera, as a share of the length */
};

/** Where it points. */
struct omo_front_direction {
    double turn_deg; /**< from the camera towards picture right, about the upper arm,
                          -180..180 */
    double bend_deg; /**< elbow: 0 straight, 90 a right angle */
    double excess;   /**< apparent length beyond the longest possible, as a share; 0 */
};

/**
 * The wrist lies on its ray, one forearm's length from the elbow: of the two places the
 * one nearer to the camera, so that a forearm turned beyond the square to its line of
 * sight reads as if it were as far before it. Exact for a pinhole camera and an upper arm
 * that is square to its axis; the wrist's smaller distance is in it. A wrist that seems
 * too far away is taken at the place on its ray nearest to the elbow, and `excess` says
 * by how much.
 */
struct omo_front_direction omo_front_solve(const struct omo_front_forearm *forearm);

/** Rotation seen along the upper arm: adds what an arm off level, an elbow off a right
 *  angle and a forearm's own turn do to the angle of row k. `segment_mm` from elbow to
 *  wrist; the sticker's line is left out unless it is > 0. Nothing for other movements. */
void omo_along_budget(const struct omo_take *take, size_t k, double segment_mm,
                      struct omo_budget *budget);

#endif
