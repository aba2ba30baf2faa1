/**
 * A movement as it happens: frames in, one after the other; out comes what a screen shows
 * and where the course stands. Nothing here waits, draws or speaks.
 *
 * The figures are for the eye. When the movement has ended, its frames go through
 * omo_measure() exactly as a file's would, and that is what is saved.
 */
#ifndef OMOGON_LIVE_H
#define OMOGON_LIVE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/motion.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Where the hands-free course stands. */
enum omo_phase {
    OMO_PHASE_SEEK,    /**< the markers the movement needs are not all in view */
    OMO_PHASE_SETTLE,  /**< in view; the arm is not at rest, or not still */
    OMO_PHASE_NEUTRAL, /**< still at rest: neutral is being taken */
    OMO_PHASE_READY,   /**< neutral taken, or between two raises: the arm is down */
    OMO_PHASE_RAISE,   /**< on the way up */
    OMO_PHASE_LOWER,   /**< on the way down */
    OMO_PHASE_WARN,    /**< still for long: the movement will end by itself */
    OMO_PHASE_ENDED,
    OMO_PHASE_COUNT
};
/** "seek", "settle" ...: for logs and tests. */
OMO_API const char *omo_phase_name(enum omo_phase phase);

/** Why a course is over. */
enum omo_live_end {
    OMO_END_NOT_YET,
    OMO_END_STILL,  /**< nothing moved for end_still_s */
    OMO_END_RAISES, /**< as many raises as are allowed in one go */
    OMO_END_ENOUGH, /**< "enough for today" */
    OMO_END_STOP,   /**< the key was held, or the source ended */
};

/** What happened in this frame: bits. */
enum omo_live_event {
    OMO_EVENT_NEUTRAL = 1u << 0,      /**< neutral was taken */
    OMO_EVENT_RAISE_BEGAN = 1u << 1,  /**< the arm left rest */
    OMO_EVENT_RAISE_CLOSED = 1u << 2, /**< a raise closed itself on the way down */
    OMO_EVENT_PAIN_ONSET = 1u << 3,   /**< where pain begins was marked (pause or key) */
    OMO_EVENT_PAIN_END = 1u << 4,     /**< where it ends was marked */
    OMO_EVENT_WARNED = 1u << 5,       /**< stillness will end the movement */
    OMO_EVENT_ENDED = 1u << 6,
    OMO_EVENT_NEW_BEST =
        1u << 7, /**< highest so far (told to the pointer, not praised) */
};

/** What a live course goes by. */
struct omo_live_settings {
    struct omo_measure_settings measure;
    double neutral_s;   /**< 6: how long the arm is still at rest for neutral */
    double still_deg;   /**< 2: how much a still arm may move */
    double end_still_s; /**< 15: stillness that ends the movement */
    double warn_s;      /**< 5: how long before that the warning comes */
    int raises_most;    /**< 5; 0: no limit */
    double pause_s;     /**< 1: a pause that marks pain, the first on each way up and on
                             each way down, when the arm then goes on; 0: none does */
};
/** The values above; no movement. */
OMO_API void omo_live_settings_default(struct omo_live_settings *settings);

/** What a frame came to. NAN: no value. Plain, to be copied. */
struct omo_live_view {
    double time_s; /**< the frame's own time stamp */
    enum omo_phase phase;
    enum omo_live_end end;
    unsigned events;     /**< of this frame */
    double phase_ratio;  /**< NEUTRAL: share taken, 0..1; WARN: share passed; else NAN */
    double phase_left_s; /**< NEUTRAL and WARN: seconds left; else NAN */
    int raises;          /**< closed so far; what passes like a twitch or stays below a
                              quarter of the highest is none */

    double angle_deg;       /**< smoothed for the eye (One-Euro) */
    double angle_image_deg; /**< of this frame alone; before neutral against the vertical
                                 or the trunk as it is */
    double angle_u95_deg;   /**< what the angle is good to */
    double best_deg;        /**< highest of this movement by the rule of maxima; NAN */
    double last_raise_deg;  /**< highest of the last raise that closed */
    double trunk_lean_deg, hike_ratio, elbow_flexion_deg;
    enum omo_reference reference;
    unsigned quality;                    /**< enum omo_quality */
    double pain_onset_deg, pain_end_deg; /**< last marks */
    struct omo_markers markers;
};

struct omo_live;
/** OMO_ERR_ARG as omo_measure(), or for times and limits that are none. The settings are
 *  copied; the movement is lent. */
OMO_API OMO_MUST_CHECK enum omo_status omo_live_create(
    const struct omo_live_settings *settings, struct omo_live **out);
/** Both arms at once in one course: `other` is the other side's, of the same movement.
 *  Both have to come to rest for neutral and to keep still for an end; a raise is when
 *  either goes up; a needed marker hidden on either closes and ends nothing. A mark of
 *  pain gives each view its own arm's angle of that moment: whose pain it was is not
 *  known. OMO_ERR_ARG also when both are the same side. */
OMO_API OMO_MUST_CHECK enum omo_status omo_live_create_both(
    const struct omo_live_settings *settings, const struct omo_measure_settings *other,
    struct omo_live **out);
