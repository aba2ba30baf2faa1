/** Filters for angle series: zero-lag Butterworth for what is saved, One-Euro for the
 * eye. */
#ifndef OMOGON_FILTER_H
#define OMOGON_FILTER_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Second-order section: y = a0 x + a1 x1 + a2 x2 + b1 y1 + b2 y2 (b's are added). */
struct omo_lowpass {
    double a0, a1, a2, b1, b2;
};

/**
 * Butterworth low-pass of second order (Winter, Biomechanics and Motor Control of Human
 * Movement, eq. 2.19). correction divides the cut-off's tangent: 1 for one pass,
 * omo_pass_correction(2) for a dual pass. 0 < cutoff_hz < rate_hz / 2, else OMO_ERR_ARG.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_lowpass_design(double cutoff_hz,
                                                          double rate_hz,
                                                          double correction,
                                                          struct omo_lowpass *out);
/** (2^(1/passes) - 1)^(1/4): keeps -3 dB at the cut-off after several passes. */
OMO_API double omo_pass_correction(int passes);
/** One pass from rest, in place allowed. */
OMO_API void omo_lowpass_run(const struct omo_lowpass *filter, const double *in,
                             double *out, size_t count);
/** Forward and backward with odd reflected ends (9 samples, or as many as the response
 *  needs to die away, at most count - 1); in place allowed; count >= 1.
 *  A constant stays that constant. */
OMO_API OMO_MUST_CHECK enum omo_status omo_filter_zero_lag(
    const struct omo_lowpass *filter, const double *in, double *out, size_t count);

/** What omo_smooth_series did with each sample. */
enum omo_smoothed { OMO_SMOOTH_EMPTY, OMO_SMOOTH_FILTERED, OMO_SMOOTH_UNFILTERED };

/**
 * The rule for saved angles: dual-pass Butterworth at min(cutoff_hz, 0.4 Nyquist); uneven
 * times are resampled to the median rate for the filter and read back at their own times;
 * gaps (NAN, or rows missing) up to bridge_s are bridged for filtering only and stay NAN;
 * longer gaps and times that do not rise split; stretches under short_s stay as they are.
 * how may be NULL, out may be value. Result NAN where the input is NAN.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_smooth_series(
    const double *time_s, const double *value, size_t count, double cutoff_hz,
    double bridge_s, double short_s, double *out, enum omo_smoothed *how);

/** Median of the rising time steps, NAN when there is none (or no memory for it). */
OMO_API double omo_median_step_s(const double *time_s, size_t count);
/** Median; sorts the values in place. NAN when there is none. */
OMO_API double omo_median(double *value, size_t count);
/** The rule for gaps: true when the time missing between two neighbouring values, beyond
 *  the usual step, is more than gap_s, or when time does not rise. At half the frame rate
 *  nothing is missing. */
OMO_API bool omo_gap_between(double from_s, double to_s, double step_s, double gap_s);

/** One-Euro filter (Casiez, Roussel and Vogel, CHI 2012), derivative from the previous
 *  filtered value. Zero-initialise the state part to start again. */
struct omo_one_euro {
    double min_cutoff_hz, beta, derivative_cutoff_hz;
    bool started;
    double time_s, value, derivative;
};
/** Cut-offs in Hz above 0; beta 0 or more. */
OMO_API void omo_one_euro_init(struct omo_one_euro *filter, double min_cutoff_hz,
                               double beta, double derivative_cutoff_hz);
/** Next value at time_s; a time that does not rise returns the last value; NAN in, NAN
 *  out, the state stays. */
OMO_API double omo_one_euro_step(struct omo_one_euro *filter, double time_s,
                                 double value);
/** Smoothing factor 1 / (1 + tau / dt), tau = 1 / (2 pi fc). */
OMO_API double omo_one_euro_alpha(double cutoff_hz, double period_s);

#ifdef __cplusplus
}
#endif

#endif
