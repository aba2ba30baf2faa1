#include "omogon/trend.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

/** Sum of k (k - 1) (2 k + 5) over groups of k equal values, of sorted values. */
static double tie_term(const double *sorted, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count;) {
        size_t end = i;
        while (end < count && sorted[end] == sorted[i])
            end++;
        double k = (double)(end - i);
        sum += k * (k - 1) * (2 * k + 5);
        i = end;
    }
    return sum;
}

static size_t slopes_of(const double *t, const double *y, size_t count, double *slope)
{
    size_t pairs = 0;
    for (size_t i = 0; i < count; i++)
        for (size_t j = i + 1; j < count; j++)
            if (t[i] != t[j])
                slope[pairs++] = (y[j] - y[i]) / (t[j] - t[i]);
    return pairs;
}

static void swap(double *a, double *b)
{
    double kept = *a;
    *a = *b;
    *b = kept;
}

/**
 * The index-th smallest, counted from 0; the values change places. Ten years have
 * millions of slopes, of which four are wanted: choosing takes a twentieth of sorting.
 * Hoare's FIND (Communications of the ACM 4, 1961, from memory) with the middle of three
 * as its pivot; equal values are passed from both sides, so that many of them cost no
 * more.
 */
static double choose(double *value, size_t count, size_t index)
{
    size_t low = 0, high = count - 1;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (value[middle] < value[low])
            swap(&value[middle], &value[low]);
        if (value[high] < value[low])
            swap(&value[high], &value[low]);
        if (value[high] < value[middle])
            swap(&value[high], &value[middle]);
        double pivot = value[middle];
        size_t i = low, j = high;
        for (;;) {
            while (value[i] < pivot)
                i++;
            while (pivot < value[j])
                j--;
            if (i >= j)
                break;
            swap(&value[i++], &value[j--]);
        }
        /* Below i nothing is larger than the pivot, above j nothing smaller. */
        if (index <= j)
            high = j;
        else
            low = j + 1;
    }
    return value[index];
}

/** As gsl_stats_median_from_sorted_data(), of values in any order. */
static double median(double *value, size_t count)
{
    double lower = choose(value, count, (count - 1) / 2);
    return count % 2 ? lower : (lower + choose(value, count, count / 2)) / 2.0;
}

/** The rank as an index within the slopes. */
static size_t index_of(double rank, size_t pairs)
{
    if (!(rank > 0))
        return 0;
    return rank < (double)(pairs - 1) ? (size_t)rank : pairs - 1;
}

enum omo_status omo_trend_fit(const double *t, const double *y, size_t count,
                              double confidence, struct omo_trend *out)
{
    if (count > OMO_TREND_MOST || !(confidence > 0 && confidence < 1))
        return OMO_ERR_ARG;
    double *ts = malloc((2 * count + 1) * sizeof *ts);
    double *slope = malloc((count * count / 2 + 1) * sizeof *slope);
    enum omo_status status = ts && slope ? OMO_OK : OMO_ERR_MEMORY;
    size_t kept = 0, pairs = 0;
    if (status == OMO_OK) {
        double *ys = ts + count;
        for (size_t i = 0; i < count; i++)
            if (isfinite(t[i]) && isfinite(y[i])) {
                ts[kept] = t[i];
                ys[kept++] = y[i];
            }
        pairs = slopes_of(ts, ys, kept, slope);
        status = pairs > 0 ? OMO_OK : OMO_ERR_EMPTY;
    }
    if (status == OMO_OK) {
        double *ys = ts + count, n = (double)kept;
        gsl_sort(ts, 1, kept);
        gsl_sort(ys, 1, kept);
        double variance =
            (n * (n - 1) * (2 * n + 5) - tie_term(ts, kept) - tie_term(ys, kept)) / 18;
        double reach =
            gsl_cdf_ugaussian_Qinv((1 - confidence) / 2) * sqrt(fmax(variance, 0));
        struct omo_trend trend = {.pairs = pairs};
        trend.slope = median(slope, pairs);
        /* Sen 1968: the (N - C)/2-th and the (N + C)/2 + 1-th smallest, counted from 1.
         */
        trend.low =
            choose(slope, pairs, index_of(rint(((double)pairs - reach) / 2) - 1, pairs));
        trend.high =
            choose(slope, pairs, index_of(rint(((double)pairs + reach) / 2), pairs));
        trend.intercept = gsl_stats_median_from_sorted_data(ys, 1, kept) -
                          trend.slope * gsl_stats_median_from_sorted_data(ts, 1, kept);
        *out = trend;
    }
    free(ts);
    free(slope);
    return status;
}
