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

static bool is_rotation(const struct omo_scene *scene)
{
    return scene->view == OMO_VIEW_ALONG_ARM;
}

static struct direction picture_direction(const struct omo_camera *camera,
                                          struct omo_vec v)
{
    struct omo_vec d = omo_camera_direction(camera, v);
    return (struct direction){d.x, d.y};
}

static struct direction between(const struct omo_truth *truth, enum omo_role from,
                                enum omo_role to)
{
    return (struct direction){truth->marker[to].x_px - truth->marker[from].x_px,
                              truth->marker[to].y_px - truth->marker[from].y_px};
}

/** The trunk's line through true centres, pointing down along the body. */
static bool trunk_line(const struct omo_truth *truth, struct direction *down)
{
    if (!truth->marker[OMO_HIP].placed)
        return false;
    if (truth->marker[OMO_CHEST].placed)
        *down = between(truth, OMO_CHEST, OMO_HIP);
    else if (truth->marker[OMO_SHOULDER].placed)
        *down = between(truth, OMO_SHOULDER, OMO_HIP);
    else
        return false;
    return true;
}

static void place(const struct omo_scene *scene, const struct omo_camera *camera,
                  const struct omo_pose *pose, struct omo_truth *truth)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        struct omo_truth_marker *marker = &truth->marker[i];
        const struct omo_pose_marker *skin = &pose->marker[i];
        *marker = (struct omo_truth_marker){skin->placed, (double)NAN, (double)NAN, 0,
                                            (double)NAN};
        if (!skin->placed)
            continue;
        double scale =
            omo_camera_project(camera, skin->centre, &marker->x_px, &marker->y_px);
        bool band = skin->band;
        marker->diameter_px = scale / 1000 * (band ? scene->band_mm : scene->sticker_mm);
    }
}

static void cover(const struct omo_mask *masks, struct omo_truth *truth)
{
    for (int i = 0; i < OMO_ROLE_COUNT; i++) {
        const struct omo_mask *mask = &masks[i];
        if (mask->live && mask->area > 0)
            truth->marker[i].visible_ratio =
                omo_sim_clamp(omo_mask_sum(mask) / mask->area, 0, 1);
    }
}

static double image_angle_deg(const struct omo_truth_maker *maker,
                              const struct omo_truth *truth)
{
    struct direction zero = {maker->zero_x, maker->zero_y}, down = zero;
    if (is_rotation(maker->scene)) {
        if (!truth->marker[OMO_ELBOW].placed || !truth->marker[OMO_WRIST].placed)
            return NAN;
        double turn = turn_deg(zero, between(truth, OMO_ELBOW, OMO_WRIST));
        return wrap_deg(maker->turn_sign * turn, -180);
    }
    if (!truth->marker[OMO_SHOULDER].placed || !truth->marker[OMO_ELBOW].placed)
        return NAN;
    double rest = trunk_line(truth, &down) ? maker->rest_turn_deg : 0;
    double turn = turn_deg(down, between(truth, OMO_SHOULDER, OMO_ELBOW)) + rest;
    return wrap_deg(maker->turn_sign * turn, -90);
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
    plain.markers = (1u << OMO_ROLE_COUNT) - 1;
    omo_pose_at(&plain, 0, &pose);
    omo_camera_at(&plain, 0, &camera);
    struct omo_vec zero = omo_vec_scale(pose.up, -1);
    struct omo_vec arm = omo_vec_sub(pose.arm[0].elbow, pose.arm[0].shoulder);
    if (is_rotation(scene)) {
        zero = pose.forward;
        arm = omo_vec_sub(pose.arm[0].wrist, pose.arm[0].elbow);
    }
    struct direction down = picture_direction(&camera, zero);
    maker->zero_x = down.x;
    maker->zero_y = down.y;
    maker->turn_sign = turn_deg(down, picture_direction(&camera, arm)) < 0 ? -1 : 1;
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
    place(scene, &camera, &pose, &truth);
    maker->rest_hike_m = pose.hike_mm / 1000;
    /* A line through the shoulder is turned to be vertical at rest, and so is one from
       the breastbone to the hip bone; on the side line, chest to hip is the trunk's own.
     */
    bool own = truth.marker[OMO_CHEST].placed && scene->view == OMO_VIEW_SIDE;
    if (!own && trunk_line(&truth, &down))
        maker->rest_turn_deg =
            turn_deg((struct direction){maker->zero_x, maker->zero_y}, down);
}

void omo_truth_make(const struct omo_truth_maker *maker, const struct omo_mask *masks,
                    double time_s, struct omo_truth *truth)
{
    const struct omo_scene *scene = maker->scene;
    struct omo_pose pose;
    struct omo_camera camera;
    omo_pose_at(scene, time_s, &pose);
    omo_camera_at(scene, time_s, &camera);
    place(scene, &camera, &pose, truth);
    cover(masks, truth);
    truth->angle_deg = pose.arm_deg;
    truth->angle_image_deg = image_angle_deg(maker, truth);
    truth->trunk_lean_deg = pose.lean_deg;
    truth->hike_mm = pose.hike_mm - maker->rest_hike_m * 1000;
    truth->hike_ratio = truth->hike_mm / 1000 / pose.upper_arm_m;
    truth->elbow_flexion_deg = pose.elbow_deg;
}
