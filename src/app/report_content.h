/** What a report says of a person, out of the record. */
#ifndef OMO_APP_REPORT_CONTENT_H
#define OMO_APP_REPORT_CONTENT_H

#include <stdint.h>

#include "app/course_range.h"
#include "app/person_tables.h"
#include "omogon/progress.h"
#include "show/paper/report.h"

/** What is reported; texts are lent, NULL: not narrowed. */
struct omo_report_wish {
    const char *person; /**< "" for rows without one */
    const char *movement, *side, *visit, *from, *to;
    const char *today; /**< YYYY-MM-DD */
    const char *still; /**< a picture to whose use the person has agreed */
};

/* ---- report_still.c ------------------------------------------------------------------
 */

/** A picture without anything but its pixels: what else the file held (place, camera,
 *  time) is not in it. */
struct omo_report_still {
    uint8_t *jpeg; /**< free() */
    size_t jpeg_size;
    int width, height; /**< px */
};
/** Reads a JPEG. One sentence on failure; *out is then as it was. */
OMO_MUST_CHECK enum omo_status omo_report_still_read(const char *path,
                                                     struct omo_report_still *out);

/* ---- report_content.c ----------------------------------------------------------------
 */

/**
 * Fills a report, initialised before: of a course of weeks with charts, or of a single
 * day (a short set) with line drawings; `still`, its bytes taken over, stands in a
 * drawing's place; NULL: none. `progress` was read with the wish's filter and is
 * not empty. What does not fit is counted in a line.
 */
void omo_report_fill(const struct omo_person_tables *tables,
                     const struct omo_progress *progress,
                     const struct omo_report_wish *wish,
                     const struct omo_report_still *still, struct omo_report *report);

/* ---- report_lists.c ------------------------------------------------------------------
 */

/** The lists below the table, courses in its order; `left_out` found no room in it,
 * `charts_left_out` have no chart. */
void omo_report_fill_lists(const struct omo_person_tables *tables,
                           const struct omo_progress *progress, const GPtrArray *courses,
                           const struct omo_course_ranges *ranges,
                           const struct omo_report_wish *wish, int left_out,
                           int charts_left_out, struct omo_report *report);

/** "108.2"; "" for NAN. Lent, eight at a time. */
const char *omo_report_number(double value, int decimals);

#endif
