/** The published range beside a course of weeks, where one matches in every respect. */
#ifndef OMO_APP_COURSE_RANGE_H
#define OMO_APP_COURSE_RANGE_H

#include "app/course_view.h"
#include "omogon/reference.h"

/** Published values, and who the people of the record are. */
struct omo_course_ranges {
    struct omo_references *values;
    struct omo_table *people;
};
/** Opens both; what cannot be read is said once, and no range matches then. */
void omo_course_ranges_open(const char *directory, struct omo_course_ranges *ranges);
void omo_course_ranges_close(struct omo_course_ranges *ranges);

/** For a course's newest session; NULL none. Lent. */
const struct omo_reference_value *omo_course_range(
    const struct omo_course_ranges *ranges, const struct omo_progress_course *course);
/** "published range: 153 to 179 degrees, nine of ten people (...)", or that none matches;
 *  g_free() it. `value` may be NULL. */
char *omo_course_range_words(const struct omo_reference_value *value);
/** "its source: ..."; NULL without one. g_free() it. */
char *omo_course_range_source(const struct omo_reference_value *value);
/** Puts it behind a chart, with whom it speaks of unless the chart is small (set that
 *  before). `value` may be NULL. */
void omo_course_range_in(const struct omo_reference_value *value,
                         struct omo_course_view *view);

#endif