/** Frees it; NULL is fine. */
OMO_API void omo_live_destroy(struct omo_live *live);
/** 1, or 2 of omo_live_create_both. */
OMO_API int omo_live_arms(const struct omo_live *live);

/** One frame; with both arms `frame` and `view` have two places, in the order in which
 *  the settings were given, and what the course knows is the same in both. After the end
 * it still gives angles, but keeps nothing. Time is known from the frames alone: over a
 * gap of more than 2 s, or when time falls, nothing counts as still, and nothing ends.
 * Markers that are hidden end nothing either. angle_image_deg is what omo_measure() finds
 * in the frames up to this one, give or take what was read since: rest and trunk are read
 * again while the first raise goes on and after each one. */
OMO_API OMO_MUST_CHECK enum omo_status omo_live_step(struct omo_live *live,
                                                     const struct omo_track_frame *frame,
                                                     struct omo_live_view *view);

/** A key, a remote or a button; takes effect in the next frame. */
enum omo_live_press {
    OMO_PRESS_MARK,   /**< pain begins (on the way up) or ends (on the way down); waits
                           for an arm that is seen, and goes when it comes down */
    OMO_PRESS_BEGIN,  /**< take neutral from what was still so far, once it is 1 s */
    OMO_PRESS_ENOUGH, /**< enough for today: ends, counts as done */
    OMO_PRESS_STOP,
};
/** From the thread that steps alone. */
OMO_API void omo_live_press(struct omo_live *live, enum omo_live_press press);

/** The frames of an arm, counted from 0, that belong to the movement so far: from the
 * beginning of the stillness that neutral was taken from. Lent until the next step. None
 * before neutral. */
OMO_API const struct omo_track_frame *omo_live_frames(const struct omo_live *live,
                                                      int arm, size_t *count);

/* ---- what is wrong, one thing at a time ---- */

/** In order of importance: an earlier one hides a later one. On the way up and down the
 *  other person and the look-alike come last: nobody clears a room with an arm raised. */
enum omo_cue {
    OMO_CUE_NONE,
    OMO_CUE_TOO_DARK,
    OMO_CUE_TOO_BRIGHT,
    OMO_CUE_CAMERA_MOVED,
    OMO_CUE_NO_MARKERS,    /**< nobody with markers in view */
    OMO_CUE_SECOND_PERSON, /**< markers of a second body in view */
    OMO_CUE_LOOK_ALIKE,    /**< a thing in a marker's colour beside the arm */
    OMO_CUE_STEP_BACK,     /**< too near: a marker will leave the picture */
    OMO_CUE_STEP_CLOSER,   /**< too far: markers are small */
    OMO_CUE_MOVE_LEFT,     /**< towards the person's own left, out of the border */
    OMO_CUE_MOVE_RIGHT,
    OMO_CUE_MOVE_FORWARD, /**< the same with a side turned to the camera: a step ahead */
    OMO_CUE_MOVE_BACKWARD,
    OMO_CUE_SHOULDER_HIDDEN,
    OMO_CUE_ELBOW_HIDDEN,
    OMO_CUE_WRIST_HIDDEN,
    OMO_CUE_HIP_HIDDEN,
    OMO_CUE_WRONG_SIDE,   /**< the arm moves only against the stated direction */
    OMO_CUE_OUT_OF_PLANE, /**< the arm leaves the picture's plane */
    OMO_CUE_ELBOW_AWAY,   /**< rotation from in front: the elbow leaves the side */
    OMO_CUE_TURNING,      /**< the same: the trunk turns along */
    OMO_CUE_LEANING,      /**< the trunk leans */
    OMO_CUE_HITCHING,     /**< the girdle hitches up */
    OMO_CUE_COUNT
};
/** "too-dark", ...: for logs, --json and tests. */
OMO_API const char *omo_cue_name(enum omo_cue cue);

/** What a frame says about its own picture. */
struct omo_cue_input {
    double time_s;
    int picture_width, picture_height; /**< upright, px */
    double luma_mean;                  /**< 0..255, NAN: luma was not decoded */
    double luma_bright_ratio;          /**< share of samples at or above 250 */
    double luma_dark_ratio;            /**< share of samples at or below 12 */
    int look_alikes;  /**< whole patches in a marker's colour near the arm, not its */
    int other_bodies; /**< further sets of markers that look like a body's */
    int lone_patches; /**< without a body: patches like markers ... */
    double lone_px;   /**< ... and the largest one's diameter */
    bool
        shoulder_band; /**< the shoulder's marker is a band on the arm: it rises with the
                            arm, and hitching can be judged by an acromion marker alone */
    const struct omo_live_view *view;
};

struct omo_cues;
/** Settings are copied, what they lend stays lent. OMO_ERR_ARG without a movement. */
OMO_API OMO_MUST_CHECK enum omo_status omo_cues_create(
    const struct omo_measure_settings *settings, struct omo_cues **out);
/** Frees it; NULL is fine. */
OMO_API void omo_cues_destroy(struct omo_cues *cues);
/** The one thing to say now. A cue comes within 2 s of its cause, stays at least 1.5 s
 * and goes within 2 s of the cause's end; a passing blink brings none. */
OMO_API enum omo_cue omo_cues_step(struct omo_cues *cues,
                                   const struct omo_cue_input *input);

#ifdef __cplusplus
}
#endif

#endif
