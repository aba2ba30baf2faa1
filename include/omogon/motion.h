/** From markers over time to angles, maxima, compensation and their uncertainty. */
#ifndef OMOGON_MOTION_H
#define OMOGON_MOTION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "omogon/body.h"
#include "omogon/budget.h"
#include "omogon/lens.h"
#include "omogon/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/** How an angle is built from markers. */
enum omo_geometry {
    OMO_GEOMETRY_ELEVATION, /**< trunk axis against shoulder-elbow */
    OMO_GEOMETRY_ROTATION,  /**< elbow-wrist against straight ahead (or up when lying) */
    OMO_GEOMETRY_FORESHORTENED, /**< rotation from in front: the forearm's direction in
                                     space, out of how far the wrist stands beside the
                                     elbow and the forearm's length */
    OMO_GEOMETRY_PENDULUM, /**< hanging arm against the vertical: shoulder-wrist when the
                                wrist is seen often enough, else shoulder-elbow */
};

/** What the uncertainty of a maximum allows for beside pixel noise: standard
 *  uncertainties (models/allowances.ini says where each comes from). */
struct omo_allowances {
    double shoulder_mm;        /**< marker off the joint's centre */
    double elbow_mm, wrist_mm; /**< sticker off its place, across the limb ... */
    double band_mm, sleeve_mm; /**< ... a band's middle off the limb's axis; a marker on
                                    a sleeve, whichever limb */
    double off_axis_mm, roll_deg; /**< the elbow's sticker off the arm's own axis, and the
                                       arm's turn about it meanwhile */
    double plane_deg;        /**< turn of the arm's plane out of the picture's plane */
    double trunk_placed_deg; /**< chest-hip line taken as it is ... */
    double trunk_skin_deg, trunk_skin_front_deg; /**< slide below chest and hip, at 150 */
    double trunk_chest_hip_deg, trunk_chest_hip_front_deg, trunk_hip_deg,
        trunk_shift_deg; /**< ... and lines made
vertical at rest: moving on the trunk
since */
    double trunk_none_deg, trunk_lying_deg;
    /* Rotation seen along the arm: a trunk that rolls on a bench; the arm off level; the
     * elbow off a right angle; the wrist's sticker off the forearm's axis, and the
     * forearm's turn about it meanwhile. */
    double trunk_bench_deg, arm_level_deg, elbow_bent_deg;
    double wrist_off_axis_mm, forearm_turn_deg;
    double upright_deg; /**< a trunk that does not stand upright at rest; beyond the
                             definition of the angle */
    double upper_arm_mm, forearm_mm; /**< lengths where no marker's size is known; no
                                          uncertainties */
    double trunk_length_ratio; /**< hip to shoulder / upper arm; not an uncertainty */
    double shoulder_band_ratio, elbow_band_ratio; /**< where bands sit on the upper arm,
                                                       shares of it from the shoulder:
                                                       0..0.5 and 0.5..1; not
                                                       uncertainties */
    /* What a person may do before it is called leaning or hitching; no uncertainties. */
    double lean_deg;   /**< of the trunk, from how it stood at rest */
    double hike_ratio; /**< beyond the natural rise, in upper arms */
    double rise_ratio; /**< natural rise of the shoulder at rise_full_deg ... */
    double rise_from_deg, rise_full_deg; /**< ... growing evenly from this angle on */
    double hike_own_ratio; /**< beyond the person's own curve, where one is given */
    /* What tells a hitch from a bend in the natural rise. */
    double onset_from_deg,
        onset_over_deg;               /**< where it may begin, how far it may reach */
    double onset_slope_ratio_per_deg; /**< least rise beyond the course */
    double onset_rise_ratio;          /**< in all */
    double onset_chance;              /**< most likely chance of no hitch at all */
    /* Rotation from in front. Lengths as shares of the shoulder marker's distance from
     * the elbow marker; no uncertainties: */
    double elbow_above_ratio; /**< elbow's band above the joint */
    double forearm_ratio;     /**< forearm, joint to the wrist's band */
    double wrist_skin_ratio;  /**< wrist marker off the bone's line, in forearms */
    double away_deg, trunk_turned_ratio; /**< elbow away from the side; trunk turned */
    /* Standard uncertainties: of the forearm's length, as a share of it ... */
    double learnt_ratio, given_ratio, guess_ratio;
    double skin_ratio; /**< ... of wrist_skin_ratio ... */
    double facing_deg; /**< ... and of facing the camera */
};

