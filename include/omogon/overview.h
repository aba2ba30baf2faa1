/**
 * What a practitioner looks at before choosing what to do, as figures out of a record's
 * courses: one arm against the other, why movements stopped, what help adds. Pure: reads
 * no file and names no pattern. Sheet, overview and report all take their figures here.
 */
#ifndef OMOGON_OVERVIEW_H
#define OMOGON_OVERVIEW_H

#include "omogon/progress.h"

#ifdef __cplusplus
extern "C" {
#endif

/** One movement of the affected side against the other one. */
struct omo_overview_percent {
    const struct omo_progress_course *affected; /**< lent by the courses */
    const struct omo_progress_course *other;    /**< alike but for the side */
    double affected_deg, other_deg; /**< means of the newest session of each */
    double percent;                 /**< 100 * affected_deg / other_deg */
};
/**
 * Percent of the other side of one course: of its newest session against the newest one
 * of the other side that was measured in the same mode, position, view and number of
 * arms. NAN when the course is not of the affected side, when the other side was not
 * measured alike, or when its figure is not above 0. `affected` is "left" or "right"; any
 * other text ("both", "", NULL): neither arm is a measure for the other, always NAN.
 */
OMO_API double omo_overview_percent(const struct omo_progress *progress,
                                    const struct omo_progress_course *course,
                                    const char *affected);
/**
 * The same for every movement, the least first, equal ones by the movement's name. Of a
 * movement the active courses come before the assisted and these before the passive ones;
 * of several the one whose affected side was measured last. `arms` "one" or "both" leaves
 * the other protocol out; "" or NULL takes both. Returns how many were written, `most` at
 * the most.
 */
OMO_API size_t omo_overview_percents(const struct omo_progress *progress,
                                     const char *affected, const char *arms,
                                     struct omo_overview_percent *out, size_t most);

/** Why the sessions of a course ended. */
struct omo_overview_stops {
    int stiff, pain, weak; /**< sessions that ended so */
    int known;             /**< sessions whose end was written down, these three or not */
};
/** Counts them over the whole course. */
OMO_API struct omo_overview_stops omo_overview_stops_of(
    const struct omo_progress_course *course);

/** The course with help that is otherwise like an active one; NULL: none, or `active` is
 *  not active. */
OMO_API const struct omo_progress_course *omo_overview_assisted(
    const struct omo_progress *progress, const struct omo_progress_course *active);

#ifdef __cplusplus
}
#endif

#endif
