#include "figure.h"

#include <math.h>
#include <stddef.h>

/* ---- colours ---- */

static struct omo_paint cloth(const double srgb[3])
{
    return (struct omo_paint){.colour = omo_sim_colour(srgb),
                              .fold_ratio = 0.16f,
                              .grain_ratio = 0.05f,
                              .fold_per_m = 170,
                              .fold_across = 14};
}

static struct omo_paint skin_paint(double dark)
{
    /* Between a fair and a deep skin tone, from memory. */
    static const double fair[3] = {232, 196, 172}, middle[3] = {190, 138, 108},
                        deep[3] = {84, 56, 44};
    double srgb[3];
    for (int i = 0; i < 3; i++)
        srgb[i] = dark < 0.5 ? omo_sim_mix(fair[i], middle[i], 2 * dark)
                             : omo_sim_mix(middle[i], deep[i], 2 * dark - 1);
    return (struct omo_paint){.colour = omo_sim_colour(srgb),
                              .fold_ratio = 0.04f,
                              .grain_ratio = 0.03f,
                              .fold_per_m = 80,
                              .fold_across = 10,
                              .shine = 0.03f};
}

void omo_look_of(const struct omo_scene *scene, struct omo_look *look)
{
    static const double shoe[3] = {60, 58, 62};
    *look = (struct omo_look){
        .skin = skin_paint(scene->skin),
        .shirt = cloth(scene->shirt),
        .sleeve = cloth(scene->sleeve_colour),
        .trousers = cloth(scene->trousers),
        .hair = cloth(scene->hair_colour),
        .glove = cloth(scene->glove_colour),
        .shoe = cloth(shoe),
        .sleeve_length = scene->sleeve,
        .hair_length = scene->hair,
        .beard = scene->beard,
        .gloves = scene->gloves,
    };
    look->hair.fold_per_m = 20;
    look->hair.fold_across = 40;
    look->hair.fold_ratio = 0.3f;
    look->glove.fold_ratio = 0.05f;
    look->glove.shine = 0.08f;
    for (int i = 0; i < OMO_ROLE_COUNT; i++)
        look->sticker[i] = omo_sim_colour(scene->colour[i]);
}

void omo_look_bystander(const struct omo_scene *scene, struct omo_look *look)
{
    static const double shirt[3] = {150, 70, 60}, trousers[3] = {70, 80, 110};
    omo_look_of(scene, look);
    look->skin = skin_paint(scene->skin < 0.5 ? 0.75 : 0.15);
    look->shirt = look->sleeve = cloth(shirt);
    look->trousers = cloth(trousers);
    look->sleeve_length = OMO_SLEEVE_SHORT;
    look->hair_length = OMO_HAIR_SHORT;
    look->beard = look->gloves = false;
}

/* ---- outlines: shares of the axis, extents to both sides in statures ---- */

static const struct omo_node upper_arm_outline[] = {{0, .036, .036},
                                                    {.2, .0345, .0345},
                                                    {.5, .0295, .0295},
                                                    {.8, .0255, .0255},
                                                    {1, .0245, .0245}};
static const struct omo_node sleeve_outline[] = {{0, .040, .040},
                                                 {.2, .0395, .0395},
                                                 {.5, .0375, .0375},
                                                 {1, .036, .036}};
static const struct omo_node forearm_outline[] = {{0, .0245, .0245},
                                                  {.25, .0265, .0255},
                                                  {.6, .0215, .021},
                                                  {1, .0155, .0155}};
static const struct omo_node palm_outline[] = {{0, .0160, .0160},
                                               {.4, .0235, .0225},
                                               {.55, .0235, .0215},
                                               {.8, .018, .018},
                                               {1, .011, .011}};
static const struct omo_node thumb_outline[] = {{0, .010, .010}, {1, .0068, .0068}};
static const struct omo_node thigh_outline[] = {{0, .056, .056},
                                                {.3, .055, .054},
                                                {1, .036, .036}};
static const struct omo_node shin_outline[] = {{0, .036, .036},
                                               {.3, .034, .036},
                                               {1, .022, .022}};
static const struct omo_node neck_outline[] = {{0, .034, .034}, {1, .031, .031}};
static const struct omo_node girdle_outline[] = {{0, .028, .028}, {1, .038, .038}};

/** Trunk from hips to neck: half width from the front, and front and back from the side.
 */
static const struct {
    double t, wide, ahead, behind;
} trunk_outline[] = {{0, .100, .066, .074},  {.2, .094, .062, .060},
                     {.4, .090, .062, .054}, {.62, .100, .068, .062},
                     {.8, .112, .064, .068}, {.92, .096, .046, .058},
                     {1, .050, .030, .040}};