/** Where on the shoulder its marker sits, as far as anyone says. */
enum omo_shoulder_place {
    OMO_PLACE_OVER_HEAD, /**< over the humeral head, two finger-widths below the edge */
    OMO_PLACE_ON_EDGE,   /**< on the bony edge itself */
    OMO_PLACE_NOT_TOLD,  /**< either: the movement decides how likely each is */
};

/** Where the shoulder's marker is then, from the joint at rest. */
struct omo_pivot_place {
    double up_mean_mm, up_sd_mm, ahead_mean_mm, ahead_sd_mm;
};

/** An elbow that is held straight, as it is seen. */
struct omo_pivot_bend {
    double mean_deg, sd_deg, drift_sd_deg;
    double aside_deg; /**< towards the camera (or, from behind, away), which the arm's own
                           turn brings into the picture */
};

/** Priors of the fit of pivot and plane (models/pivot.ini says where each comes from).
 *  Lengths in mm on an upper arm of 300 mm. */
struct omo_pivot_priors {
    double length_sd_ratio, forearm_ratio, forearm_sd_ratio;
    struct omo_pivot_place place[OMO_PLACE_NOT_TOLD];
    double share_mean, share_sd, setting_mean_deg, setting_sd_deg;
    double slide_sd_mm;
    double shoulder_depth_mm; /**< its marker before the joint, towards the camera */
    double turn_sd_deg, turn_drift_sd_deg;
    double stance_share; /**< of that turn, the person's own turn to the camera */
    double stance_sd_deg;
    struct omo_pivot_bend bend_front, bend_thumb_up, bend_side;
    double bent_limit_deg;
    double elbow_turn_mm, wrist_turn_mm; /**< what the limb's own turn carries stickers
                                              by, across it, over the arc */
    double band_turn_mm, band_along_mm;
    double misfit_along_mm, misfit_bend_deg, misfit_parts;
};

/** One row of the movement table (models/movements.ini). */
struct omo_movement {
    char name[24];  /**< "flexion" ... */
    char key[40];   /**< the name, or name/view where it is seen another way than usual */
    char plane[24]; /**< "sagittal" ... */
    enum omo_geometry geometry;
    enum omo_view view;
    bool position_allowed[OMO_POSITION_COUNT];
    enum omo_position position_default;
    unsigned needed;     /**< bit mask of roles */
    double sign;         /**< +1 or -1: picture turn that counts positive for a right arm,
                              unmirrored, default view */
    double wrap_low_deg; /**< -90 for elevations, -180 for rotations */
    double rest_below_deg;
    char axis[96], zero[96], caution[256]; /**< for people */
    struct omo_allowances allowances;
    struct omo_pivot_priors pivot;
};

/** Reads the table; `path` NULL takes the built-in models/movements.ini. The allowances
 *  come from models/allowances.ini. One sentence for a mistake, with line and group:
 *  OMO_ERR_SETTINGS; OMO_ERR_OPEN. */
struct omo_movement_table;
/** The table is the caller's to destroy. */
OMO_API OMO_MUST_CHECK enum omo_status omo_movement_table_load(
    const char *path, struct omo_movement_table **out);
/** Frees it; NULL is fine. */
OMO_API void omo_movement_table_destroy(struct omo_movement_table *table);
/** By its key, which is the name alone for the usual view. NULL when unknown. Lent. */
OMO_API const struct omo_movement *omo_movement_find(
    const struct omo_movement_table *table, const char *key);
/** The same movement seen from elsewhere; NULL when it is not measured so. Lent. */
OMO_API const struct omo_movement *omo_movement_seen_from(
    const struct omo_movement_table *table, const struct omo_movement *movement,
    enum omo_view view);
/** "arm to the front (flexion)": a movement's key in plain words, translated; the key
 * itself when it is unknown. Constant. */
OMO_API const char *omo_movement_words(const char *key);
/** Rows of the table, other views among them. */
OMO_API int omo_movement_count(const struct omo_movement_table *table);
/** NULL out of range. Lent. */
OMO_API const struct omo_movement *omo_movement_at(const struct omo_movement_table *table,
                                                   int index);

/** What stands for the trunk's line. */
enum omo_reference {
    OMO_REFERENCE_NONE,
    OMO_REFERENCE_SHIFT,
    OMO_REFERENCE_HIP,
    OMO_REFERENCE_CHEST_HIP
};
/** "none", "shift", "hip", "chest-hip". */
OMO_API const char *omo_reference_name(enum omo_reference reference);

