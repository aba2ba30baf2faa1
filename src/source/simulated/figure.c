#include "figure.h"

#include <math.h>

/* ---- outlines: share of the axis, extent to both sides in statures ---- */

static const struct omo_node upper_arm_outline[] = {{0, .036, .036},
                                                    {.2, .0345, .0345},
                                                    {.5, .0295, .0295},
                                                    {.8, .0255, .0255},
                                                    {1, .0240, .0240}};
static const struct omo_node sleeve_outline[] = {{0, .0385, .0385},
                                                 {.2, .0390, .0390},
                                                 {.5, .0375, .0375},
                                                 {1, .034, .034}};
static const struct omo_node long_sleeve_outline[] = {{0, .0385, .0385},
                                                      {.3, .0375, .0375},
                                                      {.7, .0310, .0310},
                                                      {1, .0285, .0285}};
static const struct omo_node forearm_outline[] = {{0, .0240, .0240},
                                                  {.25, .0265, .0255},
                                                  {.6, .0215, .0210},
                                                  {1, .0155, .0155}};
static const struct omo_node cuff_outline[] = {{0, .0285, .0285},
                                               {.4, .0275, .0275},
                                               {.8, .0225, .0225},
                                               {1, .0215, .0215}};
static const struct omo_node palm_outline[] = {{0, .0155, .0155},
                                               {.15, .0185, .0180},
                                               {.4, .0225, .0215},
                                               {.6, .0215, .0205},
                                               {1, .0185, .0180}};
static const struct omo_node finger_outline[] = {{0, .0054, .0054}, {1, .0044, .0044}};
static const struct omo_node thumb_outline[] = {{0, .0100, .0100}, {1, .0062, .0062}};
static const struct omo_node thigh_outline[] = {{0, .056, .056},
                                                {.3, .055, .054},
                                                {1, .036, .036}};
static const struct omo_node shin_outline[] = {{0, .036, .036},
                                               {.3, .034, .036},
                                               {1, .022, .022}};
static const struct omo_node girdle_outline[] = {{0, .026, .026}, {1, .037, .037}};

/* from the hips to the root of the neck */
static const struct omo_round_node trunk_outline[] = {
    {0, .100, .066, .074},   {.2, .094, .062, .060}, {.4, .090, .062, .054},
    {.62, .100, .068, .062}, {.8, .110, .064, .068}, {.9, .096, .050, .060},
    {1, .050, .032, .038}};

#define COUNT(array) ((int)(sizeof(array) / sizeof(array)[0]))

/* ---- helpers ---- */

struct omo_vec omo_body_point(const struct omo_pose *pose, struct omo_vec start,
                              double forward, double up, double right)
{
    double h = pose->stature_m;
    start = omo_vec_along(start, pose->forward, forward * h);
    start = omo_vec_along(start, pose->up, up * h);
    return omo_vec_along(start, pose->right, right * h);
}

/** Of a limb that points towards the camera or away from it, a cut is an arc. */
static double bow_px(const struct omo_figure *f, const struct omo_limb *limb,
                     double radius_px)
{
    struct omo_vec axis =
        omo_camera_direction(f->camera, omo_vec_unit(omo_vec_sub(limb->b, limb->a)));
    return -radius_px * axis.z;
}

/** Half the limb's width where a band is; a limb that ends is as wide as its end. */
static double bow_radius_px(const struct omo_tube *t)
{
    double at = 0.5 * (t->from_t + t->to_t);
    if (t->from_t <= 0)
        return t->cap_a;
    int i = 0;
    while (i < t->nodes - 2 && at > t->node[i + 1].t)
        i++;
    const struct omo_node *a = &t->node[i], *b = a + 1;
    return omo_sim_mix(a->left, b->left, (at - a->t) / (b->t - a->t));
}

