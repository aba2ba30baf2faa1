#include "omogon/simulated.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "omogon/log.h"
#include "self.h"
#include "simulated/effects.h"
#include "simulated/exposure.h"
#include "simulated/room.h"
#include "simulated/truth.h"

struct simulated {
    struct omo_scene scene;
    struct omo_stage stage;
    struct omo_effects *effects;
    struct omo_photo *photo;       /* NULL: an invented room */
    struct omo_camera room_camera; /* with which the room was painted */
    struct omo_jpeg *jpeg;
    struct omo_truth_maker truth_maker;
    struct omo_truth truth;
    struct omo_planes planes; /* as rendered last */
    long frame, frame_count;
    uint8_t *bytes; /* of the JPEG delivered last */
    size_t byte_count;
};

static void destroy(void *self)
{
    struct simulated *sim = self;
    if (!sim)
        return;
    omo_stage_free(&sim->stage);
    omo_effects_destroy(sim->effects);
    omo_photo_close(sim->photo);
    omo_jpeg_destroy(sim->jpeg);
    free(sim->bytes);
    free(sim);
}

/** The true middle of the exposure of a frame. */
static double true_time_s(const struct simulated *sim, long frame)
{
    return (double)frame / sim->scene.fps;
}

/** The time stamp that the camera gives. */
static double stamp_s(const struct simulated *sim, long frame)
{
    const struct omo_scene *s = &sim->scene;
    struct omo_random random = {(uint64_t)s->seed * 31u + (uint64_t)frame};
    double jitter = 2 * omo_random_unit(&random) - 1;
    return s->start_s + true_time_s(sim, frame) + jitter * s->jitter_ms / 1000;
}

/* ---- the room ---- */

static bool same_view(const struct omo_camera *a, const struct omo_camera *b)
{
    return fabs(a->shift_x - b->shift_x) < 1e-9 && fabs(a->shift_y - b->shift_y) < 1e-9;
}

static void paint_room(struct simulated *sim, const struct omo_camera *camera)
{
    struct omo_canvas *canvas = &sim->stage.canvas;
    if (sim->photo)
        omo_photo_paint(sim->photo, canvas, camera);
    else
        omo_paint_room(canvas, &sim->scene, camera);
    omo_paint_furniture(canvas, &sim->scene, camera);
    omo_paint_look_alikes(canvas, &sim->scene, camera);
    omo_canvas_clear_spans(canvas);
    size_t pixels = (size_t)canvas->width * (size_t)canvas->height;
    for (size_t i = 0; i < pixels; i++)
        canvas->pixel[i][3] = 0; /* no body yet */
    omo_effects_take_room(sim->effects, canvas);
    sim->room_camera = *camera;
}

/** Gives the canvas an empty room, painted anew where it has changed. */
static enum omo_status clear_stage(struct simulated *sim, double time_s)
{
    struct omo_camera camera;
    bool changed = false;
    omo_camera_at(&sim->scene, time_s, &camera);
    if (sim->photo) {
        enum omo_status status = omo_photo_advance(sim->photo, time_s, &changed);
        if (status != OMO_OK)
            return status;
    }
    if (changed || !same_view(&camera, &sim->room_camera))
        paint_room(sim, &camera);
    else
        omo_effects_restore(sim->effects, &sim->stage.canvas);
    return OMO_OK;
}

/* ---- frames ---- */

static enum omo_status render(struct simulated *sim)
{
    double time_s = true_time_s(sim, sim->frame);
    bool drifting =
        fabs(sim->scene.drift_ratio) > 0 || omo_scene_switched(&sim->scene, time_s);
    omo_effects_set_light(sim->effects, time_s);
    enum omo_status status = clear_stage(sim, time_s);
    if (status != OMO_OK)
        return status;
    omo_stage_paint(&sim->stage, time_s);
    omo_effects_develop(sim->effects, &sim->stage.canvas, sim->frame, drifting,
                        &sim->planes);
    omo_truth_make(&sim->truth_maker, sim->stage.canvas.mask, time_s, &sim->truth);
    return OMO_OK;
}

/** Whether the camera delivers the frame before once more, as webcams do in dim light. */
static bool is_repeat(const struct simulated *sim)
{
    long every = (long)sim->scene.repeat_every;
    return every > 0 && sim->frame > 0 && sim->frame % every == 0;
}

