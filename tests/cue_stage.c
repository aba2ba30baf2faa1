#include "cue_stage.h"

#include <math.h>
#include <string.h>

#include <check.h>

#include "omogon/source.h"

static void open_scene(struct cue_stage *stage, const char *scene,
                       const char *const *pairs)
{
    stage->scene = omo_scene_create();
    ck_assert_ptr_nonnull(stage->scene);
    if (strcmp(scene, "-") != 0)
        ck_assert_msg(omo_scene_load(stage->scene, scene) == OMO_OK, "scene %s", scene);
    for (; pairs[0]; pairs += 2)
        ck_assert_msg(omo_scene_set(stage->scene, pairs[0], pairs[1]) == OMO_OK,
                      "%s = %s", pairs[0], pairs[1]);
    ck_assert_int_eq(omo_simulated_open(stage->scene, &stage->source), OMO_OK);
}

static void open_tracker(struct cue_stage *stage, const struct cue_plan *plan,
                         const struct omo_movement *movement)
{
    struct omo_tracker_settings s = {
        .body = true,
        .side = plan->side,
        .view = movement->view,
        .position = plan->position,
        .facing_left = plan->facing_left,
        .needed = movement->needed,
    };
    const char *colours = plan->colours != NULL ? plan->colours : "default";
    ck_assert_int_eq(omo_set_load(colours, &s.set), OMO_OK);
    for (int i = 0; i < s.set.count; i++)
        if (omo_role_from_name(s.set.entry[i].name) == OMO_SHOULDER)
            stage->shoulder_band = s.set.entry[i].shape == OMO_BAND;
    ck_assert_int_eq(omo_tracker_create(&s, &stage->tracker), OMO_OK);
}

void cue_stage_open(struct cue_stage *stage, const struct cue_plan *plan,
                    const char *scene, const char *const *pairs)
{
    memset(stage, 0, sizeof *stage);
    open_scene(stage, scene, pairs);
    ck_assert_int_eq(omo_movement_table_load(NULL, &stage->table), OMO_OK);
    const struct omo_movement *movement = omo_movement_find(stage->table, plan->movement);
    ck_assert_ptr_nonnull(movement);
    open_tracker(stage, plan, movement);
    struct omo_live_settings s;
    omo_live_settings_default(&s);
    s.measure.movement = movement;
    s.measure.side = plan->side;
    s.measure.position = plan->position;
    s.measure.facing_left = plan->facing_left;
    s.measure.picture_width = omo_source_info(stage->source)->width;
    s.measure.picture_height = omo_source_info(stage->source)->height;
    s.raises_most = 50;
    s.end_still_s = 600;
    ck_assert_int_eq(omo_live_create(&s, &stage->live), OMO_OK);
    ck_assert_int_eq(omo_cues_create(&s.measure, &stage->cues), OMO_OK);
}

bool cue_stage_step(struct cue_stage *stage)
{
    struct omo_frame frame;
    struct omo_track_frame tracked;
    enum omo_status status = omo_source_next(stage->source, true, &frame);
    if (status == OMO_END)
        return false;
    ck_assert_int_eq(status, OMO_OK);
    tracked = (struct omo_track_frame){.index = frame.index,
                                       .time_s = frame.time_s,
                                       .damaged = frame.damaged,
                                       .repeated = frame.repeated};
    ck_assert_int_eq(omo_tracker_step(stage->tracker, &frame, &tracked.markers), OMO_OK);
    if (!stage->leave_surroundings)
        omo_tracker_surroundings(stage->tracker, &stage->around);
    omo_luma_read(&frame.planes, &stage->luma);
    ck_assert_int_eq(omo_live_step(stage->live, &tracked, &stage->view), OMO_OK);
    struct omo_cue_input input = {
        .time_s = frame.time_s,
        .picture_width = frame.planes.width,
        .picture_height = frame.planes.height,
        .luma_mean = stage->luma.mean,
        .luma_bright_ratio = stage->luma.bright_ratio,
        .luma_dark_ratio = stage->luma.dark_ratio,
        .look_alikes = stage->around.look_alikes,
        .other_bodies = stage->around.other_bodies,
        .lone_patches = stage->around.lone_patches,
        .lone_px = stage->around.lone_px,
        .shoulder_band = stage->shoulder_band,
        .view = &stage->view,
    };
    stage->cue = omo_cues_step(stage->cues, &input);
    stage->time_s = frame.time_s;
    omo_simulated_truth(stage->source, &stage->truth);
    return true;
}

void cue_stage_close(struct cue_stage *stage)
{
    omo_cues_destroy(stage->cues);
    omo_live_destroy(stage->live);
    omo_movement_table_destroy(stage->table);
    omo_tracker_destroy(stage->tracker);
    omo_source_destroy(stage->source);
    omo_scene_destroy(stage->scene);
}