/** Why an angle is as it is: bits, written as words joined by '+'. 0 is "ok". */
enum omo_quality {
    OMO_QUALITY_NO_SHOULDER = 1u << 0,      /**< no-shoulder */
    OMO_QUALITY_NO_ELBOW = 1u << 1,         /**< no-elbow */
    OMO_QUALITY_NO_WRIST = 1u << 2,         /**< no-wrist (rotations only) */
    OMO_QUALITY_ASSUMED_VERTICAL = 1u << 3, /**< assumed-vertical */
    OMO_QUALITY_ESTIMATED_LEAN = 1u << 4,   /**< estimated-lean */
    OMO_QUALITY_OUT_OF_PLANE = 1u << 5,     /**< out-of-plane */
    OMO_QUALITY_UNFILTERED = 1u << 6,       /**< unfiltered */
    OMO_QUALITY_DAMAGED = 1u << 7,  /**< damaged: the frame's bytes were broken; its angle
                                         stays raw and counts for nothing */
    OMO_QUALITY_REPEATED = 1u << 8, /**< repeated: same picture as before; where the
                                         picture stood still and the arm did not, as
                                         damaged */
    OMO_QUALITY_EDITED = 1u << 9,   /**< edited: a marker it uses was placed by hand */
    OMO_QUALITY_TRUNK_HELD = 1u << 10,   /**< trunk-held: hip or chest hidden, its last
                                              clear place on the trunk used */
    OMO_QUALITY_CAMERA_MOVED = 1u << 11, /**< camera-moved: in this frame or before it */
    /* Rotation from in front: */
    OMO_QUALITY_ELBOW_ANGLE = 1u << 12,  /**< elbow-angle: far from a right angle, so that
                                              the forearm tells no rotation */
    OMO_QUALITY_ELBOW_AWAY = 1u << 13,   /**< elbow-away: it has left the side */
    OMO_QUALITY_TRUNK_TURNED = 1u << 14, /**< trunk-turned */
    OMO_QUALITY_INSENSITIVE = 1u << 15,  /**< insensitive: the forearm lies so nearly
                                              across the picture that it hardly changes */
};
/** Writes the words, always terminated; size 256 is enough. */
OMO_API void omo_quality_text(unsigned quality, char *text, size_t size);
/** Table of words and meanings for documentation; returns NULL past the end. */
OMO_API const char *omo_quality_word(int index, const char **meaning);

/** Input of one frame. */
struct omo_track_frame {
    int64_t index;
    double time_s;
    bool damaged, repeated;
    bool edited; /**< one of its markers was placed or taken away by hand */
    struct omo_markers markers;
};

/** Output of one frame; NAN = empty cell. Column for column the trace file. */
struct omo_trace_row {
    int64_t frame;
    double time_s;
    double angle_deg;          /**< corrected, zero-lag filtered */
    double angle_raw_deg;      /**< corrected, unfiltered */
    double angle_image_deg;    /**< before any pivot and plane correction */
    double angle_vertical_deg; /**< angle + trunk lean; empty when the camera looks down
                                    on a lying person, since gravity is not in the
                                    picture */
    double elbow_flexion_deg;  /**< 0 = straight */
    double trunk_lean_deg;     /**< positive where it adds to the angle against the
                                    vertical: backward in flexion, away from the arm in
                                    abduction and scaption, forward in extension, towards
                                    the arm in adduction; filtered like the angle */
    double hike_ratio;         /**< rise of the shoulder along the trunk / upper arm */
    double hike_mm;
    enum omo_reference reference;
    unsigned quality;
    struct omo_markers markers;
};

/** A frame as it is before anything is worked out: all angles empty. */
OMO_API void omo_trace_row_init(struct omo_trace_row *row,
                                const struct omo_track_frame *frame);

struct omo_rise; /* rise.h */

/** How a movement is measured; numbers that are not known are NAN. */
struct omo_measure_settings {
    const struct omo_movement *movement;
    enum omo_side side;
    enum omo_position position;
    bool from_behind; /**< front view: seen from the back */
    bool facing_left; /**< side view and along the arm: in the picture as it is, mirrored
                           or not, the person faces left; of a lying person: would face
                           left if stood up (on the back with the head at picture left
                           would face right; prone so would face left) */
    bool mirrored;    /**< front view: the picture is a mirror image */
    double marker_size_mm;     /**< NAN unknown: no millimetres */
    bool band[OMO_ROLE_COUNT]; /**< the role's marker is a band round the limb: its middle
                                    lies on the limb's axis. One on the upper arm for the
                                    shoulder rides on the arm: hike stays empty */
    enum omo_shoulder_place shoulder_place;
    bool sleeve;         /**< markers sit on a sleeve, not on the skin */
    double placement_mm; /**< standard uncertainty of a marker's place on the limb; NAN:
                              the stated one of models/ */
    double cutoff_hz;    /**< 6 */
    int picture_width, picture_height;
    const struct omo_lens *lens; /**< of pictures of this size; lent. Angles are those of
                                      the straightened places, levelled where gravity
                                      lies in the picture; the markers in the rows stay
                                      as the camera sent them. NULL: none */
    double rotation_at_abduction_deg; /**< how far the arm is held out for a rotation,
                                           handed to the result; NAN not known */
    double forearm_mm;  /**< rotation from in front: elbow joint to wrist marker; counts
                             with marker_size_mm; NAN: from the picture */
    bool no_correction; /**< pivot and plane stay as the markers show them: what the
                             corrected angle is compared with */
    const struct omo_rise *expected_rise; /**< the person's own curve (other side, earlier
                             session) against which hike is judged; lent; NULL: the
                             stated allowance */
};
/** A right arm, standing, from the front or facing right; no movement. */
OMO_API void omo_measure_settings_default(struct omo_measure_settings *settings);

