/** Figures as plain descriptions, written by one of two writers; no window, no SDL. */
#ifndef OMOGON_DRAW_H
#define OMOGON_DRAW_H

#include <stdint.h>

#include "omogon/motion.h"
#include "omogon/picture.h"
#include "omogon/status.h"

/** One annotated JPEG: arm and trunk lines, ringed and named markers, the angle with its
 *  uncertainty, date-free caption, cautions. The head region is covered unless asked
 *  otherwise; when it cannot be located nothing is written and OMO_ERR_EMPTY returned
 *  with a sentence. Atomic, mode 0600. */
struct omo_still {
    const struct omo_planes *planes; /**< with luma */
    int quarter_turns;
    const struct omo_trace_row *row; /**< the frame's row */
    const struct omo_result *result;
    const struct omo_measure_settings *settings;
    const char *caption; /**< e.g. "flexion, right, standing" */
    int show_head;       /**< 0: cover it */
};
OMO_API OMO_MUST_CHECK enum omo_status omo_still_write(const struct omo_still *still,
                                                       const char *path);

#endif
