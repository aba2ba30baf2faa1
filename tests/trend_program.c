/* Trends of what comes on standard input, for comparing with other libraries: a line
 * "CONFIDENCE COUNT", then COUNT lines "T Y"; a line "SLOPE LOW HIGH INTERCEPT" each. */
#include <stdio.h>
#include <stdlib.h>

#include "omogon/trend.h"

int main(void)
{
    static double t[OMO_TREND_MOST], y[OMO_TREND_MOST];
    double confidence;
    size_t count;
    while (scanf("%lf %zu", &confidence, &count) == 2) {
        struct omo_trend trend;
        if (count > OMO_TREND_MOST)
            return EXIT_FAILURE;
        for (size_t i = 0; i < count; i++)
            if (scanf("%lf %lf", &t[i], &y[i]) != 2)
                return EXIT_FAILURE;
        if (omo_trend_fit(t, y, count, confidence, &trend) != OMO_OK)
            return EXIT_FAILURE;
        printf("%.17g %.17g %.17g %.17g\n", trend.slope, trend.low, trend.high,
               trend.intercept);
    }
    return EXIT_SUCCESS;
}
