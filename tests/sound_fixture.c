#include "sound_fixture.h"

#include <math.h>

#include <gsl/gsl_fft_real.h>

double peak_of(const float *from, size_t count)
{
    double peak = 0;

    for (size_t i = 0; i < count; i++)
        peak = fmax(peak, fabs((double)from[i]));
    return peak;
}

double steepest_of(const float *from, size_t count)
{
    double steepest = fabs((double)from[0]);

    for (size_t i = 1; i < count; i++)
        steepest = fmax(steepest, fabs((double)from[i] - (double)from[i - 1]));
    return steepest;
}

double dominant_hz(const float *from)
{
    static double wave[LONG];
    double strongest = 0;
    size_t at = 1;

    for (size_t i = 0; i < LONG; i++)
        wave[i] = (double)from[i] * (0.5 - 0.5 * cos(2 * M_PI * (double)i / LONG));
    gsl_fft_real_radix2_transform(wave, 1, LONG);
    static double power[LONG / 2];
    for (size_t k = 1; k < LONG / 2; k++) {
        power[k] = hypot(wave[k], wave[LONG - k]);
        if (power[k] > strongest) {
            strongest = power[k];
            at = k;
        }
    }
    const double l = power[at - 1], m = power[at], r = power[at + 1];
    const double shift = l + r < 2 * m ? 0.5 * (l - r) / (l - 2 * m + r) : 0;
    return ((double)at + shift) * RATE_HZ / LONG;
}
