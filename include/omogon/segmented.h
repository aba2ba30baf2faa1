/** Segmented regression: where a curve that bends gently sets out on a steeper stretch.
 */
#ifndef OMOGON_SEGMENTED_H
#define OMOGON_SEGMENTED_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Where breaks are looked for, in units of x. */
struct omo_stretch_limits {
    double from_least;  /**< no stretch begins before this x ... */
    double margin;      /**< ... nor closer to either end of the data than this */
    double width_least; /**< the stretch from its first break to its second ... */
    double width_most;  /**< ... is so wide */
};

/** A gentle course and one stretch of rise on top of it. Plain values. */
struct omo_stretch_fit {
    double soft;        /**< how gently it begins and ends: 0 with corners, 1 rounded */
    double from, width; /**< first break, and how far on the second lies; units of x */
    double rise;        /**< of the whole stretch over the course, units of y, > 0 */
    double rise_seen;   /**< as far as the data go */
    double middle, half;
    double course[3]; /**< of the course: 1, u and u^2 over u = (x - middle) / half */
    double rms;       /**< of what is left, units of y */
    double chance;    /**< p of the F test: how likely a course alone gives as much */
};

/** Fewest points a fit takes. */
#define OMO_STRETCH_POINTS_MIN 10

/**
 * Least squares of y = c0 + c1 x + c2 x^2 + rise * r((x - from) / width) over `count`
 * points, x ascending. r goes from 0 to 1 as (1 - soft) v + soft (3 v^2 - 2 v^3), with
 * `soft` 0, a half or 1, whichever fits best: a body may set out gently, and a corner
 * laid on a rounded start lies behind it. From and width by a grid and then by halving
 * steps: a regression with two breaks (Muggeo 2003, Statistics in Medicine 22:3055, from
 * memory) whose outer parts follow one parabola. The test counts from, width, rise and
 * soft as four coefficients, which is all an F test can do: since they are searched for
 * it finds a little too much, so that a small chance has to be asked for. OMO_ERR_ARG for
 * limits that leave no room in order or points that are not finite or not ascending;
 * OMO_ERR_EMPTY when there are too few points or no stretch rises; OMO_ERR_MEMORY. `fit`
 * is untouched on failure.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_stretch_fit(
    const double *x, const double *y, size_t count,
    const struct omo_stretch_limits *limits, struct omo_stretch_fit *fit);

/** The course alone at x, without the stretch. */
OMO_API double omo_stretch_course(const struct omo_stretch_fit *fit, double x);

#ifdef __cplusplus
}
#endif

#endif
