#include "exposure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "room.h"

/* A sub-exposure for so many px of the fastest point's way. */
#define BLUR_STEP_PX  1.5
#define EXPOSURES_MAX 16

enum omo_status omo_stage_create(struct omo_stage *stage, const struct omo_scene *scene)
{
    int width = (int)scene->width, height = (int)scene->height;
    size_t pixels = (size_t)width * (size_t)height;
    *stage = (struct omo_stage){.scene = scene};
    omo_scene_of_bystander(scene, &stage->other_scene);
    omo_look_of(scene, &stage->look);
    omo_look_of_bystander(scene, &stage->other_look);
    stage->sum = aligned_alloc(16, pixels * sizeof(omo_float4));
    stage->low = malloc((size_t)height * sizeof(int));
    stage->high = malloc((size_t)height * sizeof(int));
    if (!stage->sum || !stage->low || !stage->high ||
        omo_canvas_create(&stage->canvas, width, height) != OMO_OK ||
        omo_canvas_create(&stage->layer, width, height) != OMO_OK) {
        omo_stage_free(stage);
        return OMO_ERR_MEMORY;
    }
    memset(stage->sum, 0, pixels * sizeof(omo_float4));
    for (int y = 0; y < height; y++) {
        stage->low[y] = width;
        stage->high[y] = -1;
    }
    stage->canvas.light = (struct omo_light){0.42f, 0.75f, -0.42f, -0.5f, 0.757f};
    stage->layer.light = stage->canvas.light;
    return OMO_OK;
}

void omo_stage_free(struct omo_stage *stage)
{
    omo_canvas_free(&stage->canvas);
    omo_canvas_free(&stage->layer);
    free(stage->sum);
    free(stage->low);
    free(stage->high);
    *stage = (struct omo_stage){0};
}

static unsigned hidden_roles(const struct omo_scene *scene, double time_s)
{
    unsigned mask = omo_fallen_roles(scene, time_s);
    for (int i = 0; i < scene->hide.count; i++)
        if (time_s >= scene->hide.span[i].from_s && time_s < scene->hide.span[i].to_s)
            mask |= 1u << scene->hide.span[i].role;
    return mask;
}

/* ---- motion blur of the arm ---- */

static double way_px(const struct omo_stage *stage, int which, double from_s, double to_s)
{
    struct omo_pose a, b;
    struct omo_camera camera;
    double ax, ay, bx, by;
    omo_pose_at(stage->scene, from_s, &a);
    omo_pose_at(stage->scene, to_s, &b);
    omo_camera_at(stage->scene, from_s, &camera);
    omo_camera_project(&camera, a.arm[which].finger, &ax, &ay);
    omo_camera_project(&camera, b.arm[which].finger, &bx, &by);
    return sqrt((ax - bx) * (ax - bx) + (ay - by) * (ay - by));
}

/** Adds the layer to the sum and empties it. */
static void gather(struct omo_stage *stage)
{
    struct omo_canvas *layer = &stage->layer;
    for (int y = 0; y < layer->height; y++) {
        int low = layer->low[y], high = layer->high[y];
        size_t base = (size_t)y * (size_t)layer->width;
        for (int x = low; x <= high; x++) {
            stage->sum[base + (size_t)x] += layer->pixel[base + (size_t)x];
            layer->pixel[base + (size_t)x] = (omo_float4){0, 0, 0, 0};
        }
        stage->low[y] = low < stage->low[y] ? low : stage->low[y];
        stage->high[y] = high > stage->high[y] ? high : stage->high[y];
    }
    omo_canvas_clear_spans(layer);
}

/** Lays the mean of the sub-exposures over the canvas and empties the sum. */
static void lay_over(struct omo_stage *stage, int count)
{
    struct omo_canvas *canvas = &stage->canvas;
    const float share = 1 / (float)count;
    for (int y = 0; y < canvas->height; y++) {
        int low = stage->low[y], high = stage->high[y];
        omo_float4 *pixel = canvas->pixel + (size_t)y * (size_t)canvas->width;
        omo_float4 *sum = stage->sum + (size_t)y * (size_t)canvas->width;
        if (low > high)
            continue;
        for (int x = low; x <= high; x++) {
            omo_float4 mean = sum[x] * share;
            pixel[x] = pixel[x] * (1 - mean[3]) + mean;
            canvas->row[x][3] = mean[3];
            sum[x] = (omo_float4){0, 0, 0, 0};
        }
        omo_canvas_cover_masks(canvas, y, low, high);
        canvas->low[y] = low < canvas->low[y] ? low : canvas->low[y];
        canvas->high[y] = high > canvas->high[y] ? high : canvas->high[y];
        stage->low[y] = canvas->width;
        stage->high[y] = -1;
    }
}

/** Sets the coverage of the arm's markers aside, so that later sub-exposures do not
 *  reduce it. */
static void keep_masks(struct omo_stage *stage, bool own[OMO_MASK_COUNT])
{
    for (int i = 0; i < OMO_MASK_COUNT; i++)
        own[i] = stage->layer.mask[i].live;
    omo_canvas_drop_masks(&stage->layer);
}

