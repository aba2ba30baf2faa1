/** A take that grows: the frames of one movement as they come, read by the same functions
 *  as a file's. */
#ifndef OMO_MOTION_FOLLOW_H
#define OMO_MOTION_FOLLOW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "motion/take.h"

struct omo_follow {
    struct omo_take take; /**< count: frames kept */
    struct omo_track_frame *frames;
    struct omo_trace_row *rows;
    double *angle_deg; /**< that counts for maxima; NAN */
    size_t room;
    int64_t base;         /**< number of frame 0, counted from the first that ever came */
    bool known;           /**< rest and trunk are, so that frames are read against them */
    double neutral_deg;   /**< NAN not known */
    struct omo_hold hold; /**< where the frame that was read leads, once it is kept */

    /* Highest of all raises, and of the last. */
    struct omo_sustained best, raise;
    bool any_raise, in_raise;
    size_t first_raise, this_raise; /**< rows where they began */
    size_t judged;                  /**< rows before it are in */
};

/** `settings` lent. */
OMO_MUST_CHECK enum omo_status omo_follow_init(
    struct omo_follow *follow, const struct omo_measure_settings *settings);
void omo_follow_finish(struct omo_follow *follow);

/** Reads a frame into row take.count, without keeping it. Before rest is known what is
 *  older than reach_s may go for it. */
OMO_MUST_CHECK enum omo_status omo_follow_read(struct omo_follow *follow,
                                               const struct omo_track_frame *frame,
                                               double reach_s);
/** Keeps it. */
void omo_follow_keep(struct omo_follow *follow);
/** Works rest, trunk and maxima out from the frames kept. With a raise just closed pivot
 *  and plane are searched for longer. */
OMO_MUST_CHECK enum omo_status omo_follow_prepare(struct omo_follow *follow,
                                                  bool raise_closed);
/** Begins the movement with frame `number`; false when there is no rest in it. */
OMO_MUST_CHECK enum omo_status omo_follow_begin(struct omo_follow *follow, int64_t number,
                                                bool *begun);

/** A raise began with the last row, or is over. */
void omo_follow_raise(struct omo_follow *follow);
void omo_follow_lowered(struct omo_follow *follow);
/** Of an angle; NAN stays. */
double omo_follow_above_neutral_deg(const struct omo_follow *follow, double angle_deg);

#endif
