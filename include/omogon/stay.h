/** Reach and rest: sees an arm stop, settle, ease up a little, and come down. */
#ifndef OMOGON_STAY_H
#define OMOGON_STAY_H

#include <stdbool.h>

#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Where the arm is in a reach. */
enum omo_stay_phase {
    OMO_STAY_DOWN, /**< the arm is low */
    OMO_STAY_RISING,
    OMO_STAY_STOPPED, /**< at a stop, its angle named */
    OMO_STAY_LOWERING,
};

/** What counts as down, as a stop and as settled. */
struct omo_stay_settings {
    double low_deg;           /**< 25: below it the arm is down (our choice) */
    double still_deg_per_s;   /**< 1.5: slower than this, beyond tremor and breath, is a
                                   stop */
    double excess_hike_ratio; /**< 0.08: above it the shoulder has not settled */
    bool held_at_start;       /**< rotations: there is no "down"; what is within 5 degrees
                                   of the first stillness stands for it */
};
/** The values that stand behind each setting below. */
OMO_API void omo_stay_settings_default(struct omo_stay_settings *settings);

/** What is known after a frame. */
struct omo_stay_view {
    double time_s;
    enum omo_stay_phase phase;
    double angle_deg; /**< without breath and tremor; NAN before the first angle */
    bool stop_began;  /**< recognised in this frame */
    bool settled;     /**< the shoulder has settled at this stop: its excess hike was at
                           or below the setting for 1 s; false while it is not known */
    double excess_hike_ratio; /**< smoothed; NAN: not known so far */
    double stop_deg; /**< angle of the present or last stop, read more exactly while it
                          lasts; NAN none yet */
    double held_s;   /**< at the present or last stop, since it was recognised */
    double gain_deg; /**< the present stop over the first one of this reach, negative
                          after sinking; NAN none yet */
    int stops;       /**< of this reach; also those on the way down */
    int reaches;     /**< ended: from down to down */
};

/**
 * Stops are told from slow movement by a model of the arm's speed and of its breath, not
 * by a threshold on a few frames: see src/motion/stay_filter.c. What is within 1.3
 * degrees of the last stop is that stop. All time is known from the frames.
 */
struct omo_stay;
/** OMO_ERR_ARG for settings that are none. */
OMO_API OMO_MUST_CHECK enum omo_status omo_stay_create(
    const struct omo_stay_settings *settings, struct omo_stay **out);
/** Frees it; NULL is fine. */
OMO_API void omo_stay_destroy(struct omo_stay *stay);
/** One frame: angle, NAN when not measured; excess hike as a share of the upper arm, NAN
 *  unknown. Over a gap of more than 2 s, or when time falls, the speed is learnt anew and
 *  no time counts as held. The angle may be as measured or smoothed for the eye. */
OMO_API void omo_stay_step(struct omo_stay *stay, double time_s, double angle_deg,
                           double excess_hike_ratio, struct omo_stay_view *view);

/** Excess hike: the shoulder's rise beyond what goes with the arm's angle, by the
 * person's own curve or the stated allowance. NAN stays. */
OMO_API double omo_excess_hike_ratio(const struct omo_measure_settings *settings,
                                     double angle_deg, double hike_ratio);

/** A breath's line: 0 breathed out .. 1 breathed in, at a time since the hold began.
 *  in_share of the cycle rising. */
OMO_API double omo_breath_line(double since_s, double breaths_per_min, double in_share);
/** Whole breaths so far. */
OMO_API int omo_breaths_done(double since_s, double breaths_per_min);

#ifdef __cplusplus
}
#endif

#endif
