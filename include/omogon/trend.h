/** A trend that a few odd days do not bend: Theil and Sen's slope, with its interval. */
#ifndef OMOGON_TREND_H
#define OMOGON_TREND_H

#include <stddef.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** A slope with its interval. */
struct omo_trend {
    double slope, low, high; /**< units of y for one of t; the interval's ends */
    double intercept;        /**< median of y minus slope times median of t */
    size_t pairs;            /**< of different t, that the slope is the median of */
};

/** With fewer points no interval of 95 % exists: even all in order, four are so in 2 of 24
 *  orders, which is 8 %. */
#define OMO_TREND_LEAST 5
/** More points than this are more than a person measures in ten years. */
#define OMO_TREND_MOST 4000

/**
 * Median of the slopes between all pairs of different t (Theil 1950, Sen 1968). The
 * interval is Sen's, from the normal approximation of Kendall's statistic with the
 * correction for ties in t and y; ranks are rounded to the nearest. `confidence` within
 * 0..1, exclusive. NAN in either is left out together with its other. OMO_ERR_ARG beyond
 * OMO_TREND_MOST or for a confidence that is none; OMO_ERR_EMPTY without two different t;
 * OMO_ERR_MEMORY. `out` is untouched on failure.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_trend_fit(const double *t, const double *y,
                                                     size_t count, double confidence,
                                                     struct omo_trend *out);

#ifdef __cplusplus
}
#endif

#endif
