/** How the shoulder rises while the arm does: the curve over the arm's angle. */
#ifndef OMOGON_RISE_H
#define OMOGON_RISE_H

#include "omogon/motion.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Bins of a curve, at most. */
#define OMO_RISE_MAX 120 /* bins of two degrees from -30 to 210 */

/** One bin of the arm's angle, over all frames in which the arm went up through it. */
struct omo_rise_point {
    double angle_deg;       /**< mean of its frames */
    double ratio, ratio_sd; /**< rise of the shoulder over the upper arm: median, and
                                 1.4826 times the median absolute deviation */
    double lean_deg;        /**< of the trunk: median; NAN not known */
    int frames;
};

/** In order of the angle; bins without a frame are left out. Plain values. */
struct omo_rise {
    int count;
    struct omo_rise_point point[OMO_RISE_MAX];
};

/**
 * The curve of one movement, all its raises together, from measured rows (a trace).
 * Frames count in which the arm goes up by at least 2 degrees a second. OMO_ERR_EMPTY
 * when no row has an angle and a rise; OMO_ERR_MEMORY. `rise` is untouched on failure.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_rise_of(const struct omo_trace_row *rows,
                                                   size_t count, struct omo_rise *rise);
/** The curve at an angle, straight between its points and held beyond its ends; NAN for
 *  an empty one. `sd` (may be NULL) gets its standard deviation likewise. */
OMO_API double omo_rise_at(const struct omo_rise *rise, double angle_deg, double *sd);

#ifdef __cplusplus
}
#endif

#endif
