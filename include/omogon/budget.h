/**
 * Uncertainty budgets after the Guide to the Expression of Uncertainty in Measurement
 * (JCGM 100:2008): one line a source, combined into what a figure is good to.
 *
 * Plain values: copy them, nothing to free, nothing allocated.
 */
#ifndef OMOGON_BUDGET_H
#define OMOGON_BUDGET_H

#include <stdbool.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** How an input is spread. */
enum omo_distribution { OMO_GAUSSIAN, OMO_RECTANGULAR };
/** "gaussian", "rectangular". */
OMO_API const char *omo_distribution_name(enum omo_distribution distribution);

/** One source of uncertainty. Texts are constant. */
struct omo_budget_line {
    const char *name;   /**< a word that stays: "elbow-marker" */
    const char *unit;   /**< of the input: "px", "mm", "deg", "ms" */
    const char *origin; /**< "measured", "models/allowances.ini", "fit", "lens profile" */
    enum omo_distribution distribution; /**< of the input */
    double input_u;     /**< standard uncertainty of the input, in its unit, >= 0 */
    double sensitivity; /**< how far the angle goes with the input, degrees a unit */
    double freedom;     /**< degrees of freedom of input_u, >= 1; INFINITY: stated, not
                             estimated from few values */
    bool beyond;        /**< outside the definition of the angle: shown, but not in u95 */
    double u_deg;       /**< contribution; filled in by omo_budget_add() */
};

/** Lines of a budget, at most. */
#define OMO_BUDGET_LINES 20

/** A budget by the Guide to the Expression of Uncertainty in Measurement, line by line.
 */
struct omo_budget {
    int count; /**< lines; 0: nothing was measured, and the figures below are NAN */
    struct omo_budget_line line[OMO_BUDGET_LINES];
    double u_deg;          /**< combined standard uncertainty, without the lines beyond */
    double freedom;        /**< effective degrees of freedom; INFINITY */
    double coverage;       /**< k */
    double u95_deg;        /**< expanded uncertainty: coverage * u_deg */
    double beyond_u95_deg; /**< the same with the lines beyond; NAN when there is none */
};

/** No line, no figure. */
OMO_API void omo_budget_init(struct omo_budget *budget);
/** Adds a line; its u_deg is worked out here. */
OMO_API void omo_budget_add(struct omo_budget *budget,
                            const struct omo_budget_line *line);
/** Works the figures out of the lines, which are taken as independent (GUM 5.1.2), with
 *  the effective degrees of freedom of Welch and Satterthwaite (GUM G.4.1). */
OMO_API void omo_budget_combine(struct omo_budget *budget);

/** Effective degrees of freedom (GUM G.4.1, formula G.2b) of `count` independent
 *  contributions; INFINITY when none of those that count is estimated. */
OMO_API double omo_effective_freedom(const double *u, const double *freedom, int count);
/** Factor that makes an interval of 95.45 % out of a standard uncertainty with so many
 *  degrees of freedom (>= 1): Student's t; 2 for INFINITY (GUM table G.2). */
OMO_API double omo_coverage_factor(double freedom);

#ifdef __cplusplus
}
#endif

#endif
