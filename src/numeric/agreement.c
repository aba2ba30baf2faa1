#include "omogon/agreement.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

#define LIMITS_SD 1.96
/* Of the greatest value: a spread below this share of it is what rounding leaves, so a
   difference that is the same for everybody is no error of 1e-14. Decimals in a file are
   far coarser. */
#define ROUNDING_SHARE 1e-12

static double sum_of(const double *values, size_t count, size_t step)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += values[i * step];
    return sum;
}

static double greatest(const double *values, size_t count)
{
    double most = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, fabs(values[i]));
    return most;
}

/** Mean squares of the two-way table. */
static void analyse(const double *values, struct omo_agreement *a)
{
    double n = (double)a->people, k = (double)a->raters;
    double within = 0, between = 0, raters = 0, error = 0;
    a->mean = sum_of(values, a->people * a->raters, 1) / (n * k);
    for (size_t i = 0; i < a->people; i++) {
        double mean = sum_of(values + i * a->raters, a->raters, 1) / k;
        between += k * (mean - a->mean) * (mean - a->mean);
    }
    /* Squares of residuals: a difference of sums of squares would leave rounding of the
       size of the total, not of the error. */
    for (size_t j = 0; j < a->raters; j++) {
        double shift = sum_of(values + j, a->people, a->raters) / n - a->mean;
        raters += n * shift * shift;
        for (size_t i = 0; i < a->people; i++) {
            const double *row = values + i * a->raters;
            double rest = row[j] - sum_of(row, a->raters, 1) / k;
            within += rest * rest;
            error += (rest - shift) * (rest - shift);
        }
    }
    a->between_ms = between / (n - 1);
    a->within_ms = within / (n * (k - 1));
    a->rater_ms = raters / (k - 1);
    a->error_ms = error / ((n - 1) * (k - 1));
}

/** Of one measurement to the mean of k (Spearman and Brown). */
static double stepped_up(double single, double k)
{
    /* So far below nothing the mean of k has no bound. */
    double rest = 1 + single * (k - 1);
    return rest > 0 ? single * k / rest : (double)NAN;
}

/** The forms whose interval comes from one ratio of mean squares. */
static void from_ratio(double ratio, double df1, double df2, double k, double tail,
                       struct omo_icc *single, struct omo_icc *average)
{
    double low = ratio / gsl_cdf_fdist_Qinv(tail, df1, df2);
    double high = ratio * gsl_cdf_fdist_Qinv(tail, df2, df1);
    *single = (struct omo_icc){(ratio - 1) / (ratio + k - 1), (low - 1) / (low + k - 1),
                               (high - 1) / (high + k - 1)};
    *average = (struct omo_icc){1 - 1 / ratio, 1 - 1 / low, 1 - 1 / high};
}

/** The F distribution's value that is passed with this chance; NAN for degrees of freedom
 *  that are none. By the beta distribution where one has less than 1, as a few people can
 *  bring about. */
static double f_passed(double tail, double df1, double df2)
{
    if (!(df1 > 0 && df2 > 0) || !isfinite(df1) || !isfinite(df2))
        return NAN;
    if (df1 >= 1 && df2 >= 1)
        return gsl_cdf_fdist_Qinv(tail, df1, df2);
    double rest = gsl_cdf_beta_Pinv(tail, df2 / 2, df1 / 2); /* df2 / (df2 + df1 F) */
    return df2 * (1 - rest) / (df1 * rest);
}

/** Absolute agreement of raters drawn by lot: the interval has Satterthwaite's degrees of
 *  freedom. */
static void from_variances(const struct omo_agreement *a, double tail,
                           struct omo_icc *single, struct omo_icc *average)
{
    double n = (double)a->people, k = (double)a->raters;
    double b = a->between_ms, j = a->rater_ms, e = a->error_ms;
    double icc = (b - e) / (b + (k - 1) * e + k * (j - e) / n);
    double u = k * icc / (n * (1 - icc)), v = 1 + k * icc * (n - 1) / (n * (1 - icc));
    double df = (u * j + v * e) * (u * j + v * e) /
                (u * j * u * j / (k - 1) + v * e * v * e / ((n - 1) * (k - 1)));
    double rest = k * j + (k * n - k - n) * e;
    double f = f_passed(tail, n - 1, df);
    double low = n * (b - f * e) / (f * rest + n * b);
    f = f_passed(tail, df, n - 1);
    double high = n * (f * b - e) / (rest + n * f * b);
    *single = (struct omo_icc){icc, low, high};
    *average = (struct omo_icc){(b - e) / (b + (j - e) / n), stepped_up(low, k),
                                stepped_up(high, k)};
}