void omo_draw_limb(struct omo_canvas *canvas, const struct omo_figure *f,
                   const struct omo_limb *limb, struct omo_mask *mask)
{
    struct omo_node scaled[8];
    struct omo_tube t = {.node = scaled,
                         .nodes = limb->nodes,
                         .from_t = limb->from,
                         .to_t = limb->to,
                         .texture_shift = limb->texture_shift,
                         .joint = limb->joint,
                         .opacity = limb->opacity};
    double scale_a = omo_camera_project(f->camera, limb->a, &t.ax, &t.ay);
    double scale_b = omo_camera_project(f->camera, limb->b, &t.bx, &t.by);
    double wider = limb->wider > 0 ? limb->wider : 1;
    for (int i = 0; i < limb->nodes; i++) {
        const struct omo_node *node = &limb->outline[i];
        double size = f->pose->stature_m * wider * omo_sim_mix(scale_a, scale_b, node->t);
        scaled[i] = (struct omo_node){node->t, node->left * size, node->right * size};
    }
    t.cap_a = scaled[0].left;
    t.cap_b = scaled[limb->nodes - 1].left;
    t.px_per_m = scale_a;
    t.soft_px = limb->soft_m * scale_a;
    t.bow_px = bow_px(f, limb, bow_radius_px(&t));
    if (limb->opacity > 0)
        omo_draw_shadow(canvas, &t);
    else
        omo_draw_tube(canvas, &t, limb->paint, mask);
}

void omo_draw_spot(struct omo_canvas *canvas, const struct omo_figure *f,
                   struct omo_vec at, double wide, double tall,
                   const struct omo_paint *paint, bool ball)
{
    struct omo_ellipse e = {.ball = ball};
    struct omo_vec up = omo_camera_direction(f->camera, f->pose->up);
    double scale = omo_camera_project(f->camera, at, &e.x, &e.y);
    e.radius_x = wide * f->pose->stature_m * scale;
    e.radius_y = tall * f->pose->stature_m * scale;
    if (fabs(up.x) > 1e-9 || up.y > 0) /* standing straight needs no arc tangent */
        e.turn_deg = omo_sim_clamp(57.29577951308232 * up.x, -60, 60);
    if (fabs(up.x) > 0.8)
        e.turn_deg = up.x > 0 ? 90 : -90;
    omo_draw_ellipse(canvas, &e, paint);
}

void omo_figure_aspect(const struct omo_figure *f, double *wide, double *deep,
                       double *ahead)
{
    struct omo_vec forward = omo_camera_direction(f->camera, f->pose->forward);
    struct omo_vec right = omo_camera_direction(f->camera, f->pose->right);
    struct omo_vec up = omo_camera_direction(f->camera, f->pose->up);
    double length = fmax(sqrt(up.x * up.x + up.y * up.y), 1e-9);
    double across_x = -up.y / length, across_y = up.x / length;
    *ahead = forward.x * across_x + forward.y * across_y;
    *deep = fabs(*ahead);
    *wide = fabs(right.x * across_x + right.y * across_y);
}

/* ---- markers ---- */

static void draw_disc(struct omo_canvas *canvas, const struct omo_figure *f,
                      const struct omo_pose_marker *marker, enum omo_role role,
                      struct omo_mask *mask)
{
    struct omo_disc disc = {
        .centre = omo_camera_space(f->camera, marker->centre),
        .normal = omo_camera_direction(f->camera, marker->normal),
        .edge = omo_camera_direction(f->camera, marker->edge),
        .radius_m = f->scene->sticker_mm / 2000,
        .shading_ratio = f->scene->shading_ratio,
        .gloss_ratio = f->scene->gloss_ratio,
        .colour = f->look->sticker[role],
    };
    omo_draw_disc(canvas, f->camera, &disc, mask);
}

