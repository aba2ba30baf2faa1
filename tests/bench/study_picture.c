#include "study_picture.h"

#include <stdio.h>
#include <stdlib.h>

#include "omogon/picture.h"
#include "omogon/simulated.h"
#include "omogon/vision.h"
#include "source/simulated/effects.h"
#include "source/simulated/exposure.h"
#include "source/simulated/room.h"

#define JPEG_QUALITY 85
#define NOISE        "2"
#define BAND_MM      30.0
#define BAND_WIDER   1.06 /* a band over the skin */
#define EDGE_ON      0.15 /* a sticker seen flatter than this shows nothing */

struct study_picture {
    const struct omo_movement_table *table;
    struct omo_scene *scene;
    struct omo_stage stage;
    struct omo_effects *effects;
    struct omo_jpeg *jpeg;
    struct omo_tracker *tracker; /* of the session under way */
};

/* ---- the painter ---- */

static bool prepare(struct study_picture *picture)
{
    picture->scene = omo_scene_create();
    picture->jpeg = omo_jpeg_create();
    if (picture->scene == NULL || picture->jpeg == NULL ||
        omo_scene_set(picture->scene, "noise", NOISE) != OMO_OK ||
        omo_stage_create(&picture->stage, picture->scene) != OMO_OK ||
        omo_effects_create(picture->scene, &picture->effects) != OMO_OK)
        return false;
    struct omo_canvas *canvas = &picture->stage.canvas;
    struct omo_camera camera;
    omo_camera_at(picture->scene, 0, &camera);
    omo_effects_set_light(picture->effects, 0);
    omo_paint_room(canvas, picture->scene, &camera);
    omo_canvas_clear_spans(canvas);
    for (size_t i = 0; i < (size_t)canvas->width * (size_t)canvas->height; i++)
        canvas->pixel[i][3] = 0; /* no body yet */
    omo_effects_take_room(picture->effects, canvas);
    return true;
}

struct study_picture *study_picture_create(const struct omo_movement_table *table)
{
    struct study_picture *picture = calloc(1, sizeof *picture);
    if (picture != NULL)
        picture->table = table;
    if (picture == NULL || !prepare(picture)) {
        fprintf(stderr, "study: no memory for a picture; close other programs.\n");
        study_picture_destroy(picture);
        return NULL;
    }
    return picture;
}

void study_picture_destroy(struct study_picture *picture)
{
    if (picture == NULL)
        return;
    omo_tracker_destroy(picture->tracker);
    omo_jpeg_destroy(picture->jpeg);
    omo_effects_destroy(picture->effects);
    omo_stage_free(&picture->stage);
    omo_scene_destroy(picture->scene);
    free(picture);
}

/** A limb between two points of space; radii in metres. */
static void paint_limb(struct study_picture *picture, const struct study_view *view,
                       struct space from, struct space to, double from_m, double to_m,
                       const struct omo_paint *paint)
{
    double px_per_m;
    struct omo_point a = study_camera_see(view->camera, from, &px_per_m);
    struct omo_point b = study_camera_see(view->camera, to, &px_per_m);
    double from_px = from_m * px_per_m, to_px = to_m * px_per_m;
    struct omo_node node[2] = {{0, from_px, from_px}, {1, to_px, to_px}};
    struct omo_tube tube = {.ax = a.x,
                            .ay = a.y,
                            .bx = b.x,
                            .by = b.y,
                            .cap_a = from_px,
                            .cap_b = to_px,
                            .px_per_m = px_per_m,
                            .to_t = 1,
                            .joint = true,
                            .node = node,
                            .nodes = 2};
    omo_draw_tube(&picture->stage.canvas, &tube, paint, NULL);
}

