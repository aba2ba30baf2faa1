/** How a method's markers are held against the truth of a rendered scene. */
#ifndef OMOGON_BENCH_SCORE_H
#define OMOGON_BENCH_SCORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/body.h"
#include "omogon/simulated.h"

/* The rule, printed with every table:
 * - a marker counts as visible when at least 90 % of its picture area is uncovered;
 * - it is found when a position within 3 px of its true centre is accepted;
 * - wrong is an accepted position more than 3 px from the truth, or any position for a
 *   marker that is hidden (at most 2 % uncovered) or not in the scene. Half-covered
 *   markers need not be found, but a position that is accepted must be right;
 * - the error is the distance of found visible markers, the angle error that of the line
 *   shoulder to elbow (rotations along the arm: elbow to wrist) against the line through
 * the true centres, when both are found. */
#define SCORE_VISIBLE_RATIO 0.9
#define SCORE_HIDDEN_RATIO  0.02
#define SCORE_WRONG_PX      3.0
/** A method passes a scene with this share found and nothing wrong. */
#define SCORE_PASS_RATIO 0.97

extern const char *const score_rule;

enum verdict {
    VERDICT_NONE, /**< rightly not accepted, or partly covered and not far off */
    VERDICT_FOUND,
    VERDICT_MISSED,
    VERDICT_WRONG,
};
enum verdict judge_marker(const struct omo_marker *marker,
                          const struct omo_truth_marker *truth);

struct score {
    enum omo_role from, to; /**< the line whose angle is judged */
    int64_t frames, visible, found, wrong;
    double *error_px; /**< of found visible markers */
    size_t error_count, error_room;
    double angle_square_sum; /**< degrees squared */
    int64_t angle_count;
};

/** Judged by the line elbow to wrist (rotations seen along the arm), else by shoulder to
 *  elbow. */
void score_begin(struct score *score, bool forearm);
/** Exits the program when out of memory. */
void score_frame(struct score *score, const struct omo_markers *markers,
                 const struct omo_truth *truth);
void score_add(struct score *total, const struct score *part);
void score_free(struct score *score);

double score_found_ratio(const struct score *score); /**< NAN without a visible marker */
double score_error_median_px(struct score *score);   /**< sorts; NAN without one */
double score_angle_rms_deg(const struct score *score);
bool score_passes(const struct score *score);

/** Median of a list, which is sorted; NAN of none. */
double median_of(double *values, size_t count);

#endif