static void draw_band(struct omo_canvas *canvas, const struct omo_figure *f,
                      const struct omo_pose_arm *arm,
                      const struct omo_pose_marker *marker, enum omo_role role,
                      struct omo_mask *mask)
{
    bool fore = role == OMO_WRIST;
    struct omo_paint paint = {.colour = f->look->sticker[role],
                              .fold_ratio = 0.03f,
                              .grain_ratio = 0.03f,
                              .fold_per_m = 60,
                              .fold_across = 5,
                              .shine = 0.2f * (float)f->scene->gloss_ratio};
    struct omo_limb limb = {.a = fore ? arm->elbow : arm->shoulder,
                            .b = fore ? arm->wrist : arm->elbow,
                            .paint = &paint,
                            .wider = 1.03};
    if (f->look->sleeve_length == OMO_SLEEVE_LONG) {
        limb.outline = fore ? cuff_outline : long_sleeve_outline;
        limb.nodes = fore ? COUNT(cuff_outline) : COUNT(long_sleeve_outline);
    } else if (f->look->sleeve_length == OMO_SLEEVE_SHORT && role == OMO_SHOULDER) {
        limb.outline = sleeve_outline;
        limb.nodes = COUNT(sleeve_outline);
    } else {
        limb.outline = fore ? forearm_outline : upper_arm_outline;
        limb.nodes = fore ? COUNT(forearm_outline) : COUNT(upper_arm_outline);
    }
    double length = omo_vec_length(omo_vec_sub(limb.b, limb.a));
    double half = f->scene->band_mm / 2000 / length;
    limb.from = marker->share - half;
    limb.to = marker->share + half;
    omo_draw_limb(canvas, f, &limb, mask);
}

static void draw_marker(struct omo_canvas *canvas, const struct omo_figure *f, int which,
                        enum omo_role role)
{
    const struct omo_pose *p = f->pose;
    const struct omo_pose_marker *marker =
        which == 0 ? &p->marker[role] : &p->other_marker[role];
    struct omo_mask *mask =
        f->masks ? &canvas->mask[role + which * OMO_ROLE_COUNT] : NULL;
    if (!marker->placed || (which == 0 && f->hidden & 1u << role))
        return;
    if (marker->band)
        draw_band(canvas, f, &p->arm[which], marker, role, mask);
    else
        draw_disc(canvas, f, marker, role, mask);
}

/* ---- parts ---- */

/* The sine by which a forearm points out of the picture and hides its elbow. */
#define POINTS_AHEAD 0.25

static void draw_leg(struct omo_canvas *canvas, const struct omo_figure *f, int which)
{
    const struct omo_pose *p = f->pose;
    struct omo_limb limb = {.a = p->knee[which],
                            .b = p->ankle[which],
                            .outline = shin_outline,
                            .nodes = COUNT(shin_outline),
                            .paint = &f->look->trousers,
                            .to = 1,
                            .texture_shift = 3,
                            .joint = true};
    omo_draw_limb(canvas, f, &limb, NULL);
    limb.a = p->hip_joint[which];
    limb.b = p->knee[which];
    limb.outline = thigh_outline;
    limb.nodes = COUNT(thigh_outline);
    limb.texture_shift = 9;
    omo_draw_limb(canvas, f, &limb, NULL);
}

static void draw_fingers(struct omo_canvas *canvas, const struct omo_figure *f,
                         struct omo_limb limb, const struct omo_pose_arm *arm,
                         struct omo_vec across)
{
    static const double reach[4] = {0.90, 0.98, 1.0, 0.93};
    struct omo_vec hand = omo_vec_sub(arm->finger, arm->wrist);
    limb.outline = finger_outline;
    limb.nodes = COUNT(finger_outline);
    for (int i = 0; i < 4; i++) {
        double out = (i - 1.5) * 0.0092 * f->pose->stature_m;
        limb.a = omo_vec_along(omo_vec_along(arm->wrist, hand, 0.50), across, out);
        limb.b =
            omo_vec_along(omo_vec_along(arm->wrist, hand, reach[i]), across, out * 0.85);
        omo_draw_limb(canvas, f, &limb, NULL);
    }
}

