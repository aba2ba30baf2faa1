/**
 * A camera's lens and how the camera stands: points without distortion and levelled, and
 * what lens, level and rolling shutter leave uncertain in the direction of a line.
 *
 * A ray (x, y, 1) lies in the camera's own axes: x right, y down, z ahead. The lens maps
 * it with r2 = x^2 + y^2 and s = 1 + k1 r2 + k2 r2^2 + k3 r2^3 to x' = x s + 2 p1 x y +
 * p2 (r2 + 2 x^2),   y' = y s + p1 (r2 + 2 y^2) + 2 p2 x y, seen at pixel (fx x' + cx, fy
 * y' + cy): the model of OpenCV's calib3d documentation.
 */
#ifndef OMOGON_LENS_H
#define OMOGON_LENS_H

#include <stdbool.h>

#include "omogon/geometry.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Where a lens is known from. */
enum omo_lens_source {
    OMO_LENS_ASSUMED,    /**< nothing is known but what laptop cameras are like */
    OMO_LENS_CALIBRATED, /**< measured with a board */
};

/** Places in omo_lens.value and in both directions of its covariance. */
enum omo_lens_value {
    OMO_LENS_FX, /**< focal lengths, px */
    OMO_LENS_FY,
    OMO_LENS_CX, /**< where the optical axis meets the picture, px */
    OMO_LENS_CY,
    OMO_LENS_K1, /**< distortion along the radius */
    OMO_LENS_K2,
    OMO_LENS_P1, /**< distortion of a lens that is not centred */
    OMO_LENS_P2,
    OMO_LENS_K3,
    OMO_LENS_VALUES
};

/** Of pictures of this size. Plain: copy it. NAN: not known. */
struct omo_lens {
    enum omo_lens_source source;
    int width, height; /**< upright picture, px */
    double value[OMO_LENS_VALUES];
    double covariance[OMO_LENS_VALUES][OMO_LENS_VALUES];
    double reprojection_px; /**< root mean square distance of the board's corners */
    double roll_deg;   /**< what is upright leans to picture right by this much, at the
                            optical axis of a camera that does not look up or down */
    double pitch_deg;  /**< the camera looks up by this much; negative: down */
    double roll_u_deg; /**< standard uncertainties; NAN where the value is */
    double pitch_u_deg;
    double readout_s; /**< from the first row of a picture to the last */
};

/** Steepest roll and pitch that are levelled, either way. */
#define OMO_LENS_TILT_MOST_DEG 45.0

/* Standard uncertainties where nothing is known. Our choice: levelled by eye; the lid of
 * a laptop, which nobody sets upright. */
/** Of roll, levelled by eye. */
#define OMO_LENS_ROLL_ASSUMED_U_DEG 1.0
/** Of pitch. */
#define OMO_LENS_PITCH_ASSUMED_U_DEG 5.0
/** A readout that is not known: evenly from 0 to this (a whole frame at 30 a second). */
#define OMO_LENS_READOUT_MOST_S 0.033

/** A lens without distortion whose picture is 60 to 78 degrees wide (laptop cameras, from
 *  memory), with the uncertainty of that; level and readout not known. */
OMO_API void omo_lens_default(int width, int height, struct omo_lens *lens);

/** Can be computed with: finite, the picture's whole area maps to rays one to one, level
 *  within OMO_LENS_TILT_MOST_DEG. */
OMO_API bool omo_lens_valid(const struct omo_lens *lens);

/** The same lens for pictures of another size but the same shape (within 1 %): false when
 *  the shape differs, *out untouched. */
OMO_API bool omo_lens_scale(const struct omo_lens *lens, int width, int height,
                            struct omo_lens *out);

/** Angles the picture spans, across and up, without distortion. */
OMO_API void omo_lens_view_deg(const struct omo_lens *lens, double *across_deg,
                               double *up_deg);

/* ---- points; NAN stays NAN ---- */

/** From where a lens without distortion (same fx, fy, cx, cy) shows a point to where this
 *  one does, px. */
OMO_API struct omo_point omo_lens_distort(const struct omo_lens *lens,
                                          struct omo_point ideal);
/** Its inverse, to 1e-9 px; NAN where no ray leads to that pixel. */
OMO_API struct omo_point omo_lens_undistort(const struct omo_lens *lens,
                                            struct omo_point seen);

/** Where a camera that stands level and has square pixels of focal length fx and no
 *  distortion would show a point: the viewing ray without distortion, turned by roll and
 *  pitch. `level` false, or a level that is not known, leaves that turn out. NAN for a
 * ray that a level camera does not see. */
OMO_API struct omo_point omo_lens_straighten(const struct omo_lens *lens, bool level,
                                             struct omo_point seen);

/* ---- level ---- */

/** Roll and pitch of a camera that sees straight down as (x, y, z) in its own axes, of
 * any length but 0. */
OMO_API void omo_lens_level_from_down(const double down[3], double *roll_deg,
                                      double *pitch_deg);
/** The inverse, of length 1. */
OMO_API void omo_lens_down(double roll_deg, double pitch_deg, double down[3]);

/** Roll from two points of a plumb line as the camera sent them, with the pitch that is
 *  known (NAN: 0). NAN when the points are one, or no roll fits. */
OMO_API double omo_lens_plumb_roll_deg(const struct omo_lens *lens, struct omo_point top,
                                       struct omo_point bottom, double pitch_deg);

/* ---- what is left uncertain: standard uncertainties, degrees ---- */

/** A line in the picture as the camera sent it, px. */
struct omo_lens_line {
    struct omo_point from, to;
};

/** Of the direction of a line in the straightened picture: from the lens alone, by its
 *  covariance; of second order only what a distortion that is not known does with an axis
 *  that is not known. NAN when the points are one. */
OMO_API double omo_lens_angle_u_deg(const struct omo_lens *lens, struct omo_point from,
                                    struct omo_point to);
/** From roll and pitch alone, against the room's vertical. A level that is not known
 * enters as 0 with the assumed uncertainties above. To second order, since a pitch about
 * 0 has no first (Gauss-Hermite, three points). */
OMO_API double omo_lens_level_u_deg(const struct omo_lens *lens, struct omo_point from,
                                    struct omo_point to);
/** The same two for the angle between two lines, where most of a roll and some of a
 *  distortion cancel. */
OMO_API double omo_lens_between_u_deg(const struct omo_lens *lens,
                                      const struct omo_lens_line *a,
                                      const struct omo_lens_line *b);
/** What the level leaves uncertain of it, in degrees. */
OMO_API double omo_lens_level_between_u_deg(const struct omo_lens *lens,
                                            const struct omo_lens_line *a,
                                            const struct omo_lens_line *b);

/**
 * Of a line that turns at velocity_deg_s while the picture's rows are read one after the
 * other, when its ends lie `rows_ratio` of the picture's height apart: velocity times
 * readout times that share, which is not taken out; of a readout that is not known, the
 * root mean square over 0 to OMO_LENS_READOUT_MOST_S. lens NULL: not known.
 */
OMO_API double omo_lens_shutter_u_deg(const struct omo_lens *lens, double velocity_deg_s,
                                      double rows_ratio);

#ifdef __cplusplus
}
#endif

#endif
