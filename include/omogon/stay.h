/** Reach and rest: sees an arm stop, settle, ease up a little, and come down. */
#ifndef OMOGON_STAY_H
#define OMOGON_STAY_H

#include <stdbool.h>

#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

enum omo_stay_phase {
    OMO_STAY_DOWN, /**< the arm is low */
    OMO_STAY_RISING,
    OMO_STAY_STOPPED, /**< at a stop, its angle named */
    OMO_STAY_LOWERING,
};

struct omo_stay_settings {
    double low_deg;         /**< 25: below it the arm is down (our choice) */
    double still_deg_per_s; /**< slower than this, beyond tremor and breath, is a stop */
    double excess_hike_ratio; /**< above it the shoulder has not settled */
    bool held_at_start;       /**< rotations: there is no "down" */
};
OMO_API void omo_stay_settings_default(struct omo_stay_settings *settings);

struct omo_stay_view {
    double time_s;
    enum omo_stay_phase phase;
    bool stop_began; /**< recognised in this frame */
    bool settled;    /**< the shoulder has settled at this stop */
    double stop_deg; /**< angle of the present or last stop; NAN none yet */
    double held_s;   /**< at the present stop */
    double gain_deg; /**< the present stop over the first one of this reach; NAN */
    int stops;       /**< of this reach */
    int reaches;     /**< from down to down */
};

struct omo_stay;
OMO_API OMO_MUST_CHECK enum omo_status omo_stay_create(
    const struct omo_stay_settings *settings, struct omo_stay **out);
OMO_API void omo_stay_destroy(struct omo_stay *stay);
/** One frame: angle, NAN when not measured; excess hike as a share of the upper arm, NAN
 *  unknown. */
OMO_API void omo_stay_step(struct omo_stay *stay, double time_s, double angle_deg,
                           double excess_hike_ratio, struct omo_stay_view *view);

/** A breath's line: 0 breathed out .. 1 breathed in, at a time since the hold began.
 *  in_share of the cycle rising. */
OMO_API double omo_breath_line(double since_s, double breaths_per_min, double in_share);
/** Whole breaths so far. */
OMO_API int omo_breaths_done(double since_s, double breaths_per_min);

#ifdef __cplusplus
}
#endif

#endif
