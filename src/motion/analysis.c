#include "omogon/analysis.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "motion/take.h"
#include "omogon/filter.h"
#include "omogon/smoothness.h"

#define LOWEST_SHARE 0.05
#define ONSET_SHARE  0.05 /* of the greatest speed (common practice, no source) */
/* Time stamps have six decimals: a clip of just 25 pictures a second reads 24.9999. */
#define STAMP_SHARE 1e-4
#define PEAK_SHARE  0.10 /* of the greatest speed: what stands out (common practice) */
#define RESIDUALS   40
#define LEAST_S     2.0

static int by_size(const void *a, const void *b)
{
    double one = *(const double *)a, other = *(const double *)b;
    return (one > other) - (one < other);
}

/** The twentieth part's upper end; NAN without an angle. */
static double lowest_of(const double *angle_deg, size_t count, double *room)
{
    size_t known = 0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(angle_deg[i]))
            room[known++] = angle_deg[i];
    if (known == 0)
        return NAN;
    qsort(room, known, sizeof *room, by_size);
    return room[(size_t)(LOWEST_SHARE * (double)(known - 1))];
}

/** The angle at a time, between its neighbours; NAN beside a gap that is too long. */
static double angle_at(const double *time_s, const double *angle_deg, size_t first,
                       size_t last, double step_s, double at_s, size_t *hint)
{
    size_t before = *hint;
    while (before + 1 <= last && time_s[before + 1] <= at_s)
        before++;
    *hint = before;
    size_t from = before, to = before + 1;
    while (from > first && !isfinite(angle_deg[from]))
        from--;
    while (to < last && !isfinite(angle_deg[to]))
        to++;
    if (to > last)
        return angle_deg[last];
    if (!isfinite(angle_deg[from]) || !isfinite(angle_deg[to]) ||
        omo_gap_between(time_s[from], time_s[to], step_s, OMO_GAP_S))
        return NAN;
    double share = (at_s - time_s[from]) / (time_s[to] - time_s[from]);
    return angle_deg[from] + share * (angle_deg[to] - angle_deg[from]);
}

/** Speeds of a phase at even times, by central differences; how many, 0: cannot be told.
 */
static size_t speeds_of(const double *time_s, const double *angle_deg, size_t first,
                        size_t last, double step_s, double *speed)
{
    size_t count = (size_t)floor((time_s[last] - time_s[first]) / step_s + 1e-6) + 1;
    size_t hint = first;
    if (count < 3)
        return 0;
    double *angle = speed + count; /* room for both was made */
    for (size_t i = 0; i < count; i++) {
        angle[i] = angle_at(time_s, angle_deg, first, last, step_s,
                            time_s[first] + (double)i * step_s, &hint);
        if (!isfinite(angle[i]))
            return 0;
    }
    for (size_t i = 0; i < count; i++) {
        size_t before = i > 0 ? i - 1 : i, after = i + 1 < count ? i + 1 : i;
        speed[i] =
            fabs(angle[after] - angle[before]) / ((double)(after - before) * step_s);
    }
    return count;
}

static struct omo_phase_figures phase_of(const double *time_s, const double *angle_deg,
                                         size_t first, size_t last, double step_s,
                                         double *room)
{
    struct omo_phase_figures f = {.duration_s = time_s[last] - time_s[first],
                                  .mean_deg_per_s = NAN,
                                  .peak_deg_per_s = NAN,
                                  .to_peak_speed_s = NAN,
                                  .spectral_arc_length = NAN,
                                  .log_dimensionless_jerk = NAN,
                                  .speed_peaks = -1};
    double rate_hz = 1 / step_s;
    if (!(rate_hz * (1 + STAMP_SHARE) >= OMO_VELOCITY_LEAST_HZ) || !(f.duration_s > 0))
        return f;
    f.mean_deg_per_s = fabs(angle_deg[last] - angle_deg[first]) / f.duration_s;
    size_t count = speeds_of(time_s, angle_deg, first, last, step_s, room), at = 0;
    if (count == 0)
        return f;
    for (size_t i = 0; i < count; i++)
        at = room[i] > room[at] ? i : at;
    f.peak_deg_per_s = room[at];
    f.to_peak_speed_s = (double)at * step_s;
    f.spectral_arc_length = omo_spectral_arc_length(room, count, rate_hz);
    f.log_dimensionless_jerk = omo_log_dimensionless_jerk(room, count, rate_hz);
    f.speed_peaks = (int)omo_speed_peaks(room, count, PEAK_SHARE);
    return f;
}

