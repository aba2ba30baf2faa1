#include "pose.h"

#include <math.h>

/* Natural rise of the shoulder: 10 % of the upper arm at 150 degrees, linear from 30. */
#define RISE_AT_150         0.10
#define RISE_FROM_DEG       30.0
#define SCAPULA_FROM_DEG    30.0
#define SCAPTION_PLANE_DEG  30.0
#define ADDUCTION_PLANE_DEG 25.0
#define BREATHS_PER_S       0.23
#define SHOULDER_BAND_SHARE 0.18
#define ELBOW_BAND_SHARE    0.93
#define CLEAR_OF_HAND_SHARE 0.85  /* a hand that points at the camera hides the rest */
#define CLEAR_OF_ELBOW_M    0.055 /* a bent forearm hides what lies nearer to the elbow */
#define WRIST_BAND_SHARE    0.92

/** Share 0..1 of a smooth reach (minimum jerk: Flash and Hogan 1985). */
static double reach(double t)
{
    t = omo_sim_clamp(t, 0, 1);
    return t * t * t * (10 - 15 * t + 6 * t * t);
}

static double slow_wave(double time_s, double hz, double phase_deg)
{
    return omo_sim_sin_deg(360 * hz * time_s + phase_deg);
}

/** How many times the arm has eased up (parts count), since_s after it came to the top.
 */
static double eased(const struct omo_scene *s, double since_s)
{
    double one_s = s->hold_s + OMO_EASE_UP_S;
    double which = floor(since_s / one_s);
    if (since_s < 0)
        return 0;
    if (which >= s->ease_ups)
        return s->ease_ups;
    return which + reach((since_s - which * one_s - s->hold_s) / OMO_EASE_UP_S);
}

/** How far an arm with this arc is on its way up (0..1) and how high this top is. */
static double way_up(const struct omo_scene *s, double arc_deg, double time_s,
                     double *top_deg)
{
    double raise_s = omo_scene_raise_s(s), up_s = omo_scene_up_s(s);
    double cycle_s = up_s + raise_s + s->pause_s;
    double t = time_s - s->rest_s;
    int count = (int)s->repetitions, which = (int)floor(t / cycle_s);
    *top_deg = arc_deg;
    if (t < 0 || which >= count)
        return 0;
    struct omo_random random = {(uint64_t)s->seed * 977u + (uint64_t)which};
    double down = s->variation_deg * omo_random_unit(&random);
    *top_deg -= which == count / 2 ? 0 : down * (arc_deg < s->start_deg ? -1 : 1);
    t -= which * cycle_s;
    *top_deg +=
        eased(s, t - raise_s) * s->ease_up_deg * (arc_deg < s->start_deg ? -1 : 1);
    if (t < up_s)
        return reach(t / raise_s);
    return 1 - reach((t - up_s) / raise_s);
}

static double tremor(const struct omo_scene *s, double time_s)
{
    return s->tremor_deg *
               (0.6 * slow_wave(time_s, 0.31, 40) + 0.4 * slow_wave(time_s, 1.07, 10)) +
           s->shake_deg * slow_wave(time_s, s->shake_hz, 0) +
           s->breath_deg * slow_wave(time_s, BREATHS_PER_S, 0);
}

/** What is left of the rise beyond the natural one: it falls back at the top. */
static double hike_left(const struct omo_scene *s, double time_s)
{
    double cycle_s = omo_scene_up_s(s) + omo_scene_raise_s(s) + s->pause_s;
    double t = time_s - s->rest_s;
    if (s->settle_s <= 0 || t < 0)
        return 1;
    t -= floor(t / cycle_s) * cycle_s;
    return 1 - reach((t - omo_scene_raise_s(s)) / s->settle_s);
}

/** +1 when the measured arm is the right one. */
static double side_sign(const struct omo_scene *s)
{
    return s->side == OMO_RIGHT ? 1 : -1;
}

