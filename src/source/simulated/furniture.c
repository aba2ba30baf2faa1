#include "room.h"

#include <math.h>

/* ---- what the person sits or lies on ---- */

static void paint_couch(struct omo_canvas *canvas, const struct omo_camera *camera)
{
    const struct omo_board pad = {-1.25,        1.25, 0.44, 0.555, 0.34,
                                  {84, 92, 98}, 0.75, 0.05, 0.08};
    const struct omo_board top = {-1.25,          1.25, 0,    0.555, -0.34,
                                  {98, 106, 112}, 1,    0.05, 0.05};
    const struct omo_board leg[] = {
        {-1.1, -1.03, 0, 0.44, 0.3, {150, 150, 150}, 0.8, 0.02, 0},
        {1.03, 1.1, 0, 0.44, 0.3, {150, 150, 150}, 0.8, 0.02, 0},
    };
    omo_draw_board(canvas, camera, &leg[0]);
    omo_draw_board(canvas, camera, &leg[1]);
    omo_draw_top(canvas, camera, &top, 0.34);
    omo_draw_board(canvas, camera, &pad);
}

/** Under whoever is seen from above. */
static void paint_bed(struct omo_canvas *canvas, const struct omo_scene *scene,
                      const struct omo_camera *camera)
{
    double h = scene->stature_m, under = scene->view == OMO_VIEW_FRONT ? -0.075 : -0.145;
    const struct omo_board sheet = {-0.5,         0.5, -0.1, 1.12 * h, under * h,
                                    {84, 92, 98}, 0.9, 0.05, 0.08};
    const struct omo_board pillow = {-0.3,     0.3,       0.86 * h,
                                     1.07 * h, under * h, {158, 162, 164},
                                     0.88,     0.04,      0.1};
    omo_draw_board(canvas, camera, &sheet);
    omo_draw_board(canvas, camera, &pillow);
}

static void paint_chair(struct omo_canvas *canvas, const struct omo_scene *scene,
                        const struct omo_camera *camera)
{
    double a = omo_scene_ahead(scene);
    if (scene->view == OMO_VIEW_FRONT) {
        const struct omo_board back = {-0.24,        0.24, 0.42, 0.86, -0.2,
                                       {70, 66, 62}, 0.85, 0.05, 0.05};
        omo_draw_board(canvas, camera, &back);
        return;
    }
    const struct omo_board part[] = {
        {fmin(-0.2 * a, 0.32 * a),
         fmax(-0.2 * a, 0.32 * a),
         0.36,
         0.41,
         0.2,
         {70, 66, 62},
         0.85,
         0.05,
         0.05},
        {fmin(-0.24 * a, -0.19 * a),
         fmax(-0.24 * a, -0.19 * a),
         0.36,
         0.84,
         0.15,
         {64, 60, 56},
         0.85,
         0.05,
         0.05},
        {fmin(-0.2 * a, -0.16 * a),
         fmax(-0.2 * a, -0.16 * a),
         0,
         0.36,
         0.2,
         {120, 120, 122},
         0.85,
         0.02,
         0},
        {fmin(0.28 * a, 0.32 * a),
         fmax(0.28 * a, 0.32 * a),
         0,
         0.36,
         0.2,
         {120, 120, 122},
         0.85,
         0.02,
         0},
    };
    for (int i = 0; i < 4; i++)
        omo_draw_board(canvas, camera, &part[i]);
}

/* ---- mirror and screen ---- */

static void window_of(const struct omo_camera *camera, const struct omo_board *place,
                      struct omo_window *window)
{
    double x0, y0, x1, y1;
    omo_camera_project(camera, (struct omo_vec){place->left, place->top, place->depth},
                       &x0, &y0);
    omo_camera_project(camera,
                       (struct omo_vec){place->right, place->bottom, place->depth}, &x1,
                       &y1);
    double width = 2 * camera->centre_x + 1, height = 2 * camera->centre_y + 1;
    window->left = (int)omo_sim_clamp(floor(fmin(x0, x1)), 0, width);
    window->right = (int)omo_sim_clamp(ceil(fmax(x0, x1)), 0, width);
    window->top = (int)omo_sim_clamp(floor(fmin(y0, y1)), 0, height);
    window->bottom = (int)omo_sim_clamp(ceil(fmax(y0, y1)), 0, height);
    window->camera = *camera;
    window->camera.centre_x = (x0 + x1) / 2 - camera->shift_x;
    window->camera.centre_y = (y0 + y1) / 2 - camera->shift_y;
}

