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
    double variation_ratio; /**< coefficient of variation, within_sd over the mean of all
                                 values; NAN: a mean of nothing. As Quan and Shih,
                                 Biometrics 52 (1996), 1195 (from memory) */
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

/** Limits of agreement where a person has several pairs. */
struct omo_pair_limits {
    struct omo_limits limits; /**< of single pairs; the slope's are NAN: pairs of a person
                                   are not independent. Intervals can be NAN */
    size_t people, sides;     /**< of which there are pairs */
    double person, side, within; /**< variances of the differences; NAN: no such factor,
                                      as nobody has two pairs, or no side has */
    double df;                   /**< of their sum */
};
/**
 * Differences of pairs, `person[i]` and `side[i]` telling whose the pair is: 0 or more,
 * with or without gaps; a side's number is its own among all people's. `side` may be
 * NULL. The differences are modelled with the person, and the side within the person, as
 * random effects (omo_components_fit); the limits are bias -/+ 1.96 times the root of all
 * variances' sum: Bland and Altman, Journal of Biopharmaceutical Statistics 17 (2007),
 * 571 (from memory), with REML in the place of their analysis of variance. With one pair
 * a person they are the ordinary ones. Intervals: of the bias Student's, of the limits
 * that of the bias and that of the spread (chi square) recovered into one (MOVER) as Zou,
 * Statistical Methods in Medical Research 22 (2013), 630 (from memory), here with
 * Satterthwaite's degrees of freedom for the spread. 3 pairs or more of 2 people or more,
 * OMO_COMPONENT_MOST at most: else OMO_ERR_ARG; as omo_components_fit otherwise.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_limits_of_pairs(const double *difference,
                                                           const int *person,
                                                           const int *side, size_t pairs,
                                                           double confidence,
                                                           struct omo_pair_limits *out);

/** People needed so that the interval of a coefficient of `icc` with `raters` raters is
 *  `width` wide: Bonett, Statistics in Medicine 21 (2002), 1331 (from memory). Rounded
 * up; 0 for arguments that are none. */
OMO_API size_t omo_icc_people(double icc, size_t raters, double width, double confidence);

#ifdef __cplusplus
}
#endif

#endif