/**
 * The trunk's axes in the world (X picture right, Y up, Z towards the camera). In the
 * side view the measured side is turned to the camera; from the front the person faces
 * it. Lying is the same picture turned a quarter, unless the camera looks down.
 */
static void orient(const struct omo_scene *s, struct omo_pose *pose)
{
    double sign = side_sign(s), quarter_deg = 0;
    const struct omo_vec z = {0, 0, 1}, y = {0, 1, 0};
    if (s->view == OMO_VIEW_FRONT) {
        pose->forward = (struct omo_vec){0, 0, s->from_behind ? -1 : 1};
        pose->right = (struct omo_vec){s->from_behind ? 1 : -1, 0, 0};
    } else {
        pose->forward = (struct omo_vec){sign, 0, 0};
        pose->right = (struct omo_vec){0, 0, sign};
    }
    pose->forward = omo_vec_turn(pose->forward, y, s->yaw_deg);
    pose->right = omo_vec_turn(pose->right, y, s->yaw_deg);
    pose->up = y;
    if (omo_scene_along_arm(s)) { /* the camera stands where the upper arm points */
        double tilt_deg = sign * (s->abduction_deg - 90);
        pose->right = omo_vec_turn(pose->right, pose->forward, tilt_deg);
        pose->up = omo_vec_turn(pose->up, pose->forward, tilt_deg);
    }
    /* Onto the back: what was in front is above. Onto the side: the measured arm is. */
    if (omo_scene_from_above(s))
        return;
    if (s->position == OMO_SUPINE)
        quarter_deg = 90 * sign;
    else if (s->position == OMO_PRONE)
        quarter_deg = -90 * sign;
    else if (s->position == OMO_SIDE_LYING)
        quarter_deg = -90 * sign * (s->from_behind ? -1 : 1);
    if (quarter_deg != 0) {
        pose->forward = omo_vec_turn(pose->forward, z, quarter_deg);
        pose->right = omo_vec_turn(pose->right, z, quarter_deg);
        pose->up = omo_vec_turn(pose->up, z, quarter_deg);
    }
}

static struct omo_vec hips_place(const struct omo_scene *s, double time_s)
{
    double sway = s->sway_mm / 1000, height = s->layout.hip_height * s->stature_m;
    struct omo_vec hips = {0, height, 0};
    bool above = omo_scene_from_above(s);
    if (s->position == OMO_SEATED) {
        hips.y = 0.58;
    } else if (s->position != OMO_STANDING) {
        hips.y = above ? height : 0.66;
        sway *= 0.1;
    }
    hips.x +=
        sway * (0.7 * slow_wave(time_s, 0.11, 0) + 0.3 * slow_wave(time_s, 0.37, 90));
    hips.z += 0.5 * sway * slow_wave(time_s, 0.13, 200);
    if (above)
        return hips;
    if (s->position == OMO_SUPINE || s->position == OMO_PRONE) /* head to one side */
        hips.x += 0.35 * side_sign(s) * (s->position == OMO_SUPINE ? 1 : -1);
    if (s->position == OMO_SIDE_LYING)
        hips.x -= 0.35 * side_sign(s) * (s->from_behind ? -1 : 1);
    return hips;
}

/** Turns the trunk about the hips: backward in the side view, else away from the arm. */
static void lean_trunk(const struct omo_scene *s, struct omo_pose *pose, double lean_deg)
{
    if (s->view == OMO_VIEW_FRONT) {
        /* away from a right arm is to the left: up turns towards -right */
        double turn = lean_deg * side_sign(s);
        struct omo_vec axis = pose->forward;
        pose->up = omo_vec_turn(pose->up, axis, -turn);
        pose->right = omo_vec_turn(pose->right, axis, -turn);
    } else {
        struct omo_vec axis = pose->right;
        pose->up = omo_vec_turn(pose->up, axis, lean_deg);
        pose->forward = omo_vec_turn(pose->forward, axis, lean_deg);
    }
}

