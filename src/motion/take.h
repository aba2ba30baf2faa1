/** One movement while it is being measured: what the steps of omo_measure() share. */
#ifndef OMO_MOTION_TAKE_H
#define OMO_MOTION_TAKE_H

#include <stdbool.h>
#include <stddef.h>

#include "omogon/filter.h"
#include "omogon/geometry.h"
#include "omogon/motion.h"

#include "motion/pivot.h"

/* The rules of the trade, one place. "Our choice" unless a source is named. */
#define OMO_GAP_S                0.1
#define OMO_MAX_WINDOW_S         0.2
#define OMO_HELD_WINDOW_S        1.0
#define OMO_HELD_SPREAD_DEG      1.0
#define OMO_FILTER_SHORT_S       0.3
#define OMO_FORESHORTENING_RATIO 0.90
#define OMO_CLEAR_MIN            5 /* frames in which a marker is seen, to count at all */
/* Hysteresis on the angle between rest and maximum: a repetition begins and ends below
 * the lower share, and is no shorter than this. */
#define OMO_LOW_SHARE    0.25
#define OMO_REPETITION_S 0.8
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

/** Rotation from in front: the forearm's length, elbow joint to wrist marker. */
struct omo_forearm {
    bool known;
    enum { OMO_FOREARM_GIVEN, OMO_FOREARM_LEARNT, OMO_FOREARM_GUESSED } from;
    double px;            /**< at the elbow's distance */
    double u_ratio;       /**< its standard uncertainty, as a share */
    double rest_chest_px; /**< breastbone to shoulder across the picture at rest; NAN */
};

/** What stands for the trunk. */
struct omo_trunk {
    enum omo_reference kind;
    double offset_deg;         /**< lean that the line shows at rest, taken out; NAN */
    struct omo_point rest_hip; /**< hip: where it was at rest */
    bool rest_hip_known;
    struct omo_point rest_line;     /**< chest to hip at rest; no length: not known */
    struct omo_point hip_to_middle; /**< from the front: from the hip's marker to the
                                         pelvis' middle below the chest; else no length */
    bool chest_hidden;          /**< a chest is there, but not clear enough about rest */
    double rest_along_px;       /**< shoulder to hip along the trunk at rest; NAN */
    struct omo_point rest_axis; /**< trunk at rest; no length: not known */
    double length_px;           /**< shift: hip to shoulder, guessed; NAN */
    double acromion_px; /**< acromion's marker above the shoulder's along the trunk at
                             rest, when hike goes by it; NAN: by the shoulder's */
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

/** Where the following of the hip stands, row after row. */
struct omo_hold {
    bool chest; /**< a row where the chest is hidden too needs the turn that goes with it
                 */
    bool any, stale; /**< seen at all; `held` does not yet speak of last_clear */
    size_t first_clear, last_clear;
    struct omo_held held;
};

/** A run of repeated pictures, row after row. */
struct omo_stall {
    double before_deg; /**< arm before the run; NAN */
    size_t run;
};

struct omo_take {
    const struct omo_measure_settings *settings;
    const struct omo_track_frame *sent;   /**< as the camera sent them */
    const struct omo_track_frame *frames; /**< what is measured: these, or straightened */
    struct omo_track_frame *straight;     /**< NULL without a lens */
    size_t count;
    struct omo_trace_row *rows;
    struct omo_result *result; /**< NULL while the take still grows */
    bool growing; /**< more frames will come: what has to see on waits for them */