/** A disc of paper on the skin: a circle seen aslant. */
static void paint_sticker(struct study_picture *picture, const struct study_view *view,
                          int role)
{
    const struct study_camera *c = view->camera;
    struct space out = view->pose->facing[role];
    struct space towards = space_unit(space_add(c->at, view->pose->marker[role], -1.0));
    double open = space_dot(out, towards);
    if (open < EDGE_ON)
        return;
    double radius_px = view->pose->marker_m[role] * view->px_per_m[role] / 2.0;
    struct omo_ellipse ellipse = {
        .x = view->place[role].x,
        .y = view->place[role].y,
        .radius_x = radius_px * open,
        .radius_y = radius_px,
        .turn_deg = atan2(space_dot(out, c->y), space_dot(out, c->x)) / RAD_PER_DEG,
    };
    struct omo_paint paint = {.colour = picture->stage.look.sticker[role]};
    omo_draw_ellipse(&picture->stage.canvas, &ellipse, &paint);
}

/** A stretch of a tube along the limb, whose middle is the marker's place. */
static void paint_band(struct study_picture *picture, const struct study_view *view,
                       int role, double radius_m)
{
    double px_per_m;
    struct space at = view->pose->marker[role], along = view->pose->along[role];
    struct omo_point behind =
        study_camera_see(view->camera, space_add(at, along, -BAND_MM / 1000.0),
                         &px_per_m);
    struct omo_point before =
        study_camera_see(view->camera, space_add(at, along, BAND_MM / 1000.0), &px_per_m);
    struct omo_point place = view->place[role];
    double dx = (before.x - behind.x) / 2.0, dy = (before.y - behind.y) / 2.0;
    double wide_px = radius_m * BAND_WIDER * px_per_m;
    struct omo_node node[2] = {{0, wide_px, wide_px}, {1, wide_px, wide_px}};
    struct omo_tube tube = {.ax = place.x - dx,
                            .ay = place.y - dy,
                            .bx = place.x + dx,
                            .by = place.y + dy,
                            .px_per_m = px_per_m,
                            .from_t = 0.25,
                            .to_t = 0.75,
                            .joint = true,
                            .node = node,
                            .nodes = 2};
    struct omo_paint paint = {.colour = picture->stage.look.sticker[role]};
    omo_draw_tube(&picture->stage.canvas, &tube, &paint, NULL);
}

/* Radii of limbs, shares of stature; our choice, about the simulated camera's. */
#define TRUNK_SIDE     0.066
#define TRUNK_FRONT    0.100
#define NECK           0.030
#define HEAD           0.055
#define THIGH          0.055
#define KNEE           0.036
#define ARM_AT_JOINT   0.034
#define ARM_AT_ELBOW   0.024
#define ARM_AT_WRIST   0.0155
#define HAND_AT_FINGER 0.012

static void paint_trunk(struct study_picture *picture, const struct study_view *view)
{
    const struct study_pose *pose = view->pose;
    const struct omo_look *look = &picture->stage.look;
    double h = view->person->body[STUDY_STATURE_M];
    bool side = study_is_from_side(view->person->of.movement);
    double wide_m = h * (side ? TRUNK_SIDE : TRUNK_FRONT);
    struct space axis = space_unit(space_add(pose->neck, pose->hips, -1.0));
    struct space ground = pose->hips;
    ground.up = 0.05;
    paint_limb(picture, view, pose->hips, ground, h * THIGH, h * KNEE, &look->trousers);
    struct space crown = space_add(pose->neck, axis, 0.13 * h);
    paint_limb(picture, view, pose->neck, crown, h * NECK, h * HEAD, &look->skin);
    struct space low = space_add(pose->hips, axis, 0.02 * h);
    struct space high = space_add(pose->neck, axis, -0.05 * h);
    paint_limb(picture, view, low, high, wide_m, wide_m, &look->shirt);
}