static struct omo_vec in_trunk(const struct omo_pose *pose, double forward, double up,
                               double outward, double sign)
{
    struct omo_vec v = omo_vec_scale(pose->forward, forward);
    v = omo_vec_along(v, pose->up, up);
    return omo_vec_along(v, pose->right, outward * sign);
}

/** Unit vectors of an elevation: along the hanging trunk and towards the movement. */
static struct omo_vec movement_direction(const struct omo_scene *s,
                                         const struct omo_pose *pose, double sign)
{
    double outward = 1, plane_deg = s->plane_deg; /* 0: straight out, 90: ahead */
    switch (s->movement) {
    case OMO_SCENE_FLEXION:
        plane_deg += 90;
        break;
    case OMO_SCENE_EXTENSION:
        plane_deg -= 90;
        break;
    case OMO_SCENE_ADDUCTION:
        outward = -1;
        plane_deg += ADDUCTION_PLANE_DEG;
        break;
    case OMO_SCENE_SCAPTION:
        plane_deg += SCAPTION_PLANE_DEG;
        break;
    default:
        break;
    }
    return in_trunk(pose, omo_sim_sin_deg(plane_deg), 0,
                    outward * omo_sim_cos_deg(plane_deg), sign);
}

static struct omo_vec swing(const struct omo_pose *pose, struct omo_vec direction,
                            double angle_deg)
{
    struct omo_vec v = omo_vec_scale(pose->up, -omo_sim_cos_deg(angle_deg));
    return omo_vec_along(v, direction, omo_sim_sin_deg(angle_deg));
}

static double forearm_bend_deg(const struct omo_scene *s)
{
    /* The elbow bends forward only: an arm moved back or across bends against it. */
    return s->movement == OMO_SCENE_EXTENSION || s->movement == OMO_SCENE_ADDUCTION
               ? -s->elbow_deg
               : s->elbow_deg;
}

/** 0: the measured arm, 1: the other one. */
static double sign_of_arm(const struct omo_scene *s, int which)
{
    return which == 0 ? side_sign(s) : -side_sign(s);
}

static void place_moving_arm(const struct omo_scene *s, struct omo_pose *pose, int which,
                             double turn_deg)
{
    double sign = sign_of_arm(s, which), h = s->stature_m;
    const struct omo_layout *l = &s->layout;
    struct omo_pose_arm *arm = &pose->arm[which];
    struct omo_vec upper, fore;
    arm->outer = s->view == OMO_VIEW_FRONT
                     ? omo_vec_scale(pose->forward, s->from_behind ? -1 : 1)
                     : omo_vec_scale(pose->right, sign);
    if (omo_scene_turns(s)) {
        upper = omo_turned_upper(s, pose, which);
        fore = omo_turned_forearm(s, pose, which, turn_deg);
    } else {
        struct omo_vec direction = movement_direction(s, pose, sign);
        upper = swing(pose, direction, turn_deg);
        fore = swing(pose, direction, turn_deg + forearm_bend_deg(s));
    }
    arm->elbow = omo_vec_along(arm->shoulder, upper, l->upper_arm * h);
    arm->wrist = omo_vec_along(arm->elbow, fore, l->forearm * h);
    arm->finger = omo_vec_along(arm->wrist, fore, l->hand * h);
}

static void place_hanging_arm(const struct omo_scene *s, struct omo_pose *pose)
{
    double h = s->stature_m;
    const struct omo_layout *l = &s->layout;
    struct omo_pose_arm *arm = &pose->arm[1];
    struct omo_vec upper = in_trunk(pose, 0.02, -1, 0.12, -side_sign(s));
    struct omo_vec fore = in_trunk(pose, 0.16, -1, 0.06, -side_sign(s));
    upper = omo_vec_unit(upper);
    fore = omo_vec_unit(fore);
    arm->outer = s->view == OMO_VIEW_FRONT
                     ? omo_vec_scale(pose->forward, s->from_behind ? -1 : 1)
                     : omo_vec_scale(pose->right, -side_sign(s));
    arm->elbow = omo_vec_along(arm->shoulder, upper, l->upper_arm * h);
    arm->wrist = omo_vec_along(arm->elbow, fore, l->forearm * h);
    arm->finger = omo_vec_along(arm->wrist, fore, l->hand * h);
}

