#include "draw/course_points.h"

#include <glib.h>
#include <math.h>
#include <stdlib.h>

#define LEAST_SPAN_DEG 60
#define STEP_DEG       10

static int by_value(const void *a, const void *b)
{
    double one = *(const double *)a, other = *(const double *)b;
    return (one > other) - (one < other);
}

static double median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, by_value);
    return count % 2 ? values[count / 2]
                     : (values[count / 2 - 1] + values[count / 2]) / 2;
}

/** Median over sessions of one of their numbers; NAN when none has it. */
static double median_of(const struct omo_chart_point *points, size_t count, size_t offset,
                        double *room)
{
    size_t known = 0;
    for (size_t i = 0; i < count; i++) {
        double value = *(const double *)(const void *)((const char *)&points[i] + offset);
        if (isfinite(value))
            room[known++] = value;
    }
    return known ? median(room, known) : (double)NAN;
}

static struct course_dot one(const struct omo_chart_point *p)
{
    return (struct course_dot){.day = p->day,
                               .mean_deg = p->mean_deg,
                               .low_deg = p->mean_deg - p->u95_deg,
                               .high_deg = p->mean_deg + p->u95_deg,
                               .highest_deg = p->highest_deg,
                               .before_hike_deg = p->before_hike_deg,
                               .pain = p->pain,
                               .sessions = 1};
}

static struct course_dot gathered(const struct omo_chart_point *p, size_t count,
                                  double *room)
{
    struct course_dot dot = {.sessions = count,
                             .low_deg = INFINITY,
                             .high_deg = -INFINITY};
    for (size_t i = 0; i < count; i++) {
        dot.low_deg = fmin(dot.low_deg, p[i].mean_deg);
        dot.high_deg = fmax(dot.high_deg, p[i].mean_deg);
    }
    dot.day = median_of(p, count, offsetof(struct omo_chart_point, day), room);
    dot.mean_deg = median_of(p, count, offsetof(struct omo_chart_point, mean_deg), room);
    dot.highest_deg =
        median_of(p, count, offsetof(struct omo_chart_point, highest_deg), room);
    dot.before_hike_deg =
        median_of(p, count, offsetof(struct omo_chart_point, before_hike_deg), room);
    dot.pain = median_of(p, count, offsetof(struct omo_chart_point, pain), room);
    return dot;
}

size_t omo_course_dots(const struct omo_chart *chart, struct course_dot *dots,
                       size_t most)
{
    if (chart->count <= most) {
        for (size_t i = 0; i < chart->count; i++)
            dots[i] = one(&chart->points[i]);
        return chart->count;
    }
    /* As many sessions to each, so that a dot always says equally much. */
    g_autofree double *room = g_new(double, chart->count);
    for (size_t k = 0; k < most; k++) {
        size_t first = chart->count * k / most, end = chart->count * (k + 1) / most;
        dots[k] = gathered(chart->points + first, end - first, room);
    }
    return most;
}

static void widen(double value, double *low, double *high)
{
    if (!isfinite(value))
        return;
    *low = fmin(*low, value);
    *high = fmax(*high, value);
}

void omo_course_scale(const struct omo_chart *chart, const struct course_dot *dots,
                      size_t count, double *low_deg, double *high_deg)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        widen(dots[i].mean_deg, &low, &high);
        widen(dots[i].low_deg, &low, &high);
        widen(dots[i].high_deg, &low, &high);
        widen(dots[i].highest_deg, &low, &high);
        widen(dots[i].before_hike_deg, &low, &high);
    }
    widen(chart->other_deg, &low, &high);
    widen(chart->mark_deg, &low, &high);
    widen(chart->range_low_deg, &low, &high);
    widen(chart->range_high_deg, &low, &high);
    *low_deg = STEP_DEG * floor(low / STEP_DEG);
    *high_deg = STEP_DEG * ceil(high / STEP_DEG);
    while (*high_deg - *low_deg < LEAST_SPAN_DEG) {
        *high_deg += STEP_DEG;
        if (*high_deg - *low_deg < LEAST_SPAN_DEG)
            *low_deg -= STEP_DEG;
    }
}

void omo_course_trend(const struct omo_chart *chart, double day, double *deg,
                      double *low_deg, double *high_deg)
{
    g_autofree double *room = g_new(double, chart->count);
    double middle = median_of(chart->points, chart->count,
                              offsetof(struct omo_chart_point, day), room);
    double at_middle = chart->trend_at_0_deg + chart->trend_deg_per_day * middle;
    double low = at_middle + chart->trend_low_deg_per_day * (day - middle);
    double high = at_middle + chart->trend_high_deg_per_day * (day - middle);
    *deg = chart->trend_at_0_deg + chart->trend_deg_per_day * day;
    *low_deg = fmin(low, high);
    *high_deg = fmax(low, high);
}