#define TRUNK_NODES 7
/* from the root of the neck to the crown */
static const struct {
    double t, wide, ahead, behind;
} head_outline[] = {{.26, .034, .040, .030}, {.36, .040, .056, .040},
                    {.5, .045, .058, .052},  {.7, .0465, .056, .060},
                    {.88, .040, .044, .050}, {1, .018, .020, .024}};
#define HEAD_NODES 6

static void tube(struct omo_canvas *canvas, const struct omo_figure *f, struct omo_vec a,
                 struct omo_vec b, const struct omo_node *outline, int nodes,
                 const struct omo_paint *paint, double from, double to, double shift)
{
    struct omo_node scaled[8];
    struct omo_tube t = {.node = scaled, .nodes = nodes, .from_t = from, .to_t = to};
    double scale_a = omo_camera_project(f->camera, a, &t.ax, &t.ay);
    double scale_b = omo_camera_project(f->camera, b, &t.bx, &t.by);
    for (int i = 0; i < nodes; i++) {
        double size = f->pose->stature_m * omo_sim_mix(scale_a, scale_b, outline[i].t);
        scaled[i] = (struct omo_node){outline[i].t, outline[i].left * size,
                                      outline[i].right * size};
    }
    t.cap_a = scaled[0].left;
    t.cap_b = scaled[nodes - 1].left;
    t.px_per_m = scale_a;
    t.texture_shift = shift;
    omo_draw_tube(canvas, &t, paint, NULL);
}

#define TUBE(a, b, outline, paint, from, to, shift)                                      \
    tube(canvas, f, a, b, outline, (int)(sizeof(outline) / sizeof(outline)[0]), paint,   \
         from, to, shift)

/** How much of the width and of the depth a body part shows, and which way ahead is. */
static void aspect(const struct omo_figure *f, double *wide, double *deep, double *ahead)
{
    struct omo_vec forward = omo_camera_direction(f->camera, f->pose->forward);
    struct omo_vec right = omo_camera_direction(f->camera, f->pose->right);
    struct omo_vec up = omo_camera_direction(f->camera, f->pose->up);
    /* across the axis on the picture, to its right when it points up */
    double length = sqrt(up.x * up.x + up.y * up.y);
    double ax = -up.y / length, ay = up.x / length;
    *ahead = forward.x * ax + forward.y * ay;
    *deep = fabs(*ahead);
    *wide = fabs(right.x * ax + right.y * ay);
}

static void round_part(struct omo_canvas *canvas, const struct omo_figure *f,
                       struct omo_vec a, struct omo_vec b, const double (*outline)[4],
                       int nodes, const struct omo_paint *paint, double cap_b)
{
    double wide, deep, ahead;
    struct omo_node node[8];
    aspect(f, &wide, &deep, &ahead);
    for (int i = 0; i < nodes; i++) {
        double w = outline[i][1] * wide;
        double front = outline[i][2] * deep, back = outline[i][3] * deep;
        double right = sqrt(w * w + (ahead > 0 ? front * front : back * back));
        double left = sqrt(w * w + (ahead > 0 ? back * back : front * front));
        node[i] = (struct omo_node){outline[i][0], left, right};
    }
    double first = outline[0][0];
    struct omo_tube t = {.node = node, .nodes = nodes, .from_t = 0, .to_t = 1};
    struct omo_vec start = omo_vec_along(a, omo_vec_sub(b, a), first);
    double scale = omo_camera_project(f->camera, start, &t.ax, &t.ay);
    omo_camera_project(f->camera, b, &t.bx, &t.by);
    for (int i = 0; i < nodes; i++) {
        node[i].t = (node[i].t - first) / (1 - first);
        node[i].left *= f->pose->stature_m * scale;
        node[i].right *= f->pose->stature_m * scale;
    }
    t.cap_a = 0.4 * (node[0].left + node[0].right) * 0.5;
    t.cap_b = cap_b * f->pose->stature_m * scale;
    t.px_per_m = scale;
    omo_draw_tube(canvas, &t, paint, NULL);
}

/* ---- parts ---- */

static void draw_marker(struct omo_canvas *canvas, const struct omo_figure *f,
                        const struct omo_pose_marker *marker, enum omo_role role,
                        bool measured)
{
    if (!marker->placed || (measured && f->hidden & 1u << role))
        return;
    struct omo_disc disc = {
        .centre = omo_camera_space(f->camera, marker->centre),
        .normal = omo_camera_direction(f->camera, marker->normal),
        .edge = omo_camera_direction(f->camera, marker->edge),
        .radius_m = f->scene->sticker_mm / 2000,
        .shading_ratio = f->scene->shading_ratio,
        .gloss_ratio = f->scene->gloss_ratio,
        .colour = f->look->sticker[role],
    };
    omo_draw_disc(canvas, f->camera, &disc,
                  measured && f->masks ? &canvas->mask[role] : NULL);
}

