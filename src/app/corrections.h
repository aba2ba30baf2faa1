/** Markers that somebody placed by hand. */
#ifndef OMO_APP_CORRECTIONS_H
#define OMO_APP_CORRECTIONS_H

#include <glib.h>

#include "omogon/motion.h"
#include "omogon/record.h"
#include "omogon/status.h"

struct omo_correction {
    int64_t frame; /**< as the trace numbers it */
    enum omo_role role;
    double x_px, y_px;                   /**< NAN: the marker is not there */
    double measured_x_px, measured_y_px; /**< filled in when it is applied; NAN: none */
};

/** One thing that was done to a marker of a frame; what is done later counts. */
struct omo_correction_step {
    struct omo_correction what;
    bool as_measured; /**< it is again as it was measured */
};
/** What steps come to: one correction a frame and marker, by frame and marker, so that
 * the same ones make the same session; never NULL, g_array_unref() it. */
GArray *omo_corrections_settle(const GArray *steps);
/** Whether two lists (NULL: empty) place the same markers alike, in whatever order. */
bool omo_corrections_same(const GArray *a, const GArray *b);

/** Reads a CSV table: frame, marker, x_px, y_px; a place that is empty takes the marker
 *  away; a marker stands once a frame. More columns are let be. One sentence on failure,
 *  with the line. */
OMO_MUST_CHECK enum omo_status omo_corrections_read(const char *path, GArray **out);
/** Puts them into the frames and keeps what was measured there. Returns how many fell on
 *  a frame that is there. */
size_t omo_corrections_apply(GArray *corrections, struct omo_track_frame *frames,
                             size_t count);
void omo_corrections_identify(const GArray *corrections, struct omo_id *id);

#endif