static struct omo_board mirror_place(const struct omo_scene *scene)
{
    double a = omo_scene_ahead(scene), x = -0.82 * a;
    return (struct omo_board){x - 0.36,        x + 0.36, 0.72, 2.0, -1.05,
                              {168, 172, 172}, 0.9,      0.03, 0.03};
}

static struct omo_board screen_place(const struct omo_scene *scene)
{
    double x = 0.95 * omo_scene_ahead(scene);
    return (struct omo_board){x - 0.31,     x + 0.31, 0.98, 1.33, -0.7,
                              {58, 66, 84}, 0.9,      0.02, 0.02};
}

bool omo_room_mirror(const struct omo_scene *scene, const struct omo_camera *camera,
                     struct omo_window *window)
{
    struct omo_board place = mirror_place(scene);
    if (!scene->mirror)
        return false;
    window_of(camera, &place, window);
    window->camera.focal_px *= 0.62;
    window->camera.flip = -camera->flip;
    window->tint = (omo_float4){0.86f, 0.88f, 0.87f, 1};
    window->lift = (omo_float4){0.01f, 0.01f, 0.01f, 0};
    return true;
}

bool omo_room_screen(const struct omo_scene *scene, const struct omo_camera *camera,
                     struct omo_window *window)
{
    struct omo_board place = screen_place(scene);
    if (!scene->screen)
        return false;
    window_of(camera, &place, window);
    /* the screen shows what the camera sees, in its own light */
    double wide = window->right - window->left;
    window->camera.focal_px = camera->focal_px * wide / (2 * camera->centre_x + 1);
    window->tint = (omo_float4){0.95f, 1.0f, 1.15f, 1};
    window->lift = (omo_float4){0.012f, 0.014f, 0.02f, 0};
    return true;
}

static void paint_frames(struct omo_canvas *canvas, const struct omo_scene *scene,
                         const struct omo_camera *camera)
{
    if (scene->mirror) {
        struct omo_board glass = mirror_place(scene), frame = glass;
        frame.left -= 0.04;
        frame.right += 0.04;
        frame.bottom -= 0.04;
        frame.top += 0.04;
        frame.srgb[0] = 96;
        frame.srgb[1] = 74;
        frame.srgb[2] = 50;
        omo_draw_board(canvas, camera, &frame);
        omo_draw_board(canvas, camera, &glass);
    }
    if (scene->screen) {
        struct omo_board glass = screen_place(scene), frame = glass, foot = glass;
        frame.left -= 0.02;
        frame.right += 0.02;
        frame.bottom -= 0.03;
        frame.top += 0.02;
        frame.srgb[0] = frame.srgb[1] = frame.srgb[2] = 28;
        foot = frame;
        foot.left = (glass.left + glass.right) / 2 - 0.04;
        foot.right = foot.left + 0.08;
        foot.top = frame.bottom;
        foot.bottom = frame.bottom - 0.12;
        omo_draw_board(canvas, camera, &foot);
        omo_draw_board(canvas, camera, &frame);
        omo_draw_board(canvas, camera, &glass);
    }
}

void omo_paint_furniture(struct omo_canvas *canvas, const struct omo_scene *scene,
                         const struct omo_camera *camera)
{
    paint_frames(canvas, scene, camera);
    if (scene->position == OMO_SEATED)
        paint_chair(canvas, scene, camera);
    else if (omo_scene_from_above(scene))
        paint_bed(canvas, scene, camera);
    else if (scene->position != OMO_STANDING)
        paint_couch(canvas, camera);
}

/* ---- look-alikes: things of the markers' colours beside the arm ---- */

static void paint_table(struct omo_canvas *canvas, const struct omo_camera *camera,
                        double a)
{
    const struct omo_board top = {fmin(0.42 * a, 1.25 * a),
                                  fmax(0.42 * a, 1.25 * a),
                                  0,
                                  0.98,
                                  -0.6,
                                  {128, 104, 78},
                                  1,
                                  0.05,
                                  0.06};
    struct omo_board edge = top;
    edge.bottom = 0.95;
    edge.depth = -0.25;
    edge.srgb[0] = 98;
    edge.srgb[1] = 78;
    edge.srgb[2] = 58;
    omo_draw_top(canvas, camera, &top, -0.25);
    omo_draw_board(canvas, camera, &edge);
}

static struct omo_paint tone(const double srgb[3], double share)
{
    struct omo_paint paint = {.colour = omo_sim_colour(srgb),
                              .grain_ratio = 0.03f,
                              .fold_ratio = 0.02f,
                              .fold_per_m = 30,
                              .fold_across = 3,
                              .shine = 0.05f};
    paint.colour *= (float)share;
    return paint;
}

