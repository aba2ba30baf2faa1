/** A clip that was measured, looked at frame by frame; what is placed by hand counts. */
#ifndef OMO_APP_CLIP_VIEW_H
#define OMO_APP_CLIP_VIEW_H

#include "app/clip_job.h"

/**
 * Opens the viewer on a finished job of one movement, beginning with the markers placed
 * by hand of the row that counts in its place. What is saved there is measured as a row
 * of its own, and that one counts: one row does, whichever way the corrections went.
 * Returns the exit code's good: of the corrected run where there is one, else of the
 * first.
 */
bool omo_clip_view(struct omo_run *run, const struct omo_work *work,
                   const struct omo_clip_job *first, bool first_good, bool json);

#endif