static void draw_hand(struct omo_canvas *canvas, const struct omo_figure *f,
                      const struct omo_pose_arm *arm)
{
    struct omo_vec hand = omo_vec_sub(arm->finger, arm->wrist);
    struct omo_vec across = omo_vec_unit(omo_vec_cross(arm->outer, hand));
    struct omo_limb limb = {.a = arm->wrist,
                            .b = omo_vec_along(arm->wrist, hand, 0.55),
                            .outline = palm_outline,
                            .nodes = COUNT(palm_outline),
                            .paint = f->look->gloves ? &f->look->glove : &f->look->skin,
                            .to = 1,
                            .texture_shift = 5,
                            .joint = true};
    /* the thumb lies in front of the hanging hand, on whichever side that is */
    if (omo_vec_dot(across, f->pose->forward) < 0)
        across = omo_vec_scale(across, -1);
    draw_fingers(canvas, f, limb, arm, across);
    omo_draw_limb(canvas, f, &limb, NULL);
    limb.a = omo_vec_along(omo_vec_along(arm->wrist, hand, 0.18), across,
                           0.008 * f->pose->stature_m);
    limb.b = omo_vec_along(omo_vec_along(arm->wrist, hand, 0.56), across,
                           0.028 * f->pose->stature_m);
    limb.outline = thumb_outline;
    limb.nodes = COUNT(thumb_outline);
    limb.joint = false;
    omo_draw_limb(canvas, f, &limb, NULL);
}

static void draw_sleeve(struct omo_canvas *canvas, const struct omo_figure *f,
                        const struct omo_pose_arm *arm)
{
    bool lengthy = f->look->sleeve_length == OMO_SLEEVE_LONG;
    struct omo_limb limb = {.a = arm->shoulder,
                            .b = arm->elbow,
                            .outline = lengthy ? long_sleeve_outline : sleeve_outline,
                            .nodes = lengthy ? COUNT(long_sleeve_outline)
                                             : COUNT(sleeve_outline),
                            .paint = &f->look->sleeve,
                            .to = lengthy ? 1 : 0.56,
                            .texture_shift = 4,
                            .joint = true};
    if (f->look->sleeve_length != OMO_SLEEVE_NONE)
        omo_draw_limb(canvas, f, &limb, NULL);
}

static void draw_forearm(struct omo_canvas *canvas, const struct omo_figure *f,
                         const struct omo_pose_arm *arm)
{
    bool lengthy = f->look->sleeve_length == OMO_SLEEVE_LONG;
    struct omo_limb limb = {.a = arm->elbow,
                            .b = arm->wrist,
                            .outline = forearm_outline,
                            .nodes = COUNT(forearm_outline),
                            .paint = &f->look->skin,
                            .to = 1,
                            .texture_shift = 2,
                            .joint = true};
    omo_draw_limb(canvas, f, &limb, NULL);
    if (!lengthy)
        return;
    limb.outline = cuff_outline;
    limb.nodes = COUNT(cuff_outline);
    limb.paint = &f->look->sleeve;
    limb.to = 0.97;
    omo_draw_limb(canvas, f, &limb, NULL);
}

/** From the neck out to the joint; from the side it is seen end on. */
static void draw_girdle(struct omo_canvas *canvas, const struct omo_figure *f,
                        const struct omo_pose_arm *arm)
{
    struct omo_limb limb = {.a = omo_vec_along(f->pose->neck,
                                               omo_vec_sub(arm->shoulder, f->pose->neck),
                                               0.3),
                            .b = arm->shoulder,
                            .outline = girdle_outline,
                            .nodes = COUNT(girdle_outline),
                            .paint = &f->look->shirt,
                            .to = 1,
                            .texture_shift = 11,
                            .joint = true};
    if (f->scene->view == OMO_VIEW_FRONT)
        omo_draw_limb(canvas, f, &limb, NULL);
}

