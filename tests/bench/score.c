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
    "found markers; angle: RMS of shoulder-elbow against\nthe line through the true "
    "centres, unfiltered.\n";

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

/** Counts one marker; true when it is visible and found. */
static int score_marker(struct score *score, const struct omo_marker *marker,
                        const struct omo_truth_marker *truth)
{
    const int accepted = marker->seen == OMO_SEEN;
    const int visible = truth->placed && truth->visible_ratio >= SCORE_VISIBLE_RATIO;
    score->visible += visible;
    if (!accepted)
        return 0;
    if (!truth->placed || truth->visible_ratio <= SCORE_HIDDEN_RATIO) {
        score->wrong++;
        return 0;
    }
    const double error_px = hypot(marker->x_px - truth->x_px, marker->y_px - truth->y_px);
    /* Written so that a NAN position is wrong. */
    if (!(error_px <= SCORE_WRONG_PX)) {
        score->wrong++;
        return 0;
    }
    if (!visible)
        return 0;
    score->found++;
    add_error(score, error_px);
    return 1;
}

void score_frame(struct score *score, const struct omo_markers *markers,
                 const struct omo_truth *truth)
{
    int found[OMO_ROLE_COUNT];
    score->frames++;
    for (int role = 0; role < OMO_ROLE_COUNT; role++)
        found[role] = score_marker(score, &markers->role[role], &truth->marker[role]);
    if (!found[OMO_SHOULDER] || !found[OMO_ELBOW])
        return;
    const struct omo_marker *shoulder = &markers->role[OMO_SHOULDER];
    const struct omo_marker *elbow = &markers->role[OMO_ELBOW];
    const struct omo_truth_marker *true_shoulder = &truth->marker[OMO_SHOULDER];
    const struct omo_truth_marker *true_elbow = &truth->marker[OMO_ELBOW];
    const struct omo_point arm = {elbow->x_px - shoulder->x_px,
                                  elbow->y_px - shoulder->y_px};
    const struct omo_point true_arm = {true_elbow->x_px - true_shoulder->x_px,
                                       true_elbow->y_px - true_shoulder->y_px};
    const double error_deg = omo_turn_deg(true_arm, arm);
    score->angle_square_sum += error_deg * error_deg;
    score->angle_count++;
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

int score_passes(const struct score *score)
{
    return score->wrong == 0 && score_found_ratio(score) >= SCORE_PASS_RATIO;
}
