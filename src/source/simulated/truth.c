#include "truth.h"

#include <math.h>

#define RADIANS_TO_DEG 57.295779513082321

struct direction {
    double x, y;
};

/** Turn from a to b on the picture, clockwise positive. */
static double turn_deg(struct direction a, struct direction b)
{
    return RADIANS_TO_DEG * atan2(a.x * b.y - a.y * b.x, a.x * b.x + a.y * b.y);
}

static double wrap_deg(double angle_deg, double low_deg)
{
    return angle_deg - 360 * floor((angle_deg - low_deg) / 360);
}

static struct direction picture_direction(const struct omo_camera *camera,
                                          struct omo_vec v)
{
    struct omo_vec d = omo_camera_direction(camera, v);
    return (struct direction){d.x, d.y};
}

static struct direction between(const struct omo_truth_marker *marker, enum omo_role from,
                                enum omo_role to)
{
    return (struct direction){marker[to].x_px - marker[from].x_px,
                              marker[to].y_px - marker[from].y_px};
}

/** The trunk's line through true centres, pointing down along the body. */
static bool trunk_line(const struct omo_truth_marker *marker, struct direction *down)
{
    if (!marker[OMO_HIP].placed)
        return false;
    if (marker[OMO_CHEST].placed)
        *down = between(marker, OMO_CHEST, OMO_HIP);
    else if (marker[OMO_SHOULDER].placed)
        *down = between(marker, OMO_SHOULDER, OMO_HIP);
    else
        return false;
    return true;
}

/** The measured arm's markers or the other one's, and the trunk's. */
static void place(const struct omo_scene *scene, const struct omo_camera *camera,
                  const struct omo_pose *pose, int which, struct omo_truth_marker *placed)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        bool trunk = i == OMO_HIP || i == OMO_CHEST;
        struct omo_truth_marker *marker = &placed[i];
        const struct omo_pose_marker *skin =
            which == 0 || trunk ? &pose->marker[i] : &pose->other_marker[i];
        *marker = (struct omo_truth_marker){.placed = skin->placed,
                                            .x_px = NAN,
                                            .y_px = NAN,
                                            .diameter_px = NAN,
                                            .middle_x_px = NAN,
                                            .middle_y_px = NAN};
        if (!skin->placed)
            continue;
        double scale =
            omo_camera_project(camera, skin->centre, &marker->x_px, &marker->y_px);
        bool band = skin->band;
        marker->diameter_px = scale / 1000 * (band ? scene->band_mm : scene->sticker_mm);
    }
}

static void cover(const struct omo_mask *masks, struct omo_truth_marker *marker)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const struct omo_mask *mask = &masks[i];
        if (!mask->live || !(mask->area > 0))
            continue;
        marker[i].visible_ratio = omo_sim_clamp(omo_mask_sum(mask) / mask->area, 0, 1);
        omo_mask_middle(mask, &marker[i].middle_x_px, &marker[i].middle_y_px);
    }
}

static double image_angle_deg(const struct omo_truth_maker *maker,
                              const struct omo_pose *pose, int which,
                              const struct omo_truth_marker *marker)
{
    const struct omo_truth_arm *arm = &maker->arm[which];
    struct direction zero = {maker->zero_x, maker->zero_y}, down = zero;
    if (omo_scene_turns(maker->scene) && !omo_scene_along_arm(maker->scene))
        return omo_turned_image_deg(maker->scene, pose, which); /* not in the picture */
    if (omo_scene_along_arm(maker->scene)) {
        if (!marker[OMO_ELBOW].placed || !marker[OMO_WRIST].placed)
            return NAN;
        double turn = turn_deg(zero, between(marker, OMO_ELBOW, OMO_WRIST));
        return wrap_deg(arm->turn_sign * turn, -180);
    }
    if (!marker[OMO_SHOULDER].placed || !marker[OMO_ELBOW].placed)
        return NAN;
    double rest = trunk_line(marker, &down) ? arm->rest_turn_deg : 0;
    double turn = turn_deg(down, between(marker, OMO_SHOULDER, OMO_ELBOW)) + rest;
    return wrap_deg(arm->turn_sign * turn, -90);
}

/**
 * Which picture turn counts positive follows from the body itself: the arm of an
 * untroubled person is moved by 40 degrees and looked at.
 */
