/** What a scene knows of itself, frame by frame; compared with, never measured from. */
#ifndef OMO_APP_TRUTH_SERIES_H
#define OMO_APP_TRUTH_SERIES_H

#include <glib.h>

#include "omogon/motion.h"
#include "omogon/simulated.h"

struct omo_truth_series {
    GArray *frame; /**< struct omo_truth */
};
void omo_truth_series_init(struct omo_truth_series *series);
void omo_truth_series_finish(struct omo_truth_series *series);
void omo_truth_series_add(struct omo_truth_series *series, const struct omo_truth *truth);

/** One line of the comparison; NAN: no value. */
struct omo_truth_line {
    const char *what, *unit; /**< translated, constant */
    double measured, truth;
    int decimals;
};
#define OMO_TRUTH_LINES 7
/** Compares a result with the truth between two time stamps, by the same rules. */
void omo_truth_compare(const struct omo_truth_series *series, double first_s,
                       double last_s, const struct omo_result *result,
                       struct omo_truth_line lines[OMO_TRUTH_LINES]);

#endif
