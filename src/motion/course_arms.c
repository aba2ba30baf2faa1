/* What the course asks of the one arm it follows, or of both at once. */
#include "motion/course_arms.h"

#include <math.h>

bool omo_course_all_seen(const struct omo_course *course, const double value_deg[])
{
    for (int i = 0; i < course->arms; i++)
        if (!isfinite(value_deg[i]))
            return false;
    return true;
}

double omo_course_top_deg(const struct omo_course *course,
                          const struct omo_course_frame *frame)
{
    double top = frame->arm_deg[0];
    for (int i = 1; i < course->arms; i++)
        top = fmax(top, frame->arm_deg[i]);
    return top;
}

void omo_course_break_still(struct omo_course *course)
{
    for (int i = 0; i < course->arms; i++)
        omo_still_break(&course->still[i]);
}

enum omo_status omo_course_push_still(struct omo_course *course,
                                      const struct omo_course_frame *frame)
{
    enum omo_status status = OMO_OK;
    for (int i = 0; i < course->arms && status == OMO_OK; i++)
        status = omo_still_push(&course->still[i], frame->number, frame->time_s,
                                frame->arm_deg[i]);
    return status;
}

struct omo_still_stretch omo_course_all_still(const struct omo_course *course,
                                              double spread, double for_s, int64_t from)
{
    struct omo_still_stretch least =
        omo_still_stretch(&course->still[0], spread, for_s, from);
    for (int i = 1; i < course->arms; i++) {
        struct omo_still_stretch other =
            omo_still_stretch(&course->still[i], spread, for_s, from);
        if (other.for_s < least.for_s)
            least = other;
    }
    return least;
}

bool omo_course_at_rest(const struct omo_course *course,
                        const struct omo_course_frame *frame)
{
    double below_deg = course->settings->measure.movement->rest_below_deg;
    for (int i = 0; i < course->arms; i++)
        if (!(fabs(frame->arm_deg[i]) < below_deg))
            return false;
    return true;
}
