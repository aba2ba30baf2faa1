/** What is wrong in the picture: the state behind struct omo_cues. */
#ifndef OMO_MOTION_CUES_H
#define OMO_MOTION_CUES_H

#include <stdbool.h>
#include <stddef.h>

#include "motion/take.h"
#include "omogon/live.h"

/** How sure a cue's cause is by now. */
struct omo_cue_level {
    double level; /**< 0 no sign of it, 1 certain */
    bool active;
};

/** A marker so far. */
struct omo_cue_sight {
    double seen_s;     /**< for how long altogether */
    double last_s;     /**< when last; NAN never */
    double x_px, y_px; /**< there */
    double vx_px_s, vy_px_s;
    double diameter_px; /**< slow mean */
};

/** Length of the measured segment when it lies in the picture's plane. */
struct omo_cue_length {
    double ratio;   /**< at rest, in diameters of the marker at its root; NAN not known */
    double rest_px; /**< the same in px; NAN not known */
    double now_px;  /**< in this frame, or slow mean while at rest */
    double late_px; /**< slow mean while at rest; NAN not at rest */
    double shown;   /**< length of late over that at rest */
    double gain;    /**< longest so far over that at rest */
};
extern const struct omo_cue_length omo_cue_no_length;

/** cue_camera.c: the last second or so of the markers that show the camera's moves. */
#define OMO_CUE_PAST_MAX 96
struct omo_cue_past {
    int count, next;
    double time_s[OMO_CUE_PAST_MAX];
    struct omo_markers markers[OMO_CUE_PAST_MAX];
    double moved_s; /**< when a move was last found; NAN never */
};
void omo_cue_past_init(struct omo_cue_past *past);
/** Takes a frame in; true while a move of the camera is fresh. `arm_px` NAN: unknown. */
bool omo_cue_camera_moved(struct omo_cue_past *past, double time_s,
                          const struct omo_markers *markers, double arm_px);

struct omo_cues {
    struct omo_measure_settings settings;
    struct omo_movement movement; /**< settings.movement points here */
    struct omo_axes axes;
    double time_s, step_s; /**< of this frame; since the one before, bounded */
    bool started;
    const struct omo_cue_input *input; /**< of this frame */

    struct omo_cue_level level[OMO_CUE_COUNT];
    enum omo_cue shown;
    double shown_s; /**< since when */

    struct omo_cue_sight sight[OMO_ROLE_COUNT];
    struct omo_point hip; /**< from the shoulder, as last seen */
    struct omo_cue_length length;
    double rest_deg, rest_lean_deg; /**< slow means at rest; NAN not known */
    double best_with_deg;           /**< farthest the stated way from rest */
    struct omo_cue_past past;
};

/** cue_rules.c: takes the frame in and says which causes are there; `present` has
 *  OMO_CUE_COUNT places. Thresholds differ for a cue that is active already. */
void omo_cue_rules(struct omo_cues *cues, const struct omo_cue_input *input,
                   bool *present);
/** cue_frame.c: the causes that lie in how the person stands in the picture. */
void omo_cue_frame_rules(struct omo_cues *cues, const struct omo_cue_input *input,
                         bool *present);
/** The marker was on its way over the border when it was last seen, and is gone. */
bool omo_cue_left_picture(const struct omo_cues *cues, enum omo_role role);
/** Seen for long enough to be missed. */
bool omo_cue_worn(const struct omo_cues *cues, enum omo_role role);
/** Full length of the measured segment in px; NAN not known. */
double omo_cue_full_px(const struct omo_cues *cues);
/** The value is over its limit: `enter` to begin with, `leave` once active. */
bool omo_cue_over(const struct omo_cues *cues, enum omo_cue cue, double value,
                  double enter, double leave);

#endif
