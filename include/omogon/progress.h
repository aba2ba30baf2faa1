/**
 * A record as courses of weeks: sessions that may be compared, with their trend and
 * whether the change is more than measuring error. What a chart, a report and a
 * practitioner's overview start from.
 */
#ifndef OMOGON_PROGRESS_H
#define OMOGON_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/change.h"
#include "omogon/record.h"
#include "omogon/trend.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Mean length of a month in the Gregorian calendar; trends are told in degrees a month.
 */
#define OMO_DAYS_A_MONTH 30.4375
/** Of the trend's interval. */
#define OMO_PROGRESS_CONFIDENCE 0.95

/** One session of a course. */
struct omo_progress_session {
    const struct omo_session_row *row; /**< lent by the record, see omo_progress_read() */
    double day; /**< of its start, since 1970-01-01T00:00Z, with the part of the day */
    double mean_deg; /**< mean of the maxima of its repetitions, else its highest */
};

/** Sessions of one person, movement, side, mode, position, view and number of arms: only
 *  these may be compared. The oldest first; never empty. */
struct omo_progress_course {
    const struct omo_progress_session *sessions;
    size_t count;
    bool has_trend; /**< of OMO_TREND_LEAST sessions and more */
    struct omo_trend trend; /**< degrees a day; of the newest OMO_TREND_MOST sessions */
    struct omo_change change;
};

struct omo_progress;
/** NULL: every one. */
struct omo_progress_filter {
    const char *person, *movement, *side, *visit;
    const char *from, *to; /**< "YYYY-MM-DD", in UTC; both days are in */
};
/**
 * The courses of a record, in the order of their first rows. Rows that are withdrawn or
 * replaced, without a figure or without a time are left out. They stay the record's, so
 * that it must be neither read again nor closed before the courses are freed.
 * `settings` NULL: models/change.ini. OMO_ERR_OPEN, OMO_ERR_SETTINGS with one sentence,
 * OMO_ERR_MEMORY.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_progress_read(
    const struct omo_record *record, const struct omo_progress_filter *filter,
    const struct omo_change_settings *settings, struct omo_progress **out);
/** Frees it; NULL is fine. */
OMO_API void omo_progress_free(struct omo_progress *progress);
/** Courses. */
OMO_API size_t omo_progress_count(const struct omo_progress *progress);
/** `index` below the count. Lent. */
OMO_API const struct omo_progress_course *omo_progress_at(
    const struct omo_progress *progress, size_t index);
/** The newest session of a course: what stands for it. */
OMO_API const struct omo_progress_session *omo_progress_newest(
    const struct omo_progress_course *course);
/** The course of the other side, otherwise alike, also when the filter names one side
 * (its change is then not judged); NULL: none. */
OMO_API const struct omo_progress_course *omo_progress_other_side(
    const struct omo_progress *progress, const struct omo_progress_course *course);
/** The settings that the change was judged with. */
OMO_API const struct omo_change_settings *omo_progress_settings(
    const struct omo_progress *progress);

#ifdef __cplusplus
}
#endif

#endif
