#include "room.h"

#include <math.h>

#define WALL_DEPTH -1.1
#define FLOOR_NEAR 1.6
#define BED_HEIGHT 0.5

/* ---- shapes ---- */

static void corner_of(const struct omo_camera *camera, double x, double y, double z,
                      double out[2])
{
    omo_camera_project(camera, (struct omo_vec){x, y, z}, &out[0], &out[1]);
}

static struct omo_paint board_paint(const struct omo_board *board)
{
    return (struct omo_paint){.colour = omo_sim_colour(board->srgb),
                              .fold_ratio = (float)board->fold,
                              .grain_ratio = (float)board->grain,
                              .fold_per_m = 0.11f,
                              .fold_across = 0.13f};
}

void omo_draw_board(struct omo_canvas *canvas, const struct omo_camera *camera,
                    const struct omo_board *b)
{
    double corner[4][2];
    struct omo_paint paint = board_paint(b);
    corner_of(camera, b->left, b->top, b->depth, corner[0]);
    corner_of(camera, b->right, b->top, b->depth, corner[1]);
    corner_of(camera, b->right, b->bottom, b->depth, corner[2]);
    corner_of(camera, b->left, b->bottom, b->depth, corner[3]);
    omo_draw_polygon(canvas, (const double(*)[2])corner, 4, &paint,
                     b->shade > 0 ? b->shade : 1);
}

void omo_draw_top(struct omo_canvas *canvas, const struct omo_camera *camera,
                  const struct omo_board *b, double near_depth)
{
    double corner[4][2];
    struct omo_paint paint = board_paint(b);
    corner_of(camera, b->left, b->top, b->depth, corner[0]);
    corner_of(camera, b->right, b->top, b->depth, corner[1]);
    corner_of(camera, b->right, b->top, near_depth, corner[2]);
    corner_of(camera, b->left, b->top, near_depth, corner[3]);
    omo_draw_polygon(canvas, (const double(*)[2])corner, 4, &paint,
                     b->shade > 0 ? b->shade : 1);
}

static void boards(struct omo_canvas *canvas, const struct omo_camera *camera,
                   const struct omo_board *board, int count)
{
    for (int i = 0; i < count; i++)
        omo_draw_board(canvas, camera, &board[i]);
}
#define BOARDS(array)                                                                    \
    boards(canvas, camera, array, (int)(sizeof(array) / sizeof(array)[0]))

/* ---- the room ---- */

static void paint_floor(struct omo_canvas *canvas, const struct omo_camera *camera)
{
    struct omo_random random = {99};
    for (int i = -24; i < 24; i++) {
        double tone = 0.85 + 0.3 * omo_random_unit(&random);
        struct omo_board plank = {.left = i * 0.14,
                                  .right = i * 0.14 + 0.136,
                                  .top = 0,
                                  .depth = WALL_DEPTH,
                                  .srgb = {140 * tone, 112 * tone, 86 * tone},
                                  .grain = 0.05,
                                  .fold = 0.05};
        omo_draw_top(canvas, camera, &plank, FLOOR_NEAR);
    }
}

/** All that a camera that looks down sees of the room: planks along the bed, a rug. */
static void paint_floor_below(struct omo_canvas *canvas, const struct omo_scene *scene,
                              const struct omo_camera *camera)
{
    static const struct omo_board gaps = {-9,           9, -9, 9, -BED_HEIGHT - 0.21,
                                          {70, 54, 42}, 1, 0,  0};
    struct omo_board rug = {0.62, 1.5,  0.3, 1.5, -BED_HEIGHT - 0.19, {112, 104, 100},
                            0.95, 0.06, 0.1};
    struct omo_random random = {99};
    omo_draw_board(canvas, camera, &gaps);
    for (int i = -24; i < 24; i++) {
        double tone = 0.85 + 0.3 * omo_random_unit(&random);
        const struct omo_board plank = {i * 0.14,
                                        i * 0.14 + 0.136,
                                        -9,
                                        9,
                                        -BED_HEIGHT - 0.2,
                                        {140 * tone, 112 * tone, 86 * tone},
                                        1,
                                        0.05,
                                        0.05};
        omo_draw_board(canvas, camera, &plank);
    }
    if (scene->furniture == OMO_ROOM_PLAIN)
        return;
    if (scene->furniture == OMO_ROOM_BRIGHT) {
        const double orange[3] = {196, 84, 32};
        for (int i = 0; i < 3; i++)
            rug.srgb[i] = orange[i];
    }
    omo_draw_board(canvas, camera, &rug);
}

