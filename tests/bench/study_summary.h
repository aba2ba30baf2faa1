/** What many sessions come to. */
#ifndef STUDY_SUMMARY_H
#define STUDY_SUMMARY_H

#include "study_runs.h"

/** Errors are measured less true, of the maximum. */
struct study_summary {
    size_t count, missing; /**< measured; without a maximum */
    double bias_deg, rms_deg, uncorrected_bias_deg, uncorrected_rms_deg;
    double thorax_rms_deg, turned_rms_deg;
    double coverage;        /**< share of errors within u95 */
    double thorax_coverage; /**< of those against the thorax, within the u95 for it */
    double uncorrected_coverage;
    double median_u95_deg, uncorrected_median_u95_deg;
};
/** Of those whose true maximum lies from low_deg up to below high_deg. */
void study_summarise(const struct study_cell *cell, double low_deg, double high_deg,
                     struct study_summary *summary);

/** Markers put on again. */
struct study_retest {
    size_t count;
    double sem_deg, uncorrected_sem_deg;
};
void study_compare_visits(const struct study_cell *first, const struct study_cell *second,
                          struct study_retest *retest);
/** Smallest change that is more than chance: 1.96 sqrt(2) SEM. */
#define STUDY_MDC95_PER_SEM 2.7719

/** How well the onset of excess hiking is found. */
struct study_onsets {
    size_t hikes;       /**< people who rise by 25 mm or more within 30 degrees */
    size_t found, near; /**< with an onset; within 6 degrees of the true one */
    size_t naturals, false_onsets; /**< people with natural rise alone */
    double bias_deg;               /**< of those found */
};
void study_count_onsets(const struct study_cell *cell, struct study_onsets *onsets);

#endif
