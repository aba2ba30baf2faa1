/** Roll of a camera from two stickers that hang on a thread, one below the other. How far
 * the camera looks up or down is not seen by it. */
#ifndef OMO_APP_LENS_THREAD_H
#define OMO_APP_LENS_THREAD_H

#include <stdbool.h>

#include "omogon/lens.h"
#include "omogon/vision.h"

/** What pictures of a thread say; zero-initialise but for the set. */
struct omo_lens_thread {
    struct omo_marker_set set; /**< the stickers' colours */
    struct omo_lens lens;      /**< of the pictures' size; width 0 before the first */
    int looked;                /**< pictures */
    int views;                 /**< that count: two stickers alike in size */
    int crowded;               /**< more than two stickers are there */
    int unlike;                /**< two that differ in size */

    struct omo_point top, bottom;   /* sums over the views, px */
    double roll_sum, roll_squares;  /* deg */
    double sigma_squares, size_sum; /* px, of both stickers */
    struct omo_tracker *tracker;
    double before_s;
};

/** Looks for the two stickers in a picture. `lens` has to be set before the first. False
 *  when memory is short. */
bool omo_lens_thread_add(struct omo_lens_thread *thread, const struct omo_frame *frame);
/** Puts the roll into the lens, whose pitch stays as it is; a sentence on failure:
 *  OMO_ERR_EMPTY, OMO_ERR_ARG. */
OMO_MUST_CHECK enum omo_status omo_lens_thread_result(
    const struct omo_lens_thread *thread, struct omo_lens *lens);
void omo_lens_thread_finish(struct omo_lens_thread *thread);

#endif