/** Where half of the greatest rise on the way up was first reached. */
static double onset_of(const struct omo_trace_row *rows, const struct omo_repetition *r)
{
    double most = 0;
    for (size_t i = r->first; i <= r->peak; i++)
        if (isfinite(rows[i].hike_ratio))
            most = fmax(most, rows[i].hike_ratio);
    for (size_t i = r->first; most > 0 && i <= r->peak; i++)
        if (rows[i].hike_ratio >= most / 2 && isfinite(rows[i].angle_deg))
            return rows[i].angle_deg;
    return NAN;
}

/** Speed between two neighbouring rows, positive where the angle rises the way `way`
 * goes; 0 beside a row without an angle. */
static double speed_between(const double *time_s, const double *angle_deg, size_t from,
                            size_t to)
{
    double rise = (angle_deg[to] - angle_deg[from]) / fabs(time_s[to] - time_s[from]);
    return isfinite(rise) ? rise : 0;
}

/** From a row within a phase outward to where the phase begins or ends: where the speed
 *  towards the peak falls to a twentieth of its greatest. `way` -1: backward. */
static size_t outward(const double *time_s, const double *angle_deg, size_t from,
                      size_t peak, size_t bound, int way)
{
    double most = 0;
    for (size_t i = from; i != peak; i = (size_t)((long)i - way)) {
        size_t inner = (size_t)((long)i - way);
        most = fmax(most, speed_between(time_s, angle_deg, i, inner));
    }
    while (from != bound) {
        size_t outer = (size_t)((long)from + way);
        if (!(speed_between(time_s, angle_deg, outer, from) > ONSET_SHARE * most))
            break;
        from = outer;
    }
    return from;
}

/** The last row of first..last with an angle from `from` on, backward (or forward). */
static size_t with_angle(const double *angle_deg, size_t from, size_t until, int way)
{
    while (from != until && !isfinite(angle_deg[from]))
        from = (size_t)((long)from + way);
    return from;
}

/** `before` and `after`: rows that belong to other repetitions' peaks, or the ends. */
static struct omo_repetition_figures figures_of(const struct omo_trace_row *rows,
                                                const double *time_s,
                                                const double *angle_deg,
                                                const struct omo_repetition *r,
                                                size_t before, size_t after,
                                                double step_s, double *room)
{
    size_t first = with_angle(angle_deg, r->first, r->peak, 1);
    size_t last = with_angle(angle_deg, r->last, r->peak, -1);
    first = outward(time_s, angle_deg, first, r->peak, before, -1);
    last = outward(time_s, angle_deg, last, r->peak, after, 1);
    return (struct omo_repetition_figures){
        .start_s = time_s[first],
        .peak_s = time_s[r->peak],
        .end_s = time_s[last],
        .max_deg = r->max_deg,
        .range_deg = r->max_deg - fmin(angle_deg[first], angle_deg[last]),
        .raising = phase_of(time_s, angle_deg, first, r->peak, step_s, room),
        .lowering = phase_of(time_s, angle_deg, r->peak, last, step_s, room),
        .hike_at_peak_ratio = rows[r->peak].hike_ratio,
        .lean_at_peak_deg = rows[r->peak].trunk_lean_deg,
        .hike_onset_deg = onset_of(rows, r),
    };
}

