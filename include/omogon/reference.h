/**
 * Published values, and which of them may stand beside a session. A range is shown only
 * where all that it depends on is the same; an interval of a mean never is.
 */
#ifndef OMOGON_REFERENCE_H
#define OMOGON_REFERENCE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/record.h"
#include "omogon/tables.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What the figures of a published value speak of. */
enum omo_reference_kind {
    OMO_REFERENCE_PEOPLE, /**< how people differ: mean and SD, or percentiles */
    OMO_REFERENCE_MEAN,   /**< how well the mean of a group is known; no person's range */
};

/** A line of models/reference-values.csv. Numbers that are not known are NAN, texts "".
 */
struct omo_reference_value {
    char movement[24];
    double at_abduction_deg; /**< of a rotation: where the upper arm was held */
    char position[16], mode[16];
    char reference[16]; /**< against what the angle was taken: gravity, trunk */
    char instrument[32];
    int age_from, age_to;    /**< whole years, both included */
    char sex[8], side[16];   /**< female, male, any; left, right, dominant, non-dominant,
                                  any */
    int people;              /**< -1 unknown */
    double mean_deg, sd_deg; /**< SD of people */
    double p5_deg, p25_deg, p50_deg, p75_deg, p95_deg; /**< percentiles of people */
    double mean_low_deg, mean_high_deg;                /**< interval of the mean */
    enum omo_reference_kind kind;
    char source[160];
    bool confirmed; /**< read in its source, with all that it depends on */
    char note[256];
};

struct omo_references;
/**
 * Reads all lines; NULL: models/reference-values.csv. OMO_ERR_OPEN, OMO_ERR_FORMAT with
 * one sentence that names the first bad line. Free it by omo_references_free().
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_references_load(const char *path,
                                                           struct omo_references **out);
/** Frees it; NULL is fine. */
OMO_API void omo_references_free(struct omo_references *references);
/** Lines, also those that are never shown. */
OMO_API size_t omo_references_count(const struct omo_references *references);
/** `index` below the count. Lent. */
OMO_API const struct omo_reference_value *omo_references_at(
    const struct omo_references *references, size_t index);

/**
 * The first confirmed range of people whose movement, position, mode, reference, age, sex
 * and side, and of a rotation the abduction, are those of a session; NULL: none, as when
 * one of these is not known. Lent. `person` NULL: nothing was entered. Of a birth year
 * two ages follow, and both have to fit. A rotation fits 90 degrees within 80 to 100, as
 * in the record, and 0 up to 10.
 */
OMO_API const struct omo_reference_value *omo_reference_of(
    const struct omo_references *references, const struct omo_session_row *session,
    const struct omo_person_row *person);
/**
 * From where to where people lie: the 5th to the 95th percentile (nine of ten), else the
 * mean and 1.96 SD either way (19 of 20, if the spread is a normal distribution's).
 * False, and NAN, for an interval of a mean.
 */
OMO_API bool omo_reference_range(const struct omo_reference_value *value, double *low_deg,
                                 double *high_deg);

#ifdef __cplusplus
}
#endif

#endif
