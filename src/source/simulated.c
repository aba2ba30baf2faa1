#include "omogon/simulated.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "self.h"
#include "simulated/effects.h"
#include "simulated/figure.h"
#include "simulated/room.h"
#include "simulated/truth.h"

/* A sub-exposure for so many px of the fastest marker's way. */
#define BLUR_STEP_PX  1.5
#define EXPOSURES_MAX 12

struct simulated {
    struct omo_scene scene;
    struct omo_look look;
    struct omo_canvas canvas;
    struct omo_effects *effects;
    struct omo_jpeg *jpeg;
    struct omo_truth_maker truth_maker;
    struct omo_truth truth;
    omo_float4 *sum; /* of sub-exposures */
    long frame, frame_count;
    uint8_t *bytes; /* of the JPEG delivered last */
    size_t byte_count;
};

static void destroy(void *self)
{
    struct simulated *sim = self;
    if (!sim)
        return;
    omo_canvas_free(&sim->canvas);
    omo_effects_destroy(sim->effects);
    omo_jpeg_destroy(sim->jpeg);
    free(sim->sum);
    free(sim->bytes);
    free(sim);
}

/** Time stamp as the camera gives it, and the true middle of the exposure. */
static double true_time_s(const struct simulated *sim, long frame)
{
    return (double)frame / sim->scene.fps;
}

static double stamp_s(const struct simulated *sim, long frame)
{
    const struct omo_scene *s = &sim->scene;
    struct omo_random random = {(uint64_t)s->seed * 31u + (uint64_t)frame};
    double jitter = 2 * omo_random_unit(&random) - 1;
    return s->start_s + true_time_s(sim, frame) + jitter * s->jitter_ms / 1000;
}

static unsigned hidden_roles(const struct omo_scene_spans *spans, double time_s)
{
    unsigned mask = 0;
    for (int i = 0; i < spans->count; i++)
        if (time_s >= spans->span[i].from_s && time_s < spans->span[i].to_s)
            mask |= 1u << spans->span[i].role;
    return mask;
}

static void draw_person(struct simulated *sim, double time_s)
{
    struct omo_pose pose;
    struct omo_camera camera;
    omo_pose_at(&sim->scene, time_s, &pose);
    omo_camera_at(&sim->scene, time_s, &camera);
    struct omo_figure figure = {
        .scene = &sim->scene,
        .look = &sim->look,
        .camera = &camera,
        .pose = &pose,
        .time_s = time_s,
        .hidden = hidden_roles(&sim->scene.hide, time_s),
        .masks = true,
    };
    omo_draw_body(&sim->canvas, &figure);
    omo_draw_arm(&sim->canvas, &figure);
}

static void render(struct simulated *sim, struct omo_planes *planes)
{
    double time_s = true_time_s(sim, sim->frame);
    omo_effects_restore(sim->effects, &sim->canvas);
    for (int i = 0; i < OMO_MASK_COUNT; i++)
        sim->canvas.mask[i].live = false;
    sim->canvas.masking = true;
    omo_effects_set_light(sim->effects, time_s);
    draw_person(sim, time_s);
    omo_effects_develop(sim->effects, &sim->canvas, sim->frame, false, planes);
    omo_truth_make(&sim->truth_maker, sim->canvas.mask, time_s, &sim->truth);
    sim->truth.frame = sim->frame;
    sim->truth.time_s = stamp_s(sim, sim->frame);
}

/** Renders and, if asked for, encodes the next frame. */
static enum omo_status advance(struct simulated *sim, struct omo_planes *planes,
                               bool encode)
{
    if (sim->frame >= sim->frame_count)
        return OMO_END;
    render(sim, planes);
    sim->frame++;
    if (!encode)
        return OMO_OK;
    free(sim->bytes);
    sim->bytes = NULL;
    int quality = sim->scene.quality > 0 ? (int)sim->scene.quality : 100;
    return omo_jpeg_encode(planes, quality, &sim->bytes, &sim->byte_count);
}

static enum omo_status next(void *self, bool need_luma, struct omo_frame *frame)
{
    struct simulated *sim = self;
    struct omo_planes planes;
    bool damaged = false;
    enum omo_status status = advance(sim, &planes, sim->scene.quality > 0);
    if (status == OMO_OK && sim->scene.quality > 0)
        status = omo_jpeg_decode(sim->jpeg, sim->bytes, sim->byte_count, need_luma,
                                 &planes, &damaged);
    if (status != OMO_OK)
        return status;
    *frame = (struct omo_frame){
        .planes = planes,
        .turned = {0, planes.width, planes.height},
        .index = sim->truth.frame,
        .time_s = sim->truth.time_s,
        .damaged = damaged,
    };
    return OMO_OK;
}

static const struct omo_source_ops ops = {next, destroy};

static enum omo_status prepare(struct simulated *sim)
{
    int width = (int)sim->scene.width, height = (int)sim->scene.height;
    struct omo_camera camera;
    omo_look_of(&sim->scene, &sim->look);
    omo_truth_prepare(&sim->truth_maker, &sim->scene);
    sim->frame_count = omo_scene_frame_count(&sim->scene);
    sim->jpeg = omo_jpeg_create();
    if (!sim->jpeg || omo_canvas_create(&sim->canvas, width, height) != OMO_OK ||
        omo_effects_create(&sim->scene, &sim->effects) != OMO_OK)
        return OMO_ERR_MEMORY;
    sim->canvas.light = (struct omo_light){0.55f, 0.62f, -0.42f, -0.5f, 0.757f};
    omo_camera_at(&sim->scene, 0, &camera);
    omo_paint_room(&sim->canvas, &sim->scene, &camera);
    omo_effects_set_light(sim->effects, 0);
    omo_effects_take_room(sim->effects, &sim->canvas);
    return OMO_OK;
}

enum omo_status omo_simulated_open(const struct omo_scene *scene,
                                   struct omo_source **source)
{
    if (fmod(scene->width, 2) != 0 || fmod(scene->height, 2) != 0) {
        omo_error("The simulated camera's width and height have to be even.");
        return OMO_ERR_ARG;
    }
    struct simulated *sim = calloc(1, sizeof *sim);
    if (!sim)
        return OMO_ERR_MEMORY;
    sim->scene = *scene;
    enum omo_status status = prepare(sim);
    if (status != OMO_OK) {
        destroy(sim);
        return status;
    }
    struct omo_source_info info = {.width = (int)scene->width,
                                   .height = (int)scene->height,
                                   .frames_per_second = scene->fps,
                                   .frame_count = sim->frame_count,
                                   .codec = "simulated"};
    *source = omo_source_wrap(&ops, sim, &info);
    return *source ? OMO_OK : OMO_ERR_MEMORY;
}

enum omo_status omo_simulated_next_jpeg(struct omo_source *source, const uint8_t **bytes,
                                        size_t *size, double *time_s)
{
    struct simulated *sim = omo_source_self(source, &ops);
    struct omo_planes planes;
    if (!sim) {
        omo_error("Only the simulated camera renders JPEG pictures.");
        return OMO_ERR_ARG;
    }
    enum omo_status status = advance(sim, &planes, true);
    if (status != OMO_OK)
        return status;
    *bytes = sim->bytes;
    *size = sim->byte_count;
    *time_s = sim->truth.time_s;
    return OMO_OK;
}

void omo_simulated_truth(const struct omo_source *source, struct omo_truth *truth)
{
    const struct simulated *sim = omo_source_self(source, &ops);
    if (sim)
        *truth = sim->truth;
}
