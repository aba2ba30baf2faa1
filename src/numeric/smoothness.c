#include "omogon/smoothness.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <gsl/gsl_fft_real.h>

#define MOST_HZ       10.0
#define LEAST_SHARE   0.05
#define MORE_ZEROS    4 /* the transform has 2^(this) times the samples */
#define SAMPLES_LEAST 3

/** The greatest speed; 0 for anything that is no movement. */
static double peak_of(const double *speed, size_t count, double rate_hz)
{
    double peak = 0;
    if (count < SAMPLES_LEAST || !(rate_hz > 0) || !isfinite(rate_hz))
        return 0;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(speed[i]) || speed[i] < 0)
            return 0;
        peak = fmax(peak, speed[i]);
    }
    return peak;
}

static size_t transform_size(size_t count)
{
    size_t size = 1;
    while (size < count)
        size *= 2;
    return size << MORE_ZEROS;
}

/** Magnitude of the k-th value of a transformed real row of `size`, a power of two. */
static double magnitude(const double *row, size_t size, size_t k)
{
    if (k == 0 || k == size / 2)
        return fabs(row[k]);
    return hypot(row[k], row[size - k]);
}

double omo_spectral_arc_length(const double *speed, size_t count, double rate_hz)
{
    if (!(peak_of(speed, count, rate_hz) > 0))
        return NAN;
    size_t size = transform_size(count), half = size / 2 + 1;
    double *row = calloc(size, sizeof *row);
    if (!row)
        return NAN;
    for (size_t i = 0; i < count; i++)
        row[i] = speed[i];
    gsl_fft_real_radix2_transform(row, 1, size);
    double highest = 0, length = 0;
    for (size_t k = 0; k < half; k++)
        highest = fmax(highest, magnitude(row, size, k));
    /* From the first to the last frequency that counts; what lies between counts too. */
    size_t first = half, last = 0;
    for (size_t k = 0; k < half && (double)k * rate_hz / (double)size <= MOST_HZ; k++) {
        if (magnitude(row, size, k) / highest < LEAST_SHARE)
            continue;
        first = first == half ? k : first;
        last = k;
    }
    for (size_t k = first; k < last; k++) {
        double step = 1.0 / (double)(last - first);
        double rise = (magnitude(row, size, k + 1) - magnitude(row, size, k)) / highest;
        length += sqrt(step * step + rise * rise);
    }
    free(row);
    return last > first ? -length : (double)NAN;
}

double omo_log_dimensionless_jerk(const double *speed, size_t count, double rate_hz)
{
    double peak = peak_of(speed, count, rate_hz), sum = 0;
    if (!(peak > 0))
        return NAN;
    double step = 1 / rate_hz, duration = (double)count * step;
    for (size_t i = 0; i + 2 < count; i++) {
        double jerk = (speed[i + 2] - 2 * speed[i + 1] + speed[i]) / (step * step);
        sum += jerk * jerk * step;
    }
    return sum > 0 ? -log(pow(duration, 3) / (peak * peak) * sum) : (double)NAN;
}

size_t omo_speed_peaks(const double *speed, size_t count, double share)
{
    double highest = 0;
    for (size_t i = 0; i < count; i++)
        highest = fmax(highest, speed[i]);
    double least = share * highest;
    /* Up and down by turns: a peak counts once the speed has fallen from it by enough,
       and the next one begins once it has risen from the valley by enough. */
    double top = 0, bottom = 0;
    bool rising = true;
    size_t peaks = 0;
    for (size_t i = 0; highest > 0 && i < count; i++) {
        if (rising) {
            top = fmax(top, speed[i]);
            if (top >= least && top - bottom >= least && top - speed[i] >= least) {
                peaks++;
                rising = false;
                bottom = speed[i];
            }
        } else {
            bottom = fmin(bottom, speed[i]);
            if (speed[i] - bottom >= least) {
                rising = true;
                top = speed[i];
            }
        }
    }
    /* One that is still up at the end. */
    return peaks + (rising && top >= least && top - bottom >= least && highest > 0);
}
