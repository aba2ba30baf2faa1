/** What was measured, drawn over the pictures it was measured in: a video, or a sheet. */
#ifndef OMO_APP_OVERLAY_H
#define OMO_APP_OVERLAY_H

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
/** Every frame of the movement as motion JPEG, .mkv or .avi. One sentence on failure. */
OMO_MUST_CHECK enum omo_status omo_overlay_video(const struct omo_overlay *overlay,
                                                 const char *path);
/** The first frame and the highest of each repetition side by side, a JPEG. */
OMO_MUST_CHECK enum omo_status omo_overlay_sheet(const struct omo_overlay *overlay,
                                                 const char *path);

#endif
