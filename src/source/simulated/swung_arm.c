#include "pose.h"

#include <math.h>

#define RADIANS_TO_DEG 57.295779513082321

/* A circle is reached and left within this share of a lap. */
#define RAMP_LAPS 0.4
/* How long the arm hangs still after the last lap. */
#define HANGS_S 2.0
/* The body swings the arm: its own part of the wrist's circle, and by how much of a lap
 * it is ahead. */
#define BODY_SHARE 0.2
#define BODY_AHEAD 0.2

bool omo_scene_swings(const struct omo_scene *s)
{
    return s->movement == OMO_SCENE_PENDULUM;
}

static double part_s(const struct omo_scene *s, double laps)
{
    return fabs(laps) * s->lap_s;
}

double omo_swung_s(const struct omo_scene *s)
{
    double back_s = s->laps_after == 0 ? 0 : s->pause_s + part_s(s, s->laps_after);
    return s->rest_s + part_s(s, s->laps) + back_s + HANGS_S;
}

/** Laps gone in the part that is being swung, and its whole number; 0 at rest. */
static double laps_at(const struct omo_scene *s, double time_s, double *whole,
                      double *before)
{
    double t = time_s - s->rest_s;
    *whole = s->laps;
    *before = 0;
    if (t > part_s(s, s->laps)) {
        t -= part_s(s, s->laps) + s->pause_s;
        *before = s->laps;
        *whole = s->laps_after;
    }
    if (t < 0 || t >= part_s(s, *whole))
        return 0;
    return t / s->lap_s * (*whole < 0 ? -1 : 1);
}

/** Where the wrist is on its circle, m: to picture right and towards the camera.
 *  Clockwise from above, the camera below: right, near, left, far. */
static struct omo_vec on_circle(const struct omo_scene *s, double time_s, double ahead)
{
    double whole, before, laps = laps_at(s, time_s, &whole, &before);
    double gone = fabs(laps), left = fabs(whole) - gone, first = fabs(before);
    if (gone <= 0)
        return (struct omo_vec){0, 0, 0};
    double all = fabs(s->laps) + fabs(s->laps_after);
    double radius = s->circle_cm / 200 + s->circle_grows_cm / 200 * (first + gone) / all;
    radius *=
        omo_sim_clamp(gone / RAMP_LAPS, 0, 1) * omo_sim_clamp(left / RAMP_LAPS, 0, 1);
    double turn_deg = 360 * (before + laps + (whole < 0 ? -ahead : ahead));
    return (struct omo_vec){radius * omo_sim_cos_deg(turn_deg), 0,
                            radius * omo_sim_sin_deg(turn_deg)};
}

struct omo_vec omo_swung_body(const struct omo_scene *s, double time_s)
{
    return omo_vec_scale(on_circle(s, time_s, BODY_AHEAD), BODY_SHARE);
}

/** The arm hangs straight down from where the body was before it moved, and its wrist is
 *  on the circle about there; the elbow bends backward of that line. */
void omo_swung_place(const struct omo_scene *s, struct omo_pose *pose, double time_s)
{
    struct omo_pose_arm *arm = &pose->arm[0];
    double h = s->stature_m, a = s->layout.upper_arm * h, b = s->layout.forearm * h;
    double reach = sqrt(a * a + b * b + 2 * a * b * omo_sim_cos_deg(s->elbow_deg));
    struct omo_vec out = omo_vec_sub(on_circle(s, time_s, 0), omo_swung_body(s, time_s));
    struct omo_vec down = out;
    down.y = -sqrt(fmax(reach * reach - out.x * out.x - out.z * out.z, 0));
    down = omo_vec_unit(down);
    struct omo_vec ahead = {omo_scene_ahead(s), 0, 0};
    ahead = omo_vec_unit(omo_vec_along(ahead, down, -omo_vec_dot(ahead, down)));
    double upper = (a * a - b * b + reach * reach) / (2 * reach);
    arm->outer = (struct omo_vec){0, 0, 1};
    arm->elbow = omo_vec_along(omo_vec_along(arm->shoulder, down, upper), ahead,
                               -sqrt(fmax(a * a - upper * upper, 0)));
    arm->wrist = omo_vec_along(arm->shoulder, down, reach);
    struct omo_vec fore = omo_vec_unit(omo_vec_sub(arm->wrist, arm->elbow));
    arm->finger = omo_vec_along(arm->wrist, fore, s->layout.hand * h);
    pose->arm_deg = RADIANS_TO_DEG * atan2(down.x * omo_scene_ahead(s), -down.y);
}