enum omo_status omo_analyse_repetitions(const struct omo_trace_row *rows, size_t count,
                                        struct omo_repetition_figures *out,
                                        size_t *repetitions)
{
    struct omo_repetition found[OMO_REPETITION_MAX];
    double *time_s = malloc((6 * count + 8) * sizeof *time_s);
    if (!time_s)
        return OMO_ERR_MEMORY;
    double *angle_deg = time_s + count, *room = time_s + 2 * count;
    for (size_t i = 0; i < count; i++) {
        time_s[i] = rows[i].time_s;
        angle_deg[i] = rows[i].angle_deg;
    }
    double low_deg = lowest_of(angle_deg, count, room);
    double step_s = omo_median_step_s(time_s, count);
    double high_deg = omo_sustained_max_deg(time_s, angle_deg, count, OMO_MAX_WINDOW_S,
                                            OMO_GAP_S, INFINITY, NULL);
    enum omo_status status = isfinite(low_deg) && step_s > 0 ? OMO_OK : OMO_ERR_EMPTY;
    if (status == OMO_OK) {
        *repetitions =
            omo_repetitions_in(time_s, angle_deg, count, low_deg, high_deg, found);
        for (size_t i = 0; i < *repetitions; i++)
            out[i] = figures_of(rows, time_s, angle_deg, &found[i],
                                i > 0 ? found[i - 1].peak : 0,
                                i + 1 < *repetitions ? found[i + 1].peak : count - 1,
                                step_s, room);
    }
    free(time_s);
    return status;
}

/* ---- residual analysis --------------------------------------------------------------
 */

/** The longest stretch of raw angles without a gap: first row and rows. */
static size_t longest_stretch(const struct omo_trace_row *rows, size_t count,
                              double step_s, size_t *first)
{
    size_t best = 0, from = 0;
    for (size_t i = 0; i <= count; i++) {
        bool broken = i == count || !isfinite(rows[i].angle_raw_deg) ||
                      (i > from && omo_gap_between(rows[i - 1].time_s, rows[i].time_s,
                                                   step_s, step_s / 2));
        if (!broken)
            continue;
        if (i - from > best) {
            best = i - from;
            *first = from;
        }
        from = i < count && isfinite(rows[i].angle_raw_deg) ? i : i + 1;
    }
    return best;
}

/** Root mean square of what a filter takes away; NAN: none can be made. */
static double residual(const double *raw, double *room, size_t count, double cutoff_hz,
                       double rate_hz)
{
    struct omo_lowpass filter;
    double sum = 0;
    if (omo_lowpass_design(cutoff_hz, rate_hz, omo_pass_correction(2), &filter) !=
            OMO_OK ||
        omo_filter_zero_lag(&filter, raw, room, count) != OMO_OK)
        return NAN;
    for (size_t i = 0; i < count; i++)
        sum += (raw[i] - room[i]) * (raw[i] - room[i]);
    return sqrt(sum / (double)count);
}

double omo_residual_cutoff_hz(const struct omo_trace_row *rows, size_t count)
{
    double *raw = malloc((3 * count + 2) * sizeof *raw), cutoff_hz = NAN;
    size_t first = 0;
    if (!raw || count < 3) {
        free(raw);
        return NAN;
    }
    for (size_t i = 0; i < count; i++)
        raw[i] = rows[i].time_s;
    double step_s = omo_median_step_s(raw, count);
    size_t length = step_s > 0 ? longest_stretch(rows, count, step_s, &first) : 0;
    if ((double)length * step_s >= LEAST_S) {
        double nyquist_hz = 0.5 / step_s, at_hz[RESIDUALS], rest[RESIDUALS];
        double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
        for (size_t i = 0; i < length; i++)
            raw[i] = rows[first + i].angle_raw_deg;
        for (int i = 0; i < RESIDUALS; i++) {
            at_hz[i] = nyquist_hz * 0.8 * (i + 1) / RESIDUALS;
            rest[i] = residual(raw, raw + length, length, at_hz[i], 1 / step_s);
            if (at_hz[i] < 0.4 * nyquist_hz || !isfinite(rest[i]))
                continue;
            n++;
            sx += at_hz[i];
            sy += rest[i];
            sxx += at_hz[i] * at_hz[i];
            sxy += at_hz[i] * rest[i];
        }
        double slope = (n * sxy - sx * sy) / (n * sxx - sx * sx);
        double noise = (sy - slope * sx) / n;
        for (int i = 1; i < RESIDUALS && isnan(cutoff_hz); i++)
            if (rest[i - 1] >= noise && rest[i] < noise)
                cutoff_hz = at_hz[i - 1] + (at_hz[i] - at_hz[i - 1]) *
                                               (rest[i - 1] - noise) /
                                               (rest[i - 1] - rest[i]);
    }
    free(raw);
    return cutoff_hz;
}
