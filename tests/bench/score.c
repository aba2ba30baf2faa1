#include "score.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/geometry.h"

const char *const score_rule =
    "visible: at least 90 % of the marker uncovered; found: accepted within 3 px of the "
    "true centre;\nwrong: accepted more than 3 px off, or any position for a marker that "
    "is hidden (at most 2 % uncovered)\nor not in the scene; error: median distance of "
    "found markers; angle: RMS of the line shoulder to elbow\n(rotations along the arm: elbow to "
    "wrist) against the line through the true centres, unfiltered.\n";

static void add_error(struct score *score, double error_px)
{
    if (score->error_count == score->error_room) {
        score->error_room = score->error_room ? score->error_room * 2 : 1024;
        double *grown =
            realloc(score->error_px, score->error_room * sizeof *score->error_px);
        if (!grown) {
            fputs("out of memory\n", stderr);
            exit(EXIT_FAILURE);
        }
        score->error_px = grown;
    }
    score->error_px[score->error_count++] = error_px;
}

enum verdict judge_marker(const struct omo_marker *marker,
                          const struct omo_truth_marker *truth)
{
    const bool visible = truth->placed && truth->visible_ratio >= SCORE_VISIBLE_RATIO;
    if (marker->seen != OMO_SEEN)
        return visible ? VERDICT_MISSED : VERDICT_NONE;
    /* Written so that a share or a position that is NAN is wrong. */
    if (!truth->placed || !(truth->visible_ratio > SCORE_HIDDEN_RATIO))
        return VERDICT_WRONG;
    if (!(hypot(marker->x_px - truth->x_px, marker->y_px - truth->y_px) <=
          SCORE_WRONG_PX))
        return VERDICT_WRONG;
    return visible ? VERDICT_FOUND : VERDICT_NONE;
}

void score_begin(struct score *score, bool forearm)
{
    memset(score, 0, sizeof *score);
    score->from = forearm ? OMO_ELBOW : OMO_SHOULDER;
    score->to = forearm ? OMO_WRIST : OMO_ELBOW;
}

static void score_line(struct score *score, const struct omo_markers *markers,
                       const struct omo_truth *truth)
{
    const struct omo_marker *from = &markers->role[score->from];
    const struct omo_marker *to = &markers->role[score->to];
    const struct omo_truth_marker *true_from = &truth->marker[score->from];
    const struct omo_truth_marker *true_to = &truth->marker[score->to];
    const struct omo_point line = {to->x_px - from->x_px, to->y_px - from->y_px};
    const struct omo_point true_line = {true_to->x_px - true_from->x_px,
                                        true_to->y_px - true_from->y_px};
    const double error_deg = omo_turn_deg(true_line, line);
    score->angle_square_sum += error_deg * error_deg;
    score->angle_count++;
}

void score_frame(struct score *score, const struct omo_markers *markers,
                 const struct omo_truth *truth)
{
    bool found[OMO_ROLE_COUNT];
    score->frames++;
    for (int role = 0; role < OMO_ROLE_COUNT; role++) {
        const struct omo_marker *m = &markers->role[role];
        const struct omo_truth_marker *t = &truth->marker[role];
        const enum verdict verdict = judge_marker(m, t);
        found[role] = verdict == VERDICT_FOUND;
        score->visible += t->placed && t->visible_ratio >= SCORE_VISIBLE_RATIO;
        score->found += found[role];
        score->wrong += verdict == VERDICT_WRONG;
        if (found[role])
            add_error(score, hypot(m->x_px - t->x_px, m->y_px - t->y_px));
    }
    if (found[score->from] && found[score->to])
        score_line(score, markers, truth);
}

void score_add(struct score *total, const struct score *part)
{
    total->frames += part->frames;
    total->visible += part->visible;
    total->found += part->found;
    total->wrong += part->wrong;
    total->angle_square_sum += part->angle_square_sum;
    total->angle_count += part->angle_count;
    for (size_t i = 0; i < part->error_count; i++)
        add_error(total, part->error_px[i]);
}

void score_free(struct score *score)
{
    free(score->error_px);
    memset(score, 0, sizeof *score);
}

double score_found_ratio(const struct score *score)
{
    if (score->visible == 0)
        return NAN;
    return (double)score->found / (double)score->visible;
}

static int compare_doubles(const void *a, const void *b)
{
    const double left = *(const double *)a;
    const double right = *(const double *)b;
    return (left > right) - (left < right);
}

double median_of(double *values, size_t count)
{
    if (!count)
        return NAN;
    qsort(values, count, sizeof *values, compare_doubles);
    return count % 2 ? values[count / 2]
                     : (values[count / 2 - 1] + values[count / 2]) / 2.0;
}

double score_error_median_px(struct score *score)
{
    return median_of(score->error_px, score->error_count);
}

double score_angle_rms_deg(const struct score *score)
{
    if (score->angle_count == 0)
        return NAN;
    return sqrt(score->angle_square_sum / (double)score->angle_count);
}

bool score_passes(const struct score *score)
{
    return score->wrong == 0 && score_found_ratio(score) >= SCORE_PASS_RATIO;
}
