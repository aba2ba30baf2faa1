#include "figure.h"

#include <math.h>

/* Sizes in statures. */
#define HEAD_UP    0.088 /* middle of the head above the root of the neck */
#define HEAD_AHEAD 0.012

static const struct omo_node neck_outline[] = {{0, .035, .035}, {1, .031, .031}};
static const struct omo_node strand_outline[] = {{0, .010, .010},
                                                 {.4, .013, .013},
                                                 {.8, .012, .012},
                                                 {1, .005, .005}};

/* from chin to crown */
static const struct omo_round_node face_outline[] = {
    {0, .018, .034, .008},    {.08, .028, .046, .014},   {.20, .036, .048, .030},
    {.29, .039, .0495, .042}, {.38, .041, .0590, .046},  {.47, .043, .0490, .049},
    {.55, .0445, .046, .052}, {.66, .0455, .0495, .055}, {.80, .044, .046, .055},
    {.93, .034, .031, .042},  {1, .018, .012, .022}};

struct head {
    struct omo_vec middle;
    double wide, deep; /* share of width and depth that shows */
    double facing;     /* how far the face looks at the camera, -1..1 */
};

static struct head head_of(const struct omo_figure *f)
{
    struct head head;
    double ahead;
    head.middle = omo_body_point(f->pose, f->pose->neck, HEAD_AHEAD, HEAD_UP, 0);
    omo_figure_aspect(f, &head.wide, &head.deep, &ahead);
    head.facing = -omo_camera_direction(f->camera, f->pose->forward).z;
    return head;
}

static void part(struct omo_canvas *canvas, const struct omo_figure *f,
                 const struct head *head, double forward, double up, double half_width,
                 double half_depth, double tall, const struct omo_paint *paint)
{
    double w = half_width * head->wide, d = half_depth * head->deep;
    omo_draw_spot(canvas, f, omo_body_point(f->pose, head->middle, forward, up, 0),
                  sqrt(w * w + d * d), tall, paint, true);
}

/** A spot on the face, if it looks at the camera from there. */
static void feature(struct omo_canvas *canvas, const struct omo_figure *f,
                    const struct head *head, double up, double right, double wide,
                    double tall, const struct omo_paint *paint)
{
    struct omo_vec n = omo_vec_along(omo_vec_scale(f->pose->forward, 0.9), f->pose->right,
                                     right > 0   ? 0.5
                                     : right < 0 ? -0.5
                                                 : 0);
    double towards = -omo_camera_direction(f->camera, omo_vec_unit(n)).z;
    if (towards < 0.12)
        return;
    omo_draw_spot(canvas, f, omo_body_point(f->pose, head->middle, 0.047, up, right),
                  wide * fmax(towards, 0.4), tall, paint, false);
}

static void draw_face(struct omo_canvas *canvas, const struct omo_figure *f,
                      const struct head *head)
{
    const struct omo_look *look = f->look;
    struct omo_paint shade = look->skin;
    shade.colour *= 0.72f;
    const struct omo_round face = {omo_body_point(f->pose, head->middle, 0, -0.064, 0),
                                   omo_body_point(f->pose, head->middle, 0, 0.060, 0),
                                   face_outline,
                                   11,
                                   .005,
                                   .004,
                                   &look->skin,
                                   8};
    omo_draw_round(canvas, f, &face);
    if (look->beard) {
        part(canvas, f, head, 0.016, -0.045, .035, .034, .025, &look->hair);
        part(canvas, f, head, -0.002, -0.028, .040, .012, .030, &look->hair);
    }
    for (int i = -1; i <= 1; i += 2) {
        feature(canvas, f, head, 0.004, i * .019, .0078, .0036, &look->eye_white);
        feature(canvas, f, head, 0.004, i * .019, .0034, .0035, &look->eye);
    }
    feature(canvas, f, head, 0.018, -.019, .011, .0022, &look->hair);
    feature(canvas, f, head, 0.018, .019, .011, .0022, &look->hair);
    feature(canvas, f, head, -0.014, 0, .0085, .0042, &shade);
    feature(canvas, f, head, -0.032, 0, .0135, .0040, &look->lips);
}

