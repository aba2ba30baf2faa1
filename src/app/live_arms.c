#include "app/live_arms.h"

#include "app/lens_plan.h"

void omo_live_arms_init(struct omo_live_arms *arms, const struct omo_plan *plan,
                        int count)
{
    *arms = (struct omo_live_arms){.plan = plan, .count = count};
    omo_live_settings_default(&arms->course);
    arms->course.measure = plan->measure;
    arms->other = plan[count - 1].measure;
    for (int i = 0; i < plan->tracker.set.count; i++) {
        const struct omo_set_entry *entry = &plan->tracker.set.entry[i];
        arms->shoulder_band |=
            entry->shape == OMO_BAND && omo_role_from_name(entry->name) == OMO_SHOULDER;
    }
}

static enum omo_status make_live(const struct omo_live_arms *arms, struct omo_live **out)
{
    return arms->count > 1 ? omo_live_create_both(&arms->course, &arms->other, out)
                           : omo_live_create(&arms->course, out);
}

enum omo_status omo_live_arms_make(struct omo_live_arms *arms, int width, int height)
{
    struct omo_measure_settings *measure[OMO_LIVE_ARMS] = {&arms->course.measure,
                                                           &arms->other};
    omo_live_arms_finish(arms);
    for (int i = 0; i < arms->count; i++) {
        measure[i]->picture_width = width;
        measure[i]->picture_height = height;
        if (!omo_plan_fit_lens(&arms->plan[i], width, height, &arms->lens,
                               &measure[i]->lens))
            return OMO_ERR_SETTINGS; /* said */
    }
    enum omo_status status =
        arms->count > 1 ? omo_pair_create(&arms->plan->tracker, &arms->pair)
                        : omo_tracker_create(&arms->plan->tracker, &arms->tracker);
    if (status == OMO_OK)
        status = make_live(arms, &arms->live);
    for (int i = 0; i < arms->count && status == OMO_OK; i++)
        status = omo_cues_create(measure[i], &arms->cues[i]);
    return status;
}

void omo_live_arms_finish(struct omo_live_arms *arms)
{
    omo_tracker_destroy(arms->tracker);
    omo_pair_destroy(arms->pair);
    omo_live_destroy(arms->live);
    arms->tracker = NULL;
    arms->pair = NULL;
    arms->live = NULL;
    for (int i = 0; i < OMO_LIVE_ARMS; i++) {
        omo_cues_destroy(arms->cues[i]);
        arms->cues[i] = NULL;
    }
}

void omo_live_arms_again(struct omo_live_arms *arms)
{
    struct omo_live *fresh = NULL;
    if (make_live(arms, &fresh) != OMO_OK)
        return;
    omo_live_destroy(arms->live);
    arms->live = fresh;
}

enum omo_status omo_live_arms_step(struct omo_live_arms *arms,
                                   const struct omo_frame *picture,
                                   struct omo_live_look *look)
{
    struct omo_markers found[OMO_LIVE_ARMS];
    enum omo_status status = arms->pair
                                 ? omo_pair_step(arms->pair, picture, found)
                                 : omo_tracker_step(arms->tracker, picture, &found[0]);
    if (status != OMO_OK)
        return status;
    for (int i = 0; i < arms->count; i++)
        look->frame[i] = (struct omo_track_frame){
            .index = picture->index,
            .time_s = picture->time_s,
            .damaged = picture->damaged,
            .repeated = picture->repeated,
            .markers = found[arms->pair ? arms->plan[i].tracker.side : 0]};
    return omo_live_step(arms->live, look->frame, look->view);
}

enum omo_cue omo_live_arms_judge(struct omo_live_arms *arms,
                                 const struct omo_planes *planes,
                                 const struct omo_live_view *view, int *arm)
{
    struct omo_surroundings around[OMO_LIVE_ARMS];
    struct omo_luma luma;
    enum omo_cue worst = OMO_CUE_NONE;
    omo_luma_read(planes, &luma);
    if (arms->pair)
        omo_pair_surroundings(arms->pair, around);
    else
        omo_tracker_surroundings(arms->tracker, &around[0]);
    *arm = 0;
    for (int i = 0; i < arms->count; i++) {
        const struct omo_surroundings *near =
            &around[arms->pair ? arms->plan[i].tracker.side : 0];
        struct omo_cue_input input = {.time_s = view[i].time_s,
                                      .picture_width = planes->width,
                                      .picture_height = planes->height,
                                      .luma_mean = luma.mean,
                                      .luma_bright_ratio = luma.bright_ratio,
                                      .luma_dark_ratio = luma.dark_ratio,
                                      .look_alikes = near->look_alikes,
                                      .other_bodies = near->other_bodies,
                                      .lone_patches = near->lone_patches,
                                      .lone_px = near->lone_px,
                                      .shoulder_band = arms->shoulder_band,
                                      .view = &view[i]};
        enum omo_cue cue = omo_cues_step(arms->cues[i], &input);
        if (cue == OMO_CUE_NONE || (worst != OMO_CUE_NONE && worst <= cue))
            continue;
        worst = cue;
        *arm = i;
    }
    return worst;
}
