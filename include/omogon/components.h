/** Variance components of measurements that are grouped: people, their sides, raters. */
#ifndef OMOGON_COMPONENTS_H
#define OMOGON_COMPONENTS_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What values can be grouped by at once. */
#define OMO_COMPONENT_FACTORS 4
/** More values are more than a reliability study has. */
#define OMO_COMPONENT_MOST 2000

/** What a linear mixed model with a mean and independent random effects came to. */
struct omo_components {
    double variance[OMO_COMPONENT_FACTORS]; /**< of each factor, 0 or more */
    double residual;                        /**< variance of what is left */
    double mean, mean_se;
    double log_likelihood; /**< restricted */
    double total_df;       /**< degrees of freedom of the sum of all variances */
    double mean_df;        /**< and of mean_se squared; NAN, both: they cannot be told */
    int iterations;
};
/**
 * y[i] = mean + the effect of group[f][i] for every factor f + residual, fitted by
 * restricted maximum likelihood (Patterson and Thompson, Biometrika 58 (1971), 545, from
 * memory) with Fisher's scoring, by expectation-maximisation where that would leave what
 * is possible. group[f] has `count` numbers, 0 to 1 less than its number of groups; every
 * factor needs two groups or more, and fewer than there are values; without a factor it
 * is the mean and the variance. Degrees of freedom are Satterthwaite's (Biometrics
 * Bulletin 2 (1946), 110, from memory), 2 x^2 over the variance of x, which comes from
 * the inverse of the expected information of all variances, those at 0 too. OMO_ERR_ARG;
 * OMO_ERR_EMPTY when all values are the same or nothing is left beside the factors;
 * OMO_ERR_FORMAT when it does not settle; OMO_ERR_MEMORY.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_components_fit(const double *y,
                                                          const int *const *group,
                                                          size_t count, size_t factors,
                                                          struct omo_components *out);

#ifdef __cplusplus
}
#endif

#endif
