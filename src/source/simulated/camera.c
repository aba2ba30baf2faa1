#include "pose.h"

#include <math.h>

#define BUMP_SETTLE_S 0.35

/** A knock: the camera swings, and stays a little off. */
static void knock(const struct omo_scene *s, double time_s, struct omo_camera *camera)
{
    double t = time_s - s->bump_s;
    if (s->bump_s <= 0 || t < 0)
        return;
    double ring = omo_sim_exp(-t / BUMP_SETTLE_S * 3) * omo_sim_cos_deg(360 * 6 * t);
    double rise = omo_sim_smooth_step(t, 0, 0.05);
    if (t > 4 * BUMP_SETTLE_S)
        ring = 0; /* then it stands still again, exactly */
    camera->shift_x = s->bump_px * rise * (0.7 + 0.5 * ring);
    camera->shift_y = s->bump_px * rise * (-0.4 + 0.6 * ring);
}

static double usual_height_m(const struct omo_scene *s)
{
    double h = s->stature_m;
    if (s->position == OMO_SEATED)
        return 1.1;
    if (s->position != OMO_STANDING && !omo_scene_from_above(s))
        return 0.95;
    return s->arc_deg > 100 ? 0.85 * h : 0.78 * h;
}

void omo_camera_at(const struct omo_scene *s, double time_s, struct omo_camera *camera)
{
    *camera = (struct omo_camera){
        .focal_px = s->width / 2 * omo_sim_cos_deg(s->field_deg / 2) /
                    omo_sim_sin_deg(s->field_deg / 2),
        .centre_x = (s->width - 1) / 2,
        .centre_y = (s->height - 1) / 2,
        .distance_m = s->distance_m,
        .height_m = s->camera_height_m > 0 ? s->camera_height_m : usual_height_m(s),
        .roll_sin = omo_sim_sin_deg(s->roll_deg),
        .roll_cos = omo_sim_cos_deg(s->roll_deg),
        .flip = s->mirrored ? -1 : 1,
    };
    knock(s, time_s, camera);
}

struct omo_vec omo_camera_direction(const struct omo_camera *camera, struct omo_vec v)
{
    double x = v.x * camera->flip, y = -v.y;
    return (struct omo_vec){x * camera->roll_cos - y * camera->roll_sin,
                            x * camera->roll_sin + y * camera->roll_cos, -v.z};
}

struct omo_vec omo_camera_space(const struct omo_camera *camera, struct omo_vec point)
{
    point.y -= camera->height_m;
    point.z -= camera->distance_m;
    return omo_camera_direction(camera, point);
}

double omo_camera_project(const struct omo_camera *camera, struct omo_vec point,
                          double *x_px, double *y_px)
{
    struct omo_vec p = omo_camera_space(camera, point);
    double scale = camera->focal_px / fmax(p.z, 0.05);
    *x_px = camera->centre_x + camera->shift_x + p.x * scale;
    *y_px = camera->centre_y + camera->shift_y + p.y * scale;
    return scale;
}
