#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_interp.h>

#include "numeric/filter_internal.h"

/* Above this share of the Nyquist frequency a low-pass has too few samples a period. */
#define CUTOFF_NYQUIST_SHARE 0.4
/* Times this close to a regular grid are the grid with rounded time stamps. */
#define EVEN_STEP_SHARE 0.1
#define EVEN_S          0.001
/* A curve through fewer points is a guess. */
#define SPLINE_POINTS_MIN 3
/* Time stamps may be absurd; the regular grid is at most this much finer than they. */
#define GRID_GROWTH_MAX 4
/* Time stamps are written with six decimals. */
#define TIME_TOLERANCE_S 1e-6

/** One stretch without a long gap: rows first..last, both with a value. */
struct stretch {
    size_t first, last;
    size_t valued; /**< rows with a value in between, ends included */
};

/** Buffers for the longest stretch; one allocation. */
struct work {
    double *time_s, *value; /**< rows with a value */
    double *grid_s, *grid;  /**< regular times and what the filter sees there */
    size_t grid_room;
    double *block;
};

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double omo_median(double *value, size_t count)
{
    if (count == 0)
        return NAN;
    qsort(value, count, sizeof *value, compare_doubles);
    double upper = value[count / 2];
    return count % 2 != 0 ? upper : 0.5 * (value[count / 2 - 1] + upper);
}

double omo_median_step_s(const double *time_s, size_t count)
{
    if (count < 2)
        return NAN;
    double *step = malloc((count - 1) * sizeof *step);
    if (step == NULL)
        return NAN;
    size_t rising = 0;
    for (size_t i = 1; i < count; i++) {
        double s = time_s[i] - time_s[i - 1];
        if (s > 0.0 && isfinite(s))
            step[rising++] = s;
    }
    double median_s = omo_median(step, rising);
    free(step);
    return median_s;
}

bool omo_gap_between(double from_s, double to_s, double step_s, double gap_s)
{
    double apart_s = to_s - from_s;
    return !(apart_s > 0.0) || apart_s - step_s > gap_s + TIME_TOLERANCE_S;
}

/** Finds the stretch that begins at or after `from`; false when there is none. */
static bool next_stretch(const double *time_s, const double *value, size_t count,
                         size_t from, double step_s, double bridge_s,
                         struct stretch *stretch)
{
    size_t i = from;
    while (i < count && !isfinite(value[i]))
        i++;
    if (i == count)
        return false;
    *stretch = (struct stretch){.first = i, .last = i, .valued = 1};
    for (i++; i < count; i++) {
        if (!isfinite(value[i]))
            continue;
        if (omo_gap_between(time_s[stretch->last], time_s[i], step_s, bridge_s))
            break;
        stretch->last = i;
        stretch->valued++;
    }
    return true;
}

/** True when every row of the stretch lies on the regular grid over its rows. */
static bool evenly_spaced(const double *time_s, const struct stretch *s)
{
    double start_s = time_s[s->first];
    double step_s = (time_s[s->last] - start_s) / (double)(s->last - s->first);
    double most_s = fmin(EVEN_STEP_SHARE * step_s, EVEN_S);
    for (size_t i = s->first; i <= s->last; i++) {
        double expected_s = start_s + step_s * (double)(i - s->first);
        if (!(fabs(time_s[i] - expected_s) <= most_s))
            return false;
    }
    return true;
}

/** Natural cubic spline through points, read at other times inside their range. */
static enum omo_status spline_read(const double *x, const double *y, size_t points,
                                   const double *at, double *out, size_t count)
{
    gsl_interp *spline = gsl_interp_alloc(gsl_interp_cspline, points);
    gsl_interp_accel *finger = gsl_interp_accel_alloc();
    if (spline == NULL || finger == NULL) {
        gsl_interp_free(spline);
        gsl_interp_accel_free(finger);
        return OMO_ERR_MEMORY;
    }
    gsl_interp_init(spline, x, y, points);
    for (size_t i = 0; i < count; i++) {
        double inside = fmin(fmax(at[i], x[0]), x[points - 1]);
        out[i] = gsl_interp_eval(spline, x, y, inside, finger);
    }
    gsl_interp_free(spline);
    gsl_interp_accel_free(finger);
    return OMO_OK;
}

/** Lays the regular grid over the stretch; both ends lie on it. Returns its points. */
static size_t lay_grid(const double *time_s, const struct stretch *s, double step_s,
                       struct work *w)
{
    double start_s = time_s[s->first];
    double span_s = time_s[s->last] - start_s;
    size_t rows = s->last - s->first + 1;
    size_t points = rows;
    if (!evenly_spaced(time_s, s)) {
        double most = (double)w->grid_room;
        points = (size_t)fmin(fmax(round(span_s / step_s) + 1.0, 2.0), most);
    }
    for (size_t i = 0; i < points; i++)
        w->grid_s[i] = start_s + span_s * (double)i / (double)(points - 1);
    return points;
}