static void draw_whole_arm(struct omo_canvas *canvas, const struct omo_figure *f,
                           int which)
{
    const struct omo_pose_arm *arm = &f->pose->arm[which];
    struct omo_limb limb = {.a = arm->shoulder,
                            .b = arm->elbow,
                            .outline = upper_arm_outline,
                            .nodes = COUNT(upper_arm_outline),
                            .paint = &f->look->skin,
                            .to = 1,
                            .texture_shift = 1,
                            .joint = true};
    /* Where the upper arm points at the camera, its nearer end is drawn last. */
    bool end_on = which == 0 && f->scene->view == OMO_VIEW_ALONG_ARM;
    bool under = end_on || f->look->sleeve_length == OMO_SLEEVE_LONG;
    /* ... and so is a forearm that points at it. */
    struct omo_vec fore = omo_vec_sub(arm->wrist, arm->elbow);
    double near = -omo_camera_direction(f->camera, fore).z / omo_vec_length(fore);
    bool ahead =
        which == 0 && omo_scene_turns(f->scene) && !end_on && near > POINTS_AHEAD;
    if (!ahead)
        draw_hand(canvas, f, arm);
    omo_draw_limb(canvas, f, &limb, NULL);
    if (under)
        draw_sleeve(canvas, f, arm);
    if (end_on)
        draw_marker(canvas, f, which, OMO_SHOULDER);
    if (!ahead)
        draw_forearm(canvas, f, arm);
    if (!under)
        draw_sleeve(canvas, f, arm);
    if (!end_on)
        draw_marker(canvas, f, which, OMO_SHOULDER);
    if (which == 0)
        draw_marker(canvas, f, which, OMO_ACROMION);
    draw_marker(canvas, f, which, OMO_ELBOW);
    if (ahead)
        draw_forearm(canvas, f, arm);
    draw_marker(canvas, f, which, OMO_WRIST);
    if (ahead)
        draw_hand(canvas, f, arm);
}

void omo_draw_round(struct omo_canvas *canvas, const struct omo_figure *f,
                    const struct omo_round *part)
{
    double wide, deep, ahead, h = f->pose->stature_m;
    struct omo_node node[OMO_ROUND_NODES];
    struct omo_tube t = {.node = node, .nodes = part->nodes, .to_t = 1};
    omo_figure_aspect(f, &wide, &deep, &ahead);
    double scale = omo_camera_project(f->camera, part->a, &t.ax, &t.ay);
    omo_camera_project(f->camera, part->b, &t.bx, &t.by);
    for (int i = 0; i < t.nodes; i++) {
        const struct omo_round_node *n = &part->outline[i];
        double w = n->wide * wide, front = n->ahead * deep, back = n->behind * deep;
        double right = sqrt(w * w + (ahead > 0 ? front * front : back * back));
        double left = sqrt(w * w + (ahead > 0 ? back * back : front * front));
        node[i] = (struct omo_node){n->t, left * h * scale, right * h * scale};
    }
    t.cap_a = part->cap_a * h * scale;
    t.cap_b = part->cap_b * h * scale;
    t.px_per_m = scale;
    t.texture_shift = part->texture_shift;
    omo_draw_tube(canvas, &t, part->paint, NULL);
}

/** Round the neck, where the shirt ends: seen from the front only. */
static void draw_collar(struct omo_canvas *canvas, const struct omo_figure *f)
{
    struct omo_paint edge = f->look->shirt, shade = f->look->skin;
    if (omo_camera_direction(f->camera, f->pose->forward).z > -0.5)
        return;
    edge.colour *= 0.8f;
    shade.colour *= 0.86f; /* under the chin */
    struct omo_vec at = omo_body_point(f->pose, f->pose->neck, 0.03, 0.004, 0);
    omo_draw_spot(canvas, f, at, .041, .020, &edge, true);
    at = omo_body_point(f->pose, f->pose->neck, 0.03, 0.008, 0);
    omo_draw_spot(canvas, f, at, .035, .017, &shade, true);
}

