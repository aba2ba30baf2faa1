/** How the arm is held at a desk: the same arm as it was found, and let go. */
#ifndef OMOGON_DESK_H
#define OMOGON_DESK_H

#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Medians over the look; NAN: no value. Lengths are shares of the upper arm, between the
 *  shoulder's and the elbow's marker as they are at rest. */
struct omo_desk_figures {
    double hike_ratio; /**< shoulder as it was found over the shoulder let go, along the
                            trunk, beyond the rise that goes with the arm's angle */
    double hike_mm;    /**< the same; NAN without the markers' size */
    double elbow_distance_ratio; /**< elbow out from the line along the trunk through the
                                      shoulder's marker, positive in the movement's
                                      direction: to the side where abduction is seen */
    double elbow_relaxed_ratio;  /**< the same of the arm let go */
    double angle_deg;            /**< of the arm as it was found */
    double seen_ratio;           /**< frames of it with an angle / frames */
    enum omo_reference reference;
};

/**
 * Two looks of some seconds, the camera and the seat unmoved between them: the arm as it
 * was found, then hanging and let go. The rest of omo_measure() is taken from the second,
 * which needs 1 s of stillness; without it hike and distances are NAN. Neither pivot nor
 * plane is corrected: at a desk the arm does not move. The person's own curve is used
 * where the settings have it. OMO_ERR_ARG as omo_measure() or for an empty look;
 * OMO_ERR_EMPTY when no frame as found has an angle; OMO_ERR_MEMORY.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_desk_measure(
    const struct omo_measure_settings *settings, const struct omo_track_frame *found,
    size_t found_count, const struct omo_track_frame *let_go, size_t let_go_count,
    struct omo_desk_figures *out);

#ifdef __cplusplus
}
#endif

#endif