static void paint_person(struct study_picture *picture, const struct study_view *view)
{
    const struct study_pose *pose = view->pose;
    const struct study_case *of = &view->person->of;
    const struct omo_paint *skin = &picture->stage.look.skin;
    double h = view->person->body[STUDY_STATURE_M];
    paint_trunk(picture, view);
    if (of->trunk != STUDY_NO_TRUNK)
        paint_sticker(picture, view, OMO_HIP);
    if (of->trunk == STUDY_CHEST_HIP)
        paint_sticker(picture, view, OMO_CHEST);
    paint_limb(picture, view, pose->joint, pose->elbow, h * ARM_AT_JOINT,
               h * ARM_AT_ELBOW, skin);
    paint_limb(picture, view, pose->elbow, pose->wrist, h * ARM_AT_ELBOW,
               h * ARM_AT_WRIST, skin);
    paint_limb(picture, view, pose->wrist, pose->fingertips, h * ARM_AT_WRIST,
               h * HAND_AT_FINGER, skin);
    paint_sticker(picture, view, OMO_SHOULDER);
    if (of->set == STUDY_BANDS) {
        paint_band(picture, view, OMO_ELBOW, h * ARM_AT_ELBOW);
        paint_band(picture, view, OMO_WRIST, h * ARM_AT_WRIST);
    } else {
        paint_sticker(picture, view, OMO_ELBOW);
        paint_sticker(picture, view, OMO_WRIST);
    }
}

/* ---- the eye ---- */

static bool begin(struct study_picture *picture, const struct study_view *view)
{
    const struct omo_movement *movement =
        omo_movement_find(picture->table,
                          study_movement_name((int)view->person->of.movement));
    struct omo_tracker_settings settings = {.body = true,
                                            .side = OMO_RIGHT,
                                            .view = movement->view,
                                            .position = OMO_STANDING,
                                            .needed = movement->needed};
    if (omo_set_load("default", &settings.set) != OMO_OK)
        return false;
    for (int i = 0; i < settings.set.count; i++) {
        struct omo_set_entry *entry = &settings.set.entry[i];
        enum omo_role role = omo_role_from_name(entry->name);
        if (view->person->of.set == STUDY_BANDS &&
            (role == OMO_ELBOW || role == OMO_WRIST)) {
            entry->shape = OMO_BAND;
            entry->size_mm = BAND_MM;
        }
    }
    omo_tracker_destroy(picture->tracker);
    picture->tracker = NULL;
    return omo_tracker_create(&settings, &picture->tracker) == OMO_OK;
}

/** Compressed and decoded as a camera's; then looked through. */
static bool find(struct study_picture *picture, const struct study_view *view,
                 const struct omo_planes *planes, struct omo_markers *markers)
{
    uint8_t *bytes = NULL;
    size_t size = 0;
    struct omo_frame frame = {.index = (int64_t)view->frame, .time_s = view->time_s};
    bool fine = omo_jpeg_encode(planes, JPEG_QUALITY, &bytes, &size) == OMO_OK &&
                omo_jpeg_decode(picture->jpeg, bytes, size, false, &frame.planes,
                                &frame.damaged) == OMO_OK;
    free(bytes);
    frame.turned.coded_width = frame.planes.width;
    frame.turned.coded_height = frame.planes.height;
    return fine && omo_tracker_step(picture->tracker, &frame, markers) == OMO_OK;
}

static bool look(void *self, const struct study_view *view, struct omo_markers *markers)
{
    struct study_picture *picture = self;
    struct omo_canvas *canvas = &picture->stage.canvas;
    struct omo_planes planes;
    bool fine = view->frame > 0 || begin(picture, view);
    if (fine) {
        omo_effects_restore(picture->effects, canvas);
        paint_person(picture, view);
        long seed = (long)(view->frame + view->person->of.seed % 1000 * 1000);
        omo_effects_develop(picture->effects, canvas, seed, false, &planes);
        fine = find(picture, view, &planes, markers);
    }
    if (!fine)
        fprintf(stderr, "study: a picture could not be made or looked through.\n");
    return fine;
}

struct study_eye study_picture_eye(struct study_picture *picture)
{
    return (struct study_eye){look, picture};
}
