/** Stepping through a measured clip, and placing markers by hand. */
#ifndef OMO_APP_VIEW_H
#define OMO_APP_VIEW_H

#include "app/clip_job.h"

/** What is looked at; lent. */
struct omo_inspection {
    const char *clip;
    const struct omo_plan *plan;
    const struct omo_option_words *words;
    const char *trace; /**< path of the trace that was measured */
    bool show_head;
};
/**
 * Opens a window and steps through the frames until it is left. *corrections gets what
 * was placed and is to be saved (struct omo_correction; g_array_unref()), or NULL. One
 * sentence on failure.
 */
OMO_MUST_CHECK enum omo_status omo_view_run(const struct omo_inspection *view,
                                            GArray **corrections);

#endif
