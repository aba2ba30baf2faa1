/** Stepping through a measured clip, and placing markers by hand. */
#ifndef OMO_APP_VIEW_H
#define OMO_APP_VIEW_H

#include "app/clip_job.h"

/** What is looked at; lent. */
struct omo_inspection {
    const char *clip;
    const struct omo_plan *plan;
    const char *trace;    /**< path of the trace as it was measured */
    const GArray *placed; /**< struct omo_correction that count so far; NULL: none */
    bool show_head;
};
/**
 * Opens a window and steps through the frames until it is left. Where something is to be
 * saved that is other than `placed`, *changed is true and *corrections gets all that is
 * placed now (struct omo_correction; g_array_unref()), NULL when nothing is any more. One
 * sentence on failure.
 */
OMO_MUST_CHECK enum omo_status omo_view_run(const struct omo_inspection *view,
                                            GArray **corrections, bool *changed);

#endif
