/** One movement while it is being measured: what the steps of omo_measure() share. */
#ifndef OMO_MOTION_TAKE_H
#define OMO_MOTION_TAKE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/filter.h"
#include "omogon/geometry.h"
#include "omogon/motion.h"

/* The rules of the trade, one place. "Our choice" unless a source is named. */
#define OMO_GAP_S                0.1
#define OMO_MAX_WINDOW_S         0.2
#define OMO_HELD_WINDOW_S        1.0
#define OMO_HELD_SPREAD_DEG      1.0
#define OMO_FILTER_SHORT_S       0.3
#define OMO_FORESHORTENING_RATIO 0.90
/* An upper arm is taken as this long where a rule is in millimetres and no marker size
 * is known. */
#define OMO_UPPER_ARM_MM 300.0

/** Which way round the picture a movement goes. */
struct omo_axes {
    double sign;           /**< +1: clockwise on the picture is positive */
    struct omo_point zero; /**< direction of angle 0 when nothing tells the trunk: towards
                                the feet; straight ahead for rotations */
    bool gravity;          /**< gravity lies in the picture's plane */
    bool lying;
    enum omo_role from, to; /**< ends of the segment that is measured */
};

/** What the arm's rest tells. */
struct omo_rest {
    bool found;
    size_t first, last; /**< rows */
    struct omo_point shoulder;
    bool shoulder_known;
    double segment_px;  /**< length of the measured segment; NAN not known */
    double segment_deg; /**< its angle against axes.zero; NAN */
    double mm_per_px;   /**< NAN not known */
};

/** What stands for the trunk. */
struct omo_trunk {
    enum omo_reference kind;
    double offset_deg;         /**< lean that the line shows at rest, taken out; NAN */
    struct omo_point rest_hip; /**< hip: where it was at rest */
    bool rest_hip_known;
    double rest_along_px;       /**< shoulder to hip along the trunk at rest; NAN */
    struct omo_point rest_axis; /**< trunk at rest; no length: not known */
    double length_px;           /**< shift: hip to shoulder, guessed; NAN */
};

/** A frame's trunk. */
struct omo_trunk_pose {
    enum omo_reference reference;
    struct omo_point axis; /**< towards the feet; no length: not known */
    unsigned quality;
    double hike_px; /**< NAN not known */
};

/** Hip (and how chest-hip and shoulder-hip differ) in every frame, seen or held. */
struct omo_held {
    bool known;
    struct omo_point hip;
    double turn_deg; /**< from shoulder-hip to chest-hip, picture sense; NAN not known */
};

struct omo_take {
    const struct omo_measure_settings *settings;
    const struct omo_track_frame *frames;
    size_t count;
    struct omo_trace_row *rows;
    struct omo_result *result;

    struct omo_axes axes;
    struct omo_rest rest;
    struct omo_trunk trunk;
    double step_s;     /**< median frame interval; NAN not known */
    double segment_px; /**< full length of the segment: for foreshortening; NAN */
    size_t stalls;     /**< frames in which the picture stood still and the arm did not */
    double moved_s;    /**< first time the camera moved; NAN never */
    double trunk_off_deg; /**< mean trunk line against where it is expected; NAN */

    /* One value a frame. */
    double *time_s;
    double *segment_deg;     /**< segment against axes.zero, -180..180; NAN not seen */
    double *length_px;       /**< of the segment; NAN not seen */
    double *lean_deg;        /**< unfiltered */
    double *work, *smoothed; /**< free for any step */
    bool *ignored;           /**< damaged or stalled: counts for nothing */
    struct omo_point *moved; /**< how far the camera's moves have shifted the picture */
    struct omo_held *held;
};

/** axes.c */
struct omo_axes omo_axes_of(const struct omo_measure_settings *settings);

/** pose.c: plain reading of one frame's markers. */
bool omo_seen(const struct omo_markers *markers, enum omo_role role);
struct omo_point omo_place(const struct omo_markers *markers, enum omo_role role);
/** As omo_place, with the camera's moves taken out. */
struct omo_point omo_still_place(const struct omo_take *take, size_t k,
                                 enum omo_role role);
struct omo_point omo_turned(struct omo_point direction, double clockwise_deg);
bool omo_has_length(struct omo_point direction);
double omo_elbow_flexion_deg(const struct omo_markers *markers);
void omo_read_segments(struct omo_take *take);
/** Value below which `share` of the finite values lie; NAN when there is none. Uses the
 *  work array. */
double omo_take_quantile(struct omo_take *take, const double *value, double share);

/** disturbances.c */
void omo_find_camera_moves(struct omo_take *take);
void omo_find_stalls(struct omo_take *take);

/** rest.c */
OMO_MUST_CHECK enum omo_status omo_find_rest(struct omo_take *take);

/** trunk.c */
void omo_find_trunk(struct omo_take *take);
struct omo_trunk_pose omo_trunk_at(const struct omo_take *take, size_t k);

/** maxima.c, repetitions.c: from rows to result. */
void omo_find_maxima(struct omo_take *take);
void omo_find_repetitions(struct omo_take *take);

/** uncertainty.c */
double omo_max_u95_deg(const struct omo_take *take, size_t row);

/** note.c */
void omo_write_note(struct omo_take *take);

/** window.c: smallest and largest of a window that only moves on. */
struct omo_window {
    const double *value;
    size_t *low, *high; /**< indices, candidates for smallest and largest */
    size_t low_from, low_to, high_from, high_to;
};
OMO_MUST_CHECK enum omo_status omo_window_init(struct omo_window *window,
                                               const double *value, size_t count);
void omo_window_finish(struct omo_window *window);
void omo_window_clear(struct omo_window *window);
void omo_window_push(struct omo_window *window, size_t index);
/** Forgets what lies before `index`. */
void omo_window_drop(struct omo_window *window, size_t index);
double omo_window_low(const struct omo_window *window);
double omo_window_high(const struct omo_window *window);

#endif