static void draw_leg(struct omo_canvas *canvas, const struct omo_figure *f, int which)
{
    const struct omo_pose *p = f->pose;
    TUBE(p->knee[which], p->ankle[which], shin_outline, &f->look->trousers, 0, 1, 3);
    TUBE(p->hip_joint[which], p->knee[which], thigh_outline, &f->look->trousers, 0, 1, 9);
}

static void draw_hand(struct omo_canvas *canvas, const struct omo_figure *f,
                      const struct omo_pose_arm *arm)
{
    const struct omo_paint *paint = f->look->gloves ? &f->look->glove : &f->look->skin;
    struct omo_vec reach = omo_vec_sub(arm->finger, arm->wrist);
    struct omo_vec side = omo_vec_unit(omo_vec_cross(arm->outer, reach));
    /* the thumb lies in front of the hanging hand, on whichever side that is */
    if (omo_vec_dot(side, f->pose->forward) < 0)
        side = omo_vec_scale(side, -1);
    struct omo_vec root = omo_vec_along(arm->wrist, reach, 0.22);
    struct omo_vec tip = omo_vec_along(omo_vec_along(arm->wrist, reach, 0.58), side,
                                       0.026 * f->pose->stature_m);
    TUBE(arm->wrist, arm->finger, palm_outline, paint, 0, 1, 5);
    TUBE(root, tip, thumb_outline, paint, 0, 1, 7);
}

static void draw_whole_arm(struct omo_canvas *canvas, const struct omo_figure *f,
                           int which)
{
    const struct omo_pose *p = f->pose;
    const struct omo_pose_arm *arm = &p->arm[which];
    const struct omo_look *look = f->look;
    const struct omo_paint *skin = &look->skin;
    const struct omo_pose_marker *marker = which == 0 ? p->marker : p->other_marker;
    bool measured = which == 0;
    struct omo_vec girdle =
        omo_vec_along(p->neck, omo_vec_sub(arm->shoulder, p->neck), 0.35);
    if (f->scene->view == OMO_VIEW_FRONT)
        TUBE(girdle, arm->shoulder, girdle_outline, &look->shirt, 0, 1, 11);
    TUBE(arm->shoulder, arm->elbow, upper_arm_outline, skin, 0, 1, 1);
    TUBE(arm->elbow, arm->wrist, forearm_outline,
         look->sleeve_length == OMO_SLEEVE_LONG ? &look->sleeve : skin, 0, 1, 2);
    draw_hand(canvas, f, arm);
    if (look->sleeve_length == OMO_SLEEVE_SHORT)
        TUBE(arm->shoulder, arm->elbow, sleeve_outline, &look->sleeve, -1, 0.58, 4);
    else if (look->sleeve_length == OMO_SLEEVE_LONG)
        TUBE(arm->shoulder, arm->elbow, sleeve_outline, &look->sleeve, 0, 1, 4);
    draw_marker(canvas, f, &marker[OMO_SHOULDER], OMO_SHOULDER, measured);
    draw_marker(canvas, f, &marker[OMO_ELBOW], OMO_ELBOW, measured);
    draw_marker(canvas, f, &marker[OMO_WRIST], OMO_WRIST, measured);
}

static void draw_head(struct omo_canvas *canvas, const struct omo_figure *f)
{
    const struct omo_pose *p = f->pose;
    struct omo_vec chin = omo_vec_along(p->neck, omo_vec_sub(p->head, p->neck), 0.4);
    TUBE(p->neck, chin, neck_outline, &f->look->skin, 0, 1, 6);
    round_part(canvas, f, p->neck, p->head, (const double(*)[4])head_outline, HEAD_NODES,
               &f->look->skin, 0.012);
}

static void draw_trunk(struct omo_canvas *canvas, const struct omo_figure *f)
{
    round_part(canvas, f, f->pose->hips, f->pose->neck, (const double(*)[4])trunk_outline,
               TRUNK_NODES, &f->look->shirt, 0.01);
}

void omo_draw_body(struct omo_canvas *canvas, const struct omo_figure *f)
{
    bool side = f->scene->view != OMO_VIEW_FRONT;
    if (side)
        draw_whole_arm(canvas, f, 1);
    draw_leg(canvas, f, 1);
    draw_leg(canvas, f, 0);
    draw_head(canvas, f);
    draw_trunk(canvas, f);
    if (!side)
        draw_whole_arm(canvas, f, 1);
    draw_marker(canvas, f, &f->pose->marker[OMO_HIP], OMO_HIP, true);
    draw_marker(canvas, f, &f->pose->marker[OMO_CHEST], OMO_CHEST, true);
}

void omo_draw_arm(struct omo_canvas *canvas, const struct omo_figure *f)
{
    draw_whole_arm(canvas, f, 0);
}
