/** A course of weeks as a chart: what the figure is told, and as text for a terminal. */
#ifndef OMO_APP_COURSE_VIEW_H
#define OMO_APP_COURSE_VIEW_H

#include <stdio.h>

#include "omogon/chart.h"
#include "omogon/progress.h"

/** A chart with what it lends. */
struct omo_course_view {
    struct omo_chart chart;
    struct omo_chart_point *points;
    char what[192];
    char range[256]; /* what the chart says of its published range */
};
/** Fills it from a course; finish it by omo_course_view_free(). */
void omo_course_view_of(const struct omo_progress *progress,
                        const struct omo_progress_course *course,
                        struct omo_course_view *view);
void omo_course_view_free(struct omo_course_view *view);

/** "flexion (arm to the front), right, active, standing"; with the person in front where
 *  there is one. */
void omo_course_words(const struct omo_session_row *row, char *out, size_t size);

/** "arm to the front (flexion), right"; the mode and the position where they are not active
 *  and standing. */
void omo_course_short(const struct omo_session_row *row, char *out, size_t size);
/** A side, mode or position of sessions.csv in words; another text as it is. */
const char *omo_course_word(const char *text);

/** Draws the means over their days with letters, `columns` wide at most. Dots of their
 * own where the terminal shows them (`wide`), else plain ASCII. */
void omo_course_text(FILE *out, const struct omo_chart *chart, int columns, bool wide);

#endif
