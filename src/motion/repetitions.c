#include <math.h>

#include "motion/take.h"

/* A repetition passes this share of the way from rest to maximum. Our choice. */
#define TOP_SHARE 0.60
#define RANGE_DEG 5.0
/* Where no rest was found the lowest angles stand for it. */
#define LOWEST_SHARE 0.05

/** Adds the repetition over rows first..last if it is one. */
static void add(const double *time_s, const double *angle_deg, size_t first, size_t last,
                struct omo_repetition *out, size_t *repetitions)
{
    size_t at = 0;
    if (!(time_s[last] - time_s[first] >= OMO_REPETITION_S) ||
        *repetitions == OMO_REPETITION_MAX)
        return;
    double max_deg =
        omo_sustained_max_deg(time_s + first, angle_deg + first, last - first + 1,
                              OMO_MAX_WINDOW_S, OMO_GAP_S, INFINITY, &at);
    if (isnan(max_deg))
        return;
    out[(*repetitions)++] = (struct omo_repetition){.first = first,
                                                    .peak = first + at,
                                                    .last = last,
                                                    .max_deg = max_deg};
}

size_t omo_repetitions_in(const double *time_s, const double *angle_deg, size_t count,
                          double low_deg, double max_deg, struct omo_repetition *out)
{
    double range_deg = max_deg - low_deg;
    size_t first = 0, last = 0, repetitions = 0;
    bool up = false, any = false;
    if (!(range_deg >= RANGE_DEG))
        return 0;
    for (size_t k = 0; k < count; k++) {
        if (!isfinite(angle_deg[k]))
            continue;
        double share = (angle_deg[k] - low_deg) / range_deg;
        if (!any)
            first = k;
        any = true;
        last = k;
        if (share > TOP_SHARE) {
            up = true;
        } else if (share < OMO_LOW_SHARE) {
            if (up)
                add(time_s, angle_deg, first, k, out, &repetitions);
            up = false;
            first = k; /* the latest low row is where the next one begins */
        }
    }
    if (up) /* the take ends with the arm up */
        add(time_s, angle_deg, first, last, out, &repetitions);
    return repetitions;
}

void omo_find_repetitions(struct omo_take *take)
{
    struct omo_result *result = take->result;
    for (size_t k = 0; k < take->count; k++)
        take->smoothed[k] = take->rows[k].angle_deg;
    const double *angle_deg = take->smoothed;
    double low_deg = result->rest_deg, sum_deg = 0;
    if (isnan(low_deg))
        low_deg = omo_take_quantile(take, angle_deg, LOWEST_SHARE);
    result->repetitions =
        (int)omo_repetitions_in(take->time_s, angle_deg, take->count, low_deg,
                                result->max_deg, result->repetition);
    for (int i = 0; i < result->repetitions; i++)
        sum_deg += result->repetition[i].max_deg;
    if (result->repetitions == 0)
        return;
    result->mean_of_maxima_deg = sum_deg / result->repetitions;
    omo_budget_of_mean(take, &result->budget[OMO_MAXIMUM_HIGHEST],
                       &result->budget[OMO_MAXIMUM_MEAN]);
}