static void paint_cup(struct omo_canvas *canvas, const struct omo_camera *camera,
                      double x, const double srgb[3])
{
    static const double dark[3] = {24, 60, 34};
    struct omo_tube body = {.to_t = 1};
    struct omo_paint glaze = tone(srgb, 0.95), inside = tone(dark, 1);
    double scale =
        omo_camera_project(camera, (struct omo_vec){x, 0.985, -0.4}, &body.ax, &body.ay);
    omo_camera_project(camera, (struct omo_vec){x, 1.075, -0.4}, &body.bx, &body.by);
    const struct omo_node node[2] = {{0, 0.034 * scale, 0.034 * scale},
                                     {1, 0.041 * scale, 0.041 * scale}};
    struct omo_ellipse ear = {body.ax + 0.047 * scale,
                              (body.ay + body.by) / 2,
                              0.022 * scale,
                              0.028 * scale,
                              0,
                              true};
    struct omo_ellipse rim = {body.bx, body.by, 0.036 * scale, 0.010 * scale, 0, false};
    body.node = node;
    body.nodes = 2;
    body.cap_a = body.cap_b = 0.011 * scale;
    body.px_per_m = scale;
    omo_draw_ellipse(canvas, &ear, &glaze);
    omo_draw_tube(canvas, &body, &glaze, NULL);
    omo_draw_ellipse(canvas, &rim, &inside);
}

static void paint_ball(struct omo_canvas *canvas, const struct omo_camera *camera,
                       struct omo_vec at, double radius_m, const double srgb[3])
{
    struct omo_paint rubber = tone(srgb, 1.05);
    struct omo_ellipse e = {.ball = true};
    double scale = omo_camera_project(camera, at, &e.x, &e.y);
    e.radius_x = e.radius_y = radius_m * scale;
    omo_draw_ellipse(canvas, &e, &rubber);
}

/** Round magnets on the wall, of the stickers' size and colours. */
static void paint_magnets(struct omo_canvas *canvas, const struct omo_scene *scene,
                          const struct omo_camera *camera, double a)
{
    static const double place[6][2] = {{0.52, 1.72}, {0.66, 1.80}, {0.60, 1.42},
                                       {0.42, 2.02}, {0.95, 1.30}, {-0.45, 1.25}};
    const struct omo_board sheet = {fmin(0.36 * a, 0.74 * a),
                                    fmax(0.36 * a, 0.74 * a),
                                    1.34,
                                    1.9,
                                    -1.08,
                                    {216, 214, 208},
                                    0.95,
                                    0.02,
                                    0};
    omo_draw_board(canvas, camera, &sheet);
    for (int i = 0; i < 6; i++)
        paint_ball(canvas, camera, (struct omo_vec){place[i][0] * a, place[i][1], -1.06},
                   scene->sticker_mm / 2000 * 1.5, scene->colour[i % 4]);
}

void omo_paint_look_alikes(struct omo_canvas *canvas, const struct omo_scene *scene,
                           const struct omo_camera *camera)
{
    static const double green[3] = {52, 150, 84}, magenta[3] = {196, 44, 120},
                        blue[3] = {52, 72, 186}, cyan[3] = {40, 160, 190};
    double a = omo_scene_ahead(scene);
    int count = (int)scene->look_alikes;
    const struct omo_board book = {fmin(0.74 * a, 0.90 * a),
                                   fmax(0.74 * a, 0.90 * a),
                                   0.985,
                                   1.20,
                                   -0.42,
                                   {magenta[0], magenta[1], magenta[2]},
                                   0.9,
                                   0.03,
                                   0.02};
    const struct omo_board towel = {fmin(-0.72 * a, -0.5 * a),
                                    fmax(-0.72 * a, -0.5 * a),
                                    0.8,
                                    1.3,
                                    -1.0,
                                    {cyan[0], cyan[1], cyan[2]},
                                    0.8,
                                    0.06,
                                    0.2};
    if (count > 4)
        paint_magnets(canvas, scene, camera, a);
    if (count > 0) {
        paint_table(canvas, camera, a);
        paint_cup(canvas, camera, 0.56 * a, green);
    }
    if (count > 1)
        omo_draw_board(canvas, camera, &book);
    if (count > 2)
        paint_ball(canvas, camera, (struct omo_vec){1.04 * a, 1.015, -0.4}, 0.035, blue);
    if (count > 3)
        omo_draw_board(canvas, camera, &towel);
    if (count > 5) /* a ball that hangs where a wrist could be */
        paint_ball(canvas, camera, (struct omo_vec){0.62 * a, 1.62, -0.3}, 0.022,
                   magenta);
}
