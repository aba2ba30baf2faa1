#include "omogon/budget.h"

#include <assert.h>
#include <gsl/gsl_cdf.h>
#include <math.h>

/* Two standard deviations of a normal distribution. With it the factor for plentiful data
 * is 2, and grows smoothly as they get few. */
#define COVERAGE_NORMAL 2.0

const char *omo_distribution_name(enum omo_distribution distribution)
{
    switch (distribution) {
    case OMO_GAUSSIAN:
        return "gaussian";
    case OMO_RECTANGULAR:
        return "rectangular";
    }
    return "gaussian";
}

void omo_budget_init(struct omo_budget *budget)
{
    *budget = (struct omo_budget){
        .u_deg = NAN,
        .freedom = NAN,
        .coverage = NAN,
        .u95_deg = NAN,
        .beyond_u95_deg = NAN,
    };
}

void omo_budget_add(struct omo_budget *budget, const struct omo_budget_line *line)
{
    assert(budget->count < OMO_BUDGET_LINES);
    struct omo_budget_line *added = &budget->line[budget->count++];
    *added = *line;
    added->u_deg = fabs(line->sensitivity) * line->input_u;
}

double omo_effective_freedom(const double *u, const double *freedom, int count)
{
    double variance = 0, sum = 0;
    for (int i = 0; i < count; i++) {
        variance += u[i] * u[i];
        if (isfinite(freedom[i]))
            sum += u[i] * u[i] * u[i] * u[i] / freedom[i];
    }
    return sum > 0.0 ? variance * variance / sum : (double)INFINITY;
}

double omo_coverage_factor(double freedom)
{
    if (!isfinite(freedom))
        return COVERAGE_NORMAL;
    return gsl_cdf_tdist_Pinv(gsl_cdf_ugaussian_P(COVERAGE_NORMAL), freedom);
}

/** Combines the lines, with those beyond or without; returns the expanded uncertainty. */
static double combine(const struct omo_budget *budget, bool beyond, double *u_deg,
                      double *freedom)
{
    double u[OMO_BUDGET_LINES], of[OMO_BUDGET_LINES], variance = 0;
    int count = 0;
    for (int i = 0; i < budget->count; i++) {
        const struct omo_budget_line *line = &budget->line[i];
        if (line->beyond && !beyond)
            continue;
        u[count] = line->u_deg;
        of[count++] = line->freedom;
        variance += line->u_deg * line->u_deg;
    }
    *u_deg = sqrt(variance);
    *freedom = omo_effective_freedom(u, of, count);
    return omo_coverage_factor(*freedom) * *u_deg;
}

void omo_budget_combine(struct omo_budget *budget)
{
    double u_deg, freedom;
    bool beyond = false;
    for (int i = 0; i < budget->count; i++)
        beyond |= budget->line[i].beyond;
    budget->beyond_u95_deg =
        beyond ? combine(budget, true, &u_deg, &freedom) : (double)NAN;
    budget->u95_deg = combine(budget, false, &budget->u_deg, &budget->freedom);
    budget->coverage = omo_coverage_factor(budget->freedom);
}
