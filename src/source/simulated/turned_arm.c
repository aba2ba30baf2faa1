#include "pose.h"

#include <math.h>

/* How long an elbow takes to bend after the arm hung. */
#define BEND_S 1.0

#define RADIANS_TO_DEG 57.295779513082321

bool omo_scene_turns(const struct omo_scene *s)
{
    return s->movement == OMO_SCENE_EXTERNAL_ROTATION ||
           s->movement == OMO_SCENE_INTERNAL_ROTATION;
}

bool omo_scene_along_arm(const struct omo_scene *s)
{
    return omo_scene_turns(s) && s->view == OMO_VIEW_ALONG_ARM;
}

static struct omo_vec mix(struct omo_vec a, double of_a, struct omo_vec b, double of_b)
{
    return omo_vec_along(omo_vec_scale(a, of_a), b, of_b);
}

/** Away from the trunk, of either arm. */
static struct omo_vec outwards(const struct omo_scene *s, const struct omo_pose *pose,
                               int which)
{
    bool right = (s->side == OMO_RIGHT) == (which == 0);
    return omo_vec_scale(pose->right, right ? 1 : -1);
}

struct omo_vec omo_turned_upper(const struct omo_scene *s, const struct omo_pose *pose,
                                int which)
{
    return mix(pose->up, -omo_sim_cos_deg(s->abduction_deg), outwards(s, pose, which),
               omo_sim_sin_deg(s->abduction_deg));
}

/** Where an external rotation takes the forearm: square to upper arm and straight ahead.
 */
static struct omo_vec turned_out(const struct omo_scene *s, const struct omo_pose *pose,
                                 int which)
{
    return mix(pose->up, omo_sim_sin_deg(s->abduction_deg), outwards(s, pose, which),
               omo_sim_cos_deg(s->abduction_deg));
}

/** +1 where the movement goes out. */
static double sense(const struct omo_scene *s)
{
    return s->movement == OMO_SCENE_EXTERNAL_ROTATION ? 1 : -1;
}

struct omo_vec omo_turned_forearm(const struct omo_scene *s, const struct omo_pose *pose,
                                  int which, double turn_deg)
{
    struct omo_vec bent =
        mix(pose->forward, omo_sim_cos_deg(turn_deg), turned_out(s, pose, which),
            sense(s) * omo_sim_sin_deg(turn_deg));
    return mix(omo_turned_upper(s, pose, which), omo_sim_cos_deg(pose->elbow_deg), bent,
               omo_sim_sin_deg(pose->elbow_deg));
}

double omo_turned_bend_deg(const struct omo_scene *s, double time_s)
{
    if (s->hang_s <= 0)
        return 90;
    return 90 * omo_sim_smooth_step(time_s, s->hang_s, s->hang_s + BEND_S);
}

double omo_turned_image_deg(const struct omo_scene *s, const struct omo_pose *pose,
                            int which)
{
    const struct omo_pose_marker *marker = which == 0 ? pose->marker : pose->other_marker;
    const struct omo_pose_marker *elbow = &marker[OMO_ELBOW], *wrist = &marker[OMO_WRIST];
    if (!elbow->placed || !wrist->placed)
        return NAN;
    struct omo_vec line = omo_vec_sub(wrist->centre, elbow->centre);
    return RADIANS_TO_DEG *
           atan2(sense(s) * omo_vec_dot(line, turned_out(s, pose, which)),
                 omo_vec_dot(line, pose->forward));
}
