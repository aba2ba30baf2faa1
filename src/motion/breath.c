#include <math.h>

#include <gsl/gsl_multifit.h>

#include "motion/take.h"

/* Breathing at rest: 10 to 20 breaths a minute is typical of adults, slow breathing is
 * less; the shoulder goes up and down by some millimetres with it. */
#define SLOWEST_HZ 0.10
#define FASTEST_HZ 0.34
#define STEPS      24
/* A wave counts as breathing when it takes up this share of what a straight line leaves.
 * Our choice. */
#define SHARE_MIN 0.5
#define COLUMNS   4

/** Heights of the shoulder over the rest: time and place along the trunk. */
struct heights {
    size_t count;
    gsl_matrix *row;
    gsl_vector *height, *fit;
    gsl_matrix *covariance;
    gsl_multifit_linear_workspace *room;
};

static void read_heights(const struct omo_take *take, struct heights *h, double rate_hz)
{
    const struct omo_rest *rest = &take->rest;
    size_t i = 0;
    for (size_t k = rest->first; k <= rest->last; k++) {
        if (take->ignored[k] || !omo_clear_at(take, k, OMO_SHOULDER))
            continue;
        struct omo_point p = omo_still_place(take, k, OMO_SHOULDER);
        double t = take->time_s[k] - take->time_s[rest->first];
        double turn = 2.0 * M_PI * rate_hz * t;
        gsl_matrix_set(h->row, i, 0, 1.0);
        gsl_matrix_set(h->row, i, 1, t);
        gsl_matrix_set(h->row, i, 2, cos(turn));
        gsl_matrix_set(h->row, i, 3, sin(turn));
        gsl_vector_set(h->height, i++, p.x * take->axes.zero.x + p.y * take->axes.zero.y);
    }
}

/** What a line and, where asked for, a wave leave of the heights: sum of squares. */
static double left_over(const struct omo_take *take, struct heights *h, double rate_hz,
                        bool wave)
{
    double rss = INFINITY;
    size_t columns = wave ? COLUMNS : 2;
    read_heights(take, h, rate_hz);
    gsl_matrix_view row = gsl_matrix_submatrix(h->row, 0, 0, h->count, columns);
    gsl_matrix_view covariance =
        gsl_matrix_submatrix(h->covariance, 0, 0, columns, columns);
    gsl_vector_view fit = gsl_vector_subvector(h->fit, 0, columns);
    if (gsl_multifit_linear(&row.matrix, h->height, &fit.vector, &covariance.matrix, &rss,
                            h->room) != 0)
        return INFINITY;
    return rss;
}

/** Period of the breathing (s), no longer than the rest; NAN none is seen. */
static double period_s(const struct omo_take *take, struct heights *h, double lasts_s)
{
    double line = left_over(take, h, 1.0, false), best = INFINITY, best_hz = NAN;
    for (int i = 0; i <= STEPS; i++) {
        double rate_hz = SLOWEST_HZ + i * (FASTEST_HZ - SLOWEST_HZ) / STEPS;
        if (rate_hz * lasts_s < 1.0)
            continue;
        double rss = left_over(take, h, rate_hz, true);
        if (rss < best) {
            best = rss;
            best_hz = rate_hz;
        }
    }
    return best <= (1.0 - SHARE_MIN) * line ? 1.0 / best_hz : (double)NAN;
}

static double find_period_s(const struct omo_take *take, size_t count, double lasts_s)
{
    struct heights h = {.count = count,
                        .row = gsl_matrix_alloc(count, COLUMNS),
                        .height = gsl_vector_alloc(count),
                        .fit = gsl_vector_alloc(COLUMNS),
                        .covariance = gsl_matrix_alloc(COLUMNS, COLUMNS),
                        .room = gsl_multifit_linear_alloc(count, COLUMNS)};
    double found_s = NAN;
    if (h.row != NULL && h.height != NULL && h.fit != NULL && h.covariance != NULL &&
        h.room != NULL)
        found_s = period_s(take, &h, lasts_s);
    gsl_matrix_free(h.row);
    gsl_vector_free(h.height);
    gsl_vector_free(h.fit);
    gsl_matrix_free(h.covariance);
    gsl_multifit_linear_free(h.room);
    return found_s;
}

void omo_trim_to_breaths(struct omo_take *take)
{
    struct omo_rest *rest = &take->rest;
    double lasts_s = take->time_s[rest->last] - take->time_s[rest->first];
    size_t count = 0;
    for (size_t k = rest->first; k <= rest->last; k++)
        count += !take->ignored[k] && omo_clear_at(take, k, OMO_SHOULDER);
    if (!(lasts_s * FASTEST_HZ >= 1.0) || count <= 2 * COLUMNS)
        return;
    double breath_s = find_period_s(take, count, lasts_s);
    if (isnan(breath_s))
        return;
    /* The last ones: what comes after the rest begins from there. */
    double from_s = take->time_s[rest->last] - breath_s * floor(lasts_s / breath_s);
    while (rest->first < rest->last && take->time_s[rest->first] < from_s)
        rest->first++;
}