    struct omo_axes axes;
    struct omo_rest rest;
    struct omo_trunk trunk;
    struct omo_forearm forearm;
    double step_s;     /**< median frame interval; NAN not known */
    double segment_px; /**< full length of the segment: for foreshortening; NAN */
    size_t stalls;     /**< frames in which the picture stood still and the arm did not */
    struct omo_stall stall;
    struct omo_hold hold;
    double moved_s;       /**< first time the camera moved; NAN never */
    double trunk_off_deg; /**< mean trunk line against where it is expected; NAN */
    size_t excess_row;    /**< first of excess hike or lean; `count` none */
    struct omo_pivot pivot;
    double
        whole_sigma_px[OMO_ROLE_COUNT]; /**< noise of markers nothing is before; hip.c */
    double *pivot_room;                 /**< for its fit; NULL: none needed so far */

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

/* take.c */

/** Room for `room` frames in the arrays, of which take->frames becomes one where there is
 *  a lens; what is there stays. take->sent is there. */
OMO_MUST_CHECK enum omo_status omo_take_reserve(struct omo_take *take, size_t room);
void omo_take_finish(struct omo_take *take);
/** Reads frame k as it is. */
void omo_take_read(struct omo_take *take, size_t k);
/** Everything about the take as a whole that its angles need: reads all frames anew. At
 *  least one frame. */
OMO_MUST_CHECK enum omo_status omo_take_prepare(struct omo_take *take);
/** Angle of frame k, unfiltered; needs what goes before. Corrected by the pivot that is
 *  known at the time. */
void omo_take_pose(struct omo_take *take, size_t k);
/** The angles of all frames, and from them the pivot and plane that correct them, by so
 *  many steps from those known before; 0: by a whole search. */
OMO_MUST_CHECK enum omo_status omo_take_poses(struct omo_take *take, int steps);
/** Mean angle_raw_deg over the rest; NAN. */
double omo_take_rest_deg(const struct omo_take *take);
/** A movement, a position it allows, a cut-off. */
bool omo_measure_settings_valid(const struct omo_measure_settings *settings);

/** axes.c */
struct omo_axes omo_axes_of(const struct omo_measure_settings *settings);

/** pose.c: plain reading of one frame's markers. */
bool omo_seen(const struct omo_markers *markers, enum omo_role role);
struct omo_point omo_place(const struct omo_markers *markers, enum omo_role role);
/** Seen in a frame that is not damaged. */
bool omo_clear_at(const struct omo_take *take, size_t k, enum omo_role role);
/** As omo_place, with the camera's moves taken out. */
struct omo_point omo_still_place(const struct omo_take *take, size_t k,
                                 enum omo_role role);
struct omo_point omo_turned(struct omo_point direction, double clockwise_deg);
bool omo_has_length(struct omo_point direction);
double omo_elbow_flexion_deg(const struct omo_markers *markers);
/** Chooses what the segment is, over all frames. */
void omo_choose_segment(struct omo_take *take);
void omo_read_segment(struct omo_take *take, size_t k);
/** Value below which `share` of the finite values lie; NAN when there is none. Uses the
 *  work array. */
double omo_take_quantile(struct omo_take *take, const double *value, double share);

/** disturbances.c */
/** Looks from row `from` on; moves found before stay. */
void omo_find_camera_moves(struct omo_take *take, size_t from);
/** Takes row k in; rows 0..k - 1 were. */
void omo_follow_stall(struct omo_take *take, size_t k);

/** rest.c */
OMO_MUST_CHECK enum omo_status omo_find_rest(struct omo_take *take);

/** breath.c: leaves whole breaths of the rest, the last ones, where the shoulder's height
 *  shows breathing and the rest is long enough; else the rest as it is. */
void omo_trim_to_breaths(struct omo_take *take);

/** hip.c */
/** Fills take->held for all rows; then row by row for those that follow. */
void omo_hold_hip(struct omo_take *take, bool chest);
void omo_hold_row(struct omo_take *take, size_t k);
void omo_find_rest_hip(struct omo_take *take);

/** trunk.c */
void omo_find_trunk(struct omo_take *take);
/** One more row of a take whose trunk is known. */
void omo_follow_trunk(struct omo_take *take, size_t k);
/** Before the rest is known: chest and hip where they are the trunk's own direction and
 *  seen in frame k, else the direction that is expected. */
void omo_assume_trunk(struct omo_take *take, size_t k);
struct omo_trunk_pose omo_trunk_at(const struct omo_take *take, size_t k);

/** correct.c: the pivot of a take. */
/** Whether its angles are of the kind that has one, and it is wanted. */
bool omo_correctable(const struct omo_take *take);
/** Finds it from all frames, whose poses are known. */
void omo_find_pivot(struct omo_take *take, int steps);
/** angle_image_deg of frame k, corrected by what is known. */
double omo_corrected_deg(const struct omo_take *take, size_t k);

/** window.c: smallest and largest of a window that only moves on. */
struct omo_window {
    const double *value;
    size_t *low, *high; /**< indices, candidates for smallest and largest */
    size_t low_from, low_to, high_from, high_to;
};
OMO_MUST_CHECK enum omo_status omo_window_init(struct omo_window *window,
                                               const double *value, size_t count);
/** More room, for values that may have moved; the window stays. */
OMO_MUST_CHECK enum omo_status omo_window_grow(struct omo_window *window,
                                               const double *value, size_t old_count,
                                               size_t count);
void omo_window_finish(struct omo_window *window);
void omo_window_clear(struct omo_window *window);
void omo_window_push(struct omo_window *window, size_t index);
/** Forgets what lies before `index`. */
void omo_window_drop(struct omo_window *window, size_t index);
double omo_window_low(const struct omo_window *window);
double omo_window_high(const struct omo_window *window);

/** maxima.c: the rule for maxima, value after value (see omo_sustained_max_deg). */
struct omo_sustained {
    struct omo_window window;
    double window_s, gap_s, spread_deg;
    bool open;
    size_t first, last;
    double best_deg; /**< NAN none yet */
    size_t best_first, best_last;
};
/** Begins; the window is there and gets cleared. */
void omo_sustained_begin(struct omo_sustained *s, double window_s, double gap_s,
                         double spread_deg);
/** Value k, which the window's array holds by now; NAN counts as not seen. */
void omo_sustained_step(struct omo_sustained *s, const double *time_s, double step_s,
                        size_t k);

/** maxima.c, repetitions.c: from rows to result. */
void omo_find_maxima(struct omo_take *take);
/** hike.c: onset of hiking and the maximum before it; after the maxima. */
OMO_MUST_CHECK enum omo_status omo_judge_hike(struct omo_take *take);
void omo_find_repetitions(struct omo_take *take);

/** forearm.c: from a length in mm, from frames with the arm straight, else from the upper
 *  arm. Uses the work arrays. */
void omo_learn_forearm(struct omo_take *take);

/** rotation.c: rotation from in front. */
/** Angle of frame k; needs no more than the markers, and the forearm if it is known. */
void omo_front_read(struct omo_take *take, size_t k);
/** What the rest tells, then what a row owes to it. */
void omo_front_rest(struct omo_take *take);
void omo_front_pose(struct omo_take *take, size_t k);
/** The highest that was seen is no maximum: the hand went on to where it hides its own
 *  markers, and did not come out beyond. */
bool omo_front_top_hidden(const struct omo_take *take, double highest_deg);
/** rotation_at_abduction_deg of a rotation: as stated, else as seen at the maximum. */
void omo_find_abduction(struct omo_take *take);
/** How far the upper arm is out from the vertical in the picture; NAN not seen. */
double omo_front_abduction_deg(const struct omo_take *take, size_t k);
/** Adds the lines of row k's angle; none without an angle. */
void omo_front_budget(const struct omo_take *take, size_t k, struct omo_budget *budget);
/** The lens that is known, else what is assumed, in *room. */
const struct omo_lens *omo_front_lens(const struct omo_measure_settings *settings,
                                      struct omo_lens *room);

/** uncertainty.c */
/** Noise of a marker's centre, px. */
double omo_sigma_px(const struct omo_markers *markers, enum omo_role role);
/** Standard uncertainty of a marker's place across its limb, mm. */
double omo_placed_mm(const struct omo_measure_settings *settings, enum omo_role role);
/** What the angle of a row is good to, line by line. */
void omo_budget_of_row(const struct omo_take *take, size_t row,
                       struct omo_budget *budget);
/** What lens and level do to the arm's line where it was last worked out. */
struct omo_camera_u {
    bool known, vertical;
    struct omo_lens_line arm;
    double lens_deg, level_deg;
};
/** The combination of these lines alone. `kept` (not known at first) saves working lens
 *  and level out anew while the arm is where it was. */
double omo_max_u95_deg(const struct omo_take *take, size_t row,
                       struct omo_camera_u *kept);
/** The mean of the repetitions: the highest one's lines, and their spread. */
void omo_budget_of_mean(const struct omo_take *take, const struct omo_budget *highest,
                        struct omo_budget *budget);

/** note.c */
void omo_write_note(struct omo_take *take);

#endif
