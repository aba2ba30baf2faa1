/* Limits of agreement where a person has several pairs. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "omogon/agreement.h"
#include "omogon/components.h"

#define LIMITS_SD 1.96
/* Of the greatest difference: a spread below this share of it is what rounding leaves. */
#define ROUNDING_SHARE 1e-12

/** Numbers 0, 1, 2 for those that tell groups apart; how many there are, 0 where one is
 *  no number of a group. */
static size_t number_groups(const int *group, size_t count, int *out)
{
    size_t groups = 0;
    for (size_t i = 0; i < count; i++) {
        size_t before = 0;
        if (group[i] < 0)
            return 0;
        while (before < i && group[before] != group[i])
            before++;
        out[i] = before < i ? out[before] : (int)groups++;
    }
    return groups;
}

/** Whether every side is of one person alone. */
static bool is_nested(const int *side, const int *person, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < i; j++)
            if (side[i] == side[j] && person[i] != person[j])
                return false;
    return true;
}

static bool differs(const double *difference, size_t pairs)
{
    double low = difference[0], high = difference[0];
    for (size_t i = 1; i < pairs; i++) {
        low = fmin(low, difference[i]);
        high = fmax(high, difference[i]);
    }
    return high - low > ROUNDING_SHARE * fmax(fabs(low), fabs(high));
}

/** The limits' intervals: the bias's reach and that of the spread, in squares. */
static void recover(const struct omo_components *c, double tail, struct omo_limits *l)
{
    double reach = gsl_cdf_ugaussian_Qinv(tail) * c->mean_se;
    double wide = l->sd * sqrt(c->total_df / gsl_cdf_chisq_Pinv(tail, c->total_df));
    double narrow = l->sd * sqrt(c->total_df / gsl_cdf_chisq_Qinv(tail, c->total_df));
    double outside = hypot(reach, LIMITS_SD * (wide - l->sd));
    double inside = hypot(reach, LIMITS_SD * (l->sd - narrow));
    l->lower_low = l->lower - outside;
    l->lower_high = l->lower + inside;
    l->upper_low = l->upper - inside;
    l->upper_high = l->upper + outside;
}

static struct omo_limits limits_of(const struct omo_components *c, double variance,
                                   size_t pairs, double confidence)
{
    struct omo_limits l = {.pairs = pairs, .bias = c->mean, .sd = sqrt(variance)};
    double tail = (1 - confidence) / 2;
    l.lower = l.bias - LIMITS_SD * l.sd;
    l.upper = l.bias + LIMITS_SD * l.sd;
    l.bias_low = l.bias_high = l.lower_low = l.lower_high = NAN;
    l.upper_low = l.upper_high = l.slope = l.slope_low = l.slope_high = l.slope_p = NAN;
    if (c->mean_df > 0 && isfinite(c->mean_df)) {
        double reach = gsl_cdf_tdist_Qinv(tail, c->mean_df) * c->mean_se;
        l.bias_low = l.bias - reach;
        l.bias_high = l.bias + reach;
    }
    if (c->total_df > 0 && isfinite(c->total_df))
        recover(c, tail, &l);
    return l;
}

/** Fits with the factors that can be told: a group of one pair each is what is left. */
static enum omo_status fit_pairs(const double *difference, const int *person,
                                 const int *side, size_t pairs, double confidence,
                                 struct omo_pair_limits *out)
{
    struct omo_components c;
    const int *group[2] = {person, side};
    bool by_person = out->people < pairs;
    bool by_side = by_person && out->sides > out->people && out->sides < pairs;
    /* A factor is there only with those before it. */
    size_t factors = (size_t)by_person + by_side;
    enum omo_status status = omo_components_fit(difference, group, pairs, factors, &c);
    if (status != OMO_OK)
        return status;
    out->person = by_person ? c.variance[0] : (double)NAN;
    out->side = by_side ? c.variance[1] : (double)NAN;
    out->within = c.residual;
    out->df = c.total_df;
    out->limits =
        limits_of(&c,
                  c.residual + (by_person ? out->person : 0) + (by_side ? out->side : 0),
                  pairs, confidence);
    return OMO_OK;
}

enum omo_status omo_limits_of_pairs(const double *difference, const int *person,
                                    const int *side, size_t pairs, double confidence,
                                    struct omo_pair_limits *out)
{
    if (pairs < 3 || pairs > OMO_COMPONENT_MOST || !(confidence > 0 && confidence < 1))
        return OMO_ERR_ARG;
    for (size_t i = 0; i < pairs; i++)
        if (!isfinite(difference[i]))
            return OMO_ERR_ARG;
    int *numbers = malloc(2 * pairs * sizeof *numbers);
    if (!numbers)
        return OMO_ERR_MEMORY;
    int *sides = numbers + pairs;
    struct omo_pair_limits l = {.people = number_groups(person, pairs, numbers)};
    l.sides = number_groups(side ? side : person, pairs, sides);
    enum omo_status status = OMO_ERR_ARG;
    if (l.people >= 2 && l.sides >= l.people && is_nested(sides, numbers, pairs))
        status = differs(difference, pairs)
                     ? fit_pairs(difference, numbers, sides, pairs, confidence, &l)
                     : OMO_ERR_EMPTY;
    free(numbers);
    if (status == OMO_OK)
        *out = l;
    return status;
}
