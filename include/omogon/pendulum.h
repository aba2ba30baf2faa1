/**
 * Circles of a hanging arm, counted from the wrist's marker. Frames in, one after the
 * other; live and from a file alike. Clockwise is as seen from above.
 */
#ifndef OMOGON_PENDULUM_H
#define OMOGON_PENDULUM_H

#include <stdbool.h>

#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

enum omo_swing_way {
    OMO_SWING_UNKNOWN,
    OMO_SWING_CLOCKWISE,
    OMO_SWING_COUNTER_CLOCKWISE
};
/** "unknown", "clockwise", "counter-clockwise". */
OMO_API const char *omo_swing_way_name(enum omo_swing_way way);

struct omo_pendulum_settings {
    double wrist_mm; /**< the wrist marker's diameter, or a band's width; NAN: not
                          known, then no diameter in cm */
    double focal_px; /**< NAN: a usual lens is taken */
    double roll_deg, pitch_deg; /**< of the camera; NAN: by eye, with its uncertainty */
};

/** What is known after a frame. */
struct omo_pendulum_view {
    double time_s;
    int clockwise, counter_clockwise, unknown; /**< whole laps */
    enum omo_swing_way way;                    /**< of the lap being swung */
    double lap_ratio;                          /**< of the lap being swung, 0..1 */
    double diameter_cm;          /**< of the last whole lap, NAN not known */
    double mean_diameter_cm;     /**< of all laps so far */
    double growth_cm;            /**< last third of the laps over the first third; NAN */
    double camera_off_plane_deg; /**< how far the camera stands off the circle's plane */
    double loose_ratio;          /**< 0 held stiff .. 1 hangs loose; NAN not known */
    bool loose;                  /**< by the stated formula */
    bool swinging;               /**< false: at rest, or markers hidden */
    bool lap_closed;             /**< in this frame */
};

struct omo_pendulum;
OMO_API OMO_MUST_CHECK enum omo_status omo_pendulum_create(
    const struct omo_pendulum_settings *settings, struct omo_pendulum **out);
OMO_API void omo_pendulum_destroy(struct omo_pendulum *pendulum);
/** One frame; lens and level already straightened or not, as `settings` say. */
OMO_API void omo_pendulum_step(struct omo_pendulum *pendulum,
                               const struct omo_track_frame *frame,
                               struct omo_pendulum_view *view);

#ifdef __cplusplus
}
#endif

#endif
