#include "room.h"

#include <math.h>
#include <stddef.h>

#define WALL_BEHIND_M 1.1

static void wall_and_floor(struct omo_canvas *canvas, const struct omo_camera *camera)
{
    static const double wall_srgb[3] = {188, 184, 174}, floor_srgb[3] = {142, 118, 96};
    omo_float4 wall = omo_sim_colour(wall_srgb), floor = omo_sim_colour(floor_srgb);
    double x, line;
    omo_camera_project(camera, (struct omo_vec){0, 0, -WALL_BEHIND_M}, &x, &line);
    const int wrap = OMO_TEXTURE_SIZE - 1;
    for (int py = 0; py < canvas->height; py++) {
        omo_float4 *row = canvas->pixel + (size_t)py * (size_t)canvas->width;
        for (int px = 0; px < canvas->width; px++) {
            float soft =
                canvas->fold[((py >> 2) & wrap) * OMO_TEXTURE_SIZE + ((px >> 2) & wrap)];
            float fine = canvas->grain[(py & wrap) * OMO_TEXTURE_SIZE + (px & wrap)];
            float light = 1 + 0.03f * soft + 0.04f * fine;
            row[px] = (py < line ? wall : floor) * light;
        }
    }
}

void omo_paint_room(struct omo_canvas *canvas, const struct omo_scene *scene,
                    const struct omo_camera *camera)
{
    (void)scene;
    wall_and_floor(canvas, camera);
}