static struct omo_vec leg_direction(const struct omo_scene *s, const struct omo_vec *up,
                                    const struct omo_vec *forward)
{
    return s->position == OMO_SEATED ? *forward : omo_vec_scale(*up, -1);
}

static void place_legs(const struct omo_scene *s, struct omo_pose *pose,
                       struct omo_vec up, struct omo_vec forward)
{
    double h = s->stature_m, sign = side_sign(s);
    struct omo_vec thigh = leg_direction(s, &up, &forward);
    struct omo_vec shin = omo_vec_scale(up, -1);
    for (int i = 0; i < 2; i++) {
        double out = (i == 0 ? sign : -sign) * 0.052 * h;
        pose->hip_joint[i] = omo_vec_along(pose->hips, pose->right, out);
        if (s->position == OMO_SEATED) /* the hip bone is above the lap */
            pose->hip_joint[i] = omo_vec_along(pose->hip_joint[i], up, -0.055 * h);
        pose->knee[i] = omo_vec_along(pose->hip_joint[i], thigh, 0.245 * h);
        pose->ankle[i] = omo_vec_along(pose->knee[i], shin, 0.246 * h);
    }
}

/** A disc on the skin `reach_m` away from the bone, towards the camera's side. */
static void stick(struct omo_pose_marker *marker, struct omo_vec bone,
                  struct omo_vec normal, double reach_m, struct omo_vec along)
{
    marker->placed = true;
    marker->normal = normal;
    marker->centre = omo_vec_along(bone, normal, reach_m);
    along = omo_vec_along(along, normal, -omo_vec_dot(along, normal));
    marker->edge = omo_vec_unit(along);
    if (omo_vec_length(along) < 1e-6)
        marker->edge = omo_vec_unit(omo_vec_cross(normal, (struct omo_vec){0.3, 1, 0.2}));
}

/** From the joint to the skin over it. The marker rides on the shoulder blade, which
 *  turns the same way as the arm, and the skin slides a little over the bone. */
static struct omo_vec shoulder_skin(const struct omo_scene *s,
                                    const struct omo_pose *pose, int which,
                                    double turn_deg)
{
    double blade_deg = s->scapula_share * fmax(turn_deg - SCAPULA_FROM_DEG, 0);
    double slide_m = s->slide_mm / 1000 * omo_sim_smooth_step(turn_deg, 20, 140);
    struct omo_vec ahead = movement_direction(s, pose, sign_of_arm(s, which));
    double c = omo_sim_cos_deg(blade_deg), d = omo_sim_sin_deg(blade_deg);
    struct omo_vec up = omo_vec_along(omo_vec_scale(pose->up, c), ahead, -d);
    ahead = omo_vec_along(omo_vec_scale(ahead, c), pose->up, d);
    return omo_vec_along(omo_vec_scale(up, s->offset_mm / 1000), ahead,
                         s->forward_mm / 1000 + slide_m);
}

/** A band round a bone: its middle lies on the axis. */
static void wind(struct omo_pose_marker *marker, struct omo_vec from, struct omo_vec to,
                 double share)
{
    marker->placed = marker->band = true;
    marker->share = share;
    marker->centre = omo_vec_along(from, omo_vec_sub(to, from), share);
    marker->normal = marker->edge = (struct omo_vec){0, 0, 1};
}

static void wind_bands(const struct omo_pose_arm *arm, bool rotation, bool turned,
                       unsigned wanted, struct omo_pose_marker *marker)
{
    double upper_m = omo_vec_length(omo_vec_sub(arm->elbow, arm->shoulder));
    double elbow = turned ? 1 - CLEAR_OF_ELBOW_M / upper_m : ELBOW_BAND_SHARE;
    if (wanted & 1u << OMO_SHOULDER)
        wind(&marker[OMO_SHOULDER], arm->shoulder, arm->elbow, SHOULDER_BAND_SHARE);
    if (wanted & 1u << OMO_ELBOW && !rotation) /* end on there is no strip to see */
        wind(&marker[OMO_ELBOW], arm->shoulder, arm->elbow, elbow);
    if (wanted & 1u << OMO_WRIST)
        wind(&marker[OMO_WRIST], arm->elbow, arm->wrist,
             turned ? CLEAR_OF_HAND_SHARE : WRIST_BAND_SHARE);
}