static void paint_wall(struct omo_canvas *canvas, const struct omo_scene *scene,
                       const struct omo_camera *camera)
{
    static const struct omo_board below = {-9,           9, -3, 4, WALL_DEPTH - 0.01,
                                           {70, 54, 42}, 1, 0,  0};
    struct omo_board wall = {-9, 9, 0, 4, WALL_DEPTH, {190, 186, 176}, 0.9, 0.045, 0.03};
    static const struct omo_board rail[] = {
        {-9, 9, 0, 0.10, WALL_DEPTH + 0.01, {205, 203, 198}, 0.9, 0.02, 0},
        {-9, 9, 0.10, 0.108, WALL_DEPTH + 0.01, {150, 146, 138}, 1, 0, 0},
    };
    if (scene->furniture == OMO_ROOM_BRIGHT) {
        const double blue[3] = {128, 160, 186};
        for (int i = 0; i < 3; i++)
            wall.srgb[i] = blue[i];
    }
    omo_draw_board(canvas, camera, &below);
    omo_draw_board(canvas, camera, &wall);
    paint_floor(canvas, camera);
    BOARDS(rail);
}

static void paint_window(struct omo_canvas *canvas, const struct omo_camera *camera,
                         bool bright)
{
    const double w = WALL_DEPTH;
    const struct omo_board frame[] = {
        {-2.05, -1.15, 0.95, 2.15, w + 0.02, {214, 212, 206}, 0.95, 0.01, 0},
        {-1.99, -1.63, 1.01, 2.09, w + 0.03, {226, 236, 244}, 0.86, 0.02, 0.05},
        {-1.57, -1.21, 1.01, 2.09, w + 0.03, {226, 236, 244}, 0.86, 0.02, 0.05},
        {-2.10, -1.10, 0.90, 0.95, w + 0.12, {196, 194, 188}, 0.9, 0.01, 0},
    };
    BOARDS(frame);
    for (int i = 0; i < 9; i++) { /* folds of the curtains */
        double tone = i % 2 ? 1.0 : 0.82;
        double base[3] = {150, 140, 120}, red[3] = {176, 52, 48};
        for (int s = 0; s < 2; s++) {
            double left = s == 0 ? -2.28 + i * 0.032 : -1.20 + i * 0.032;
            const double *c = bright ? red : base;
            struct omo_board fold = {left,     left + 0.033,
                                     0.55,     2.25,
                                     w + 0.06, {c[0] * tone, c[1] * tone, c[2] * tone},
                                     0.85,     0.06,
                                     0.1};
            omo_draw_board(canvas, camera, &fold);
        }
    }
}

static void paint_shelf(struct omo_canvas *canvas, const struct omo_camera *camera,
                        bool bright)
{
    const double w = WALL_DEPTH;
    struct omo_random random = {2024};
    const struct omo_board shelf[] = {
        {0.72, 1.72, 1.52, 1.545, w + 0.2, {126, 96, 66}, 1, 0.05, 0.05},
        {0.72, 1.72, 1.98, 2.005, w + 0.2, {126, 96, 66}, 1, 0.05, 0.05},
    };
    for (int row = 0; row < 2; row++) {
        double x = 0.76, y = row == 0 ? 1.545 : 2.005;
        while (x < 1.62) {
            double wide = 0.018 + 0.03 * omo_random_unit(&random);
            double tall = 0.17 + 0.1 * omo_random_unit(&random);
            double grey = 60 + 130 * omo_random_unit(&random);
            double spread = bright ? 120 : 38;
            struct omo_board book = {x,         x + wide, y,    y + tall, w + 0.19,
                                     {0, 0, 0}, 0.85,     0.04, 0.03};
            for (int i = 0; i < 3; i++)
                book.srgb[i] =
                    omo_sim_clamp(grey + spread * (omo_random_unit(&random) - 0.5), 15,
                                  235);
            if (omo_random_unit(&random) > 0.15)
                omo_draw_board(canvas, camera, &book);
            x += wide + 0.002;
        }
    }
    BOARDS(shelf);
}

