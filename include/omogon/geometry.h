/**
 * Points, angles and wraps.
 *
 * Pictures: (0, 0) is the centre of the top-left pixel, x right, y down, pixels.
 * Degrees at every interface. NAN means "no value" throughout the library.
 */
#ifndef OMOGON_GEOMETRY_H
#define OMOGON_GEOMETRY_H

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A place or a direction in the plane. */
struct omo_point {
    double x;
    double y;
};

/** Angle at the vertex between the rays to a and b, 0..180. OMO_ERR_ARG (output
 *  untouched) when a ray has no length or a value is not finite. */
OMO_API OMO_MUST_CHECK enum omo_status omo_angle_at_deg(struct omo_point a,
                                                        struct omo_point vertex,
                                                        struct omo_point b,
                                                        double *out_deg);

/** Signed turn from direction `from` to direction `to`, (-180, 180], positive
 *  clockwise on the picture (x right, y down). NAN when either has no length. */
OMO_API double omo_turn_deg(struct omo_point from, struct omo_point to);

/** Wraps into [low, low + 360); NAN stays NAN. */
OMO_API double omo_wrap_deg(double angle_deg, double low_deg);

/** a - b. */
OMO_API struct omo_point omo_point_sub(struct omo_point a, struct omo_point b);
/** Euclidean. */
OMO_API double omo_point_distance(struct omo_point a, struct omo_point b);

/* Closed forms of projection and pivot offset (parallel projection). */

/** Image angle of an arm elevated by angle_deg in a plane turned plane_deg out of the
 *  image plane: atan2(sin a cos p, cos a). */
OMO_API double omo_projected_angle_deg(double angle_deg, double plane_deg);
/** Apparent over true length of that arm, 0..1. */
OMO_API double omo_foreshortening_ratio(double angle_deg, double plane_deg);
/** True angle from the image angle and the foreshortening ratio: acos(q cos a'). */
OMO_API double omo_unprojected_angle_deg(double image_deg, double ratio);
/** Largest projection error for a plane turn: asin(tan^2(p / 2)). */
OMO_API double omo_projection_error_max_deg(double plane_deg);
/** Image angle when the pivot marker sits offset above the joint, offset over length
 *  of the arm given as a ratio: atan2(sin a, r + cos a). */
OMO_API double omo_pivot_image_angle_deg(double angle_deg, double offset_ratio);
/** Its exact inverse: a' + asin(r sin a'). */
OMO_API double omo_pivot_true_angle_deg(double image_deg, double offset_ratio);

#ifdef __cplusplus
}
#endif

#endif