/** Of a wrist whose thumb is up: out of the palm. */
static struct omo_vec palm_side(const struct omo_scene *s, struct omo_vec upper,
                                struct omo_vec fore)
{
    struct omo_vec across = omo_vec_unit(omo_vec_cross(fore, upper));
    return omo_vec_scale(across, side_sign(s));
}

static void place_arm_markers(const struct omo_scene *s, struct omo_pose *pose,
                              double turn_deg, int which, unsigned wanted,
                              struct omo_pose_marker *marker)
{
    double h = s->stature_m;
    struct omo_pose_arm *arm = &pose->arm[which];
    struct omo_vec upper = omo_vec_unit(omo_vec_sub(arm->elbow, arm->shoulder));
    struct omo_vec fore = omo_vec_unit(omo_vec_sub(arm->wrist, arm->elbow));
    struct omo_vec outer = arm->outer;
    bool rotation = which == 0 && omo_scene_along_arm(s);
    bool turned = which == 0 && omo_scene_turns(s) && !rotation;
    bool moves = which == 0 || s->other_arm_moves;
    if (wanted & 1u << OMO_SHOULDER) {
        struct omo_vec skin = moves ? shoulder_skin(s, pose, which, turn_deg)
                                    : omo_vec_scale(pose->up, s->offset_mm / 1000);
        stick(&marker[OMO_SHOULDER], omo_vec_add(arm->shoulder, skin), outer, 0.031 * h,
              upper);
    }
    if (wanted & 1u << OMO_ELBOW) {
        struct omo_vec normal = outer;
        if (rotation) /* the point of the elbow looks along the upper arm */
            normal = omo_vec_unit(omo_vec_along(upper, fore, -0.25));
        else if (moves)
            normal = omo_vec_turn(outer, upper,
                                  (which == 0 ? s->axial_deg : -s->axial_deg) *
                                      omo_sim_smooth_step(turn_deg, 0, 150));
        double up_arm = s->view == OMO_VIEW_FRONT && !rotation ? -0.02 : 0;
        if (turned)
            up_arm = -CLEAR_OF_ELBOW_M;
        stick(&marker[OMO_ELBOW], omo_vec_along(arm->elbow, upper, up_arm), normal,
              0.024 * h, rotation ? fore : upper);
    }
    if (wanted & 1u << OMO_WRIST)
        stick(&marker[OMO_WRIST], arm->wrist,
              rotation ? upper
              : turned ? palm_side(s, upper, fore)
                       : outer,
              0.017 * h, fore);
    if (s->shape == OMO_SHAPE_BAND)
        wind_bands(arm, rotation, turned, wanted, marker);
}

/** On the bony edge over the shoulder's marker, at the end of the collar bone: the blade
 *  turns about there (Bagg and Forrest 1988, from memory), so it rises but does not turn.
 */
static void place_acromion(const struct omo_scene *s, struct omo_pose *pose)
{
    double up_m = (s->offset_mm + s->acromion_mm) / 1000;
    stick(&pose->marker[OMO_ACROMION],
          omo_vec_along(pose->arm[0].shoulder, pose->up, up_m), pose->arm[0].outer,
          0.025 * s->stature_m, pose->up);
}