static void paint_picture(struct omo_canvas *canvas, const struct omo_camera *camera,
                          bool bright)
{
    const double w = WALL_DEPTH;
    const struct omo_board frame[] = {
        {-0.78, -0.28, 1.62, 2.02, w + 0.02, {62, 50, 40}, 1, 0.03, 0},
        {-0.75, -0.31, 1.65, 1.99, w + 0.025, {226, 222, 210}, 0.95, 0.02, 0},
        {-0.69, -0.37, 1.70, 1.94, w + 0.03, {116, 132, 140}, 0.7, 0.06, 0.15},
        {-0.69, -0.37, 1.70, 1.79, w + 0.031, {92, 98, 70}, 0.8, 0.06, 0.2},
    };
    BOARDS(frame);
    if (bright) {
        struct omo_board sun = {-0.50,          -0.44, 1.86, 1.92, w + 0.032,
                                {236, 170, 40}, 1,     0,    0};
        omo_draw_board(canvas, camera, &sun);
    }
}

static void paint_cabinet(struct omo_canvas *canvas, const struct omo_camera *camera,
                          bool bright)
{
    const double d = WALL_DEPTH + 0.45;
    const struct omo_board body[] = {
        {0.95, 2.0, 0.05, 0.82, d, {150, 142, 130}, 0.8, 0.04, 0.03},
        {0.97, 1.46, 0.09, 0.79, d + 0.004, {164, 156, 143}, 0.82, 0.04, 0.03},
        {1.49, 1.98, 0.09, 0.79, d + 0.004, {164, 156, 143}, 0.82, 0.04, 0.03},
        {1.40, 1.42, 0.42, 0.52, d + 0.02, {96, 96, 98}, 1, 0, 0},
        {1.53, 1.55, 0.42, 0.52, d + 0.02, {96, 96, 98}, 1, 0, 0},
    };
    const struct omo_board top = {0.93, 2.02, 0,   0.83, WALL_DEPTH, {138, 130, 118},
                                  1,    0.04, 0.03};
    const struct omo_board chair[] = {
        {-1.95, -1.35, 0.36, 0.50, d + 0.1, {88, 92, 84}, 0.8, 0.06, 0.12},
        {-1.95, -1.35, 0.50, 0.98, d - 0.1, {98, 102, 92}, 0.85, 0.06, 0.12},
    };
    omo_draw_top(canvas, camera, &top, d);
    BOARDS(body);
    if (!bright) {
        BOARDS(chair);
        return;
    }
    struct omo_board sofa[] = {
        {-2.3, -1.2, 0.30, 0.50, d + 0.1, {196, 84, 32}, 0.8, 0.06, 0.12},
        {-2.3, -1.2, 0.50, 0.95, d - 0.1, {206, 92, 36}, 0.85, 0.06, 0.12},
        {-1.9, -1.6, 0.52, 0.78, d, {60, 130, 96}, 0.85, 0.06, 0.1},
    };
    BOARDS(sofa);
}

static void paint_plant(struct omo_canvas *canvas, const struct omo_camera *camera)
{
    struct omo_random random = {5};
    const double d = WALL_DEPTH + 0.3;
    const struct omo_board pot = {1.66, 1.86, 0.83, 1.0, d, {150, 86, 60}, 0.8, 0.04, 0};
    for (int i = 0; i < 60; i++) {
        double spread = 0.19 * omo_random_normal(&random);
        double up = 0.04 + 0.34 * omo_random_unit(&random);
        double tone = 0.6 + 0.6 * omo_random_unit(&random);
        double srgb[3] = {62 * tone, 104 * tone, 48 * tone};
        struct omo_paint leaf = {.colour = omo_sim_colour(srgb), .grain_ratio = 0.05f};
        struct omo_ellipse e = {.ball = true, .turn_deg = 90 + 200 * spread};
        double scale =
            omo_camera_project(camera,
                               (struct omo_vec){1.76 + spread * (0.4 + up), 1.0 + up, d},
                               &e.x, &e.y);
        e.radius_x = 0.055 * scale;
        e.radius_y = 0.018 * scale;
        omo_draw_ellipse(canvas, &e, &leaf);
    }
    omo_draw_board(canvas, camera, &pot);
}

void omo_paint_room(struct omo_canvas *canvas, const struct omo_scene *scene,
                    const struct omo_camera *camera)
{
    bool bright = scene->furniture == OMO_ROOM_BRIGHT;
    if (omo_scene_from_above(scene)) {
        paint_floor_below(canvas, scene, camera);
        return;
    }
    paint_wall(canvas, scene, camera);
    if (scene->furniture == OMO_ROOM_PLAIN)
        return;
    paint_window(canvas, camera, bright);
    paint_picture(canvas, camera, bright);
    paint_shelf(canvas, camera, bright);
    paint_cabinet(canvas, camera, bright);
    paint_plant(canvas, camera);
}
