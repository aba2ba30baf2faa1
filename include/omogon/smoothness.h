/** How smooth a movement is, from its speed. */
#ifndef OMOGON_SMOOTHNESS_H
#define OMOGON_SMOOTHNESS_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/**
 * Spectral arc length: of the spectrum of the speed, over its greatest value, up to 10 Hz
 * and as far as it stays at 0.05 or above, with 16 times the samples by zeros. Below
 * about -1; nearer to 0 is smoother. Balasubramanian et al., IEEE Transactions on
 * Biomedical Engineering 59 (2012), 2126, and Journal of NeuroEngineering and
 * Rehabilitation 12 (2015), 112, as their authors' own program computes it. `speed` of
 * one movement, evenly sampled at `rate_hz`, never negative. NAN for fewer than 3
 * samples, a rate that is none, a speed that is not finite or nothing but 0.
 */
OMO_API double omo_spectral_arc_length(const double *speed, size_t count, double rate_hz);

/**
 * Log dimensionless jerk: -ln of the integral of the squared second difference of the
 * speed, times the cube of the duration over the square of its peak; the duration counts
 * `count` samples. Same sources. A movement of minimum jerk has about -5.32. NAN as
 * above, and for a speed without any change of slope.
 */
OMO_API double omo_log_dimensionless_jerk(const double *speed, size_t count,
                                          double rate_hz);

/**
 * Peaks of the speed that stand out: at least `share` of the greatest speed high, and
 * falling by as much on either side before a higher one comes. One in a smooth movement.
 * A plateau is one peak. 0 for a speed of nothing.
 */
OMO_API size_t omo_speed_peaks(const double *speed, size_t count, double share);

#ifdef __cplusplus
}
#endif

#endif