/** Renders the next frame and, if asked for, encodes it. */
static enum omo_status advance(struct simulated *sim, bool encode, bool *repeated)
{
    enum omo_status status = OMO_OK;
    if (sim->frame >= sim->frame_count)
        return OMO_END;
    *repeated = is_repeat(sim);
    if (!*repeated)
        status = render(sim);
    if (status != OMO_OK)
        return status;
    sim->truth.frame = sim->frame;
    sim->truth.time_s = stamp_s(sim, sim->frame);
    sim->frame++;
    if (!encode || (*repeated && sim->bytes))
        return OMO_OK;
    free(sim->bytes);
    sim->bytes = NULL;
    int quality = sim->scene.quality > 0 ? (int)sim->scene.quality : 100;
    return omo_jpeg_encode(&sim->planes, quality, &sim->bytes, &sim->byte_count);
}

static enum omo_status next(void *self, bool need_luma, struct omo_frame *frame)
{
    struct simulated *sim = self;
    bool compress = sim->scene.quality > 0, damaged = false, repeated;
    enum omo_status status = advance(sim, compress, &repeated);
    struct omo_planes planes = sim->planes;
    if (status == OMO_OK && compress)
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
        .repeated = repeated,
    };
    return OMO_OK;
}

static const struct omo_source_ops ops = {next, destroy};

static enum omo_status prepare(struct simulated *sim)
{
    struct omo_camera camera;
    enum omo_status status = OMO_OK;
    omo_truth_prepare(&sim->truth_maker, &sim->scene);
    sim->frame_count = omo_scene_frame_count(&sim->scene);
    sim->jpeg = omo_jpeg_create();
    if (!sim->jpeg || omo_stage_create(&sim->stage, &sim->scene) != OMO_OK ||
        omo_effects_create(&sim->scene, &sim->effects) != OMO_OK)
        return OMO_ERR_MEMORY;
    if (sim->scene.room[0])
        status = omo_photo_open(&sim->scene, &sim->photo);
    if (status != OMO_OK)
        return status;
    omo_camera_at(&sim->scene, 0, &camera);
    omo_effects_set_light(sim->effects, 0);
    paint_room(sim, &camera);
    return OMO_OK;
}

enum omo_status omo_simulated_open(const struct omo_scene *scene,
                                   struct omo_source **source)
{
    if (fmod(scene->width, 2) != 0 || fmod(scene->height, 2) != 0) {
        omo_error("The simulated camera's width and height have to be even, not %.0f by "
                  "%.0f.",
                  scene->width, scene->height);
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
    bool repeated;
    if (!sim) {
        omo_error("Only the simulated camera renders JPEG pictures.");
        return OMO_ERR_ARG;
    }
    enum omo_status status = advance(sim, true, &repeated);
    if (status != OMO_OK)
        return status;
    *bytes = sim->bytes;
    *size = sim->byte_count;
    *time_s = sim->truth.time_s;
    return OMO_OK;
}

enum omo_status omo_simulated_skip(struct omo_source *source, int64_t frames)
{
    struct simulated *sim = omo_source_self(source, &ops);
    if (!sim || frames < 0) {
        omo_error("Only the simulated camera passes over frames, and only forwards.");
        return OMO_ERR_ARG;
    }
    if (frames > sim->frame_count - sim->frame) {
        sim->frame = sim->frame_count;
        return OMO_END;
    }
    long target = sim->frame + (long)frames, every = (long)sim->scene.repeat_every;
    bool again = every > 0 && target > 0 && target % every == 0;
    long shown = !again ? target : every == 1 ? 0 : target - 1;
    /* The next one may repeat a picture among those that are passed over. */
    if (shown < target && shown >= sim->frame) {
        bool repeated;
        sim->frame = shown;
        enum omo_status status = advance(sim, sim->scene.quality > 0, &repeated);
        if (status != OMO_OK)
            return status;
    }
    sim->frame = target;
    return OMO_OK;
}

void omo_simulated_truth(const struct omo_source *source, struct omo_truth *truth)
{
    const struct simulated *sim = omo_source_self(source, &ops);
    if (sim)
        *truth = sim->truth;
}