static void find_directions(struct omo_truth_maker *maker, const struct omo_scene *scene)
{
    struct omo_scene plain = *scene;
    struct omo_pose pose;
    struct omo_camera camera;
    plain.stance_deg = plain.lean_deg = plain.tremor_deg = plain.plane_deg = 0;
    plain.yaw_deg = plain.roll_deg = 0;
    plain.start_deg = 40;
    plain.other_arm_moves = true;
    plain.markers = (1u << OMO_ROLE_COUNT) - 1;
    omo_pose_at(&plain, 0, &pose);
    omo_camera_at(&plain, 0, &camera);
    struct omo_vec zero = omo_vec_scale(pose.up, -1);
    if (omo_scene_along_arm(scene))
        zero = pose.forward;
    struct direction down = picture_direction(&camera, zero);
    maker->zero_x = down.x;
    maker->zero_y = down.y;
    for (int i = 0; i < 2; i++) {
        const struct omo_pose_arm *arm = &pose.arm[i];
        struct omo_vec moved = omo_scene_along_arm(scene)
                                   ? omo_vec_sub(arm->wrist, arm->elbow)
                                   : omo_vec_sub(arm->elbow, arm->shoulder);
        double turn = turn_deg(down, picture_direction(&camera, moved));
        maker->arm[i].turn_sign = turn < 0 ? -1 : 1;
    }
}

void omo_truth_prepare(struct omo_truth_maker *maker, const struct omo_scene *scene)
{
    struct omo_pose pose;
    struct omo_camera camera;
    struct omo_truth truth;
    struct direction down;
    *maker = (struct omo_truth_maker){.scene = scene};
    find_directions(maker, scene);
    omo_pose_at(scene, 0, &pose);
    omo_camera_at(scene, 0, &camera);
    place(scene, &camera, &pose, 0, truth.marker);
    place(scene, &camera, &pose, 1, truth.other_marker);
    maker->arm[0].rest_hike_mm = pose.hike_mm;
    maker->arm[1].rest_hike_mm = pose.other_hike_mm;
    /* Whatever the line runs through, it is turned to be vertical at rest; but chest to
       hip is taken as it is where the camera looks down on a person on the side. */
    bool own = truth.marker[OMO_CHEST].placed && scene->view == OMO_VIEW_SIDE &&
               scene->position == OMO_SIDE_LYING;
    struct direction zero = {maker->zero_x, maker->zero_y};
    for (int i = 0; i < 2; i++)
        if (!own && trunk_line(i == 0 ? truth.marker : truth.other_marker, &down))
            maker->arm[i].rest_turn_deg = turn_deg(zero, down);
}

void omo_truth_make(const struct omo_truth_maker *maker, const struct omo_mask *masks,
                    double time_s, struct omo_truth *truth)
{
    const struct omo_scene *scene = maker->scene;
    struct omo_pose pose;
    struct omo_camera camera;
    omo_pose_at(scene, time_s, &pose);
    omo_camera_at(scene, time_s, &camera);
    place(scene, &camera, &pose, 0, truth->marker);
    cover(masks, truth->marker);
    place(scene, &camera, &pose, 1, truth->other_marker);
    cover(masks + OMO_ROLE_COUNT, truth->other_marker);
    for (int i = OMO_HIP; i <= OMO_CHEST; i++)
        truth->other_marker[i] = truth->marker[i];
    truth->angle_deg = pose.arm_deg;
    truth->angle_image_deg = image_angle_deg(maker, &pose, 0, truth->marker);
    truth->other_angle_deg = truth->other_angle_image_deg = NAN;
    truth->other_hike_ratio = 0;
    if (scene->other_arm_moves) {
        truth->other_angle_deg = pose.other_arm_deg;
        truth->other_angle_image_deg =
            image_angle_deg(maker, &pose, 1, truth->other_marker);
        truth->other_hike_ratio =
            (pose.other_hike_mm - maker->arm[1].rest_hike_mm) / 1000 / pose.upper_arm_m;
    }
    truth->trunk_lean_deg = pose.lean_deg;
    truth->hike_mm = pose.hike_mm - maker->arm[0].rest_hike_mm;
    truth->hike_ratio = truth->hike_mm / 1000 / pose.upper_arm_m;
    truth->elbow_flexion_deg = pose.elbow_deg;
}
