#include "figure.h"

#include <math.h>

#define GRAVITY_M_PER_S2 9.81
#define REACH_S          0.6 /* a helper's hand comes and goes */

static const struct omo_node finger_outline[] = {{0, .0062, .0062}, {1, .0050, .0050}};
static const struct omo_node palm_outline[] = {{0, .017, .017},
                                               {.5, .025, .025},
                                               {1, .022, .022}};
static const struct omo_node forearm_outline[] = {{0, .034, .034},
                                                  {.6, .028, .028},
                                                  {1, .021, .021}};

unsigned omo_fallen_roles(const struct omo_scene *scene, double time_s)
{
    unsigned mask = 0;
    for (int i = 0; i < scene->fall.count; i++)
        if (time_s >= scene->fall.span[i].from_s)
            mask |= 1u << scene->fall.span[i].role;
    return mask;
}

/** A sticker that comes loose peels off, turns over and drops. */
static void draw_falling(struct omo_canvas *canvas, const struct omo_figure *f,
                         const struct omo_scene_span *span)
{
    const struct omo_pose_marker *marker = &f->pose->marker[span->role];
    double t = f->time_s - span->from_s;
    if (t < 0 || !marker->placed)
        return;
    struct omo_vec at = marker->centre;
    at.z += 0.02;
    at.y -= 0.5 * GRAVITY_M_PER_S2 * t * t * 0.8; /* air holds it back a little */
    at.x += 0.05 * omo_sim_sin_deg(300 * t);
    if (at.y < 0.02)
        return;
    struct omo_vec normal =
        omo_vec_turn((struct omo_vec){0, 0, 1}, (struct omo_vec){1, 0, 0},
                     55 * omo_sim_sin_deg(500 * t));
    struct omo_disc disc = {
        .centre = omo_camera_space(f->camera, at),
        .normal = omo_camera_direction(f->camera, normal),
        .edge = omo_camera_direction(f->camera, (struct omo_vec){1, 0, 0}),
        .radius_m = f->scene->sticker_mm / 2000,
        .shading_ratio = f->scene->shading_ratio,
        .colour = f->look->sticker[span->role],
    };
    omo_draw_disc(canvas, f->camera, &disc, NULL);
}

static struct omo_vec offset(struct omo_vec a, double x, double y, double z)
{
    return (struct omo_vec){a.x + x, a.y + y, a.z + z};
}

/** 1 while the hand lies on the marker, less on its way. */
static double arrival(const struct omo_scene_span *span, double time_s)
{
    if (time_s < span->from_s)
        return omo_sim_smooth_step(time_s, span->from_s - REACH_S, span->from_s);
    return 1 - omo_sim_smooth_step(time_s, span->to_s, span->to_s + REACH_S);
}

static void draw_helper(struct omo_canvas *canvas, const struct omo_figure *f,
                        const struct omo_scene_span *span)
{
    static const double sleeve_srgb[3] = {118, 110, 92};
    double there = arrival(span, f->time_s);
    struct omo_look helper;
    if (there <= 0)
        return;
    omo_look_of_bystander(f->scene, &helper);
    struct omo_paint sleeve = omo_cloth(sleeve_srgb);
    /* from behind the person, out of the arm's way */
    double x = -omo_scene_ahead(f->scene);
    struct omo_vec on = f->pose->marker[span->role].centre;
    on = offset(on, x * 0.7 * (1 - there), -0.25 * (1 - there), 0.035);
    struct omo_vec wrist = offset(on, x * 0.08, -0.045, 0.01);
    struct omo_limb limb = {.a = offset(on, x * 0.85, -0.62, 0.12),
                            .b = offset(on, x * 0.11, -0.065, 0.01),
                            .outline = forearm_outline,
                            .nodes = 3,
                            .paint = &sleeve,
                            .to = 1,
                            .joint = true};
    omo_draw_limb(canvas, f, &limb, NULL);
    for (int i = 0; i < 4; i++) {
        limb = (struct omo_limb){.a = offset(on, -x * 0.005, (i - 1.3) * 0.018, 0),
                                 .b = offset(on, -x * (0.075 - 0.006 * (i == 0)),
                                             (i - 1.0) * 0.017, 0),
                                 .outline = finger_outline,
                                 .nodes = 2,
                                 .paint = &helper.skin,
                                 .to = 1};
        omo_draw_limb(canvas, f, &limb, NULL);
    }
    limb = (struct omo_limb){.a = wrist,
                             .b = offset(on, -x * 0.012, 0.003, 0),
                             .outline = palm_outline,
                             .nodes = 3,
                             .paint = &helper.skin,
                             .to = 1,
                             .joint = true};
    omo_draw_limb(canvas, f, &limb, NULL);
}

void omo_draw_props(struct omo_canvas *canvas, const struct omo_figure *f)
{
    for (int i = 0; i < f->scene->fall.count; i++)
        draw_falling(canvas, f, &f->scene->fall.span[i]);
    for (int i = 0; i < f->scene->helper.count; i++)
        draw_helper(canvas, f, &f->scene->helper.span[i]);
}
