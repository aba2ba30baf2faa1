/**
 * The most probable values of a few unknowns, given measurements and what was believed
 * before: non-linear least squares with independent normal priors, their covariance, and
 * the evidence by which two beliefs can be compared.
 */
#ifndef OMOGON_MOST_PROBABLE_H
#define OMOGON_MOST_PROBABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Unknowns at most. */
#define OMO_UNKNOWNS 16

/** What is believed of one unknown before the measurements: normal, in its own unit. */
struct omo_prior {
    double mean;
    double sd; /**< > 0; INFINITY: nothing is believed, mean is where the search starts */
};

/**
 * Residuals at a point: (model - measurement) / standard deviation, without unit.
 *
 * parameter holds `unknowns` values; residual has room for `residuals`. jacobian is NULL
 * or has room for residuals * unknowns derivatives, row by row: jacobian[i * unknowns +
 * j] is that of residual i by unknown j. A point at which the model does not exist is
 * told by a NAN residual: the search then takes a shorter step. Bounds are the caller's
 * business, by another unknown (log, tan) in place of the bounded one.
 */
typedef void omo_residuals(void *context, const double *parameter, double *residual,
                           double *jacobian);

/** What is sought, and what is known of it. */
struct omo_probable_task {
    int unknowns;                  /**< 1..OMO_UNKNOWNS */
    size_t residuals;              /**< 0 or more: without any, the priors come back */
    const struct omo_prior *prior; /**< one each unknown */
    const double *start;           /**< NULL: the priors' means */
    omo_residuals *residuals_at;
    void *context;    /**< handed to residuals_at */
    bool differences; /**< residuals_at gives no derivatives and is never asked for them:
                           central differences are taken */
    double huber;     /**< 0: squares; else residuals beyond this many standard deviations
                           count linearly (1.345 gives up 5 % of efficiency on normal
                           noise; Huber 1964, from memory) */
    int iterations_max; /**< 0: OMO_PROBABLE_ITERATIONS */
};
/** Steps tried where the task does not say. */
#define OMO_PROBABLE_ITERATIONS 60

/** The most probable unknowns, with what they leave open. */
struct omo_probable {
    int unknowns;
    bool converged; /**< the next step is below 1e-8 standard deviations, or below what
                         rounding of the sum lets a step find */
    int iterations; /**< steps tried */
    double parameter[OMO_UNKNOWNS];
    /** Inverse of J'WJ + 1/sd^2, in the unknowns' units; [i][j]. The weights W are 1, or
     *  Huber's at the solution. Where the posterior is not normal it is an approximation.
     */
    double covariance[OMO_UNKNOWNS][OMO_UNKNOWNS];
    double chi_square;       /**< of the measurements: sum of squares, or twice the sum of
                                  Huber's losses */
    double prior_chi_square; /**< sum of ((parameter - mean) / sd)^2 */
    /** Natural log of the probability of the residuals, the unknowns integrated out by
     *  Laplace's approximation; exact for a linear model. The measurements' standard
     *  deviations are left out, so compare models of the same measurements alone. NAN
     *  when a prior has no SD. */
    double log_evidence;
};

/** How many doubles of room omo_most_probable needs. */
OMO_API size_t omo_most_probable_room(size_t residuals, int unknowns);

/**
 * Minimises sum rho(r_i) + 1/2 sum ((p_j - mean_j) / sd_j)^2, rho(r) = r^2 / 2, or
 * Huber's. Levenberg's and Marquardt's method on the normal equations, weights renewed at
 * every step; damping after Nielsen. Deterministic; allocates nothing: room is the
 * caller's, of omo_most_probable_room() doubles, and holds nothing afterwards.
 *
 * OMO_ERR_ARG: a count, SD or huber out of range, or residuals that are not finite at the
 * start. OMO_ERR_EMPTY: measurements and priors leave a direction free. out is untouched
 * on failure. A search that runs out of iterations is OMO_OK with converged false.
 *
 * Levenberg 1944, Marquardt 1963; Madsen, Nielsen and Tingleff, Methods for Non-Linear
 * Least Squares Problems, 2004; Laplace's evidence as in MacKay, Bayesian Interpolation,
 * Neural Computation 4, 1992 (all from memory).
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_most_probable(
    const struct omo_probable_task *task, double *room, struct omo_probable *out);

/** Standard deviation of a quantity with this gradient by the unknowns: sqrt(g' C g), the
 *  first-order law of the Guide to the Expression of Uncertainty in Measurement, 5.2. */
OMO_API double omo_probable_sd(const struct omo_probable *found, const double *gradient);

#ifdef __cplusplus
}
#endif

#endif