static void draw_trunk(struct omo_canvas *canvas, const struct omo_figure *f)
{
    const struct omo_round trunk = {
        f->pose->hips, f->pose->neck, trunk_outline,   COUNT(trunk_outline),
        .035,          .012,          &f->look->shirt, 0};
    draw_girdle(canvas, f, &f->pose->arm[1]);
    draw_girdle(canvas, f, &f->pose->arm[0]);
    omo_draw_round(canvas, f, &trunk);
    draw_collar(canvas, f);
}

/* ---- the person ---- */

void omo_draw_body(struct omo_canvas *canvas, const struct omo_figure *f)
{
    bool side = f->scene->view != OMO_VIEW_FRONT;
    bool lap = f->scene->position == OMO_SEATED && !side; /* thighs nearest */
    if (side)
        draw_whole_arm(canvas, f, 1);
    if (!lap) {
        draw_leg(canvas, f, 1);
        draw_leg(canvas, f, 0);
    }
    if (side)
        omo_draw_head(canvas, f);
    draw_trunk(canvas, f);
    if (!side)
        omo_draw_head(canvas, f);
    if (lap) {
        draw_leg(canvas, f, 1);
        draw_leg(canvas, f, 0);
    }
    if (!side && !omo_other_arm_apart(f->scene))
        draw_whole_arm(canvas, f, 1);
    draw_marker(canvas, f, 0, OMO_HIP);
    draw_marker(canvas, f, 0, OMO_CHEST);
}

void omo_draw_arm_shadow(struct omo_canvas *canvas, const struct omo_figure *f, int which)
{
    const struct omo_pose_arm *arm = &f->pose->arm[which];
    /* light comes from the upper left */
    struct omo_vec shift = {0.014 * f->camera->flip, -0.016, 0};
    struct omo_limb limb = {.a = omo_vec_add(arm->shoulder, shift),
                            .b = omo_vec_add(arm->elbow, shift),
                            .outline = upper_arm_outline,
                            .nodes = COUNT(upper_arm_outline),
                            .to = 1,
                            .joint = true,
                            .soft_m = 0.05,
                            .opacity = 0.4};
    omo_draw_limb(canvas, f, &limb, NULL);
    limb.a = limb.b;
    limb.b = omo_vec_add(arm->wrist, shift);
    limb.outline = forearm_outline;
    limb.nodes = COUNT(forearm_outline);
    omo_draw_limb(canvas, f, &limb, NULL);
}

void omo_draw_arm(struct omo_canvas *canvas, const struct omo_figure *f, int which)
{
    draw_whole_arm(canvas, f, which);
}

bool omo_other_arm_apart(const struct omo_scene *scene)
{
    return scene->other_arm_moves && scene->view == OMO_VIEW_FRONT;
}

bool omo_arm_is_behind(const struct omo_figure *f, int which)
{
    const struct omo_pose_arm *arm = &f->pose->arm[which];
    struct omo_vec out = omo_vec_sub(arm->elbow, arm->shoulder);
    return f->scene->view == OMO_VIEW_FRONT && out.z < -0.02 && f->scene->from_behind;
}

void omo_draw_person(struct omo_canvas *canvas, const struct omo_figure *f)
{
    int arms = omo_other_arm_apart(f->scene) ? 2 : 1;
    for (int i = arms - 1; i >= 0; i--)
        if (omo_arm_is_behind(f, i))
            omo_draw_arm(canvas, f, i);
    omo_draw_body(canvas, f);
    for (int i = arms - 1; i >= 0; i--) {
        if (omo_arm_is_behind(f, i))
            continue;
        omo_draw_arm_shadow(canvas, f, i);
        omo_draw_arm(canvas, f, i);
    }
    omo_draw_long_hair(canvas, f);
}
