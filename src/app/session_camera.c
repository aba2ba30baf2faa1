#include "app/session_camera.h"

#include <math.h>

#include "app/lens_plan.h"
#include "app/measuring_words.h"
#include "omogon/log.h"
#include "omogon/words.h"

struct omo_session_camera {
    struct omo_session_run *run;
    struct omo_session_step_plan step;
    struct omo_plan plan; /* with the camera's own lens */
    struct omo_feed *feed;
    struct omo_live_run *live;
    struct omo_lens lens;
};

/** On the measuring thread. */
static void on_frame(const struct omo_track_frame *frame,
                     const struct omo_live_view *view, void *user)
{
    struct omo_session_camera *camera = user;
    g_mutex_lock(&camera->run->lock);
    omo_session_frame(camera->run->session, frame, view);
    g_mutex_unlock(&camera->run->lock);
}

/** What the circles need to know of the pictures: their size, lens and the wrist's
 * marker. */
static void tell_pictures(struct omo_session_camera *camera, int width, int height)
{
    struct omo_pendulum_settings settings;
    const struct omo_plan *plan = &camera->plan;
    omo_pendulum_settings_default(&settings);
    settings.picture_width = width;
    settings.picture_height = height;
    settings.mirrored = plan->measure.mirrored;
    settings.wrist_mm = plan->measure.marker_size_mm;
    for (int i = 0; i < plan->tracker.set.count; i++) {
        const struct omo_set_entry *entry = &plan->tracker.set.entry[i];
        if (omo_role_from_name(entry->name) != OMO_WRIST)
            continue;
        settings.band = entry->shape == OMO_BAND;
        if (isfinite(entry->size_mm))
            settings.wrist_mm = entry->size_mm;
    }
    if (!omo_plan_fit_lens(plan, width, height, &camera->lens, &settings.lens))
        settings.lens = NULL; /* said; circles are counted all the same */
    g_mutex_lock(&camera->run->lock);
    omo_session_pictures(camera->run->session, &settings);
    g_mutex_unlock(&camera->run->lock);
}

enum omo_status omo_session_camera_open(struct omo_session_run *run,
                                        const struct omo_session_page *page,
                                        void (*wake)(void *user), void *user,
                                        struct omo_session_camera **out)
{
    struct omo_session_camera *camera = g_new0(struct omo_session_camera, 1);
    camera->run = run;
    enum omo_camera_fault fault = OMO_CAMERA_FINE;
    enum omo_status status = OMO_ERR_SETTINGS;
    if (omo_session_step_resolve(run, page, &camera->step))
        status = omo_feed_open(&camera->step.measuring.feed, &camera->feed, &fault);
    if (status != OMO_OK) {
        if (fault != OMO_CAMERA_FINE)
            omo_error("%s", omo_word(omo_camera_fault_text(fault)));
        omo_session_camera_close(camera);
        return status;
    }
    struct omo_feed_state state;
    omo_feed_state(camera->feed, &state);
    camera->plan = camera->step.plan;
    if (state.got.path[0])
        omo_plan_camera_lens(&camera->plan, state.got.name);
    struct omo_live_run_settings live = {.plan = &camera->plan,
                                         .arms = 1,
                                         .width = state.got.width,
                                         .height = state.got.height,
                                         .feed = camera->feed,
                                         .need_luma = run->screen != NULL,
                                         .frame = on_frame,
                                         .frame_user = camera,
                                         .wake = wake,
                                         .user = user};
    tell_pictures(camera, state.got.width, state.got.height);
    status = omo_live_run_start(&live, &camera->live);
    if (status != OMO_OK) {
        omo_session_camera_close(camera);
        return status;
    }
    *out = camera;
    return OMO_OK;
}

void omo_session_camera_close(struct omo_session_camera *camera)
{
    if (!camera)
        return;
    omo_live_run_finish(camera->live);
    omo_feed_close(camera->feed);
    omo_session_step_plan_finish(&camera->step);
    g_free(camera);
}

bool omo_session_camera_take(struct omo_session_camera *camera,
                             const struct omo_live_now **now)
{
    return omo_live_run_take(camera->live, now);
}

void omo_session_camera_begin(struct omo_session_camera *camera)
{
    omo_live_run_press(camera->live, OMO_PRESS_BEGIN);
}

const struct omo_plan *omo_session_camera_plan(const struct omo_session_camera *camera)
{
    return &camera->plan;
}

enum omo_camera_fault omo_session_camera_fault(struct omo_session_camera *camera)
{
    struct omo_feed_state state;
    omo_feed_state(camera->feed, &state);
    return state.fault;
}

bool omo_session_camera_ended(struct omo_session_camera *camera)
{
    struct omo_feed_state state;
    omo_feed_state(camera->feed, &state);
    return state.ended;
}