static void place_markers(const struct omo_scene *s, struct omo_pose *pose)
{
    double h = s->stature_m, sign = side_sign(s);
    struct omo_vec outer = pose->arm[0].outer;
    const struct omo_layout *l = &s->layout;
    bool front = s->view == OMO_VIEW_FRONT;
    place_arm_markers(s, pose, pose->arm_deg, 0, s->markers, pose->marker);
    place_arm_markers(s, pose, pose->other_arm_deg, 1, s->other_arm_markers,
                      pose->other_marker);
    if (s->markers & 1u << OMO_ACROMION)
        place_acromion(s, pose);
    if (s->markers & 1u << OMO_HIP) {
        /* from the side a little ahead of the middle, where the hip bone is */
        struct omo_vec bone =
            in_trunk(pose, front ? 0 : 0.009 * h, 0, front ? 0.07 * h : 0, sign);
        stick(&pose->marker[OMO_HIP], omo_vec_add(pose->hips, bone), outer,
              front ? 0.07 * h : 0.100 * h, pose->up);
    }
    if (s->markers & 1u << OMO_CHEST) {
        double up = ((front ? 0.80 : l->chest_height) - l->hip_height) * h;
        struct omo_vec bone = in_trunk(pose, 0, up, 0, sign);
        stick(&pose->marker[OMO_CHEST], omo_vec_add(pose->hips, bone), outer,
              front ? 0.065 * h : 0.103 * h, pose->up);
    }
}

/** `rise_m` of each shoulder, the measured one first. */
static void place_shoulders(const struct omo_scene *s, struct omo_pose *pose,
                            const double rise_m[2], double forward_m, double breath_m)
{
    double h = s->stature_m, sign = side_sign(s);
    double up = (s->layout.shoulder_height - s->layout.hip_height) * h + breath_m;
    double out = s->layout.half_shoulder_width * h;
    pose->arm[0].shoulder =
        omo_vec_add(pose->hips, in_trunk(pose, forward_m, up + rise_m[0], out, sign));
    pose->arm[1].shoulder =
        omo_vec_add(pose->hips, in_trunk(pose, 0, up + rise_m[1], out, -sign));
    pose->neck = omo_vec_add(pose->hips, in_trunk(pose, 0.002 * h, up + 0.03 * h, 0, 1));
    pose->head = omo_vec_add(pose->neck, in_trunk(pose, 0.018 * h, 0.152 * h, 0, 1));
}

static double natural_rise(const struct omo_scene *s, double turn_deg)
{
    if (omo_scene_turns(s))
        return 0;
    return RISE_AT_150 * fmax(turn_deg - RISE_FROM_DEG, 0) / (150 - RISE_FROM_DEG);
}

/** The other arm's angle while it takes part in the movement; it hikes no more than is
 *  natural. */
static double other_turn_deg(const struct omo_scene *s, double time_s)
{
    double top_deg;
    double way = way_up(s, s->other_arc_deg, time_s - s->other_lag_s, &top_deg);
    return omo_sim_mix(s->start_deg, top_deg, way) + tremor(s, time_s + 1.7);
}

