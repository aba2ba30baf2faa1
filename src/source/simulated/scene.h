/** What a scene is made of: every setting as a plain value. Private to the source. */
#ifndef OMOGON_SIMULATED_SCENE_H
#define OMOGON_SIMULATED_SCENE_H

#include <stdbool.h>

#include "omogon/body.h"
#include "omogon/layout.h"
#include "omogon/status.h"

enum omo_scene_movement {
    OMO_SCENE_FLEXION,
    OMO_SCENE_EXTENSION,
    OMO_SCENE_ABDUCTION,
    OMO_SCENE_ADDUCTION,
    OMO_SCENE_SCAPTION,
    OMO_SCENE_EXTERNAL_ROTATION,
    OMO_SCENE_INTERNAL_ROTATION,
    OMO_SCENE_PENDULUM
};

enum omo_scene_sleeve { OMO_SLEEVE_NONE, OMO_SLEEVE_SHORT, OMO_SLEEVE_LONG };
enum omo_scene_hair { OMO_HAIR_NONE, OMO_HAIR_SHORT, OMO_HAIR_LONG };
enum omo_scene_shape { OMO_SHAPE_DISC, OMO_SHAPE_BAND };
enum omo_scene_second { OMO_SECOND_NONE, OMO_SECOND_PLAIN, OMO_SECOND_MARKED };
enum omo_scene_furniture { OMO_ROOM_PLAIN, OMO_ROOM_DULL, OMO_ROOM_BRIGHT };

#define OMO_SPAN_MAX 8

/** A marker and a stretch of time, for what hides it. */
struct omo_scene_span {
    enum omo_role role;
    double from_s, to_s;
};
struct omo_scene_spans {
    int count;
    struct omo_scene_span span[OMO_SPAN_MAX];
};

struct omo_scene {
    /* movement */
    int movement, side, view, position;
    bool from_behind, mirrored;
    double arc_deg, start_deg, speed_deg_per_s, hold_s, pause_s, rest_s, variation_deg,
        tremor_deg, abduction_deg, hang_s, twist_deg;
    double ease_ups, ease_up_deg, settle_s, shake_deg, shake_hz, breath_deg;
    double circle_cm, circle_grows_cm, lap_s, laps, laps_after, bow_deg;
    double repetitions, seconds;
    bool other_arm_moves;
    double other_arc_deg, other_lag_s;

    /* body */
    double stature_m, elbow_deg, hike_ratio, lean_deg, stance_deg, yaw_deg, plane_deg,
        protraction_mm, scapula_share, axial_deg, slide_mm, sway_mm, breath_mm;
    double skin, shirt[3], trousers[3], sleeve_colour[3], hair_colour[3], glove_colour[3];
    int sleeve, hair;
    bool beard, gloves;

    /* markers */
    unsigned markers, other_arm_markers; /* bit masks of roles */
    double colour[OMO_ROLE_COUNT][3];
    int shape;
    double sticker_mm, band_mm, offset_mm, forward_mm, acromion_mm, shading_ratio,
        gloss_ratio;
    struct omo_scene_spans hide, helper, fall;

    /* camera */
    double width, height, fps, seed;
    double distance_m, field_deg, camera_height_m, roll_deg, shutter_ratio, blur_px,
        vignetting_ratio, exposure_stops, cast[3], drift_ratio, drift_s, switch_s,
        switch_stops, noise, chroma_noise, quality;
    int subsampling;
    double bump_s, bump_px, repeat_every, jitter_ms, start_s;

    /* light and room */
    double sun_ratio, gradient_ratio;
    int furniture;
    char room[512]; /* "" or a picture, clip or folder */
    double room_s;
    double look_alikes;
    int second_person;
    bool mirror, screen;

    struct omo_layout layout;
};

/** Whether a lamp has gone on or off by then. */
bool omo_scene_switched(const struct omo_scene *scene, double time_s);
/** Frames the scene has. */
long omo_scene_frame_count(const struct omo_scene *scene);
/** Duration of one repetition's raising part, s. */
double omo_scene_raise_s(const struct omo_scene *scene);
/** From the start of a raise to where the arm begins to come down: pauses and easing up
 *  included. */
#define OMO_EASE_UP_S 2.0
double omo_scene_up_s(const struct omo_scene *scene);

#endif
