#include <math.h>
#include <stdlib.h>

#include "motion/take.h"

#define TIME_TOLERANCE_S 1e-6 /* time stamps have six decimals */

/* The arm has gone against the direction when it goes this far that way and not even this
 * share of it the stated way. Our choice. */
#define AGAINST_DEG   15.0
#define AGAINST_SHARE 0.25

/** Row of the highest angle in first..last. */
static size_t highest(const double *angle_deg, size_t first, size_t last)
{
    size_t at = first;
    for (size_t k = first; k <= last; k++) {
        if (isfinite(angle_deg[k]) && !(angle_deg[k] <= angle_deg[at]))
            at = k;
    }
    return at;
}

void omo_sustained_begin(struct omo_sustained *s, double window_s, double gap_s,
                         double spread_deg)
{
    s->window_s = window_s;
    s->gap_s = gap_s;
    s->spread_deg = spread_deg;
    s->open = false;
    s->best_deg = NAN;
    omo_window_clear(&s->window);
}

void omo_sustained_step(struct omo_sustained *s, const double *time_s, double step_s,
                        size_t k)
{
    /* A longer window is never higher: for every last row the shortest one is enough. */
    struct omo_window *window = &s->window;
    const double *angle_deg = window->value;
    if (!isfinite(angle_deg[k]))
        return;
    if (!s->open || omo_gap_between(time_s[s->last], time_s[k], step_s, s->gap_s)) {
        omo_window_clear(window);
        s->first = k;
        s->open = true;
    }
    s->last = k;
    omo_window_push(window, k);
    for (size_t next = s->first + 1; next < k; next++) {
        if (!(time_s[k] - time_s[next] >= s->window_s - TIME_TOLERANCE_S))
            break;
        if (isfinite(angle_deg[next]))
            s->first = next;
    }
    omo_window_drop(window, s->first);
    if (!(time_s[k] - time_s[s->first] >= s->window_s - TIME_TOLERANCE_S))
        return;
    double low_deg = omo_window_low(window);
    if (omo_window_high(window) - low_deg <= s->spread_deg && !(low_deg <= s->best_deg)) {
        s->best_deg = low_deg;
        s->best_first = s->first;
        s->best_last = k;
    }
}

double omo_sustained_max_deg(const double *time_s, const double *angle_deg, size_t count,
                             double window_s, double gap_s, double spread_deg, size_t *at)
{
    struct omo_sustained s;
    double step_s = omo_median_step_s(time_s, count);
    if (omo_window_init(&s.window, angle_deg, count) != OMO_OK)
        return NAN;
    omo_sustained_begin(&s, window_s, gap_s, spread_deg);
    for (size_t k = 0; k < count; k++)
        omo_sustained_step(&s, time_s, step_s, k);
    omo_window_finish(&s.window);
    if (at != NULL && !isnan(s.best_deg))
        *at = highest(angle_deg, s.best_first, s.best_last);
    return s.best_deg;
}

/** True when the arm went the other way alone. Angles are taken into -180..180, since a
 *  wrong direction leaves the table's range at its lower end. */
static bool against_direction(struct omo_take *take)
{
    double rest_deg = take->result->rest_deg;
    double start_deg = isnan(rest_deg) ? 0.0 : rest_deg;
    for (size_t k = 0; k < take->count; k++)
        take->work[k] = omo_wrap_deg(take->rows[k].angle_deg - start_deg, -180.0);
    double with_deg = omo_sustained_max_deg(take->time_s, take->work, take->count,
                                            OMO_MAX_WINDOW_S, OMO_GAP_S, INFINITY, NULL);
    for (size_t k = 0; k < take->count; k++)
        take->work[k] = -take->work[k];
    double against_deg =
        omo_sustained_max_deg(take->time_s, take->work, take->count, OMO_MAX_WINDOW_S,
                              OMO_GAP_S, INFINITY, NULL);
    return against_deg >= AGAINST_DEG && with_deg < AGAINST_SHARE * against_deg;
}

void omo_find_maxima(struct omo_take *take)
{
    struct omo_result *result = take->result;
    bool elevation_or_rotation =
        take->settings->movement->geometry != OMO_GEOMETRY_PENDULUM;
    if (elevation_or_rotation)
        result->against_direction = against_direction(take);
    if (result->against_direction)
        return;
    for (size_t k = 0; k < take->count; k++)
        take->work[k] = take->rows[k].angle_deg;
    size_t at = 0, held_at = 0;
    result->max_deg = omo_sustained_max_deg(take->time_s, take->work, take->count,
                                            OMO_MAX_WINDOW_S, OMO_GAP_S, INFINITY, &at);
    result->held_max_deg =
        omo_sustained_max_deg(take->time_s, take->work, take->count, OMO_HELD_WINDOW_S,
                              OMO_GAP_S, OMO_HELD_SPREAD_DEG, &held_at);
    if (omo_front_top_hidden(take, result->max_deg))
        result->max_deg = result->held_max_deg = NAN;
    if (isnan(result->max_deg))
        return;
    for (size_t k = 0; k < take->count; k++)
        take->work[k] = take->rows[k].angle_image_deg;
    result->image_max_deg =
        omo_sustained_max_deg(take->time_s, take->work, take->count, OMO_MAX_WINDOW_S,
                              OMO_GAP_S, INFINITY, NULL);
    result->frame_at_max = take->rows[at].frame;
    result->hike_at_max_ratio = take->rows[at].hike_ratio;
    result->lean_at_max_deg = take->rows[at].trunk_lean_deg;
    omo_budget_of_row(take, at, &result->budget[OMO_MAXIMUM_HIGHEST]);
    result->max_u95_deg = result->budget[OMO_MAXIMUM_HIGHEST].u95_deg;
    if (!isnan(result->held_max_deg))
        omo_budget_of_row(take, held_at, &result->budget[OMO_MAXIMUM_HELD]);
}
