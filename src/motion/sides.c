#include "omogon/sides.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* "In the same second": half of one before and after; our choice. The window and the gap
 * are those of max_deg. */
#define HALF_SECOND_S 0.5
#define WINDOW_S      0.2
#define GAP_S         0.1

/** An angle over time, for the rule for maxima. */
struct series {
    double *time_s, *angle_deg;
    size_t count;
};

static bool reserve(struct series *series, size_t room)
{
    series->count = 0;
    series->time_s = malloc((2 * room + 1) * sizeof *series->time_s);
    series->angle_deg = series->time_s + room;
    return series->time_s != NULL;
}

/** A damaged frame counts for nothing. */
static double angle_of(const struct omo_trace_row *row)
{
    return row->quality & OMO_QUALITY_DAMAGED ? (double)NAN : row->angle_deg;
}

static void add(struct series *series, double time_s, double angle_deg)
{
    series->time_s[series->count] = time_s;
    series->angle_deg[series->count++] = angle_deg;
}

static double highest(const struct series *series, size_t *at)
{
    return omo_sustained_max_deg(series->time_s, series->angle_deg, series->count,
                                 WINDOW_S, GAP_S, INFINITY, at);
}

static double time_of_frame(const struct omo_trace_row *rows, size_t count, int64_t frame)
{
    for (size_t i = 0; i < count; i++)
        if (rows[i].frame == frame)
            return rows[i].time_s;
    return NAN;
}

static double same_second(const struct omo_trace_row *other, size_t count, double at_s,
                          double max_deg, struct series *series)
{
    series->count = 0;
    for (size_t i = 0; i < count; i++)
        if (fabs(other[i].time_s - at_s) <= HALF_SECOND_S)
            add(series, other[i].time_s, angle_of(&other[i]));
    return max_deg - highest(series, NULL);
}

static void widest(const struct omo_trace_row *const rows[2], size_t count,
                   struct series *series, struct omo_side_difference *out)
{
    out->largest_deg = out->largest_s = NAN;
    out->largest_higher = out->higher;
    for (int side = 0; side < 2; side++) {
        size_t at = 0;
        series->count = 0;
        for (size_t i = 0; i < count; i++)
            add(series, rows[side][i].time_s,
                angle_of(&rows[side][i]) - angle_of(&rows[1 - side][i]));
        double wide_deg = highest(series, &at);
        if (!isfinite(wide_deg) || wide_deg <= out->largest_deg)
            continue;
        out->largest_deg = wide_deg;
        out->largest_higher = (enum omo_side)side;
        out->largest_s = series->time_s[at];
    }
}

enum omo_status omo_sides_compare(const struct omo_trace_row *const rows[2], size_t count,
                                  const struct omo_result *const result[2],
                                  struct omo_side_difference *out)
{
    struct series series;
    if (!isfinite(result[OMO_LEFT]->max_deg) || !isfinite(result[OMO_RIGHT]->max_deg))
        return OMO_ERR_EMPTY;
    if (!reserve(&series, count))
        return OMO_ERR_MEMORY;
    bool right = result[OMO_RIGHT]->max_deg >= result[OMO_LEFT]->max_deg;
    enum omo_side up = right ? OMO_RIGHT : OMO_LEFT, low = right ? OMO_LEFT : OMO_RIGHT;
    double at_s = time_of_frame(rows[up], count, result[up]->frame_at_max);
    *out = (struct omo_side_difference){
        .higher = up,
        .of_maxima_deg = result[up]->max_deg - result[low]->max_deg,
        .same_second_deg =
            same_second(rows[low], count, at_s, result[up]->max_deg, &series),
        .u95_deg = hypot(result[up]->max_u95_deg, result[low]->max_u95_deg),
    };
    widest(rows, count, &series, out);
    free(series.time_s);
    return OMO_OK;
}