void omo_pose_at(const struct omo_scene *s, double time_s, struct omo_pose *pose)
{
    bool swings = omo_scene_swings(s);
    double top_deg = 0, way = swings ? 0 : way_up(s, s->arc_deg, time_s, &top_deg);
    double turn_deg = omo_sim_mix(s->start_deg, top_deg, way) + tremor(s, time_s);
    double late = omo_sim_smooth_step(way, 0.55, 1); /* trick movements come late */
    double upper = s->layout.upper_arm * s->stature_m;
    double breath = s->breath_mm / 1000 * slow_wave(time_s, BREATHS_PER_S, 0);
    double hike = s->hike_ratio * hike_left(s, time_s);
    *pose = (struct omo_pose){0};
    pose->stature_m = s->stature_m;
    pose->upper_arm_m = upper;
    pose->arm_deg = turn_deg;
    pose->lean_deg = s->stance_deg + s->lean_deg * late;
    pose->twist_deg = s->twist_deg * late;
    pose->elbow_deg = omo_scene_turns(s) ? omo_turned_bend_deg(s, time_s) : s->elbow_deg;
    double rise_m[2] = {(natural_rise(s, turn_deg) + hike * late) * upper, 0};
    if (s->other_arm_moves) {
        pose->other_arm_deg = other_turn_deg(s, time_s);
        rise_m[1] = natural_rise(s, pose->other_arm_deg) * upper;
        pose->other_hike_mm = (rise_m[1] + breath) * 1000;
        pose->other_hike_ratio = pose->other_hike_mm / 1000 / upper;
    }
    orient(s, pose);
    pose->hips = hips_place(s, time_s);
    if (swings)
        pose->hips = omo_vec_add(pose->hips, omo_swung_body(s, time_s));
    struct omo_vec up = pose->up, forward = pose->forward;
    place_legs(s, pose, up, forward);
    if (pose->twist_deg != 0) {
        double twist_deg = -side_sign(s) * pose->twist_deg;
        pose->forward = omo_vec_turn(forward, up, twist_deg);
        pose->right = omo_vec_turn(pose->right, up, twist_deg);
    }
    lean_trunk(s, pose, swings ? pose->lean_deg - s->bow_deg : pose->lean_deg);
    place_shoulders(s, pose, rise_m, s->protraction_mm / 1000 * late, breath);
    place_moving_arm(s, pose, 0, turn_deg);
    if (swings)
        omo_swung_place(s, pose, time_s);
    if (s->other_arm_moves)
        place_moving_arm(s, pose, 1, pose->other_arm_deg);
    else
        place_hanging_arm(s, pose);
    place_markers(s, pose);
    pose->hike_mm = (rise_m[0] + breath) * 1000;
    pose->hike_ratio = pose->hike_mm / 1000 / upper;
}

/** The scene as someone else in the same room would live it. */
void omo_scene_of_bystander(const struct omo_scene *scene, struct omo_scene *other)
{
    *other = *scene;
    other->start_deg = 5;
    other->arc_deg = 70;
    other->rest_s = 4;
    other->pause_s = 3;
    other->speed_deg_per_s = 40;
    other->repetitions = 20;
    other->seed = scene->seed + 17;
    other->hike_ratio = other->lean_deg = other->yaw_deg = other->plane_deg = 0;
    other->stature_m = scene->stature_m * 1.04;
    other->sway_mm = 18;
    other->shape = OMO_SHAPE_DISC;
    other->other_arm_markers = 0;
    other->other_arm_moves = false;
    other->markers = scene->second_person == OMO_SECOND_MARKED ? scene->markers : 0;
}

static void shift_arm(struct omo_pose_arm *arm, struct omo_vec by)
{
    arm->shoulder = omo_vec_add(arm->shoulder, by);
    arm->elbow = omo_vec_add(arm->elbow, by);
    arm->wrist = omo_vec_add(arm->wrist, by);
    arm->finger = omo_vec_add(arm->finger, by);
}

void omo_pose_shift(struct omo_pose *pose, struct omo_vec by)
{
    pose->hips = omo_vec_add(pose->hips, by);
    pose->neck = omo_vec_add(pose->neck, by);
    pose->head = omo_vec_add(pose->head, by);
    for (int i = 0; i < 2; i++) {
        pose->hip_joint[i] = omo_vec_add(pose->hip_joint[i], by);
        pose->knee[i] = omo_vec_add(pose->knee[i], by);
        pose->ankle[i] = omo_vec_add(pose->ankle[i], by);
        shift_arm(&pose->arm[i], by);
    }
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        pose->marker[i].centre = omo_vec_add(pose->marker[i].centre, by);
        pose->other_marker[i].centre = omo_vec_add(pose->other_marker[i].centre, by);
    }
}

bool omo_scene_from_above(const struct omo_scene *s)
{
    bool flat = s->position == OMO_SUPINE || s->position == OMO_PRONE;
    return s->view == OMO_VIEW_FRONT ? flat : s->position == OMO_SIDE_LYING;
}

double omo_scene_ahead(const struct omo_scene *s)
{
    double sign = side_sign(s);
    if (s->view != OMO_VIEW_FRONT)
        return sign;
    return s->from_behind ? sign : -sign;
}
