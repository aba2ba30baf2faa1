/** Circles through points: three algebraic fits in closed form, and the geometric one. */
#ifndef OMOGON_CIRCLE_H
#define OMOGON_CIRCLE_H

#include <stddef.h>

#include "omogon/geometry.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A fitted circle. */
struct omo_circle {
    struct omo_point centre; /**< in the points' unit, as everything here */
    double radius;
    double rms; /**< root mean square distance of the points from the circle */
};

/*
 * All of them: at least 3 points, in any unit and order. OMO_ERR_ARG: fewer, or one that
 * is not finite. OMO_ERR_EMPTY: they lie on a line or in one place. out is untouched on
 * failure. Deterministic; only the geometric fit allocates.
 */

/** Least squares of d^2 - r^2. Too small on short arcs: noise pulls the centre in.
 *  Kasa 1976 (from memory). */
OMO_API OMO_MUST_CHECK enum omo_status omo_circle_kasa(const struct omo_point *point,
                                                       size_t count,
                                                       struct omo_circle *out);
/** Least sum (d^2 - r^2)^2 / (4 r^2). Pratt 1987 (from memory). */
OMO_API OMO_MUST_CHECK enum omo_status omo_circle_pratt(const struct omo_point *point,
                                                        size_t count,
                                                        struct omo_circle *out);
/** Least sum (d^2 - r^2)^2 / (4 mean d^2). Taubin 1991 (from memory). */
OMO_API OMO_MUST_CHECK enum omo_status omo_circle_taubin(const struct omo_point *point,
                                                         size_t count,
                                                         struct omo_circle *out);
/** Least squares of the distances d - r themselves, from Taubin's circle on: Gander,
 *  Golub and Strebel, Least-Squares Fitting of Circles and Ellipses, BIT 34, 1994.
 *  OMO_ERR_MEMORY as well. OMO_ERR_EMPTY also when no circle is best: the points bend so
 *  little that a line serves as well. */
OMO_API OMO_MUST_CHECK enum omo_status omo_circle_geometric(const struct omo_point *point,
                                                            size_t count,
                                                            struct omo_circle *out);

#ifdef __cplusplus
}
#endif

#endif
