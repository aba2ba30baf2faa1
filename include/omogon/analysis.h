/** What a movement was like, repetition by repetition, out of its trace. */
#ifndef OMOGON_ANALYSIS_H
#define OMOGON_ANALYSIS_H

#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Below this rate no velocity is given: too few pictures tell it. */
#define OMO_VELOCITY_LEAST_HZ 25.0

/** One way, up or down. NAN: cannot be told. */
struct omo_phase_figures {
    double duration_s, mean_deg_per_s, peak_deg_per_s, to_peak_speed_s;
    double spectral_arc_length, log_dimensionless_jerk; /**< smoothness.h */
    int speed_peaks;                                    /**< -1: cannot be told */
};
/** One repetition, from where the speed of the raise passes a twentieth of its greatest
 * to where that of the lowering falls to it. Times are the trace's own; angles are
 * filtered. */
struct omo_repetition_figures {
    double start_s, peak_s, end_s, max_deg, range_deg;
    struct omo_phase_figures raising, lowering;
    double hike_at_peak_ratio, lean_at_peak_deg; /**< NAN not in the trace */
    double hike_onset_deg; /**< arm's angle where half of the repetition's greatest rise
                              of the shoulder was first reached on the way up; NAN none */
};
/**
 * Figures of every repetition of a trace; `out` has OMO_REPETITION_MAX places. Low is the
 * twentieth part of the angles that is lowest, high the largest angle kept up for 0.2 s.
 * Speeds come from central differences of the filtered angle at even times; gaps up to
 * 0.1 s are bridged by a line, a longer one leaves the phase's speeds empty. Returns how
 * many. OMO_ERR_MEMORY; OMO_ERR_EMPTY without an angle.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_analyse_repetitions(
    const struct omo_trace_row *rows, size_t count, struct omo_repetition_figures *out,
    size_t *repetitions);

/**
 * The cut-off of a zero-lag Butterworth filter by residual analysis (Winter, Biomechanics
 * and Motor Control of Human Movement, 3.4.4.3, from memory): where the residual is as
 * large as the noise, which a line through the residuals from 40 to 80 % of Nyquist has
 * at 0 Hz. It tends to be lower than the best one. Of the longest stretch of raw angles
 * without a gap; NAN for less than 2 s of them.
 */
OMO_API double omo_residual_cutoff_hz(const struct omo_trace_row *rows, size_t count);

#ifdef __cplusplus
}
#endif

#endif
