/** Where the person's joints and markers are at a time, and what is true of them. */
#ifndef OMOGON_SIMULATED_POSE_H
#define OMOGON_SIMULATED_POSE_H

#include <stdbool.h>

#include "maths.h"
#include "scene.h"

/** Four bones of an arm in the world, and which way its outer side looks. */
struct omo_pose_arm {
    struct omo_vec shoulder, elbow, wrist, finger;
    struct omo_vec outer; /**< unit, towards where this arm's markers are stuck */
};

/** A marker on the skin. */
struct omo_pose_marker {
    bool placed, band;
    double share;          /**< of a band: where along its bone */
    struct omo_vec centre; /**< of a disc on the skin; of a band on the limb's axis */
    struct omo_vec normal; /**< unit, out of the skin */
    struct omo_vec edge;   /**< unit, in the disc's plane */
};

struct omo_pose {
    /* unit vectors of the trunk in the world: forward, up, to the person's right */
    struct omo_vec forward, up, right;
    struct omo_vec hips, neck, head; /**< middle of the pelvis, root of neck, crown */
    struct omo_vec knee[2], ankle[2], hip_joint[2];
    struct omo_pose_arm arm[2]; /**< 0 the measured arm, 1 the other one */
    struct omo_pose_marker marker[OMO_ROLE_COUNT], other_marker[OMO_ROLE_COUNT];
    double arm_deg, lean_deg, hike_ratio, hike_mm, elbow_deg;
    double other_arm_deg, other_hike_ratio, other_hike_mm; /**< 0 while it hangs */
    double twist_deg; /**< turn of the trunk about its length */
    double upper_arm_m, stature_m;
};

/** A forearm that turns about the upper arm. */
bool omo_scene_turns(const struct omo_scene *scene);
/** The same, seen along the upper arm. */
bool omo_scene_along_arm(const struct omo_scene *scene);
/** Where an upper arm points (which: as in omo_pose.arm), and its forearm with the elbow
 *  bent as it is; unit vectors. */
struct omo_vec omo_turned_upper(const struct omo_scene *scene,
                                const struct omo_pose *pose, int which);
struct omo_vec omo_turned_forearm(const struct omo_scene *scene,
                                  const struct omo_pose *pose, int which,
                                  double turn_deg);
/** How far the elbow is bent after the arm hung straight. */
double omo_turned_bend_deg(const struct omo_scene *scene, double time_s);
/** Turn of the forearm about the upper arm as the true marker centres have it, deg. */
double omo_turned_image_deg(const struct omo_scene *scene, const struct omo_pose *pose,
                            int which);
/** An arm that the body lets hang and circle. */
bool omo_scene_swings(const struct omo_scene *scene);
/** How long that takes. */
double omo_swung_s(const struct omo_scene *scene);
/** Where the body moves to meanwhile, and its arm with it. */
struct omo_vec omo_swung_body(const struct omo_scene *scene, double time_s);
void omo_swung_place(const struct omo_scene *scene, struct omo_pose *pose, double time_s);
void omo_pose_at(const struct omo_scene *scene, double time_s, struct omo_pose *pose);
/** The scene as someone else in the same room would live it. */
void omo_scene_of_bystander(const struct omo_scene *scene, struct omo_scene *other);
void omo_pose_shift(struct omo_pose *pose, struct omo_vec by);
/** World direction, +1 or -1 along x, to which the measured arm goes out. */
double omo_scene_ahead(const struct omo_scene *scene);
/** Whether the person lies and the camera looks down on them: on the back or front from
 *  the front view, on the side from the side. The head is at the picture's top then, Y
 *  runs along the bed and Z is up. */
bool omo_scene_from_above(const struct omo_scene *scene);

/** The camera: a pinhole that looks along -Z, level or straight down at the person.
 * Camera space has x right and y down as in the picture, z away from the camera. */
struct omo_camera {
    double focal_px, centre_x, centre_y, distance_m, height_m, roll_sin, roll_cos;
    double shift_x, shift_y; /**< px, when it was knocked */
    double flip;             /**< -1: mirror image */
};
void omo_camera_at(const struct omo_scene *scene, double time_s,
                   struct omo_camera *camera);
/** World to camera space. */
struct omo_vec omo_camera_space(const struct omo_camera *camera, struct omo_vec point);
struct omo_vec omo_camera_direction(const struct omo_camera *camera, struct omo_vec v);
/** World to picture, px; returns px per metre there. */
double omo_camera_project(const struct omo_camera *camera, struct omo_vec point,
                          double *x_px, double *y_px);

#endif