/** One repetition, indices into the rows. */
struct omo_repetition {
    size_t first, peak, last;
    double max_deg;
};
#define OMO_REPETITION_MAX 64 /**< later ones are not counted, and the note says so */
/**
 * Repetitions of a series, `out` with OMO_REPETITION_MAX places: from low, over three
 * fifths of the way from low_deg to max_deg, and down to low again or to the end; at
 * least 0.8 s. NAN angles are passed over. 0 where the two are less than 5 degrees apart.
 * Pure.
 */
OMO_API size_t omo_repetitions_in(const double *time_s, const double *angle_deg,
                                  size_t count, double low_deg, double max_deg,
                                  struct omo_repetition *out);

/** Maxima that have a budget each. */
enum omo_maximum {
    OMO_MAXIMUM_HIGHEST,     /**< max_deg */
    OMO_MAXIMUM_HELD,        /**< held_max_deg */
    OMO_MAXIMUM_MEAN,        /**< mean_of_maxima_deg: with the repetitions' own spread */
    OMO_MAXIMUM_BEFORE_HIKE, /**< max_before_hike_deg */
    OMO_MAXIMUM_COUNT
};
/** Its column: "max_deg" ...; NULL out of range. */
OMO_API const char *omo_maximum_name(enum omo_maximum maximum);

/** What a movement came to; NAN or 0 = empty. Names are columns of sessions.csv. */
struct omo_result {
    enum omo_reference reference;
    double max_deg, max_u95_deg, held_max_deg, mean_of_maxima_deg, max_before_hike_deg;
    double image_max_deg; /**< as max_deg, before any correction and unfiltered. Not a
                               column */
    double rest_deg;
    int repetitions;
    struct omo_repetition repetition[OMO_REPETITION_MAX];
    double hike_at_max_ratio, lean_at_max_deg, trunk_rest_offset_deg;
    double hike_onset_deg; /**< arm's angle at which a hitch of the shoulder sets in, over
                                all raises; NAN none found or not to be judged. Not a
                                column */
    double pivot_offset_ratio, plane_turn_deg, rotation_at_abduction_deg;
    double seen_ratio;        /**< frames with an angle / frames */
    double frames_per_second; /**< from median frame interval */
    int64_t frame_at_max; /**< frame number (not row index) of the highest angle_deg in
                               the max_deg window; -1 none */
    struct omo_budget budget[OMO_MAXIMUM_COUNT]; /**< of a maximum that is not there: no
                                                      line; max_u95_deg is the first's */
    bool against_direction; /**< arm moved only against the stated direction: the maxima
                                 are empty and the note names the remedy */
    char note[480]; /**< sentences for people: what was assumed, what was missing */
};

/**
 * Measures one movement. rows has `count` places. Deterministic: same input, same bits.
 * OMO_ERR_EMPTY when no frame has an angle (rows and result are still filled);
 * OMO_ERR_ARG without a movement, with a position the movement does not allow, a cut-off
 * that is not positive, or a lens that is not valid or of pictures of another size.
 * Silent.
 */
OMO_API OMO_MUST_CHECK enum omo_status omo_measure(
    const struct omo_measure_settings *settings, const struct omo_track_frame *frames,
    size_t count, struct omo_trace_row *rows, struct omo_result *result);

/**
 * The rules for maxima, also used for a simulated clip's truth: the largest a such that
 * the angle is at least a in every frame of some window of window_s or longer that has no
 * gap over gap_s (omo_gap_between) and no spread over spread_deg (INFINITY: any). `at`
 * (may be NULL) gets the index of the highest angle in that window. NAN when none.
 */
OMO_API double omo_sustained_max_deg(const double *time_s, const double *angle_deg,
                                     size_t count, double window_s, double gap_s,
                                     double spread_deg, size_t *at);

#ifdef __cplusplus
}
#endif

#endif