enum omo_status omo_agreement_of(const double *values, size_t people, size_t raters,
                                 double confidence, struct omo_agreement *out)
{
    if (people < 2 || raters < 2 || !(confidence > 0 && confidence < 1))
        return OMO_ERR_ARG;
    for (size_t i = 0; i < people * raters; i++)
        if (!isfinite(values[i]))
            return OMO_ERR_ARG;
    struct omo_agreement a = {.people = people, .raters = raters};
    double n = (double)people, k = (double)raters, tail = (1 - confidence) / 2;
    double least = ROUNDING_SHARE * greatest(values, people * raters);
    analyse(values, &a);
    if (!(sqrt(a.between_ms) > least) || !(sqrt(a.within_ms) > least) ||
        !(sqrt(a.error_ms) > least))
        return OMO_ERR_EMPTY;
    from_ratio(a.between_ms / a.within_ms, n - 1, n * (k - 1), k, tail, &a.single[0],
               &a.average[0]);
    from_variances(&a, tail, &a.single[1], &a.average[1]);
    from_ratio(a.between_ms / a.error_ms, n - 1, (n - 1) * (k - 1), k, tail, &a.single[2],
               &a.average[2]);
    a.sem_consistency = sqrt(a.error_ms);
    a.sem_agreement = sqrt(a.error_ms + fmax(a.rater_ms - a.error_ms, 0) / n);
    a.within_sd = sqrt(a.within_ms);
    a.repeatability = LIMITS_SD * sqrt(2) * a.within_sd;
    /* The coefficient of variation: root of the mean square within people over the mean
       (Quan and Shih, Biometrics 52 (1996), 1195, from memory). Bland and Altman (BMJ 313
       (1996), 106, from memory) take logarithms first, which suits errors that grow with
       the value. */
    a.variation_ratio = a.mean > 0 ? a.within_sd / a.mean : (double)NAN;
    *out = a;
    return OMO_OK;
}

double omo_detectable_change(double sem, double confidence)
{
    return gsl_cdf_ugaussian_Qinv((1 - confidence) / 2) * sqrt(2) * sem;
}

/** Slope of the difference over the mean, its interval and its two-sided p. */
static void proportional(const double *first, const double *second, size_t pairs,
                         double tail, struct omo_limits *out)
{
    double n = (double)pairs, mean = 0, sxx = 0, sxy = 0, syy = 0;
    for (size_t i = 0; i < pairs; i++)
        mean += (first[i] + second[i]) / 2 / n;
    for (size_t i = 0; i < pairs; i++) {
        double x = (first[i] + second[i]) / 2 - mean,
               y = first[i] - second[i] - out->bias;
        sxx += x * x;
        sxy += x * y;
        syy += y * y;
    }
    out->slope = sxx > 0 ? sxy / sxx : (double)NAN;
    double left = syy - out->slope * sxy;
    double error = sqrt(left / (n - 2) / sxx);
    double reach = gsl_cdf_tdist_Qinv(tail, n - 2) * error;
    out->slope_low = out->slope - reach;
    out->slope_high = out->slope + reach;
    out->slope_p =
        error > 0 ? 2 * gsl_cdf_tdist_Q(fabs(out->slope) / error, n - 2) : (double)NAN;
}

enum omo_status omo_limits_of_agreement(const double *first, const double *second,
                                        size_t pairs, double confidence,
                                        struct omo_limits *out)
{
    if (pairs < 3 || !(confidence > 0 && confidence < 1))
        return OMO_ERR_ARG;
    struct omo_limits l = {.pairs = pairs};
    double n = (double)pairs, squares = 0;
    for (size_t i = 0; i < pairs; i++) {
        if (!isfinite(first[i]) || !isfinite(second[i]))
            return OMO_ERR_ARG;
        l.bias += (first[i] - second[i]) / n;
    }
    for (size_t i = 0; i < pairs; i++)
        squares += (first[i] - second[i] - l.bias) * (first[i] - second[i] - l.bias);
    l.sd = sqrt(squares / (n - 1));
    if (!(l.sd > ROUNDING_SHARE * fmax(greatest(first, pairs), greatest(second, pairs))))
        return OMO_ERR_EMPTY;
    double t = gsl_cdf_tdist_Qinv((1 - confidence) / 2, n - 1);
    double reach = t * l.sd / sqrt(n), limit_reach = t * sqrt(3 * l.sd * l.sd / n);
    l.bias_low = l.bias - reach;
    l.bias_high = l.bias + reach;
    l.lower = l.bias - LIMITS_SD * l.sd;
    l.upper = l.bias + LIMITS_SD * l.sd;
    l.lower_low = l.lower - limit_reach;
    l.lower_high = l.lower + limit_reach;
    l.upper_low = l.upper - limit_reach;
    l.upper_high = l.upper + limit_reach;
    proportional(first, second, pairs, (1 - confidence) / 2, &l);
    *out = l;
    return OMO_OK;
}

size_t omo_icc_people(double icc, size_t raters, double width, double confidence)
{
    double k = (double)raters, z = gsl_cdf_ugaussian_Qinv((1 - confidence) / 2);
    if (!(icc >= 0 && icc < 1) || raters < 2 || !(width > 0 && width < 1) ||
        !(confidence > 0 && confidence < 1))
        return 0;
    double spread = (1 - icc) * (1 + (k - 1) * icc);
    double people = 8 * z * z * spread * spread / (k * (k - 1) * width * width) + 1;
    /* For two raters that agree well his own correction. */
    if (raters == 2 && icc >= 0.7)
        people += 5 * icc;
    return (size_t)ceil(people);
}
