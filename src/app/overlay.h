/** What was measured, drawn over the pictures it was measured in: a video, or a sheet. */
#ifndef OMO_APP_OVERLAY_H
#define OMO_APP_OVERLAY_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/record.h"

/** A measured movement of a clip. */
struct omo_overlay {
    const char *clip;
    const struct omo_trace_row *rows;
    size_t count;
    const struct omo_result *result;
    const struct omo_measure_settings *settings;
    const struct omo_session_row *session;
    bool show_head; /**< else the head is covered, and a picture where it cannot be
                       located is withheld */
};
/** Every frame of the movement from the first on as motion JPEG, .mkv or .avi. A frame
 *  whose head cannot be located is a plain grey with words; how many those are is said at
 *  the end. One sentence on failure; OMO_ERR_EMPTY when it is all frames, and nothing is
 *  written. */
OMO_MUST_CHECK enum omo_status omo_overlay_video(const struct omo_overlay *overlay,
                                                 const char *path);
/** Whether a sheet's name ends in what is written: .jpg or .jpeg, in any case. */
bool omo_overlay_sheet_takes(const char *path);
/** The first frame and the highest of each repetition side by side, a JPEG; what is
 *  withheld is grey as in the video. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_overlay_sheet(const struct omo_overlay *overlay,
                                                 const char *path);

#endif
