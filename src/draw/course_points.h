/** The sessions of a chart as they are drawn, gathered where they are many. */
#ifndef OMO_DRAW_COURSE_POINTS_H
#define OMO_DRAW_COURSE_POINTS_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/chart.h"

/** A dot: one session, or several neighbouring ones. */
struct course_dot {
    double day, mean_deg;
    double low_deg, high_deg; /* of the bar; NAN none */
    double highest_deg, before_hike_deg, pain;
    size_t sessions;
};

/** At most `most` dots, oldest first, in `dots` (that many places); returns how many. */
size_t omo_course_dots(const struct omo_chart *chart, struct course_dot *dots,
                       size_t most);

/** The scale of the degrees: round ends round everything that is drawn, at least 60
 *  degrees apart, so that a few degrees do not look like a leap. */
void omo_course_scale(const struct omo_chart *chart, const struct course_dot *dots,
                      size_t count, double *low_deg, double *high_deg);

/** What a trend is at a day, with the ends of its interval: lines of the least and the
 *  greatest slope through the sessions' middle. */
void omo_course_trend(const struct omo_chart *chart, double day, double *deg,
                      double *low_deg, double *high_deg);

#endif
