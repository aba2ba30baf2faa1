/** What agreement found, for files: a table, a plot, a sheet for a paper. */
#ifndef OMO_APP_AGREEMENT_OUT_H
#define OMO_APP_AGREEMENT_OUT_H

#include <stdbool.h>

#include "app/agreement_table.h"
#include "omogon/agreement.h"
#include "omogon/components.h"

/** A value of each of two raters, of the same side and trial. */
struct omo_agreement_pair {
    double first, second;
    int person, side; /* as in struct omo_agreement_value */
};

/** All that was worked out of one file. */
struct omo_agreement_found {
    const char *path, *value; /**< file and column of the values */
    struct omo_agreement_table table;
    double confidence;
    bool has_agreement, has_limits, has_components;
    struct omo_agreement agreement;
    struct omo_limits limits; /**< of one pair a person: repeated trials are averaged */
    GArray *pairs; /**< struct omo_agreement_pair, owned; NULL: nobody has two of them */
    size_t unmatched;            /**< values without the other rater's */
    enum omo_status pair_status; /**< of the limits below; OMO_OK without pairs, too */
    struct omo_pair_limits pair_limits;
    struct omo_components components; /**< person, side of a person, rater */
    bool sides; /**< some person has two sides: the second factor is there */
};

/** Finds the pairs of two raters and their limits out of the mixed model, where somebody
 *  has several pairs. Nothing that fails; `pair_status` has what became of it. */
void omo_agreement_pair(struct omo_agreement_found *found);
/** Whether there are limits of repeated pairs. */
bool omo_agreement_has_pairs(const struct omo_agreement_found *found);
/** Why repeated pairs have none, in the user's language; lent. */
const char *omo_agreement_pairs_fault(const struct omo_agreement_found *found);

/* What follows from variance components; NAN where it is not there. */
struct omo_agreement_model {
    double person, side, rater, residual; /**< variances */
    double icc_agreement, icc_consistency, sem_agreement, sem_consistency;
};
struct omo_agreement_model omo_agreement_model_of(
    const struct omo_agreement_found *found);
/** Fits the components of all values; one sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_agreement_fit(struct omo_agreement_found *found);

/** Prints all of it; `form` "2,1" leaves the other intraclass correlations out, NULL
 * none.
 */
void omo_agreement_print(const struct omo_agreement_found *found, const char *form);
void omo_agreement_print_json(const struct omo_agreement_found *found);

/** name,value,low,high: every figure a row. One sentence on failure, as below. */
OMO_MUST_CHECK enum omo_status omo_agreement_csv(const struct omo_agreement_found *found,
                                                 const char *path);
/** Differences of two raters over their means, with the limits and their intervals: .svg,
 *  .pdf or .png. */
OMO_MUST_CHECK enum omo_status omo_agreement_plot(const struct omo_agreement_found *found,
                                                  const char *path);
/** What a report of reliability and agreement has to say, topic by topic, as text: known
 *  figures are filled in, the rest is left blank. */
OMO_MUST_CHECK enum omo_status omo_agreement_sheet(
    const struct omo_agreement_found *found, const char *path);

#endif
