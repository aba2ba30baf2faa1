/** How well measurements repeat: intraclass correlation, standard error of measurement,
 *  limits of agreement. */
#ifndef OMOGON_AGREEMENT_H
#define OMOGON_AGREEMENT_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** The forms of Shrout and Fleiss (1979): raters not told apart (1), raters drawn by lot
 * with absolute agreement (2), these raters alone with consistency (3). */
enum omo_icc_model { OMO_ICC_1 = 1, OMO_ICC_2, OMO_ICC_3 };

/** A coefficient with its interval. That of a mean of raters may lie far below -1, and
 * has no lower end (NAN) where one rater's is -1 / (raters - 1) or less. */
struct omo_icc {
    double value, low, high;
};

/** Mean squares of a table of people by raters, and what follows from them. */
struct omo_agreement {
    size_t people, raters; /**< complete ones */
    double between_ms, within_ms, rater_ms, error_ms;
    double mean; /**< of all values */
    /** One measurement, and the mean of all raters'; by enum omo_icc_model less 1. */
    struct omo_icc single[3], average[3];
    double sem_agreement;   /**< sqrt of the variances of raters and error together */
    double sem_consistency; /**< sqrt of the error's mean square */
    double within_sd;       /**< sqrt of the mean square within people */
    double repeatability;   /**< 1.96 sqrt(2) within_sd */
    double variation_ratio; /**< within_sd over the mean; NAN: a mean of nothing */
};
/**
 * values[person * raters + rater], without a gap; at least 2 of each. `confidence` within
 * 0..1, exclusive. Two-way analysis of variance without replication; the coefficients and
 * their intervals as Shrout and Fleiss, Psychological Bulletin 86 (1979), 420, and McGraw
 * and Wong, Psychological Methods 1 (1996), 30 (the second from memory). A coefficient
 * can be negative. OMO_ERR_ARG; OMO_ERR_EMPTY when all values are the same, or all raters
 * differ by the same for everybody.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_agreement_of(const double *values,
                                                        size_t people, size_t raters,
                                                        double confidence,
                                                        struct omo_agreement *out);

/** The change of one person that is more than error, with the chance 1 - `confidence` to
 * be told where there is none: z sqrt(2) sem (Weir 2005, from memory). */
OMO_API double omo_detectable_change(double sem, double confidence);

/** Two ways of measuring against each other. */
struct omo_limits {
    size_t pairs;
    double bias, sd; /**< of the differences, first less second */
    double bias_low, bias_high;
    double lower, upper; /**< bias -/+ 1.96 sd */
    double lower_low, lower_high, upper_low, upper_high;
    double slope_low, slope_high; /**< of the slope below */
    double slope, slope_p; /**< of the difference over the pair's mean: proportional bias,
                                with the chance of one as steep by accident */
};
/**
 * Bland and Altman's limits (Lancet 1986, 307): the standard error of a limit is
 * sqrt(3 sd^2 / n), intervals are Student's. The slope's p is that of the linear
 * regression. At least 3 pairs; OMO_ERR_ARG; OMO_ERR_EMPTY when no difference differs.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_limits_of_agreement(const double *first,
                                                               const double *second,
                                                               size_t pairs,
                                                               double confidence,
                                                               struct omo_limits *out);

/** People needed so that the interval of a coefficient of `icc` with `raters` raters is
 *  `width` wide: Bonett, Statistics in Medicine 21 (2002), 1331 (from memory). Rounded
 * up; 0 for arguments that are none. */
OMO_API size_t omo_icc_people(double icc, size_t raters, double width, double confidence);

#ifdef __cplusplus
}
#endif

#endif