/** Hands that coverage over to the canvas. */
static void give_masks(struct omo_stage *stage, const bool own[OMO_MASK_COUNT])
{
    for (int i = 0; i < OMO_MASK_COUNT; i++) {
        if (!own[i])
            continue;
        struct omo_mask mask = stage->canvas.mask[i];
        stage->canvas.mask[i] = stage->layer.mask[i];
        stage->canvas.mask[i].live = true;
        stage->layer.mask[i] = mask;
    }
}

static void paint_arm(struct omo_stage *stage, const struct omo_figure *figure, int which)
{
    double open_s = stage->scene->shutter_ratio / stage->scene->fps;
    double time_s = figure->time_s;
    double way = way_px(stage, which, time_s - open_s / 2, time_s + open_s / 2);
    int count = (int)omo_sim_clamp(ceil(way / BLUR_STEP_PX), 1, EXPOSURES_MAX);
    if (count == 1) {
        omo_draw_arm(&stage->canvas, figure, which);
        return;
    }
    bool own[OMO_MASK_COUNT] = {false};
    omo_canvas_drop_masks(&stage->layer);
    count |= 1; /* so that one lies in the middle, where the truth is */
    for (int i = 0; i < count; i++) {
        struct omo_pose pose;
        struct omo_figure blurred = *figure;
        blurred.time_s = time_s + open_s * ((i + 0.5) / count - 0.5);
        blurred.pose = &pose;
        blurred.masks = figure->masks && i == count / 2;
        omo_pose_at(stage->scene, blurred.time_s, &pose);
        omo_draw_arm(&stage->layer, &blurred, which);
        gather(stage);
        if (blurred.masks)
            keep_masks(stage, own);
    }
    lay_over(stage, count); /* which may hide the trunk's markers */
    give_masks(stage, own);
}

/* ---- other people and pictures of people ---- */

static void paint_bystander(struct omo_stage *stage, const struct omo_camera *camera,
                            double time_s)
{
    struct omo_pose pose;
    struct omo_figure figure = {.scene = &stage->other_scene,
                                .look = &stage->other_look,
                                .camera = camera,
                                .pose = &pose,
                                .time_s = time_s};
    if (stage->scene->second_person == OMO_SECOND_NONE)
        return;
    omo_pose_at(&stage->other_scene, time_s, &pose);
    omo_pose_shift(&pose,
                   (struct omo_vec){-0.62 * omo_scene_ahead(stage->scene), 0, -0.5});
    omo_draw_person(&stage->canvas, &figure);
}

/** The person once more, in a window of the picture. */
static void paint_image(struct omo_stage *stage, const struct omo_window *window,
                        double time_s)
{
    struct omo_canvas *canvas = &stage->canvas;
    struct omo_pose pose;
    struct omo_camera camera = window->camera;
    struct omo_figure figure = {.scene = stage->scene,
                                .look = &stage->look,
                                .camera = &camera,
                                .pose = &pose,
                                .time_s = time_s,
                                .hidden = hidden_roles(stage->scene, time_s)};
    omo_pose_at(stage->scene, time_s, &pose);
    canvas->clip_left = window->left;
    canvas->clip_top = window->top;
    canvas->clip_right = window->right;
    canvas->clip_bottom = window->bottom;
    canvas->tint = window->tint;
    canvas->lift = window->lift;
    if (window->left < window->right && window->top < window->bottom)
        omo_draw_person(canvas, &figure);
    omo_canvas_clip_all(canvas);
}

void omo_stage_paint(struct omo_stage *stage, double time_s)
{
    struct omo_pose pose;
    struct omo_camera camera;
    struct omo_window window;
    omo_camera_at(stage->scene, time_s, &camera);
    omo_pose_at(stage->scene, time_s, &pose);
    struct omo_figure figure = {.scene = stage->scene,
                                .look = &stage->look,
                                .camera = &camera,
                                .pose = &pose,
                                .time_s = time_s,
                                .hidden = hidden_roles(stage->scene, time_s),
                                .masks = true};
    omo_canvas_drop_masks(&stage->canvas);
    if (omo_room_mirror(stage->scene, &camera, &window))
        paint_image(stage, &window, time_s);
    if (omo_room_screen(stage->scene, &camera, &window))
        paint_image(stage, &window, time_s - SCREEN_LATE_S);
    paint_bystander(stage, &camera, time_s);
    int arms = omo_other_arm_apart(stage->scene) ? 2 : 1;
    for (int i = arms - 1; i >= 0; i--)
        if (omo_arm_is_behind(&figure, i))
            paint_arm(stage, &figure, i);
    omo_draw_body(&stage->canvas, &figure);
    for (int i = arms - 1; i >= 0; i--) {
        if (omo_arm_is_behind(&figure, i))
            continue;
        omo_draw_arm_shadow(&stage->canvas, &figure, i);
        paint_arm(stage, &figure, i);
    }
    omo_draw_long_hair(&stage->canvas, &figure);
    omo_draw_props(&stage->canvas, &figure);
}
