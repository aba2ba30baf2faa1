/** One arm, or both: what the course asks of all it follows. */
#ifndef OMO_MOTION_COURSE_ARMS_H
#define OMO_MOTION_COURSE_ARMS_H

#include "motion/course.h"

/** True when none of the arms' values is NAN. */
bool omo_course_all_seen(const struct omo_course *course, const double value_deg[]);
/** Of the arm that is higher. */
double omo_course_top_deg(const struct omo_course *course,
                          const struct omo_course_frame *frame);
/** Every arm near where its rest is expected. */
bool omo_course_at_rest(const struct omo_course *course,
                        const struct omo_course_frame *frame);

/** Stillness, each arm's by itself. */
void omo_course_break_still(struct omo_course *course);
OMO_MUST_CHECK enum omo_status omo_course_push_still(
    struct omo_course *course, const struct omo_course_frame *frame);
/** That of the arm that has kept still for the shortest time. */
struct omo_still_stretch omo_course_all_still(const struct omo_course *course,
                                              double spread, double for_s, int64_t from);

#endif