static void draw_ears(struct omo_canvas *canvas, const struct omo_figure *f,
                      const struct head *head)
{
    struct omo_paint ear = f->look->skin;
    ear.colour *= 0.9f;
    for (int i = -1; i <= 1; i += 2) {
        struct omo_vec out = omo_vec_scale(f->pose->right, i);
        if (omo_camera_direction(f->camera, out).z > 0.3) /* on the far side */
            continue;
        omo_draw_spot(canvas, f,
                      omo_body_point(f->pose, head->middle, -0.004, -0.006, i * 0.045),
                      sqrt(.006 * .006 * head->wide + .011 * .011 * head->deep), .018,
                      &ear, true);
    }
}

void omo_draw_head(struct omo_canvas *canvas, const struct omo_figure *f)
{
    struct head head = head_of(f);
    const struct omo_look *look = f->look;
    bool hair = look->hair_length != OMO_HAIR_NONE;
    struct omo_limb neck = {.a = omo_body_point(f->pose, f->pose->neck, 0, -0.002, 0),
                            .b = omo_body_point(f->pose, head.middle, -0.008, -0.02, 0),
                            .outline = neck_outline,
                            .nodes = 2,
                            .paint = &look->skin,
                            .to = 1,
                            .joint = true};
    omo_draw_limb(canvas, f, &neck, NULL);
    if (hair && look->hair_length == OMO_HAIR_LONG) /* falls behind the neck */
        part(canvas, f, &head, -0.022, -0.045, .050, .032, .070, &look->hair);
    if (hair && head.facing > -0.5)
        part(canvas, f, &head, -0.008, 0.012, .050, .060, .064, &look->hair);
    draw_face(canvas, f, &head);
    if (hair && head.deep > 0.4) /* down to the ear */
        part(canvas, f, &head, -0.026, 0.016, .030, .028, .040, &look->hair);
    if (hair && head.facing > -0.5)
        part(canvas, f, &head, -0.013, 0.044, .0465, .053, .027, &look->hair);
    if (hair && head.facing <= -0.5)
        part(canvas, f, &head, -0.010, 0.006, .050, .060, .066, &look->hair);
    draw_ears(canvas, f, &head);
}

void omo_draw_long_hair(struct omo_canvas *canvas, const struct omo_figure *f)
{
    if (f->look->hair_length != OMO_HAIR_LONG)
        return;
    struct head head = head_of(f);
    const struct omo_pose_arm *arm = &f->pose->arm[0];
    bool front = f->scene->view == OMO_VIEW_FRONT;
    double towards_arm = f->scene->side == OMO_RIGHT ? 1 : -1;
    for (int i = 0; i < 7; i++) {
        /* Each strand swings on its own; they part now and then. */
        double sway = 0.010 * omo_sim_sin_deg(360 * (0.23 * f->time_s + 0.17 * i)) +
                      0.006 * omo_sim_sin_deg(360 * (0.61 * f->time_s + 0.31 * i));
        double place = (i - 3) * 0.0125, back = (i - 6) * 0.011;
        struct omo_vec top =
            omo_body_point(f->pose, head.middle, front ? 0.02 : 0.8 * back - 0.010, 0.018,
                           towards_arm * 0.046);
        double low = -0.028 - 0.008 * (i % 3);
        struct omo_vec end =
            front ? omo_body_point(f->pose, arm->shoulder, 0.05, low - 0.016,
                                   towards_arm * (place - 0.030 + sway))
                  : omo_body_point(f->pose, arm->shoulder, back - 0.024 + sway, low,
                                   towards_arm * 0.05);
        struct omo_limb strand = {.a = top,
                                  .b = end,
                                  .outline = strand_outline,
                                  .nodes = 4,
                                  .paint = &f->look->hair,
                                  .to = 1,
                                  .texture_shift = 13.0 * i};
        omo_draw_limb(canvas, f, &strand, NULL);
    }
}