static enum omo_status filter_stretch(const double *time_s, const double *value,
                                      const struct stretch *s, double cutoff_hz,
                                      double step_s, struct work *w, double *out)
{
    size_t valued = 0;
    for (size_t i = s->first; i <= s->last; i++) {
        if (isfinite(value[i])) {
            w->time_s[valued] = time_s[i];
            w->value[valued++] = value[i];
        }
    }
    size_t points = lay_grid(time_s, s, step_s, w);
    bool direct = points == valued && evenly_spaced(time_s, s);
    enum omo_status status = OMO_OK;
    if (direct)
        memcpy(w->grid, w->value, points * sizeof *w->grid);
    else
        status = spline_read(w->time_s, w->value, valued, w->grid_s, w->grid, points);
    if (status != OMO_OK)
        return status;

    double rate_hz = (double)(points - 1) / (w->grid_s[points - 1] - w->grid_s[0]);
    double used_hz = fmin(cutoff_hz, CUTOFF_NYQUIST_SHARE * rate_hz / 2.0);
    struct omo_lowpass filter;
    status = omo_lowpass_design(used_hz, rate_hz, omo_pass_correction(2), &filter);
    if (status == OMO_OK)
        status = omo_filter_zero_lag(&filter, w->grid, w->grid, points);
    if (status == OMO_OK && !direct)
        status = spline_read(w->grid_s, w->grid, points, w->time_s, w->value, valued);
    if (status != OMO_OK)
        return status;

    const double *from = direct ? w->grid : w->value;
    for (size_t i = s->first, k = 0; i <= s->last; i++) {
        if (isfinite(value[i]))
            out[i] = from[k++];
    }
    return OMO_OK;
}

static enum omo_status work_init(struct work *w, size_t count)
{
    w->grid_room = GRID_GROWTH_MAX * count;
    w->block = malloc((2 * count + 2 * w->grid_room) * sizeof *w->block);
    if (w->block == NULL)
        return OMO_ERR_MEMORY;
    w->time_s = w->block;
    w->value = w->time_s + count;
    w->grid_s = w->value + count;
    w->grid = w->grid_s + w->grid_room;
    return OMO_OK;
}

static void note_rows(const double *value, const struct stretch *s,
                      enum omo_smoothed what, enum omo_smoothed *how)
{
    if (how == NULL)
        return;
    for (size_t i = s->first; i <= s->last; i++)
        how[i] = isfinite(value[i]) ? what : OMO_SMOOTH_EMPTY;
}

static enum omo_status smooth_all(const double *time_s, const double *value, size_t count,
                                  double cutoff_hz, double bridge_s, double short_s,
                                  struct work *w, double *out, enum omo_smoothed *how)
{
    double step_s = omo_median_step_s(time_s, count);
    struct stretch s;
    for (size_t from = 0; next_stretch(time_s, value, count, from, step_s, bridge_s, &s);
         from = s.last + 1) {
        double span_s = time_s[s.last] - time_s[s.first];
        bool filtered = s.valued >= SPLINE_POINTS_MIN && span_s > 0.0 &&
                        span_s >= short_s - TIME_TOLERANCE_S;
        note_rows(value, &s, filtered ? OMO_SMOOTH_FILTERED : OMO_SMOOTH_UNFILTERED, how);
        if (!filtered)
            continue;
        enum omo_status status =
            filter_stretch(time_s, value, &s, cutoff_hz, step_s, w, out);
        if (status != OMO_OK)
            return status;
    }
    return OMO_OK;
}

enum omo_status omo_smooth_series(const double *time_s, const double *value, size_t count,
                                  double cutoff_hz, double bridge_s, double short_s,
                                  double *out, enum omo_smoothed *how)
{
    if (!(cutoff_hz > 0.0) || !isfinite(cutoff_hz) || !(bridge_s >= 0.0) ||
        !(short_s >= 0.0))
        return OMO_ERR_ARG;
    if (count == 0)
        return OMO_OK;
    /* Into a buffer of its own: out may be value, and stays as it was on failure. */
    struct work w;
    enum omo_status status = work_init(&w, count);
    double *smoothed = malloc(count * sizeof *smoothed);
    if (status != OMO_OK || smoothed == NULL) {
        if (status == OMO_OK)
            free(w.block);
        free(smoothed);
        return OMO_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        smoothed[i] = isfinite(value[i]) ? value[i] : (double)NAN;
        if (how != NULL)
            how[i] = OMO_SMOOTH_EMPTY;
    }
    status =
        smooth_all(time_s, value, count, cutoff_hz, bridge_s, short_s, &w, smoothed, how);
    if (status == OMO_OK)
        memcpy(out, smoothed, count * sizeof *out);
    free(w.block);
    free(smoothed);
    return status;
}
