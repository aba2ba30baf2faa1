/** How far apart a person's two arms are in one movement that both make at once. */
#ifndef OMOGON_SIDES_H
#define OMOGON_SIDES_H

#include <stddef.h>

#include "omogon/body.h"
#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Degrees; NAN where there is no value. */
struct omo_side_difference {
    enum omo_side higher;   /**< whose max_deg is larger */
    double same_second_deg; /**< that max_deg less the other arm's highest angle within
                                 half a second of it, both by the rule for maxima */
    double of_maxima_deg;   /**< max_deg less the other arm's, whenever it was reached */
    double u95_deg;         /**< expanded uncertainty of both, as if the two arms' errors
                                 had nothing in common: root of the sum of squares */
    double largest_deg;     /**< the largest by which one arm was above the other in every
                                 frame of a window of 0.2 s; a lag shows here */
    enum omo_side largest_higher; /**< who was above then */
    double largest_s;             /**< time of the widest frame of that window */
};

/**
 * Compares the two arms of one clip: `rows` of each side, by enum omo_side, `count`
 * frames that belong together pairwise. OMO_ERR_EMPTY when an arm has no highest angle,
 * *out untouched. Silent.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_sides_compare(
    const struct omo_trace_row *const rows[2], size_t count,
    const struct omo_result *const result[2], struct omo_side_difference *out);

#ifdef __cplusplus
}
#endif

#endif
